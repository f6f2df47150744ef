"""Readings that could still be taken, and what each would do for the points.

Three questions share one answer, the derivatives of every reading not yet taken: which one holds a loose point,
which one tells two mirrored placements apart, and which one tightens the worst point most.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from sketcher.survey.ellipse import of_covariance
from sketcher.survey.leastsquares import Precision
from sketcher.survey.readings_network import Array, Network, Observation, build

#: A reading that moves with a loose direction by less than this (1 is as much as it can) does not hold it.
GRIP = 0.1
#: Nothing shorter than this is worth reading, mm; and no tool reads less than nothing.
CLOSE = 5.0
#: Nobody drops a perpendicular from farther away than this by hand, mm (common practice, no source).
SQUARE_REACH = 100.0
#: A foot this far beyond the wall's end is still on it, mm.
BEYOND = 2.0


@dataclass(frozen=True)
class Advice:
    """A reading worth taking: the worst point's semi-major axis (one sigma, mm) ``before`` and ``after`` it."""

    reading: Observation
    point: str
    before: float
    after: float


def readings_left(network: Network, state: Array, sigma: float) -> list[Observation]:
    """Readings that could be taken between the points and have not been: distances, and offsets and distances along the
    walls that are in use already, coordinates if any were read."""
    places = state[: 2 * len(network.points)].reshape(-1, 2)
    taken = {_signature(o) for o in network.observations}
    held = {name for name, _ in network.fixed if {(name, "x"), (name, "y")} <= network.fixed.keys()}
    found: list[Observation] = []
    for i, one in enumerate(network.points):
        for j in range(i + 1, len(network.points)):
            other = network.points[j]
            if not {one, other} <= held and float(np.hypot(*(places[i] - places[j]))) > CLOSE:
                found.append(Observation("", "distance", (one, other), 0.0, sigma))
    for wall in dict.fromkeys(o.wall for o in network.observations if o.wall):
        for name in network.points:
            if name not in wall:
                found.append(Observation("", "offset", (name,), 0.0, sigma, wall))
                found.append(Observation("", "along", (name,), 0.0, sigma, wall))
    if any(o.kind in ("x", "y") for o in network.observations):
        for name in network.points:
            found.extend(
                Observation("", axis, (name,), 0.0, sigma) for axis in ("x", "y") if (name, axis) not in network.fixed
            )
    found = [reading for reading in found if _signature(reading) not in taken]
    if not found:
        return []
    predicted, _ = derivatives(network, found, state)
    return [reading for reading, value in zip(found, predicted, strict=True) if value > CLOSE]


def by_hand(network: Network, readings: Sequence[Observation], state: Array) -> list[Observation]:
    """Those readings that a hand can take: no perpendicular dropped from far away, or to where the wall has ended.

    Coordinates may be as large as the largest that was read: whoever reads those has what it takes.
    """
    count = 2 * len(network.points)
    plane = state[:count].reshape(-1, 2)
    reach = max((o.value for o in network.observations if o.kind in ("x", "y")), default=0.0)
    fit: list[Observation] = []
    for reading in readings:
        at = plane[network.index(reading.points[0])]
        if reading.kind in ("offset", "along"):
            assert reading.wall is not None
            start, end = (plane[network.index(name)] for name in reading.wall)
            wall = end - start
            length = max(float(np.hypot(*wall)), CLOSE)
            along = float(wall @ (at - start)) / length
            across = abs(float(wall[0] * (at - start)[1] - wall[1] * (at - start)[0])) / length
            if across > SQUARE_REACH or not -BEYOND <= along <= length + BEYOND:
                continue
        elif reading.kind in ("x", "y") and float(at[int(reading.kind == "y")]) > max(reach, SQUARE_REACH):
            continue
        fit.append(reading)
    return fit


def _signature(reading: Observation) -> tuple[object, ...]:
    return (reading.kind, frozenset(reading.points), frozenset(reading.wall or ()))


def derivatives(network: Network, readings: Sequence[Observation], state: Array) -> tuple[Array, Array]:
    """What each reading would be, and its derivatives by the network's state; held coordinates have none."""
    count = 2 * len(network.points)
    predicted, jacobian = build(network.points, readings, {}).linearise(state[:count])
    wide = np.zeros((len(readings), network.size))
    wide[:, :count] = jacobian
    held = np.setdiff1d(np.arange(network.size), network.free)
    wide[:, held] = 0.0
    return predicted, wide


def holding(network: Network, state: Array, loose: Array, readings: Sequence[Observation]) -> list[Observation]:
    """The fewest readings that hold every loose direction, chosen one after the other, as far as any can.

    A reading from a loose point to a held one goes before one between two loose points.
    """
    if loose.shape[1] == 0 or not readings:
        return []
    _, jacobian = derivatives(network, readings, state)
    reach = np.linalg.norm(loose[: 2 * len(network.points)].reshape(len(network.points), -1), axis=1)
    slack = {name for name, size in zip(network.points, reach, strict=True) if size > 1e-3}
    anchored = np.array([1.5 if len(slack.intersection(r.all_points)) == 1 else 1.0 for r in readings])
    basis = loose
    chosen: list[Observation] = []
    while basis.shape[1]:
        grip = jacobian @ basis
        strength = np.linalg.norm(grip, axis=1)
        best = int(np.argmax(np.round(strength * anchored, 6)))
        if strength[best] < GRIP:
            break
        chosen.append(readings[best])
        direction = grip[best] / strength[best]
        _, _, rows = np.linalg.svd(direction[None, :])
        basis = basis @ rows[1:].T
    return chosen


def telling_apart(network: Network, one: Array, other: Array, readings: Sequence[Observation]) -> Observation | None:
    """The reading that differs most between two placements, in spreads; None when none differs by six of them."""
    if not readings:
        return None
    here, _ = derivatives(network, readings, one)
    there, _ = derivatives(network, readings, other)
    difference = np.abs(here - there) / np.array([reading.sigma for reading in readings])
    best = int(np.argmax(np.round(difference, 6)))
    return readings[best] if difference[best] > 6.0 else None


def tightening(
    network: Network,
    prec: Precision,
    state: Array,
    readings: Sequence[Observation],
    loose: Iterable[str] = (),
    most: int = 3,
) -> list[Advice]:
    """The readings that tighten the worst point most, the best first.

    A further reading with derivatives g and spread s changes the covariance Q to ``Q - Q g gᵀ Q / (s² + gᵀ Q g)``
    (Sherman and Morrison), so every reading is judged without adjusting anew.
    """
    worst = worst_point(network, prec.covariance, loose)
    if worst is None or not readings:
        return []
    at = 2 * network.index(worst)
    now = prec.covariance[at : at + 2, at : at + 2]
    before = of_covariance(now).semi_major
    _, g = derivatives(network, readings, state)
    gained = g @ prec.covariance
    spread = np.array([reading.sigma for reading in readings])
    weight = spread**2 + np.einsum("ij,ij->i", gained, g)
    slack = np.linalg.norm(g @ prec.loose, axis=1) if prec.loose.shape[1] else np.zeros(len(readings))
    offers = []
    for k, reading in enumerate(readings):
        if slack[k] > 1e-3:  # it would go into a loose direction first
            continue
        step = gained[k, at : at + 2]
        after = of_covariance(now - np.outer(step, step) / weight[k]).semi_major
        if after < 0.98 * before:
            offers.append(Advice(reading, worst, before, after))
    offers.sort(key=lambda advice: round(advice.after, 6))
    return offers[:most]


def worst_point(network: Network, covariance: Array, loose: Iterable[str] = ()) -> str | None:
    """The point with the longest error ellipse, loose ones aside; None when all are held exactly."""
    left_out = set(loose)
    longest, found = 1e-9, None
    for number, name in enumerate(network.points):
        if name not in left_out:
            at = 2 * number
            length = of_covariance(covariance[at : at + 2, at : at + 2]).semi_major
            if length > longest:
                longest, found = length, name
    return found
