"""Data snooping: which reading does not agree with the others.

Baarda's test (A testing procedure for use in geodetic networks, 1968; Ghilani, Adjustment Computations, chapter
21). With the tools' spreads known, ``w = v / (sigma sqrt(r))`` of a right reading is a standard normal number,
where v is the residual and r the reading's redundancy; w squared is by how much the sum of squares drops when
the reading is left out. The reading with the largest w is left out when its w passes the critical value, and
the rest is tried again.

Readings that check only each other have the same w: no arithmetic can tell which of them is wrong. Such rivals
are named together and none is left out.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sketcher.survey.leastsquares import Precision, Solution, precision, solve
from sketcher.survey.readings_network import Array, Network

#: Two-sided, one right reading in a thousand passes it by chance (Baarda's usual choice).
CRITICAL = 3.29
#: Below this share nothing checks a reading, and its w is not formed.
LEAST_REDUNDANCY = 0.01
#: Rivals: leaving the other one out explains the misfit nearly as well. Difference of the sums of squares; half of
#: it is the logarithm of the likelihood ratio, 1 to 20 here.
RIVAL = 6.0
#: Tests of two readings that move together this much are compared by really leaving each of them out.
TOGETHER = 0.8


@dataclass(frozen=True)
class Snooped:
    """What is left after the suspects are out.

    ``kept`` are the numbers of the readings in use; ``suspects`` those left out, the first found first;
    ``rivals`` groups of readings of which one is wrong but which cannot be told apart (they stay in use).
    ``solution`` and ``precision`` belong to the readings in use. ``overwhelmed``: too many disagree to single
    any out.
    """

    kept: tuple[int, ...]
    suspects: tuple[int, ...]
    rivals: tuple[tuple[int, ...], ...]
    network: Network
    solution: Solution
    precision: Precision
    overwhelmed: bool


def standardised(network: Network, state: Array, prec: Precision) -> Array:
    """w of every reading in use; NaN where nothing checks it. Sign as the residual: adjusted less measured."""
    residual = prec.predicted - network.values
    root = np.sqrt(prec.redundancy)
    checked = prec.redundancy > LEAST_REDUNDANCY
    w = np.full(len(residual), np.nan)
    w[checked] = residual[checked] / (network.sigmas[checked] * root[checked])
    return w


def snoop(network: Network, solution: Solution, critical: float = CRITICAL) -> Snooped:
    """Find the suspects of a network, starting from its solution."""
    kept = list(range(len(network.observations)))
    suspects: list[int] = []
    current, state = network, solution
    prec = precision(current, state.state)
    most = max(1, prec.degrees // 3)
    while True:
        w = standardised(current, state.state, prec)
        size = np.nan_to_num(np.abs(w), nan=0.0)
        if size.size == 0 or float(size.max()) <= critical or prec.degrees < 1:
            return Snooped(tuple(kept), tuple(suspects), (), current, state, prec, overwhelmed=False)
        tried = _leave_out(current, state, prec, size)
        worst, without = tried[0]
        rivals = [number for number, other in tried if other.chi2 < without.chi2 + RIVAL]
        if len(rivals) > 1:
            group = tuple(sorted(kept[number] for number in rivals))
            return Snooped(tuple(kept), tuple(suspects), (group,), current, state, prec, overwhelmed=False)
        if len(suspects) == most:
            return Snooped(tuple(kept), tuple(suspects), (), current, state, prec, overwhelmed=True)
        suspects.append(kept.pop(worst))
        current = current.without([worst])
        state = without
        prec = precision(current, state.state)


def _leave_out(network: Network, solution: Solution, prec: Precision, size: Array) -> list[tuple[int, Solution]]:
    """The readings that may be wrong, each with the solution without it, the one that helps most first.

    The largest w names the reading as long as equations are nearly linear and no other test moves with it. So the
    foremost few, and those whose tests move with the first one's, are really left out, one at a time, and compared.
    """
    first = int(np.argmax(size))
    together = np.abs(_correlations(network, prec, first))
    far_off = size[first] > 20  # wrong by so much that w is no longer to be trusted
    close = size > 0.2 * size[first] if far_off else (together > TOGETHER) & (size > 0.5 * size[first])
    numbers = [int(k) for k in np.argsort(-size)[:8] if close[k] or k == first]
    outcomes = []
    for number in numbers:
        smaller = network.without([number])
        outcomes.append((number, solve(smaller, _fit_scalars(network, smaller, solution.state))))
    return sorted(outcomes, key=lambda entry: entry[1].chi2)


def _fit_scalars(network: Network, smaller: Network, state: Array) -> Array:
    """The state cut to the scalars the smaller network still has."""
    count = 2 * len(network.points)
    columns = [*range(count), *(count + network.scalars.index(s) for s in smaller.scalars)]
    return state[columns]


def _correlations(network: Network, prec: Precision, number: int) -> Array:
    """Correlation of every reading's test with one reading's, -1 to 1; 0 where nothing checks a reading."""
    design = prec.jacobian / network.sigmas[:, None]
    share = -(design @ prec.covariance @ design[number])
    share[number] += 1.0
    scale = np.sqrt(prec.redundancy * prec.redundancy[number])
    checked = scale > LEAST_REDUNDANCY**2
    correlation = np.zeros(len(share))
    correlation[checked] = share[checked] / scale[checked]
    return correlation
