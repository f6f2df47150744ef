"""Rigid registration of a tried test piece: how the whole piece sits, apart from ports that are off on their own.

A fit reading says by how much a port should move to lie where it ought to: ``d = (dx, dy)``. If the plate sits shifted
by ``t`` and turned by ``theta`` about its ports' centre ``c``, a right port at ``p`` reads ``t + (R(theta) - I)(p -
c)``. With complete readings the best fit is Kabsch's (1976; Umeyama 1991, without scale). Readings may lack x or y, and
differ in spread, so the same sum of squares is minimised by Gauss-Newton, which gives Kabsch's answer when all are
complete and alike.

Which ports are off is weighed over all explanations (``hypotheses``). A port is named only when all explanations that
have it off make up 75 % of the chances, and when it stands out: leaving it and what moves with it in place would raise
the sum of squares by more than happens to one right test piece in a hundred (chi-square with the stated spread, or an F
test against the scatter that the other readings show; Bonferroni over all that was tried).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sketcher.reference.quantiles import chi_square, f_ratio
from sketcher.trial.hypotheses import (
    WHOLES,
    Block,
    Explanation,
    RigidPiece,
    Table,
    Whole,
    explain,
    fitted,
)

Array = NDArray[np.float64]

#: Chance that a right test piece has any port named, over all that is tried.
LEVEL = 0.01
#: Chance that a piece that sits right is said to sit off as a whole.
WHOLE_LEVEL = 0.002
#: A port is off when the explanations that have it off make up this together, and right when they make up less than
#: ``HARDLY``; between the two it cannot be told. The same holds for the whole.
SURE, HARDLY = 0.75, 0.5
#: Where the whole is off and more of the ports than this are off besides, the majority is no proof any more.
MOST_OFF = 0.4
#: A smaller own error than this is not worth a name when only the others' scatter makes it stand out, mm.
LEAST_OWN = 0.5
#: Surplus readings that it takes before their own scatter says anything.
LEAST_DEGREES = 4
MOST_STEPS = 50


@dataclass(frozen=True)
class PortReading:
    """What was seen at one port, mm: it is at ``x, y`` and should move by ``dx, dy``; None where it was not read."""

    port: str
    x: float
    y: float
    dx: float | None
    dy: float | None
    sigma: float = 0.5


@dataclass(frozen=True)
class Registration:
    """How the whole sits, and what is left at each port.

    ``shift`` is the movement of the ports' centre ``centre``, mm; ``turn_deg`` counter-clockwise about it.
    ``turn_known`` is False when the readings cannot tell a turn (fewer than two places); it is taken as 0 then.
    ``left`` (ports, 2), mm, is the reading less the whole's movement, NaN where not read; ``suspects`` are off on their
    own; ``rivals`` groups of which one or more are, but it cannot be said which. ``covariance`` (3, 3) is of shift x,
    shift y (mm) and turn (radians). ``blocks`` are what is off in the likeliest explanation, ports and pieces, by their
    numbers in ``readings``; ``explanations`` all that count.
    """

    readings: tuple[PortReading, ...]
    centre: tuple[float, float]
    shift: tuple[float, float]
    turn_deg: float
    turn_known: bool
    covariance: Array
    left: Array
    suspects: tuple[str, ...]
    rivals: tuple[tuple[str, ...], ...]
    degrees: int
    chi2: float
    blocks: tuple[Block, ...] = ()
    explanations: tuple[Explanation, ...] = ()
    table: Table | None = None

    def moved(self, x: float, y: float) -> tuple[float, float]:
        """Where a point of the plate goes when the whole is moved as found, mm."""
        angle = math.radians(self.turn_deg)
        px, py = x - self.centre[0], y - self.centre[1]
        return (
            self.centre[0] + self.shift[0] + math.cos(angle) * px - math.sin(angle) * py,
            self.centre[1] + self.shift[1] + math.sin(angle) * px + math.cos(angle) * py,
        )

    @property
    def moves_as_a_whole(self) -> bool:
        """Whether shift or turn stand out of the readings' spread (``WHOLE_LEVEL``), and no explanation with a whole
        that sits right is nearly as likely."""
        return self._whole_stands_out and self._chance_of_whole >= SURE

    @property
    def whole_in_doubt(self) -> bool:
        """Whether shift or turn stand out, but the whole may well sit right and ports be off instead."""
        return self._whole_stands_out and self._chance_of_whole < SURE

    @property
    def _chance_of_whole(self) -> float:
        return sum(one.chance for one in self.explanations if one.whole != "right")

    @property
    def _whole_stands_out(self) -> bool:
        count = 3 if self.turn_known else 2
        movement = np.array([*self.shift, math.radians(self.turn_deg)])[:count]
        covariance = self.covariance[:count, :count]
        known = np.diag(covariance) > 0
        movement, covariance = movement[known], covariance[np.ix_(known, known)]
        if not len(movement):
            return False
        return bool(movement @ np.linalg.solve(covariance, movement) > chi_square(1 - WHOLE_LEVEL, len(movement)))

    @property
    def scatters(self) -> bool:
        """Whether the readings that are left fit each other worse than one in a thousand would."""
        return self.degrees > 0 and self.chi2 > chi_square(0.999, self.degrees)


def register(
    readings: Sequence[PortReading], pieces: Sequence[Sequence[str]] = (), wholes: Sequence[Whole] = tuple(WHOLES)
) -> Registration:
    """Register a test piece's readings.

    Args:
        readings: the ports, those that were not read too (``dx`` and ``dy`` None).
        pieces: ports that belong together.
        wholes: how the whole may sit.

    Raises:
        ValueError: no reading at all, a port twice, a number that is none, or readings that none of ``wholes`` gives.
    """
    _check(readings)
    rows = tuple(readings)
    position = np.array([[r.x, r.y] for r in rows])
    measured = np.array([[math.nan if v is None else v for v in (r.dx, r.dy)] for r in rows])
    sigma = np.array([r.sigma for r in rows])
    read = ~np.isnan(measured).all(axis=1)
    centre = position[read].mean(axis=0)
    table = Table(position - centre, measured, sigma)
    number = {row.port: k for k, row in enumerate(rows)}
    named = [RigidPiece("+".join(piece), tuple(number[port] for port in piece if port in number)) for piece in pieces]
    explanations = explain(table, named, wholes)
    off, doubtful, blocks = _decided(table, explanations, len(named))
    use = read.copy()
    use[sorted(off | doubtful)] = False
    fit = _solve(table.arm, measured, sigma, use)
    if _past_belief(fit, len(off), int(read.sum()), explanations[0]):
        off, doubtful, blocks = set(), off | doubtful, ()
    return Registration(
        readings=rows,
        centre=(float(centre[0]), float(centre[1])),
        shift=(float(fit.parameters[0]), float(fit.parameters[1])),
        turn_deg=math.degrees(float(fit.parameters[2])),
        turn_known=fit.turn_known,
        covariance=fit.covariance,
        left=measured - _movement(table.arm, fit.parameters),
        suspects=tuple(rows[k].port for k in sorted(off)),
        rivals=(tuple(rows[k].port for k in sorted(doubtful)),) if doubtful else (),
        degrees=fit.degrees,
        chi2=fit.chi2,
        blocks=blocks,
        explanations=tuple(explanations),
        table=table,
    )


def _past_belief(fit: _Fit, off: int, read: int, best: Explanation) -> bool:
    """Whether what is left scatters beyond its spread, or too few ports are left to speak for the whole."""
    if fit.degrees > 0 and fit.chi2 > chi_square(0.999, fit.degrees):
        return True
    return best.whole != "right" and off > MOST_OFF * read


def _decided(
    table: Table, explanations: Sequence[Explanation], pieces: int
) -> tuple[set[int], set[int], tuple[Block, ...]]:
    """Ports that are off, ports that may be, and the blocks of the likeliest explanation that names the former."""
    chances = np.zeros(len(table.arm))
    for one in explanations:
        chances[sorted(one.off)] += one.chance
    off = {int(k) for k in np.flatnonzero(chances >= SURE)}
    doubtful = {int(k) for k in np.flatnonzero((chances > HARDLY) & (chances < SURE))}
    tried = int(table.read.any(axis=1).sum()) + 2 * pieces
    doubtful = {k for k in doubtful if _worth_a_word(table, explanations, k, tried)}
    blocks = []
    agreeing = [one for one in explanations if off <= one.off]
    best = agreeing[0] if agreeing else explanations[0]
    for block in best.blocks:
        mine = set(block.ports) & off
        if not mine:
            continue
        if _stands_out(table, best, block, tried):
            blocks.append(block)
        else:
            off -= mine
            doubtful |= mine
    return off, doubtful, tuple(blocks)


def _worth_a_word(table: Table, explanations: Sequence[Explanation], port: int, tried: int) -> bool:
    """Whether a port that may be off would at all stand out in the likeliest explanation that has it off."""
    one = next(one for one in explanations if port in one.off)
    return any(port in block.ports and _stands_out(table, one, block, tried, 10 * LEVEL) for block in one.blocks)


def _stands_out(table: Table, best: Explanation, block: Block, tried: int, of_all: float = LEVEL) -> bool:
    """Whether the readings fit worse without the block than a right test piece's do once in a hundred."""
    rest = [other for other in best.blocks if other is not block]
    without = _with_only(table, rest, best)
    freed, gain = without[1] - best.degrees, without[0] - best.chi2
    if freed < 1 or gain <= 0.0:
        return False
    level = of_all / max(tried, 1)
    if gain > chi_square(1 - level, freed):
        return True
    members = list(block.ports)
    own = float(np.nanmax(np.abs(table.measured[members] - _whole_of(table, best)[members])))
    if best.degrees < LEAST_DEGREES or own < LEAST_OWN:
        return False
    scatter = max(best.chi2 / best.degrees, 0.01)
    return bool(gain / freed / scatter > f_ratio(1 - level, freed, best.degrees))


def _whole_of(table: Table, one: Explanation) -> Array:
    return _movement(table.arm, one.movement) + one.scale * table.arm


def _with_only(table: Table, blocks: Sequence[Block], like: Explanation) -> tuple[float, int]:
    """Sum of squares and surplus readings with the same whole and these blocks alone."""
    return fitted(table, blocks, like.whole, float(like.movement[2]))


@dataclass(frozen=True)
class _Fit:
    parameters: Array
    covariance: Array
    chi2: float
    degrees: int
    turn_known: bool


def rigid(arm: Array, wanted: Array, sigma: Array) -> Array:
    """Shift x, y (mm) and turn (radians) that bring ports (ports, 2) nearest to where they should be; NaN not read."""
    return _solve(arm, wanted, sigma, np.ones(len(arm), dtype=bool)).parameters


def movement(arm: Array, parameters: Array) -> Array:
    """Movement of each port, (ports, 2), mm, for ``(shift x, shift y, turn)``; arms from the centre."""
    return _movement(arm, parameters)


def _movement(arm: Array, parameters: Array) -> Array:
    c, s = math.cos(parameters[2]), math.sin(parameters[2])
    return np.column_stack(
        (
            parameters[0] + (c - 1) * arm[:, 0] - s * arm[:, 1],
            parameters[1] + s * arm[:, 0] + (c - 1) * arm[:, 1],
        )
    )


def _solve(arm: Array, measured: Array, sigma: Array, use: NDArray[np.bool_]) -> _Fit:
    read = ~np.isnan(measured) & use[:, None]
    values = measured[read]
    weight = 1.0 / np.repeat(sigma[:, None], 2, axis=1)[read]
    parameters = np.zeros(3)
    turn_known, free = True, [0, 1, 2]
    for _ in range(MOST_STEPS):
        c, s = math.cos(parameters[2]), math.sin(parameters[2])
        by_turn = np.column_stack((-s * arm[:, 0] - c * arm[:, 1], c * arm[:, 0] - s * arm[:, 1]))[read]
        by_x = np.column_stack((np.ones(len(arm)), np.zeros(len(arm))))[read]
        design = np.column_stack((by_x, 1.0 - by_x, by_turn)) * weight[:, None]
        misfit = (values - _movement(arm, parameters)[read]) * weight
        normal = design.T @ design
        free = _determined(normal)
        turn_known = 2 in free
        step = np.zeros(3)
        step[free] = np.linalg.solve(normal[np.ix_(free, free)], design[:, free].T @ misfit) if free else 0.0
        parameters = parameters + step
        if float(np.max(np.abs(step))) < 1e-12:
            break
    misfit = (values - _movement(arm, parameters)[read]) * weight
    covariance = np.zeros((3, 3))
    if free:
        covariance[np.ix_(free, free)] = np.linalg.inv(normal[np.ix_(free, free)])
    return _Fit(parameters, covariance, float(misfit @ misfit), len(values) - len(free), turn_known)


def _determined(normal: Array) -> list[int]:
    """Which of shift x, shift y and turn the readings can tell; the turn is given up first."""
    for free in ([0, 1, 2], [0, 1], [0], [1]):
        part = normal[np.ix_(free, free)]
        size = np.sqrt(np.diag(part))
        if np.all(size > 0) and np.linalg.cond(part / np.outer(size, size)) < 1e10:
            return free
    return []


def _check(readings: Sequence[PortReading]) -> None:
    if not readings:
        raise ValueError("no fit reading: write down at least one port")
    seen: set[str] = set()
    for reading in readings:
        if reading.port in seen:
            raise ValueError(f"the port '{reading.port}' is read twice; keep one of the two")
        seen.add(reading.port)
        numbers = [reading.x, reading.y, reading.sigma, *(v for v in (reading.dx, reading.dy) if v is not None)]
        if not all(math.isfinite(v) for v in numbers) or reading.sigma <= 0:
            raise ValueError(f"the reading at '{reading.port}' must be made of numbers, and its spread above zero")
    if all(reading.dx is None and reading.dy is None for reading in readings):
        raise ValueError("no reading has a dx or a dy: write 0 for a port that is right")
