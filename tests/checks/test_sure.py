"""Findings of how sure: the chance that all tubes land against what is asked, and ties that name nothing."""

from __future__ import annotations

import math

import pytest

from tests.checks.plates import found, plate

#: Every spread is nothing but the shop's; a fitting forgives a circle and no angle.
NOTHING = {
    "hardware_mm": 0, "part_mm": 0, "standoff_mm": 0, "seating_mm": 0, "bow_mm": 0, "warming_k": 0,
    "landing_angle_deg": 0,
}  # fmt: skip
BLOCK = {"id": "D1", "kind": "block", "x_mm": 100, "y_mm": 150, "z_mm": 90, "ports": [{"id": "in"}]}


def one_tube(radius: float, sigma: float = 0.4, **more):
    spreads = {**NOTHING, "making_mm": sigma, "landing_offset_mm": radius}
    return plate(
        ports=[{"id": "P1", "x_mm": 100, "y_mm": 150, "serves": "D1.in"}], devices=[BLOCK], spreads=spreads, **more
    )


def test_one_round_spread_misses_as_often_as_rayleigh_says() -> None:
    """Within r of a round normal spread: 1 - exp(-r² / 2 σ²), which is 95 % at 2.4477 σ (chi-square, 2 degrees)."""
    assert not found(one_tube(2.46 * 0.4), "landing-chance")
    (finding,) = found(one_tube(2.43 * 0.4), "landing-chance")
    assert finding.items == ("P1",)
    assert finding.level == "warning"
    assert finding.value == pytest.approx(100 * (1 - math.exp(-(2.43**2) / 2)), abs=0.05)
    assert finding.limit == 95.0


def test_assumed_spreads_are_a_note_and_say_so() -> None:
    """Without a word on spreads the usual ones count; a tube 3 mm out of line is only a note."""
    document = plate(ports=[{"id": "P1", "x_mm": 103, "y_mm": 150, "serves": "D1.in"}], devices=[BLOCK])
    (finding,) = found(document, "landing-chance")
    assert finding.level == "note"
    assert "assumed" in finding.remedy


@pytest.mark.parametrize(
    ("tie", "says"), [({"item": "X9", "points": ["A"]}, "X9"), ({"item": "D1", "points": ["A", "Z"]}, "'Z'")]
)
def test_a_tie_to_nothing_is_named(tie, says) -> None:
    survey = {"points": [{"id": "A"}, {"id": "B"}]}
    (finding,) = found(one_tube(2.0, ties=[tie], survey=survey), "tie-unknown")
    assert finding.items == (tie["item"],)
    assert says in finding.message
    good = {"item": "D1", "points": ["A", "B"]}
    assert not found(one_tube(2.0, ties=[good], survey=survey), "tie-unknown")
