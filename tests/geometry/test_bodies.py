"""Bodies in space: a bound on what is between two of them is never more than that."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from sketcher.geometry.bodies import Body, apart_along, from_frame, gap
from sketcher.geometry.placement import Frame

ANGLES = st.sampled_from([0.0, 20.0, 45.0, 90.0]) | st.floats(0, 360)


def turned(yaw: float, tilt: float) -> np.ndarray:
    """Axes as columns: turned about z, and then tilted about their own first axis."""
    c, s, ct, st_ = (f(math.radians(a)) for a in (yaw, tilt) for f in (math.cos, math.sin))
    return np.array([[c, -s, 0.0], [s, c, 0.0], [0.0, 0.0, 1.0]]) @ np.array(
        [[1.0, 0.0, 0.0], [0.0, ct, -st_], [0.0, st_, ct]]
    )


@st.composite
def bodies(draw: st.DrawFn) -> tuple[Body, np.ndarray]:
    """A block with a corner cut away, somewhere near the origin, with its axes."""
    long, wide, high = (draw(st.floats(1, 60)) for _ in range(3))
    plan = np.array([(0, 0), (long, 0), (long, wide / 2), (long / 2, wide / 2), (long / 2, wide), (0, wide)])
    axes = turned(draw(ANGLES), draw(ANGLES))
    origin = np.array([draw(st.floats(-80, 80)) for _ in range(3)])
    corners = np.vstack([np.column_stack([plan, np.full(6, w)]) for w in (0.0, high)])
    shadow = shapely.MultiPoint((origin + corners @ axes.T)[:, :2]).convex_hull
    return from_frame("B", "device", Frame(origin, axes), plan, (0.0, high), shadow), axes


@given(bodies(), bodies())
def test_what_is_between_two_bodies_along_a_direction_is_never_more_than_their_gap(
    one: tuple[Body, np.ndarray], other: tuple[Body, np.ndarray]
) -> None:
    between = gap(one[0], other[0]).value
    for axis in one[1].T:
        bound = apart_along(one[0], other[0], axis)
        assert bound == pytest.approx(apart_along(other[0], one[0], axis), abs=1e-9)
        if bound > 0:  # bodies that overlap are asked for the way out over few directions alone
            assert bound <= between + 1e-5
