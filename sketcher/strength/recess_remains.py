"""What dry recesses leave of the lid over the coolant, and of the floor over a channel."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.document.union_find import grouped
from sketcher.geometry import Shapes


def lid_left_mm(document: Document, shapes: Shapes, over: BaseGeometry) -> float:
    """The lid's thickness, mm, under the deepest pocket in its outer face that lies over an area.

    The whole lid counts as that thin there: on the safe side. A pocket that goes right through is left out; another
    rule says so.
    """
    full = document.plate.lid_thickness_mm
    return full - _deepest(document, shapes, document.plate.lid_face, full, [over])


def floor_left_mm(document: Document, shapes: Shapes, depth_mm: float, water: Sequence[BaseGeometry]) -> float:
    """What is left of the body under a channel, mm, less the deepest pocket in the body's outer face over it.

    ``water`` is the coolant in plan, in pieces.
    """
    left = document.plate.body_thickness_mm - depth_mm
    face = "bottom" if document.plate.lid_face == "top" else "top"
    return left - _deepest(document, shapes, face, left, water)


def _deepest(document: Document, shapes: Shapes, face: str, thickness: float, over: Sequence[BaseGeometry]) -> float:
    pockets = [pocket for pocket in document.pockets if pocket.face == face and pocket.depth_mm < thickness]
    if not pockets:
        return 0.0
    areas = shapely.buffer(np.array([shapes.pockets[pocket.id].polygon for pocket in pockets], dtype=object), 0)
    meeting, _ = shapely.STRtree(over).query(areas, predicate="intersects")
    return max((pockets[k].depth_mm for k in meeting.tolist()), default=0.0)


def outer_pockets(document: Document, shapes: Shapes) -> list[tuple[tuple[str, ...], Polygon | MultiPolygon, float]]:
    """The pockets in the body's outer face: those that nearly meet as one, with their area and the greatest depth.

    A rib between two that is thinner than what is left over them holds no edge.
    """
    plate = document.plate
    face = "bottom" if plate.lid_face == "top" else "top"
    own = [pocket for pocket in document.pockets if pocket.face == face and pocket.depth_mm < plate.body_thickness_mm]
    if not own:
        return []
    areas = shapely.buffer(np.array([shapes.pockets[pocket.id].polygon for pocket in own], dtype=object), 0)
    left = [plate.body_thickness_mm - pocket.depth_mm for pocket in own]
    first, second = shapely.STRtree(areas).query(areas, predicate="dwithin", distance=max(left))
    apart = shapely.distance(areas[first], areas[second])
    near = [
        (a, b) for a, b, gap in zip(first.tolist(), second.tolist(), apart, strict=True) if gap < min(left[a], left[b])
    ]
    found = []
    for group in grouped(range(len(own)), near):
        joined = areas[group[0]]
        if len(group) > 1:
            rib = min(left[k] for k in group) / 2
            joined = shapely.union_all(areas[group]).buffer(rib, join_style="mitre").buffer(-rib, join_style="mitre")
        found.append((tuple(own[k].id for k in group), joined, max(own[k].depth_mm for k in group)))
    return found
