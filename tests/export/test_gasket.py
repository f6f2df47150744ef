"""The gasket's sheet: what is cut is the band with its holes, in lines and arcs."""

import math

import pytest

from sketcher.export import ExportError, export_sheet, make_sheet
from sketcher.export.assembly import assembly_steps
from sketcher.export.table_files import parts
from sketcher.geometry import build
from sketcher.strength.notes import sentences
from sketcher.strength.seal import design_seal
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


def test_the_gaskets_thickness_stands_where_it_is_bought_cut_and_mounted() -> None:
    """A sheet of 2, which may be 1.7 to 2.3, pressed by half at most, lifts the upper part by 0.85 to 2.3. A mounting
    screw through the plate's 28 goes through 30 then."""
    mount = {"id": "H1", "x_mm": 60, "y_mm": 60}
    document = plate(channels=[C1], seal={"kind": "gasket", "gasket_mm": 2}, holes=[lid_screw("S1", 150, 175), mount],
                     plate={"body_thickness_mm": 20, "lid_thickness_mm": 8})  # fmt: skip
    shapes = build(document)
    assert any("2 mm thick" in note for note in make_sheet(document, shapes, "gasket").notes)
    rows = {row.part: row.note for row in parts(document, shapes)}
    assert "Gasket sheet, elastomer below 75 Shore A, 2 mm thick" in rows
    assert any(part.startswith("Mounting screw") and note.startswith("30 plate") for part, note in rows.items())
    assert any("the plate is 0.85 to 2.3 mm higher" in words for words in sentences(document, shapes))
    steps = assembly_steps(document, design_seal(document, shapes))
    assert "faces meet" not in steps
    assert "the faces do not meet" in steps
