"""A whole adjustment: places from nothing, the best fit, suspects out, loose and mirrored points named.

Pure numbers in, pure numbers out; ``fit.survey`` binds it to a document.
"""

from __future__ import annotations

import itertools
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from scipy.stats import chi2 as chi_square

from sketcher.survey import candidates
from sketcher.survey.ellipse import Ellipse, of_covariance
from sketcher.survey.first_places import OUTSIDE, Place, guess_doubt, place, scattered
from sketcher.survey.hinges import turned_over
from sketcher.survey.leastsquares import Precision, Solution, precision, solve
from sketcher.survey.readings_network import Array, Network, Observation
from sketcher.survey.snooping import CRITICAL, LEAST_REDUNDANCY, Snooped, snoop, standardised

#: The readings as a whole agree when the sum of squares stays below this quantile of chi-square.
AGREE = 0.99
#: A placement that fits worse than the best by less than this (squared spreads) is as good.
AS_GOOD = 9.0
#: Points of two placements farther apart than this are two places, mm.
APART = 1.0
#: Random starts for a network that cannot be built up point by point.
STARTS = 12


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
class Mirror:
    """Points that could as well lie elsewhere: each with its other place, what decided, and the reading that
    would tell.

    ``decided_by`` is ``nothing``, ``first guess`` or ``walls`` (no point lies in front of the front wall or
    left of the left).
    """

    places: Mapping[str, Place]
    decided_by: str
    reading: Observation | None


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

    @property
    def agrees(self) -> bool:
        """Whether the readings in use agree with each other within their spreads."""
        return self.chi2 <= self.limit

    @property
    def suspects(self) -> tuple[Checked, ...]:
        """The readings left out."""
        return tuple(reading for reading in self.readings if reading.suspect)

    def point(self, name: str) -> Point:
        """The point of that name."""
        return self.points[self.network.index(name)]


def adjust(
    network: Network,
    guesses: Mapping[str, Place] | None = None,
    *,
    advice_sigma: float = 0.3,
    critical: float = CRITICAL,
) -> Adjustment:
    """Adjust a network.

    Args:
        network: points, readings, datum.
        guesses: first places, where the user has some; they only decide between mirrored places.
        advice_sigma: spread of the readings proposed against loose and mirrored points.
        critical: Baarda's critical value for a suspect.
    """
    guesses = guesses or {}
    best, others = _best_fit(network, guesses)
    snooped = _snoop(network, best, guesses, critical)
    state, prec = snooped.solution.state, snooped.precision
    loose = _loose_points(snooped.network, prec)
    left = candidates.readings_left(snooped.network, state, advice_sigma)
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
        limit=_limit(prec.degrees),
        loose=loose,
        to_hold=tuple(candidates.holding(snooped.network, state, prec.loose, left)),
        mirrors=_mirrors(network, best, others, guesses, loose, left),
        overwhelmed=snooped.overwhelmed,
    )


def _limit(degrees: int) -> float:
    return float(chi_square.ppf(AGREE, degrees)) if degrees > 0 else 1e-6


@dataclass(frozen=True)
class _Fit:
    solution: Solution
    doubt: float


def _best_fit(network: Network, guesses: Mapping[str, Place]) -> tuple[_Fit, list[_Fit]]:
    """The best solution, and the others that fit as well."""
    placed = place(network, guesses)
    least = min(candidate.cost for candidate in placed)
    fits: list[_Fit] = []
    for candidate in placed:
        if candidate.cost > least + AS_GOOD and any(_fits(network, fit.solution) for fit in fits):
            continue
        fits.append(_fit(network, candidate.state, guesses))
    fits = _sorted(fits)
    seen: set[tuple[str, ...]] = set()
    turning = True
    while turning:  # a part turned over may be the likelier one, and be turned over further from there
        turning = False
        for names, start in turned_over(network, fits[0].solution.state):
            if names not in seen:
                seen.add(names)
                fit = _fit(network, start, guesses)
                turning = turning or _rank(fit) < _rank(fits[0]) - 1e-3
                fits.append(fit)
        fits = _sorted(fits)
    best = fits[0]
    return best, [fit for fit in fits[1:] if fit.solution.chi2 < best.solution.chi2 + AS_GOOD]


def _rank(fit: _Fit) -> float:
    return fit.solution.chi2 + AS_GOOD * fit.doubt


def _sorted(fits: list[_Fit]) -> list[_Fit]:
    return sorted(fits, key=_rank)


def _fit(network: Network, start: Array, guesses: Mapping[str, Place]) -> _Fit:
    """The solution from a start, turned over where the readings allow it and the user's frame asks for it."""
    solution = solve(network, start)
    fit = _Fit(solution, _doubt(network, solution.state, guesses))
    for over in ((1, 0), (0, 1), (1, 1)):
        if fit.doubt == 0.0:
            break
        state = _turned_over(network, solution.state, over)
        misfit = (network.values - network.predict(state)) / network.sigmas
        chi2 = float(misfit @ misfit)
        if chi2 <= solution.chi2 + 1e-6 * (1.0 + solution.chi2):
            doubt = _doubt(network, state, guesses)
            if doubt < fit.doubt:
                fit = _Fit(Solution(state, chi2, solution.converged), doubt)
    return fit


def _turned_over(network: Network, state: Array, axes: tuple[int, int]) -> Array:
    """The whole survey mirrored in x, in y, or both, about the origin."""
    turned = state.copy()
    for axis in (0, 1):
        if axes[axis]:
            turned[axis : 2 * len(network.points) : 2] *= -1.0
    return turned


def _doubt(network: Network, state: Array, guesses: Mapping[str, Place]) -> float:
    """How much speaks against a placement that the readings allow: see ``placement.Candidate``."""
    doubt = 0.0
    for number, name in enumerate(network.points):
        x, y = state[2 * number : 2 * number + 2]
        if name in guesses:
            doubt += guess_doubt((float(x), float(y)), guesses[name])
        elif min(x, y) < -OUTSIDE:
            doubt += 1.0
        if x < 0.0 and (name, "y") in network.fixed and (name, "x") not in network.fixed:
            doubt += 1000.0  # the point that gives the x axis its direction lies on it, not behind the origin
    return doubt


def _fits(network: Network, solution: Solution) -> bool:
    return solution.chi2 <= _limit(max(len(network.observations) - len(network.free), 1))


def _snoop(network: Network, best: _Fit, guesses: Mapping[str, Place], critical: float) -> Snooped:
    """Data snooping from the best fit; and, when a reading is so wrong that it spoils the fit, from the fit
    without those that the first placement cannot believe."""
    first = snoop(network, best.solution, critical)
    if not first.suspects and not first.rivals and not first.overwhelmed:
        return first
    prec = first.precision
    if not first.overwhelmed and len(first.suspects) <= 1 and first.solution.chi2 <= _limit(prec.degrees):
        return first
    tries = [first]
    trimmed = _trimmed(network, guesses, critical)
    if trimmed is not None:
        tries.append(trimmed)
    if all(other.solution.chi2 > _limit(other.precision.degrees) for other in tries):
        for start in scattered(network, best.solution.state, STARTS):
            fit = _fit(network, start, guesses)
            if _rank(fit) < _rank(best) - 1.0:
                best = fit
                tries.append(snoop(network, fit.solution, critical))
    return min(tries, key=_blame)


def _blame(snooped: Snooped) -> tuple[bool, int, float]:
    return (snooped.overwhelmed or bool(snooped.rivals), len(snooped.suspects), snooped.solution.chi2)


def _trimmed(network: Network, guesses: Mapping[str, Place], critical: float) -> Snooped | None:
    """Leave out what the placement cannot believe, fit the rest, and take back what then agrees."""
    start = place(network, guesses)[0].state
    miss = np.abs(network.predict(start) - network.values) / np.maximum(network.sigmas, 2.0)
    out = [int(k) for k in np.argsort(-miss)[: max(1, len(miss) // 4)] if miss[k] > 5.0]
    for _ in range(len(out) + 1):
        if not out:
            return None
        smaller = network.without(out)
        count = 2 * len(network.points)
        columns = [*range(count), *(count + network.scalars.index(s) for s in smaller.scalars)]
        solution = solve(smaller, start[columns])
        prec = precision(smaller, solution.state)
        if len(smaller.scalars) != len(network.scalars):
            return None
        again = [k for k in out if _agrees_again(smaller, network.observations[k], solution.state, prec, critical)]
        if not again:
            inner = snoop(smaller, solution, critical)
            kept = [k for k in range(len(network.observations)) if k not in set(out)]
            return Snooped(
                tuple(kept[k] for k in inner.kept),
                (*out, *(kept[k] for k in inner.suspects)),
                tuple(tuple(kept[k] for k in group) for group in inner.rivals),
                inner.network,
                inner.solution,
                inner.precision,
                inner.overwhelmed,
            )
        out = [k for k in out if k not in again]
        start = solution.state
    return None


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


def _agrees_again(network: Network, reading: Observation, state: Array, prec: Precision, critical: float) -> bool:
    predicted, spread = _left_out(network, reading, state, prec)
    return abs(predicted - reading.value) < critical * float(np.hypot(reading.sigma, spread))


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


def _mirrors(
    network: Network,
    best: _Fit,
    others: list[_Fit],
    guesses: Mapping[str, Place],
    loose: tuple[str, ...],
    left: list[Observation],
) -> tuple[Mirror, ...]:
    count = len(network.points)
    here = best.solution.state[: 2 * count].reshape(-1, 2)
    found: dict[tuple[str, ...], Mirror] = {}
    for other in others:
        there = other.solution.state[: 2 * count].reshape(-1, 2)
        moved = [
            k for k in range(count) if network.points[k] not in loose and float(np.hypot(*(there[k] - here[k]))) > APART
        ]
        if not moved:
            continue
        names = tuple(network.points[k] for k in moved)
        if other.doubt - best.doubt > 0.01:
            by_guess = any(name in guesses for name in names)
            decided = "first guess" if by_guess else "walls"
        else:
            decided = "nothing"
        if names not in found or (found[names].decided_by != "nothing" and decided == "nothing"):
            found[names] = Mirror(
                {name: (float(there[k, 0]), float(there[k, 1])) for name, k in zip(names, moved, strict=True)},
                decided,
                candidates.telling_apart(network, best.solution.state, other.solution.state, left),
            )
    return tuple(sorted(found.values(), key=lambda mirror: (mirror.decided_by != "nothing", len(mirror.places))))
