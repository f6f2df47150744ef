"""Quantiles of test statistics, by scipy's special functions: ``scipy.stats`` takes a third of a second to import."""

from __future__ import annotations


def chi_square(share: float, degrees: float) -> float:
    """The value that a chi-square of so many degrees of freedom stays below with this probability."""
    from scipy.special import chdtri  # it takes long to import, and a plate without readings needs none

    return float(chdtri(degrees, 1 - share))


def f_ratio(share: float, upper: float, lower: float) -> float:
    """The same of an F ratio with so many degrees of freedom above and below."""
    from scipy.special import fdtri

    return float(fdtri(upper, lower, share))
