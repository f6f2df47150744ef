"""Devices and pumps from points: through the points, without wiggles, sensible beyond them."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from sketcher.flow.curves import LEAST_SLOPE, device_curve
from sketcher.flow.heat import radiator_curve
from sketcher.flow.pumps import RunningPump, pump_curve

L_MIN = 1 / 60_000
POINTS = st.lists(st.tuples(st.floats(0, 1e-3), st.floats(0, 1e5)), max_size=8)


@given(POINTS)
def test_whatever_the_points_a_device_loses_more_with_more_flow(points):
    curve = device_curve(tuple(points))
    flows = np.concatenate([[0.0], np.geomspace(1e-9, 5e-3, 200)])
    losses = np.array([curve.loss(float(q)) for q in flows])
    assert np.isfinite(losses).all()
    assert (np.diff(losses[:, 0]) >= 0).all()
    assert (losses[:, 1] >= LEAST_SLOPE).all()
    assert curve.loss(-1e-4)[0] == -curve.loss(1e-4)[0]


def test_a_power_law_is_met_exactly():
    """p = a Q^1.8 from three of its points, at flows between and beyond them."""
    law = lambda q: 3e10 * q**1.8  # noqa: E731
    curve = device_curve(tuple((q * L_MIN, law(q * L_MIN)) for q in (1.0, 2.5, 6.0)))
    for q in (0.2, 1.0, 1.7, 4.0, 6.0, 9.0):
        assert curve.loss(q * L_MIN)[0] == pytest.approx(law(q * L_MIN), rel=1e-9)
        assert curve.loss(q * L_MIN)[1] == pytest.approx(1.8 * law(q * L_MIN) / (q * L_MIN), rel=1e-9)
    assert curve.covers(5 * L_MIN)
    assert not curve.covers(7 * L_MIN)


def test_points_are_met_and_there_is_no_wiggle_between_them():
    points = tuple((q * L_MIN, p) for q, p in ((1, 900.0), (2, 3100.0), (3, 3300.0), (4, 10800.0), (6, 22400.0)))
    curve = device_curve(points)
    for q, p in points:
        assert curve.loss(q)[0] == pytest.approx(p, rel=1e-9)
    for (q0, p0), (q1, p1) in pairwise(points):
        between = [curve.loss(float(q))[0] for q in np.linspace(q0, q1, 30)]
        assert p0 * (1 - 1e-9) <= min(between) <= max(between) <= p1 * (1 + 1e-9)


def test_beyond_its_points_a_curve_is_neither_flatter_than_laminar_nor_steeper_than_turbulent():
    """Points that would be extended as Q^0.4 and as Q^5 go on as Q and as Q²."""
    flat = device_curve(((1 * L_MIN, 1000.0), (2 * L_MIN, 1320.0)))
    assert flat.loss(4 * L_MIN)[0] == pytest.approx(2 * 1320.0, rel=1e-6)
    steep = device_curve(((1 * L_MIN, 100.0), (2 * L_MIN, 3200.0)))
    assert steep.loss(4 * L_MIN)[0] == pytest.approx(4 * 3200.0, rel=1e-6)


@given(POINTS, st.floats(0.05, 1.5))
def test_whatever_the_points_a_pump_gives_less_with_more_flow(points, speed):
    curve = pump_curve(tuple(points))
    flows = np.concatenate([-np.geomspace(1e-3, 1e-9, 60), [0.0], np.geomspace(1e-9, 5e-3, 200)])
    rows = np.array([RunningPump(curve, speed).loss(float(q)) for q in flows])
    assert np.isfinite(rows).all()
    assert (np.diff(rows[:, 0]) >= -1e-9 * np.abs(rows[:, 0]).max()).all()
    assert (rows[:, 1] > 0).all() == curve.known


def test_pump_points_are_met_and_speeds_follow_the_affinity_laws():
    points = tuple((q * L_MIN, p * 1000) for q, p in ((0, 42), (3, 40), (6, 34), (9, 25), (12, 13), (14, 0)))
    curve = pump_curve(points)
    for q, p in points:
        assert curve.pressure(q)[0] == pytest.approx(p, rel=1e-9, abs=1e-6)
        assert curve.pressure(q / 2, 0.5)[0] == pytest.approx(p / 4, rel=1e-9, abs=1e-6)
    assert curve.pressure(16 * L_MIN)[0] < 0 < curve.shut_off < curve.pressure(-1 * L_MIN)[0]


def test_one_pump_point_is_epanets_parabola():
    """EPANET 2.2 manual: with one point, shut-off at 133 % of its head and the largest flow at twice its flow."""
    curve = pump_curve(((5 * L_MIN, 30_000.0),))
    assert curve.pressure(0)[0] == pytest.approx(40_000, rel=1e-9)
    assert curve.pressure(5 * L_MIN)[0] == pytest.approx(30_000, rel=1e-9)
    assert curve.pressure(10 * L_MIN)[0] == pytest.approx(0, abs=1e-6)
    assert curve.pressure(7.7 * L_MIN)[0] == pytest.approx(40_000 * (1 - 0.77**2), rel=0.005)


def test_a_pumps_two_ends_are_a_parabola_and_it_is_said():
    """By hand: 40 kPa at no flow and 10 l/min at no pressure, so 40 · (1 − 0.5²) = 30 kPa at half the flow."""
    curve = pump_curve(((10 * L_MIN, 0.0), (0.0, 40_000.0)))
    assert curve.pressure(0)[0] == pytest.approx(40_000, rel=1e-9)
    assert curve.pressure(5 * L_MIN)[0] == pytest.approx(30_000, rel=1e-9)
    assert curve.pressure(10 * L_MIN)[0] == pytest.approx(0, abs=1e-6)
    assert any("parabola" in one for one in curve.remarks)
    # Two points that are no ends are as they are.
    assert not pump_curve(((2 * L_MIN, 30_000.0), (10 * L_MIN, 5_000.0))).remarks


@given(st.lists(st.tuples(st.floats(1e-6, 1e-3), st.floats(0.01, 1000)), max_size=6))
def test_a_radiator_never_gives_off_more_than_the_water_carries(points):
    curve = radiator_curve(tuple(points))
    for q in np.geomspace(1e-8, 5e-3, 80):
        given_off = curve.conductance(float(q), 4e6)
        assert 0 <= given_off <= 4e6 * q * (1 + 1e-12)


def test_radiator_points_are_met():
    """With the water they were measured with; and with thinner heat carried, a little less."""
    points = ((1 * L_MIN, 23.0), (2 * L_MIN, 27.5), (4 * L_MIN, 32.0), (8 * L_MIN, 34.6))
    curve = radiator_curve(points)
    for q, g in points:
        assert curve.conductance(q, 994.0 * 4178.0) == pytest.approx(g, rel=1e-9)
        assert 0.9 * g < curve.conductance(q, 1010.0 * 3700.0) < g
