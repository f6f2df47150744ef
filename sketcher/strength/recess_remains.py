"""What dry recesses leave of the lid over the coolant, and of the floor over a channel."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
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
