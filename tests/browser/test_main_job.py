"""The whole job of a first day by mouse: see, drag, fix, add, number, undo, export, move, export again."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Bench

pytestmark = pytest.mark.browser


def test_a_port_is_dragged_until_a_wall_is_too_thin_and_back_again(bench: Bench) -> None:
    """P3 stands 40 mm from P2: dragged 24 mm towards it, the wall between the two gets too thin."""
    before = bench.item("ports", "P3")
    assert bench.page.locator("#findings .found.error").count() == 0
    bench.press(before["x_mm"], before["y_mm"])
    bench.drag_to(before["x_mm"] - 24, before["y_mm"])
    walls = bench.page.locator('#findings .found.error[data-rule="wall-port-port"]')
    expect(walls.first).to_be_visible()
    expect(walls.first).to_contain_text("port P2 and port P3")
    bench.drag_to(before["x_mm"], before["y_mm"])
    expect(bench.page.locator("#findings .found.error")).to_have_count(0)
    bench.drop()
    assert bench.item("ports", "P3") == before


def test_what_is_dragged_follows_before_the_server_answers(bench: Bench) -> None:
    width = bench.item("channels", "C3")["width_mm"]
    bench.page.route("**/api/look", lambda route: None)  # the server keeps silent
    port = bench.item("ports", "P5")
    bench.page.keyboard.down("Alt")  # free of snapping
    bench.press(port["x_mm"], port["y_mm"])
    bench.drag_to(port["x_mm"] + 10, port["y_mm"])
    drawn = bench.page.locator('#world g.item[data-id="P5"]')
    expect(drawn).to_have_attribute("transform", "translate(10 0)")
    course = bench.page.locator('#world g.item[data-id="C3"] .centreline').get_attribute("d")
    assert course is not None
    assert course.startswith("M304 230")
    # The room that the groove needs goes along: 6.8 mm to either side, a wall of 2, a groove of 2.8 and a wall again.
    room = bench.page.locator('#world .room-groove .room-of[data-around="C3"] .room-band')
    expect(room).to_have_attribute("d", course)
    expect(room).to_have_attribute("stroke-width", f"{width + 13.6:g}")
    bench.page.unroute("**/api/look")
    bench.page.mouse.up()
    bench.page.keyboard.up("Alt")


def test_a_cutout_is_added_moved_numbered_and_deleted(bench: Bench) -> None:
    bench.page.get_by_role("button", name="Round cutout").click()
    bench.click(250, 270)
    bench.settled()
    cutouts = bench.document()["cutouts"]
    assert cutouts[-1]["id"] == "K4"
    assert cutouts[-1]["outline"] == {"shape": "circle", "x_mm": 250, "y_mm": 270, "diameter_mm": 16}
    diameter = bench.field("Diameter")
    diameter.fill("3/4 in")
    diameter.press("Enter")
    assert bench.item("cutouts", "K4")["outline"]["diameter_mm"] == 19.05
    diameter.fill("12 apples")
    diameter.press("Enter")
    expect(bench.page.get_by_text("neither a number nor a unit")).to_be_visible()
    assert bench.item("cutouts", "K4")["outline"]["diameter_mm"] == 19.05
    bench.field("From the left").fill("240+20.32")
    bench.field("From the left").press("Enter")
    assert bench.item("cutouts", "K4")["outline"]["x_mm"] == 260.32
    bench.page.get_by_label("Move by").fill("30 mm to the front")
    bench.page.get_by_role("button", name="Move", exact=True).click()
    assert bench.item("cutouts", "K4")["outline"]["y_mm"] == 240
    bench.page.locator("#stage").focus()
    bench.page.keyboard.press("ArrowLeft")
    bench.page.keyboard.press("Control+ArrowUp")
    assert bench.item("cutouts", "K4")["outline"] == {
        "shape": "circle",
        "x_mm": 259.32,
        "y_mm": 240.1,
        "diameter_mm": 19.05,
    }
    bench.page.keyboard.press("Delete")
    document = bench.document()
    assert "K4" not in [cutout["id"] for cutout in document["cutouts"]]
    assert document["retired_ids"] == ["K4"]


def test_undo_and_redo_go_back_over_a_reload(bench: Bench) -> None:
    start = bench.document()
    port = bench.item("ports", "P5")
    for _ in range(3):
        bench.page.locator("#stage").focus()
        bench.click(port["x_mm"], port["y_mm"]) if _ == 0 else None
        bench.page.keyboard.press("Shift+ArrowRight")
        bench.settled()
    moved = bench.document()
    assert bench.item("ports", "P5")["x_mm"] == port["x_mm"] + 30
    bench.page.reload()
    bench.settled()
    undo = bench.page.get_by_role("button", name="Undo")
    for _ in range(3):
        undo.click()
        bench.settled()
    assert bench.document() == start
    bench.page.locator("#stage").focus()
    for _ in range(3):
        bench.page.keyboard.press("Control+Shift+Z")
        bench.settled()
    assert bench.document() == moved


def test_a_channel_is_drawn_its_corner_dragged_and_taken_out(bench: Bench) -> None:
    bench.step("Run channels")
    bench.page.locator('[data-tool="channel"]').click()
    bench.click(294, 230)  # P5
    bench.click(294, 260)
    expect(bench.page.locator(".over-course .room")).to_have_count(2)  # for the groove, and for the screws beyond it
    bench.click(230, 260)
    bench.click(230, 305)  # P3
    channel = bench.item("channels", "C8")
    assert (channel["start"], channel["end"]) == ("P5", "P3")
    assert channel["points"] == [{"x_mm": 294, "y_mm": 260}, {"x_mm": 230, "y_mm": 260}]
    bench.press(230, 260)
    bench.drag_to(230, 275)
    bench.drop()
    assert bench.item("channels", "C8")["points"][1] == {"x_mm": 230, "y_mm": 275}
    bench.page.get_by_role("button", name="Remove corner 2").click()
    assert bench.item("channels", "C8")["points"] == [{"x_mm": 294, "y_mm": 260}]


@pytest.mark.parametrize("name", ["<b>bold</b>", "<img src=x onerror=alert(1)>", '"><script>alert(1)</script>'])
def test_names_with_markup_in_them_are_text(bench: Bench, name: str) -> None:
    bench.click(62, 150)
    bench.page.get_by_text("Name and note").click()
    bench.field("Name").fill(name)
    bench.field("Name").press("Enter")
    assert bench.item("ports", "P10")["name"] == name
    bench.page.get_by_role("tab", name="All items").click()
    expect(bench.page.locator('#items [data-item="P10"]')).to_contain_text(name)
    assert bench.page.locator("#bench b, #bench img, #bench script").count() == 0


def test_the_test_piece_is_exported_a_marker_moved_and_only_it_differs(bench: Bench, tmp_path: Path) -> None:
    first = _test_piece(bench, tmp_path / "first.dxf")
    bench.step("Lay out")
    bench.click(294, 230)
    bench.page.locator("#stage").focus()
    for _ in range(3):
        bench.page.keyboard.press("ArrowUp")
    bench.settled()
    second = _test_piece(bench, tmp_path / "second.dxf")
    gone, new = _circles(first) - _circles(second), _circles(second) - _circles(first)
    assert {(x, y) for x, y, _ in gone} == {(294.0, 230.0)}
    assert {(x, y) for x, y, _ in new} == {(294.0, 233.0)}


def _test_piece(bench: Bench, path: Path) -> Path:
    bench.step("Test piece")
    with bench.page.expect_download() as download:
        bench.page.get_by_role("link", name="DXF for the cutter").click()
    download.value.save_as(path)
    return path


def _circles(path: Path) -> set[tuple[float, float, float]]:
    import ezdxf

    model = ezdxf.readfile(path).modelspace()
    return {(round(c.dxf.center.x, 6), round(c.dxf.center.y, 6), round(c.dxf.radius, 6)) for c in model.query("CIRCLE")}


def test_a_document_can_be_saved_as_a_file_and_opened_again(bench: Bench, tmp_path: Path) -> None:
    bench.page.get_by_role("button", name="Plates").click()
    with bench.page.expect_download() as download:
        bench.page.get_by_role("link", name="Save the open one as a file").click()
    download.value.save_as(tmp_path / "plate.json")
    assert json.loads((tmp_path / "plate.json").read_text(encoding="utf-8")) == bench.server.plate(bench.plate)
    bench.page.get_by_label("Open a plate document").set_input_files(tmp_path / "plate.json")
    bench.page.wait_for_function(f"() => !location.hash.endsWith('plate={bench.plate}')")
