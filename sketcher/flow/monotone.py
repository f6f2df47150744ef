"""A curve through points that never wiggles: between two points it stays between their values."""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class MonotoneCubic:
    """Cubics between points (Fritsch and Carlson, SIAM J. Numer. Anal. 17, 1980).

    Attributes:
        x: the points' places, rising.
        first, last: value and slope at both ends.
        cubics: coefficients of each piece, highest power first, from its left end.
    """

    x: tuple[float, ...]
    first: tuple[float, float]
    last: tuple[float, float]
    cubics: tuple[tuple[float, ...], ...]

    def at(self, x: float) -> tuple[float, float]:
        """Value and slope between the ends."""
        i = min(max(bisect.bisect_right(self.x, x) - 1, 0), len(self.cubics) - 1)
        d = x - self.x[i]
        c3, c2, c1, c0 = self.cubics[i]
        return c0 + d * (c1 + d * (c2 + d * c3)), c1 + d * (2 * c2 + 3 * d * c3)


def through(xs: Sequence[float], ys: Sequence[float]) -> MonotoneCubic:
    """The curve through points whose places rise; through one alone it is level."""
    if len(xs) == 1:
        end = (float(ys[0]), 0.0)
        return MonotoneCubic((float(xs[0]),), end, end, ())
    x, y = np.array(xs, dtype=float), np.array(ys, dtype=float)
    # Values many powers of ten apart overflow on the way to a slope of 0.
    with np.errstate(over="ignore", under="ignore", divide="ignore", invalid="ignore"):
        step = np.diff(x)
        rise = np.diff(y) / step
        slope = _slopes(step, rise)
        squares = (3 * rise - 2 * slope[:-1] - slope[1:]) / step
        cubes = (slope[:-1] + slope[1:] - 2 * rise) / step**2
    ends = [(float(y[i]), float(slope[i])) for i in (0, -1)]
    rows = np.column_stack([cubes, squares, slope[:-1], y[:-1]])
    cubics = tuple(tuple(float(c) for c in row) for row in rows)
    return MonotoneCubic(tuple(float(place) for place in x), ends[0], ends[1], cubics)


def _slopes(step: Array, rise: Array) -> Array:
    """The slope at each point: a weighted harmonic mean of its neighbours', 0 where they differ in sign (Fritsch and
    Butland, SIAM J. Sci. Stat. Comput. 5, 1984); at the ends by three points, kept from overshooting (Moler,
    Numerical Computing with MATLAB, 3.6)."""
    if len(rise) == 1:
        return np.repeat(rise, 2)
    one, other = 2 * step[1:] + step[:-1], step[1:] + 2 * step[:-1]
    inner = np.where(rise[1:] * rise[:-1] > 0, (one + other) / (one / rise[:-1] + other / rise[1:]), 0.0)
    return np.concatenate(
        [[_end(step[0], step[1], rise[0], rise[1])], inner, [_end(step[-1], step[-2], rise[-1], rise[-2])]]
    )


def _end(step: float, beyond: float, rise: float, following: float) -> float:
    found = ((2 * step + beyond) * rise - step * following) / (step + beyond)
    if np.sign(found) != np.sign(rise):
        return 0.0
    if np.sign(rise) != np.sign(following) and abs(found) > 3 * abs(rise):
        return 3 * rise
    return float(found)
