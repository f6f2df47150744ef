"""Which reading is wrong, believed only when nothing else explains the contradiction.

Baarda's test (A testing procedure for use in geodetic networks, 1968; Ghilani, Adjustment Computations, chapter 21)
says whether the readings contradict each other: with the tools' spreads known, ``w = v / (sigma sqrt(r))`` of a right
reading is a standard normal number, where v is the residual and r the reading's redundancy.

Which one is wrong is another question, and a slip of centimetres is far outside what linear equations answer. So every
reading, then every likely pair and so on, is really left out and the rest solved again from several starts: an
*explanation* stands when the rest agrees. A reading is excluded only when every explanation that fits nearly as well as
the best names it; readings named by some of them are *rivals*: one of them is wrong, and none is left out. A reading is
never excluded when nothing would check the rest, and never more than a third of the surplus.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from sketcher.reference.quantiles import chi_square
from sketcher.survey.leastsquares import Precision, Solution, precision, solve
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
FEW = 6

#: So many explanations are placed again from nothing where there is more redundancy and none stands.
FROM_NOTHING = 5
#: Steps from each start before the best of them is solved to the end.
ROUGH_STEPS = 8

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
    if precision(found[0].network, found[0].solution.state).degrees < 1:  # nothing would check the rest
        certain = set()
    rivals = tuple(sorted(set(itertools.chain.from_iterable(known.wrong for known in found)) - certain))
    kept = tuple(k for k in everything if k not in certain)
    if certain:
        best = found[0]
        smaller = network.without(certain)
        solution = best.solution if not rivals else _solved(smaller, network, [best.solution.state, *pool])
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
        tried: dict[tuple[int, ...], Explanation] = {}
        for base in beam:
            for number in _likely(network, base, pool, first=size == 1):
                wrong = tuple(sorted({*base, number}))
                if len(wrong) == size and wrong not in tried:
                    tried[wrong] = _explained(network, wrong, pool)
        if size == 2:
            for wrong in _likely_pairs(network, pool):
                if wrong not in tried:
                    tried[wrong] = _explained(network, wrong, pool)
        ordered = sorted(tried.values(), key=lambda known: known.solution.chi2)
        few = len(network.observations) - len(network.free) <= FEW
        if search is not None and ordered and (few or not _stands(ordered[0], critical)):
            again = ordered if few else ordered[:FROM_NOTHING]
            ordered = sorted(
                (*(_searched(known, search) for known in again), *ordered[len(again) :]),
                key=lambda known: known.solution.chi2,
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


def _explained(network: Network, wrong: tuple[int, ...], pool: list[Array]) -> Explanation:
    smaller = network.without(wrong)
    return Explanation(wrong, smaller, _solved(smaller, network, pool))


def _solved(smaller: Network, network: Network, pool: Sequence[Array]) -> Solution:
    """The best solution from the three likeliest states of the whole network (or of the smaller one)."""
    starts = [state if len(state) == smaller.size else _fit_scalars(network, smaller, state) for state in pool]
    starts.sort(key=lambda state: _misfit(smaller, state))
    best: Solution | None = None
    for start in starts[:3]:
        solution = solve(smaller, start, ROUGH_STEPS)
        if best is None or solution.chi2 < best.chi2:
            best = solution
        if best.chi2 < 2 * len(smaller.observations):
            break
    assert best is not None
    return solve(smaller, best.state)


def _searched(known: Explanation, search: Search) -> Explanation:
    if known.solution.chi2 <= 1.0:
        return known
    for start in search(known.network):
        solution = solve(known.network, start)
        if solution.chi2 < known.solution.chi2 - 1e-9:
            known = replace(known, solution=solution)
        if known.solution.chi2 < 1.0:
            break
    return known


def _misfit(network: Network, state: Array) -> float:
    """Misfit of a state with no reading counting for more than 20 spreads."""
    miss = (network.predict(state) - network.values) / network.sigmas
    return float(np.minimum(miss**2, 400.0).sum())


def _pool(network: Network, solution: Solution, starts: Iterable[Array]) -> list[Array]:
    """States to start from: the given ones, and each of them drawn to where most readings agree."""
    given = [solution.state, *starts][:4]
    return [*given, *(_robust(network, state) for state in given)]


def _robust(network: Network, state: Array) -> Array:
    """Least squares in which far-off readings lose their weight (Cauchy's weights, constant coming down)."""
    for constant in (100.0, 30.0, 10.0, 5.0, 3.0, 3.0, 3.0):
        miss = (network.predict(state) - network.values) / network.sigmas
        scale = max(constant, 0.5 * float(np.median(np.abs(miss))))
        state = solve(replace(network, sigmas=network.sigmas * np.sqrt(1.0 + (miss / scale) ** 2)), state, 12).state
    return state


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


def _fit_scalars(network: Network, smaller: Network, state: Array) -> Array:
    """The state cut to the scalars the smaller network still has."""
    count = 2 * len(network.points)
    columns = [*range(count), *(count + network.scalars.index(s) for s in smaller.scalars)]
    return state[columns]
