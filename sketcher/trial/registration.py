"""Rigid registration of a tried test piece: how the whole plate sits, apart from ports that are wrong in themselves.

A fit reading says by how much a port should move to lie where it ought to: ``d = (dx, dy)``. If the plate sits
shifted by ``t`` and turned by ``theta`` about its ports' centre ``c``, a right port at ``p`` reads ``t +
(R(theta) - I)(p
- c)``. With complete readings the best fit is Kabsch's (1976; Umeyama 1991, without scale). Readings may lack x
or y, and differ in spread, so the same sum of squares is minimised by Gauss-Newton, which gives Kabsch's answer
when all are complete and alike. Wrong ports are found by leaving ports out: the whole port, both of its
readings, since it is the port that is wrong.

The spreads are taken as known. Leaving out a right port lowers the sum of squares by a chi-square number of as
many degrees of freedom as it has readings; a port whose leaving out lowers it by more than one right port in a
thousand would is suspect.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2 as chi_square
from scipy.stats import f as f_distribution

Array = NDArray[np.float64]

#: Chance of calling a right port wrong, with the stated spreads.
ALPHA = 0.002
#: The same over all ports of a piece, with the scatter that the other ports show.
ALPHA_SCATTER = 0.01
#: Surplus readings that the others need, for their scatter to say anything.
LEAST_DEGREES = 4
#: A smaller own error than this is not worth a name, however well the others agree, mm.
LEAST_OWN = 0.5
#: Ports whose leaving out explains the misfit nearly as well cannot be told apart: difference of the sums of squares, a
#: likelihood ratio of 1 to 7.
RIVAL = 4.0
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
    ``left`` (ports, 2), mm, is the reading less the whole's movement, NaN where not read; ``suspects`` are
    wrong in themselves; ``rivals`` groups of which one is, but it cannot be said which. ``covariance`` (3, 3)
    is of shift x, shift y (mm) and turn (radians).
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
        """Whether shift or turn stand out of the readings' spread (one plate in a thousand would by chance)."""
        count = 3 if self.turn_known else 2
        movement = np.array([*self.shift, math.radians(self.turn_deg)])[:count]
        covariance = self.covariance[:count, :count]
        if not np.all(np.isfinite(covariance)) or np.linalg.matrix_rank(covariance) < count:
            return bool(np.hypot(*self.shift) > 0.0)
        return bool(movement @ np.linalg.solve(covariance, movement) > chi_square.ppf(1 - ALPHA, count))


def register(readings: Sequence[PortReading]) -> Registration:
    """Register a test piece's readings.

    Raises:
        ValueError: no reading at all, a port twice, or a number that is none.
    """
    _check(readings)
    rows = tuple(readings)
    position = np.array([[r.x, r.y] for r in rows])
    measured = np.array([[math.nan if v is None else v for v in (r.dx, r.dy)] for r in rows])
    sigma = np.array([r.sigma for r in rows])
    centre = position.mean(axis=0)
    use = np.ones(len(rows), dtype=bool)
    rivals: tuple[tuple[str, ...], ...] = ()
    suspects: list[int] = []
    fit = _solve(position - centre, measured, sigma, use)
    while fit.degrees > 0:
        tried = sorted(
            ((int(k), _solve(position - centre, measured, sigma, _without(use, int(k)))) for k in np.flatnonzero(use)),
            key=lambda entry: entry[1].chi2,
        )
        k, better = tried[0]
        own = np.nanmax(np.abs((measured - _movement(position - centre, better.parameters))[k]))
        if not _stands_out(fit, better, float(own), int(np.count_nonzero(use))):
            break
        near = RIVAL * min(1.0, _scatter(better))
        close = [j for j, other in tried if other.chi2 < better.chi2 + near and other.degrees <= better.degrees]
        if len(close) > 1:
            rivals = (tuple(rows[j].port for j in sorted(close)),)
            break
        if 2 * (len(suspects) + 1) > len(rows):
            break
        suspects.append(k)
        use = _without(use, k)
        fit = better
    left = measured - _movement(position - centre, fit.parameters)
    return Registration(
        readings=rows,
        centre=(float(centre[0]), float(centre[1])),
        shift=(float(fit.parameters[0]), float(fit.parameters[1])),
        turn_deg=math.degrees(float(fit.parameters[2])),
        turn_known=fit.turn_known,
        covariance=fit.covariance,
        left=left,
        suspects=tuple(rows[k].port for k in suspects),
        rivals=rivals,
        degrees=fit.degrees,
        chi2=fit.chi2,
    )


def _stands_out(fit: _Fit, better: _Fit, own: float, ports: int) -> bool:
    """Whether leaving a port out (``better``) helps more than it would for a right port."""
    freed = fit.degrees - better.degrees
    gain = fit.chi2 - better.chi2
    if freed < 1 or gain <= 0.0:
        return False
    if gain > chi_square.ppf(1 - ALPHA, freed):
        return True
    if better.degrees < LEAST_DEGREES or own < LEAST_OWN:
        return False
    return bool(gain / freed / _scatter(better) > f_distribution.ppf(1 - ALPHA_SCATTER / ports, freed, better.degrees))


def _scatter(fit: _Fit) -> float:
    """Variance of the readings in units of the stated one, as they themselves show it; 1 when there are too few."""
    return max(fit.chi2 / fit.degrees, 0.01) if fit.degrees >= LEAST_DEGREES else 1.0


@dataclass(frozen=True)
class _Fit:
    parameters: Array
    covariance: Array
    chi2: float
    degrees: int
    turn_known: bool


def _without(use: NDArray[np.bool_], number: int) -> NDArray[np.bool_]:
    smaller = use.copy()
    smaller[number] = False
    return smaller


def _movement(arm: Array, parameters: Array) -> Array:
    """Movement of each port, (ports, 2), for ``(shift x, shift y, turn)``; arms from the centre."""
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
