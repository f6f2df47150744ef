"""Groove in section: algebra, ranges, clear errors."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sketcher.strength.gland import (
    SealError,
    design_gland,
    fill_of,
    groove_cutter_mm,
    line_load_n_mm,
    squeeze_of,
)


def test_definition_of_squeeze():
    # "A section of 2.0 mm pressed to 1.5 mm is 25 %": the definition's own example in O-ring handbooks.
    assert squeeze_of(2.0, 1.5) == pytest.approx(0.25)


@given(
    cord=st.floats(1.0, 7.0),
    squeeze=st.floats(0.15, 0.35),
    fill=st.floats(0.6, 0.85),
)
def test_the_drawn_sizes_give_back_squeeze_and_fill(cord, squeeze, fill):
    gland = design_gland(cord, squeeze=squeeze, fill=fill, cord_tolerance_mm=0.05)
    assert gland.squeeze.nominal == pytest.approx(squeeze, abs=0.006 / cord)  # depth on the drawing to 0.01 mm
    assert gland.fill.nominal == pytest.approx(fill, rel=0.026 / gland.width_mm + 0.006 / gland.depth_mm)
    assert gland.squeeze.least < gland.squeeze.nominal < gland.squeeze.most
    assert gland.fill.least < gland.fill.nominal < gland.fill.most
    assert gland.centreline_radius_mm - gland.width_mm / 2 == pytest.approx(3 * cord)


def test_fill_is_area_over_area():
    assert fill_of(2.0, 1.5, 2.8) == pytest.approx(math.pi / (1.5 * 2.8))


@given(st.floats(0.01, 0.49), st.floats(30, 90))
def test_force_rises_with_squeeze_and_hardness(squeeze, shore):
    force = line_load_n_mm(2.0, squeeze, shore)
    assert force < line_load_n_mm(2.0, squeeze + 0.01, shore)
    assert force < line_load_n_mm(2.0, squeeze, shore + 1)
    assert 2 * force == pytest.approx(line_load_n_mm(4.0, squeeze, shore))


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        ({"cord_mm": 0.0}, "section"),
        ({"cord_mm": math.nan}, "section"),
        ({"cord_mm": -2.0}, "section"),
        ({"cord_mm": 2.0, "squeeze": -0.1}, "squeeze"),
        ({"cord_mm": 2.0, "squeeze": 0.0}, "squeeze"),
        ({"cord_mm": 2.0, "fill": 1.2}, "fill"),
        ({"cord_mm": 2.0, "fill": 0.0}, "fill"),
        ({"cord_mm": 2.0, "cord_tolerance_mm": -0.1}, "tolerance"),
        ({"cord_mm": 2.0, "cord_tolerance_mm": 1.5}, "tolerance"),
        ({"cord_mm": 2.0, "hardness_shore_a": 120.0}, "Shore A"),
    ],
)
def test_impossible_seals_say_which_figure_is_wrong(arguments, words):
    with pytest.raises(SealError, match=words):
        design_gland(**arguments)


def test_cutter():
    gland = design_gland(2.0)
    assert groove_cutter_mm(gland, (1.0, 2.0, 2.5, 3.0)) == 2.5
    assert groove_cutter_mm(gland, (3.0, 4.0)) is None
