"""Plots: round numbers on the axes, points where they belong."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sketcher.drawing.plots import HEIGHT, LEFT, TOP, Line, Plot, plot_svg, ticks

SVG = "{http://www.w3.org/2000/svg}"


@given(low=st.floats(-50, 50), reach=st.floats(1e-3, 1e4))
def test_ticks_are_few_round_and_cover_the_range(low: float, reach: float) -> None:
    found = ticks(low, low + reach)
    assert found[0] <= low + 1e-6 * reach
    assert found[-1] >= low + reach - 1e-6 * reach
    assert 2 <= len(found) <= 9
    step = found[1] - found[0]
    mantissa = float(f"{step:.6e}".split("e")[0])
    assert any(mantissa == pytest.approx(times) for times in (1, 2, 5, 10))


def test_the_corners_of_the_axes_are_the_ends_of_the_line() -> None:
    plot = Plot("A line", "x", "y", (Line("one", [(0, 10), (10, 0)]), Line("two", [(0, 0), (10, 10)])), (5, 5), "here")
    root = ET.fromstring(plot_svg(plot))
    first, second = (path.get("d") for path in root.iter(f"{SVG}path"))
    assert first.startswith(f"M{LEFT:g} {TOP:g}L")
    assert second.startswith(f"M{LEFT:g} {HEIGHT - 38:g}L")
    words = [text.text for text in root.iter(f"{SVG}text")]
    assert {"one", "two", "here", "x", "y", "0", "10"} <= set(words)


def test_a_plot_of_nothing_is_a_plot() -> None:
    root = ET.fromstring(plot_svg(Plot("Nothing", "x", "y", ())))
    assert root.tag == f"{SVG}svg"
