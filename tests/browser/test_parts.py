"""Hardware of one's own by hand: ready sets, starters, figures in other units, the library, clipboard and history."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Bench

pytestmark = pytest.mark.browser

PASTE = """(input, text) => {
    const data = new DataTransfer();
    data.setData("text/plain", text);
    input.dispatchEvent(new ClipboardEvent("paste", { clipboardData: data, bubbles: true, cancelable: true }));
}"""

COPY_AND_PASTE = """() => {
    const data = new DataTransfer();
    const told = (kind) => document.dispatchEvent(
        new ClipboardEvent(kind, { clipboardData: data, bubbles: true, cancelable: true }));
    told("copy");
    told("paste");
}"""


def test_hardware_of_ones_own_is_made_kept_and_taken_elsewhere(empty: Bench) -> None:
    page = empty.page
    empty.step("Lay out")
    # Where nothing stands yet, that is what the step begins with.
    page.get_by_label("Ready set", exact=True).select_option("card-flat")
    page.locator('[data-keep="ready-set-add"]').click()
    boards = empty.document()["boards"]
    assert [(board["role"], board.get("held_by")) for board in boards] == [("riser", None), ("card", boards[0]["id"])]
    page.get_by_label("Part", exact=True).select_option(label="Radiator, 3 × 120 mm")
    page.locator('[data-keep="part-add"]').click()
    (radiator,) = empty.document()["devices"]
    assert (radiator["fans"], radiator["outline"]["depth_mm"], radiator["invented"]) == (3, 120, True)
    assert "Assumed" in radiator["note"]

    # A port of one's own, typed along its row: it is a row as soon as it has a name, and Tab goes on in it.
    port = empty.field("Port, ports, new row")
    port.fill("top")
    port.press("Tab")
    for value in ("12", "-7", "30"):
        page.keyboard.type(value)
        page.keyboard.press("Tab")
    empty.field("Direction, ports, row 3").select_option("w+")
    empty.field("Thread, ports, row 3").select_option("G1/4")
    empty.field("Flows, ports, row 3").select_option("in")
    made = empty.item("devices", radiator["id"])["ports"][2:]
    assert made == [{"id": "top", "u_mm": 12, "v_mm": -7, "w_mm": 30, "flow": "in", "heading": "w+", "thread": "G1/4"}]

    # Figures as a data sheet has them. A litre an hour is 1/60 l/min; a mbar is 0.1 kPa (SI).
    page.locator("#item-panel summary", has_text="Flow and pressure").click()
    empty.field("Flow in").select_option("l/h")
    empty.field("Pressure in").select_option("mbar")
    cell = empty.field("Flow, points, row 1")
    cell.fill("90")
    cell.press("Enter")
    assert empty.item("devices", radiator["id"])["curve"][0]["flow_l_min"] == 1.5
    empty.field("Flow, points, row 1").evaluate(PASTE, "120\t10\n240\t36\n360;81")
    expect(page.locator("#item-panel .rows .problem:not([hidden])")).to_contain_text("Nothing was changed")
    empty.field("Flow, points, row 1").evaluate(PASTE, "Flow (l/h)\tLoss (mbar)\n120\t10\n240\t36\n360\t81")
    points = empty.item("devices", radiator["id"])["curve"]
    assert [(p["flow_l_min"], p["pressure_kpa"]) for p in points[:3]] == [(2, 1), (4, 3.6), (6, 8.1)]
    expect(page.get_by_role("img", name="Pressure lost: 10 at 120, 36 at 240")).to_be_visible()

    # Decimal commas, and heads in another order than the columns: names and units tell which is which.
    empty.field("Flow, points, row 1").evaluate(PASTE, "Pressure [kPa]\tFlow [gpm]\n1,5\t1\n6,25\t2")
    points = empty.item("devices", radiator["id"])["curve"]
    assert [(round(p["flow_l_min"], 4), p["pressure_kpa"]) for p in points[:2]] == [(3.7854, 1.5), (7.5708, 6.25)]
    empty.field("Flow, points, row 1").evaluate(PASTE, "Flow (l/min)\tHead (ft)\n1\t2")
    expect(page.locator("#item-panel .rows .problem:not([hidden])")).to_contain_text("“ft” is no unit of pressure")
    # What belongs to the other column is not taken, and a fall is told while it is typed.
    cell = empty.field("Flow, points, row 1")
    cell.fill("20 mbar")
    cell.press("Enter")
    expect(page.locator("#item-panel .rows .problem:not([hidden])")).to_contain_text("“mbar”")
    cell.press("Escape")
    empty.field("Pressure, points, row 1").press_sequentially("1")
    expect(page.locator("#item-panel [role=status]", has_text="The loss falls at")).to_be_visible()
    empty.field("Flow, points, row 1").evaluate(PASTE, "l/min\tmH2O\n2\t0.1\n4\t0.4\n6\t0.9\n8\t1.6\n9\t2")
    points = empty.item("devices", radiator["id"])["curve"]
    # A conventional metre of water is 9.80665 kPa (NIST SP 811).
    assert (points[0]["flow_l_min"], round(points[0]["pressure_kpa"], 6)) == (2, 0.980665)
    assert len(points) == 5

    # Kept in the library, and there again from the dialog.
    page.locator("#item-panel summary", has_text="Save as a part").click()
    name = empty.field("Name in the library")
    name.fill("Own radiator")
    page.get_by_role("button", name="Save to the library").click()
    expect(page.locator("#notice")).to_contain_text("kept in the library")
    page.get_by_role("button", name="Library of parts…").click()
    page.get_by_role("button", name="Add Own radiator to the plate").click()
    devices = empty.document()["devices"]
    assert [len(device["curve"]) for device in devices] == [len(points)] * 2

    # Copied and pasted with the system's keys, the riser with its card; then back to the first step.
    page.get_by_role("tab", name="All items").click()
    page.locator(f'#items [data-item="{boards[0]["id"]}"]').click()
    page.keyboard.down("Shift")
    page.get_by_role("tab", name="All items").click()
    page.locator(f'#items [data-item="{boards[1]["id"]}"]').click()
    page.keyboard.up("Shift")
    page.locator("#stage").focus()
    page.evaluate(COPY_AND_PASTE)
    after: list[dict[str, Any]] = empty.document()["boards"]
    assert [board.get("held_by") for board in after] == [None, boards[0]["id"], None, after[2]["id"]]
    page.get_by_role("button", name="History").click()
    page.get_by_role("button", name="Go to step 1:").click()
    empty.settled()
    assert "boards" not in empty.document() or empty.document()["boards"] == []
    assert not page.get_by_role("button", name="Redo").is_disabled()
    page.get_by_role("button", name="Library of parts…").click()
    page.get_by_role("button", name="Delete Own radiator from the library").click()
    expect(page.get_by_role("heading", name="Your own (0)")).to_be_visible()
