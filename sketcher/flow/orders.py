"""Which block comes first, radiators between or after: the orders of the loop, compared.

In a loop in series the flow is the same whatever the order, and the temperatures follow from going round once, in
closed form: up to eight devices every order is worked out, beyond that the best is searched for. In a network two
devices that change places change the flow as well: the exchanges that promise most are solved again, nine at most.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sketcher.flow.curves import CheckValve
from sketcher.flow.described import flow_order, in_one_ring, term_of, words
from sketcher.flow.heat import Temperatures
from sketcher.flow.network import STILL
from sketcher.flow.operating import operate
from sketcher.flow.plumbing import Plumbing
from sketcher.flow.result import FlowResult

Array = NDArray[np.float64]
#: Up to so many devices in series every order is worked out: 40,320.
MOST_PERMUTED = 8
#: A network's exchanges that are solved again.
MOST_SOLVED = 9
#: Orders that are listed.
_MOST_LISTED = 24
#: Orders whose temperatures differ by less than this are one, K.
_SAME_K = 1e-6
#: Exchanges that change no temperature by this much are not listed, K.
_DIFFERS_K = 1e-3
_MOST_PASSES = 30


@dataclass(frozen=True)
class Order:
    """One order of blocks and radiators along the flow, in words, and the coolant entering and leaving each, °C."""

    order: tuple[str, ...]
    words: str
    inlet_c: dict[str, float]
    outlet_c: dict[str, float]
    present: bool

    def as_json(self, blocks: Sequence[str], now: Order) -> dict[str, object]:
        """Plain data, with each block's difference from the present order and the warmest block inlet."""
        return {
            "order": list(self.order),
            "words": self.words,
            "inlet_c": self.inlet_c,
            "outlet_c": self.outlet_c,
            "present": self.present,
            "warmest_block_c": max((self.inlet_c[id_] for id_ in blocks), default=None),
            "warmest_outlet_c": max((self.outlet_c[id_] for id_ in blocks), default=None),
            "difference_k": {id_: self.inlet_c[id_] - now.inlet_c[id_] for id_ in blocks},
        }


@dataclass(frozen=True)
class Comparison:
    """The orders, the coolest for the blocks first, and how they were found.

    Attributes:
        rows: as plain data; the present one is marked.
        compared: how many orders were worked out.
        exact: whether these are all there are, so that the first is the best.
        words: that, in a sentence.
    """

    rows: list[dict[str, object]]
    compared: int
    exact: bool
    words: str


def compare(result: FlowResult) -> list[dict[str, object]]:
    """The rows of ``compared`` alone."""
    return compared(result).rows


def compared(result: FlowResult) -> Comparison:
    """The orders with their temperatures, the coolest for the blocks first.

    Empty when nothing flows, when the heat has no way out, or when there is nothing to exchange.
    """
    places = _places(result)
    if len(places) < 2 or not result.now.temperatures.steady or not result.now.settled:
        return Comparison([], 0, True, "There is nothing to exchange.")
    if in_one_ring(result.loop, result.now, places):
        orders, count, exact, sentence = _in_series(result, places)
    else:
        orders, count, exact, sentence = _exchanged(result, places)
    elements, radiators = result.loop.elements, result.loop.radiators
    blocks = sorted(elements[link].id for link in places if link not in radiators)
    now = next(order for order in orders if order.present)
    rows = [order.as_json(blocks, now) for order in orders]
    if blocks:
        rows.sort(key=_coolest_first)
    return Comparison(rows, count, exact, sentence)


def _coolest_first(row: dict[str, object]) -> tuple[Any, ...]:
    """Rows whose blocks' coolant is alike to a microkelvin are alike; then the present one stands first."""
    warmest, outlet = (round(float(row[key]), 6) for key in ("warmest_block_c", "warmest_outlet_c"))  # type: ignore[arg-type]
    return warmest, outlet, not row["present"], row["order"]


def _places(result: FlowResult) -> list[int]:
    """Links of the blocks that give off heat and of the radiators, in the order of the flow from the pump on."""
    loop, flow = result.loop, result.now.flow
    wanted = {
        link
        for link, element in enumerate(loop.elements)
        if abs(flow[link]) > STILL and element.kind != "pump" and (loop.heat[link] > 0 or link in loop.radiators)
    }
    return flow_order(loop, result.now, wanted)


# In series ---------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, eq=False)
class Stations:
    """The devices of a ring: along one, the coolant's x above the room goes to keep·x + lift; between the place i and
    the next it rises by ``gap[i]`` (a pump). All (n,), in the present order."""

    keep: Array
    lift: Array
    gap: Array
    blocks: NDArray[np.bool_]

    def inlets(self, orders: NDArray[np.intp]) -> Array:
        """x at the inlet of each place, (m, n), for orders (m, n) of which device stands at which place."""
        scale, shift = np.ones(len(orders)), np.zeros(len(orders))
        for i in range(orders.shape[1]):
            keep = self.keep[orders[:, i]]
            scale, shift = keep * scale, keep * shift + self.lift[orders[:, i]] + self.gap[i]
        x = shift / (1 - scale)
        found = np.empty(orders.shape)
        for i in range(orders.shape[1]):
            found[:, i] = x
            x = self.keep[orders[:, i]] * x + self.lift[orders[:, i]] + self.gap[i]
        return found

    def costs(self, orders: NDArray[np.intp]) -> Array:
        """The warmest inlet of a block, (m,); of anything where there is none. Ties go to the lower mean."""
        inlets = self.inlets(orders)
        blocks = self.blocks[orders] if self.blocks.any() else np.ones(orders.shape, dtype=bool)
        warmest = np.where(blocks, inlets, -np.inf).max(axis=1)
        mean = np.where(blocks, inlets, 0.0).sum(axis=1) / blocks.sum(axis=1)
        return np.asarray(warmest + 1e-9 * mean)


def stations(result: FlowResult, places: Sequence[int]) -> Stations:
    """The ring's devices; with these its present order has the temperatures that the loop has now."""
    loop, now = result.loop, result.now
    room, found = loop.document.loop.room_c, now.temperatures
    keep, lift = np.ones(len(places)), np.zeros(len(places))
    for i, link in enumerate(places):
        flow = abs(float(now.flow[link]))
        stream = flow * now.capacity
        radiator = loop.radiators.get(link)
        lift[i] = float(loop.heat[link]) / stream
        if radiator is not None:
            given = radiator.conductance(flow, now.capacity) / stream
            keep[i] -= given
            lift[i] += given * (loop.air_c.get(link, room) - room)
    following = [*places[1:], places[0]]
    gap = np.array([found.inlet[b] - found.outlet[a] for a, b in zip(places, following, strict=True)])
    return Stations(keep, lift, gap, np.array([link not in loop.radiators for link in places]))


@lru_cache(maxsize=4)
def _permutations(count: int) -> NDArray[np.intp]:
    return np.array(list(itertools.permutations(range(count))), dtype=np.intp)


def _in_series(result: FlowResult, places: Sequence[int]) -> tuple[list[Order], int, bool, str]:
    loop, room = result.loop, result.loop.document.loop.room_c
    ring, count = stations(result, places), len(places)
    exact = count <= MOST_PERMUTED
    if exact:
        candidates = _permutations(count)
        costs = ring.costs(candidates)
        looked_at = len(candidates)
        best = candidates[np.argsort(costs, kind="stable")[: 20 * _MOST_LISTED]]
    else:
        best, looked_at = searched(ring)
    present = np.arange(count, dtype=np.intp)
    listed = np.vstack([present, best])
    inlets = ring.inlets(listed)
    orders: list[Order] = []
    seen: set[tuple[Any, ...]] = set()
    for row, x in zip(listed, inlets, strict=True):
        ids = tuple(loop.elements[places[i]].id for i in row)
        # Turned round, or with two alike exchanged, it is the same loop.
        what = sorted(
            (round(float(value) / _SAME_K / 10), ring.keep[i], ring.lift[i]) for i, value in zip(row, x, strict=True)
        )
        if tuple(what) in seen or len(orders) > _MOST_LISTED:
            continue
        seen.add(tuple(what))
        inlet = {id_: room + float(value) for id_, value in zip(ids, x, strict=True)}
        leaves = ring.keep[row] * x + ring.lift[row]
        outlet = {id_: room + float(value) for id_, value in zip(ids, leaves, strict=True)}
        orders.append(Order(ids, " → ".join(ids), inlet, outlet, not orders))
    if exact:
        sentence = f"All {looked_at} orders of {count} devices were worked out; the first is the coolest there is."
    else:
        sentence = f"{count} devices have too many orders: {looked_at} were tried, and a better one may exist."
    return orders, looked_at, exact, sentence


def searched(ring: Stations) -> tuple[NDArray[np.intp], int]:
    """The best orders found by exchanging two or moving one, from the present order and from two sorted ones.

    Each pass works out every exchange and every move at once and takes the best, until none helps. No guarantee.
    """
    count = len(ring.keep)
    heat = ring.lift
    starts = [
        np.arange(count),
        np.array(sorted(range(count), key=lambda i: (not ring.blocks[i], -heat[i]))),
        np.array(sorted(range(count), key=lambda i: (ring.blocks[i], heat[i]))),
    ]
    found, looked_at = [], 0
    for start in starts:
        order, cost = start, float(ring.costs(start[None, :])[0])
        for _ in range(_MOST_PASSES):
            tried = _neighbours(order)
            costs = ring.costs(tried)
            looked_at += len(tried)
            at = int(np.argmin(costs))
            if costs[at] >= cost - _SAME_K:
                break
            order, cost = tried[at], float(costs[at])
        found.append((cost, order))
    found.sort(key=lambda pair: pair[0])
    return np.array([order for _, order in found], dtype=np.intp), looked_at


def _neighbours(order: NDArray[np.intp]) -> NDArray[np.intp]:
    """Every exchange of two, and, for short rings, every move of one to another place."""
    count = len(order)
    pairs = list(itertools.combinations(range(count), 2))
    swapped = np.repeat(order[None, :], len(pairs), axis=0)
    first, second = np.array(pairs).T
    rows = np.arange(len(pairs))
    swapped[rows, first], swapped[rows, second] = order[second], order[first]
    if count > 30:
        return swapped
    moved = [np.insert(np.delete(order, i), j, order[i]) for i in range(count) for j in range(count) if abs(i - j) > 1]
    return np.vstack([swapped, np.array(moved)])


# In a network -------------------------------------------------------------------------------------------------------


def _exchanged(result: FlowResult, places: Sequence[int]) -> tuple[list[Order], int, bool, str]:
    """A network's present order and the exchanges that promise most; ``order`` names what stands where."""
    loop = result.loop
    term = term_of(loop, result.now, places)

    def order_of(moved: Mapping[int, int], found: Temperatures, present: bool) -> Order:
        names = {link: loop.elements[moved[link]].id for link in places}
        ids = tuple(names[link] for link in places)
        said = words(term, names) if term is not None else ", ".join(ids) + " (joined crosswise)"
        inlet, outlet = ({names[link]: float(of[link]) for link in places} for of in (found.inlet, found.outlet))
        return Order(ids, said, inlet, outlet, present)

    present = {link: link for link in places}
    orders = [order_of(present, result.now.temperatures, True)]
    pairs = _promising(result, places)
    for i, j in pairs[:MOST_SOLVED]:
        moved = {**present, i: j, j: i}
        there = operate(exchanged(loop, moved), result.now)
        if not there.settled or not there.temperatures.steady:
            continue
        found = order_of(moved, there.temperatures, False)
        same = all(
            abs(there_c[id_] - here_c[id_]) < _DIFFERS_K
            for there_c, here_c in ((found.inlet_c, orders[0].inlet_c), (found.outlet_c, orders[0].outlet_c))
            for id_ in here_c
        )
        if not same:
            orders.append(found)
    solved = min(len(pairs), MOST_SOLVED)
    if not pairs:
        return orders, 1, True, "No exchange of two devices makes a difference."
    sentence = f"{solved} of {len(pairs)} exchanges of two devices were solved again; longer chains were not tried."
    return orders, solved + 1, False, sentence


def _promising(result: FlowResult, places: Sequence[int]) -> list[tuple[int, int]]:
    """Pairs whose exchange changes something, those first between whose places the coolant differs most in warmth and
    whose heat differs most."""
    loop, now = result.loop, result.now
    first = len(loop.links.ducts)
    inlet, heat = now.temperatures.inlet, now.temperatures.heat
    found = []
    for i, j in itertools.combinations(places, 2):
        alike = loop.links.curves[i - first] == loop.links.curves[j - first] and loop.heat[i] == loop.heat[j]
        if alike and loop.radiators.get(i) == loop.radiators.get(j) and loop.air_c.get(i) == loop.air_c.get(j):
            continue
        warmth, watts = abs(float(inlet[i] - inlet[j])), abs(float(heat[i] - heat[j]))
        flows = abs(abs(float(now.flow[i])) - abs(float(now.flow[j])))
        found.append((-(warmth * watts), -flows * watts, i, j))
    return [(i, j) for _, _, i, j in sorted(found)]


def exchanged(loop: Plumbing, moved: Mapping[int, int]) -> Plumbing:
    """The loop with the devices at some links replaced by those of others: ``moved[link]`` comes to sit at ``link``."""
    first = len(loop.links.ducts)
    curves = list(loop.links.curves)
    heat = loop.heat.copy()
    radiators = {link: curve for link, curve in loop.radiators.items() if link not in moved}
    air_c = {link: air for link, air in loop.air_c.items() if link not in moved}
    for link, other in moved.items():
        curves[link - first] = loop.links.curves[other - first]
        heat[link] = loop.heat[other]
        if other in loop.radiators:
            radiators[link] = loop.radiators[other]
        if other in loop.air_c:
            air_c[link] = loop.air_c[other]
    valves = frozenset(
        link for link in range(first, len(loop.elements)) if isinstance(curves[link - first], CheckValve)
    )
    return replace(
        loop, links=loop.links.with_curves(curves), heat=heat, radiators=radiators, air_c=air_c, valves=valves
    )
