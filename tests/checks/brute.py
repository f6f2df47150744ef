"""A second measure of what is between two solids: points all over the one, and the distance of each to the other.

It is worked out from the document's numbers alone, without the program's geometry: a prism is a list of edges, a
board's place comes from the turns that ``docs/format.md`` describes. It is right within the spacing of its points.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Points = NDArray[np.float64]
#: The spacing of the points, mm: a distance is at most this much too large.
SPACING = 0.4
#: Farther apart than this is not measured, mm.
FAR = 7.0


@dataclass(frozen=True)
class Sample:
    """A solid: its id and kind, points on its surface, and the distance of any points to it."""

    id: str
    kind: str
    points: Points
    distance: Callable[[Points], Points]


def between(one: Sample, other: Sample) -> float:
    """The distance of two solids, mm, within the spacing; 0 where they meet, infinite beyond ``FAR``."""
    found = math.inf
    for points, solid in ((one.points, other), (other.points, one)):
        low, high = solid.points.min(axis=0) - FAR, solid.points.max(axis=0) + FAR
        near = points[((points > low) & (points < high)).all(axis=1)]
        if len(near):
            found = min(found, float(solid.distance(near).min()))
    return found


def _edge_distance(places: Points, ring: Points, closed: bool = True) -> Points:
    ends = np.roll(ring, -1, axis=0) if closed else ring[1:]
    starts = ring if closed else ring[:-1]
    best = np.full(len(places), np.inf)
    for a, b in zip(starts, ends, strict=True):
        along = b - a
        share = np.clip(((places - a) @ along) / max(along @ along, 1e-12), 0, 1)
        best = np.minimum(best, np.hypot(*(places - a - share[:, None] * along).T))
    return best


def _inside(places: Points, ring: Points) -> NDArray[np.bool_]:
    found = np.zeros(len(places), dtype=bool)
    for (x0, y0), (x1, y1) in zip(ring, np.roll(ring, -1, axis=0), strict=True):
        crosses = (y0 > places[:, 1]) != (y1 > places[:, 1])
        with np.errstate(divide="ignore", invalid="ignore"):
            at = (x1 - x0) * (places[:, 1] - y0) / (y1 - y0) + x0
        found ^= crosses & (places[:, 0] < at)
    return found


def _along(ring: Points, closed: bool = True) -> Points:
    ends = np.roll(ring, -1, axis=0) if closed else ring[1:]
    rows = []
    for a, b in zip(ring if closed else ring[:-1], ends, strict=True):
        count = max(1, math.ceil(math.dist(a, b) / SPACING))
        rows.append(a + np.linspace(0, 1, count, endpoint=False)[:, None] * (b - a))
    return np.vstack(rows)


def _filled(ring: Points) -> Points:
    low, high = ring.min(axis=0), ring.max(axis=0)
    grid = np.stack(np.meshgrid(*(np.arange(a, b, 3 * SPACING) for a, b in zip(low, high, strict=True))), -1)
    grid = grid.reshape(-1, 2)
    return grid[_inside(grid, ring)]


def prism(id_: str, kind: str, ring: Points, low: float, high: float, radius: float = 0.0) -> Sample:
    """An area, or a line or a point grown by a radius, from one height to another."""
    plain = radius == 0.0
    outline = ring if plain else _grown(ring, radius)
    walls, faces = _along(outline), np.vstack([_along(outline), _filled(outline)])
    levels = np.linspace(low, high, max(2, math.ceil((high - low) / (2 * SPACING)) + 1))
    points = np.vstack([
        *(np.column_stack([walls, np.full(len(walls), z)]) for z in levels),
        *(np.column_stack([faces, np.full(len(faces), z)]) for z in (low, high)),
    ])  # fmt: skip

    def distance(places: Points) -> Points:
        flat = places[:, :2]
        if plain:
            plan = np.where(_inside(flat, ring), 0.0, _edge_distance(flat, ring))
        else:
            plan = np.maximum(_edge_distance(flat, ring, closed=False) - radius, 0.0)
        height = np.maximum(np.maximum(low - places[:, 2], places[:, 2] - high), 0.0)
        return np.hypot(plan, height)

    return Sample(id_, kind, points, distance)


def swept(id_: str, kind: str, line: Points, low: float, high: float, radius: float) -> Sample:
    """What a round cutter clears along any line of short chords, arcs too."""
    near = _along(line, closed=False)
    near = np.vstack([near, line[-1]])
    angles = np.linspace(0, 2 * math.pi, max(24, math.ceil(2 * math.pi * radius / SPACING)), endpoint=False)
    rim = (near[:, None, :] + radius * np.column_stack([np.cos(angles), np.sin(angles)])[None]).reshape(-1, 2)
    rim = rim[_edge_distance(rim, line, closed=False) >= radius - 1e-3]
    within = np.vstack([near, rim, (near[:, None, :] + radius / 2 * np.column_stack(
        [np.cos(angles[::3]), np.sin(angles[::3])])[None]).reshape(-1, 2)])  # fmt: skip
    levels = np.linspace(low, high, max(2, math.ceil((high - low) / (2 * SPACING)) + 1))
    points = np.vstack([
        *(np.column_stack([rim, np.full(len(rim), z)]) for z in levels),
        *(np.column_stack([within, np.full(len(within), z)]) for z in (low, high)),
    ])  # fmt: skip

    def distance(places: Points) -> Points:
        plan = np.maximum(_edge_distance(places[:, :2], line, closed=False) - radius, 0.0)
        height = np.maximum(np.maximum(low - places[:, 2], places[:, 2] - high), 0.0)
        return np.hypot(plan, height)

    return Sample(id_, kind, points, distance)


def rounded(a: Points, corner: Points, b: Points, radius: float) -> Points:
    """Two straight runs with an arc that touches both, as short chords; the corner itself where it has no room.

    The arc begins r / tan(half the angle between the runs) from the corner (plane geometry).
    """
    u, v = (a - corner) / math.dist(a, corner), (b - corner) / math.dist(b, corner)
    half = math.acos(np.clip(u @ v, -1, 1)) / 2
    back = radius / math.tan(half)
    middle = (u + v) / np.linalg.norm(u + v)
    centre = corner + middle * radius / math.sin(half)
    first, last = corner + u * back - centre, corner + v * back - centre
    start = math.atan2(first[1], first[0])
    turn = math.remainder(math.atan2(last[1], last[0]) - start, 2 * math.pi)
    angles = start + np.linspace(0, turn, max(3, math.ceil(abs(turn) * radius / 0.1)))
    return np.vstack([a, centre + radius * np.column_stack([np.cos(angles), np.sin(angles)]), b])


def _grown(line: Points, radius: float) -> Points:
    """A straight line or a point with round ends, as a ring of points on its edge."""
    a, b = line[0], line[-1]
    turn = math.atan2(*(b - a)[::-1]) if len(line) > 1 else 0.0
    angles = np.linspace(-math.pi / 2, math.pi / 2, max(12, math.ceil(math.pi * radius / SPACING)))
    first = b + radius * np.column_stack([np.cos(turn + angles), np.sin(turn + angles)])
    second = a - radius * np.column_stack([np.cos(turn + angles), np.sin(turn + angles)])
    return np.vstack([first, second])


def turned(id_: str, kind: str, axis_at: Points, axis: Points, rows: list[tuple[float, float]]) -> Sample:
    """A solid of revolution: (distance along the axis, radius) from end to end, straight between them."""
    axis = axis / np.linalg.norm(axis)
    across = np.cross(axis, [0.3, 0.5, 0.81])
    across = across / np.linalg.norm(across)
    up = np.cross(axis, across)
    profile = np.array(rows)
    ring = _along(profile, closed=False)
    ring = np.vstack(
        [ring, profile[-1], *([[u, r * s] for u, r in (rows[0], rows[-1]) for s in np.linspace(0, 1, 12)])]
    )
    angles = np.linspace(0, 2 * math.pi, 96, endpoint=False)
    points = np.vstack([
        axis_at + u * axis + r * (np.cos(angles)[:, None] * across + np.sin(angles)[:, None] * up) for u, r in ring
    ])  # fmt: skip
    closed = np.vstack([profile, [profile[-1, 0], 0.0], [profile[0, 0], 0.0]])

    def distance(places: Points) -> Points:
        along = (places - axis_at) @ axis
        away = np.linalg.norm(places - axis_at - along[:, None] * axis, axis=1)
        flat = np.column_stack([along, away])
        return np.where(_inside(flat, closed), 0.0, _edge_distance(flat, closed))

    return Sample(id_, kind, points, distance)


def frame_of(item: dict) -> tuple[Points, Points]:
    """Origin and axes (columns u, v, w): rolled about w, stood on edge, turned about the vertical."""

    def about(degrees: float) -> Points:
        c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
        return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1.0]])

    # Standing: u along x, v up, w to the front.
    stand = np.array([[1, 0, 0], [0, 0, -1], [0, 1, 0.0]]) if item.get("posture") == "standing" else np.eye(3)
    axes = about(item.get("turn_deg", 0)) @ stand @ about(item.get("roll_deg", 0))
    return np.array([item.get("x_mm", 0), item.get("y_mm", 0), item.get("z_mm", 0.0)]), axes


def box(id_: str, kind: str, item: dict, low: Points, high: Points) -> Sample:
    """A box in an item's own u, v, w."""
    origin, axes = frame_of(item)
    sizes = high - low
    steps = [np.linspace(0, 1, max(2, math.ceil(size / (2 * SPACING)) + 1)) for size in sizes]
    rows = []
    for fixed in range(3):
        others = [k for k in range(3) if k != fixed]
        a, b = np.meshgrid(steps[others[0]], steps[others[1]])
        for side in (0.0, 1.0):
            face = np.empty((a.size, 3))
            face[:, fixed], face[:, others[0]], face[:, others[1]] = side, a.ravel(), b.ravel()
            rows.append(low + face * sizes)
    points = origin + np.vstack(rows) @ axes.T

    def distance(places: Points) -> Points:
        local = (places - origin) @ axes
        return np.linalg.norm(np.maximum(np.maximum(low - local, local - high), 0.0), axis=1)

    return Sample(id_, kind, points, distance)
