"""Data snooping: which reading does not agree with the others.

Baarda's test (A testing procedure for use in geodetic networks, 1968; Ghilani, Adjustment Computations, chapter
21). With the tools' spreads known, ``w = v / (sigma sqrt(r))`` of a right reading is a standard normal number,
where v is the residual and r the reading's redundancy; w squared is by how much the sum of squares drops when
the reading is left out. The reading with the largest w is left out when its w passes the critical value, and
the rest is tried again.

Two readings that check only each other have the same w: no arithmetic can tell which of them is wrong. Such rivals are
named together and none is left out.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sketcher.fit.leastsquares import Precision, Solution, precision, solve
from sketcher.fit.network import Array, Network

#: Two-sided, one right reading in a thousand passes it by chance (Baarda's usual choice).
CRITICAL = 3.29
#: Below this share nothing checks a reading, and its w is not formed.
LEAST_REDUNDANCY = 0.01
#: Rivals: leaving the other one out instead explains the misfit just as well (difference of w squared).
RIVAL = 0.5


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
        worst, without = _worst(current, state, size)
        rivals = np.flatnonzero(size**2 > size[worst] ** 2 - RIVAL)
        if len(rivals) > 1 and worst in rivals and _inseparable(current, prec, worst, rivals.tolist()):
            group = tuple(kept[int(k)] for k in rivals)
            return Snooped(tuple(kept), tuple(suspects), (group,), current, state, prec, overwhelmed=False)
        if len(suspects) == most:
            return Snooped(tuple(kept), tuple(suspects), (), current, state, prec, overwhelmed=True)
        suspects.append(kept.pop(worst))
        current = current.without([worst])
        state = without
        prec = precision(current, state.state)


def _worst(network: Network, solution: Solution, size: Array) -> tuple[int, Solution]:
    """The reading whose leaving out helps most, and the solution without it.

    The largest w is right as long as equations are nearly linear. A reading that is wrong by half its length bends the
    whole network, so the foremost few are really left out, one at a time, and compared.
    """
    order = np.argsort(-size)
    tried = [int(order[0])]
    if size[order[0]] > 20:  # wrong by much: w is no longer to be trusted
        tried = [int(k) for k in order[:6] if size[k] > 0.2 * size[order[0]]]
    outcomes = []
    for number in tried:
        smaller = network.without([number])
        start = _fit_scalars(network, smaller, solution.state)
        outcomes.append((number, solve(smaller, start)))
    return min(outcomes, key=lambda entry: entry[1].chi2)


def _fit_scalars(network: Network, smaller: Network, state: Array) -> Array:
    """The state cut to the scalars the smaller network still has."""
    count = 2 * len(network.points)
    columns = [*range(count), *(count + network.scalars.index(s) for s in smaller.scalars)]
    return state[columns]


def _inseparable(network: Network, prec: Precision, worst: int, rivals: list[int]) -> bool:
    """Whether another rival's w moves in step with the worst one's (correlation of the tests above 0.99)."""
    design = prec.jacobian / network.sigmas[:, None]
    share = design @ prec.covariance @ design[worst]
    for k in rivals:
        if k == worst:
            continue
        correlation = -share[k] / math.sqrt(prec.redundancy[k] * prec.redundancy[worst])
        if abs(correlation) > 0.99:
            return True
    return False
