"""Which of the places that the readings allow: several starts, every meeting of a point's lines and circles, parts
turned over, and what the room says.

Least squares finds the nearest minimum. A distance survey has many: one for each side of each line on which a point may
lie. So the whole is solved from several first places; then every point is tried at every other meeting of its own lines
and circles, and every part that hangs on two points is turned over, until nothing gets better.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from sketcher.reference.quantiles import chi_square
from sketcher.survey.first_places import CAP, held_places, place
from sketcher.survey.hinges import turned_over
from sketcher.survey.leastsquares import Solution, solve_many
from sketcher.survey.loci import ROUGH, Circle, Line, Place, capped_costs, loci_of, meetings
from sketcher.survey.readings_network import Array, Network, Observation
from sketcher.survey.room import Room

#: A placement that fits worse than the best by less than this (squared spreads) is as good: a true place does so in
#: one case of two thousand (chi-square, one degree of freedom).
AS_GOOD = 12.0
#: Points of two placements farther apart than this are two places, mm.
APART = 1.0
#: A rough placement may fit worse than now by so much (capped squared spreads) and still be solved.
WORTH_TRYING = 40.0
#: A place is tried when no more of the point's own lines and circles than this miss it.
MOST_OFF = 2.0
#: So many points may follow one that is tried elsewhere.
MOST_FOLLOWERS = 3
#: At most so many new places are solved in one round, and so many rounds are made.
MOST_TRIED, MOST_ROUNDS = 10, 5
#: A start is given up when after so many steps it still fits worse than the best by this factor.
ROUGH_STEPS, HOPELESS = 6, 6.0
#: The readings as a whole agree when the sum of squares stays below this quantile of chi-square.
AGREE = 0.99


@dataclass(frozen=True)
class Fit:
    """A solution and what speaks against its places, see :class:`sketcher.survey.room.Room`."""

    solution: Solution
    doubt: float

    @property
    def rank(self) -> float:
        """Smaller is likelier: doubts weigh as much as a misfit that a right placement hardly has."""
        return self.solution.chi2 + AS_GOOD * self.doubt


def limit(degrees: int) -> float:
    """What the sum of squares stays below when readings and spreads agree."""
    return chi_square(AGREE, degrees) if degrees > 0 else 1e-6


def fit(network: Network, start: Array, room: Room) -> Fit:
    """The solution from a start, turned over where the readings allow it and the room asks for it."""
    return fits_from(network, [start], room)[0]


def fits_from(network: Network, starts: Sequence[Array], room: Room) -> list[Fit]:
    """The same from several starts; a solution that several lead to stands once for each."""
    if not starts:
        return []
    return [_turned(network, solution, room) for solution in solve_many(network, np.array(starts))]


def _turned(network: Network, solution: Solution, room: Room) -> Fit:
    found = Fit(solution, room.doubt(network, solution.state))
    # With a point held on the x axis only y can be turned over; without a datum in one of the axes either may be.
    axes = [name for name, axis in network.fixed if axis == "y" and (name, "x") not in network.fixed]
    forwards = bool(axes) and solution.state[2 * network.index(axes[0])] > 0.0
    for over in ((0, 1),) if forwards else ((1, 0), (0, 1), (1, 1)):
        if found.doubt == 0.0:
            break
        state = solution.state.copy()
        for axis in (0, 1):
            if over[axis]:
                state[axis : 2 * len(network.points) : 2] *= -1.0
        misfit = (network.values - network.predict(state)) / network.sigmas
        chi2 = float(misfit @ misfit)
        if chi2 <= solution.chi2 + 1e-6 * (1.0 + solution.chi2):
            doubt = room.doubt(network, state)
            if doubt < found.doubt:
                found = Fit(Solution(state, chi2, solution.converged), doubt)
    return found


def best_fits(network: Network, room: Room) -> list[Fit]:
    """Solutions from several starts, the likeliest first, each in a place of its own; never empty."""
    placed = place(network, room.guesses)
    least = min(candidate.cost for candidate in placed)
    enough = limit(max(len(network.observations) - len(network.free), 1))
    likely = [candidate.state for candidate in placed if candidate.cost <= least + AS_GOOD]
    fits = fits_from(network, likely, room)
    if not any(known.solution.chi2 <= enough for known in fits):
        rest = [candidate.state for candidate in placed if candidate.cost > least + AS_GOOD]
        fits += fits_from(network, rest, room)
    return improved(network, fits, room)


def improved(network: Network, fits: Sequence[Fit], room: Room) -> list[Fit]:
    """The fits with every other branch of the best one tried, until none is better; the likeliest first."""
    found = sorted(fits, key=lambda known: known.rank)
    done: list[Array] = []
    for _ in range(MOST_ROUNDS):
        best = found[0]
        if any(_same(network, best.solution.state, state) for state in done):
            break
        done.append(best.solution.state)
        starts = other_starts(network, best.solution.state)
        rough = solve_many(network, np.array(starts), ROUGH_STEPS) if starts else []
        most = HOPELESS * (best.solution.chi2 + len(network.observations))
        found += fits_from(network, [one.state for one in rough if one.chi2 < most], room)
        found.sort(key=lambda known: known.rank)
    distinct: list[Fit] = []
    for known in found:
        if not any(_same(network, known.solution.state, other.solution.state) for other in distinct):
            distinct.append(known)
    return distinct


def other_starts(network: Network, state: Array) -> list[Array]:
    """States worth solving from: one point at another meeting of its lines and circles, with the points that lean on
    it following; or one part turned over."""
    starts = [start for _, start in turned_over(network, state)]
    starts.extend(_through_walls(network, state))
    loci = _Loci(network)
    moved = []
    for name, start in _moved_points(network, loci, state):
        followed = _following(network, loci, start, name)
        moved.append((_misfit(network, start), start))
        if followed is not start:
            moved.append((_misfit(network, followed), followed))
    now = _misfit(network, state)
    moved = sorted((entry for entry in moved if entry[0] < now + WORTH_TRYING), key=lambda entry: entry[0])
    return [*starts, *(start for _, start in moved[:MOST_TRIED])]


def _through_walls(network: Network, state: Array) -> Iterator[Array]:
    """All points on one side of a wall turned over to its other side at once, ends of walls and held points aside."""
    count = len(network.points)
    walls = dict.fromkeys(o.wall for o in network.observations if o.kind == "offset" and o.wall)
    still = {name for wall in walls for name in wall} | {name for name, _ in network.fixed}
    free = np.array([name not in still for name in network.points])
    plane = state[: 2 * count].reshape(-1, 2)
    for a, b in walls:
        start, end = plane[network.index(a)], plane[network.index(b)]
        length = float(np.hypot(*(end - start)))
        if length < 1.0:
            continue
        normal = np.array([start[1] - end[1], end[0] - start[0]]) / length
        across = (plane - start) @ normal
        for side in (across > APART, across < -APART):
            moved = free & side
            if np.count_nonzero(moved) > 1:  # single points are tried at every meeting of their lines
                turned = state.copy()
                turned[: 2 * count] = np.where(moved[:, None], plane - 2 * across[:, None] * normal, plane).ravel()
                yield turned


class _Loci:
    """The lines and circles of each point of a network, given the other points' places."""

    def __init__(self, network: Network) -> None:
        self.held = held_places(network)
        self.still = [network.index(name) for name, place in self.held.items() if None not in place]
        self.touching: dict[str, list[Observation]] = {name: [] for name in network.points}
        self.touched = np.zeros((len(network.observations), len(network.points)), dtype=bool)
        for row, observation in enumerate(network.observations):
            for name in observation.all_points:
                self.touching[name].append(observation)
                self.touched[row, network.index(name)] = True

    def of(self, name: str, places: Mapping[str, Place]) -> list[Circle | Line]:
        return loci_of(name, places, self.touching[name], self.held)


def _meetings(loci: Sequence[Circle | Line], now: Place) -> list[Place]:
    """Where two of a point's lines and circles meet and most of them go through, each place once, without where the
    point is now."""
    met = meetings(loci)
    found: list[Place] = [now]
    for here, there in met[capped_costs(loci, met, CAP) <= MOST_OFF * CAP].tolist():
        if all(abs(here - x) >= APART or abs(there - y) >= APART for x, y in found):
            found.append((here, there))
    return found[1:]


def _places(network: Network, state: Array) -> dict[str, Place]:
    return {name: (float(state[2 * k]), float(state[2 * k + 1])) for k, name in enumerate(network.points)}


def _moved_points(network: Network, loci: _Loci, state: Array) -> Iterator[tuple[str, Array]]:
    """Each point at each other meeting of its loci that most of them go through."""
    places = _places(network, state)
    for k, name in enumerate(network.points):
        if None in loci.held.get(name, (None, None)):
            for spot in _meetings(loci.of(name, places), places[name]):
                start = state.copy()
                start[2 * k : 2 * k + 2] = spot
                yield name, _held_back(network, start)


def _following(network: Network, loci: _Loci, state: Array, moved: str) -> Array:
    """The state with points that lean on a moved one put where their own readings then want them."""
    settled = {moved}
    followed = state
    for _ in range(MOST_FOLLOWERS):
        miss = np.minimum(_misses(network, followed) ** 2, CAP)
        at = [network.index(name) for name in settled]
        joined = loci.touched[:, at].any(axis=1) & (miss > 1.0)
        blame = (loci.touched[joined] * miss[joined, None]).sum(axis=0)
        blame[[*at, *loci.still]] = 0.0
        number = int(np.argmax(blame))
        if blame[number] < 0.8 * CAP:
            break
        worst = network.points[number]
        settled.add(worst)
        places = _places(network, followed)
        own = loci.of(worst, places)
        spots = np.concatenate((followed[None, 2 * number : 2 * number + 2], meetings(own)))
        costs = capped_costs(own, spots, CAP)
        best = int(np.argmin(costs))
        if costs[best] < costs[0] - 1.0:
            followed = followed.copy()
            followed[2 * number : 2 * number + 2] = spots[best]
            followed = _held_back(network, followed)
    return followed


def _held_back(network: Network, state: Array) -> Array:
    """The state with the datum's coordinates where they are held."""
    for (name, axis), value in network.fixed.items():
        state[2 * network.index(name) + (axis == "y")] = value
    return state


def _misfit(network: Network, state: Array) -> float:
    """Misfit of a rough placement, no reading counting for more than the cap."""
    return float(np.minimum(_misses(network, state) ** 2, CAP).sum())


def _misses(network: Network, state: Array) -> Array:
    return (network.predict(state) - network.values) / np.maximum(network.sigmas, ROUGH)


def _same(network: Network, one: Array, other: Array) -> bool:
    plane = 2 * len(network.points)
    step = (one[:plane] - other[:plane]).reshape(-1, 2)
    return float(np.hypot(step[:, 0], step[:, 1]).max(initial=0.0)) <= APART


@dataclass(frozen=True)
class Mirror:
    """Points that could as well lie elsewhere: each with its other place, what decided, and the reading that
    would tell.

    ``decided_by`` is ``nothing``, ``first guess`` or ``walls`` (a point lies inside the floor's outline, an offset
    counts inwards, nothing lies in front of the front wall or left of the left one).
    """

    places: Mapping[str, Place]
    decided_by: str
    reading: Observation | None
    state: Array


def second_places(network: Network, best: Fit, fits: Sequence[Fit], room: Room, loose: Sequence[str]) -> list[Mirror]:
    """Where points could as well lie, given all fits tried; those that nothing decides first."""
    count = len(network.points)
    here = best.solution.state[: 2 * count].reshape(-1, 2)
    found: dict[tuple[str, ...], Mirror] = {}
    for other in fits:
        if other.solution.chi2 >= best.solution.chi2 + AS_GOOD:
            continue
        there = other.solution.state[: 2 * count].reshape(-1, 2)
        away = np.hypot(*(there - here).T)
        moved = [k for k in range(count) if network.points[k] not in loose and away[k] > APART]
        if not moved:
            continue
        names = tuple(network.points[k] for k in moved)
        decided = "nothing"
        if other.doubt - best.doubt > 0.01:
            decided = "first guess" if any(name in room.guesses for name in names) else "walls"
        if names not in found or (found[names].decided_by != "nothing" and decided == "nothing"):
            places = {name: (float(there[k, 0]), float(there[k, 1])) for name, k in zip(names, moved, strict=True)}
            found[names] = Mirror(places, decided, None, other.solution.state)
    return sorted(found.values(), key=lambda mirror: (mirror.decided_by != "nothing", len(mirror.places)))
