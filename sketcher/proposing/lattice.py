"""Lattices that channels are searched on, and the shortest way over them with a price on every turn.

A lattice has nodes in plan and straight edges in eight directions (a square one uses four). The search runs over pairs
of node and direction of arrival, so that a turn can have a price: scipy's Dijkstra does it.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import dijkstra
from shapely.geometry.base import BaseGeometry

from sketcher.geometry.path import Point

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

#: Directions of travel, in eighths of a turn from x; a square lattice uses every second one.
EIGHT = 8
#: A channel never turns back more than this between two steps, in eighths.
SHARPEST = 2
#: A line so far from what closes the ground does not touch it, mm.
JUST_CLEAR_MM = 0.03


@dataclass(frozen=True, eq=False)
class Lattice:
    """Nodes (n, 2) in mm, and directed edges: from, to, and the direction in eighths of a turn."""

    nodes: Floats
    tails: Ints
    heads: Ints
    directions: Ints
    ends: dict[str, int]

    @cached_property
    def lengths(self) -> Floats:
        """Length of each directed edge, mm."""
        lengths: Floats = np.hypot(*(self.nodes[self.heads] - self.nodes[self.tails]).T)
        return lengths

    @cached_property
    def lines(self) -> NDArray[np.object_]:
        """Each directed edge as a line."""
        return np.asarray(shapely.linestrings(np.stack([self.nodes[self.tails], self.nodes[self.heads]], axis=1)))

    @cached_property
    def tree(self) -> shapely.STRtree:
        """The lines, to be searched by place."""
        return shapely.STRtree(self.lines)

    def touching(self, area: BaseGeometry) -> Ints:
        """The edges that an area touches."""
        if area.is_empty:
            return np.array([], dtype=np.intp)
        shapely.prepare(area)
        return np.unique(self.tree.query(area, predicate="intersects"))

    @property
    def steps(self) -> int:
        """Steps of the graph that is searched: what a search costs goes by them."""
        return len(self._turns[0])

    @cached_property
    def _turns(self) -> tuple[Ints, Ints, Ints, Ints]:
        """For every permitted step: the state it starts from, the one it ends in, its edge, and how far it turns."""
        step = int(np.gcd.reduce(self.directions)) if len(self.directions) else 1
        step = 2 if step % 2 == 0 else 1
        rows, columns, edges, turns = [], [], [], []
        index = np.arange(len(self.tails))
        for turn in range(-SHARPEST, SHARPEST + 1, step):
            rows.append(self.tails * EIGHT + (self.directions - turn) % EIGHT)
            columns.append(self.heads * EIGHT + self.directions)
            edges.append(index)
            turns.append(np.full(len(index), abs(turn)))
        return np.concatenate(rows), np.concatenate(columns), np.concatenate(edges), np.concatenate(turns)

    @cached_property
    def _pattern(self) -> tuple[csr_matrix, Ints]:
        """The graph's pattern, and where each permitted step stands in it."""
        rows, columns, _, _ = self._turns
        size = len(self.nodes) * EIGHT
        order = np.lexsort((columns, rows))
        pointers = np.concatenate([[0], np.cumsum(np.bincount(rows, minlength=size))])
        data = np.ones(len(rows))
        return csr_matrix((data, columns[order], pointers), shape=(size, size)), order

    def shortest(
        self,
        starts: Iterable[int],
        goals: Sequence[tuple[int, frozenset[int]]],
        costs: Floats,
        turn_cost_mm: Sequence[float],
    ) -> tuple[list[int], float] | None:
        """The cheapest way from one of the starts to one of the goals: its nodes, and what it costs.

        Args:
            starts: nodes to set out from, in any direction.
            goals: nodes to arrive at, each with the directions of arrival that will do (none: every one).
            costs: of each directed edge, mm; infinite where no channel may run.
            turn_cost_mm: of a turn by 0, 1 and 2 eighths.

        None when no way leads there.
        """
        graph, order = self._pattern
        _, _, edges, turns = self._turns
        graph.data[:] = (costs[edges] + np.asarray(turn_cost_mm, dtype=float)[turns])[order]
        sources = [start * EIGHT + d for start in starts for d in range(EIGHT)]
        distances, before, _ = dijkstra(graph, indices=sources, min_only=True, return_predecessors=True)
        ends = [node * EIGHT + d for node, allowed in goals for d in range(EIGHT) if not allowed or d in allowed]
        if not ends:
            return None
        best = min(ends, key=lambda state: (distances[state], state))
        if not math.isfinite(distances[best]):
            return None
        states = [best]
        while before[states[-1]] >= 0:
            states.append(int(before[states[-1]]))
        nodes = [state // EIGHT for state in reversed(states)]
        return [node for k, node in enumerate(nodes) if k == 0 or node != nodes[k - 1]], float(distances[best])

    def points(self, nodes: Sequence[int]) -> list[Point]:
        """The places of nodes, mm."""
        return [(float(x), float(y)) for x, y in self.nodes[list(nodes)]]

    def edge_between(self, nodes: Sequence[int]) -> Ints:
        """The directed edges along a way of nodes."""
        way = np.asarray(nodes, dtype=np.intp)
        order, keys = self._by_ends
        found: Ints = order[np.searchsorted(keys, way[:-1] * len(self.nodes) + way[1:])]
        return found

    @cached_property
    def _by_ends(self) -> tuple[Ints, Ints]:
        """The edges in the order of their two ends, and those ends as one number each."""
        keys = self.tails * len(self.nodes) + self.heads
        order = np.argsort(keys, kind="stable")
        return order, keys[order]


def lines_in_gaps(
    boxes: Sequence[Sequence[float]], around: Sequence[float], spacing_mm: float, most: int
) -> list[list[float]]:
    """Coordinates in x and in y of lines side by side in narrow gaps, so that as many channels fit in as there is room
    for.

    Args:
        boxes: left, front, right, rear of what closes the ground, mm.
        around: the same of the ground itself.
        spacing_mm: from line to line.
        most: so many lines are wanted in a gap; one that has room for more with ease gets none.
    """
    found: list[list[float]] = [[], []]
    for axis in (0, 1):
        other = 1 - axis
        ends = [(box[axis], box[axis + 2], box[other], box[other + 2]) for box in boxes]
        edge = (-math.inf, math.inf)
        walls = [*ends, (-math.inf, around[axis], *edge), (around[axis + 2], math.inf, *edge)]
        for _, low, front, rear in walls:
            for high, _, fore, aft in walls:
                wide = high - low
                facing = min(rear, aft) > max(front, fore)
                if facing and spacing_mm <= wide < (most + 1) * spacing_mm:
                    count = min(int(wide / spacing_mm), most - 1)
                    found[axis] += [low + JUST_CLEAR_MM + k * spacing_mm for k in range(count + 1)]
                    found[axis] += [high - JUST_CLEAR_MM - k * spacing_mm for k in range(count + 1)]
    return found


def even(area: BaseGeometry, pitch_mm: float, ends: dict[str, Point]) -> Lattice:
    """A lattice of equal squares with diagonals over an area; ends that lie off it are joined to the nodes nearby."""
    left, front, right, rear = (0.0, 0.0, 0.0, 0.0) if area.is_empty else area.bounds
    # From a whole millimetre on, so that what lies on the lattice has short coordinates.
    xs = np.arange(math.floor(left), right + pitch_mm, pitch_mm)
    ys = np.arange(math.floor(front), rear + pitch_mm, pitch_mm)
    grid = np.stack(np.meshgrid(xs, ys), axis=-1).reshape(-1, 2)
    shapely.prepare(area)
    kept = shapely.intersects_xy(area, grid[:, 0], grid[:, 1])
    number = np.where(kept, np.cumsum(kept) - 1, -1).reshape(len(ys), len(xs))
    nodes = grid[kept]
    tails, heads, directions = [], [], []
    for direction, (dx, dy) in enumerate([(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)]):
        rows, columns = np.nonzero(number >= 0)
        r, c = rows + dy, columns + dx
        inside = (r >= 0) & (r < len(ys)) & (c >= 0) & (c < len(xs))
        rows, columns, r, c = rows[inside], columns[inside], r[inside], c[inside]
        there = number[r, c]
        good = there >= 0
        tails.append(number[rows[good], columns[good]])
        heads.append(there[good])
        directions.append(np.full(int(good.sum()), direction))
    return _with_ends(nodes, tails, heads, directions, ends, 1.6 * pitch_mm)


def _with_ends(
    nodes: Floats, tails: list[Any], heads: list[Any], directions: list[Any], ends: dict[str, Point], reach_mm: float
) -> Lattice:
    tree = shapely.STRtree([shapely.Point(node) for node in nodes]) if len(nodes) else None
    places, names = [nodes], {}
    for k, (name, place) in enumerate(ends.items()):
        own = len(nodes) + k
        names[name] = own
        places.append(np.array([place]))
        if tree is None:
            continue
        near = tree.query(shapely.Point(place), predicate="dwithin", distance=reach_mm)
        away = nodes[near] - np.asarray(place)
        apart = np.hypot(*away.T) > 1e-9
        near, away = near[apart], away[apart]
        octant = np.round(np.arctan2(away[:, 1], away[:, 0]) / (math.pi / 4)).astype(int) % EIGHT
        tails += [np.full(len(near), own), near]
        heads += [near, np.full(len(near), own)]
        directions += [octant, (octant + 4) % EIGHT]
    return Lattice(
        np.vstack(places).reshape(-1, 2),
        np.concatenate(tails).astype(np.intp),
        np.concatenate(heads).astype(np.intp),
        np.concatenate(directions).astype(np.intp),
        names,
    )


def square(area: BaseGeometry, xs: Sequence[float], ys: Sequence[float], ends: dict[str, Point]) -> Lattice:
    """A lattice of lines along x and along y; the ends must lie where two of them meet."""
    across, along = np.unique(np.round(xs, 4)), np.unique(np.round(ys, 4))
    grid = np.stack(np.meshgrid(across, along), axis=-1).reshape(-1, 2)
    shapely.prepare(area)
    places = {(round(x, 4), round(y, 4)) for x, y in ends.values()}
    kept = shapely.intersects_xy(area, grid[:, 0], grid[:, 1])
    kept |= np.array([(round(float(x), 4), round(float(y), 4)) in places for x, y in grid], dtype=bool)
    number = np.where(kept, np.cumsum(kept) - 1, -1).reshape(len(along), len(across))
    tails, heads, directions = [], [], []
    for one, other, direction in (
        (number[:, :-1], number[:, 1:], 0),
        (number[:-1, :], number[1:, :], 2),
    ):
        good = (one >= 0) & (other >= 0)
        a, b = one[good], other[good]
        tails += [a, b]
        heads += [b, a]
        directions += [np.full(len(a), direction), np.full(len(a), direction + 4)]
    by_place = {(float(x), float(y)): k for k, (x, y) in enumerate(grid[kept])}
    names = {name: by_place[(round(x, 4), round(y, 4))] for name, (x, y) in ends.items()}
    nodes = grid[kept]
    for name, node in names.items():
        nodes[node] = ends[name]
    return Lattice(
        nodes,
        np.concatenate(tails).astype(np.intp),
        np.concatenate(heads).astype(np.intp),
        np.concatenate(directions).astype(np.intp),
        names,
    )
