"""The network of nodes and links, solved for the flow in every link and the pressure at every node.

Newton's method on the gradient form (Todini and Pilati, in Computer Applications in Water Supply, 1988; the EPANET 2.2
manual): every link has a loss h(Q) that rises with its flow; round every closed way the losses cancel; at every node
the flows cancel. That is the stationary point of a convex function of the flows (Cherry and Millar's content), so that
a line search along Newton's step makes it arrive from anywhere. SI units.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sketcher.document.union_find import grouped

Array = NDArray[np.float64]
Ints = NDArray[np.intp]
#: (flow of each link) -> (loss of each link, its slope); the slopes are above 0.
Law = Callable[[Array], tuple[Array, Array]]

#: From this many unknown pressures on the equations are kept sparse.
_SPARSE_FROM = 160
#: Steps smaller than this part of the largest flow may be nothing but rounding.
_ROUNDING = 1e-6
#: What a pressure is worked out to, as a part of the largest: it moves a link of little loss the more.
_EPSILON = 1e-13
#: Steps are measured against the largest flow, or against this at least, m³/s.
_LEAST_FLOW = 1e-6
#: A step to more than this leads astray, m³/s: no pump moves a millionth of it.
_NO_FLOW = 1e6
#: Flows below this are no flow, m³/s: 0.6 ml/min.
STILL = 1e-8


@dataclass(frozen=True, eq=False)
class Graph:
    """Links between nodes: link i runs from ``start[i]`` to ``end[i]``, and may flow either way."""

    nodes: int
    start: Ints
    end: Ints

    @cached_property
    def component(self) -> Ints:
        """The connected part each node belongs to, (nodes,)."""
        found = np.empty(self.nodes, dtype=np.intp)
        pairs = zip(self.start.tolist(), self.end.tolist(), strict=True)
        for number, members in enumerate(grouped(range(self.nodes), pairs)):
            found[members] = number
        return found

    @cached_property
    def _free(self) -> Ints:
        """Nodes whose pressure is unknown: all but the first of each connected part, which has pressure 0."""
        _, first = np.unique(self.component, return_index=True)
        return np.setdiff1d(np.arange(self.nodes), first)

    @cached_property
    def _incidence(self) -> Any:
        """+1 where a link starts, -1 where it ends, (free nodes, links); sparse when large."""
        links = np.arange(len(self.start))
        where = np.full(self.nodes, -1)
        where[self._free] = np.arange(len(self._free))
        rows = np.concatenate([where[self.start], where[self.end]])
        columns = np.concatenate([links, links])
        signs = np.concatenate([np.ones(len(links)), -np.ones(len(links))])
        kept = rows >= 0
        rows, columns, signs = rows[kept], columns[kept], signs[kept]
        shape = (len(self._free), len(links))
        if len(self._free) >= _SPARSE_FROM:
            from scipy.sparse import csc_array  # it takes long to import, and few loops are so large

            return csc_array((signs, (rows, columns)), shape=shape, dtype=float)
        found = np.zeros(shape)
        np.add.at(found, (rows, columns), signs)
        return found

    def imbalance(self, flow: Array) -> Array:
        """What leaves each node more than reaches it, (nodes,)."""
        return np.asarray(
            np.bincount(self.start, flow, self.nodes) - np.bincount(self.end, flow, self.nodes), dtype=float
        )

    def newton(self, flow: Array, loss: Array, slope: Array, pressure: Array) -> tuple[Array, Array]:
        """One full Newton step: by how much the flows change, and the new pressures of the nodes.

        The changes are worked out, not the values: near the end they are small, and so is their rounding. The new flows
        cancel at every node.
        """
        a = self._incidence
        conductance = 1 / slope
        error = pressure[self.start] - pressure[self.end] - loss
        right = -(a @ (flow + conductance * error))
        change = np.zeros(self.nodes)
        if len(self._free):
            if not isinstance(a, np.ndarray):
                from scipy.sparse.linalg import splu

                matrix = (a.multiply(conductance) @ a.T).tocsc()
                factors = splu(matrix, permc_spec="MMD_AT_PLUS_A", options={"SymmetricMode": True})
                change[self._free] = factors.solve(right)
            else:
                change[self._free] = np.linalg.solve((a * conductance) @ a.T, right)
        move = conductance * (error + change[self.start] - change[self.end])
        return move, pressure + change


@dataclass(frozen=True, eq=False)
class Solution:
    """Flows (links,) in m³/s, pressures (nodes,) in Pa, losses (links,) in Pa; and how it was arrived at."""

    flow: Array
    pressure: Array
    loss: Array
    steps: int
    converged: bool


def solve(graph: Graph, law: Law, flow: Array, tolerance: float = 1e-10, most_steps: int = 60) -> Solution:
    """Flows and pressures of the network.

    Args:
        graph: the links.
        law: loss and slope of every link at given flows.
        flow: a first guess, (links,); it need not cancel at the nodes.
        tolerance: of the last step, as a part of the largest flow.
        most_steps: then the answer is handed back as not converged.
    """
    if not len(flow):
        return Solution(flow, np.zeros(graph.nodes), flow, 0, True)
    loss, slope = law(flow)
    balanced = bool(np.abs(graph.imbalance(flow)).max() <= 1e-9 * max(float(np.abs(flow).max()), STILL))
    pressure = np.zeros(graph.nodes)
    last = np.inf
    for step in range(1, most_steps + 1):
        try:
            move, pressure = graph.newton(flow, loss, slope, pressure)
        except (np.linalg.LinAlgError, RuntimeError):  # the second is what the sparse solver says of the same
            return _lost(graph, flow, step)
        target = flow + move
        if not np.abs(target).max() < _NO_FLOW:
            return _lost(graph, flow, step)
        largest = max(float(np.abs(target).max()), _LEAST_FLOW)
        size = float(np.abs(move).max()) / largest
        rounding = _EPSILON * float(np.abs(loss).max()) / float(slope.min()) / largest
        rounding = min(max(rounding, _ROUNDING), 1e-4)
        # Steps that no longer shrink although they are tiny are rounding.
        done = size <= tolerance or (size <= rounding and size > 0.5 * last)
        last = size
        next_loss, next_slope = law(target)
        # Tiny steps are below what the line search can tell from rounding.
        if balanced and size > rounding:
            drop = pressure[graph.start] - pressure[graph.end]
            target, next_loss, next_slope = _line_search(law, flow, move, drop, loss, target, next_loss, next_slope)
        flow, loss, slope = target, next_loss, next_slope
        balanced = True
        if done:
            return Solution(flow, pressure, loss, step, True)
    return Solution(flow, pressure, loss, most_steps, False)


def _lost(graph: Graph, flow: Array, steps: int) -> Solution:
    """Beside a way as thin as a hair the losses differ by more than a number has digits, and a step may lead anywhere:
    nothing flows then, and the search may begin again from there."""
    return Solution(np.zeros(len(flow)), np.zeros(graph.nodes), np.zeros(len(flow)), steps, False)


def _line_search(
    law: Law, flow: Array, move: Array, drop: Array, loss: Array, target: Array, target_loss: Array, target_slope: Array
) -> tuple[Array, Array, Array]:
    """Shortens a step that overshoots: along ``move`` the content's slope is loss·move, and must not turn steep.

    ``drop``, the differences of any pressures, is taken from the losses first: it adds nothing, since what moves
    cancels at the nodes, but the rest is small where the answer is near, and so is its rounding.
    """
    first = float((loss - drop) @ move)
    low, high = 0.0, 1.0
    at_low, at_high = first, float((target_loss - drop) @ move)
    share, at = high, at_high
    for _ in range(20):
        if at <= 0.5 * abs(first):
            break
        # Regula falsi, kept off the ends so that it cannot stall.
        part = at_low / (at_low - at_high) if at_high != at_low else 0.5
        share = low + (high - low) * min(max(part, 0.1), 0.9)
        target = flow + share * move
        target_loss, target_slope = law(target)
        at = float((target_loss - drop) @ move)
        if at > 0:
            high, at_high = share, at
        else:
            low, at_low = share, at
    return target, target_loss, target_slope
