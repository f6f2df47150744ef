"""From a polygon back to true lines and arcs, when it is known which lines and circles its edges came from.

Polygons are added, cut and grown by shapely, which knows chords only. What comes out lies on the lines and circles that
went in: each edge is put down to the one that it lies on, edges of one carrier become one segment, and corners go to
where two carriers truly meet.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sketcher.geometry.edges import crossings
from sketcher.geometry.path import SAME_MM, Path, Point, Segment, circle, from_vertices

#: Polygons that are worked with keep to the true arcs within this, mm.
FINE_MM = 0.001
#: An edge farther than this from every carrier is a straight edge of its own, mm.
_OFF_MM = 0.02
#: A corner is not moved farther than this to where two carriers meet, mm.
_NEAR_MM = 0.05
#: Carriers nearer to parallel than this (sine of the angle) have no sure crossing.
_FLAT = 0.03
#: An arc of more than this is written as two, radians.
_HALF = 0.98 * math.pi


@dataclass(frozen=True)
class _Run:
    """Edges in a row that lie on one carrier; none for an edge of its own."""

    carrier: Segment | None
    points: list[Point]


def recovered(ring: Sequence[Sequence[float]], carriers: Iterable[Segment], corners: Iterable[Point] = ()) -> Path:
    """The closed path of lines and arcs that a polygon's ring stands for.

    Args:
        ring: the ring's points, mm, the first repeated at the end or not; within ``FINE_MM`` of the true edges.
        carriers: the lines and arcs that its edges may lie on; they count as whole lines and circles.
        corners: true places that a corner near them is (ends of what went in).
    """
    points: list[Point] = [(float(p[0]), float(p[1])) for p in ring]
    if len(points) > 1 and math.dist(points[0], points[-1]) <= SAME_MM:
        points.pop()
    points = [p for i, p in enumerate(points) if math.dist(p, points[i - 1]) > SAME_MM]
    known = _distinct(carriers)
    runs = _runs(points, known)
    if len(runs) == 1 and runs[0].carrier is not None and not runs[0].carrier.straight:
        return circle(runs[0].carrier.centre, runs[0].carrier.radius)
    places = list(corners)
    ends = [_corner(runs[i - 1], runs[i], places) for i in range(len(runs))]
    rows = [row for i, run in enumerate(runs) for row in _segment_rows(run, ends[i], ends[(i + 1) % len(ends)])]
    return from_vertices(rows, closed=True)


def _distinct(carriers: Iterable[Segment]) -> list[Segment]:
    """Each line and each circle once."""
    found: dict[tuple[float, ...], Segment] = {}
    for carrier in carriers:
        if carrier.chord <= SAME_MM:
            continue
        if carrier.straight:
            (x, y), (ex, ey) = carrier.start, carrier.end
            nx, ny = (y - ey) / carrier.chord, (ex - x) / carrier.chord
            if (nx, ny) < (0.0, 0.0):
                nx, ny = -nx, -ny
            key: tuple[float, ...] = (0.0, round(nx, 7), round(ny, 7), round(nx * x + ny * y, 5))
        else:
            key = (1.0, *(round(v, 5) for v in (*carrier.centre, carrier.radius)))
        found.setdefault(key, carrier)
    return list(found.values())


def _off(carrier: Segment, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far each point is off a carrier, mm."""
    if carrier.straight:
        (x, y), (ex, ey) = carrier.start, carrier.end
        away = (points[:, 0] - x) * (ey - y) - (points[:, 1] - y) * (ex - x)
        return np.abs(away) / carrier.chord
    away = np.hypot(points[:, 0] - carrier.centre[0], points[:, 1] - carrier.centre[1]) - carrier.radius
    found: NDArray[np.float64] = np.abs(away)
    return found


def _runs(points: list[Point], known: list[Segment]) -> list[_Run]:
    places = np.array(points)
    after = np.roll(places, -1, axis=0)
    middles = (places + after) / 2
    owners = np.full(len(points), -1)
    if known:
        at = np.array([_off(carrier, places) for carrier in known])
        score = np.maximum(np.maximum(at, np.roll(at, -1, axis=1)), [_off(carrier, middles) for carrier in known])
        owners = np.where(score.min(axis=0) <= _OFF_MM, score.argmin(axis=0), -1)
    changes = [i for i in range(len(points)) if owners[i] < 0 or owners[i] != owners[i - 1]]
    if not changes:
        return [_Run(known[int(owners[0])], [*points, points[0]])]
    runs = []
    for n, start in enumerate(changes):
        stop = changes[(n + 1) % len(changes)]
        count = (stop - start) % len(points) or len(points)
        stretch = [points[(start + k) % len(points)] for k in range(count + 1)]
        runs.append(_Run(known[int(owners[start])] if owners[start] >= 0 else None, stretch))
    return runs


def _corner(before: _Run, after: _Run, places: list[Point]) -> Point:
    """Where two runs truly meet, near the polygon's own corner."""
    at = after.points[0]
    for place in places:
        if math.dist(place, at) <= 1e-5:
            return place
    if before.carrier is None or after.carrier is None:
        return at
    found = [p for p in crossings(before.carrier, after.carrier) if math.dist(p, at) <= _NEAR_MM]
    if not found or _angle(before.carrier, after.carrier, at) < _FLAT:
        return at
    return min(found, key=lambda place: math.dist(place, at))


def _angle(one: Segment, other: Segment, at: Point) -> float:
    """Sine of the angle between two carriers at a place."""
    (ax, ay), (bx, by) = _along(one, at), _along(other, at)
    return abs(ax * by - ay * bx)


def _along(carrier: Segment, at: Point) -> Point:
    if carrier.straight:
        return (
            (carrier.end[0] - carrier.start[0]) / carrier.chord,
            (carrier.end[1] - carrier.start[1]) / carrier.chord,
        )
    dx, dy = at[0] - carrier.centre[0], at[1] - carrier.centre[1]
    away = math.hypot(dx, dy) or 1.0
    return (-dy / away, dx / away)


def _segment_rows(run: _Run, start: Point, end: Point) -> list[tuple[float, float, float]]:
    """The run as corners with bulges, without its end."""
    if run.carrier is None or run.carrier.straight:
        return [(*start, 0.0)]
    (cx, cy), radius = run.carrier.centre, run.carrier.radius
    (ax, ay), (bx, by) = run.points[0], run.points[1]
    way = 1.0 if (ax - cx) * (by - cy) - (ay - cy) * (bx - cx) > 0 else -1.0
    first = math.atan2(start[1] - cy, start[0] - cx)
    turn = way * (math.atan2(end[1] - cy, end[0] - cx) - first) % (2 * math.pi)
    if turn < 1e-9:
        return [(*start, 0.0)]
    steps = 1 if turn <= _HALF else 2 if turn <= 2 * _HALF else 3
    rows = []
    for step in range(steps):
        angle = first + way * turn * step / steps
        place = start if step == 0 else (cx + radius * math.cos(angle), cy + radius * math.sin(angle))
        rows.append((*place, math.tan(way * turn / steps / 4)))
    return rows
