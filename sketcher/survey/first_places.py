"""First places for the points of a network, built up reading by reading, with the mirrored alternatives kept.

A point two circles away from placed ones can lie on either side of their line. Instead of choosing once and for good,
a handful of unfinished placements is carried along side by side and the worst are dropped, so that a later reading can
still speak for the other side. Costs are capped: one wrong reading cannot outvote several right ones.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from sketcher.survey.loci import Circle, Line, Place, capped_costs, loci_of, meetings, pieces_of
from sketcher.survey.readings_network import Array, Network, Observation

#: At most this many unfinished placements are carried along.
WIDTH = 16
#: A reading that fits badly costs no more than this (in squared spreads).
CAP = 25.0
#: A placement this much worse than the best is dropped.
DROP = 60.0
#: Beyond the front or the left wall by more than this a point speaks against a placement, mm.
OUTSIDE = 2.0


@dataclass(frozen=True)
class Candidate:
    """One complete placement. ``cost`` is how badly readings fit; ``doubt`` counts against it only when costs
    are equal: far from the user's first guess, or in front of the front wall, or left of the left one."""

    state: Array
    cost: float
    doubt: float


@dataclass(frozen=True)
class _Partial:
    places: dict[str, Place]
    cost: float
    doubt: float


def place(network: Network, guesses: Mapping[str, Place] | None = None) -> list[Candidate]:
    """Complete placements, the most likely first; never empty."""
    guesses = guesses or {}
    held = held_places(network)
    base = None if _joined(network, held) else _base(network)
    if base is None:
        first = {name: (x, y) for name, (x, y) in held.items() if x is not None and y is not None}
    else:
        # Nothing joins the origin to the x axis: build on the best pair, and turn the whole into its frame afterwards.
        one, other, length = base
        first, held, guesses = {one: (0.0, 0.0), other: (length, 0.0)}, {}, {}
    touching: dict[str, list[Observation]] = {name: [] for name in network.points}
    for observation in network.observations:
        for name in observation.all_points:
            touching[name].append(observation)
    beam = [_Partial(first, 0.0, 0.0)]
    for _ in network.points:
        grown = [new for partial in beam for new in _grow(network, partial, touching, held, guesses)]
        grown.sort(key=lambda partial: partial.cost + partial.doubt)
        beam = _distinct(grown)
    if base is not None:
        beam = [_Partial(_into_frame(network, partial.places), partial.cost, 0.0) for partial in beam]
    finished = [Candidate(network.state(partial.places), partial.cost, partial.doubt) for partial in beam]
    return sorted(finished, key=lambda candidate: candidate.cost + candidate.doubt)


def _joined(network: Network, held: Mapping[str, tuple[float | None, float | None]]) -> bool:
    """Whether readings join the datum's points, or give coordinates, so that building can begin at the origin."""
    return (
        len(held) != 2
        or any(o.kind in ("x", "y") for o in network.observations)
        or any(set(held) <= set(o.all_points) for o in network.observations if o.kind in ("distance", "along"))
    )


def _base(network: Network) -> tuple[str, str, float] | None:
    """The pair with a distance between them that most other readings touch."""
    count = dict.fromkeys(network.points, 0)
    for observation in network.observations:
        for name in observation.all_points:
            count[name] += 1
    pairs = [o for o in network.observations if o.kind == "distance"]
    if not pairs:
        return None
    best = max(pairs, key=lambda o: (min(count[o.points[0]], count[o.points[1]]), o.value))
    return (*best.points, best.value)  # type: ignore[return-value]


def _into_frame(network: Network, places: Mapping[str, Place]) -> dict[str, Place]:
    """The places moved and turned so that the origin and the x axis lie where the datum has them."""
    origin = next(name for name in network.points if (name, "x") in network.fixed)
    axis = next(name for name in network.points if (name, "y") in network.fixed and name != origin)
    (ox, oy), (ax, ay) = places[origin], places[axis]
    length = math.hypot(ax - ox, ay - oy) or 1.0
    ux, uy = (ax - ox) / length, (ay - oy) / length
    return {name: (ux * (x - ox) + uy * (y - oy), -uy * (x - ox) + ux * (y - oy)) for name, (x, y) in places.items()}


def scattered(network: Network, start: Array, number: int, seed: int = 1) -> list[Array]:
    """Random starts about a placement, for networks that could not be built up point by point. The same every time."""
    generator = np.random.default_rng(seed)
    spread = max(float(np.median(network.values)) if len(network.values) else 100.0, 1.0)
    starts = []
    for _ in range(number):
        state = start.copy()
        plane = network.free[network.free < 2 * len(network.points)]
        state[plane] += generator.normal(0.0, spread / 2, len(plane))
        starts.append(state)
    return starts


def held_places(network: Network) -> dict[str, tuple[float | None, float | None]]:
    """The coordinates that the datum holds, by point: x and y, each a number or None."""
    held: dict[str, tuple[float | None, float | None]] = {}
    for (name, axis), value in network.fixed.items():
        x, y = held.get(name, (None, None))
        held[name] = (value, y) if axis == "x" else (x, value)
    return held


def _distinct(partials: list[_Partial]) -> list[_Partial]:
    best = partials[0].cost + partials[0].doubt
    kept: list[_Partial] = []
    for partial in partials:
        if partial.cost + partial.doubt > best + DROP or len(kept) == WIDTH:
            break
        if not any(
            other.places.keys() == partial.places.keys()
            and all(math.dist(other.places[name], partial.places[name]) < 1e-6 for name in partial.places)
            for other in kept
        ):
            kept.append(partial)
    return kept


def _grow(
    network: Network,
    partial: _Partial,
    touching: Mapping[str, list[Observation]],
    held: Mapping[str, tuple[float | None, float | None]],
    guesses: Mapping[str, Place],
) -> list[_Partial]:
    """The partial placement with its best-held missing point added, once for each likely side."""
    missing = [name for name in network.points if name not in partial.places]
    if not missing:
        return [partial]
    loci = {name: loci_of(name, partial.places, touching[name], held) for name in missing}
    name = max(missing, key=lambda point: (len(loci[point]), -missing.index(point)))
    places = _choices(loci[name], guesses.get(name), partial.places)
    if held.get(name, (0.0, 0.0))[0] is None:  # it gives the x axis its direction, so it lies right of the origin
        places = [(abs(x), y) for x, y in places]
    costs = capped_costs(loci[name], places, CAP).tolist()
    grown = sorted(zip(costs, places, strict=True), key=lambda entry: entry[0])
    least = grown[0][0]
    return [
        _Partial({**partial.places, name: place}, partial.cost + cost, partial.doubt + _doubt(place, guesses.get(name)))
        for cost, place in grown[:4]
        if cost <= least + DROP
    ]


def _doubt(place: Place, guess: Place | None) -> float:
    if guess is not None:
        return guess_doubt(place, guess)
    return 1.0 if min(place) < -OUTSIDE else 0.0


def guess_doubt(place: Place, guess: Place) -> float:
    """Doubt from 0, at the user's first guess, to 1, at 150 mm from it and beyond."""
    return min((math.dist(place, guess) / 150.0) ** 2, 1.0)


def _choices(loci: list[Circle | Line], guess: Place | None, places: Mapping[str, Place]) -> list[Place]:
    """Where a point may lie: the meetings of its loci, or a place on its one locus, or anywhere."""
    if len(met := meetings(loci)):
        return [(x, y) for x, y in met.tolist()]
    target = guess or _somewhere(places)
    return [_nearest(piece, target) for piece in pieces_of(loci)] or [target]


def _somewhere(places: Mapping[str, Place]) -> Place:
    """A place off every line through the placed points, behind and right of them."""
    reach = max((max(abs(x), abs(y)) for x, y in places.values()), default=100.0) or 100.0
    return (0.37 * reach + 11.0 * len(places), 0.61 * reach + 7.0 * len(places))


def _nearest(piece: Circle | Line, target: Place) -> Place:
    if isinstance(piece, Line):
        off = piece.nx * target[0] + piece.ny * target[1] - piece.c
        return (target[0] - off * piece.nx, target[1] - off * piece.ny)
    dx, dy = target[0] - piece.x, target[1] - piece.y
    length = math.hypot(dx, dy) or 1.0
    return (piece.x + piece.radius * dx / length, piece.y + piece.radius * dy / length)
