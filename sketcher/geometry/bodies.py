"""What is hard in the case, in space: boards, devices, obstacles, the plate, fittings, screw heads and tubes.

A body is either upright (a plan area from one height to another, any area, with holes too) or a handful of convex
pieces. Two bodies are apart exactly as their shapes are; round ones are within a hundredth.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
import shapely
from shapely import Geometry

from sketcher.geometry import solids
from sketcher.geometry.path import Point
from sketcher.geometry.placement import Frame
from sketcher.geometry.solids import Vector

#: Directions nearer to upright than this count as upright.
_SQUARE = 1e-9


@dataclass(frozen=True)
class Body:
    """One hard thing: ``area`` is its plan, or its shadow when it is made of ``pieces``, which are convex corners."""

    id: str
    kind: str
    area: Geometry
    low: float
    high: float
    pieces: tuple[Vector, ...] = ()

    @cached_property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, front, right and rear of its plan, mm."""
        left, front, right, rear = shapely.bounds(self.area).tolist()
        return left, front, right, rear

    @cached_property
    def corners(self) -> Vector:
        """Points whose hull it lies in, (n, 3) mm: those of its pieces, or of the box around an upright one."""
        if self.pieces:
            return np.vstack(self.pieces)
        left, front, right, rear = self.bounds
        return np.array([(x, y, z) for x in (left, right) for y in (front, rear) for z in (self.low, self.high)])

    def convex(self, near: Geometry | None = None) -> list[Vector]:
        """It as convex pieces; of an upright one only what is near an area."""
        if self.pieces:
            return list(self.pieces)
        parts = solids.convex_parts(self.area)
        if near is not None and len(parts) > 1:
            parts = [part for part in parts if shapely.dwithin(shapely.Polygon(part), near, 60.0)] or parts
        return [solids.upright(part, self.low, self.high) for part in parts]


@dataclass(frozen=True)
class Gap:
    """What is between two bodies: mm, negative by how far one must move to clear the other; and its two ends."""

    value: float
    line: tuple[Point, Point]
    #: The direction in which the second clears the first soonest, a unit vector.
    away: tuple[float, float, float] = (0.0, 0.0, 1.0)


def from_frame(id_: str, kind: str, frame: Frame, plan: Vector, levels: tuple[float, float], shadow: Geometry) -> Body:
    """An outline (n, 2) in a frame's u and v, between two levels of w."""
    low_w, high_w = levels
    upwards = frame.axes[2]
    if abs(abs(upwards[2]) - 1) < _SQUARE:
        rows = frame.origin + np.column_stack([plan, np.zeros(len(plan))]) @ frame.axes.T
        heights = sorted((frame.origin[2] + upwards[2] * low_w, frame.origin[2] + upwards[2] * high_w))
        area = shapely.Polygon(rows[:, :2])
        return Body(
            id_, kind, area if area.is_valid else shapely.make_valid(area), float(heights[0]), float(heights[1])
        )
    area = shapely.Polygon(plan)
    parts = solids.convex_parts(area if area.is_valid else shapely.make_valid(area)) or [plan]
    pieces = tuple(frame.origin + solids.upright(part, low_w, high_w) @ frame.axes.T for part in parts)
    low = float(min(piece[:, 2].min() for piece in pieces))
    high = float(max(piece[:, 2].max() for piece in pieces))
    if len(pieces) == 1 and _is_box(pieces[0]):
        return Body(id_, kind, shadow, low, high)
    return Body(id_, kind, shadow, low, high, pieces)


def _is_box(corners: Vector) -> bool:
    """Whether eight corners stand in four pairs above each other: a box on edge is upright too."""
    if len(corners) != 8:
        return False
    low, high = corners[:, 2].min(), corners[:, 2].max()
    return bool((np.minimum(abs(corners[:, 2] - low), abs(corners[:, 2] - high)) < 1e-9).all())


def lying_cylinder(id_: str, kind: str, start: Vector, end: Vector, radius: float, shadow: Geometry) -> Body:
    """A round body from one point to another: an edge port's fitting, a slanted tube."""
    corners = solids.cylinder(start, end, radius)
    return Body(id_, kind, shadow, float(corners[:, 2].min()), float(corners[:, 2].max()), (corners,))


def gap(one: Body, other: Body) -> Gap:
    """What is between two bodies."""
    height = max(one.low - other.high, other.low - one.high)
    if not one.pieces and not other.pieces:
        plan = float(shapely.distance(one.area, other.area))
        if height > 0 or plan > 0:
            line = _line(one.area, other.area, plan)
            away = (line[1][0] - line[0][0], line[1][1] - line[0][1], max(height, 0.0) * _up(one, other))
            return Gap(math.hypot(plan, max(height, 0.0)), line, _unit(away))
        return _overlap(one, other)
    best: tuple[float, Vector, Vector] | None = None
    for first in one.convex(other.area):
        for second in other.convex(one.area):
            found = solids.distance(first, second)
            if best is None or found[0] < best[0]:
                best = found
    assert best is not None
    if best[0] <= 0:
        return _overlap(one, other)
    ends = (tuple(map(float, best[1][:2])), tuple(map(float, best[2][:2])))
    return Gap(best[0], ends, _unit(tuple(map(float, best[2] - best[1]))))  # type: ignore[arg-type]


def apart_along(one: Body, other: Body, direction: Vector) -> float:
    """What is between two bodies along one direction, mm, negative where they overlap: never more than their gap."""
    first, second = one.corners @ direction, other.corners @ direction
    return float(max(first.min() - second.max(), second.min() - first.max()))


def _up(one: Body, other: Body) -> float:
    return 1.0 if other.low + other.high >= one.low + one.high else -1.0


def _unit(vector: tuple[float, float, float]) -> tuple[float, float, float]:
    size = math.hypot(*vector) or 1.0
    return (vector[0] / size, vector[1] / size, vector[2] / size)


def _line(one: Geometry, other: Geometry, plan: float) -> tuple[Point, Point]:
    if plan <= 0:
        common = shapely.intersection(one, other)
        place = shapely.point_on_surface(one if common.is_empty else common)
        return ((place.x, place.y), (place.x, place.y))
    start, end = shapely.shortest_line(one, other).coords
    return ((start[0], start[1]), (end[0], end[1]))


def _overlap(one: Body, other: Body) -> Gap:
    """How far ``other`` must move to come clear: up, down, or sideways, over the hulls of the two.

    Upright bodies with bays or holes may come clear sooner than their hulls: out of the wall that they stand in.
    """
    if not one.pieces and not other.pieces and not (_is_convex(one.area) and _is_convex(other.area)):
        short = _shortest_out(one, other)
        if short is not None:
            return short
    first = np.vstack(one.convex())
    second = np.vstack(other.convex())
    sides = [np.array([[0.0, 0.0, 1.0], [0.0, 0.0, -1.0]]), _sides(one.area), _sides(other.area)]
    need, way = solids.depth(first, second, np.vstack(sides))
    line = _line(one.area, other.area, 0.0)
    return Gap(-max(need, 0.0), line, tuple(map(float, way)))  # type: ignore[arg-type]


def _is_convex(area: Geometry) -> bool:
    size = float(shapely.area(area))
    return float(shapely.area(shapely.convex_hull(area))) - size <= 1e-9 * size


def _shortest_out(one: Body, other: Body) -> Gap | None:
    """The way out of what two upright bodies have in common in plan, tried; none when it is not far enough."""
    common = shapely.intersection(one.area, other.area)
    line = _line(one.area, other.area, 0.0)
    if float(shapely.area(common)) < 1e-12:
        return Gap(0.0, line)
    up, down = one.high - other.low, other.high - one.low
    corners = np.asarray(shapely.get_coordinates(shapely.minimum_rotated_rectangle(common)))
    if len(corners) < 4:
        return None
    ways = []
    for along in (corners[1] - corners[0], corners[2] - corners[1]):
        far = float(np.hypot(*along))
        for x, y in (along / max(far, 1e-12), -along / max(far, 1e-12)):
            ways.append((far, (float(x), float(y), 0.0)))
    for far, (x, y, z) in sorted(ways):
        if far >= min(up, down):
            break
        step = np.array([x, y]) * (far + 1e-6)
        aside = shapely.transform(other.area, partial(np.add, step))
        if float(shapely.area(shapely.intersection(one.area, aside))) < 1e-9:
            return Gap(-far, line, (x, y, z))
    return None


def _sides(area: Geometry) -> Vector:
    """The directions square to the sides of an area's hull, both ways: (n, 3)."""
    hull = shapely.convex_hull(area)
    if not isinstance(hull, shapely.Polygon):
        return np.array([[1.0, 0.0, 0.0], [-1.0, 0.0, 0.0]])
    ring = np.asarray(hull.exterior.coords)
    edges = np.diff(ring, axis=0)
    edges = edges[np.hypot(edges[:, 0], edges[:, 1]) > 1e-9]
    normals = np.column_stack([edges[:, 1], -edges[:, 0], np.zeros(len(edges))])
    return np.vstack([normals, -normals])
