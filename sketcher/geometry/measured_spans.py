"""Dimension lines worked out: where their two ends are on the true shapes, and how far apart.

A straight edge counts with its extension, as on any drawing; an arc as far as it reaches. Parallel edges are measured
square to each other, others where they are nearest.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import shapely
from shapely import LinearRing, LineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from sketcher.document.dimensions import Dimension, DimensionEnd
from sketcher.document.outlines import Circle, Outline, Polygon, Slot
from sketcher.geometry.path import Point, Segment
from sketcher.geometry.shapes import AreaShape, Shapes

#: Arcs that are no whole circles are taken as chords within this, mm; lines that turn less are parallel, radians.
ARC_MM, PARALLEL_RAD = 0.001, 1e-6


@dataclass(frozen=True)
class Measured:
    """A dimension line as it is drawn, mm: from ``start`` to ``end``, with its line from ``line[0]`` to ``line[1]``."""

    id: str
    value_mm: float
    start: Point
    end: Point
    line: tuple[Point, Point]

    @property
    def words(self) -> str:
        """The value as it is written, to a hundredth."""
        return f"{self.value_mm:.2f}".rstrip("0").rstrip(".")


@dataclass(frozen=True)
class Lost:
    """A dimension line that has lost what it measured, and why."""

    id: str
    why: str


@dataclass(frozen=True)
class Edge:
    """An edge: a straight one by its ends, a whole circle by centre and radius, and in any case its shape."""

    shape: BaseGeometry
    line: tuple[Point, Point] | None = None
    circle: tuple[Point, float] | None = None

    @property
    def middle(self) -> Point:
        """Where it is, roughly: what the other end looks at first."""
        if self.line is not None:
            (ax, ay), (bx, by) = self.line
            return ((ax + bx) / 2, (ay + by) / 2)
        if self.circle is not None:
            return self.circle[0]
        centre = self.shape.centroid
        return (centre.x, centre.y)


def dimensions(shapes: Shapes) -> list[Measured | Lost]:
    """Every dimension line of a document, in order."""
    return [measured(shapes, dimension) for dimension in shapes.document.dimensions]


def dimensions_json(shapes: Shapes) -> dict[str, Any]:
    """Every dimension line by its id: its value and the places it measures between, or why it is not drawn."""
    return {
        one.id: {"value_mm": one.value_mm, "why": "", "first": list(one.start), "second": list(one.end)}
        if isinstance(one, Measured)
        else {"value_mm": None, "why": one.why, "first": None, "second": None}
        for one in dimensions(shapes)
    }


def measured(shapes: Shapes, dimension: Dimension) -> Measured | Lost:
    """One dimension line; lost when the item, edge or corner that it names is not there."""
    ends = []
    for end in (dimension.first, dimension.second):
        found = place(shapes, end)
        if found is None:
            what = "" if end.part == "centre" else f"{end.part} {end.index + 1} of "
            return Lost(dimension.id, f"there is no {what}{end.item}")
        ends.append(found)
    axis = {"horizontal": 0, "vertical": 1}.get(dimension.direction)
    a, b = between(ends[0], ends[1], axis)
    value = math.dist(a, b) if axis is None else abs(a[axis] - b[axis])
    off = dimension.offset_mm
    if axis == 0:
        line = ((a[0], a[1] + off), (b[0], a[1] + off))
    elif axis == 1:
        line = ((a[0] + off, a[1]), (a[0] + off, b[1]))
    else:
        ux, uy = _unit(a, b)
        line = ((a[0] - uy * off, a[1] + ux * off), (b[0] - uy * off, b[1] + ux * off))
    return Measured(dimension.id, value, a, b, line)


def place(shapes: Shapes, end: DimensionEnd) -> Point | Edge | None:
    """The point or the edge that one end of a dimension line names; none when it is not there."""
    if end.item is None:
        return (end.x_mm, end.y_mm)
    if end.item in shapes.device_ports:
        port = shapes.device_ports[end.item]
        return (port.x, port.y) if end.part == "centre" else None
    outline = _outline(shapes, end.item)
    if outline is not None:
        return _of_outline(outline, end)
    for bodies in (shapes.boards, shapes.devices):
        if end.item in bodies:
            return _of_box(bodies[end.item], end)
    return _of_round(shapes, end)


def _outline(shapes: Shapes, item: str) -> Outline | None:
    document = shapes.document
    for group in (document.cutouts, document.pockets, document.keep_outs, document.floor.obstacles,
                  document.floor.openings):  # fmt: skip
        for area in group:
            if area.id == item:
                return area.outline
    # An item that took such a word for its id comes first.
    wholes = {"plate": document.plate.outline, "floor": document.floor.outline}
    known = {*shapes.ports, *shapes.holes, *shapes.channels, *shapes.boards, *shapes.devices}
    return None if item in known else wholes.get(item)


def _of_outline(outline: Outline, end: DimensionEnd) -> Point | Edge | None:
    if end.part == "edge" and isinstance(outline, Circle):
        return round_edge((outline.x_mm, outline.y_mm), outline.diameter_mm / 2)
    corners = outline_corners(outline)
    if end.part == "centre":
        if not isinstance(outline, Polygon):
            return (outline.x_mm, outline.y_mm)
        xs, ys = zip(*corners, strict=True)
        return ((min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)
    if end.index >= len(corners):
        return None
    if end.part == "corner":
        return corners[end.index]
    bulge = outline.vertices[end.index].bulge if isinstance(outline, Polygon) else 0.0
    return segment_edge(Segment(corners[end.index], corners[(end.index + 1) % len(corners)], bulge))


def outline_corners(outline: Outline) -> list[Point]:
    """Corners before they are rounded; of a slot those of the rectangle around it, of a circle its quarter points."""
    if isinstance(outline, Polygon):
        return [(vertex.x_mm, vertex.y_mm) for vertex in outline.vertices]
    if isinstance(outline, Circle):
        x, y, r = outline.x_mm, outline.y_mm, outline.diameter_mm / 2
        return [(x - r, y), (x, y - r), (x + r, y), (x, y + r)]
    across = (outline.length_mm, outline.width_mm) if isinstance(outline, Slot) else (
        outline.width_mm, outline.depth_mm)  # fmt: skip
    c, s = math.cos(math.radians(outline.turn_deg)), math.sin(math.radians(outline.turn_deg))
    w, d = across[0] / 2, across[1] / 2
    return [
        (outline.x_mm + c * x - s * y, outline.y_mm + s * x + c * y) for x, y in ((-w, -d), (w, -d), (w, d), (-w, d))
    ]


def _of_box(area: AreaShape, end: DimensionEnd) -> Point | Edge | None:
    """Of a board or a device: the box around what it covers in plan."""
    left, front, right, rear = (float(value) for value in shapely.bounds(area.polygon))
    if not math.isfinite(left):
        return None
    corners = [(left, front), (right, front), (right, rear), (left, rear)]
    if end.part == "centre":
        return ((left + right) / 2, (front + rear) / 2)
    if end.index > 3:
        return None
    if end.part == "corner":
        return corners[end.index]
    return segment_edge(Segment(corners[end.index], corners[(end.index + 1) % 4]))


def _of_round(shapes: Shapes, end: DimensionEnd) -> Point | Edge | None:
    """Of a port, a hole, a junction or a channel: its centre, and the one edge that it has."""
    item = str(end.item)
    if end.part == "corner" or (end.part == "edge" and end.index):
        return None
    if item in shapes.ports:
        port = shapes.ports[item]
        if end.part == "centre":
            return port.at
        if port.heading is None:
            return round_edge(port.at, port.item.fitting_diameter_mm / 2)
        return Edge(port.fitting.exterior)
    if item in shapes.holes:
        hole = shapes.holes[item]
        at = (hole.item.x_mm, hole.item.y_mm)
        if end.part == "centre":
            return at
        if hole.contour.round is not None:
            return round_edge(*hole.contour.round)
        return Edge(LinearRing(hole.contour.path.points(ARC_MM)))
    if item in shapes.channels and shapes.channels[item].path.segments:
        channel = shapes.channels[item]
        return channel.path.at(channel.length_mm / 2) if end.part == "centre" else Edge(channel.polygon.boundary)
    branch = next((branch for branch in shapes.document.branches if branch.id == item), None)
    return (branch.x_mm, branch.y_mm) if branch is not None and end.part == "centre" else None


def round_edge(centre: Point, radius: float) -> Edge:
    """A whole circle."""
    return Edge(shapely.Point(centre).buffer(radius, quad_segs=64).exterior, circle=(centre, radius))


def segment_edge(segment: Segment) -> Edge:
    """A straight edge or an arc."""
    shape = LineString([*segment.points(ARC_MM), segment.end])
    return Edge(shape, line=(segment.start, segment.end) if segment.straight else None)


def between(one: Point | Edge, other: Point | Edge, axis: int | None) -> tuple[Point, Point]:
    """The two places between which a dimension is measured: along x (0), along y (1) or the shortest way (none)."""
    if axis is not None:
        lines = [end.line for end in (one, other) if isinstance(end, Edge) and end.line is not None]
        if len(lines) == 2 and all(abs(_unit(*line)[axis]) < PARALLEL_RAD for line in lines):
            return _parallel(lines[0], lines[1])
        first = _where(other)
        if isinstance(one, Edge) and isinstance(other, Edge):
            # Two edges look at each other where they are nearest.
            near = nearest_points(one.shape, other.shape)[1]
            first = first if one.circle or other.circle else (near.x, near.y)
        a = _seen(one, first, axis)
        b = _seen(other, a, axis)
        return _seen(one, b, axis), b
    if isinstance(one, Edge) and isinstance(other, Edge):
        return _nearest(one, other)
    a = _seen(one, _where(other), None)
    return a, _seen(other, a, None)


def _where(end: Point | Edge) -> Point:
    return end.middle if isinstance(end, Edge) else end


def _seen(end: Point | Edge, target: Point, axis: int | None) -> Point:
    """The place on an end that a target looks at."""
    if not isinstance(end, Edge):
        return end
    if end.circle is not None:
        (x, y), radius = end.circle
        ux, uy = _unit((x, y), target)
        if axis is not None:
            ux, uy = (math.copysign(1.0, ux), 0.0) if axis == 0 else (0.0, math.copysign(1.0, uy))
        return (x + ux * radius, y + uy * radius)
    if end.line is not None:
        return _foot(end.line, target) if axis is None else _level(end.line, target, axis)
    near = nearest_points(end.shape, shapely.Point(target))[0]
    return (near.x, near.y)


def _foot(line: tuple[Point, Point], target: Point) -> Point:
    """Square off a target on a line."""
    (x, y), (ux, uy) = line[0], _unit(*line)
    along = (target[0] - x) * ux + (target[1] - y) * uy
    return (x + along * ux, y + along * uy)


def _level(line: tuple[Point, Point], target: Point, axis: int) -> Point:
    """Where a line is level with a target, along x (0) or y (1); of one that runs that way itself the nearer end."""
    (x, y), (ux, uy) = line[0], _unit(*line)
    if axis == 0:
        if abs(uy) < PARALLEL_RAD:
            return min(line, key=lambda end: math.dist(end, target))
        return (x + (target[1] - y) * ux / uy, target[1])
    if abs(ux) < PARALLEL_RAD:
        return min(line, key=lambda end: math.dist(end, target))
    return (target[0], y + (target[0] - x) * uy / ux)


def _nearest(one: Edge, other: Edge) -> tuple[Point, Point]:
    """Between two edges the shortest way."""
    if one.line is not None and other.line is not None:
        u, v = _unit(*one.line), _unit(*other.line)
        if abs(u[0] * v[1] - u[1] * v[0]) < PARALLEL_RAD:
            return _parallel(one.line, other.line)
    if one.circle is not None and other.circle is not None:
        return _circles(one.circle, other.circle)
    for edge, straight, turned in ((one, other, False), (other, one, True)):
        if edge.circle is not None and straight.line is not None:
            foot = _foot(straight.line, edge.circle[0])
            pair = (_seen(edge, foot, None), foot)
            return (pair[1], pair[0]) if turned else pair
    a, b = nearest_points(one.shape, other.shape)
    return (a.x, a.y), (b.x, b.y)


def _parallel(one: tuple[Point, Point], other: tuple[Point, Point]) -> tuple[Point, Point]:
    """In the middle of where two parallel edges face each other."""
    (x, y), (ux, uy) = one[0], _unit(*one)
    along: Callable[[Point], float] = lambda p: (p[0] - x) * ux + (p[1] - y) * uy  # noqa: E731
    first, second = sorted(map(along, one)), sorted(map(along, other))
    low, high = max(first[0], second[0]), min(first[1], second[1])
    at = (low + high) / 2
    a = (x + at * ux, y + at * uy)
    return a, _foot(other, a)


def _circles(one: tuple[Point, float], other: tuple[Point, float]) -> tuple[Point, Point]:
    (a, r), (b, q) = one, other
    apart = math.dist(a, b)
    ux, uy = _unit(a, b)
    # One within the other is nearest on the side to which it is off; the way runs outward.
    s = 1.0 if apart >= abs(r - q) or r > q else -1.0
    t = -1.0 if apart >= abs(r - q) else s
    return (a[0] + s * r * ux, a[1] + s * r * uy), (b[0] + t * q * ux, b[1] + t * q * uy)


def _unit(a: Point, b: Point) -> Point:
    """From a to b at length 1; of one place, to the right."""
    size = math.dist(a, b)
    return ((b[0] - a[0]) / size, (b[1] - a[1]) / size) if size > 1e-12 else (1.0, 0.0)
