"""A third measure of what is between two solids: each knows its nearest point to any place, and two take turns.

Going back and forth between two convex sets by their nearest points ends at the distance of the two (W. Cheney and
A. A. Goldstein, Proximity maps for convex sets, 1959). What is not convex is begun at many places. Nothing of the
program's geometry is in it: a prism is a ring of corners, an arc is short chords, a hole is turned about its axis.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.checks.brute import _along, _inside

Points = NDArray[np.float64]
Nearest = Callable[[Points], Points]
TURNS, STARTS = 160, 10


@dataclass(frozen=True)
class Solid:
    """Points on it to begin at, and the nearest point of it to any places (n, 3)."""

    seeds: Points
    nearest: Nearest


def between(ones: list[Solid], others: list[Solid]) -> float:
    """The distance of two things made of solids, mm."""
    return min(_two(one, other) for one in ones for other in others)


def _two(one: Solid, other: Solid) -> float:
    """From the places that are nearest at first, and from evenly spread ones: back and forth until it stays."""
    found = math.inf
    for first, second in ((one, other), (other, one)):
        apart = np.linalg.norm(second.nearest(first.seeds) - first.seeds, axis=1)
        places = first.seeds[np.argsort(apart)[:STARTS]]
        for _ in range(TURNS):
            across = second.nearest(places)
            back = first.nearest(across)
            still = np.abs(back - places).max() < 1e-7
            places = back
            if still:
                break
        found = min(found, float(np.linalg.norm(second.nearest(places) - places, axis=1).min()))
    return found


def _on_edges(places: Points, ring: Points, closed: bool) -> Points:
    """The nearest points of a line of corners, in plan."""
    starts = ring if closed else ring[:-1]
    along = (np.roll(ring, -1, axis=0) if closed else ring[1:]) - starts
    size = np.maximum((along * along).sum(-1), 1e-18)
    share = np.clip(((places[:, None, :] - starts) * along).sum(-1) / size, 0, 1)
    on = starts + share[..., None] * along
    best = np.argmin(((places[:, None, :] - on) ** 2).sum(-1), axis=1)
    return np.asarray(on[np.arange(len(places)), best])


def _clamped(places: Points, low: float, high: float) -> Points:
    return np.clip(places[:, 2], low, high)


def prism(ring: Points, low: float, high: float) -> Solid:
    """An area, with bays if it likes, from one height to another."""
    fine = _along(ring)[:: max(1, len(_along(ring)) // 60)]
    levels = np.linspace(low, high, 3)
    seeds = np.vstack([np.column_stack([fine, np.full(len(fine), z)]) for z in levels])

    def nearest(places: Points) -> Points:
        flat = places[:, :2]
        plan = np.where(_inside(flat, ring)[:, None], flat, _on_edges(flat, ring, True))
        return np.column_stack([plan, _clamped(places, low, high)])

    return Solid(seeds, nearest)


def swept(line: Points, low: float, high: float, radius: float) -> Solid:
    """What a round cutter clears along a line of short chords, or at one place."""
    line = line if len(line) > 1 else np.vstack([line, line])
    places = _along(line, closed=False) if len(np.unique(line, axis=0)) > 1 else line[:1]
    places = places[:: max(1, len(places) // 30)]
    angles = np.linspace(0, 2 * math.pi, 16, endpoint=False)
    rim = (places[:, None, :] + radius * np.column_stack([np.cos(angles), np.sin(angles)])[None]).reshape(-1, 2)
    seeds = np.vstack([np.column_stack([rim, np.full(len(rim), z)]) for z in np.linspace(low, high, 3)])

    def nearest(points: Points) -> Points:
        flat = points[:, :2]
        on = _on_edges(flat, line, False)
        away = flat - on
        size = np.maximum(np.hypot(*away.T), 1e-12)
        plan = on + away * np.minimum(1.0, radius / size)[:, None]
        return np.column_stack([plan, _clamped(points, low, high)])

    return Solid(seeds, nearest)


def turned(at: Points, axis: Points, rows: list[tuple[float, float]]) -> Solid:
    """A solid of revolution: (distance along the axis, radius) from end to end, straight between them."""
    axis = axis / np.linalg.norm(axis)
    across = np.cross(axis, [0.3, 0.5, 0.81])
    across /= np.linalg.norm(across)
    up = np.cross(axis, across)
    profile = np.array([(rows[0][0], 0.0), *rows, (rows[-1][0], 0.0)])
    angles = np.linspace(0, 2 * math.pi, 24, endpoint=False)
    fine = _along(np.array(rows), closed=False)
    fine = np.vstack([fine[:: max(1, len(fine) // 12)], rows[-1]])
    ring = np.cos(angles)[:, None] * across + np.sin(angles)[:, None] * up
    seeds = np.vstack([at + u * axis + r * ring for u, r in fine])

    def nearest(places: Points) -> Points:
        along = (places - at) @ axis
        off = places - at - along[:, None] * axis
        away = np.linalg.norm(off, axis=1)
        flat = np.column_stack([along, away])
        on = np.where(_inside(flat, profile)[:, None], flat, _on_edges(flat, profile, True))
        out = off / np.maximum(away, 1e-12)[:, None]
        return np.asarray(at + on[:, :1] * axis + on[:, 1:] * out)

    return Solid(seeds, nearest)


def framed(origin: Points, axes: Points, solid: Solid) -> Solid:
    """A solid in axes of its own (columns u, v, w)."""
    return Solid(
        origin + solid.seeds @ axes.T, lambda places: origin + solid.nearest((places - origin) @ axes) @ axes.T
    )
