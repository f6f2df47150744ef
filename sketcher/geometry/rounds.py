"""Round things as polygons that keep to the true arcs within a tolerance."""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache, partial
from typing import cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from sketcher.document.remembered import Remembered
from sketcher.geometry.outline_contours import Contour
from sketcher.geometry.path import SAME_MM, TOLERANCE_MM, Path, Point, Segment, arc_steps

#: Walls are measured on polygons that keep to the true arcs within this, mm: two of them are within 0.01 mm.
WALL_TOLERANCE_MM = TOLERANCE_MM / 2
_polygons: Remembered[Polygon] = Remembered()
_around: Remembered[Polygon] = Remembered()
_within: Remembered[Polygon] = Remembered()


def polygon_of(outline: Contour, tolerance: float = TOLERANCE_MM) -> Polygon:
    """A contour as a polygon within ``tolerance`` mm; a contour that crosses itself gives an invalid one."""
    return _polygons.of((outline,), tolerance, lambda: _filled(outline.path.points(tolerance)))


def _filled(points: list[Point]) -> Polygon:
    # Of an array at once; of a list shapely makes it point by point.
    return Polygon(np.array(points))


def quad_segs(radius: float, tolerance: float = TOLERANCE_MM) -> int:
    """Chords in a quarter circle that keep a polygon within ``tolerance`` of a circle of this radius."""
    if radius <= tolerance:
        return 1
    return max(2, math.ceil(math.pi / (4 * math.acos(1 - tolerance / radius))))


def discs(centres: Sequence[Point], radii: Sequence[float]) -> list[Polygon]:
    """Discs as polygons within the tolerance."""
    return [_disc(centre, radius, quad_segs(radius)) for centre, radius in zip(centres, radii, strict=True)]


def discs_around(centres: Sequence[Point], radii: Sequence[float]) -> list[Polygon]:
    """Discs as polygons that hold all of them, and at most a fifth of the tolerance more: for what is hard."""
    found: list[Polygon] = []
    for centre, radius in zip(centres, radii, strict=True):
        steps = quad_segs(radius, TOLERANCE_MM / 5)
        outer = radius / math.cos(math.pi / (4 * steps))
        found.append(_outer_discs.of((), (centre, outer, steps), partial(_disc, centre, outer, steps)))
    return found


_outer_discs: Remembered[Polygon] = Remembered()


def _disc(centre: Point, radius: float, steps: int) -> Polygon:
    # The corners that a buffer about the point has, in their order; a buffer takes five times as long.
    return cast(Polygon, shapely.polygons(_unit_circle(steps) * radius + centre))


@lru_cache(maxsize=256)
def _unit_circle(steps: int) -> NDArray[np.float64]:
    """Corners of a circle of radius 1, clockwise from its right, ``steps`` chords in a quarter: (4 steps, 2)."""
    turns = -math.pi / (2 * steps) * np.arange(4 * steps)
    return np.column_stack([np.cos(turns), np.sin(turns)])


def buffered(cores: Sequence[shapely.Geometry], radii: Sequence[float]) -> list[Polygon]:
    """Points and lines grown by their radii (mm), within the tolerance, all at once for each radius."""
    found: list[Polygon | None] = [None] * len(cores)
    by_radius: dict[float, list[int]] = {}
    for i, radius in enumerate(radii):
        by_radius.setdefault(radius, []).append(i)
    for radius, members in by_radius.items():
        rounds = shapely.buffer(
            np.array([cores[i] for i in members], dtype=object), radius, quad_segs=quad_segs(radius)
        )
        for i, polygon in zip(members, rounds, strict=True):
            found[i] = polygon
    return found  # type: ignore[return-value]


def around(outline: Contour, tolerance: float = WALL_TOLERANCE_MM) -> Polygon:
    """A contour as a polygon that holds all of its area, and at most ``tolerance`` mm more: for what is cut away."""
    return _around.of((outline,), tolerance, lambda: _filled(_points(outline.path, tolerance, outside=True)))


def within(outline: Contour, tolerance: float = WALL_TOLERANCE_MM) -> Polygon:
    """A contour as a polygon that holds none but its area, and at most ``tolerance`` mm less: for what stays."""
    return _within.of((outline,), tolerance, lambda: _filled(_points(outline.path, tolerance, outside=False)))


def _points(path: Path, tolerance: float, outside: bool) -> list[Point]:
    """Points of a counter-clockwise contour: chords where they err to the wanted side, tangents where they do not."""
    found: list[Point] = []
    for segment in path.segments:
        if segment.straight or segment.chord < SAME_MM or (segment.bulge > 0) != outside:
            found += segment.points(tolerance)
        else:
            found += _tangents(segment, tolerance)
    return found


def _tangents(segment: Segment, tolerance: float) -> list[Point]:
    """The start of an arc, then the corners of the tangents that go round it."""
    steps = arc_steps(segment.radius, abs(segment.included_angle), tolerance)
    half = segment.included_angle / steps / 2
    cx, cy = segment.centre
    first = math.atan2(segment.start[1] - cy, segment.start[0] - cx)
    reach = segment.radius / math.cos(half)
    corners = [first + half * (2 * step + 1) for step in range(steps)]
    return [segment.start, *((cx + reach * math.cos(a), cy + reach * math.sin(a)) for a in corners)]
