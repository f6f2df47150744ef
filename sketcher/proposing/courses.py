"""From a way over the lattice to a course that is milled: few corners, each with the largest radius that is free."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sketcher.geometry import meetings
from sketcher.geometry.path import Point, fillet, turn_at

Style = Literal["square", "diagonal", "free"]
STYLES: tuple[Style, ...] = ("square", "diagonal", "free")

#: Radii that a bend is given, mm, the largest first.
RADII_MM = (24.0, 20.0, 16.0, 14.0, 12.0, 10.0, 9.0, 8.0, 7.0, 6.0, 5.0, 4.0, 3.0, 2.0)
#: Corners nearer than this, turning the same way, are one bend around one thing, in radii of the bend.
_ONE_BEND = 1.2
_LARGEST_TURN = math.radians(150)
#: Corners come to a tenth of a millimetre where nothing forces them elsewhere.
_DIGITS = 1


@dataclass(frozen=True)
class Course:
    """A channel's centreline: its corners with the ends, and the bend radius at each inner one, mm."""

    corners: tuple[Point, ...]
    radii: tuple[float, ...]

    def line(self) -> LineString:
        """The centreline with its bends, within a hundredth of a millimetre."""
        path, _ = fillet(self.corners, (0.0, *self.radii, 0.0))
        return LineString(path.points() if path.segments else [self.corners[0], self.corners[-1]])


def course(
    points: Sequence[Point],
    free: BaseGeometry,
    style: Style,
    least_radius_mm: float,
    cuts: Mapping[int, float] | None = None,
) -> Course | None:
    """The course along a way, tidied in a style; none when it cannot be rounded within the free area.

    Args:
        points: the way's places from end to end, mm.
        free: where the centreline may run; the way itself lies in it.
        style: ``square`` keeps to x and y, ``diagonal`` cuts the corners at 45°, ``free`` pulls the line taut.
        least_radius_mm: of every bend.
        cuts: by inner corner, what is to be cut off it at 45°, mm; others as far as they can be.
    """
    shapely.prepare(free)
    corners = straightened(points)
    if style == "free":
        corners = _bends_joined(taut(corners, free), free, least_radius_mm)
    elif style == "diagonal":
        corners = _chamfered(corners, free, least_radius_mm, cuts or {})
    corners = _to_tenths(corners, free)
    return rounded(corners, free, least_radius_mm)


def course_or_way(
    points: Sequence[Point],
    free: BaseGeometry,
    style: Style,
    least_radius_mm: float,
    cuts: Mapping[int, float] | None = None,
) -> Course:
    """``course``, or where it cannot be rounded in the free area the way itself with the least radii, for the rules."""
    found = course(points, free, style, least_radius_mm, cuts)
    if found is None:
        corners = straightened(points)
        found = Course(tuple(corners), (least_radius_mm,) * (len(corners) - 2))
    return found


def straightened(points: Sequence[Point]) -> list[Point]:
    """The points without those that lie on the line between their neighbours."""
    found = [points[0]]
    for k in range(1, len(points) - 1):
        (ax, ay), (bx, by), (cx, cy) = found[-1], points[k], points[k + 1]
        if abs((bx - ax) * (cy - by) - (by - ay) * (cx - bx)) > 1e-6:
            found.append(points[k])
    return [*found, points[-1]] if len(points) > 1 else found


def taut(corners: Sequence[Point], free: BaseGeometry) -> list[Point]:
    """The line pulled taut within the free area: no corner is left that could be passed by."""
    found = list(corners)
    for _ in range(6):
        before = _length(found)
        found = _short_cut(found, free)
        found = _drawn_in(found, free)
        if before - _length(found) < 0.01:
            break
    return _short_cut(found, free)


def _length(corners: Sequence[Point]) -> float:
    return sum(math.dist(a, b) for a, b in pairwise(corners))


def _open(free: BaseGeometry, *corners: Point) -> bool:
    return bool(shapely.covers(free, LineString(corners)))


def _short_cut(corners: list[Point], free: BaseGeometry) -> list[Point]:
    found, k = [corners[0]], 0
    while k < len(corners) - 1:
        reach = len(corners) - 1
        while reach > k + 1 and not _open(free, corners[k], corners[reach]):
            reach -= 1
        found.append(corners[reach])
        k = reach
    return found


def _drawn_in(corners: list[Point], free: BaseGeometry) -> list[Point]:
    """Each corner cut off as far as the free area lets it: two corners nearer to the obstacle take its place."""
    found = [corners[0]]
    for k in range(1, len(corners) - 1):
        before, corner, after = found[-1], corners[k], corners[k + 1]
        low, high = 0.0, 1.0
        for _ in range(12):
            share = (low + high) / 2
            if _open(free, before, _between(corner, before, share), _between(corner, after, share), after):
                low = share
            else:
                high = share
        if low < 1e-3:
            found.append(corner)
        else:
            found += [_between(corner, before, low), _between(corner, after, low)]
    return [*found, corners[-1]]


def _between(one: Point, other: Point, share: float) -> Point:
    return (one[0] + share * (other[0] - one[0]), one[1] + share * (other[1] - one[1]))


def _bends_joined(corners: list[Point], free: BaseGeometry, least_radius_mm: float) -> list[Point]:
    """Small turns one after another around one obstacle made one corner, where its bend finds room."""
    found = list(corners)
    k = 1
    while k < len(found) - 2:
        first, second = turn_at(*found[k - 1 : k + 2]), turn_at(*found[k : k + 3])
        near = math.dist(found[k], found[k + 1]) < max(_ONE_BEND * least_radius_mm, 12.0)
        if near and first * second > 0 and abs(first + second) < _LARGEST_TURN:
            meeting = _crossing(found[k - 1], found[k], found[k + 2], found[k + 1])
            if meeting is not None:
                joined = [*found[:k], meeting, *found[k + 2 :]]
                if rounded(joined, free, least_radius_mm) is not None:
                    found = joined
                    continue
        k += 1
    return found


def _crossing(a: Point, b: Point, c: Point, d: Point) -> Point | None:
    """Where the line from a through b, carried on, meets that from c through d."""
    return meetings.lines(a, (b[0] - a[0], b[1] - a[1]), c, (d[0] - c[0], d[1] - c[1]))


def cut_room(corners: Sequence[Point], inner: int, least_radius_mm: float) -> float:
    """How much can be cut off a square corner, mm: half of a leg that has another corner at its end, all of one that
    ends there, less what a bend of twice the least radius takes."""
    k = inner + 1
    before, after = (
        math.dist(corners[k], corners[j]) * (1.0 if j in (0, len(corners) - 1) else 0.5) for j in (k - 1, k + 1)
    )
    return min(before, after) - 2 * least_radius_mm * math.tan(math.pi / 8)


def cut_off(corners: Sequence[Point], cuts: Mapping[int, float]) -> list[Point]:
    """The corners, with some of the inner ones cut off by so much along either leg, mm."""
    found: list[Point] = []
    for k, corner in enumerate(corners):
        cut = cuts.get(k - 1, 0.0)
        if cut:
            found += [
                _between(corner, other, cut / math.dist(corner, other)) for other in (corners[k - 1], corners[k + 1])
            ]
        else:
            found.append(corner)
    return found


def _chamfered(
    corners: list[Point], free: BaseGeometry, least_radius_mm: float, told: Mapping[int, float]
) -> list[Point]:
    """Square corners cut at 45°, as told, or else as far as the legs and the free area let them."""
    cuts = dict(told)
    if told and rounded(cut_off(corners, cuts), free, least_radius_mm) is None:
        cuts = {}
    for inner in range(len(corners) - 2):
        if inner in cuts:
            continue
        cut = cut_room(corners, inner, least_radius_mm)
        while cut > 2 * least_radius_mm * math.tan(math.pi / 8):
            if rounded(cut_off(corners, {**cuts, inner: cut}), free, least_radius_mm) is not None:
                cuts[inner] = cut
                break
            cut *= 0.8
    return cut_off(corners, cuts)


def _to_tenths(corners: list[Point], free: BaseGeometry) -> list[Point]:
    """Inner corners on tenths of a millimetre, each where that keeps the line within the free area."""
    found = list(corners)
    for k in range(1, len(found) - 1):
        for x, y in _tenths_around(found[k]):
            trial = [*found[:k], (x, y), *found[k + 1 :]]
            if _open(free, *trial[k - 1 : k + 2]) or not _open(free, *found[k - 1 : k + 2]):
                found = trial
                break
    return found


def _tenths_around(place: Point) -> list[Point]:
    x, y = round(place[0], _DIGITS), round(place[1], _DIGITS)
    near = [(round(x + dx / 10, 1), round(y + dy / 10, 1)) for dx in (0, -1, 1) for dy in (0, -1, 1)]
    return sorted(near, key=lambda other: math.dist(other, place))


def rounded(corners: Sequence[Point], free: BaseGeometry, least_radius_mm: float) -> Course | None:
    """The corners with the largest radius at each that stays in the free area and on its legs; none if one has none."""
    inner = len(corners) - 2
    if inner < 1:
        return Course(tuple(corners), ()) if _open(free, *corners) else None
    turns = [turn_at(*corners[k : k + 3]) for k in range(inner)]
    radii = []
    for k, (turn, most) in enumerate(zip(turns, largest_radii(corners), strict=True)):
        if abs(turn) > _LARGEST_TURN:
            return None
        for radius in _choices(most, least_radius_mm):
            if _open(free, *_bend_points(corners[k], corners[k + 1], corners[k + 2], radius)):
                radii.append(radius)
                break
        else:
            if abs(turn) > math.radians(5):
                return None
            radii.append(least_radius_mm)
    found = Course(tuple(corners), tuple(radii))
    return found if shapely.covers(free, found.line()) else None


def largest_radii(corners: Sequence[Point]) -> list[float]:
    """The largest radius at each inner corner that leaves its neighbours theirs, mm."""
    inner = len(corners) - 2
    turns = [turn_at(*corners[k : k + 3]) for k in range(inner)]
    legs = [math.dist(a, b) for a, b in pairwise(corners)]
    found = []
    for k, turn in enumerate(turns):
        tangent = math.tan(abs(turn) / 2)
        # Neighbouring bends share the leg between them by how much each turns.
        share_before = 1.0 if k == 0 else tangent / (tangent + math.tan(abs(turns[k - 1]) / 2) + 1e-12)
        share_after = 1.0 if k == inner - 1 else tangent / (tangent + math.tan(abs(turns[k + 1]) / 2) + 1e-12)
        found.append(min(legs[k] * share_before, legs[k + 1] * share_after) / max(tangent, 1e-9))
    return found


def _choices(most: float, least: float) -> list[float]:
    """Radii to try, the largest first."""
    found = [radius for radius in RADII_MM if least <= radius <= most + 1e-9]
    if least <= most + 1e-9 and least not in found:
        found.append(least)
    return sorted(found, reverse=True)


def _bend_points(before: Point, corner: Point, after: Point, radius: float) -> list[Point]:
    path, _ = fillet((before, corner, after), (0.0, radius, 0.0))
    return path.points(0.005)
