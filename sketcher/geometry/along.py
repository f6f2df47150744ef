"""How near a path comes to itself or to another one, apart from where it has to: measured along the way."""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray

from sketcher.geometry.path import TOLERANCE_MM, Path, Point, part

#: Paths are looked at in steps of this many mm first; what is nearest is then measured on the true arcs.
STEP_MM = 1.0
_MOST_STEPS = 1500
_CANDIDATES = 8
#: A path that turns by no more than this in all, degrees, is nowhere near itself: a chord is at least the length along
#: it times the cosine of half the turn, and half a circle's length stands against its diameter.
STRAIGHT_ENOUGH_DEG = 2 * math.degrees(math.acos(2 / math.pi))

Near = tuple[float, tuple[Point, Point]]


def _sampled(path: Path) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Distances along a path (n,) and the points there (n, 2)."""
    count = max(2, min(_MOST_STEPS, math.ceil(path.length / STEP_MM)))
    along = np.linspace(0.0, path.length, count + 1)
    ends = np.cumsum([0.0, *(segment.length for segment in path.segments)])
    found = np.empty((len(along), 2))
    which = np.clip(np.searchsorted(ends, along, side="right") - 1, 0, len(path.segments) - 1)
    for i in np.unique(which):
        segment, here = path.segments[i], which == i
        share = (along[here] - ends[i]) / segment.length if segment.length else np.zeros(here.sum())
        if segment.straight:
            start, end = np.array(segment.start), np.array(segment.end)
            found[here] = start + share[:, None] * (end - start)
        else:
            cx, cy = segment.centre
            angle = math.atan2(segment.start[1] - cy, segment.start[0] - cx) + share * segment.included_angle
            found[here] = np.column_stack([cx + segment.radius * np.cos(angle), cy + segment.radius * np.sin(angle)])
    return along, found


def nearest_to_itself(path: Path, least_along: float, ring: bool = False) -> Near | None:
    """The nearest that a path's centreline comes to itself between places at least so far apart along it.

    Args:
        path: an open path.
        least_along: mm along the path between the two places.
        ring: the path's ends are one place, so that the way round over it counts too.

    Returns distance (mm) and its two ends; none when the path is too short to have such places.
    """
    if path.length < least_along:
        return None
    along, places = _sampled(path)
    way = along[None, :] - along[:, None]
    if ring:
        way = np.where(way > 0, np.minimum(way, path.length - way), way)
    return _nearest((path, along, places), (path, along, places), way, least_along)


def nearest_to_other(one: Path, other: Path, least_along: float, both_ends: bool = False) -> Near | None:
    """The nearest that two paths that begin at one place come between places so far apart along the way over it.

    Args:
        one: the first path, from the common place on.
        other: the second, from the common place on.
        least_along: mm along the way over the common place.
        both_ends: the paths end at a common place too.
    """
    along, places = _sampled(one)
    further, others = _sampled(other)
    way = along[:, None] + further[None, :]
    if both_ends:
        way = np.minimum(way, one.length + other.length - way)
    return _nearest((one, along, places), (other, further, others), way, least_along)


Course = tuple[Path, NDArray[np.float64], NDArray[np.float64]]


def _nearest(one: Course, other: Course, way: NDArray[np.float64], least_along: float) -> Near | None:
    (first, s, p), (second, t, q) = one, other
    apart = np.hypot(p[:, None, 0] - q[None, :, 0], p[:, None, 1] - q[None, :, 1])
    apart = np.where(way >= least_along - 1e-9, apart, np.inf)
    if not np.isfinite(apart).any():
        return None
    few = min(apart.size - 1, 40 * _CANDIDATES)
    close = np.argpartition(apart, few, axis=None)[:few:40]
    best: Near | None = None
    for k in (int(apart.argmin()), *map(int, close)):
        i, j = divmod(k, apart.shape[1])
        if not np.isfinite(apart[i, j]):
            continue
        found = (float(apart[i, j]), ((float(p[i, 0]), float(p[i, 1])), (float(q[j, 0]), float(q[j, 1]))))
        step = max(s[1] - s[0], t[1] - t[0])
        if way[i, j] - least_along > 2 * step:
            found = _refined(first, s[i], second, t[j], step)
        if best is None or found[0] < best[0]:
            best = found
    return best


def _refined(one: Path, s: float, other: Path, t: float, step: float) -> Near:
    lines = [
        shapely.LineString(part(path, max(at - step, 0.0), min(at + step, path.length)).points(TOLERANCE_MM / 10))
        for path, at in ((one, s), (other, t))
    ]
    start, end = shapely.shortest_line(lines[0], lines[1]).coords
    line = ((start[0], start[1]), (end[0], end[1]))
    return (float(shapely.distance(lines[0], lines[1])), line)


def turning_deg(path: Path) -> float:
    """How far a path turns in all, degrees: at its corners and along its arcs, to either side alike."""
    total = sum(abs(segment.included_angle) for segment in path.segments)
    for before, after in zip(path.segments, path.segments[1:], strict=False):
        total += abs(math.remainder(after.direction() - before.direction(at_end=True), 2 * math.pi))
    return math.degrees(total)
