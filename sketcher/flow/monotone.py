"""A curve through points that never wiggles: between two points it stays between their values."""

from __future__ import annotations

import bisect
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import PchipInterpolator


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
    # Values many powers of ten apart overflow on the way to a slope of 0.
    with np.errstate(over="ignore", under="ignore"):
        fit = PchipInterpolator(np.array(xs), np.array(ys))
        slope = fit.derivative()
    ends = [(float(ys[i]), float(slope(xs[i]))) for i in (0, -1)]
    cubics = tuple(tuple(float(c) for c in column) for column in np.asarray(fit.c).T)
    return MonotoneCubic(tuple(float(x) for x in xs), ends[0], ends[1], cubics)
