"""Labels and signs cover neither ports nor each other, measured by the boxes that the browser gives them."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import BrowserContext, expect

from tests.browser.conftest import Bench, Server

pytestmark = pytest.mark.browser

#: Boxes that share less than this are beside each other, px²: letters do not fill the boxes that they stand in.
TOUCH = 8.0

BOXES = """() => {
  const shown = (e) => e.getClientRects().length && getComputedStyle(e).visibility === "visible" && !e.closest(".hidden");
  const box = (e) => { const r = e.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom]; };
  const [left, top, right, bottom] = box(document.querySelector("#stage"));
  const of = (kind, list, name, part) => [...list].filter(shown).map((e) => ({ kind, name: name(e), box: box(part(e)) }))
    .filter(({ box: b }) => b[2] > left && b[0] < right && b[3] > top && b[1] < bottom);
  const texts = document.querySelectorAll("#world g.item > text:is(.tag, .name, .value)");
  const marks = document.querySelectorAll("#overlay [data-finding]");
  const ports = document.querySelectorAll('#world g.item[data-kind="port"]');
  return [
    ...of("words", texts, (e) => e.textContent, (e) => e),
    ...of("sign", marks, (e) => "sign " + e.dataset.finding, (e) => e.querySelector(":scope > path")),
    ...of("sign", document.querySelectorAll("#overlay .mark-count"), (e) => "sign " + e.parentNode.dataset.finding, (e) => e),
    ...of("disc", [...ports].filter((e) => e.querySelector("circle.thread")), (e) => e.dataset.id, (e) => e.querySelector("circle.thread")),
    ...of("square", [...ports].filter((e) => e.querySelector("path.fitting, polygon.fitting")), (e) => e.dataset.id, (e) => e.querySelector(".fitting")),
  ];
}"""  # noqa: E501


FRAMES = """() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(() =>
  requestAnimationFrame(done))))"""
#: The names of ports that found room, in sight or not.
NAMED = '#world g.item[data-kind="port"] > text.tag:not(.no-room)'


def crowd() -> dict[str, Any]:
    """144 ports at 33 by 38 mm, a channel between every third two, screws and cutouts between."""
    outline = {"shape": "rectangle", "x_mm": 300, "y_mm": 200, "width_mm": 600, "depth_mm": 400}
    ports = [
        {"id": f"P{9 * i + j + 1}", "x_mm": 45 + 33 * i + 7 * (j % 2), "y_mm": 45 + 38 * j}
        for i in range(16)
        for j in range(9)
    ]
    return {
        "name": "A crowd", "floor": {"outline": outline},
        "plate": {"outline": {**outline, "width_mm": 560, "depth_mm": 360},
                  "body_thickness_mm": 14, "lid_thickness_mm": 6},
        "ports": ports,
        "channels": [{"id": f"C{i}", "start": f"P{2 * i}", "end": f"P{2 * i + 1}", "width_mm": 8, "depth_mm": 6}
                     for i in range(1, 72, 3)],
        "holes": [{"id": f"H{i + 1}", "x_mm": 40 + 17.5 * i, "y_mm": 25} for i in range(30)],
        "cutouts": [{"id": f"K{i + 1}", "outline": {"shape": "circle", "x_mm": 60 + 40 * i, "y_mm": 64 + 76 * (i % 4),
                                                    "diameter_mm": 12}} for i in range(12)],
    }  # fmt: skip


def shared(a: list[float], b: list[float]) -> float:
    """The area that two boxes share."""
    across, down = min(a[2], b[2]) - max(a[0], b[0]), min(a[3], b[3]) - max(a[1], b[1])
    return across * down if across > 0 and down > 0 else 0.0


def into_disc(disc: list[float], box: list[float]) -> float:
    """How far a box reaches into a disc."""
    x, y, r = (disc[0] + disc[2]) / 2, (disc[1] + disc[3]) / 2, (disc[2] - disc[0]) / 2
    dx, dy = max(box[0] - x, 0, x - box[2]), max(box[1] - y, 0, y - box[3])
    return float(r - (dx * dx + dy * dy) ** 0.5)


def clashes(things: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """What lies over what."""
    over = [one for one in things if one["kind"] in ("words", "sign")]
    found = [
        (a["name"], b["name"])
        for i, a in enumerate(over)
        for b in over[i + 1 :]
        if shared(a["box"], b["box"]) > TOUCH and (a["kind"] == "words" or a["name"] != b["name"])
    ]
    for a in over:
        found += [(a["name"], p["name"]) for p in things if p["kind"] == "disc" and into_disc(p["box"], a["box"]) > 2]
        found += [
            (a["name"], p["name"]) for p in things if p["kind"] == "square" and shared(p["box"], a["box"]) > TOUCH
        ]
    return found


def test_labels_and_signs_cover_neither_ports_nor_each_other(context: BrowserContext, server: Server) -> None:
    page = context.new_page()
    for given in ({"example": "riser-bench"}, {"example": "wrong-on-purpose"}, {"document": crowd()}):
        bench = Bench(page, server, server.post("/api/plates", given)["id"])
        bench.open()
        bench.step("Check")
        for width, height in ((1280, 800), (1920, 1080)):
            page.set_viewport_size({"width": width, "height": height})
            page.evaluate(FRAMES)
            page.get_by_role("button", name="Fit", exact=True).click()
            for zoom in range(3):
                if zoom:
                    page.get_by_role("button", name="Zoom in").click(click_count=2, delay=20)
                bench.settled()
                # Labels settle when a hand rests, and a window that has grown fits its drawing a frame later.
                page.evaluate(FRAMES)
                expect(page.locator('#stage[data-labels="placed"]')).to_be_attached()
                things = page.evaluate(BOXES)
                assert clashes(things) == [], (given.get("example", "crowd"), width, zoom)
                # Not by leaving all of them out: of the ports in sight three in four have their name, in a crowd too.
                ports = {one["name"] for one in things if one["kind"] in ("disc", "square")}
                named = ports & set(page.locator(NAMED).all_text_contents())
                assert len(named) >= 0.75 * len(ports), (given.get("example", "crowd"), width, zoom)
        assert bench.faults == []


def test_a_label_without_room_is_shown_under_the_pointer_and_a_drag_moves_no_other(
    context: BrowserContext, server: Server
) -> None:
    few = crowd()
    close = [{"id": f"P{101 + i}", "x_mm": 100 + 21 * (i % 5), "y_mm": 100 + 21 * (i // 5)} for i in range(25)]
    few.update(ports=close, channels=[], holes=[], cutouts=[])
    bench = Bench(context.new_page(), server, server.post("/api/plates", {"document": few})["id"])
    page = bench.page
    bench.open()
    page.get_by_role("button", name="Fit", exact=True).click()
    expect(page.locator('#stage[data-labels="placed"]')).to_be_attached()
    left_out = page.locator('#world g.item[data-kind="port"] > text.tag.no-room').first.text_content()
    port = bench.item("ports", left_out or "")
    label = page.locator(f'#world g.item[data-id="{port["id"]}"] > text.tag')
    expect(label).to_be_hidden()
    page.mouse.move(*bench.screen(port["x_mm"], port["y_mm"]))
    expect(label).to_be_visible()
    expect(page.locator('#stage[data-labels="placed"]')).to_be_attached()
    assert clashes(page.evaluate(BOXES)) == []
    page.mouse.move(*bench.screen(-20, -40))
    expect(label).to_be_hidden()

    def drawn() -> list[dict[str, Any]]:
        bench.settled()
        page.evaluate(FRAMES)
        expect(page.locator('#stage[data-labels="placed"]')).to_be_attached()
        found: list[dict[str, Any]] = page.evaluate(BOXES)
        return found

    # A port at the edge is dragged away from all others: a name moves only from where it would cover something now.
    held = bench.item("ports", "P125")
    bench.press(held["x_mm"], held["y_mm"])
    bench.drag_to(held["x_mm"] + 3, held["y_mm"] + 3)
    before = {one["name"]: one["box"] for one in drawn() if one["kind"] == "words"}
    for step in range(1, 4):
        bench.drag_to(held["x_mm"] + 3 + 2 * step, held["y_mm"] + 3)
        now = drawn()
        for one in now:
            was = before.get(one["name"])
            if one["kind"] == "words" and one["name"] != "P125" and was and abs(was[0] - one["box"][0]) > 1:
                other = [thing["box"] for thing in now if thing["name"] != one["name"] or thing["kind"] == "disc"]
                assert any(shared(was, box) > 0 for box in other), (one["name"], was, one["box"])
        before = {one["name"]: one["box"] for one in now if one["kind"] == "words"}
    bench.drop()
    assert bench.faults == []
