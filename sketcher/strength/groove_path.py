"""From the sealed area to what the shop gets: true lines and arcs, the cord's length and where its ends meet."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sketcher.geometry.path import Path, Point, from_vertices

#: How far the fitted path may leave the dense ring, mm.
FIT_MM = 0.012


def fit_path(ring: NDArray[np.float64], tolerance_mm: float = FIT_MM) -> Path:
    """The closed path of lines and arcs through a dense ring.

    Args:
        ring: (n, 2) corners in order, without the closing one; mm.
        tolerance_mm: greatest distance of a corner, and of a chord's middle, from the fitted edge.
    """
    lengths = np.hypot(*(np.roll(ring, -1, axis=0) - ring).T)
    points = np.roll(ring, -int(np.argmax(lengths)), axis=0)
    points = np.vstack([points, points[:1]])
    last = len(points) - 1
    vertices: list[tuple[float, float, float]] = []
    at = 0
    while at < last:
        bulge, end = _longest(points, at, last, tolerance_mm)
        vertices.append((float(points[at, 0]), float(points[at, 1]), bulge))
        at = end
    return from_vertices(vertices, closed=True)


def _longest(points: NDArray[np.float64], at: int, last: int, tolerance: float) -> tuple[float, int]:
    """The longest single edge from ``at``: its bulge and its end. Leaps that double, then halve."""
    bulge, end, leap = 0.0, at + 1, 1
    while end < last:
        reach = min(end + leap, last)
        fitted = _fit(points[at : reach + 1], tolerance)
        if fitted is not None:
            bulge, end, leap = fitted, reach, 2 * leap
        elif leap == 1:
            break
        else:
            leap = max(1, leap // 4)
    return bulge, end


def _fit(points: NDArray[np.float64], tolerance: float) -> float | None:
    """The bulge of the one line or arc through the points, or None."""
    start, end, middle = points[0], points[-1], points[len(points) // 2]
    chord = end - start
    length = math.hypot(chord[0], chord[1])
    if length < 1e-6:
        return None
    off = (chord[0] * (points[:, 1] - start[1]) - chord[1] * (points[:, 0] - start[0])) / length
    if np.abs(off).max() <= 1e-4:
        return 0.0
    centre = _centre(start, middle, end)
    if centre is None:
        return None
    radius = math.hypot(*(start - centre))
    middles = (points[1:] + points[:-1]) / 2
    rim = np.hypot(*(points - centre).T)
    inner = np.hypot(*(middles - centre).T)
    if np.abs(rim - radius).max() > tolerance or np.abs(inner - radius).max() > tolerance:
        return None
    angles = np.unwrap(np.arctan2(points[:, 1] - centre[1], points[:, 0] - centre[0]))
    steps = np.diff(angles)
    included = float(angles[-1] - angles[0])
    if abs(included) > math.pi or (np.sign(steps) != np.sign(included)).any():
        return None
    return math.tan(included / 4)


def _centre(a: NDArray[np.float64], b: NDArray[np.float64], c: NDArray[np.float64]) -> NDArray[np.float64] | None:
    (ux, uy), (vx, vy) = b - a, c - a
    cross = 2 * (ux * vy - uy * vx)
    if abs(cross) < 1e-9:
        return None
    u, v = ux * ux + uy * uy, vx * vx + vy * vy
    return np.array([a[0] + (vy * u - uy * v) / cross, a[1] + (ux * v - vx * u) / cross])


@dataclass(frozen=True)
class Joint:
    """Where the cord's ends meet: the place, and how far along from it the run stays straight to either side."""

    at: Point
    straight_mm: float
    to_screw_mm: float


#: The joint's place is sought in steps of this along every straight run, mm.
_JOINT_STEP_MM = 0.5


def place_joint(path: Path, screws: Sequence[Point]) -> Joint:
    """The place for the cord's joint: on a straight run, as far as may be from bends and screws.

    A screw presses the cord most and a bend pulls the joint open, so the joint lies between (common practice, no
    source). Without any straight run the joint goes to the middle of the widest arc, with ``straight_mm`` 0.
    """
    straight = sorted((s for s in path.segments if s.straight), key=lambda s: -s.length)
    axes = np.asarray(screws, dtype=float).reshape(-1, 2)
    if not straight:
        widest = max(path.segments, key=lambda s: (min(s.radius, 1e6), s.length))
        place = widest.at(widest.length / 2)
        return Joint(place, 0.0, float(_nearest(np.array([place]), axes)[0]))
    best: Joint | None = None
    score = -1.0
    for segment in straight:
        if segment.length / 2 <= score:
            break  # no place on a shorter run is farther from its ends
        along = np.linspace(0.0, segment.length, 2 * math.ceil(segment.length / _JOINT_STEP_MM / 2) + 1)[1:-1]
        places = np.array([segment.at(float(s)) for s in (0.0, segment.length)])
        share = (along / segment.length)[:, None]
        places = (1 - share) * places[0] + share * places[1]
        room, to_screw = np.minimum(along, segment.length - along), _nearest(places, axes)
        k = int(np.argmax(np.minimum(room, to_screw)))
        if min(room[k], to_screw[k]) > score:
            score = float(min(room[k], to_screw[k]))
            best = Joint((float(places[k, 0]), float(places[k, 1])), float(room[k]), float(to_screw[k]))
    assert best is not None
    return best


def _nearest(places: NDArray[np.float64], axes: NDArray[np.float64]) -> NDArray[np.float64]:
    """How far each place is from the nearest screw."""
    if not len(axes):
        return np.full(len(places), math.inf)
    return np.asarray(np.hypot(*(places[:, None] - axes[None]).transpose(2, 0, 1)).min(axis=1))
