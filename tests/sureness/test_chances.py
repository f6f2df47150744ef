"""Chances within circles against closed forms, published constants and plain counting."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import ncx2

from sketcher.sureness.chances import all_within, within

#: Radii of a centred round normal spread in σ, by the chance within: the circular error probable and its kin,
#: sqrt(-2 ln(1 - p)); tables of the chi-square distribution with two degrees of freedom give the squares.
CIRCULAR = [(0.5, 1.1774), (0.9, 2.1460), (0.95, 2.4477), (0.99, 3.0349)]


@pytest.mark.parametrize(("chance", "radius"), CIRCULAR)
def test_a_round_spread_has_the_published_circles(chance: float, radius: float) -> None:
    for sigma in (0.01, 1.0, 40.0):
        found = within(np.zeros(2), np.eye(2) * sigma**2, radius * sigma)
        assert math.isclose(found, chance, abs_tol=1e-4)


@given(st.floats(0.05, 5), st.floats(0, 8), st.floats(0, 2 * math.pi), st.floats(0.05, 8))
def test_off_centre_it_is_the_noncentral_chi_square(sigma: float, away: float, angle: float, radius: float) -> None:
    mean = away * np.array([math.cos(angle), math.sin(angle)])
    expected = float(ncx2.cdf((radius / sigma) ** 2, 2, (away / sigma) ** 2))
    assert math.isclose(within(mean, np.eye(2) * sigma**2, radius), expected, abs_tol=2e-5)


def test_long_spreads_and_correlated_ones_agree_with_counting() -> None:
    chance = np.random.default_rng(3)
    for k in range(12):
        factor = chance.normal(size=(2, 2)) * (1, 0.05 + 0.2 * k)
        mean = chance.normal(size=2) * 0.5
        draws = chance.normal(size=(200_000, 2)) @ factor.T + mean
        counted = float((np.hypot(*draws.T) <= 1.3).mean())
        assert abs(within(mean, factor @ factor.T, 1.3) - counted) < 4.5 * math.sqrt(0.25 / 200_000)


def test_independent_landings_multiply_and_bound_ones_do_not() -> None:
    one = within(np.array([0.3, 0.0]), np.eye(2) * 0.25, 1.0)
    mean = np.array([[0.3, 0.0]] * 5)
    apart = all_within(mean, np.eye(10) * 0.25, np.ones(5))
    assert abs(apart - one**5) < 0.01
    shared = np.kron(np.ones((5, 5)), np.eye(2)) * 0.25
    assert abs(all_within(mean, shared, np.ones(5)) - one) < 0.01


def test_no_spread_at_all_is_a_yes_or_a_no() -> None:
    assert within(np.zeros(2), np.zeros((2, 2)), 0.5) > 0.999999
    assert within(np.array([0.6, 0.0]), np.zeros((2, 2)), 0.5) == 0.0
    assert within(np.zeros(2), np.eye(2), 0.0) == 0.0
    assert all_within(np.zeros((2, 2)), np.zeros((4, 4)), np.ones(2)) == 1.0
