"""Drawn on the plan by hand: the courses of tubes, dimension lines; by mouse and by keyboard."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, expect

from tests.browser.conftest import Bench, Server, place_of
from tests.browser.test_outlines import drag

pytestmark = pytest.mark.browser


def plate(**more: Any) -> dict[str, Any]:
    """A plate of 300 by 200 mm on a floor of 400 by 300, a port, and two devices beside and above it."""
    outline = {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 400, "depth_mm": 300}
    body = {"shape": "rectangle", "x_mm": 0, "y_mm": 0, "width_mm": 40, "depth_mm": 40}
    devices = [
        {"id": "D1", "kind": "block", "x_mm": 320, "y_mm": 80, "z_mm": 80, "outline": body, "height_mm": 30,
         "ports": [{"id": "in", "u_mm": -20, "w_mm": 20, "heading": "u-"},
                   {"id": "out", "u_mm": 20, "w_mm": 20, "heading": "u+"}]},
        {"id": "D2", "kind": "block", "x_mm": 320, "y_mm": 220, "z_mm": 80, "outline": body, "height_mm": 30,
         "ports": [{"id": "in", "u_mm": 20, "w_mm": 20, "heading": "u+"}]},
    ]  # fmt: skip
    return {
        "name": "Tubes by hand", "floor": {"outline": outline},
        "plate": {
            "outline": {**outline, "width_mm": 300, "depth_mm": 200}, "body_thickness_mm": 12, "lid_thickness_mm": 8
        },
        "devices": devices, "ports": [{"id": "P1", "x_mm": 100, "y_mm": 100}], **more,
    }  # fmt: skip


@pytest.fixture
def hand(context: BrowserContext, server: Server) -> Iterator[Bench]:
    opened = Bench(context.new_page(), server, server.post("/api/plates", {"document": plate()})["id"])
    opened.open()
    opened.step("Lay out")
    yield opened
    assert opened.faults == []


def course(bench: Bench) -> list[tuple[float, float, float]]:
    return [(p["x_mm"], p["y_mm"], p["z_mm"]) for p in bench.item("ports", "P1").get("tube", {}).get("points", [])]


def cursor(bench: Bench) -> tuple[float, float]:
    """Where the keyboard's cursor is, as the page says it to everybody after a press of an arrow."""
    bench.page.keyboard.press("ArrowRight")
    x, y = bench.page.locator("#place").inner_text().replace(" right", "").replace(" rear", "").split(",")
    return float(x), float(y)


def test_a_tube_is_laid_from_port_to_port_and_its_corners_are_dragged_in_plan(hand: Bench) -> None:
    page, panel = hand.page, hand.page.locator("#item-panel")
    page.get_by_role("button", name="Tube", exact=True).click()
    hand.click(100, 100)
    hand.click(150, 80)
    hand.click(300, 80)
    # Over the port a corner at the height of the device port, 80 + 20 mm: the tube leaves the plate plumb.
    expect(panel.get_by_role("heading", name="Tube's course (2 corners)")).to_be_visible()
    assert course(hand) == [(100, 100, 100), (150, 80, 100)]
    assert hand.item("ports", "P1")["serves"] == "D1.in"
    expect(page.locator('#world g.item[data-kind="drop"] .tube')).to_be_attached()
    # A corner dragged keeps its height; the card has it; undo takes it back.
    drag(hand, page.locator('#overlay [data-handle="tube-corner"]').nth(1), 0, 30)
    (_, (x, y, z)) = course(hand)
    assert x == 150
    assert y < 75
    assert z == 100
    expect(panel.get_by_label("Tube corner 2 from the front")).to_have_value(f"{y:g}")
    page.keyboard.press("Control+z")
    assert course(hand)[1] == (150, 80, 100)
    # A corner pulled out of a leg, moved by the arrow keys, and taken out by Delete.
    drag(hand, page.locator('#overlay [data-handle="insert-tube"]').last, 0, 20)
    added = course(hand)
    assert len(added) == 3
    page.keyboard.press("Alt+d")
    page.keyboard.press("Shift+ArrowRight")
    assert course(hand)[2][0] == added[2][0] + 10
    page.keyboard.press("Delete")
    assert course(hand) == added[:2]
    # By number on the card, and straight again.
    height = panel.get_by_label("Tube corner 1 above the floor")
    height.fill("110")
    height.press("Enter")
    assert course(hand)[0] == (100, 100, 110)
    # The port moves: what stands right over it stays there.
    page.keyboard.press("Alt+d")
    page.keyboard.press("ArrowLeft")
    assert course(hand)[0] == (99, 100, 110)
    # From the card by keyboard alone: the cursor goes to the device port; the new course is one corner over the port.
    page.get_by_role("button", name="Draw its course").press("Enter")
    page.keyboard.press("Alt+d")
    at = cursor(hand)
    for key, far in (("ArrowRight", 300 - at[0]), ("ArrowUp", 80 - at[1])):
        way = key if far >= 0 else {"ArrowRight": "ArrowLeft", "ArrowUp": "ArrowDown"}[key]
        for _ in range(int(abs(far) // 10)):
            page.keyboard.press(f"Shift+{way}")
        for _ in range(round(abs(far) % 10)):
            page.keyboard.press(way)
    page.keyboard.press("Enter")
    expect(panel.get_by_role("heading", name="Tube's course (1 corner)")).to_be_visible()
    assert course(hand) == [(99, 100, 100)]
    # Two devices: out of D1 and round to D2, which opens to the same side.
    page.get_by_role("button", name="Tube", exact=True).click()
    for x, y in ((340, 80), (375, 80), (375, 220), (340, 220)):
        hand.click(x, y)
    expect(panel.get_by_role("heading", name="T1 Tube", exact=True)).to_be_visible()
    (tube,) = hand.document()["loop"]["tubes"]
    assert (tube["start"], tube["end"]) == ("D1.out", "D2.in")
    assert [(p["x_mm"], p["y_mm"], p["z_mm"]) for p in tube["points"]] == [(375, 80, 100), (375, 220, 100)]
    # What cannot be joined is said, and what was clicked stays.
    page.get_by_role("button", name="Tube", exact=True).click()
    hand.click(340, 220)
    hand.click(300, 80)
    expect(page.locator("#notice")).to_contain_text("D2.in is joined by T1 already")
    # Selected on the plan, its menu puts a corner in; deleted with one key and back with undo.
    page.keyboard.press("Escape")
    page.keyboard.press("Escape")
    hand.click(375, 150, button="right")
    page.get_by_role("menuitem", name="Add a corner to the tube here").click()
    assert len(hand.document()["loop"]["tubes"][0]["points"]) == 3


MEASURED = {
    "cutouts": [
        {"id": "K1", "outline": {"shape": "rectangle", "x_mm": 120, "y_mm": 200, "width_mm": 40, "depth_mm": 20}}
    ]
}


def test_a_measured_gap_is_kept_as_a_dimension_line_that_follows(context: BrowserContext, server: Server) -> None:
    hand = Bench(context.new_page(), server, server.post("/api/plates", {"document": plate(**MEASURED)})["id"])
    hand.open()
    page, panel = hand.page, hand.page.locator("#item-panel")
    measured = page.get_by_role("group", name="Measured", exact=True)
    page.get_by_role("button", name="Distance").click()
    # From the plate's left edge, at 50, to the left wall of the cutout, at 100.
    hand.click(50, 137)
    hand.click(100, 203)
    expect(measured).to_contain_text("From an edge of plate to an edge of K1.")
    expect(measured.get_by_role("button", name="Keep 50 mm")).to_be_visible()
    measured.get_by_role("button", name="Keep ↔ 50 mm").click()
    expect(panel.get_by_role("heading", name="N1 Dimension line")).to_be_visible()
    (line,) = hand.document()["dimensions"]
    assert line["first"] == {"item": "plate", "part": "edge", "index": 3}
    assert line["second"] == {"item": "K1", "part": "edge", "index": 3}
    value = page.locator('#world g.item[data-kind="dimension"] .value')
    expect(value).to_have_text("50")
    # The cutout moves by keyboard: the line follows; the line itself is moved off by the arrow keys and by hand.
    off = line["offset_mm"]
    page.keyboard.press("Alt+d")
    page.keyboard.press("Shift+ArrowUp")
    assert hand.document()["dimensions"][0]["offset_mm"] == off + 10
    drawn = place_of(page.locator('#world g.item[data-kind="dimension"] .dimension-hit'))
    x, y = drawn["x"] + drawn["width"] / 4, drawn["y"] + drawn["height"] / 2
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 20)
    page.mouse.move(x, y + 30)
    hand.drop()
    assert hand.document()["dimensions"][0]["offset_mm"] < off + 10
    page.get_by_role("tab", name="All items").click()
    page.locator('#items [data-item="K1"]').click()
    page.keyboard.press("Alt+d")
    page.keyboard.press("Shift+ArrowRight")
    expect(value).to_have_text("60")
    # Listed with its value; gone with what it measures, and back with it.
    page.get_by_role("tab", name="All items").click()
    page.locator('#items [data-item="N1"]').click()
    expect(panel.locator("dl.facts")).to_contain_text("60 mm")
    page.get_by_role("tab", name="All items").click()
    page.locator('#items [data-item="K1"]').click()
    page.keyboard.press("Alt+d")
    page.keyboard.press("Delete")
    expect(page.locator("#notice")).to_contain_text("With it went N1")
    assert hand.document().get("dimensions", []) == []
    page.keyboard.press("Control+z")
    expect(value).to_have_text("60")
    # By keyboard alone: a distance from the cursor to where it is moved, kept by Tab and Enter; deleted.
    page.keyboard.press("Escape")
    page.keyboard.press("m")
    page.keyboard.press("Enter")
    page.keyboard.press("Shift+ArrowRight")
    page.keyboard.press("Enter")
    keep = measured.get_by_role("button", name="Keep 10 mm")
    keep.press("Enter")
    expect(panel.get_by_role("heading", name="N2 Dimension line")).to_be_visible()
    page.keyboard.press("Alt+d")
    page.keyboard.press("Delete")
    assert [one["id"] for one in hand.document()["dimensions"]] == ["N1"]
    assert hand.faults == []


POINTER = """([kind, id, x, y, buttons]) => document.querySelector("#stage").dispatchEvent(new PointerEvent(kind, {
    pointerId: id, pointerType: "mouse", clientX: x, clientY: y, buttons, bubbles: true, cancelable: true }))"""


def test_a_drag_that_is_broken_off_in_any_way_leaves_the_plate_as_it_was(hand: Bench) -> None:
    page = hand.page
    place = lambda: (hand.item("ports", "P1")["x_mm"], hand.item("ports", "P1")["y_mm"])  # noqa: E731
    hand.press(100, 100)
    hand.drag_to(130, 120)
    page.keyboard.press("Escape")
    hand.drag_to(150, 150)
    hand.drop()
    assert place() == (100, 100)
    # Undo in the middle of a drag takes back the drag, and nothing before it.
    hand.press(100, 100)
    hand.drag_to(110, 100)
    hand.drop()
    assert place() == (110, 100)
    hand.press(110, 100)
    hand.drag_to(150, 150)
    page.keyboard.press("Control+z")
    hand.drag_to(170, 150)
    hand.drop()
    assert place() == (110, 100)
    # Locked, in its list, while it is dragged: it is let go, and stays.
    hand.press(110, 100)
    hand.drag_to(150, 150)
    page.evaluate("() => document.querySelector('#item-panel .lock input').click()")
    hand.drag_to(160, 150)
    hand.drop()
    assert (*place(), hand.item("ports", "P1")["locked"]) == (110, 100, True)
    page.keyboard.press("Control+z")
    assert not hand.item("ports", "P1").get("locked")
    # A second pointer only hovers: what is held does not jump to it.
    hand.press(110, 100)
    hand.drag_to(130, 100)
    far = hand.screen(250, 200)
    page.evaluate(POINTER, ["pointermove", 77, *far, 0])
    hand.drag_to(120, 100)
    hand.drop()
    assert place() == (120, 100)
    # Let go where nobody saw it: the next move without a button ends the drag where it was.
    hand.press(120, 100)
    hand.drag_to(140, 100)
    page.evaluate(POINTER, ["pointermove", 1, *hand.screen(140, 100), 0])
    hand.settled()
    assert place() == (140, 100)
    page.mouse.up()
    hand.settled()
    assert place() == (140, 100)
    # A device is made higher by its top edge in the front elevation; Escape puts a drag there back.
    page.get_by_role("button", name="Elevations").click()
    top = page.locator("#elevations svg").first.locator('g.item[data-id="D1"][data-kind="top-edge"] line')
    for escape in (True, False):
        # Measured each time: an answer that comes late lays the elevations out again.
        hand.settled()
        box = place_of(top)
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        page.mouse.down()
        page.mouse.move(x, y - 12)
        page.mouse.move(x, y - 15)
        if escape:
            page.keyboard.press("Escape")
        page.mouse.up()
        hand.settled()
        device = hand.item("devices", "D1")
        assert (device["height_mm"] > 30) is not escape
        assert device["z_mm"] == 80


def test_a_box_takes_what_lies_wholly_within(bench: Bench) -> None:
    page = bench.page
    bench.step("Lay out")
    page.get_by_role("button", name="Fit", exact=True).click()
    board = next(one for one in bench.document()["boards"] if one.get("role") == "riser")
    shape = place_of(page.locator(f'#world g.item[data-id="{board["id"]}"] > .hardware').first)

    def boxed(right: float) -> list[str]:
        page.keyboard.press("Escape")
        page.keyboard.down("Shift")
        page.mouse.move(shape["x"] - 3, shape["y"] - 3)
        page.mouse.down()
        page.mouse.move(right, shape["y"] + shape["height"] + 3, steps=3)
        page.mouse.up()
        page.keyboard.up("Shift")
        return list(page.locator("#world g.item.selected").evaluate_all("(all) => all.map((one) => one.dataset.id)"))

    # A board's place in the document is its corner, which is in the box both times.
    assert board["id"] not in boxed(shape["x"] + shape["width"] - 4)
    assert board["id"] in boxed(shape["x"] + shape["width"] + 3)
    # Elevations opened below take room from the plan, which is shown whole again.
    page.get_by_role("button", name="Fit", exact=True).click()
    page.get_by_role("button", name="Elevations").click()
    page.wait_for_function("""() => {
      const box = (one) => document.querySelector(one).getBoundingClientRect();
      const [plan, stage] = [box("#world .floor-outline"), box("#stage")];
      return stage.height < 500 && plan.top >= stage.top - 1 && plan.bottom <= stage.bottom + 1;
    }""")  # fmt: skip
