"""Convex solids in space, and how far two of them are apart: exact for polyhedra.

A solid is the (n, 3) array of its corners, mm. The distance is the shortest vector of the difference of the two
(P. Wolfe, Finding the nearest point in a polytope, Mathematical Programming 11, 1976): it needs no faces, only the
farthest corner in a direction.
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry

Vector = NDArray[np.float64]
#: Nearer than this is touching, mm.
TOUCH_MM = 1e-7


def distance(one: Vector, other: Vector) -> tuple[float, Vector, Vector]:
    """The distance of two convex solids (mm), and the point on each that is nearest the other; 0 when they meet."""
    picks = [(0, 0)]
    weights = np.array([1.0])
    corners = np.array([one[0] - other[0]])
    for _ in range(500):
        nearest = weights @ corners
        i, j = int(np.argmin(one @ nearest)), int(np.argmax(other @ nearest))
        corner = one[i] - other[j]
        size = float(nearest @ nearest)
        if size <= TOUCH_MM**2 or size - float(nearest @ corner) <= 1e-12 * max(size, 1.0) or (i, j) in picks:
            break
        picks, corners, weights = [*picks, (i, j)], np.vstack([corners, corner]), np.append(weights, 0.0)
        picks, corners, weights = _reduced(picks, corners, weights)
    first = weights @ one[[i for i, _ in picks]]
    second = weights @ other[[j for _, j in picks]]
    apart = float(np.linalg.norm(first - second))
    return (apart if apart > 1e-6 else 0.0), first, second


def _reduced(
    picks: list[tuple[int, int]], corners: Vector, weights: Vector
) -> tuple[list[tuple[int, int]], Vector, Vector]:
    """Wolfe's inner loop: the shortest vector in the hull of the chosen corners, without those that it does not use."""
    while True:
        count = len(corners)
        system = np.ones((count + 1, count + 1))
        system[:count, :count] = corners @ corners.T
        system[count, count] = 0.0
        right = np.zeros(count + 1)
        right[count] = 1.0
        wanted = np.linalg.lstsq(system, right, rcond=None)[0][:count]
        if (wanted > 1e-12).all():
            return picks, corners, wanted / wanted.sum()
        falling = wanted <= 1e-12
        fall = weights - wanted
        steps = np.where(falling & (fall > 0), weights / np.where(fall > 0, fall, 1.0), 1.0)
        weights = np.maximum(weights + min(1.0, float(steps.min())) * (wanted - weights), 0.0)
        keep = weights > 1e-12
        if keep.all():
            keep[int(np.argmin(np.where(falling, weights, np.inf)))] = False
        if not keep.any():
            keep[-1] = True
        picks = [pick for pick, kept in zip(picks, keep, strict=True) if kept]
        corners, weights = corners[keep], weights[keep]
        weights = weights / weights.sum() if weights.sum() > 0 else np.full(len(weights), 1 / len(weights))


def depth(one: Vector, other: Vector, directions: Vector) -> tuple[float, Vector]:
    """How far ``other`` must be moved to come clear of ``one``, over the directions given (n, 3), and the best of them.

    Negative when one of them separates the two already.
    """
    directions = directions / np.linalg.norm(directions, axis=1)[:, None]
    need = (one @ directions.T).max(axis=0) - (other @ directions.T).min(axis=0)
    best = int(np.argmin(need))
    return float(need[best]), directions[best]


def upright(plan: Vector, low: float, high: float) -> Vector:
    """The corners of a convex plan outline (n, 2) raised from one height to another."""
    return np.vstack([np.column_stack([plan, np.full(len(plan), z)]) for z in (low, high)])


def convex_parts(area: Geometry) -> list[Vector]:
    """An area as convex plan outlines, each (n, 2): itself when it is convex, else its triangles."""
    found: list[Vector] = []
    for part in shapely.get_parts(area):
        if part.geom_type != "Polygon" or part.is_empty:
            continue
        hull = part.convex_hull
        if not part.interiors and hull.area - part.area <= 1e-9 * max(hull.area, 1.0):
            found.append(np.asarray(hull.exterior.coords)[:-1])
        else:
            triangles = shapely.get_parts(shapely.constrained_delaunay_triangles(part))
            found += [np.asarray(triangle.exterior.coords)[:-1] for triangle in triangles]
    return found


def cylinder(start: Vector, end: Vector, radius: float, tolerance: float = 0.005) -> Vector:
    """The corners of a prism that holds a cylinder of this axis and is at most ``tolerance`` mm wider."""
    count = max(12, math.ceil(math.pi / math.acos(radius / (radius + tolerance))))
    axis = (end - start) / np.linalg.norm(end - start)
    across = np.cross(axis, [0.0, 0.0, 1.0])
    if np.linalg.norm(across) < 1e-9:
        across = np.array([1.0, 0.0, 0.0])
    across = across / np.linalg.norm(across)
    up = np.cross(axis, across)
    angles = np.arange(count) * 2 * math.pi / count
    ring = (np.outer(np.cos(angles), across) + np.outer(np.sin(angles), up)) * radius / math.cos(math.pi / count)
    return np.vstack([start + ring, end + ring])
