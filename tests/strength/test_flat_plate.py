"""Flat plates: scaling laws and clear errors."""

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPolygon, Polygon, box

from sketcher.strength.flat_plate import (
    PlateError,
    Span,
    largest_span,
    needed_thickness_mm,
    pressed_plate,
    span_of_channels,
)

SPAN = Span(40.0, 80.0, (0.0, 0.0))


@given(st.floats(1, 100), st.floats(1, 4), st.floats(1, 20), st.floats(0, 300))
def test_scaling(b, ratio, thickness, pressure):
    span = Span(b, b * ratio, (0, 0))
    one = pressed_plate(span, thickness, pressure, 3000, "simply supported")
    twice = pressed_plate(span, 2 * thickness, pressure, 3000, "simply supported")
    assert twice.stress_mpa == pytest.approx(one.stress_mpa / 4)
    assert twice.deflection_mm == pytest.approx(one.deflection_mm / 8)
    wider = pressed_plate(Span(2 * b, 2 * b * ratio, (0, 0)), thickness, pressure, 3000, "simply supported")
    assert wider.stress_mpa == pytest.approx(4 * one.stress_mpa)
    assert wider.deflection_mm == pytest.approx(16 * one.deflection_mm)


def test_needed_thickness_gives_just_the_stress():
    thickness = needed_thickness_mm(SPAN, 50.0, 5.0, "simply supported")
    assert pressed_plate(SPAN, thickness, 50.0, 3000, "simply supported").stress_mpa == pytest.approx(5.0)


@pytest.mark.parametrize(
    ("span", "thickness", "pressure", "modulus", "words"),
    [
        (SPAN, 0.0, 50.0, 3000.0, "thickness"),
        (SPAN, -3.0, 50.0, 3000.0, "thickness"),
        (SPAN, math.nan, 50.0, 3000.0, "thickness"),
        (Span(0.0, 0.0, (0, 0)), 5.0, 50.0, 3000.0, "span"),
        (SPAN, 5.0, -1.0, 3000.0, "pressure"),
        (SPAN, 5.0, 50.0, 0.0, "modulus"),
    ],
)
def test_impossible_plates(span, thickness, pressure, modulus, words):
    with pytest.raises(PlateError, match=words):
        pressed_plate(span, thickness, pressure, modulus, "fixed")


def test_range_of_the_formula_is_told():
    assert pressed_plate(SPAN, 5.0, 50.0, 3000, "simply supported").thin
    assert not pressed_plate(SPAN, 15.0, 50.0, 3000, "simply supported").thin
    assert not pressed_plate(SPAN, 1.0, 300.0, 3000, "simply supported").small_deflection


def test_the_worst_part_counts():
    found = largest_span(MultiPolygon([box(0, 0, 10, 100), box(20, 0, 50, 30)]))
    assert found is not None
    assert found.at == pytest.approx((35, 15), abs=0.5)
    assert largest_span(MultiPolygon()) is None


def channels(*lines: list[tuple[float, float]], width: float = 12) -> Polygon:
    found = shapely.union_all([LineString(line).buffer(width / 2, quad_segs=32) for line in lines])
    assert isinstance(found, Polygon)
    return found


#: By hand, as parts of the width: a bend of a strip with round ends is as wide as the strip; where two cross, a circle
#: touches four inner corners, √2/2 from its middle.
KNOWN = {
    "straight": ([[(0, 0), (90, 5)]], 0.5),
    "cross": ([[(-60, 0), (60, 0)], [(0, -60), (0, 60)]], math.sqrt(0.5)),
}


@pytest.mark.parametrize("name", KNOWN)
def test_where_channels_meet_the_largest_circle_is_wider(name):
    lines, share = KNOWN[name]
    span = span_of_channels(channels(*lines), 6.0, (45, 2.5) if name == "straight" else (30, 0))
    if math.isinf(span.a_mm):
        assert 0 <= span.b_mm / 2 - 12 * share < 0.08
    else:
        assert span.b_mm == pytest.approx(12, abs=0.02)
    if name == "cross":
        assert span.at == pytest.approx((0, 0), abs=0.05)


def test_the_square_corner_of_a_strip_is_wider_than_the_strip():
    square = shapely.union_all([box(-6, -6, 100, 6), box(-6, -6, 6, 100)])
    t = (math.sqrt(0.5) - 0.5) / (1 + math.sqrt(0.5)) * 12
    span = span_of_channels(square, 6.0, (50, 0))
    # Outer sides are 6 + t·√½ from a middle t inside the corner along its bisector, the inner corner 6·√2 - t.
    assert 6 + t * math.sqrt(0.5) == pytest.approx(6 * math.sqrt(2) - t)
    assert 0 <= span.b_mm / 2 - (6 + t * math.sqrt(0.5)) < 0.08


@given(st.lists(st.tuples(st.floats(0, 120), st.floats(0, 80)), min_size=2, max_size=6), st.floats(2, 14))
def test_it_finds_what_a_search_of_the_whole_finds(corners, width):
    """The second method: the largest inscribed circle of the whole, sought closely."""
    area = LineString(corners).buffer(width / 2)
    if area.is_empty or not isinstance(area, Polygon):
        return
    span = span_of_channels(area, width / 2, corners[0])
    if math.isinf(span.a_mm):
        circle = shapely.maximum_inscribed_circle(area, tolerance=0.02).length
        assert circle - 0.03 <= span.b_mm / 2 <= circle + 0.12
