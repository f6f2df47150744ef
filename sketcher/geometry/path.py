"""Plane paths of straight and arc segments: the true shape, before it becomes a polygon anywhere.

All lengths are mm, all points (x, y) tuples. An arc is kept as its two ends and its bulge (the tangent of a quarter
of the included angle, positive counter-clockwise: the DXF reference's definition of an LWPOLYLINE's bulge).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Self

Point = tuple[float, float]

#: How far a polygon may depart from the true arc, mm.
TOLERANCE_MM = 0.01
#: Points nearer than this are the same point, mm.
SAME_MM = 1e-7


@dataclass(frozen=True)
class Segment:
    """A straight or an arc edge from ``start`` to ``end``."""

    start: Point
    end: Point
    bulge: float = 0.0

    @property
    def straight(self) -> bool:
        """Whether this is a line."""
        return self.bulge == 0.0

    @cached_property
    def chord(self) -> float:
        """Distance between the ends, mm."""
        return math.dist(self.start, self.end)

    @cached_property
    def included_angle(self) -> float:
        """The arc's signed included angle, radians; 0 for a line."""
        return 4 * math.atan(self.bulge)

    @cached_property
    def radius(self) -> float:
        """The arc's radius, mm; infinite for a line."""
        return math.inf if self.straight else self.chord * (1 + self.bulge**2) / (4 * abs(self.bulge))

    @cached_property
    def centre(self) -> Point:
        """The arc's centre. Raises ``ValueError`` for a line."""
        if self.straight:
            raise ValueError("a straight segment has no centre")
        (x0, y0), (x1, y1) = self.start, self.end
        lift = (1 - self.bulge**2) / (4 * self.bulge)
        return ((x0 + x1) / 2 - lift * (y1 - y0), (y0 + y1) / 2 + lift * (x1 - x0))

    @cached_property
    def length(self) -> float:
        """Length along the segment, mm."""
        return self.chord if self.straight else self.radius * abs(self.included_angle)

    def direction(self, at_end: bool = False) -> float:
        """Direction of travel at the start or at the end, radians from x, counter-clockwise."""
        chord = math.atan2(self.end[1] - self.start[1], self.end[0] - self.start[0])
        return chord + (1 if at_end else -1) * self.included_angle / 2

    def reversed(self) -> Self:
        """The same edge, travelled the other way."""
        return replace(self, start=self.end, end=self.start, bulge=-self.bulge)

    def points(self, tolerance: float = TOLERANCE_MM) -> Iterator[Point]:
        """Points from the start up to, but without, the end, within ``tolerance`` mm of the true edge."""
        yield self.start
        if self.straight or self.chord < SAME_MM:
            return
        steps = arc_steps(self.radius, abs(self.included_angle), tolerance)
        cx, cy = self.centre
        first = math.atan2(self.start[1] - cy, self.start[0] - cx)
        for step in range(1, steps):
            angle = first + self.included_angle * step / steps
            yield (cx + self.radius * math.cos(angle), cy + self.radius * math.sin(angle))

    def at(self, distance: float) -> Point:
        """The point so many mm along the segment."""
        share = distance / self.length if self.length else 0.0
        if self.straight:
            (x0, y0), (x1, y1) = self.start, self.end
            return (x0 + share * (x1 - x0), y0 + share * (y1 - y0))
        cx, cy = self.centre
        angle = math.atan2(self.start[1] - cy, self.start[0] - cx) + share * self.included_angle
        return (cx + self.radius * math.cos(angle), cy + self.radius * math.sin(angle))


def arc_steps(radius: float, angle: float, tolerance: float = TOLERANCE_MM) -> int:
    """How many chords keep within ``tolerance`` of an arc: the sagitta of each is r (1 - cos(step/2))."""
    if radius <= tolerance:
        return max(2, math.ceil(angle / (math.pi / 2)))
    step = 2 * math.acos(1 - tolerance / radius)
    return max(2, math.ceil(angle / step))


@dataclass(frozen=True)
class Path:
    """Segments end to end; a closed path ends where it begins."""

    segments: tuple[Segment, ...]
    closed: bool = False

    @cached_property
    def length(self) -> float:
        """Length along the path, mm."""
        return math.fsum(segment.length for segment in self.segments)

    @property
    def start(self) -> Point:
        """The first point."""
        return self.segments[0].start

    @property
    def end(self) -> Point:
        """The last point; of a closed path, the first again."""
        return self.segments[-1].end

    def points(self, tolerance: float = TOLERANCE_MM) -> list[Point]:
        """The path as points within ``tolerance`` mm; a closed one does not repeat its first."""
        found = [point for segment in self.segments for point in segment.points(tolerance)]
        if not self.closed:
            found.append(self.end)
        return found

    @cached_property
    def area(self) -> float:
        """Signed area of a closed path, mm²: positive when it runs counter-clockwise. Arcs count in full."""
        total = 0.0
        for segment in self.segments:
            (x0, y0), (x1, y1) = segment.start, segment.end
            total += (x0 * y1 - x1 * y0) / 2
            if not segment.straight:
                angle = segment.included_angle
                total += segment.radius**2 * (angle - math.sin(angle)) / 2
        return total

    def reversed(self) -> Path:
        """The same path, travelled the other way."""
        return Path(tuple(segment.reversed() for segment in reversed(self.segments)), self.closed)

    def counter_clockwise(self) -> Path:
        """A closed path in the counter-clockwise sense."""
        return self if self.area >= 0 else self.reversed()

    def at(self, distance: float) -> Point:
        """The point so many mm along the path; the ends when that is outside it."""
        for segment in self.segments:
            if distance <= segment.length:
                return segment.at(max(distance, 0.0))
            distance -= segment.length
        return self.end

    def vertices(self) -> list[tuple[float, float, float]]:
        """(x, y, bulge) of each corner, as an LWPOLYLINE holds them."""
        found = [(*segment.start, segment.bulge) for segment in self.segments]
        if not self.closed:
            found.append((*self.end, 0.0))
        return found


def from_vertices(vertices: Iterable[tuple[float, float, float]], closed: bool) -> Path:
    """The path through (x, y, bulge) corners; corners on the same place are passed over."""
    rows: list[tuple[float, float, float]] = []
    for x, y, bulge in vertices:
        if rows and math.hypot(x - rows[-1][0], y - rows[-1][1]) <= SAME_MM:
            rows[-1] = (*rows[-1][:2], bulge)
        else:
            rows.append((x, y, bulge))
    if closed and len(rows) > 1 and math.hypot(rows[0][0] - rows[-1][0], rows[0][1] - rows[-1][1]) <= SAME_MM:
        rows.pop()
    ends = [*rows[1:], rows[0]] if closed else rows[1:]
    segments = tuple(Segment((x, y), (ex, ey), bulge) for (x, y, bulge), (ex, ey, _) in zip(rows, ends, strict=False))
    return Path(segments, closed)


def circle(centre: Point, radius: float) -> Path:
    """A full circle, as two half arcs, counter-clockwise."""
    x, y = centre
    return from_vertices([(x + radius, y, 1.0), (x - radius, y, 1.0)], closed=True)


@dataclass(frozen=True)
class Bend:
    """A rounded corner: where the corner was, the angle turned (degrees, left positive), the radius and the wish."""

    corner: Point
    angle_deg: float
    radius: float
    wanted: float

    @property
    def fits(self) -> bool:
        """Whether the radius asked for found room between the neighbouring corners."""
        return self.radius >= self.wanted - 1e-6


def fillet(corners: Sequence[Point], radii: Sequence[float], closed: bool = False) -> tuple[Path, list[Bend]]:
    """The path through ``corners`` with each inner corner rounded to its radius.

    Where two roundings do not fit on the edge between them, both shrink in proportion until they do; the bends say
    so. Corners where the path runs straight on have no bend.

    Args:
        corners: points, mm; the path's ends keep theirs unless it is closed.
        radii: one for each corner, mm; those of an open path's ends are not used.
        closed: whether the last corner joins the first.
    """
    places: list[Point] = []
    wishes: list[float] = []
    for corner, radius in zip(corners, radii, strict=True):
        if not places or math.dist(corner, places[-1]) > SAME_MM:
            places.append(corner)
            wishes.append(radius)
        else:
            wishes[-1] = max(wishes[-1], radius)
    if closed and len(places) > 1 and math.dist(places[0], places[-1]) <= SAME_MM:
        places.pop()
        wishes.pop()
    count = len(places)
    turns = [0.0] * count
    tangents = [0.0] * count
    for i in range(count) if closed else range(1, count - 1):
        turn = turn_at(places[i - 1], places[i], places[(i + 1) % count])
        turns[i] = turn
        if abs(turn) > 1e-9 and abs(turn) < math.pi - 1e-9:
            tangents[i] = wishes[i] * math.tan(abs(turn) / 2)
    shrink = [1.0] * count
    for i in range(count if closed else count - 1):
        j = (i + 1) % count
        edge, need = math.dist(places[i], places[j]), tangents[i] + tangents[j]
        if need > edge:
            share = edge / need
            shrink[i], shrink[j] = min(shrink[i], share), min(shrink[j], share)
    vertices: list[tuple[float, float, float]] = []
    bends: list[Bend] = []
    for i, (x, y) in enumerate(places):
        tangent, turn = tangents[i] * shrink[i], turns[i]
        if abs(turn) > 1e-9:
            bends.append(Bend((x, y), math.degrees(turn), wishes[i] * shrink[i] if tangents[i] else 0.0, wishes[i]))
        if tangent <= SAME_MM:
            vertices.append((x, y, 0.0))
            continue
        before, after = places[i - 1], places[(i + 1) % count]
        vertices.append((*_towards((x, y), before, tangent), math.tan(turn / 4)))
        vertices.append((*_towards((x, y), after, tangent), 0.0))
    return from_vertices(vertices, closed), bends


def turn_at(before: Point, corner: Point, after: Point) -> float:
    """The angle by which travel turns at a corner, radians, left positive."""
    ax, ay = corner[0] - before[0], corner[1] - before[1]
    bx, by = after[0] - corner[0], after[1] - corner[1]
    return math.atan2(ax * by - ay * bx, ax * bx + ay * by)


def _towards(start: Point, end: Point, distance: float) -> Point:
    share = distance / math.dist(start, end)
    return (start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1]))


def part(path: Path, start: float, end: float) -> Path:
    """The stretch of a path between two distances along it (mm); arcs stay arcs.

    Raises:
        ValueError: the stretch is empty or reaches beyond the path.
    """
    if not -SAME_MM <= start < end <= path.length + SAME_MM:
        raise ValueError(f"no stretch from {start:g} to {end:g} mm lies on a path of {path.length:g} mm")
    found: list[Segment] = []
    passed = 0.0
    for segment in path.segments:
        first, last = max(start - passed, 0.0), min(end - passed, segment.length)
        if last - first > SAME_MM:
            share = (last - first) / segment.length
            bulge = math.tan(segment.included_angle * share / 4)
            found.append(Segment(segment.at(first), segment.at(last), bulge))
        passed += segment.length
    return Path(tuple(found))
