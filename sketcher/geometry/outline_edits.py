"""Outlines of a document drawn by what is there: along the floor, along one edge, with another shape added or taken."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from sketcher.document import Document
from sketcher.document.outlines import Outline
from sketcher.geometry.combining import CombiningError, How, Region, combined, grown, outline_of
from sketcher.geometry.following import FollowingError, plan_path
from sketcher.geometry.meetings import lines
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.path import Path, Point, Segment
from sketcher.geometry.shapes import Shapes

Do = Literal["follow", "along", "union", "minus", "common"]
#: Edges nearer to parallel than this (sine of the angle) do not cut each other.
_FLAT = 0.02


class OutlineError(ValueError):
    """The edit makes no outline; the message says why, and what to do instead."""


@dataclass(frozen=True)
class Edited:
    """An outline, what should be known of how it came about, and whether it is another one than before."""

    outline: Outline
    messages: tuple[str, ...] = ()
    changed: bool = True


def outline_named(document: Document, id_: str) -> Outline:
    """The outline of the plate, of the floor, or of an item by its id. Raises ``OutlineError`` when there is none."""
    lists = (document.cutouts, document.pockets, document.keep_outs)
    for item in (item for items in (*lists, document.floor.obstacles, document.floor.openings) for item in items):
        if item.id == id_:
            return item.outline
    if id_ == "plate":
        return document.plate.outline
    if id_ == "floor":
        return document.floor.outline
    raise OutlineError(f"{id_} has no outline that can be drawn")


def _path_of(shapes: Shapes, id_: str) -> Path:
    try:
        return contour(outline_named(shapes.document, id_)).path
    except OutlineError:
        pass
    try:
        return plan_path(shapes, id_)
    except FollowingError as error:
        raise OutlineError(str(error)) from None


def edited(
    shapes: Shapes, target: str, do: Do, other: str, distance_mm: float = 0.0, edge: int | None = None
) -> Edited:
    """The outline of ``target`` after an edit by another shape; arcs stay arcs.

    ``follow`` takes the other's outline, so far inside it (outside when negative), sharp corners sharp. ``along`` lays
    one straight edge of the target along the nearest straight edge of the other, so far beside it. ``union``, ``minus``
    and ``common`` work with the other grown by so much.

    Args:
        shapes: of the document.
        target: ``plate``, ``floor``, or the id of an item with an outline.
        do: what is done, as above.
        other: what the edit goes by, named as the target is; or a board or device, as it is seen from above.
        distance_mm: how far inside, beside, or grown by.
        edge: the target's edge by the number of the corner that it begins at, for ``along`` only.

    Raises:
        OutlineError: nothing sensible comes of it.
    """
    if target == other:
        raise OutlineError("an outline cannot go by itself; choose another shape")
    beside = _path_of(shapes, other)
    own = outline_named(shapes.document, target)
    if do == "along":
        return Edited(_along(contour(own).path, beside, distance_mm, edge, own))
    try:
        if do == "follow":
            return _single(grown(beside, -distance_mm, "sharp"), f"{distance_mm:g} mm inside {_called(other)} it")
        with_room = grown(beside, distance_mm)[0].outer if distance_mm else beside
        return _joined(contour(own).path, with_room, do, target, other)
    except CombiningError as error:
        raise OutlineError(str(error)) from None


def _single(regions: list[Region], words: str) -> Edited:
    messages = []
    if len(regions) > 1:
        messages.append(f"{words.capitalize()} falls into {len(regions)} pieces: the largest is taken.")
    return Edited(outline_of(regions[0].outer), tuple(messages))


def _called(id_: str, first: bool = False) -> str:
    """What an outline belongs to, in a sentence."""
    the = "The" if first else "the"
    return f"{the} {id_}" if id_ in ("plate", "floor") else id_


def _joined(own: Path, other: Path, how: How, target: str, name: str) -> Edited:
    regions = combined(own, other, how)
    if how == "union" and len(regions) > 1:
        raise OutlineError(f"{_called(target)} and {_called(name)} do not touch; move them together first")
    if regions[0].holes and how == "minus":
        raise OutlineError(f"{_called(name)} lies inside {_called(target)}: a cutout along it makes the hole")
    messages = []
    if len(regions) > 1:
        messages.append(f"{len(regions)} pieces are left: the largest is taken.")
    if regions[0].holes:
        messages.append("A gap between the two is filled: an outline has no holes.")
    made = outline_of(regions[0].outer)
    if math.isclose(abs(contour(made).path.area), abs(own.area), abs_tol=1e-6) and len(regions) == 1:
        return Edited(made, (f"{_called(name, first=True)} changes nothing in {_called(target)}.",), changed=False)
    return Edited(made, tuple(messages))


def _along(own: Path, other: Path, distance: float, edge: int | None, outline: Outline) -> Outline:
    if outline.shape == "circle":
        raise OutlineError("a circle has no straight edge")
    if outline.shape == "polygon":
        corners = [(v.x_mm, v.y_mm) for v in outline.vertices]
        bulges = [v.bulge for v in outline.vertices]
    else:
        raise OutlineError("edit the outline by corners first: then each of its edges can lie where it should")
    if edge is None or not 0 <= edge < len(corners):
        raise OutlineError("choose the edge first")
    if bulges[edge]:
        raise OutlineError("the edge is an arc; make it straight first")
    n = len(corners)
    a, b = corners[edge], corners[(edge + 1) % n]
    if math.dist(a, b) == 0:
        raise OutlineError("the edge has no length")
    guide = _nearest_line(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), Segment(a, b), other)
    start, way = _beside(guide, distance, own)
    ends = []
    for end, beyond, straight in (
        (a, corners[edge - 1], not bulges[edge - 1]),
        (b, corners[(edge + 2) % n], not bulges[(edge + 1) % n]),
    ):
        towards = (beyond[0] - end[0], beyond[1] - end[1])
        met = lines(start, way, end, towards) if straight and _steep(way, towards) else None
        ends.append(met if met is not None else _foot(end, start, way))
    vertices = list(outline.vertices)
    for index, (x, y) in ((edge, ends[0]), ((edge + 1) % n, ends[1])):
        vertices[index] = vertices[index].model_copy(update={"x_mm": round(x, 6), "y_mm": round(y, 6)})
    return outline.model_copy(update={"vertices": tuple(vertices)})


def _nearest_line(middle: Point, edge: Segment, other: Path) -> Segment:
    """The straight edge of the other shape that runs most nearly like this one, the nearest of those."""
    straight = [s for s in other.segments if s.straight and s.chord > 0]
    if not straight:
        raise OutlineError("the other shape has no straight edge")
    ux, uy = (edge.end[0] - edge.start[0]) / edge.chord, (edge.end[1] - edge.start[1]) / edge.chord

    def off(line: Segment) -> tuple[bool, float]:
        vx, vy = (line.end[0] - line.start[0]) / line.chord, (line.end[1] - line.start[1]) / line.chord
        share = ((middle[0] - line.start[0]) * vx + (middle[1] - line.start[1]) * vy) / line.chord
        foot = line.at(min(1.0, max(0.0, share)) * line.chord)
        # Within 45 degrees it is the edge that is meant; one across comes only when there is no other.
        return abs(ux * vy - uy * vx) > math.sqrt(0.5), math.dist(middle, foot)

    return min(straight, key=off)


def _beside(guide: Segment, distance: float, own: Path) -> tuple[Point, Point]:
    """A place and the way of the line beside the guide, on the side where the outline itself lies."""
    (x, y), (ex, ey) = guide.start, guide.end
    nx, ny = -(ey - y) / guide.chord, (ex - x) / guide.chord
    points = own.points(1.0)
    lean = sum((px - x) * nx + (py - y) * ny for px, py in points)
    side = 1.0 if lean >= 0 else -1.0
    return (x + side * nx * distance, y + side * ny * distance), (ex - x, ey - y)


def _steep(one: Point, other: Point) -> bool:
    sizes = math.hypot(*one) * math.hypot(*other)
    return sizes > 0 and abs(one[0] * other[1] - one[1] * other[0]) > _FLAT * sizes


def _foot(place: Point, start: Point, way: Point) -> Point:
    share = ((place[0] - start[0]) * way[0] + (place[1] - start[1]) * way[1]) / (way[0] ** 2 + way[1] ** 2)
    return (start[0] + share * way[0], start[1] + share * way[1])


__all__ = ["Do", "Edited", "OutlineError", "edited", "outline_named"]
