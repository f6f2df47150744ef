"""Threads, notches and expansion: laws and errors."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sketcher.strength.expansion import bow_between_mm, fixed_hole, hole_moves
from sketcher.strength.thread_strength import (
    ThreadError,
    engaged_mm,
    holding_force_n,
    shear_from_torque_mpa,
    strip_area_mm2,
    thread_form,
)


@given(st.sampled_from(["M3", "M4", "M5", "G1/8", "G1/4", "G3/8"]), st.floats(0.5, 20), st.floats(1, 20))
def test_forces_and_torques_agree(name, engaged, stress):
    """T = K F d with the nut factor of dry screws, 0.2 (Bickford): the force that holds is half the design stress."""
    form = thread_form(name)
    force = holding_force_n(form, engaged, stress)
    torque = 0.2 * force * form.major_mm / 1000
    assert shear_from_torque_mpa(form, engaged, torque) == pytest.approx(stress / 2)


def test_errors_name_the_mend():
    with pytest.raises(ThreadError, match="G1/4"):
        thread_form("R1/4")
    with pytest.raises(ThreadError, match="above 0"):
        strip_area_mm2(thread_form("M4"), 0.0)


def test_run_out_is_taken_off():
    assert engaged_mm(thread_form("G1/4"), 10.0) == pytest.approx(10 - 1.337)
    assert engaged_mm(thread_form("G1/4"), 10.0, 5.0) == 5.0
    assert engaged_mm(thread_form("G1/4"), 1.0) == 0.0


def test_the_middle_hole_is_fixed_and_far_ones_are_slotted():
    places = {"A": (0.0, 0.0), "B": (150.0, 0.0), "C": (300.0, 0.0), "D": (170.0, 10.0)}
    assert fixed_hole(places) == "B"
    moves = {
        move.id: move
        for move in hole_moves(
            places,
            dict.fromkeys(places, 0.25),
            dict.fromkeys(places, 4.0),
            plate_per_k=75e-6,
            plate_k=[30.0, -10.0],
            floor_per_k=23.6e-6,
            floor_k=0.0,
        )
    }
    assert moves["B"].needs == "fixed"
    assert moves["D"].needs == "round"  # 22 mm: 0.05 mm of 0.25
    assert moves["A"].needs == "oversized"  # 150 mm · 75e-6 · 30 = 0.3375 mm
    assert moves["A"].move_mm == pytest.approx(0.3375)
    far = hole_moves(
        {"A": (0.0, 0.0), "B": (900.0, 0.0)},
        {"A": 0.25, "B": 0.25},
        {"A": 4.0, "B": 4.0},
        plate_per_k=75e-6,
        plate_k=[30.0],
        floor_per_k=23.6e-6,
        floor_k=0.0,
    )
    assert far[1].needs == "slotted"
    assert far[1].slot_length_mm == pytest.approx(4.0 + 2 * 900 * 75e-6 * 30 + 0.5, abs=0.06)
    assert hole_moves({}, {}, {}, plate_per_k=1, plate_k=[1], floor_per_k=1, floor_k=1) == []


@given(st.floats(0.01, 3), st.floats(50, 500), st.floats(5, 500))
def test_bow_is_the_sagitta_of_a_shallow_arc(flatness, length, pitch):
    pitch = min(pitch, length)
    radius = length**2 / (8 * flatness) + flatness / 2
    exact = radius - math.sqrt(radius**2 - (pitch / 2) ** 2)
    assert bow_between_mm(flatness, length, pitch) == pytest.approx(exact, rel=0.02)
