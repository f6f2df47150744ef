"""Which one further reading would tell rivals apart.

Each rival explanation gives the floor another shape, and so every reading not yet taken another value; reading a rival
once more gives its old value unless it is the wrong one. The reading whose values fall farthest apart decides most:
what counts is how many explanations are left on average, when all are equally likely.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass

import numpy as np

from sketcher.survey import candidates
from sketcher.survey.leastsquares import precision
from sketcher.survey.readings_network import Array, Network, Observation
from sketcher.survey.snooping import Explanation

#: Two explanations are told apart by a reading when their values differ by this many spreads of the difference.
APART_SPREADS = 6.0
#: A new reading must leave this much fewer explanations than reading one again does, or the latter is advised.
BETTER = 0.2


#: An explanation by a known slip is so many times as likely as another (common practice, no source).
SLIP = 5.0


@dataclass(frozen=True)
class Outcome:
    """If the reading comes out at ``value`` (mm), these readings, by id, are the ones that may be wrong."""

    value: float
    wrong: tuple[tuple[str, ...], ...]


@dataclass(frozen=True)
class Decision:
    """The reading to take: ``again`` names the rival it repeats. ``left``: explanations that remain on average."""

    reading: Observation
    again: str | None
    outcomes: tuple[Outcome, ...]
    left: float

    @property
    def settles(self) -> bool:
        """Whether every outcome names one explanation alone."""
        return all(len(outcome.wrong) == 1 for outcome in self.outcomes)


def deciding(
    network: Network, explained: Sequence[Explanation], possible: Sequence[Observation], slips: Collection[str] = ()
) -> Decision | None:
    """The reading that decides most between explanations; None when there is nothing to decide.

    ``possible`` are readings not yet taken that a hand can take; the rivals themselves can always be read again.
    ``slips`` are the ids of rivals that a known slip would explain: those explanations count for more.
    """
    if len(explained) < 2:
        return None
    rivals = sorted({number for known in explained for number in known.wrong})
    again = [network.observations[number] for number in rivals]
    readings = [*possible, *again]
    values, spreads = _predicted(readings, explained)
    for k, number in enumerate(rivals):
        for row, known in enumerate(explained):
            if number not in known.wrong:  # it is right then, and comes out as before
                values[row, len(possible) + k] = again[k].value
                spreads[row, len(possible) + k] = again[k].sigma * np.sqrt(2.0)
    weight = np.array(
        [SLIP if any(network.observations[n].id in slips for n in known.wrong) else 1.0 for known in explained]
    )
    best: Decision | None = None
    for k, reading in enumerate(readings):
        groups = _groups(values[:, k], spreads[:, k])
        left = sum(float(weight[group].sum()) * len(group) for group in groups) / float(weight.sum())
        repeats = reading.id if k >= len(possible) else None
        if left > len(explained) - 0.5:
            continue
        better = best is None or left < best.left - (BETTER if repeats is None or best.again is None else 1e-9)
        if repeats is not None and best is not None and best.again is None:
            better = left < best.left + BETTER
        if better:
            outcomes = tuple(
                Outcome(
                    float(np.mean(values[group, k])),
                    tuple(tuple(network.observations[n].id for n in explained[row].wrong) for row in group),
                )
                for group in groups
            )
            best = Decision(reading, repeats, outcomes, left)
    return best


def _predicted(readings: Sequence[Observation], explained: Sequence[Explanation]) -> tuple[Array, Array]:
    """What each reading would be under each explanation, and the spread of that; (explanations, readings)."""
    values = np.zeros((len(explained), len(readings)))
    spreads = np.zeros_like(values)
    for row, known in enumerate(explained):
        prec = precision(known.network, known.solution.state)
        count = 2 * len(known.network.points)
        for column, reading in enumerate(readings):
            if reading.kind in ("diameter", "height"):
                name = (reading.kind, reading.points[0])
                if name in known.network.scalars:
                    at = count + known.network.scalars.index(name)
                    values[row, column] = known.solution.state[at]
                    spreads[row, column] = np.hypot(reading.sigma, np.sqrt(prec.covariance[at, at]))
                else:
                    values[row, column], spreads[row, column] = reading.value, np.inf
        plain = [k for k, reading in enumerate(readings) if reading.kind not in ("diameter", "height")]
        if plain:
            chosen = [readings[k] for k in plain]
            predicted, g = candidates.derivatives(known.network, chosen, known.solution.state)
            own = np.einsum("ij,jk,ik->i", g, prec.covariance, g)
            slack = np.linalg.norm(g @ prec.loose, axis=1) if prec.loose.shape[1] else np.zeros(len(chosen))
            sigma = np.array([reading.sigma for reading in chosen])
            values[row, plain] = predicted
            spreads[row, plain] = np.where(slack > 1e-3, np.inf, np.sqrt(sigma**2 + np.maximum(own, 0.0)))
    return values, spreads


def _groups(values: Array, spreads: Array) -> list[list[int]]:
    """Explanations that a reading cannot tell apart, as groups of their numbers, by rising value."""
    groups: list[list[int]] = []
    for row in np.argsort(values, kind="stable"):
        last = groups[-1][-1] if groups else None
        if last is not None and values[row] - values[last] < APART_SPREADS * max(spreads[row], spreads[last]):
            groups[-1].append(int(row))
        else:
            groups.append([int(row)])
    return groups
