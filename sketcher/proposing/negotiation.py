"""Every course at once: nets that want the same place bid for it, round by round, until no two overlap.

Each net is laid by itself over the lattice. Where two overlap, the place becomes dearer for the next round, for good;
nets with another way give it up, and the one that needs it keeps it. The scheme is that of McMurchie and Ebeling,
PathFinder: A Negotiation-Based Performance-Driven Router for FPGAs, 1995.
"""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sketcher.geometry.path import Point
from sketcher.proposing.lattice import EIGHT, Floats, Ints, Lattice
from sketcher.proposing.rule_distances import Clearances

#: What a place costs that another net holds, in lengths of its own, in the first round and from round to round.
_FIRST_PRICE, _GROWTH = 1.0, 1.6
#: What is added for good to a place that two nets wanted.
_REMEMBERED = 0.6
#: How much dearer a place is where channels may run but a screw beyond the groove finds no room.
_TIGHT_PRICE = 1.5
#: The least angle between two channels that meet, in eighths of a turn.
_LEAST_MEETING = 2
#: Two ends nearer than this are in one place, mm.
_SAME_MM = 0.1


@dataclass(frozen=True)
class Leg:
    """One channel of a net over the lattice: its nodes, and the ports or the meeting at its two ends."""

    nodes: tuple[int, ...]
    start: str
    end: str


@dataclass(frozen=True)
class Net:
    """What is to be joined, with the width of its channels, mm.

    Attributes:
        parts: each the ports and branches that channels join already; a port alone that none reaches.
        width_mm: of the channels to be laid.
        channels: the net's own that are drawn already.
        leaving: by the end of a drawn channel, the directions in which such channels leave it, in eighths of a turn.
        beside: where no centreline may run for the channels that are drawn, away from their ends.
    """

    parts: tuple[tuple[str, ...], ...]
    width_mm: float
    channels: tuple[str, ...] = ()
    leaving: Mapping[str, frozenset[int]] = field(default_factory=dict)
    beside: BaseGeometry | None = None

    @property
    def ports(self) -> tuple[str, ...]:
        """One port of each part."""
        return tuple(part[0] for part in self.parts)

    @property
    def ends(self) -> tuple[str, ...]:
        """Every port and branch that a channel of the net may begin or end at."""
        return tuple(id_ for part in self.parts for id_ in part)

    @property
    def own(self) -> tuple[str, ...]:
        """Ids of all that the net's channels may touch."""
        return (*self.ends, *self.channels)


@dataclass
class Laid:
    """A net as it lies: its legs, the meetings (name and node), and what it covers."""

    legs: list[Leg] = field(default_factory=list)
    meetings: dict[str, int] = field(default_factory=dict)
    missing: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Prices:
    """What a course pays: mm of length for a turn of an eighth and of a quarter, and how much dearer a place is where
    one row of lid screws would have to hold two channels."""

    eighth_mm: float = 12.0
    quarter_mm: float = 30.0
    shared: float = 0.8

    @property
    def turns(self) -> tuple[float, float, float]:
        """By eighths of a turn: 0, 1, 2."""
        return (0.0, self.eighth_mm, self.quarter_mm)


class Ground:
    """The lattice with what stands on it: which edges each obstacle closes, and which are tight."""

    def __init__(self, lattice: Lattice, tight: Clearances, roomy: Clearances) -> None:
        self.lattice = lattice
        self.closed_by: dict[str, Ints] = {}
        closed = np.zeros(len(lattice.tails), dtype=np.intp)
        for obstacle, area in zip(tight.obstacles, tight.grown, strict=True):
            edges = lattice.touching(area)
            closed[edges] += 1
            before = self.closed_by.get(obstacle.id)
            self.closed_by[obstacle.id] = edges if before is None else np.concatenate([before, edges])
        self._outside = ~_covered(tight.inside, lattice)
        self._closed = closed
        self._narrow = ~_covered(roomy.inside, lattice)
        for area in roomy.grown:
            self._narrow[lattice.touching(area)] = True

    def costs(self, net: Net, through: Iterable[str] = ()) -> Floats:
        """The cost of each edge for a net: infinite where it may not run.

        Args:
            net: whose channels are to be laid.
            through: ids of obstacles that it may run through as well.
        """
        closed = self._closed.copy()
        if net.beside is not None:
            closed[self.lattice.touching(net.beside)] += 1
        for id_ in {*net.own, *through}:
            edges = self.closed_by.get(id_)
            if edges is not None:
                np.subtract.at(closed, edges, 1)
        found = self.lattice.lengths * np.where(self._narrow, _TIGHT_PRICE, 1.0)
        found[(closed > 0) | self._outside_for(net.ends)] = np.inf
        return found

    def _outside_for(self, own: Sequence[str]) -> NDArray[np.bool_]:
        """Edges too near the plate's edge; the stub that leaves a net's own port may be."""
        ends = [self.lattice.ends[id_] for id_ in own if id_ in self.lattice.ends]
        stub = np.isin(self.lattice.tails, ends) | np.isin(self.lattice.heads, ends)
        return self._outside & ~stub


def _covered(area: BaseGeometry, lattice: Lattice) -> NDArray[np.bool_]:
    shapely.prepare(area)
    return np.asarray(shapely.covers(area, lattice.lines), dtype=bool)


def negotiate(
    ground: Ground,
    nets: Sequence[Net],
    wall_mm: float,
    prices: Prices,
    *,
    seed: int = 0,
    rounds: int = 40,
    stop: Callable[[], bool] = lambda: False,
    factors: Callable[[int, Sequence[Laid]], Floats] | None = None,
    apart_mm: float = 0.0,
    shunned: Mapping[int, Floats] | None = None,
) -> tuple[list[Laid], bool]:
    """The nets laid over the ground, and whether all are joined with no two in each other's way.

    Args:
        ground: lattice and obstacles.
        nets: what is to be joined.
        wall_mm: wall between channels of two nets.
        prices: what turns cost.
        seed: of the order in which nets of one round are laid; the same seed gives the same answer.
        rounds: how often all nets may be laid anew.
        stop: asked between two nets; true ends the search with what there is.
        factors: by what each edge's length counts for a net, given how the others lie; all nets are then laid twice at
            least, so that each has seen the others.
        apart_mm: nets nearer to each other than this, between centrelines, share lid screws, which then pull twice.
        shunned: by the number of a net, by what each edge's length counts for it, so that it keeps off some of them.
    """
    chance = random.Random(seed)
    lattice = ground.lattice
    own_costs = [ground.costs(net) for net in nets]
    for n, times in (shunned or {}).items():
        own_costs[n] = own_costs[n] * times
    dearer = np.zeros(len(lattice.tails))
    nothing: Ints = np.array([], dtype=np.intp)
    held, shared = [nothing] * len(nets), [nothing] * len(nets)
    laid = [Laid(missing=list(net.ports[1:])) for net in nets]
    price = _FIRST_PRICE
    best: tuple[float, list[Laid]] | None = None
    for turn in range(rounds):
        order = list(range(len(nets)))
        chance.shuffle(order)
        for n in order:
            if stop():
                return (best[1] if best else laid), False
            others = np.zeros(len(lattice.tails))
            for m, edges in enumerate(held):
                if m != n:
                    others[edges] += 1
            costs = own_costs[n] * (1 + dearer) + lattice.lengths * price * others
            if apart_mm:
                both = np.zeros(len(lattice.tails), dtype=bool)
                for m, edges in enumerate(shared):
                    both[edges] |= m != n
                costs = costs + lattice.lengths * prices.shared * both
            if factors is not None:
                costs = costs * factors(n, laid)
            laid[n] = lay(lattice, nets[n], costs, prices, ground.closed_by)
            held[n] = _held_by(lattice, laid[n], nets, n, wall_mm)
            shared[n] = _within(lattice, laid[n], apart_mm) if apart_mm else nothing
        overlaps = _overlaps(lattice, laid, held)
        badness = float(sum(len(edges) for edges in overlaps)) + 1e6 * sum(len(one.missing) for one in laid)
        if best is None or badness < best[0]:
            best = (badness, list(laid))
        again = factors is not None or any(len(edges) for edges in _overlaps(lattice, laid, shared))
        if badness == 0 and (turn > 0 or not again):
            return laid, True
        if badness and not any(len(edges) for edges in overlaps):
            return laid, False  # nothing in the way but obstacles: more rounds change nothing
        for edges in overlaps:
            dearer[edges] += _REMEMBERED
        price *= _GROWTH
    assert best is not None
    return best[1], best[0] == 0


def _held_by(lattice: Lattice, laid: Laid, nets: Sequence[Net], n: int, wall_mm: float) -> Ints:
    """The edges that a net as it lies keeps the others from."""
    widest = max((net.width_mm for k, net in enumerate(nets) if k != n), default=nets[n].width_mm)
    return _within(lattice, laid, wall_mm + (nets[n].width_mm + widest) / 2)


def _within(lattice: Lattice, laid: Laid, reach: float) -> Ints:
    """The edges that come so near to a net as it lies."""
    if not laid.legs:
        return np.array([], dtype=np.intp)
    lines = shapely.MultiLineString([LineString(lattice.points(leg.nodes)) for leg in laid.legs])
    return lattice.touching(shapely.buffer(lines, reach, quad_segs=8))


def _overlaps(lattice: Lattice, laid: Sequence[Laid], held: Sequence[Ints]) -> list[Ints]:
    """For each net, the edges it runs on that another net holds."""
    found = []
    for n, one in enumerate(laid):
        runs = [lattice.edge_between(leg.nodes) for leg in one.legs]
        edges = np.concatenate(runs) if runs else np.array([], dtype=np.intp)
        taken = np.zeros(len(lattice.tails), dtype=bool)
        for m, others in enumerate(held):
            if m != n:
                taken[others] = True
        found.append(edges[taken[edges]])
    return found


def lay(lattice: Lattice, net: Net, costs: Floats, prices: Prices, about: Mapping[str, Ints]) -> Laid:
    """One net over the lattice: its ports joined one after another, each to what of the net lies nearest by cost.

    Args:
        lattice: to lay it over.
        net: what is to be joined.
        costs: of each edge, mm.
        prices: of turns.
        about: the edges about each port; a channel of the net runs there only when it ends at that port.
    """
    found = Laid()
    near = {id_: about[id_] for id_ in net.ends if id_ in about}
    joined = list(net.parts[0])
    waiting = list(net.parts[1:])
    while waiting:
        options = []
        for k, part in enumerate(waiting):
            starts = [lattice.ends[id_] for id_ in part]
            goals = _goals(lattice, net, found, joined, near)
            way = _past_ports(lattice, starts, goals, _leaving(lattice, net, part, costs), prices, near)
            # Two ends in one place are joined by nothing that could be drawn.
            if way is not None and math.dist(*lattice.points([way[0][0], way[0][-1]])) > _SAME_MM:
                options.append((way[1], k, way[0]))
        if not options:
            found.missing = [part[0] for part in waiting]
            return found
        _, k, nodes = min(options)
        _join(lattice, found, next(id_ for id_ in waiting[k] if lattice.ends[id_] == nodes[0]), nodes, joined)
        joined += waiting.pop(k)
    return found


def _leaving(lattice: Lattice, net: Net, part: Sequence[str], costs: Floats) -> Floats:
    """The costs, infinite too where a channel would leave an end of a part along one that is drawn there."""
    found = costs
    for id_ in part:
        if net.leaving.get(id_):
            allowed = _apart_from(net.leaving[id_])
            found = found.copy() if found is costs else found
            found[(lattice.tails == lattice.ends[id_]) & ~np.isin(lattice.directions, list(allowed))] = np.inf
    return found


def _apart_from(leaving: Iterable[int]) -> frozenset[int]:
    """Directions in which a channel may leave a meeting that others leave in these, in eighths of a turn."""
    return frozenset(
        d
        for d in range(EIGHT)
        if all(min((d - other) % EIGHT, (other - d) % EIGHT) >= _LEAST_MEETING for other in leaving)
    )


def _past_ports(
    lattice: Lattice,
    starts: Sequence[int],
    goals: Sequence[tuple[int, frozenset[int]]],
    costs: Floats,
    prices: Prices,
    near: Mapping[str, Ints],
) -> tuple[list[int], float] | None:
    """The cheapest way that runs past the net's own ports, but those at its ends; where there is none, the cheapest."""
    found = way = lattice.shortest(starts, goals, costs, prices.turns)
    shut: set[str] = set()
    while way is not None and len(way[0]) > 1:
        used = lattice.edge_between(way[0])
        ends = {way[0][0], way[0][-1]}
        met = {id_ for id_, edges in near.items() if lattice.ends[id_] not in ends and np.isin(used, edges).any()}
        if not met - shut:
            return way if not met else found
        shut |= met
        closed = costs.copy()
        closed[np.concatenate([near[id_] for id_ in sorted(shut)])] = np.inf
        way = lattice.shortest(starts, goals, closed, prices.turns)
    return found


def _goals(
    lattice: Lattice, net: Net, laid: Laid, joined: Sequence[str], near: Mapping[str, Ints]
) -> list[tuple[int, frozenset[int]]]:
    """Where a further part may join the net: at its ports and branches, and square to a leg along its way."""
    own = {lattice.ends[id_] for id_ in net.ends}
    beside = {int(node) for edges in near.values() for node in lattice.heads[edges]} - own
    headings: dict[int, set[int]] = {lattice.ends[id_]: set(net.leaving.get(id_, ())) for id_ in joined}
    along: dict[int, set[int]] = {}
    for leg in laid.legs:
        directions = lattice.directions[lattice.edge_between(leg.nodes)]
        for k, node in enumerate(leg.nodes):
            out = {int(directions[k])} if k < len(directions) else set()
            back = {int(directions[k - 1] + 4) % EIGHT} if k else set()
            (headings if node in headings else along).setdefault(node, set()).update(out | back)
    found = []
    for node, leaving in {**along, **headings}.items():
        if node in beside:
            continue
        # Arriving in direction d, the channel leaves the meeting in d + 4.
        allowed = frozenset((d + 4) % EIGHT for d in _apart_from(leaving))
        if allowed:
            found.append((node, frozenset() if len(allowed) == EIGHT else allowed))
    return found


def _join(lattice: Lattice, laid: Laid, id_: str, nodes: list[int], joined: Sequence[str]) -> None:
    """Adds the way from a port or branch to the net, and parts the leg it meets."""
    last = nodes[-1]
    names = {lattice.ends[name]: name for name in joined} | {node: name for name, node in laid.meetings.items()}
    if last not in names:
        index, leg = next((k, leg) for k, leg in enumerate(laid.legs) if last in leg.nodes)
        name = f"meeting-{len(laid.meetings) + 1}-{joined[0]}"
        laid.meetings[name] = last
        names[last] = name
        at = leg.nodes.index(last)
        laid.legs[index : index + 1] = [
            Leg(leg.nodes[: at + 1], leg.start, name),
            Leg(leg.nodes[at:], name, leg.end),
        ]
    laid.legs.append(Leg(tuple(nodes), id_, names[last]))


def places_of(lattice: Lattice, laid: Laid) -> dict[str, Point]:
    """The places of a net's meetings, mm."""
    return {name: lattice.points([node])[0] for name, node in laid.meetings.items()}
