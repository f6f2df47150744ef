"""The operating point: flows, tee losses and temperatures, until all of them agree. SI units and °C."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sketcher.flow.heat import Temperatures, temperatures
from sketcher.flow.junctions import add_losses
from sketcher.flow.network import STILL, solve
from sketcher.flow.plumbing import Plumbing
from sketcher.flow.settling import Mixer

Array = NDArray[np.float64]

#: A first guess at every flow, m³/s: 3 l/min.
_GUESS = 5e-5
#: Settled when a round changes no flow by more than this part of the largest, and no temperature by more than this, K
#: (for each 10 K above the room).
_FLOW_SETTLED, _KELVIN_SETTLED = 1e-8, 1e-6
_MOST_ROUNDS = 100
#: Rounds that tees may take to agree with their flows.
_TEES_TAKE = 60
#: Flows are settled to a part of the largest, but of this at least, m³/s: rounding does not shrink with the flow.
_LEAST_FLOW = 1e-5
#: A temperature difference that is large, K: the measure of temperatures beside losses.
_HOT = 100.0


@dataclass(frozen=True, eq=False)
class Operation:
    """What the loop does.

    Attributes:
        flow: m³/s of every link, along its drawn direction.
        drop: Pa lost along every link; below 0 in a pump.
        viscosity: Pa s in every way.
        celsius: the coolant's mean temperature in every way.
        mean_c: the loop's mean, weighted by volume.
        density, capacity: kg/m³ and ρc, J/(m³ K), at the mean.
        sources: the part of ``drop`` that belongs to tees, Pa.
        temperatures: at every node and link.
        rounds: how many times flows and temperatures were worked out in turn.
        settled: whether they agree.
        unsure: by how much a tee's loss still differs from what its flows ask for, Pa: above 0 where a tee swings
            between two ways to divide and the mean of its swing was taken.
    """

    flow: Array
    drop: Array
    viscosity: Array
    celsius: Array
    mean_c: float
    density: float
    capacity: float
    sources: Array
    temperatures: Temperatures
    rounds: int
    settled: bool
    unsure: float = 0.0


def operate(loop: Plumbing, start: Operation | None = None, isothermal: bool = False) -> Operation:
    """The operating point of a loop.

    Flows are sought at given viscosities and tee losses; then temperatures from the flows, viscosities from those, tee
    losses from the flows; until a round changes nothing.

    Args:
        loop: the network.
        start: an earlier result of a like loop, to start from.
        isothermal: keep the temperatures of ``start`` (the room's without it).
    """
    links, ways = len(loop.elements), len(loop.links.ducts)
    room = loop.document.loop.room_c
    driven = any(pump.curve.known and pump.speed > 0 for pump in loop.pumps.values())
    if start is None or len(start.flow) != links or len(start.celsius) != ways or not start.settled:
        flow, sources = np.full(links, _GUESS), np.zeros(links)
        celsius, mean = np.full(ways, room), room
    else:
        flow, sources, celsius, mean = start.flow, start.sources, start.celsius, start.mean_c
    if not driven:
        flow, sources = np.zeros(links), np.zeros(links)
    scale = max([1.0, *(pump.curve.shut_off * pump.speed**2 for pump in loop.pumps.values())])
    tee_nodes = np.array(loop.tee_nodes, dtype=np.intp)
    mixer, accuracy, rounds, swings = Mixer(), 1e-4, 0, []
    while True:
        rounds += 1
        density, capacity, viscosity = _properties(loop, mean, celsius)
        before, drop, converged = flow, np.zeros(links), True
        if driven:
            solution = solve(loop.graph, loop.links.law(density, viscosity, sources), flow, accuracy)
            flow, drop, converged = solution.flow, solution.loss, solution.converged
        found = temperatures(loop.graph, flow, capacity, loop.heat, loop.radiators, room, loop.air_c)
        wanted_c = celsius if isothermal else (found.inlet[:ways] + found.outlet[:ways]) / 2
        wanted_sources = sources
        if loop.tees and driven:
            at_tees = loop.coolant.viscosity(np.full(len(tee_nodes), mean) if isothermal else found.node[tee_nodes])
            wanted_sources = add_losses(loop.tees, flow, density, at_tees)
            swings.append(wanted_sources)
        unsure = 0.0
        if rounds >= _TEES_TAKE and swings:
            # A tee in a ring of almost no resistance may have no balance: its mean holds from here on.
            unsure = float(np.abs(wanted_sources - sources).max())
            wanted_sources = sources
        if rounds == _TEES_TAKE - 1 and swings:
            wanted_sources = np.mean(swings[-_TEES_TAKE // 2 :], axis=0)
            mixer = Mixer()
        change = max(
            float(np.abs(flow - before).max(initial=0.0)) / max(float(np.abs(flow).max(initial=0.0)), _LEAST_FLOW),
            float(np.abs(wanted_sources - sources).max(initial=0.0)) / scale,
        )
        # Ways that stand do not change the flow, and what they take after is known to a microkelvin only.
        warming = float(np.abs(wanted_c - celsius).max(initial=0.0, where=np.abs(flow[:ways]) > STILL))
        # Where a trickle meets a hot block the water is thousands of degrees on paper, and its rounding grows with it.
        warmest = max(1.0, float(np.abs(found.node - room).max(initial=0.0)) / 10)
        settled = converged and change <= _FLOW_SETTLED and warming <= _KELVIN_SETTLED * warmest
        if settled or rounds == _MOST_ROUNDS:
            return Operation(
                flow, drop, viscosity, celsius, mean, density, capacity, sources, found, rounds, settled, unsure
            )
        mixed = mixer.next(
            np.concatenate([celsius / _HOT, sources / scale]), np.concatenate([wanted_c / _HOT, wanted_sources / scale])
        )
        celsius, sources = mixed[:ways] * _HOT, mixed[ways:] * scale
        if not isothermal:
            mean = _mean(loop, flow, celsius, room)
        accuracy = min(accuracy, max(1e-11, 0.01 * change))


#: What a refined operating point is settled to: a step of Newton's as small as this leaves its square, and a warming as
#: small as this a thousandth of it.
_STEP_SETTLED, _WARMING_SETTLED = 1e-7, 1e-5
_MOST_REFINED = 6


def refined(loop: Plumbing, start: Operation) -> Operation | None:
    """The operating point from that of a like loop that differs a little: one step of Newton's a round, with
    temperatures and tee losses brought up to date between them.

    Losses are worked out once a round, where ``operate`` does so for every round's own search: a third of the work,
    for an answer that is good to 1e-7 of the largest flow and to a ten-thousandth of a kelvin.

    Returns:
        None where it does not settle within a few rounds; then ``operate`` is to be asked.
    """
    links, ways, room = len(loop.elements), len(loop.links.ducts), loop.document.loop.room_c
    if len(start.flow) != links or len(start.celsius) != ways or not start.settled or start.unsure:
        return None
    if not any(pump.curve.known and pump.speed > 0 for pump in loop.pumps.values()):
        return None
    flow, sources, celsius, mean = start.flow, start.sources, start.celsius, start.mean_c
    scale = max([1.0, *(pump.curve.shut_off * pump.speed**2 for pump in loop.pumps.values())])
    tee_nodes, pressure = np.array(loop.tee_nodes, dtype=np.intp), np.zeros(loop.graph.nodes)
    for rounds in range(1, _MOST_REFINED + 1):
        density, capacity, viscosity = _properties(loop, mean, celsius)
        loss, slope = loop.links.law(density, viscosity, sources)(flow)
        move, pressure = loop.graph.newton(flow, loss, slope, pressure)
        flow = flow + move
        found = temperatures(loop.graph, flow, capacity, loop.heat, loop.radiators, room, loop.air_c)
        wanted_c, wanted_sources = (found.inlet[:ways] + found.outlet[:ways]) / 2, sources
        if loop.tees:
            at_tees = loop.coolant.viscosity(found.node[tee_nodes])
            wanted_sources = add_losses(loop.tees, flow, density, at_tees)
        largest = max(float(np.abs(flow).max(initial=0.0)), _LEAST_FLOW)
        step = float(np.abs(move).max(initial=0.0)) / largest
        tees = float(np.abs(wanted_sources - sources).max(initial=0.0)) / scale
        warming = float(np.abs(wanted_c - celsius).max(initial=0.0, where=np.abs(flow[:ways]) > STILL))
        warmest = max(1.0, float(np.abs(found.node - room).max(initial=0.0)) / 10)
        if not np.isfinite(step):
            return None
        if step <= _STEP_SETTLED and tees <= _FLOW_SETTLED and warming <= _WARMING_SETTLED * warmest:
            drop = loss + slope * move
            return Operation(flow, drop, viscosity, celsius, mean, density, capacity, sources, found, rounds, True)
        celsius, sources = wanted_c, wanted_sources
        mean = _mean(loop, flow, celsius, room)
    return None


def _properties(loop: Plumbing, mean: float, celsius: Array) -> tuple[float, float, Array]:
    density = float(loop.coolant.density(mean))
    return density, density * float(loop.coolant.heat_capacity(mean)), loop.coolant.viscosity(celsius)


def _mean(loop: Plumbing, flow: Array, celsius: Array, room: float) -> float:
    """Mean temperature of the ways that flow, by volume."""
    ways = len(celsius)
    weight = np.where(np.abs(flow[:ways]) > STILL, loop.links.ducts.volume, 0.0)
    total = float(weight.sum())
    return float(weight @ celsius) / total if total > 0 else room
