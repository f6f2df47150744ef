"""Flat plates: scaling laws and clear errors."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import MultiPolygon, box

from sketcher.strength.flat_plate import PlateError, Span, largest_span, needed_thickness_mm, pressed_plate

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
