"""The gasket's sheet: what is cut is the band with its holes, in lines and arcs."""

import math

import pytest

from sketcher.export import ExportError, export_sheet, make_sheet
from sketcher.geometry import build
from tests.checks.plates import channel, plate
from tests.export import outside

C1 = channel("C1", (100, 150), (200, 150), width_mm=10)


def lid_screw(id_: str, x: float, y: float):
    return {"id": id_, "x_mm": x, "y_mm": y, "kind": "tapped", "use": "lid", "face": "bottom", "depth_mm": 18}


def test_the_gasket_is_a_band_around_the_channel_in_lines_and_arcs() -> None:
    """A slot of 10 by 110 over all: the band lies between 0.5 and 6.5 mm from it; its contours by Steiner's formula."""
    document = plate(channels=[C1], seal={"kind": "gasket"}, holes=[lid_screw("S1", 150, 175)])
    made = make_sheet(document, build(document), "gasket")
    inner, outer = made.on("GASKET_OPENING"), made.on("GASKET")
    assert [len(inner), len(outer)] == [1, 1]
    for entity, away in ((inner[0], 0.5), (outer[0], 6.5)):
        assert entity.path.length == pytest.approx(200 + math.pi * (10 + 2 * away), abs=0.3)
        assert len(entity.path.segments) < 12
    read = outside.entities(export_sheet(document, build(document), "gasket", "dxf"))
    assert {entity.layer for entity in read} >= {"GASKET", "GASKET_OPENING"}


def test_a_screw_within_the_band_is_a_round_hole_in_it() -> None:
    document = plate(channels=[C1], seal={"kind": "gasket"}, holes=[lid_screw("S1", 150, 158.5)])
    inner = make_sheet(document, build(document), "gasket").on("GASKET_OPENING")
    assert [entity.round for entity in inner if entity.round] == [((150, 158.5), 2.25)]


@pytest.mark.parametrize("document", [plate(channels=[C1]), plate(seal={"kind": "gasket"})], ids=["cord", "empty"])
def test_without_a_gasket_there_is_no_sheet_and_it_says_why(document) -> None:
    with pytest.raises(ExportError, match="gasket"):
        make_sheet(document, build(document), "gasket")
