"""Our cubics against scipy's, which the program itself does not import: that alone takes a fifth of a second."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.interpolate import CubicSpline, PchipInterpolator
from scipy.stats import chi2, f

from sketcher.flow.coolant import _spline
from sketcher.flow.monotone import through
from sketcher.reference.quantiles import chi_square, f_ratio

values = st.floats(-1e3, 1e3).map(lambda x: round(x, 3))


@given(st.lists(st.tuples(st.floats(0.01, 50), values), min_size=2, max_size=12))
def test_the_monotone_curve_is_scipys(rows: list[tuple[float, float]]) -> None:
    x = np.cumsum([step for step, _ in rows])
    y = np.array([value for _, value in rows])
    ours, theirs = through(x.tolist(), y.tolist()), PchipInterpolator(x, y)
    scale = max(1.0, float(np.abs(y).max()))
    for place in np.linspace(x[0], x[-1], 37):
        value, slope = ours.at(float(place))
        assert value == pytest.approx(float(theirs(place)), abs=1e-9 * scale)
        assert slope == pytest.approx(float(theirs(place, 1)), abs=1e-6 * scale, rel=1e-6)
    assert ours.first[1] == pytest.approx(float(theirs(x[0], 1)), abs=1e-6 * scale, rel=1e-6)
    assert ours.last[1] == pytest.approx(float(theirs(x[-1], 1)), abs=1e-6 * scale, rel=1e-6)


@given(st.lists(st.tuples(st.floats(0.5, 20), values), min_size=5, max_size=15))
def test_the_spline_is_scipys(rows: list[tuple[float, float]]) -> None:
    x = np.cumsum([step for step, _ in rows])
    y = np.array([value for _, value in rows])
    places = np.linspace(x[0], x[-1], 53)
    theirs = CubicSpline(x, y)(places)
    assert _spline(x, y, places) == pytest.approx(theirs, abs=1e-7 * max(1.0, float(np.abs(theirs).max())))


@pytest.mark.parametrize("share", [0.05, 0.5, 0.95, 0.999])
@pytest.mark.parametrize("degrees", [1, 2, 7, 40])
def test_quantiles_are_scipys(share: float, degrees: int) -> None:
    assert chi_square(share, degrees) == pytest.approx(chi2.ppf(share, degrees), rel=1e-9)
    assert f_ratio(share, degrees, 5) == pytest.approx(f.ppf(share, degrees, 5), rel=1e-9)
