"""Bends of a closed dense ring: where it turns more tightly than a radius, and to which side.

A ring here is what shapely makes of arcs: many short chords. The local radius at a vertex is the mean length of its
two chords over the angle between them, which gives an arc's radius back, and stays large where an arc meets a
straight edge.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from shapely.geometry import LinearRing, Polygon
from shapely.geometry.polygon import orient

#: Chords turn by 5.6° each, and where two arcs meet by twice that: less than this is no bend, and the cord takes it
#: without notice.
LEAST_TURN = np.radians(13.0)
#: Where two outlines are united they meet in steps of some thousandths, mm: these are no bends.
STEP_MM = 0.004


@dataclass(frozen=True)
class Bend:
    """A run of vertices that turn the same way, tighter than the radius asked for.

    ``radius`` is signed: positive where the polygon bulges out, negative where it is notched. ``apex`` is the
    middle of the run and ``outward`` the unit normal there, away from the polygon.
    """

    radius: float
    turn: float
    apex: tuple[float, float]
    outward: tuple[float, float]


def rings(polygon: Polygon) -> list[NDArray[np.float64]]:
    """Rings of a polygon as (n, 2) arrays without the closing point, its inside always on the left."""
    turned = orient(polygon, 1.0)
    return [np.asarray(ring.coords)[:-1] for ring in (turned.exterior, *turned.interiors)]


def places_along(ring: LinearRing, distances: NDArray[np.floating[Any]]) -> NDArray[np.float64]:
    """Points (n, 2) at distances (n,) along a ring, mm; shapely walks the ring from its start for each of them."""
    corners = np.asarray(ring.coords)
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(corners, axis=0).T))])
    return np.column_stack([np.interp(distances, along, corners[:, axis]) for axis in (0, 1)])


def local_radii(ring: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Turn (radians, left positive) and signed local radius (infinite when straight) at every vertex, shape (n,)."""
    along = np.roll(ring, -1, axis=0) - ring
    lengths = np.hypot(along[:, 0], along[:, 1])
    before = np.roll(along, 1, axis=0)
    cross = before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0]
    dot = (before * along).sum(axis=1)
    turn = np.arctan2(cross, dot)
    mean = (lengths + np.roll(lengths, 1)) / 2
    with np.errstate(divide="ignore"):
        radius = np.where(np.abs(turn) < 1e-6, np.inf, mean / np.where(turn == 0, 1.0, turn))
    return turn, radius


def tight_bends(ring: NDArray[np.float64], radius: float, *, least_turn: float = LEAST_TURN) -> list[Bend]:
    """Bends of a ring tighter than ``radius``, each a run of neighbouring vertices that turn the same way."""
    ring = np.asarray(LinearRing(ring).simplify(STEP_MM).coords)[:-1]
    turn, local = local_radii(ring)
    tight = np.abs(local) < radius
    if not tight.any():
        return []
    count = len(ring)
    sign = np.where(tight, np.sign(turn), 0.0)
    start = int(np.flatnonzero(sign != np.roll(sign, 1))[0]) if (sign != sign[0]).any() else 0
    order = (np.arange(count) + start) % count
    ordered = sign[order]
    edges = np.flatnonzero(np.diff(ordered)) + 1
    bends = []
    for run in np.split(order, edges):
        if sign[run[0]] == 0:
            continue
        turned = float(turn[run].sum())
        if abs(turned) < least_turn:
            continue
        bends.append(_bend(ring, run, turn))
    return bends


def _bend(ring: NDArray[np.float64], run: NDArray[np.int_], turn: NDArray[np.float64]) -> Bend:
    count, turned = len(ring), float(turn[run].sum())
    before, after = ring[(run - 1) % count], ring[(run + 1) % count]
    first, last = ring[run[0]] - before[0], after[-1] - ring[run[-1]]
    heading = first / np.hypot(*first) + last / np.hypot(*last)
    size = float(np.hypot(*heading))
    if size < 1e-6:  # a half turn: in and out headings are opposite
        left = np.array([-first[1], first[0]])
        heading = np.array([left[0], left[1]]) * (1.0 if turned > 0 else -1.0)
        size = float(np.hypot(*heading))
    outward = np.array([heading[1], -heading[0]]) / size
    # The arc through the run, each vertex by its share of the turn: where its vertices happen to lie does not matter.
    share = (turn[run] / turned)[:, None]
    lengths = (np.hypot(*(ring[run] - before).T) + np.hypot(*(after - ring[run]).T)) / 2
    radius = float(lengths.sum()) / turned
    along = after - before
    normal = np.stack([along[:, 1], -along[:, 0]], axis=1) / np.maximum(np.hypot(*along.T), 1e-12)[:, None]
    apex = ((ring[run] - radius * normal) * share).sum(axis=0) + radius * outward
    return Bend(radius, turned, (float(apex[0]), float(apex[1])), (float(outward[0]), float(outward[1])))
