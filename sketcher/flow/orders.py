"""Which block comes first, radiators between or after: every order of the loop, compared.

In a loop in series the flow is the same whatever the order, and the temperatures follow from going round once. In a
network two devices that change places change the flow as well: there each exchange is solved anew.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sketcher.flow.network import STILL
from sketcher.flow.operating import operate
from sketcher.flow.plumbing import Plumbing
from sketcher.flow.result import FlowResult

#: With more devices than this only exchanges of two are compared: their orders would fill a book.
_MOST_PERMUTED = 5


@dataclass(frozen=True)
class Order:
    """One order of blocks and radiators along the flow, and how warm the water is where it enters each, °C."""

    order: tuple[str, ...]
    inlet_c: dict[str, float]
    present: bool

    def as_json(self, blocks: Sequence[str], now: Order) -> dict[str, object]:
        """Plain data, with each block's difference from the present order and the warmest block inlet."""
        return {
            "order": list(self.order),
            "inlet_c": self.inlet_c,
            "present": self.present,
            "warmest_block_c": max((self.inlet_c[id_] for id_ in blocks), default=None),
            "difference_k": {id_: self.inlet_c[id_] - now.inlet_c[id_] for id_ in blocks},
        }


def compare(result: FlowResult) -> list[dict[str, object]]:
    """Every order with its temperatures, the coolest for the blocks first; the present one is marked.

    Empty when nothing flows, when the heat has no way out, or when there is nothing to exchange.
    """
    places = _places(result)
    ids = [result.loop.elements[link].id for link in places]
    if len(ids) < 2 or not result.now.temperatures.steady or not result.now.settled:
        return []
    orders = list(_in_series(result, places) if _is_series(result, places) else _exchanged(result, places))
    blocks = sorted(id_ for link, id_ in zip(places, ids, strict=True) if link not in result.loop.radiators)
    now = next(order for order in orders if order.present)
    rows = [order.as_json(blocks, now) for order in orders]
    if blocks:
        rows.sort(key=lambda row: (row["warmest_block_c"], row["order"]))  # type: ignore[arg-type,return-value]
    return rows


def _places(result: FlowResult) -> list[int]:
    """Links of the blocks that give off heat and of the radiators, in the order of the flow from the pump on."""
    loop, flow = result.loop, result.now.flow
    wanted = {
        link
        for link, element in enumerate(loop.elements)
        if abs(flow[link]) > STILL and element.kind != "pump" and (loop.heat[link] > 0 or link in loop.radiators)
    }
    start = next((link for link in loop.pumps if abs(flow[link]) > STILL), None)
    if start is None:
        return []
    after: dict[int, list[int]] = {}
    for link in range(len(loop.elements)):
        if abs(flow[link]) > STILL:
            upstream = loop.graph.start[link] if flow[link] > 0 else loop.graph.end[link]
            after.setdefault(int(upstream), []).append(link)
    found, queue, seen = [], [start], {start}
    while queue:
        link = queue.pop(0)
        if link in wanted:
            found.append(link)
        downstream = loop.graph.end[link] if flow[link] > 0 else loop.graph.start[link]
        for following in after.get(int(downstream), []):
            if following not in seen:
                seen.add(following)
                queue.append(following)
    return found


def _is_series(result: FlowResult, places: Sequence[int]) -> bool:
    flows = np.abs(result.now.flow[list(places)])
    return bool(flows.max() - flows.min() <= 1e-6 * flows.max())


def _in_series(result: FlowResult, places: Sequence[int]) -> Iterator[Order]:
    """Orders of a ring: the device after the pump stays first, since turning the ring round changes nothing else."""
    loop, now = result.loop, result.now
    flow = float(abs(now.flow[places[0]]))
    stream, room = flow * now.capacity, loop.document.loop.room_c
    pump_k = sum(float(loop.heat[link]) for link in loop.pumps) / stream
    # Along one device T - room goes from x to keep·x + lift.
    keep, lift = {}, {}
    for link in places:
        radiator = loop.radiators.get(link)
        keep[link] = 1.0 - (radiator.conductance(flow, now.capacity) / stream if radiator else 0.0)
        lift[link] = float(loop.heat[link]) / stream
    for links in _arrangements(places):
        scale, shift = 1.0, pump_k
        for link in links:
            scale, shift = keep[link] * scale, keep[link] * shift + lift[link]
        x = shift / (1 - scale) + pump_k
        inlet = {}
        for link in links:
            inlet[loop.elements[link].id] = room + x
            x = keep[link] * x + lift[link]
        yield Order(tuple(loop.elements[link].id for link in links), inlet, list(links) == list(places))


def _arrangements(places: Sequence[int]) -> Iterator[tuple[int, ...]]:
    if len(places) <= _MOST_PERMUTED:
        for rest in itertools.permutations(places[1:]):
            yield (places[0], *rest)
        return
    yield tuple(places)
    for i, j in itertools.combinations(range(len(places)), 2):
        swapped = list(places)
        swapped[i], swapped[j] = swapped[j], swapped[i]
        yield tuple(swapped)


def _exchanged(result: FlowResult, places: Sequence[int]) -> Iterator[Order]:
    """A network's present order and every exchange of two devices; ``order`` names who sits where, in flow order."""
    loop = result.loop
    ids = [loop.elements[link].id for link in places]
    inlets = result.now.temperatures.inlet
    yield Order(tuple(ids), {id_: float(inlets[link]) for id_, link in zip(ids, places, strict=True)}, True)
    for i, j in itertools.combinations(range(len(places)), 2):
        held = list(places)
        held[i], held[j] = held[j], held[i]
        moved = dict(zip(places, held, strict=True))
        there = operate(exchanged(loop, moved), result.now)
        if not there.settled or not there.temperatures.steady:
            continue
        order = tuple(loop.elements[moved[link]].id for link in places)
        inlet = {id_: float(there.temperatures.inlet[link]) for id_, link in zip(order, places, strict=True)}
        yield Order(order, inlet, False)


def exchanged(loop: Plumbing, moved: Mapping[int, int]) -> Plumbing:
    """The loop with the devices at some links replaced by those of others: ``moved[link]`` comes to sit at ``link``."""
    first = len(loop.links.ducts)
    curves = list(loop.links.curves)
    heat = loop.heat.copy()
    radiators = {link: curve for link, curve in loop.radiators.items() if link not in moved}
    for link, other in moved.items():
        curves[link - first] = loop.links.curves[other - first]
        heat[link] = loop.heat[other]
        if other in loop.radiators:
            radiators[link] = loop.radiators[other]
    return replace(loop, links=loop.links.with_curves(curves), heat=heat, radiators=radiators)
