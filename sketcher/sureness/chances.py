"""Chances: of one normal landing within a circle, and of many together."""

from __future__ import annotations

import math
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: No chance is stated above this: the model knows its spreads no better.
HIGHEST = 0.9999
#: Points of the quadrature over one circle, and of the joint integration (a power of two).
_NODES, _POINTS_LOG2 = 80, 12
_SEED = 20
_LEAST_MM = 1e-6


def within(mean: Array, covariance: Array, radius_mm: float) -> float:
    """Chance that a normal point in the plane lies within a circle about the origin.

    Args:
        mean: (2,) mm.
        covariance: (2, 2) mm².
        radius_mm: of the circle.

    The density is integrated along one principal axis by Gauss and Legendre, in closed form along the other; for a
    centred, round spread this is Rayleigh's 1 - exp(-r²/2σ²).
    """
    from scipy.special import ndtr  # what takes long to import waits until somebody asks for a chance

    if radius_mm <= 0:
        return 0.0
    values, vectors = np.linalg.eigh(covariance)
    sigma = np.sqrt(np.clip(values, 0.0, None)).clip(_LEAST_MM)
    a, b = (float(value) for value in vectors.T @ mean)
    wide, narrow = float(sigma[1]), float(sigma[0])
    low, high = max(-radius_mm, b - 9 * wide), min(radius_mm, b + 9 * wide)
    if low >= high:
        return 0.0
    nodes, weights = _legendre()
    at = (high + low) / 2 + (high - low) / 2 * nodes
    half = np.sqrt(np.clip(radius_mm**2 - at**2, 0.0, None))
    along = np.exp(-(((at - b) / wide) ** 2) / 2) / (wide * math.sqrt(2 * math.pi))
    across = ndtr((half - a) / narrow) - ndtr((-half - a) / narrow)
    return float(min(max((high - low) / 2 * (weights * along * across).sum(), 0.0), 1.0))


@lru_cache(maxsize=1)
def _legendre() -> tuple[Array, Array]:
    nodes, weights = np.polynomial.legendre.leggauss(_NODES)
    return nodes, weights


@lru_cache(maxsize=32)
def _normals(dimension: int) -> Array:
    """Evenly spread standard normal points, one a column: (dimension, count), always the same."""
    from scipy.special import ndtri
    from scipy.stats import qmc  # a third of a second, and only needed here

    points = qmc.Sobol(dimension, scramble=True, seed=_SEED).random_base2(_POINTS_LOG2)
    return np.ascontiguousarray(ndtri(points.clip(1e-12, 1 - 1e-12)).T)


def all_within(mean: Array, covariance: Array, radii_mm: Array) -> float:
    """Chance that n points of the plane, normal together, all lie within their circles.

    Args:
        mean: (n, 2) mm.
        covariance: (2n, 2n) mm².
        radii_mm: (n,).

    Quasi-Monte Carlo with 4,096 scrambled Sobol points: good to about half a percent.
    """
    count = len(mean)
    if count == 0:
        return 1.0
    if count == 1:
        return within(mean[0], covariance, float(radii_mm[0]))
    values, vectors = np.linalg.eigh(covariance)
    if float(values.max()) <= 1e-12:
        return float(np.all(np.hypot(*mean.T) <= radii_mm))
    # The symmetric root changes little when the covariance does: two plates that hardly differ then share the error of
    # the integration, and which of them is surer comes out right.
    root = (vectors * np.sqrt(np.clip(values, 0.0, None))) @ vectors.T
    draws = root @ _normals(2 * count)
    x, y = draws[0::2] + mean[:, :1], draws[1::2] + mean[:, 1:]
    landed = (x * x + y * y <= (radii_mm**2)[:, None]).all(axis=0)
    return float(landed.mean())
