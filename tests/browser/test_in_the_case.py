"""What stands in the case: a strip and its cable, a card and its slot, a device dragged into a board."""

from __future__ import annotations

import re
from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Locator, expect

from tests.browser.conftest import Bench, Server, place_of

pytestmark = pytest.mark.browser

FLOOR = {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 400, "depth_mm": 300}


def area(x: float, y: float, width: float, depth: float) -> dict[str, Any]:
    return {"shape": "rectangle", "x_mm": x, "y_mm": y, "width_mm": width, "depth_mm": depth}


def opened(context: BrowserContext, server: Server, **parts: Any) -> Bench:
    document = {
        "name": "In the case",
        "floor": {"outline": FLOOR, "obstacles": parts.pop("obstacles", [])},
        "plate": {"outline": area(200, 150, 360, 260), "body_thickness_mm": 12, "lid_thickness_mm": 6},
        **parts,
    }
    bench = Bench(context.new_page(), server, server.post("/api/plates", {"document": document})["id"])
    bench.open()
    return bench


def selected(bench: Bench, id_: str) -> Locator:
    """The panel of an item that is chosen in the list."""
    bench.page.get_by_role("tab", name="All items").click()
    bench.page.locator(f'#items .item-row[data-item="{id_}"]').click()
    return bench.page.locator("#item-panel")


def box(bench: Bench, id_: str) -> tuple[float, float, float, float]:
    """What an outline of the saved plate covers: left, front, right, rear; that of a slot along x or y, or corners."""
    outline = bench.item("pockets", id_)["outline"]
    if outline["shape"] == "polygon":
        xs, ys = ([v[key] for v in outline["vertices"]] for key in ("x_mm", "y_mm"))
        return min(xs), min(ys), max(xs), max(ys)
    upright = round(outline.get("turn_deg", 0)) % 180 == 90
    sizes = (outline["length_mm"], outline["width_mm"])
    across, deep = sizes[::-1] if upright else sizes
    x, y = outline["x_mm"], outline["y_mm"]
    return x - across / 2, y - deep / 2, x + across / 2, y + deep / 2


def test_a_strips_cable_finds_its_way_out_and_stays_in_step(context: BrowserContext, server: Server) -> None:
    """A strip of 98 by 10 about (160, 120), a cutout 30 wide about (300, 120): places are worked out by hand."""
    strip = {"id": "O1", "name": "light strip", "outline": area(160, 120, 98, 10), "height_mm": 63, "bottom_mm": 60}
    bench = opened(context, server, obstacles=[strip], cutouts=[{"id": "K1", "outline": area(300, 120, 30, 60)}])
    page, panel = bench.page, selected(bench, "O1")
    panel.locator("summary", has_text="Cutout, pocket or keep-out along it").click()
    panel.get_by_label("Make", exact=True).select_option("pocket")
    panel.get_by_role("button", name="Make it").click()
    expect(page.locator("#notice")).to_contain_text("follows O1")
    # One action more: the slot for its cable, to what is nearest.
    panel.locator("summary", has_text="Slot for its cable").click()
    panel.get_by_label("Cable diameter").fill("3")
    panel.get_by_role("button", name="Make the slot").click()
    expect(page.locator("#notice")).to_contain_text("3.5 mm wide")
    slot = bench.item("pockets", "R2")
    # With its clearance it is 110 … 210 by 114 … 126: 75 to the cutout, 90 to the left edge, 94 to the front edge.
    assert slot["cable"] == {"start": "R1", "end": "K1", "cable_mm": 3}
    assert box(bench, "R2") == pytest.approx((210 - 3.5, 118.25, 285 + 3.5, 121.75))
    expect(bench.rule("outside-plate")).to_have_count(0)
    for rule in ("wall-pocket-pocket", "wall-cutout-pocket", "cable-open", "cable-wall", "follows-out-of-step"):
        expect(bench.rule(rule)).to_have_count(0)
    # The strip is moved to the rear by hand: pocket and slot come along, all in one step.
    page.keyboard.press("Escape")
    before = bench.document()
    bench.press(160, 120)
    bench.drag_to(160, 130)
    bench.drop()
    after = bench.document()
    page.locator("#undo").click()
    bench.settled()
    assert bench.document() == before
    page.locator("#redo").click()
    bench.settled()
    assert bench.document() == after
    moved = bench.document()["floor"]["obstacles"][0]["outline"]["y_mm"]
    assert moved > 125
    left, front, right, rear = box(bench, "R2")
    assert (left, right) == pytest.approx((206.5, 288.5), abs=0.01)
    assert (front + rear) / 2 == pytest.approx(moved, abs=0.01)
    # By corners instead, one put in by the panel, one pulled on the plan; then over the plate's edge.
    panel = selected(bench, "R2")
    panel.get_by_role("button", name="Add a corner").click()
    bench.settled()
    handle = place_of(page.locator('#overlay [data-handle="slot-corner"]'))
    page.mouse.move(handle["x"] + handle["width"] / 2, handle["y"] + handle["height"] / 2)
    page.mouse.down()
    bench.drag_to(242, 170)
    bench.drop()
    corner = bench.item("pockets", "R2")["cable"]["points"]
    assert (corner[0]["x_mm"], corner[0]["y_mm"]) == pytest.approx((242, 170), abs=3)
    assert box(bench, "R2")[3] > 160
    panel.get_by_role("button", name="Remove slot corner 1").click()
    panel.get_by_label("Leads to").select_option(label="the plate's edge")
    bench.settled()
    assert "end" not in bench.item("pockets", "R2")["cable"]
    # The left edge is nearest, at 20: the centreline ends half a width beyond it.
    assert box(bench, "R2")[0] == pytest.approx(20 - 3.5, abs=0.01)
    expect(bench.rule("outside-plate")).to_have_count(0)
    panel.get_by_role("button", name="Stop following").click()
    bench.settled()
    assert bench.item("pockets", "R2")["cable"]["in_step"] is False
    assert not bench.faults


RISER = {"id": "RISER", "role": "riser", "x_mm": 120, "y_mm": 100, "z_mm": 60, "width_mm": 160, "depth_mm": 60,
         "slots": 4, "first_slot_mm": 20, "slot_pitch_mm": 30, "thickness_mm": 1.6, "parts_height_mm": 2}  # fmt: skip
CARD = {"id": "CARD", "role": "card", "held_by": "RISER", "slot": 1, "y_mm": 4, "width_mm": 50, "depth_mm": 70,
        "thickness_mm": 1.6, "parts_height_mm": 4}  # fmt: skip
PUMP = {"id": "PUMP", "kind": "pump", "x_mm": 320, "y_mm": 200, "z_mm": 90, "height_mm": 30,
        "outline": area(0, 0, 40, 40), "ports": [{"id": "out", "w_mm": 15, "u_mm": 20}]}  # fmt: skip
BOARD = {"id": "MB", "x_mm": 290, "y_mm": 160, "z_mm": 40, "width_mm": 80, "depth_mm": 90, "thickness_mm": 1.6,
         "parts_height_mm": 0}  # fmt: skip


def test_a_slot_is_seen_at_once_and_a_collision_comes_and_goes(context: BrowserContext, server: Server) -> None:
    """Slots are 30 mm apart along the riser; the pump's underside hangs 50 mm above the board's top."""
    bench = opened(context, server, boards=[RISER, CARD, BOARD], devices=[PUMP])
    page = bench.page
    page.get_by_role("button", name="Elevations").click()
    front = page.locator("#elevations svg").first
    expect(front.locator('g.item[data-id="CARD"]').first).to_be_visible(timeout=30_000)

    middle = """([root, id]) => {
        const drawn = document.querySelectorAll(`${root} g.item[data-id="${id}"] .hardware`);
        const shapes = [...drawn].map((e) => e.getBBox());
        const left = Math.min(...shapes.map((b) => b.x)), right = Math.max(...shapes.map((b) => b.x + b.width));
        return (left + right) / 2;
    }"""

    roots = ("#world", "#elevations figure:first-of-type svg")
    panel = selected(bench, "CARD")
    # The middle of what is drawn of the card, across, in mm of its drawing.
    before = [page.evaluate(middle, [root, "CARD"]) for root in roots]
    for slot in (3, 2):
        panel.get_by_label("In slot", exact=True).fill(str(slot))
        panel.get_by_label("In slot", exact=True).press("Enter")
        bench.settled()
        # In plan and in the front elevation at once: so many slots of 30 mm farther.
        for root, start in zip(roots, before, strict=True):
            page.wait_for_function(
                f"([root, wanted]) => Math.abs(({middle})([root, 'CARD']) - wanted) < 0.01",
                arg=[root, start + 30 * (slot - 1)],
            )
    assert bench.item("boards", "CARD")["slot"] == 2

    # The pump's port shows the way its tube leaves it, to the right.
    assert front.locator('g.item[data-id="PUMP.out"] .port-way').count() == 3

    # Down into the board, and up again: the mark comes and goes while the hand is on.
    mark = front.locator('[data-rule="bodies-overlap"]')
    expect(mark).to_have_count(0)
    at = place_of(front.locator('g.item[data-id="PUMP"][data-kind="device"] .hardware'))
    scale = at["height"] / 30
    x, y = at["x"] + at["width"] / 2, at["y"] + at["height"] * 0.7
    page.mouse.move(x, y)
    page.mouse.down()
    page.mouse.move(x, y + 20 * scale)
    page.mouse.move(x, y + 60 * scale)
    page.mouse.up()
    bench.settled()
    assert bench.item("devices", "PUMP")["z_mm"] == pytest.approx(30, abs=3)
    expect(mark).to_have_count(1, timeout=30_000)
    expect(front.locator('g.item[data-id="MB"][data-level="error"]').first).to_be_attached()
    bench.page.keyboard.press("Escape")
    selected(bench, "PUMP")
    for _ in range(3):
        front.focus()
        page.keyboard.press("Shift+ArrowUp")
        bench.settled()
    assert bench.item("devices", "PUMP")["z_mm"] == pytest.approx(60, abs=3)
    expect(mark).to_have_count(0, timeout=30_000)
    assert re.fullmatch(r"Undo.*", page.locator("#undo").get_attribute("title") or "")
    assert not bench.faults
