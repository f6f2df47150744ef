"""From the holes as they are drawn to contours that can be cut: none twice, none across another.

A hole that stands alone keeps its true lines and arcs. Where holes run into each other the piece that is left is what
counts, so they become one contour; a hole that runs over the outline becomes a bay in it.
"""

from __future__ import annotations

import contextlib
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sketcher.document.union_find import grouped
from sketcher.export.sheet import ExportError
from sketcher.geometry.offset import OffsetError, offset
from sketcher.geometry.outline_contours import Contour, round_contour
from sketcher.geometry.path import from_vertices
from sketcher.geometry.shapes import polygon_of
from sketcher.strength.groove_path import fit_path

#: What is smaller than this is no contour, mm².
_LEAST_AREA = 1e-3
#: Mitres of contours that are only known as polygons are cut off at so many offsets.
_MITRE = 5.0


@dataclass(frozen=True)
class Hole:
    """A hole and the item it belongs to; several items' ids are joined by ``+``."""

    item: str
    contour: Contour


@dataclass(frozen=True)
class Cuts:
    """The inner contours, the outer one, and for what is not cut as it is drawn: the item and what happens to it."""

    inner: tuple[Hole, ...]
    outer: Contour
    remarks: tuple[tuple[str, str], ...]


def arrange(plate: Contour, holes: Sequence[Hole]) -> Cuts:
    """The contours of a plate with holes in it, so that each is closed and none meets another.

    Args:
        plate: the outline; it goes round once.
        holes: the holes; each goes round once.
    """
    if not holes:
        return Cuts((), plate, ())
    area = polygon_of(plate)
    shapes = np.array([polygon_of(hole.contour) for hole in holes], dtype=object)
    inside, touching = shapely.contains_properly(area, shapes), shapely.intersects(area, shapes)
    remarks = [(holes[i].item, "lies outside the plate") for i in np.flatnonzero(~touching).tolist()]
    inner: list[Hole] = []
    bays: list[int] = []
    for group in _groups(shapes):
        members = [i for i in group if touching[i]]
        if not members:
            continue
        if not all(inside[i] for i in members):
            bays += members
            remarks.append((_joined(holes, members), "runs over the plate's edge and becomes a bay in the outline"))
        elif len(members) == 1:
            inner.append(holes[members[0]])
        else:
            inner += _merged(holes, shapes, members, remarks)
    outer = plate
    if bays:
        outer, enclosed = _with_bays(area, shapely.union_all(shapes[bays]), remarks)
        # A hole that only touches the edge is a hole still.
        inner += [Hole(_joined(holes, bays), contour) for contour in enclosed]
    return Cuts(tuple(inner), outer, tuple(remarks))


def _joined(holes: Sequence[Hole], members: Sequence[int]) -> str:
    return "+".join(dict.fromkeys(holes[i].item for i in members))


def _groups(shapes: np.ndarray) -> list[list[int]]:
    """Holes that meet, each group and all groups in the order of the holes."""
    pairs = shapely.STRtree(shapes).query(shapes, predicate="intersects").T
    return grouped(range(len(shapes)), ((int(a), int(b)) for a, b in pairs))


def _merged(
    holes: Sequence[Hole], shapes: np.ndarray, members: list[int], remarks: list[tuple[str, str]]
) -> list[Hole]:
    """One hole for several that meet: the one that covers all others as it is, or their union."""
    for i in members:
        if all(shapely.covers(shapes[i].buffer(1e-6), shapes[j]) for j in members):
            others = _joined(holes, [j for j in members if j != i])
            if others != holes[i].item:
                same = all(shapely.covers(shapes[j].buffer(1e-6), shapes[i]) for j in members)
                why = (
                    f"is the same hole as {holes[i].item}, which is cut once"
                    if same
                    else (f"lies within {holes[i].item} and falls out with it")
                )
                remarks.append((others, why))
            return [holes[i]]
    name = _joined(holes, members)
    remarks.append((name, "run into each other and are cut as one hole"))
    union = shapely.union_all(shapes[members])
    return [Hole(name, contour) for contour in _contours(union)]


def _with_bays(area: Polygon, bays: BaseGeometry, remarks: list[tuple[str, str]]) -> tuple[Contour, list[Contour]]:
    """The outline with its bays, and what is enclosed in it all the same."""
    found = _parts(area.difference(bays))
    if not found:
        raise ExportError("holes take the whole plate away; move or shrink them")
    if len(found) > 1:
        remarks.append(("plate", "falls into several pieces; the largest is cut"))
    enclosed = [_fitted(Polygon(ring)) for ring in found[0].interiors if Polygon(ring).area > _LEAST_AREA]
    return _fitted(found[0]), enclosed


def _contours(shape: BaseGeometry) -> list[Contour]:
    """The outer rings of a shape as paths of lines and arcs, the largest first."""
    return [_fitted(part) for part in _parts(shape)]


def _parts(shape: BaseGeometry) -> list[Polygon]:
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > _LEAST_AREA]
    return sorted(parts, key=lambda part: -part.area)


def _fitted(polygon: Polygon) -> Contour:
    ring = np.asarray(polygon.exterior.coords)[:-1]
    path = fit_path(ring) if len(ring) > 3 else from_vertices([(x, y, 0.0) for x, y in ring], closed=True)
    return Contour(path.counter_clockwise())


def moved(outline: Contour, distance: float) -> list[Contour]:
    """A contour moved outwards by ``distance`` mm (inwards when negative), to allow for the kerf.

    Lines and arcs stay what they are where they can; where an edge would vanish, or the contour meet itself, the
    polygon is moved instead. A contour that is narrower than the kerf leaves none, one with a narrow neck may leave
    several. A bay whose mouth is narrower than the kerf becomes a hole: the outer contour comes first, then what is
    within it.
    """
    if distance == 0.0:
        return [outline]
    if outline.round is not None:
        centre, radius = outline.round
        return [round_contour(centre, radius + distance)] if radius + distance > 0 else []
    with contextlib.suppress(OffsetError):
        shifted = Contour(offset(outline.path, distance))
        if polygon_of(shifted).is_valid:
            return [shifted]
    area = polygon_of(outline).buffer(distance, join_style="mitre", mitre_limit=_MITRE)
    within = [Polygon(ring) for part in shapely.get_parts(area) for ring in part.interiors]
    return _contours(area) + [contour for hole in within for contour in _contours(hole)]
