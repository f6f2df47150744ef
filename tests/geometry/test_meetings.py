"""Meetings of lines and circles lie on both, by the equations of lines and circles; and shapely finds the same."""

import math

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from sketcher.geometry.meetings import circles, line_and_circle, lines

places = st.tuples(st.floats(-100, 100), st.floats(-100, 100))
angles = st.floats(0, 2 * math.pi)
radii = st.floats(0.5, 80)


def far(at, angle, reach=1000.0):
    ux, uy = math.cos(angle), math.sin(angle)
    return shapely.LineString([(at[0] - reach * ux, at[1] - reach * uy), (at[0] + reach * ux, at[1] + reach * uy)])


@given(places, angles, places, angles)
def test_lines_meet_where_shapely_says(a, one, b, other):
    assume(abs(math.sin(one - other)) > 0.3)
    met = lines(a, (math.cos(one), math.sin(one)), b, (3 * math.cos(other), 3 * math.sin(other)))
    wanted = far(a, one).intersection(far(b, other))
    assert met == pytest.approx((wanted.x, wanted.y), abs=1e-6)


def test_parallel_lines_do_not_meet():
    assert lines((0, 0), (1, 2), (5, 0), (2, 4)) is None
    assert lines((0, 0), (1, 0), (5, 0), (1, 0.01), parallel=0.05) is None
    assert lines((0, 0), (1, 0), (5, 0), (0, 0)) is None


@given(places, angles, places, radii)
def test_a_line_meets_a_circle_on_both(start, angle, centre, radius):
    chord = line_and_circle(start, (2 * math.cos(angle), 2 * math.sin(angle)), centre, radius)
    distance = far(start, angle).distance(shapely.Point(centre))
    assert chord.off == pytest.approx(distance, abs=1e-6)
    assume(abs(distance - radius) > 1e-3)
    if distance > radius:
        assert chord.half == 0
        return
    assert len(chord.ends) == 2
    for end in chord.ends:
        assert math.dist(end, centre) == pytest.approx(radius, abs=1e-9)
        assert far(start, angle).distance(shapely.Point(end)) < 1e-6


@given(places, radii, places, radii)
def test_circles_meet_on_both(a, one, b, other):
    apart = math.dist(a, b)
    assume(apart > 1e-3)
    assume(min(abs(apart - one - other), abs(apart - abs(one - other))) > 1e-3)
    chord = circles(a, one, b, other)
    assert chord is not None
    if abs(one - other) < apart < one + other:
        assert len(chord.ends) == 2
        for end in chord.ends:
            assert math.dist(end, a) == pytest.approx(one, abs=1e-6)
            assert math.dist(end, b) == pytest.approx(other, abs=1e-6)
    else:
        assert chord.half == 0
    assert circles(a, one, a, other) is None


def test_touching_circles_meet_once():
    # 3-4-5: centres 5 apart, radii 2 and 3.
    chord = circles((0, 0), 2, (3, 4), 3)
    assert chord is not None
    assert chord.ends == [pytest.approx((1.2, 1.6))]
