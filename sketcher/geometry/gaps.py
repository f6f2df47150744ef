"""Clear gaps and extents of items in plan, from their true lines and arcs.

A gap is exact where the items are lines and arcs (ports, holes, slots, cutouts, channels); boards and devices are
what they cover on the floor, as the rules see them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import product

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sketcher.geometry.edges import crossings
from sketcher.geometry.path import SAME_MM, Path, Point, Segment, circle, from_vertices
from sketcher.geometry.shapes import Shapes

#: Left, front, right, rear in plan, mm.
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Footprint:
    """What an item covers in plan: every place within ``radius`` mm of its path, and all within a closed path."""

    path: Path
    radius: float
    polygon: BaseGeometry
    low: float
    high: float


def footprint(shapes: Shapes, id_: str) -> Footprint | None:
    """What an item covers; none for a branch, a group, a device without an outline, or an unknown id.

    A port covers what its fitting does. Heights are those of the shape: from the plate's underside for what is in
    the plate, from the floor for what stands on it.
    """
    if id_ in shapes.ports:
        port = shapes.ports[id_]
        if port.heading is not None:  # an edge port lies in the plate: its thread is what takes the room
            return _of_polygon(port.thread_prism.polygon, port.thread_prism.low, port.thread_prism.high)
        prism = port.thread_prism
        return Footprint(circle(port.at, port.item.fitting_diameter_mm / 2), 0.0, port.fitting, prism.low, prism.high)
    if id_ in shapes.channels:
        channel = shapes.channels[id_]
        return Footprint(channel.path, channel.item.width_mm / 2, channel.polygon, channel.low, channel.high)
    if id_ in shapes.holes:
        hole = shapes.holes[id_]
        return Footprint(hole.contour.path, 0.0, hole.prism.polygon, hole.prism.low, hole.prism.high)
    for areas in (shapes.cutouts, shapes.pockets, shapes.keep_outs, shapes.obstacles, shapes.openings):
        if id_ in areas:
            area = areas[id_]
            assert area.contour is not None
            return Footprint(area.contour.path, 0.0, area.polygon, area.low, area.high)
    for bodies in (shapes.boards, shapes.devices):
        if id_ in bodies:
            return _of_polygon(bodies[id_].polygon, bodies[id_].low, bodies[id_].high)
    return None


def _of_polygon(polygon: Polygon, low: float, high: float) -> Footprint:
    path = from_vertices(((x, y, 0.0) for x, y in polygon.exterior.coords[:-1]), closed=True)
    return Footprint(path, 0.0, polygon, low, high)


def gap(one: Footprint, other: Footprint) -> float:
    """Clear distance in plan, mm; 0 when they touch, overlap, or one lies within the other."""
    if not one.path.segments or not other.path.segments:
        return float(one.polygon.distance(other.polygon))
    if _within(one, other) or _within(other, one):
        return 0.0
    cores = min(_apart(a, b) for a, b in product(one.path.segments, other.path.segments))
    return max(0.0, cores - one.radius - other.radius)


def extent(footprint: Footprint) -> Box:
    """How far it reaches, mm: exact, for an arc reaches beyond its chords."""
    places = [point for segment in footprint.path.segments for point in _outermost(segment)]
    if not places:
        left, front, right, rear = footprint.polygon.bounds
        return (left, front, right, rear)
    r = footprint.radius
    xs, ys = [x for x, _ in places], [y for _, y in places]
    return (min(xs) - r, min(ys) - r, max(xs) + r, max(ys) + r)


def _outermost(segment: Segment) -> list[Point]:
    """The ends of an edge, and where an arc reaches farthest along the axes."""
    ends = [segment.start, segment.end]
    if segment.straight:
        return ends
    (cx, cy), r = segment.centre, segment.radius
    quarters = [(cx + r, cy), (cx, cy + r), (cx - r, cy), (cx, cy - r)]
    return ends + [place for place in quarters if _on_arc(segment, place)]


def _within(inner: Footprint, outer: Footprint) -> bool:
    """Whether a place of one lies inside the closed path of the other. Edges that cross are found by distance."""
    return outer.path.closed and _inside(inner.path.start, outer.path)


def _inside(point: Point, path: Path) -> bool:
    """Whether a point lies in a closed path: its winding round the chords, put right between chord and arc."""
    x, y = point
    inside = False
    for segment in path.segments:
        (ax, ay), (bx, by) = segment.start, segment.end
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            inside = not inside
        if not segment.straight and _in_cap(point, segment):
            inside = not inside
    return inside


def _in_cap(point: Point, arc: Segment) -> bool:
    """Whether a point lies between an arc and its chord."""
    if math.dist(point, arc.centre) >= arc.radius:
        return False
    (ax, ay), (bx, by) = arc.start, arc.end
    side = (bx - ax) * (point[1] - ay) - (by - ay) * (point[0] - ax)
    return side < 0 if arc.bulge > 0 else side > 0


def _apart(one: Segment, other: Segment) -> float:
    """The least distance of two edges, mm: at an end, square to one of them, or along the line of two centres."""
    if _cross(one, other):
        return 0.0
    found = [_to_point(one, other.start), _to_point(one, other.end), _to_point(other, one.start)]
    found.append(_to_point(other, one.end))
    if not one.straight and not other.straight:
        # A common perpendicular of two circles runs through both centres; of concentric ones any will do, and the
        # ends have been looked at.
        found += [math.dist(p, q) for p, q in product(_on_ray(one, other.centre), _on_ray(other, one.centre))]
    elif one.straight != other.straight:
        line, arc = (one, other) if one.straight else (other, one)
        foot = _foot(line, arc.centre)
        if foot is not None:
            found += [math.dist(foot, p) for p in _on_ray(arc, foot)]
    return min(found)


def _to_point(segment: Segment, point: Point) -> float:
    ends = min(math.dist(segment.start, point), math.dist(segment.end, point))
    if segment.straight:
        foot = _foot(segment, point)
        return ends if foot is None else min(ends, math.dist(foot, point))
    return min([ends, *(math.dist(p, point) for p in _on_ray(segment, point))])


def _foot(line: Segment, point: Point) -> Point | None:
    """Where the perpendicular from a point meets a line, if within it."""
    (ax, ay), (bx, by) = line.start, line.end
    square = line.chord**2
    if square == 0:
        return None
    share = ((point[0] - ax) * (bx - ax) + (point[1] - ay) * (by - ay)) / square
    return (ax + share * (bx - ax), ay + share * (by - ay)) if 0 <= share <= 1 else None


def _on_ray(arc: Segment, point: Point) -> list[Point]:
    """The places of an arc nearest to and farthest from a point, if within the arc."""
    cx, cy = arc.centre
    away = math.dist(arc.centre, point)
    if away < SAME_MM:
        return []
    ux, uy = (point[0] - cx) / away, (point[1] - cy) / away
    ends = [(cx + sign * arc.radius * ux, cy + sign * arc.radius * uy) for sign in (1, -1)]
    return [place for place in ends if _on_arc(arc, place)]


def _on_arc(arc: Segment, place: Point) -> bool:
    """Whether a place on an arc's circle is on the arc."""
    cx, cy = arc.centre
    first = math.atan2(arc.start[1] - cy, arc.start[0] - cx)
    angle = math.atan2(place[1] - cy, place[0] - cx) - first
    turn = arc.included_angle
    swept = angle % (2 * math.pi) if turn > 0 else -angle % (2 * math.pi)
    return swept <= abs(turn) + 1e-12 or swept >= 2 * math.pi - 1e-12


def _cross(one: Segment, other: Segment) -> bool:
    return any(_holds(one, place) and _holds(other, place) for place in crossings(one, other))


def _holds(segment: Segment, place: Point) -> bool:
    """Whether a place on a segment's line or circle is within the segment."""
    if segment.straight:
        (ax, ay), (bx, by) = segment.start, segment.end
        along = (place[0] - ax) * (bx - ax) + (place[1] - ay) * (by - ay)
        return 0 <= along <= segment.chord**2
    return _on_arc(segment, place)


def between(shapes: Shapes, one: str, other: str) -> float | None:
    """Clear gap in plan of two items, mm; none when one of them covers nothing."""
    first, second = footprint(shapes, one), footprint(shapes, other)
    return None if first is None or second is None else gap(first, second)
