"""Offsets of paths that keep arcs arcs: for a kerf, and for the two sides of a channel."""

from __future__ import annotations

import math
from itertools import pairwise

from sketcher.geometry.edges import crossings
from sketcher.geometry.path import SAME_MM, Path, Point, Segment, from_vertices


class OffsetError(ValueError):
    """The path is too small or too tight for this offset."""


def offset(path: Path, distance: float) -> Path:
    """A closed path moved to its outside by ``distance`` mm (to its inside when negative).

    Arcs stay arcs about the same centre; sharp corners stay sharp (the neighbours are lengthened or cut to where
    they meet), and rounded ones keep their tangents. Raises ``OffsetError`` when an edge would vanish.
    """
    if abs(distance) < SAME_MM:
        return path
    travel = path.counter_clockwise()
    # To the right of travel is outside for a counter-clockwise path.
    moved = [_moved(segment, distance) for segment in travel.segments]
    joined = _joined(moved, closed=True)
    result = Path(tuple(joined), closed=True)
    if result.area <= 0 or any(not _same_way(a, b) for a, b in zip(moved, joined, strict=True)):
        raise OffsetError(f"the outline is too small or too tight to be offset by {distance:g} mm")
    return result


def sides(path: Path, width: float) -> Path:
    """The outline of a round tool of diameter ``width`` mm that ran along an open path: two sides, two round ends.

    Where a bend is tighter than half the width its inner side becomes a sharp corner, as the tool leaves it. Raises
    ``OffsetError`` where the sides fold over each other; the swept polygon is then the union of discs.
    """
    half = width / 2
    right = _side(path, half)
    left = [segment.reversed() for segment in reversed(_side(path, -half))]
    rows = [(*segment.start, segment.bulge) for segment in right]
    rows.append((*right[-1].end, 1.0))
    rows += [(*segment.start, segment.bulge) for segment in left]
    rows.append((*left[-1].end, 1.0))
    return from_vertices(rows, closed=True)


def _side(path: Path, distance: float) -> list[Segment]:
    """One side of an open path: arcs too tight for it go, and their neighbours meet."""
    kept = [s for s in path.segments if s.straight or _moved_radius(s, distance) > SAME_MM]
    moved = [_moved(segment, distance) for segment in kept]
    if not moved:
        raise OffsetError("the bend is too tight for the channel's width")
    joined = _joined(moved, closed=False)
    if any(not _same_way(a, b) for a, b in zip(moved, joined, strict=True)):
        raise OffsetError("the channel's sides fold over each other at a tight bend")
    return joined


def _moved_radius(segment: Segment, distance: float) -> float:
    return segment.radius + (distance if segment.bulge > 0 else -distance)


def _moved(segment: Segment, distance: float) -> Segment:
    """The segment moved to the right of its travel by ``distance``."""
    if segment.straight:
        angle = segment.direction() - math.pi / 2
        dx, dy = distance * math.cos(angle), distance * math.sin(angle)
        (x0, y0), (x1, y1) = segment.start, segment.end
        return Segment((x0 + dx, y0 + dy), (x1 + dx, y1 + dy))
    radius = _moved_radius(segment, distance)
    if radius <= SAME_MM:
        raise OffsetError(f"an arc of radius {segment.radius:g} mm is too tight to be offset by {distance:g} mm")
    share, (cx, cy) = radius / segment.radius, segment.centre
    (x0, y0), (x1, y1) = segment.start, segment.end
    start = (cx + share * (x0 - cx), cy + share * (y0 - cy))
    end = (cx + share * (x1 - cx), cy + share * (y1 - cy))
    return Segment(start, end, segment.bulge)


def _joined(moved: list[Segment], closed: bool) -> list[Segment]:
    """Segments lengthened or cut so that each begins where the last ends."""
    joints: list[Point] = []
    for before, after in [*pairwise(moved), *([(moved[-1], moved[0])] if closed else [])]:
        joints.append(before.end if math.dist(before.end, after.start) < 1e-6 else _meeting(before, after))
    starts = [joints[-1] if closed else moved[0].start, *joints[: len(moved) - 1]]
    ends = joints if closed else [*joints, moved[-1].end]
    return [_between(segment, start, end) for segment, start, end in zip(moved, starts, ends, strict=True)]


def _between(segment: Segment, start: Point, end: Point) -> Segment:
    """The same line or circle between other ends."""
    if segment.straight:
        return Segment(start, end)
    cx, cy = segment.centre
    turn = math.atan2(end[1] - cy, end[0] - cx) - math.atan2(start[1] - cy, start[0] - cx)
    # Of the angles that differ by full turns, the one nearest the old arc's.
    turn += 2 * math.pi * round((segment.included_angle - turn) / (2 * math.pi))
    return Segment(start, end, math.tan(turn / 4))


def _same_way(before: Segment, after: Segment) -> bool:
    if not before.straight:
        return before.bulge * after.bulge > 0
    (x0, y0), (x1, y1) = before.start, before.end
    (u0, v0), (u1, v1) = after.start, after.end
    return (x1 - x0) * (u1 - u0) + (y1 - y0) * (v1 - v0) > -SAME_MM


def _meeting(before: Segment, after: Segment) -> Point:
    """Where two segments, lengthened, meet: the meeting nearest the gap between them."""
    gap = ((before.end[0] + after.start[0]) / 2, (before.end[1] + after.start[1]) / 2)
    found = crossings(before, after)
    if not found:
        raise OffsetError(f"two edges near ({gap[0]:.2f}, {gap[1]:.2f}) no longer meet when offset")
    return min(found, key=lambda point: math.dist(point, gap))
