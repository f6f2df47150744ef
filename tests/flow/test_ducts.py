"""What must hold for every way: more room never costs, more length never saves, more flow always costs more."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from sketcher.flow.ducts import BendIn, Duct, Ducts

#: From a wisp to a flood, m³/s, and from hot water to cold syrup, Pa s.
FLOWS = st.floats(1e-9, 5e-4)
VISCOSITIES = st.floats(3e-4, 0.2)
SIZES = st.floats(1e-3, 40e-3)
#: Angle and radius of a bend, degrees and m.
BENDS = st.lists(st.tuples(st.floats(1, 180), st.floats(0, 60e-3)), max_size=3)


def way(width, depth, length, bends, **more):
    turned = tuple(BendIn(angle, radius / width) for angle, radius in bends)
    return Duct(width, depth, length, roughness=5e-6, bends=turned, **more)


def loss(duct, flow, viscosity):
    return float(Ducts([duct]).loss(np.array([flow]), 1000.0, np.array([viscosity]))[0][0])


@given(SIZES, SIZES, st.floats(1.0, 3.0), st.floats(1e-3, 1.0), FLOWS, VISCOSITIES, BENDS)
def test_wider_and_deeper_never_lose_more(width, depth, factor, length, flow, viscosity, bends):
    """At the same flow; bends keep their radius in mm, so that they tighten as the way widens."""
    now = loss(way(width, depth, length, bends), flow, viscosity)
    assert loss(way(width * factor, depth, length, bends), flow, viscosity) <= now * (1 + 1e-9)
    assert loss(way(width, depth * factor, length, bends), flow, viscosity) <= now * (1 + 1e-9)


@given(SIZES, SIZES, st.floats(1.0, 10.0), st.floats(1e-3, 1.0), FLOWS, VISCOSITIES, BENDS)
def test_longer_never_loses_less(width, depth, factor, length, flow, viscosity, bends):
    now = loss(way(width, depth, length, bends), flow, viscosity)
    assert loss(way(width, depth, length * factor, bends), flow, viscosity) >= now * (1 - 1e-9)


@given(SIZES, SIZES, st.floats(1e-3, 1.0), VISCOSITIES, BENDS, st.floats(0, 3), st.floats(0, 1000))
def test_more_flow_always_costs_more_and_the_slope_is_the_curves(width, depth, length, viscosity, bends, k, low):
    duct = way(width, depth, length, bends, k_forward=k, k_backward=k / 2, low_forward=low, inlet_low_forward=low)
    flow = np.concatenate([-np.geomspace(5e-4, 1e-9, 60), [0.0], np.geomspace(1e-9, 5e-4, 60)])
    ducts = Ducts([duct] * len(flow))
    mu = np.full(len(flow), viscosity)
    pressure, slope = ducts.loss(flow, 1000.0, mu)
    assert (np.diff(pressure) > 0).all()
    assert (slope > 0).all()
    assert pressure[60] == 0
    up, down = (ducts.loss(flow * (1 + sign * 1e-6), 1000.0, mu)[0] for sign in (1, -1))
    measured = (up - down) / (2e-6 * np.where(flow == 0, 1, flow))
    # a kink, where one law takes over from another, may lie within the difference: it then lies between the slopes
    smooth = np.abs(measured - slope) <= 1e-3 * slope
    assert smooth[flow != 0].mean() > 0.95


@given(SIZES, SIZES, FLOWS, VISCOSITIES)
def test_a_square_way_and_its_turned_self_lose_the_same(width, depth, flow, viscosity):
    one, other = loss(way(width, depth, 0.2, []), flow, viscosity), loss(way(depth, width, 0.2, []), flow, viscosity)
    assert abs(one - other) <= 1e-9 * one
