"""A whole adjustment: places from nothing, the best fit, suspects out, loose and mirrored points named.

Pure numbers in, pure numbers out; ``survey.adjusted`` binds it to a document.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sketcher.survey import candidates
from sketcher.survey.branches import AS_GOOD, Fit, Mirror, best_fits, fit, fits_from, improved, limit, second_places
from sketcher.survey.deciding import Decision, deciding
from sketcher.survey.ellipse import Ellipse, of_covariance
from sketcher.survey.first_places import place, scattered
from sketcher.survey.leastsquares import Precision, precision
from sketcher.survey.readings_network import Array, Network, Observation
from sketcher.survey.room import Room
from sketcher.survey.snooping import CRITICAL, FEW, LEAST_REDUNDANCY, Explanation, Snooped, agrees, snoop, standardised

#: Random starts about each of the two best fits, for a network that may not have been built up rightly.
STARTS = 4


@dataclass(frozen=True)
class Point:
    """An adjusted point, mm. ``loose``: no reading holds it, in at least one direction; its place is a guess there."""

    id: str
    x: float
    y: float
    covariance: Array
    loose: bool

    @property
    def sigma_x(self) -> float:
        """Spread along x."""
        return float(np.sqrt(max(self.covariance[0, 0], 0.0)))

    @property
    def sigma_y(self) -> float:
        """Spread along y."""
        return float(np.sqrt(max(self.covariance[1, 1], 0.0)))

    @property
    def ellipse(self) -> Ellipse:
        """The standard error ellipse."""
        return of_covariance(self.covariance)


@dataclass(frozen=True)
class Checked:
    """What the adjustment says of one reading.

    ``residual`` is adjusted less measured. ``standardised`` is None where nothing checks the reading.
    ``suspect`` readings are left out of the fit, ``rival`` ones are not: one of their group is wrong, but it
    cannot be said which.
    """

    observation: Observation
    adjusted: float
    residual: float
    standardised: float | None
    redundancy: float
    suspect: bool
    rival: bool
    spread: float


@dataclass(frozen=True)
class Rival:
    """One of several readings of which one is wrong: what it would read if it were this one, the others being right."""

    observation: Observation
    if_wrong: float
    spread: float


@dataclass(frozen=True)
class Adjustment:
    """The adjusted network. ``degrees`` counts surplus readings among those in use; ``chi2`` is their sum of
    squares and ``limit`` what it stays below when readings and spreads agree."""

    network: Network
    used: Network
    state: Array
    precision: Precision
    points: tuple[Point, ...]
    readings: tuple[Checked, ...]
    rivals: tuple[tuple[str, ...], ...]
    degrees: int
    chi2: float
    limit: float
    loose: tuple[str, ...]
    to_hold: tuple[Observation, ...]
    mirrors: tuple[Mirror, ...]
    overwhelmed: bool
    if_wrong: tuple[Rival, ...] = ()
    explained: tuple[Explanation, ...] = ()
    possible: tuple[Observation, ...] = ()

    @property
    def agrees(self) -> bool:
        """Whether the readings in use agree with each other within their spreads."""
        return self.chi2 <= self.limit and not self.rivals and not self.overwhelmed

    @property
    def suspects(self) -> tuple[Checked, ...]:
        """The readings left out."""
        return tuple(reading for reading in self.readings if reading.suspect)

    def decides(self, slips: Collection[str] = ()) -> Decision | None:
        """The further reading that tells rivals apart; ``slips``: ids of rivals that a known slip would explain."""
        return deciding(self.network, self.explained, self.possible, slips) if self.rivals else None

    def point(self, name: str) -> Point:
        """The point of that name."""
        return self.points[self.network.index(name)]


def adjust(
    network: Network,
    room: Room | None = None,
    *,
    advice_sigma: float = 0.3,
    critical: float = CRITICAL,
) -> Adjustment:
    """Adjust a network.

    Args:
        network: points, readings, datum.
        room: first places and the floor's corners, where the user named them; they decide between mirrored places.
        advice_sigma: spread of the readings proposed against loose and mirrored points.
        critical: Baarda's critical value for a suspect.
    """
    room = room or Room()
    fits = best_fits(network, room)
    loose = _loose_points(network, precision(network, fits[0].solution.state))
    if loose:
        room = replace(room, loose=frozenset(loose))
        fits = sorted((Fit(f.solution, room.doubt(network, f.solution.state)) for f in fits), key=lambda f: f.rank)
    snooped, fits = _snooped(network, fits, room, critical)
    best = fits[0]
    state, prec = snooped.solution.state, snooped.precision
    loose = _loose_points(snooped.network, prec)
    left = candidates.readings_left(snooped.network, state, advice_sigma)
    # Where readings contradict each other the places are a compromise, and so are second ones.
    muddled = bool(snooped.rivals) or snooped.overwhelmed
    mirrors = [] if muddled else second_places(snooped.network, best, fits[1:], room, loose)
    explained = _placed(snooped, room)
    by_hand = candidates.by_hand(snooped.network, left, state)
    return Adjustment(
        network=network,
        used=snooped.network,
        state=state,
        precision=prec,
        points=tuple(
            Point(
                name,
                float(state[2 * k]),
                float(state[2 * k + 1]),
                prec.covariance[2 * k : 2 * k + 2, 2 * k : 2 * k + 2],
                name in loose,
            )
            for k, name in enumerate(network.points)
        ),
        readings=_check_readings(network, snooped),
        rivals=tuple(tuple(network.observations[k].id for k in group) for group in snooped.rivals),
        degrees=prec.degrees,
        chi2=snooped.solution.chi2,
        limit=limit(prec.degrees),
        loose=loose,
        to_hold=tuple(candidates.holding(snooped.network, state, prec.loose, by_hand)),
        mirrors=tuple(
            replace(mirror, reading=candidates.telling_apart(snooped.network, state, mirror.state, by_hand))
            for mirror in mirrors
        ),
        overwhelmed=snooped.overwhelmed,
        if_wrong=_if_wrong(network, explained, snooped.rivals),
        explained=tuple(explained),
        possible=tuple(by_hand),
    )


def _snooped(network: Network, fits: list[Fit], room: Room, critical: float) -> tuple[Snooped, list[Fit]]:
    """Data snooping from the best fit, and every branch of what is then in use, the best first."""
    best = fits[0]
    prec = precision(network, best.solution.state)
    if agrees(network, best.solution, prec, critical):
        return snoop(network, best.solution, critical), fits
    if len(network.observations) - len(network.free) <= FEW:
        started = [start for known in fits[:2] for start in scattered(network, known.solution.state, STARTS)]
        fits = improved(network, [*fits, *fits_from(network, started, room)], room)
    best = fits[0]
    starts = [known.solution.state for known in fits[1:6]]
    snooped = snoop(network, best.solution, critical, starts, _from_nothing)
    if not snooped.suspects:
        return snooped, fits
    smaller = snooped.network
    first = fit(smaller, snooped.solution.state, room)
    fits = improved(smaller, [first, *best_fits(smaller, room)], room)
    state = fits[0].solution.state
    return replace(snooped, solution=fits[0].solution, precision=precision(smaller, state)), fits


def _from_nothing(network: Network) -> list[Array]:
    return [candidate.state for candidate in place(network)[:3]]


def _placed(snooped: Snooped, room: Room) -> list[Explanation]:
    """What each rival explanation would mean, in the place that the room allows."""
    if not snooped.rivals:
        return []
    placed = []
    for known in snooped.explanations:
        here = fit(known.network, known.solution.state, room)
        if here.doubt == 0.0:  # the room has nothing against it as it is
            placed.append(replace(known, solution=here.solution))
            continue
        found = sorted([here, *best_fits(known.network, room)], key=lambda f: f.rank)
        near = [other for other in found if other.solution.chi2 <= known.solution.chi2 + AS_GOOD]
        placed.append(replace(known, solution=near[0].solution) if near else known)
    return placed


def _if_wrong(network: Network, explained: Sequence[Explanation], rivals: Sequence[Sequence[int]]) -> tuple[Rival, ...]:
    found: dict[int, Rival] = {}
    asked = set(itertools.chain.from_iterable(rivals))
    for known in explained:
        prec = precision(known.network, known.solution.state)
        for number in known.wrong:
            if number in asked and number not in found:
                reading = network.observations[number]
                found[number] = Rival(reading, *_left_out(known.network, reading, known.solution.state, prec))
    return tuple(found[number] for number in sorted(found))


def _left_out(network: Network, reading: Observation, state: Array, prec: Precision) -> tuple[float, float]:
    """Prediction of a reading that is not in use, and the prediction's spread: infinite where nothing holds it."""
    if reading.kind in ("diameter", "height"):
        if (reading.kind, reading.points[0]) not in network.scalars:
            return reading.value, float("inf")
        column = 2 * len(network.points) + network.scalars.index((reading.kind, reading.points[0]))
        return float(state[column]), float(np.sqrt(prec.covariance[column, column]))
    predicted, g = candidates.derivatives(network, [reading], state)
    if prec.loose.shape[1] and float(np.linalg.norm(g[0] @ prec.loose)) > 1e-3:
        return float(predicted[0]), float("inf")
    return float(predicted[0]), float(np.sqrt(max(g[0] @ prec.covariance @ g[0], 0.0)))


def _check_readings(network: Network, snooped: Snooped) -> tuple[Checked, ...]:
    w = standardised(snooped.network, snooped.solution.state, snooped.precision)
    position = {number: k for k, number in enumerate(snooped.kept)}
    rivals = set(itertools.chain.from_iterable(snooped.rivals))
    checked = []
    for number, observation in enumerate(network.observations):
        if number in position:
            k = position[number]
            redundancy = float(snooped.precision.redundancy[k])
            adjusted = float(snooped.precision.predicted[k])
            checked.append(
                Checked(
                    observation,
                    adjusted,
                    adjusted - observation.value,
                    float(w[k]) if redundancy > LEAST_REDUNDANCY else None,
                    redundancy,
                    suspect=False,
                    rival=number in rivals,
                    spread=observation.sigma * float(np.sqrt(1.0 - redundancy)),
                )
            )
        else:
            predicted, spread = _left_out(snooped.network, observation, snooped.solution.state, snooped.precision)
            total = float(np.hypot(observation.sigma, spread))
            checked.append(
                Checked(
                    observation,
                    predicted,
                    predicted - observation.value,
                    (predicted - observation.value) / total,
                    observation.sigma**2 / total**2,
                    suspect=True,
                    rival=False,
                    spread=spread,
                )
            )
    return tuple(checked)


def _loose_points(network: Network, prec: Precision) -> tuple[str, ...]:
    if prec.loose.shape[1] == 0:
        return ()
    reach = np.linalg.norm(prec.loose[: 2 * len(network.points)].reshape(len(network.points), -1), axis=1)
    return tuple(name for name, size in zip(network.points, reach, strict=True) if size > 1e-3)
