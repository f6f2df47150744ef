"""Heat: how warm the coolant is at every node, what radiators give off. SI units and °C."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sketcher.flow.curves import SAME_FLOW, Points, tidied
from sketcher.flow.monotone import MonotoneCubic, through
from sketcher.flow.network import STILL, Graph

Array = NDArray[np.float64]

#: Water's ρc at 35 °C, J/(m³ K): what the flow at which a radiator was measured is taken to have carried.
_MEASURED_WITH = 994.0 * 4178.0
#: Every link conducts this part of the largest heat stream, so that a dead end is as warm as its neighbour.
_MIXING = 1e-9
_SPARSE_FROM = 160
#: A measured radiator cannot give off more than the water carries; at least so far below it is taken.
_MOST_EFFECTIVE = 0.98


@dataclass(frozen=True)
class RadiatorCurve:
    """Heat given off per kelvin between the water coming in and the room.

    From each measured point the conductance of wall and air U is worked out (G = ṁc (1 - exp(-U/ṁc)), the
    effectiveness of an exchanger whose air stays at its own temperature; Kays and London, Compact Heat Exchangers).
    ln U follows a monotone cubic in ln Q and stays level beyond the points; G is then worked out again for the flow
    and the coolant there are. So G never exceeds what the water carries, and falls to nothing with the flow.

    Attributes:
        lowest, highest: the measured range of flow, m³/s; both 0 without points.
        remarks: what was done to the points, in sentences.
    """

    lowest: float = 0.0
    highest: float = 0.0
    remarks: tuple[str, ...] = ()
    _line: MonotoneCubic | None = field(default=None, repr=False)

    def covers(self, flow: float) -> bool:
        """Whether the flow lies within the measured points."""
        return self.lowest * (1 - 1e-9) <= flow <= self.highest * (1 + 1e-9)

    def conductance(self, flow: float, capacity: float) -> float:
        """W/K between the water coming in and the room.

        Args:
            flow: m³/s, above 0.
            capacity: ρc of the coolant, J/(m³ K).
        """
        line = self._line
        if line is None:
            return 0.0
        x = min(max(math.log(flow), line.x[0]), line.x[-1])
        log_u = line.at(x)[0] if line.cubics else line.first[0]
        stream = flow * capacity
        return -stream * math.expm1(-math.exp(log_u) / stream)


@lru_cache(maxsize=512)
def radiator_curve(points: Points) -> RadiatorCurve:
    """The curve through measured points (flow m³/s, W/K), measured with water near 35 °C."""
    remarks: list[str] = []
    flows, conductances = tidied(point for point in points if point[0] > SAME_FLOW and point[1] > 0)
    if not flows:
        return RadiatorCurve()
    walls = []
    for flow, conductance in zip(flows, conductances, strict=True):
        stream = flow * _MEASURED_WITH
        effectiveness = conductance / stream
        if effectiveness > _MOST_EFFECTIVE:
            remarks.append("a measured W/K is more than the coolant carries at that flow: it was taken as 98 % of it")
            effectiveness = _MOST_EFFECTIVE
        walls.append(math.log(-stream * math.log1p(-effectiveness)))
    if len(flows) == 1:
        remarks.append("one point only: the radiator's wall and air are taken to conduct alike at every flow")
    line = through([math.log(flow) for flow in flows], walls)
    return RadiatorCurve(flows[0], flows[-1], tuple(remarks), line)


@dataclass(frozen=True, eq=False)
class Temperatures:
    """°C of every node (nodes,), and of the coolant entering and leaving every link (links,); heat into the coolant
    in every link, W (radiators: below 0). ``lost_w`` is heat put in where nothing flows, which cannot be carried off.
    """

    node: Array
    inlet: Array
    outlet: Array
    heat: Array
    lost_w: float
    steady: bool


def temperatures(
    graph: Graph,
    flow: Array,
    capacity: float,
    heat: Array,
    radiators: Mapping[int, RadiatorCurve],
    room_c: float,
    air_c: Mapping[int, float] | None = None,
) -> Temperatures:
    """The steady temperatures of a network whose flows are known.

    At every node the streams mix; along a link ṁc (T_out - T_in) = heat - G (T_in - room). One linear set of
    equations, so that the balance closes to rounding. For a radiator the room is the air that it draws in. Where heat
    goes in but no radiator takes it out there is no steady state: ``steady`` is false and that part stays at room
    temperature.

    Args:
        graph: the links.
        flow: m³/s, (links,).
        capacity: ρc, J/(m³ K).
        heat: W put into the coolant in each link, (links,).
        radiators: the radiators among the links.
        room_c: °C of the air.
        air_c: °C of the air at radiators that draw in another than the room's, by link.
    """
    size = np.abs(flow)
    moving = size > STILL
    # Even a trickle is mixed in: what reaches a node must leave it. Heat, though, needs a flow to be carried off.
    stream = size * capacity
    source = np.where(moving, heat, 0.0)
    given = np.zeros(len(flow))
    for link, curve in radiators.items():
        if moving[link]:
            given[link] = curve.conductance(float(size[link]), capacity)
    parts = int(graph.component.max()) + 1 if graph.nodes else 0
    of_link = graph.component[graph.start]
    sink = np.bincount(of_link, given, parts)
    fed = np.bincount(of_link, source, parts)
    endless = (sink <= 0) & (fed > 0)
    if endless.any():
        source = np.where(endless[of_link], 0.0, source)
    source = source.copy()
    for link, air in (air_c or {}).items():
        source[link] += given[link] * (air - room_c)
    # A part of the network that meets no radiator has no temperature of its own: a trace of the room's holds it.
    trace = _MIXING * max(float(stream.max(initial=0.0)), 1e-3)
    tie = np.where(sink > 0, 0.0, trace)[graph.component]
    node = room_c + mixed(graph, flow, stream, given, source, tie)
    up = np.where(flow >= 0, graph.start, graph.end)
    inlet = node[up]
    added = source - given * (inlet - room_c)
    outlet = inlet + np.divide(added, stream, out=np.zeros_like(added), where=stream > 0)
    lost = float(heat[~moving].sum()) + float(heat[endless[of_link] & moving].sum())
    return Temperatures(node, inlet, outlet, added, lost, not endless.any())


def mixed(graph: Graph, flow: Array, stream: Array, given: Array, source: Array, tie: Array) -> Array:
    """What the streams mix to at every node, (nodes,): a temperature above the room's, or the strength of a dye.

    At a node: Σ stream (x_node - x_out) = 0 over what arrives, where along a link stream x_out = (stream - given) x_in
    + source. Every link also conducts a trace both ways, so that what stands takes after its neighbours.

    Args:
        graph: the links.
        flow: m³/s, (links,), for its direction.
        stream: heat stream per kelvin, or volume stream, (links,); 0 where nothing flows.
        given: what each link takes out per unit of x at its inlet.
        source: what each link puts in.
        tie: how strongly each node is held to 0, (nodes,).
    """
    nodes = graph.nodes
    up = np.where(flow >= 0, graph.start, graph.end)
    down = np.where(flow >= 0, graph.end, graph.start)
    trace = _MIXING * max(float(stream.max(initial=0.0)), 1e-12)
    diagonal = np.bincount(down, stream, nodes) + tie
    diagonal += trace * (np.bincount(graph.start, minlength=nodes) + np.bincount(graph.end, minlength=nodes))
    rows = np.concatenate([down, graph.start, graph.end, np.arange(nodes)])
    columns = np.concatenate([up, graph.end, graph.start, np.arange(nodes)])
    both = np.full(len(up), -trace)
    values = np.concatenate([given - stream, both, both, np.where(diagonal > 0, diagonal, 1.0)])
    right = np.bincount(down, source, nodes)
    if nodes >= _SPARSE_FROM:
        from scipy.sparse import csc_array
        from scipy.sparse.linalg import spsolve

        return np.asarray(spsolve(csc_array((values, (rows, columns)), shape=(nodes, nodes)), right))
    matrix = np.bincount(rows * nodes + columns, values, nodes * nodes).reshape(nodes, nodes)
    return np.asarray(np.linalg.solve(matrix, right))
