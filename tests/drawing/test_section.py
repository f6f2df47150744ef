"""The section shows what is where, at its true height and length."""

from __future__ import annotations

import xml.etree.ElementTree as ET

import pytest

from sketcher.drawing.section import SectionError, pieces, section_svg
from sketcher.geometry import build
from sketcher.strength.seal import design_seal
from tests.checks.plates import channel, circle, plate


def document():
    return plate(
        ports=[{"id": "P1", "x_mm": 150, "y_mm": 150}],
        channels=[channel("C1", (250, 150), start="P1")],
        cutouts=[{"id": "K1", "outline": circle(300, 150, 20)}],
        pockets=[{"id": "R1", "outline": circle(100, 150, 30), "depth_mm": 4}],
    )


def test_a_cut_along_a_channel_shows_each_thing_at_its_height() -> None:
    """Body 20 on a lid of 6; the channel is 8 deep from the lid, the bore comes down half a millimetre into it."""
    shapes = build(document())
    found = {(piece.id, piece.part): piece for piece in pieces(shapes, (0, 150), (400, 150))}
    assert (found["", "lid"].low, found["", "lid"].high) == (0, 6)
    assert (found["", "body"].low, found["", "body"].high) == (6, 26)
    water = found["C1", "channel"]
    assert (water.start, water.end) == pytest.approx((146, 254), abs=0.02)
    assert (water.low, water.high) == (6, 14)
    assert (found["P1", "bore"].low, found["P1", "bore"].high) == (13.5, 26)
    cutout = found["K1", "cutout"]
    assert (cutout.start, cutout.end, cutout.low, cutout.high) == pytest.approx((290, 310, 0, 26), abs=0.02)
    assert (found["R1", "pocket"].low, found["R1", "pocket"].high) == (22, 26)


def test_a_cut_beside_the_middle_of_a_round_hole_is_its_chord() -> None:
    """At 6 mm from the middle of a circle of radius 10 the chord is 2 √(100 - 36) = 16."""
    found = pieces(build(document()), (0, 156), (400, 156))
    (cutout,) = (piece for piece in found if piece.id == "K1")
    assert cutout.end - cutout.start == pytest.approx(16, abs=0.03)


def test_the_groove_is_cut_on_both_sides_of_the_channel() -> None:
    shapes = build(document())
    seal = design_seal(shapes.document, shapes)
    grooves = [p for p in pieces(shapes, (200, 100), (200, 200), seal) if p.part == "groove"]
    assert len(grooves) == 2
    assert seal.gland is not None
    assert all(piece.end - piece.start == pytest.approx(seal.gland.width_mm, abs=0.05) for piece in grooves)


@pytest.mark.parametrize(("line", "word"), [(((0, 0), (0.2, 0)), "shorter"), (((0, 5), (400, 5)), "does not cross")])
def test_a_line_that_cuts_nothing_says_so(line, word) -> None:
    with pytest.raises(SectionError, match=word):
        pieces(build(document()), *line)


def test_the_drawing_is_at_true_scale_with_the_names_of_what_is_cut() -> None:
    shapes = build(document())
    root = ET.fromstring(section_svg(pieces(shapes, (0, 150), (400, 150)), shapes.thickness, 400))
    assert root.get("width") == "428mm"
    assert root.get("viewBox").split()[2] == "428"
    words = {element.text for element in root.iter("{http://www.w3.org/2000/svg}text")}
    assert {"X", "X′", "C1", "P1", "K1", "R1", "0", "6", "26"} <= words
