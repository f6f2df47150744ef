"""Error ellipses: the region a point lies in with a given chance, from its covariance.

Source: Ghilani, Adjustment Computations, chapter 19. The 95 % region of a plane point whose spread is known is the
standard ellipse enlarged by the root of the chi-square quantile of two degrees of freedom, 2.4477.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sketcher.survey.readings_network import Array

SCALE_95 = math.sqrt(-2.0 * math.log(0.05))
"""For two degrees of freedom the chi-square distribution is 1 - exp(-q/2), so the quantile has a closed form."""


@dataclass(frozen=True)
class Ellipse:
    """Standard error ellipse (one sigma), mm; ``turn_deg`` is the major axis from x, counter-clockwise, -90 to 90."""

    semi_major: float
    semi_minor: float
    turn_deg: float

    @property
    def semi_major_95(self) -> float:
        """Semi-major axis of the 95 % region."""
        return SCALE_95 * self.semi_major

    @property
    def semi_minor_95(self) -> float:
        """Semi-minor axis of the 95 % region."""
        return SCALE_95 * self.semi_minor


def of_covariance(covariance: Array) -> Ellipse:
    """The standard ellipse of a (2, 2) covariance."""
    xx, xy, yy = float(covariance[0, 0]), float(covariance[0, 1]), float(covariance[1, 1])
    middle, half = (xx + yy) / 2, math.hypot((xx - yy) / 2, xy)
    turn = 0.5 * math.degrees(math.atan2(2 * xy, xx - yy)) if half > 0 else 0.0
    return Ellipse(math.sqrt(max(middle + half, 0.0)), math.sqrt(max(middle - half, 0.0)), turn)


def sigma_along(covariance: Array, direction: tuple[float, float]) -> float:
    """Spread of a point in a direction (need not be of unit length), from its (2, 2) covariance."""
    d = np.asarray(direction, dtype=float)
    length = float(np.hypot(*d))
    if length == 0.0:
        raise ValueError("a direction needs a length")
    d = d / length
    return math.sqrt(max(float(d @ covariance @ d), 0.0))


def contains(covariance: Array, offset: Array, scale: float = SCALE_95) -> bool:
    """Whether an offset from the adjusted place lies within the ellipse enlarged by ``scale``."""
    values, vectors = np.linalg.eigh(covariance)
    along = vectors.T @ offset
    inside = np.where(values > 1e-18, along**2 / np.maximum(values, 1e-18), np.where(np.abs(along) < 1e-9, 0.0, np.inf))
    return bool(np.sum(inside) <= scale**2)
