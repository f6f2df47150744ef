"""Bends about one centre: channels that run beside each other keep their spacing round the corner.

Two corners nest when both legs of one lie beside both legs of the other, as far away on either leg. With a radius that
is larger by that distance the outer bend has the inner one's centre, so the wall between the two is as thick in the
bend as along the legs.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import permutations

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sketcher.geometry.path import Point, turn_at
from sketcher.proposing.courses import RADII_MM, Course, cut_off, cut_room, largest_radii

#: Both legs are as far apart when they agree within this, mm, and parallel within so many degrees.
_EVEN_MM, _PARALLEL_DEG = 0.11, 0.5
#: A turn smaller than this has no bend worth a centre of its own, degrees.
_LEAST_TURN_DEG = 20.0
#: A corner that lies one millimetre further out on either leg is cut by so much more, mm, so that its line at 45° lies
#: one millimetre further out too: 2 - sqrt(2), by plane geometry.
_CUT_MORE = 2 - math.sqrt(2)

#: Where a course may run, given how all lie: its number, those of others that are not counted as in its way, and all.
FreeOf = Callable[[int, Collection[int], Sequence[Course]], BaseGeometry]


@dataclass(frozen=True)
class _Corner:
    """An inner corner of a course: which, where, unit vectors along its legs, and the turn, taken as to the left."""

    course: int
    inner: int
    at: Point
    into: Point
    out_of: Point
    turn: float

    def outside(self, other: _Corner) -> float | None:
        """How far another corner lies outside this one, mm, when the two nest; below 0 when it lies inside."""
        apart = self.apart(other)
        return None if apart is None or abs(apart[0] - apart[1]) > _EVEN_MM else sum(apart) / 2

    def apart(self, other: _Corner) -> tuple[float, float] | None:
        """How far the legs of another corner that turns the same way lie outside this one's, the leg into it and the
        leg out of it, mm."""
        if other.course == self.course or abs(self.turn - other.turn) > math.radians(_PARALLEL_DEG):
            return None
        if max(math.dist(self.into, other.into), math.dist(self.out_of, other.out_of)) > math.radians(_PARALLEL_DEG):
            return None
        dx, dy = other.at[0] - self.at[0], other.at[1] - self.at[1]
        # To the right of a leg is the outside of a turn to the left.
        return dx * self.into[1] - dy * self.into[0], dx * self.out_of[1] - dy * self.out_of[0]


def concentric(
    courses: Sequence[Course],
    free_of: FreeOf,
    least_mm: float,
    reach_mm: float,
) -> list[Course]:
    """The courses with the bends that nest about one centre, where ground and legs allow it.

    Args:
        courses: with a radius at each inner corner.
        free_of: where a course may run.
        least_mm: radius of the innermost bend.
        reach_mm: farther apart than this nobody sees two channels as a pair.
    """
    found = list(courses)
    for nest in _nests(courses, reach_mm):
        rest = nest
        while len(rest) > 1:
            count = next((n for n in range(len(rest), 1, -1) if _bent(found, rest[:n], free_of, least_mm)), 1)
            rest = rest[count:]
    return found


def evened(ways: Sequence[Sequence[Point]], free_of: FreeOf, reach_mm: float) -> list[list[Point]]:
    """Ways along x and y with as much between two that turn one inside the other before the corner as after it.

    A leg is moved that ends at no port, as far as makes the distances the same, where the ground lets it.

    Args:
        ways, free_of, reach_mm: as for ``even_cuts``.
    """
    found = [list(way) for way in ways]
    done: set[tuple[int, int, int, int]] = set()
    while True:
        courses = [Course(tuple(way), (0.0,) * (len(way) - 2)) for way in found]
        uneven = [
            (max(apart), one, other, apart)
            for one, other in permutations(_corners(courses), 2)
            if (apart := one.apart(other)) is not None
            and min(apart) > 0
            and max(apart) <= reach_mm
            and abs(apart[0] - apart[1]) > _EVEN_MM
            and (one.course, one.inner, other.course, other.inner) not in done
        ]
        if not uneven:
            return found
        # The widest first: what is wide stands at a port as a rule, and cannot follow the others.
        _, one, other, apart = min(uneven, key=lambda row: (-row[0], row[1].course, row[2].course, row[1].inner))
        done.add((one.course, one.inner, other.course, other.inner))
        moved = _moved_alike(found, courses, one, other, apart, free_of)
        if moved is not None:
            found[moved[0]] = moved[1]


def _moved_alike(
    ways: Sequence[Sequence[Point]],
    courses: Sequence[Course],
    inner: _Corner,
    outer: _Corner,
    apart: tuple[float, float],
    free_of: FreeOf,
) -> tuple[int, list[Point]] | None:
    """Which of two ways to change, and to what, so that both legs are as far apart; the one inside first."""
    before, after = apart
    for corner, way in ((inner, 1.0), (outer, -1.0)):
        for along, more in ((corner.out_of, after - before), (corner.into, before - after)):
            # To the right of a leg is the outside of a turn to the left.
            step = (way * more * along[1], -way * more * along[0])
            points = _leg_moved(ways[corner.course], corner, along, step)
            if points is None:
                continue
            ground = free_of(corner.course, (), courses)
            if shapely.covers(ground, LineString(points)):
                return corner.course, points
    return None


def _leg_moved(way: Sequence[Point], corner: _Corner, along: Point, step: Point) -> list[Point] | None:
    """A way with one leg at a corner moved sideways; none where it ends at a port or a neighbour would turn back."""
    k = corner.inner + 1
    own = _unit(way[k - 1], way[k])
    parallel = abs(own[0] * along[1] - own[1] * along[0]) < math.radians(_PARALLEL_DEG)
    first, last = (k - 1, k) if parallel else (k, k + 1)
    if first == 0 or last == len(way) - 1:
        return None
    found = [*way]
    for n in (first, last):
        found[n] = (round(way[n][0] + step[0], 3), round(way[n][1] + step[1], 3))
    for n in (first - 1, last):
        (ax, ay), (bx, by) = way[n], way[n + 1]
        (cx, cy), (dx, dy) = found[n], found[n + 1]
        if (bx - ax) * (dx - cx) + (by - ay) * (dy - cy) <= 0:
            return None
    return found


def even_cuts(
    ways: Sequence[Sequence[Point]], free_of: FreeOf, least_mm: float, reach_mm: float
) -> list[dict[int, float]]:
    """How much is cut off the square corners that nest, so that the lines at 45° keep the spacing of the legs, mm.

    Args:
        ways: the corners of each course along x and y, with its ends.
        free_of, least_mm, reach_mm: as for ``concentric``.

    By course and the number of its inner corner.
    """
    courses = [Course(tuple(way), (0.0,) * (len(way) - 2)) for way in ways]
    found: list[dict[int, float]] = [{} for _ in ways]
    for nest in _nests(courses, reach_mm):
        members = {corner.course for corner, _ in nest}
        grounds = {course: free_of(course, members - {course}, courses) for course in members}
        # Room is left for bends about one centre, which are larger by as much as they lie further out.
        more = _CUT_MORE + math.tan(math.pi / 8)
        cut = min(cut_room(ways[corner.course], corner.inner, least_mm) - more * away for corner, away in nest)
        while cut > least_mm:
            cuts = [round(cut + _CUT_MORE * away, 1) for _, away in nest]
            lines = [cut_off(ways[corner.course], {corner.inner: b}) for (corner, _), b in zip(nest, cuts, strict=True)]
            if all(shapely.covers(grounds[c.course], LineString(p)) for (c, _), p in zip(nest, lines, strict=True)):
                for (corner, _), each in zip(nest, cuts, strict=True):
                    found[corner.course][corner.inner] = each
                break
            cut *= 0.8
    return found


def _bent(
    courses: list[Course],
    nest: Sequence[tuple[_Corner, float]],
    free_of: FreeOf,
    least_mm: float,
) -> bool:
    """Gives the corners of a nest one centre, with the largest radius that does; whether one does."""
    start = nest[0][1]
    members = {corner.course for corner, _ in nest}
    room = [largest_radii(courses[corner.course].corners)[corner.inner] for corner, _ in nest]
    most = min(radius - (away - start) for radius, (_, away) in zip(room, nest, strict=True))
    grounds = {course: free_of(course, members - {course}, courses) for course in members}
    for radius in [r for r in RADII_MM if least_mm <= r <= most + 1e-9]:
        changed: dict[int, Course] = {}
        for corner, away in nest:
            course = changed.get(corner.course, courses[corner.course])
            radii = list(course.radii)
            radii[corner.inner] = round(radius + away - start, 3)
            changed[corner.course] = replace(course, radii=tuple(radii))
        if all(shapely.covers(grounds[k], course.line()) for k, course in changed.items()):
            for k, course in changed.items():
                courses[k] = course
            return True
    return False


def _nests(courses: Sequence[Course], reach_mm: float) -> Iterator[list[tuple[_Corner, float]]]:
    """Corners that nest, from the innermost out, each with how far it lies outside the innermost, mm."""
    corners = list(_corners(courses))
    outer: dict[_Corner, tuple[float, _Corner]] = {}
    inside: set[_Corner] = set()
    for corner in corners:
        near = [
            (away, other) for other in corners if (away := corner.outside(other)) is not None and 0 < away <= reach_mm
        ]
        if near:
            outer[corner] = min(near, key=lambda pair: (pair[0], pair[1].course, pair[1].inner))
    taken: set[_Corner] = set()
    for _, other in outer.values():
        inside.add(other)
    for corner in corners:
        if corner in inside or corner not in outer:
            continue
        nest = [(corner, 0.0)]
        while (step := outer.get(nest[-1][0])) is not None and step[1] not in taken:
            nest.append((step[1], nest[-1][1] + step[0]))
        taken.update(member for member, _ in nest)
        yield nest


def _corners(courses: Sequence[Course]) -> Iterator[_Corner]:
    for number, course in enumerate(courses):
        for inner, (before, at, after) in enumerate(
            zip(course.corners, course.corners[1:], course.corners[2:], strict=False)
        ):
            turn = turn_at(before, at, after)
            if not math.radians(_LEAST_TURN_DEG) <= abs(turn) <= math.pi - 1e-6:
                continue
            into, out_of = _unit(before, at), _unit(at, after)
            if turn < 0:  # travelled the other way it turns to the left
                into, out_of = (-out_of[0], -out_of[1]), (-into[0], -into[1])
            yield _Corner(number, inner, at, into, out_of, abs(turn))


def _unit(one: Point, other: Point) -> Point:
    length = math.dist(one, other)
    return ((other[0] - one[0]) / length, (other[1] - one[1]) / length)
