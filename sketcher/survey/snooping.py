"""Which reading is wrong, believed only when nothing else explains the contradiction.

Baarda's test (A testing procedure for use in geodetic networks, 1968; Ghilani, Adjustment Computations, chapter 21)
says whether the readings contradict each other: with the tools' spreads known, ``w = v / (sigma sqrt(r))`` of a right
reading is a standard normal number, where v is the residual and r the reading's redundancy.

Which one is wrong is another question, and a slip of centimetres is far outside what linear equations answer. So every
reading, then every likely pair and so on, is really left out and the rest solved again from several starts: an
*explanation* stands when the rest agrees. A reading is excluded only when every explanation that fits nearly as well as
the best names it; readings named by some of them are *rivals*: one of them is wrong, and none is left out. A reading is
never excluded when nothing would check the rest or when points would hang loose without it, and never more than a
third of the surplus.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sketcher.reference.quantiles import chi_square
from sketcher.survey.leastsquares import Precision, Solution, precision, solve_many
from sketcher.survey.readings_network import Array, Network

#: Two-sided, one right reading in a thousand passes it by chance (Baarda's usual choice).
CRITICAL = 3.29
#: Below this share nothing checks a reading, and its w is not formed.
LEAST_REDUNDANCY = 0.01
#: Rivals: another explanation fits nearly as well. Difference of the sums of squares; half of it is the logarithm
#: of the likelihood ratio, 1 to 90 here.
RIVAL = 9.0
#: An explanation stands when the sum of squares stays below this quantile of chi-square.
STANDS = 0.999
#: No explanation has more wrong readings than this; it is tried from so many of the best smaller ones.
MOST_WRONG, WIDTH = 4, 8
#: So many single readings are really left out where there is redundancy enough to tell them apart.
FIRST_TRIED = 12
#: With this redundancy or less the rest is also placed again from nothing: there most readings are rivals, and a
#: far slip leads the solution into another branch.
FEW = 8

#: So many explanations are placed again from nothing where there is more redundancy and none stands, and where there
#: is little.
FROM_NOTHING, MOST_FROM_NOTHING = 5, 30
#: Two readings are tried in all pairs where there are no more of them than this (21 readings).
ALL_PAIRS = 210
#: Starts of each explanation, and steps from each of them before the best is solved to the end.
STARTS, ROUGH_STEPS = 3, 8
#: What one reading counts at most (squared spreads) where the likeliest starts are looked for.
FAR_OFF = 400.0

Search = Callable[[Network], Sequence[Array]]


@dataclass(frozen=True)
class Explanation:
    """The rest agrees, or not, when the readings of these numbers are wrong."""

    wrong: tuple[int, ...]
    network: Network
    solution: Solution


@dataclass(frozen=True)
class Snooped:
    """What is left after the suspects are out.

    ``kept`` are the numbers of the readings in use; ``suspects`` those excluded; ``rivals`` groups of readings of which
    one is wrong but which cannot be told apart (they stay in use), and ``explanations`` what each of them would mean.
    ``solution`` and ``precision`` belong to the readings in use. ``overwhelmed``: too many disagree to single any out.
    """

    kept: tuple[int, ...]
    suspects: tuple[int, ...]
    rivals: tuple[tuple[int, ...], ...]
    network: Network
    solution: Solution
    precision: Precision
    overwhelmed: bool
    explanations: tuple[Explanation, ...] = ()


def standardised(network: Network, state: Array, prec: Precision) -> Array:
    """w of every reading in use; NaN where nothing checks it. Sign as the residual: adjusted less measured."""
    residual = prec.predicted - network.values
    root = np.sqrt(prec.redundancy)
    checked = prec.redundancy > LEAST_REDUNDANCY
    w = np.full(len(residual), np.nan)
    w[checked] = residual[checked] / (network.sigmas[checked] * root[checked])
    return w


def agrees(network: Network, solution: Solution, prec: Precision, critical: float = CRITICAL) -> bool:
    """Whether no reading contradicts the others."""
    if prec.degrees < 1:  # a triangle that does not close leaves a misfit without any surplus
        return solution.chi2 <= critical**2
    w = standardised(network, solution.state, prec)
    return float(np.nan_to_num(np.abs(w), nan=0.0).max(initial=0.0)) <= critical


def snoop(
    network: Network,
    solution: Solution,
    critical: float = CRITICAL,
    starts: Sequence[Array] = (),
    search: Search | None = None,
) -> Snooped:
    """Find the wrong readings of a network.

    Args:
        network: points and readings.
        solution: the best solution with all readings.
        critical: Baarda's critical value.
        starts: further states to solve from.
        search: gives states to start from for a smaller network, from nothing; None starts from the others alone.
    """
    everything = tuple(range(len(network.observations)))
    prec = precision(network, solution.state)
    if agrees(network, solution, prec, critical):
        return Snooped(everything, (), (), network, solution, prec, overwhelmed=False)
    surplus = len(network.observations) - len(network.free)
    pool = _pool(network, solution, starts)
    found = _explanations(network, pool, search, critical, max(1, surplus // 3))
    if not found:
        return Snooped(everything, (), (), network, solution, prec, overwhelmed=True)
    certain = set.intersection(*(set(known.wrong) for known in found))
    left = precision(found[0].network, found[0].solution.state)
    # Nothing would check the rest; or something would hang loose without it, and then nothing had checked it either.
    if left.degrees < 1 or left.loose.shape[1] > prec.loose.shape[1]:
        certain = set()
    rivals = tuple(sorted(set(itertools.chain.from_iterable(known.wrong for known in found)) - certain))
    kept = tuple(k for k in everything if k not in certain)
    if certain:
        best = found[0]
        smaller = network.without(certain)
        if rivals:
            (rest,) = _explained(network, [tuple(sorted(certain))], pool)
            solution = rest.solution
        else:
            solution = best.solution
        network, prec = smaller, precision(smaller, solution.state)
    return Snooped(
        kept, tuple(sorted(certain)), (rivals,) if rivals else (), network, solution, prec, False, tuple(found)
    )


def _explanations(
    network: Network, pool: list[Array], search: Search | None, critical: float, most: int
) -> list[Explanation]:
    """Every explanation with the fewest wrong readings that fits nearly as well as the best; none when none stands."""
    beam: list[tuple[int, ...]] = [()]
    for size in range(1, min(most, MOST_WRONG) + 1):
        tried: dict[tuple[int, ...], None] = {}
        for base in beam:
            for number in _likely(network, base, pool, first=size == 1):
                wrong = tuple(sorted({*base, number}))
                if len(wrong) == size:
                    tried[wrong] = None
        if size == 2:
            pairs = list(itertools.combinations(range(len(network.observations)), 2))
            tried.update(dict.fromkeys(pairs if len(pairs) <= ALL_PAIRS else _likely_pairs(network, pool)))
        ordered = sorted(_explained(network, list(tried), pool), key=lambda known: known.solution.chi2)
        few = len(network.observations) - len(network.free) <= FEW
        if search is not None and ordered and (few or not _stands(ordered[0], critical)):
            again = ordered[: MOST_FROM_NOTHING if few else FROM_NOTHING]
            ordered = sorted(
                (*_searched(network, again, search), *ordered[len(again) :]), key=lambda known: known.solution.chi2
            )
        if ordered and _stands(ordered[0], critical):
            return [known for known in ordered if known.solution.chi2 < ordered[0].solution.chi2 + RIVAL]
        beam = [known.wrong for known in ordered[:WIDTH]]
    return []


def _stands(known: Explanation, critical: float) -> bool:
    prec = precision(known.network, known.solution.state)
    if prec.degrees < 1:
        return known.solution.chi2 <= critical**2
    within = known.solution.chi2 <= chi_square(STANDS, prec.degrees)
    return within and agrees(known.network, known.solution, prec, critical)


def _explained(network: Network, tried: Sequence[tuple[int, ...]], pool: Sequence[Array]) -> list[Explanation]:
    """What is left when each of these sets of readings is left out, solved from its likeliest states."""
    if not tried:
        return []
    states = np.array(pool)
    sigmas = _left_out(network, tried)
    miss = (network.predict(states) - network.values)[None, :, :] / sigmas[:, None, :]
    likeliest = np.argsort(np.minimum(miss**2, FAR_OFF).sum(axis=2), axis=1, kind="stable")[:, :STARTS]
    solved = _best_of(network, [states[row] for row in likeliest], sigmas)
    return [_explanation(network, wrong, solution) for wrong, solution in zip(tried, solved, strict=True)]


def _searched(network: Network, explained: Sequence[Explanation], search: Search) -> list[Explanation]:
    """The explanations, those that do not stand placed again from nothing."""
    again = [known for known in explained if known.solution.chi2 > 1.0]
    if not again:
        return list(explained)
    starts = []
    for known in again:
        found = np.array(search(known.network))
        whole = np.tile(network.state({}), (len(found), 1))
        whole[:, : 2 * len(network.points)] = found[:, : 2 * len(network.points)]
        starts.append(whole)
    solved = _best_of(network, starts, _left_out(network, [known.wrong for known in again]))
    better = {
        known.wrong: _explanation(network, known.wrong, solution)
        for known, solution in zip(again, solved, strict=True)
        if solution.chi2 < known.solution.chi2 - 1e-9
    }
    return [better.get(known.wrong, known) for known in explained]


def _left_out(network: Network, tried: Sequence[tuple[int, ...]]) -> Array:
    """The readings' spreads, (tried, readings): infinite for those that are left out."""
    sigmas = np.tile(network.sigmas, (len(tried), 1))
    for row, wrong in enumerate(tried):
        sigmas[row, list(wrong)] = np.inf
    return sigmas


def _best_of(network: Network, starts: Sequence[Array], sigmas: Array) -> list[Solution]:
    """For each row of spreads the best solution from its own starts: all of them a few steps, the best to the end."""
    each = [len(states) for states in starts]
    rough = iter(solve_many(network, np.concatenate(starts), ROUGH_STEPS, np.repeat(sigmas, each, axis=0)))
    best = [min(itertools.islice(rough, count), key=lambda one: one.chi2).state for count in each]
    return solve_many(network, np.array(best), sigmas=sigmas)


def _explanation(network: Network, wrong: tuple[int, ...], solution: Solution) -> Explanation:
    smaller = network.without(wrong)
    if smaller.size != network.size:  # a diameter or a height that is no longer read
        count = 2 * len(network.points)
        kept = [*range(count), *(count + network.scalars.index(scalar) for scalar in smaller.scalars)]
        solution = replace(solution, state=solution.state[kept])
    return Explanation(wrong, smaller, solution)


def _pool(network: Network, solution: Solution, starts: Iterable[Array]) -> list[Array]:
    """States to start from: the given ones, and each of them drawn to where most readings agree."""
    given = [solution.state, *starts][:4]
    return [*given, *_robust(network, np.array(given))]


def _robust(network: Network, states: Array) -> Array:
    """Least squares in which far-off readings lose their weight (Cauchy's weights, constant coming down)."""
    for constant in (100.0, 30.0, 10.0, 5.0, 3.0, 3.0, 3.0):
        miss = (network.predict(states) - network.values) / network.sigmas
        scale = np.maximum(constant, 0.5 * np.median(np.abs(miss), axis=1))[:, None]
        found = solve_many(network, states, 12, network.sigmas * np.sqrt(1.0 + (miss / scale) ** 2))
        states = np.array([one.state for one in found])
    return states


def _likely(network: Network, base: tuple[int, ...], pool: list[Array], *, first: bool) -> list[int]:
    """Numbers of the readings that may be wrong besides those of ``base``, the likeliest first.

    Where there is little redundancy all are; else those that miss most, or take most off the sum of squares by the
    linear equations, at any of the states.
    """
    everything = [k for k in range(len(network.observations)) if k not in base]
    if first and len(network.observations) - len(network.free) <= FEW:
        return everything
    size = np.zeros(len(network.observations))
    for state in pool:
        miss = np.abs(network.predict(state) - network.values) / network.sigmas
        size = np.maximum(size, miss / max(float(miss.max(initial=0.0)), 1e-12))
        if first:
            w = np.abs(np.nan_to_num(standardised(network, state, precision(network, state))))
            size = np.maximum(size, w / max(float(w.max(initial=0.0)), 1e-12))
    return sorted(everything, key=lambda k: -size[k])[: FIRST_TRIED if first else WIDTH]


def _likely_pairs(network: Network, pool: list[Array]) -> list[tuple[int, int]]:
    """Of all pairs, those that take most off the sum of squares by the linear equations at each state."""
    found: list[tuple[int, int]] = []
    for state in pool:
        prec = precision(network, state)
        design = prec.jacobian / network.sigmas[:, None]
        misfit = (prec.predicted - network.values) / network.sigmas
        shares = np.eye(len(misfit)) - design @ prec.covariance @ design.T
        v = shares @ misfit
        r = np.maximum(np.diag(shares), 0.0)
        det = np.outer(r, r) - shares**2
        gain = np.outer(v**2, r)
        with np.errstate(divide="ignore", invalid="ignore"):
            gained = (gain + gain.T - 2 * shares * np.outer(v, v)) / det
        gained[(det < LEAST_REDUNDANCY**2) | ~np.isfinite(gained)] = 0.0
        one, other = np.triu_indices(len(misfit), 1)
        for k in np.argsort(-gained[one, other])[:WIDTH]:
            found.append((int(one[k]), int(other[k])))
    return list(dict.fromkeys(found))
