"""Comparison: what is gone, new, moved and changed, and nothing else."""

from __future__ import annotations

import math
import xml.etree.ElementTree as ET

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sketcher.document import from_plain, to_plain
from sketcher.drawing.compare import differences, overlay_svg
from sketcher.geometry import build
from tests.checks.plates import channel, circle, plate

BEFORE = plate(
    ports=[{"id": "P1", "x_mm": 100, "y_mm": 150}, {"id": "P2", "x_mm": 200, "y_mm": 150}],
    channels=[channel("C1", start="P1", end="P2")],
    cutouts=[{"id": "K1", "outline": circle(300, 150, 20)}],
)


def changed(**parts):
    return from_plain({**to_plain(BEFORE), **parts})


def test_the_same_plate_has_no_differences() -> None:
    assert differences(BEFORE, BEFORE) == []


def test_each_difference_is_named_once_with_its_kind() -> None:
    after = changed(
        ports=[{"id": "P1", "x_mm": 101.5, "y_mm": 148}, {"id": "P2", "x_mm": 200, "y_mm": 150, "thread": "G3/8"}],
        cutouts=[{"id": "K2", "outline": circle(300, 150, 20)}],
        name="another",
    )
    found = {difference.id: difference for difference in differences(BEFORE, after)}
    assert set(found) == {"P1", "P2", "K1", "K2", "name"}
    assert (found["P1"].what, found["P1"].dx_mm, found["P1"].dy_mm) == ("moved", 1.5, -2)
    assert found["P1"].words() == "1.50 mm to the right, 2.00 mm to the front"
    assert (found["P2"].what, found["P2"].changed) == ("changed", ("thread",))
    assert (found["K1"].what, found["K2"].what) == ("gone", "new")


@given(dx=st.floats(-50, 50), dy=st.floats(-50, 50))
def test_a_cutout_that_is_moved_is_moved_and_not_otherwise_changed(dx: float, dy: float) -> None:
    after = changed(cutouts=[{"id": "K1", "outline": circle(300 + dx, 150 + dy, 20)}])
    found = differences(BEFORE, after)
    if math.hypot(dx, dy) < 1e-5:
        return
    (difference,) = found
    assert difference.what == "moved"
    assert difference.changed == ()
    assert (difference.dx_mm, difference.dy_mm) == pytest.approx((dx, dy), abs=1e-9)


def test_a_larger_cutout_is_a_change_of_its_outline() -> None:
    (difference,) = differences(BEFORE, changed(cutouts=[{"id": "K1", "outline": circle(300, 150, 24)}]))
    assert (difference.what, difference.changed) == ("changed", ("outline",))


def test_the_overlay_shows_the_old_the_new_and_the_way_between() -> None:
    after = changed(ports=[{"id": "P1", "x_mm": 100, "y_mm": 140}, {"id": "P2", "x_mm": 200, "y_mm": 150}])
    svg = overlay_svg(build(BEFORE), build(after), differences(BEFORE, after))
    root = ET.fromstring(svg)
    groups = {g.get("data-layer"): g for g in root.iter("{http://www.w3.org/2000/svg}g") if g.get("data-layer")}
    assert {g.get("data-id") for g in groups["old"]} == {"plate", "P1"}
    assert {g.get("data-id") for g in groups["now"]} == {"plate", "P1", "P2", "C1", "K1"}
    line = next(groups["moves"].iter("{http://www.w3.org/2000/svg}line"))
    assert [line.get(key) for key in ("x1", "y1", "x2", "y2")] == ["100", "150", "100", "140"]
