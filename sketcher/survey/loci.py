"""The lines and circles on which a point lies by its readings, and where they meet: for all of them at once.

A survey of twenty readings asks for some ten thousand meetings, so they are worked out in arrays.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sketcher.survey.readings_network import Array, Observation

Place = tuple[float, float]

#: Placed points are only roughly right; a reading is not asked to fit better than this, mm.
ROUGH = 2.0
#: Lines that cross at less than this (sine of the angle) meet nowhere in particular; circles whose centres lie closer
#: than this, mm, do not meet; and a miss by more than this part of the radius is no near miss.
PARALLEL, CONCENTRIC, NEAR_MISS = 0.05, 1.0, 0.2


@dataclass(frozen=True)
class Circle:
    """Where a point at a distance from a placed one may lie, mm."""

    x: float
    y: float
    radius: float
    sigma: float


@dataclass(frozen=True)
class Line:
    """Points with ``nx x + ny y = c``, the normal of unit length; ``twin`` is the other line of an offset,
    which may lie on either side of its wall."""

    nx: float
    ny: float
    c: float
    sigma: float
    twin: float | None = None

    def branches(self) -> list[Line]:
        """The line, or both lines of an offset."""
        one = Line(self.nx, self.ny, self.c, self.sigma)
        return [one] if self.twin is None else [one, Line(self.nx, self.ny, self.twin, self.sigma)]


def loci_of(
    name: str,
    places: Mapping[str, Place],
    touching: list[Observation],
    held: Mapping[str, tuple[float | None, float | None]],
) -> list[Circle | Line]:
    """The circles and lines that a point lies on, by the readings that join it to placed points.

    ``held`` gives the coordinates that the datum holds, by point: x and y, each a number or None.
    """
    found: list[Circle | Line] = []
    for axis, value in enumerate(held.get(name, (None, None))):
        if value is not None:
            found.append(Line(1.0 - axis, float(axis), value, 0.01))
    for reading in touching:
        sigma = max(reading.sigma, ROUGH)
        if reading.kind == "distance":
            other = reading.points[1] if reading.points[0] == name else reading.points[0]
            if other in places:
                found.append(Circle(*places[other], reading.value, sigma))
        elif reading.kind == "x":
            found.append(Line(1.0, 0.0, reading.value, sigma))
        elif reading.kind == "y":
            found.append(Line(0.0, 1.0, reading.value, sigma))
        elif reading.wall and reading.points[0] == name and all(end in places for end in reading.wall):
            (ax, ay), (bx, by) = (places[end] for end in reading.wall)
            length = math.hypot(bx - ax, by - ay)
            if length < 1.0:
                continue
            ux, uy = (bx - ax) / length, (by - ay) / length
            if reading.kind == "along":
                found.append(Line(ux, uy, ux * ax + uy * ay + reading.value, sigma))
            else:
                at = -uy * ax + ux * ay
                found.append(Line(-uy, ux, at + reading.value, sigma, at - reading.value))
        elif (
            reading.kind == "along"
            and reading.wall
            and reading.wall[1] == name == reading.points[0]
            and reading.wall[0] in places
        ):
            found.append(Circle(*places[reading.wall[0]], reading.value, sigma))
    return found


def pieces_of(loci: Sequence[Circle | Line]) -> list[Circle | Line]:
    """The loci with both lines of an offset apart."""
    return [piece for locus in loci for piece in (locus.branches() if isinstance(locus, Line) else [locus])]


def meetings(loci: Sequence[Circle | Line]) -> Array:
    """Every place where two of the lines and circles meet, pair by pair, (places, 2).

    Two circles, or a line and a circle, meet at up to two places; those that just miss each other meet at the nearest.
    """
    pieces = pieces_of(loci)
    if len(pieces) < 2:
        return np.empty((0, 2))
    straight = np.array([isinstance(piece, Line) for piece in pieces])
    # A line as its normal and distance from the origin, a circle as its centre and radius.
    u, v, w = np.array([_numbers(piece) for piece in pieces]).T
    one, other = _pairs(len(pieces))
    met = np.full((len(one), 2, 2), np.nan)
    both, none = straight[one] & straight[other], ~straight[one] & ~straight[other]
    mixed = ~both & ~none
    with np.errstate(divide="ignore", invalid="ignore"):
        if both.any():
            met[both, 0] = _lines_meet(u, v, w, one[both], other[both])
        if mixed.any():
            line = np.where(straight[one], one, other)[mixed]
            met[mixed] = _line_meets_circle(u, v, w, line, (one + other)[mixed] - line)
        if none.any():
            met[none] = _circles_meet(u, v, w, one[none], other[none])
    places: Array = met.reshape(-1, 2)
    return places[np.isfinite(places[:, 0])]


def capped_costs(loci: Sequence[Circle | Line], places: Sequence[Place] | Array, cap: float) -> Array:
    """How badly each place fits the loci: squared misses in spreads, none counting for more than the cap; (places,)."""
    at = np.asarray(places, dtype=float).reshape(-1, 2)
    cost = np.zeros(len(at))
    for locus in loci:
        if isinstance(locus, Circle):
            miss = np.hypot(at[:, 0] - locus.x, at[:, 1] - locus.y) - locus.radius
        else:
            across = locus.nx * at[:, 0] + locus.ny * at[:, 1]
            miss = np.abs(across - locus.c)
            if locus.twin is not None:
                miss = np.minimum(miss, np.abs(across - locus.twin))
        cost += np.minimum((miss / locus.sigma) ** 2, cap)
    return cost


def _numbers(piece: Circle | Line) -> tuple[float, float, float]:
    return (piece.nx, piece.ny, piece.c) if isinstance(piece, Line) else (piece.x, piece.y, piece.radius)


@lru_cache(maxsize=64)
def _pairs(count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    one, other = np.triu_indices(count, 1)
    return one, other


def _lines_meet(u: Array, v: Array, w: Array, i: NDArray[np.intp], j: NDArray[np.intp]) -> Array:
    cross = u[i] * v[j] - v[i] * u[j]
    met: Array = np.empty((len(i), 2))
    met[:, 0] = (w[i] * v[j] - w[j] * v[i]) / cross
    met[:, 1] = (u[i] * w[j] - u[j] * w[i]) / cross
    met[np.abs(cross) < PARALLEL] = np.nan
    return met


def _line_meets_circle(u: Array, v: Array, w: Array, line: NDArray[np.intp], circle: NDArray[np.intp]) -> Array:
    normal = np.stack((u[line], v[line]), axis=1)
    centre = np.stack((u[circle], v[circle]), axis=1)
    off = (normal * centre).sum(axis=1) - w[line]
    return _ends(centre - off[:, None] * normal, np.stack((-v[line], u[line]), axis=1), off, w[circle])


def _circles_meet(u: Array, v: Array, w: Array, i: NDArray[np.intp], j: NDArray[np.intp]) -> Array:
    step = np.stack((u[j] - u[i], v[j] - v[i]), axis=1)
    apart = np.hypot(step[:, 0], step[:, 1])
    along = (apart**2 + w[i] ** 2 - w[j] ** 2) / (2 * apart)
    unit = step / apart[:, None]
    foot = np.stack((u[i], v[i]), axis=1) + along[:, None] * unit
    met = _ends(foot, np.stack((-unit[:, 1], unit[:, 0]), axis=1), along, w[i])
    met[apart < CONCENTRIC] = np.nan
    return met


def _ends(foot: Array, direction: Array, off: Array, radius: Array) -> Array:
    """Both ends of chords, (chords, 2, 2); twice the foot where the two just miss each other."""
    square = radius**2 - off**2
    half = np.sqrt(np.maximum(square, 0.0))[:, None] * direction
    ends = np.stack((foot + half, foot - half), axis=1)
    ends[square < -((NEAR_MISS * radius) ** 2)] = np.nan
    return ends
