"""The final sheet and the hole table: each operation on body and lid, worked out here by hand from the plate's heights.

The plate: lid 6 mm below, body 20 mm above it, so body from z = 6 to 26. A channel 8 mm deep lies from 6 to 14; a top
port's bore goes from 26 down to 13.5, 12.5 mm: half a millimetre into it. A tapped lid screw 14.7 mm deep from below
leaves 8.7 mm in the body.
"""

from __future__ import annotations

import csv
import io
import math

import pytest
from shapely import LineString, Polygon

from sketcher.document import Document
from sketcher.export import export_sheet, make_sheet
from sketcher.export.hole_table import holes_csv
from sketcher.export.table_files import parts, parts_csv
from sketcher.geometry import build
from tests.checks.plates import channel, plate, rectangle
from tests.export import outside


def machined(**parts_: object) -> Document:
    """A plate with one of each operation."""
    return plate(
        **{
            "ports": [
                {"id": "P1", "x_mm": 100, "y_mm": 100},
                {"id": "P2", "x_mm": 200, "y_mm": 100, "thread": "G1/8", "thread_depth_mm": 9},
                {"id": "P3", "x_mm": 350, "y_mm": 180, "face": "edge", "bore_depth_mm": 16},
                {"id": "P4", "x_mm": 150, "y_mm": 200, "face": "bottom"},
            ],
            "channels": [channel("C1", start="P1", end="P2")],
            "pockets": [
                {"id": "R1", "outline": rectangle(300, 80, 30, 10, 3), "depth_mm": 4},
                {"id": "R2", "outline": rectangle(300, 110, 30, 10, 3), "depth_mm": 2, "face": "bottom"},
            ],
            "cutouts": [{"id": "K1", "outline": rectangle(80, 220, 20, 10, 2)}],
            "holes": [
                {"id": "H1", "x_mm": 60, "y_mm": 60},
                {"id": "H2", "x_mm": 340, "y_mm": 60, "kind": "counterbored"},
                {"id": "S1", "x_mm": 100, "y_mm": 130, "kind": "tapped", "use": "lid", "face": "bottom",
                 "depth_mm": 14.7},
            ],
            **parts_,
        }
    )  # fmt: skip


def layers(document: Document) -> dict[str, list[outside.Read]]:
    found: dict[str, list[outside.Read]] = {}
    for entity in outside.entities(export_sheet(document, build(document), "final", "dxf")):
        found.setdefault(entity.layer, []).append(entity)
    return found


def test_layers_are_named_by_part_operation_size_side_and_depth() -> None:
    found = layers(machined())
    milled = {name for name in found if name.startswith(("BODY", "LID", "EDGE")) and "GROOVE" not in name}
    assert milled == {
        "BODY_OUTLINE_THROUGH_20", "LID_OUTLINE_THROUGH_6", "BODY_CHANNEL_FROM_BELOW_DEPTH_8",
        "BODY_BORE_D11.8_FROM_ABOVE_DEPTH_12.5", "BODY_THREAD_G1-4_FROM_ABOVE_DEPTH_10",
        "BODY_BORE_D8.8_FROM_ABOVE_DEPTH_12.5", "BODY_THREAD_G1-8_FROM_ABOVE_DEPTH_9",
        # P4 opens below: through the lid, and 10 - 6 mm of thread and bore into the body.
        "LID_BORE_D11.8_THROUGH_6", "LID_THREAD_G1-4_THROUGH_6", "BODY_BORE_D11.8_FROM_BELOW_DEPTH_4",
        "BODY_THREAD_G1-4_FROM_BELOW_DEPTH_4",
        "EDGE_BORE_D11.8_DEPTH_16", "EDGE_THREAD_G1-4_DEPTH_10",
        "BODY_POCKET_FROM_ABOVE_DEPTH_4", "LID_POCKET_FROM_BELOW_DEPTH_2",
        "BODY_CUTOUT_THROUGH_20", "LID_CUTOUT_THROUGH_6",
        "BODY_HOLE_D4.5_THROUGH_20", "LID_HOLE_D4.5_THROUGH_6",
        # ISO 4762: an M4 cap head is 7 mm wide and 4 mm high.
        "BODY_COUNTERBORE_M4_D7_FROM_ABOVE_DEPTH_4",
        "BODY_TAP_M4_D3.3_FROM_BELOW_DEPTH_8.7",
    }  # fmt: skip


def test_what_is_milled_is_closed_and_in_place() -> None:
    found = layers(machined())
    for name, entities in found.items():
        if name not in ("NOTES", "GROOVE_CENTRELINE"):
            assert all(e.kind == "CIRCLE" or e.closed for e in entities), name
    (bore,) = found["BODY_BORE_D8.8_FROM_ABOVE_DEPTH_12.5"]
    assert (*bore.centre, bore.radius) == pytest.approx((200, 100, 4.4), abs=1e-6)
    (thread,) = found["BODY_THREAD_G1-8_FROM_ABOVE_DEPTH_9"]
    assert thread.radius == pytest.approx(9.728 / 2, abs=1e-6)  # ISO 228-1
    (tap,) = found["BODY_TAP_M4_D3.3_FROM_BELOW_DEPTH_8.7"]
    assert (*tap.centre, tap.radius) == pytest.approx((100, 130, 1.65), abs=1e-6)
    # The lid lies 300 + 40 mm to the right; there the screw goes through with play, ISO 273 medium.
    clear = [e for e in found["LID_HOLE_D4.5_THROUGH_6"] if e.centre == pytest.approx((440, 130), abs=1e-6)]
    assert len(clear) == 1
    # The channel: 100 mm from port to port, 8 mm wide, round ends.
    (run,) = found["BODY_CHANNEL_FROM_BELOW_DEPTH_8"]
    ring = Polygon(run.ring(0.005))
    assert ring.area == pytest.approx(100 * 8 + math.pi * 16, abs=0.01)
    assert ring.bounds == pytest.approx((96, 96, 204, 104), abs=1e-3)


def test_the_edge_port_is_seen_square_to_its_edge() -> None:
    document = machined()
    (bore,) = layers(document)["EDGE_BORE_D11.8_DEPTH_16"]
    notes = layers(document)["NOTES"]
    view = next(
        e
        for e in notes
        if e.kind == "LWPOLYLINE"
        and len(e.points) == 5
        and max(p[1] for p in e.points) - min(p[1] for p in e.points) > 10
    )
    foot = min(point[1] for point in view.points)
    top = max(point[1] for point in view.points)
    assert top - foot == pytest.approx(26)
    # Half way up the body: 6 + 20 / 2 above the underside.
    assert bore.centre[1] - foot == pytest.approx(16.0)


def test_the_groove_goes_round_the_water() -> None:
    document = machined()
    found = layers(document)
    (name,) = [name for name in found if "GROOVE_W" in name]
    rings = [Polygon(e.ring(0.01)) for e in found[name]]
    middles = [e for e in found["GROOVE_CENTRELINE"] if e.closed]
    assert len(rings) == 2 * len(middles)
    channel_line = LineString([(100, 100), (200, 100)])
    assert sum(ring.contains(channel_line) for ring in rings) == 2
    width = float(name.split("_W")[1].split("_")[0])
    for middle in middles:
        line = LineString([*middle.ring(0.01), middle.ring(0.01)[0]])
        apart = [ring.exterior.distance(line) for ring in rings]
        assert sorted(apart)[:2] == pytest.approx([width / 2] * 2, abs=0.03)


def test_a_lid_above_turns_the_sides_round() -> None:
    found = layers(machined(plate={"lid_face": "top"}, holes=[]))
    assert "BODY_CHANNEL_FROM_ABOVE_DEPTH_8" in found
    # A top port now goes through the lid of 6 mm and 4 mm of thread on into the body.
    assert "LID_BORE_D11.8_THROUGH_6" in found
    assert "BODY_THREAD_G1-4_FROM_ABOVE_DEPTH_4" in found


def test_hole_table_counts_from_datum_a() -> None:
    document = machined()
    rows = list(csv.DictReader(io.StringIO(holes_csv(document, build(document)))))
    by = {(row["id"], row["part"], row["what"]): row for row in rows}
    # The plate's front left corner is at (50, 50).
    port = by["P1", "body", "port"]
    assert (port["x_mm"], port["y_mm"], port["diameter_mm"], port["depth_mm"]) == ("50", "50", "11.8", "12.5")
    assert (port["thread"], port["thread_depth_mm"], port["from"]) == ("G1/4", "10", "above")
    edge = by["P3", "body", "edge port"]
    assert (edge["x_mm"], edge["y_mm"], edge["level_mm"], edge["depth_mm"]) == ("300", "130", "16", "16")
    # Body 20: what ends 12.5 below the top ends 7.5 above the joint; the edge port's axis at 16 is 10 above it.
    assert (port["from_joint_mm"], edge["from_joint_mm"]) == ("7.5", "10")
    # Of the drilled 8.7 mm, 3.8 are the run-out of the tap (DIN 76-1, e1, from memory).
    tapped = by["S1", "body", "tapped hole"]
    assert (tapped["diameter_mm"], tapped["depth_mm"], tapped["thread"], tapped["thread_depth_mm"]) == (
        "3.3", "8.7", "M4", "4.9")  # fmt: skip
    assert tapped["from_joint_mm"] == "8.7"  # tapped from the joint face itself
    assert by["S1", "lid", "hole"]["diameter_mm"] == "4.5"
    assert by["H1", "body", "hole"]["depth_mm"] == "through"
    assert by["H2", "body", "counterbore"]["depth_mm"] == "4"
    assert by["P4", "lid", "port"]["depth_mm"] == "through"


def test_parts_list_counts_what_is_bought() -> None:
    document = machined(
        devices=[{"id": "D1", "kind": "block", "x_mm": 100, "y_mm": 100, "z_mm": 80, "ports": [{"id": "in"}]}],
        ports=[{"id": "P1", "x_mm": 100, "y_mm": 100, "serves": "D1.in"}, {"id": "P2", "x_mm": 200, "y_mm": 100},
               {"id": "P5", "x_mm": 320, "y_mm": 200, "use": "drain"}],
    )  # fmt: skip
    rows = {row.part: row for row in parts(document, build(document), 0.4)}
    assert rows["Fitting G1/4 for tube 13/10 mm"].count == "2"
    assert rows["Valve or plug G1/4"].count == "1"
    assert rows["Fitting for tube 13/10 mm"].count == "1"
    # The plate's top is at 26 mm, the device's port at 80: a plumb drop of 54 mm, and 20 spare.
    assert rows["Tube P1 to D1.in"].count == "74 mm"
    # With the thread that its maker gives, the device's fitting is one of those of the plate.
    device = document.devices[0].model_copy(
        update={"ports": (document.devices[0].ports[0].model_copy(update={"thread": "G1/4"}),)}
    )
    known = {row.part: row for row in parts(document.model_copy(update={"devices": (device,)}), build(document), 0.4)}
    assert known["Fitting G1/4 for tube 13/10 mm"].count == "3"
    assert known["Fitting G1/4 for tube 13/10 mm"].note == "2 in the plate, 1 at the devices; each with its O-ring"
    assert "Fitting for tube 13/10 mm" not in known
    assert rows["Coolant"].count == "0.44 l"
    # Of the three M4 holes one is for the lid; each of the two others has its own length to go through.
    assert [row.count for part, row in rows.items() if part.startswith("Lid screw M4")] == ["1"]
    mounting = [row for part, row in rows.items() if part.startswith("Mounting screw M4")]
    assert sum(int(row.count) for row in mounting) == 2
    assert "EPDM" in next(part for part in rows if part.startswith("Seal cord"))


def test_a_name_is_never_a_formula() -> None:
    document = machined(ports=[{"id": "P1", "x_mm": 100, "y_mm": 100, "name": "=1+1"},
                               {"id": "P2", "x_mm": 200, "y_mm": 100, "name": "-2+3"}])  # fmt: skip
    text = holes_csv(document, build(document))
    cells = [cell for row in csv.reader(io.StringIO(text)) for cell in row]
    assert "'=1+1" in cells
    assert "'-2+3" in cells
    assert parts_csv([]) == "part,count,note\r\n"


def test_floor_cut_has_drill_sizes_and_spares_what_is_there() -> None:
    document = machined(
        floor={"obstacles": [{"id": "O1", "outline": {"shape": "circle", "x_mm": 340, "y_mm": 60, "diameter_mm": 8},
                              "height_mm": 5}],
               "openings": [{"id": "F1", "outline": rectangle(350, 270, 20, 20)}]},
        plate={"z_mm": 5},
    )  # fmt: skip
    sheet = make_sheet(document, build(document), "floor-cut")
    drilled = {e.item: e for e in sheet.on("FLOOR_DRILL")}
    # Medium clearance of M4 is 4.5 mm (ISO 273); H2 stands on a standoff; S1 is a lid screw.
    assert set(drilled) == {"H1"}
    assert drilled["H1"].round == ((60, 60), 2.25)
    # P4 hangs below the plate: its fitting of 20 mm, and 2 mm all round.
    assert [(e.item, e.round) for e in sheet.on("FLOOR_CUT")] == [("P4", ((150, 200), 12.0))]
    assert [e.item for e in sheet.on("FLOOR_OPENING")] == ["F1"]
    assert any(note.startswith("H2 is over") for note in sheet.notes)
