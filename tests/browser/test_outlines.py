"""Outlines by hand, things that become cutouts, heights in the elevations: by pointer, by number and by keyboard."""

from __future__ import annotations

import time
from collections.abc import Callable

import pytest
from playwright.sync_api import BrowserContext, Locator, expect

from tests.browser.conftest import Bench, Server, place_of

pytestmark = pytest.mark.browser


def eventually(value: Callable[[], float], wanted: float) -> bool:
    """Whether something comes to be as wanted within some seconds."""
    end = time.monotonic() + 15
    while value() != wanted:
        if time.monotonic() > end:
            return False
        time.sleep(0.1)
    return True


def drag(bench: Bench, handle: Locator, dx: float, dy: float) -> None:
    """Takes hold of the middle of something and lets it go so many px farther."""
    box = place_of(handle)
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    mouse = bench.page.mouse
    mouse.move(x, y)
    mouse.down()
    mouse.move(x + dx / 2, y + dy / 2)
    mouse.move(x + dx, y + dy)
    mouse.up()
    bench.settled()


def test_the_plate_is_shaped_by_hand_by_number_and_by_keyboard(bench: Bench) -> None:
    page, panel = bench.page, bench.page.locator("#item-panel")
    bench.page.get_by_role("tab", name="All items").click()
    page.locator('#items .item-row[data-item="plate"]').click()
    expect(panel.get_by_role("heading", name="Plate")).to_be_visible()
    before = bench.document()["plate"]["outline"]
    count = len(before["vertices"])
    # A corner pulled out of an edge, all in one step that undo takes back.
    drag(bench, page.locator('#overlay [data-handle="insert-vertex"]').first, 0, 30)
    after = bench.document()["plate"]["outline"]["vertices"]
    assert len(after) == count + 1
    page.keyboard.press("Control+z")
    assert bench.document()["plate"]["outline"] == before
    # A corner selected by its number is moved by the arrow keys, and rounded by number.
    panel.get_by_role("button", name="Select corner 1").click()
    page.keyboard.press("Alt+d")
    page.keyboard.press("Shift+ArrowLeft")
    moved = bench.document()["plate"]["outline"]["vertices"][0]
    assert moved["x_mm"] == before["vertices"][0]["x_mm"] - 10
    panel.get_by_label("Corner 1 arch of the next edge").fill("8")
    panel.get_by_label("Corner 1 arch of the next edge").press("Enter")
    assert bench.document()["plate"]["outline"]["vertices"][0]["bulge"] != 0
    # The menu of a place has what can be done there; it goes by Escape, and works by keys.
    vertices = bench.document()["plate"]["outline"]["vertices"]
    x = (vertices[1]["x_mm"] + vertices[2]["x_mm"]) / 2
    y = (vertices[1]["y_mm"] + vertices[2]["y_mm"]) / 2 + 20
    bench.click(x, y, button="right")
    expect(page.get_by_role("menuitem", name="Add a corner here")).to_be_focused()
    page.keyboard.press("Escape")
    expect(page.get_by_role("menu")).to_have_count(0)
    bench.click(x, y, button="right")
    page.keyboard.press("Enter")
    assert len(bench.document()["plate"]["outline"]["vertices"]) == len(vertices) + 1
    # It follows the floor, 3 mm inside: the server makes the outline.
    panel.locator("summary", has_text="From another shape").click()
    panel.get_by_role("button", name="Make the outline").click()
    expect(page.locator("#notice")).to_contain_text("new outline")
    xs = [vertex["x_mm"] for vertex in bench.document()["plate"]["outline"]["vertices"]]
    assert min(xs) == pytest.approx(3, abs=0.5)  # the surveyed floor is askew by so much
    assert not bench.faults


def test_a_board_makes_a_cutout_that_follows_it_and_heights_are_dragged(bench: Bench) -> None:
    page, panel = bench.page, bench.page.locator("#item-panel")
    page.get_by_role("tab", name="All items").click()
    page.locator('#items .item-row[data-item="RISER"]').click()
    panel.locator("summary", has_text="Cutout, pocket or keep-out along it").click()
    panel.get_by_role("button", name="Make it").click()
    expect(page.locator("#notice")).to_contain_text("follows")
    cutout = bench.document()["cutouts"][-1]
    assert cutout["follows"]["item"] == "RISER"
    narrow = bench.document()
    # The riser is made wider by number: what follows it comes along, worked out by the server.
    page.get_by_role("tab", name="All items").click()
    page.locator('#items .item-row[data-item="RISER"]').click()
    panel.get_by_label("Width", exact=True).fill("30")
    panel.get_by_label("Width", exact=True).press("Enter")
    assert bench.document()["cutouts"][-1]["outline"] != cutout["outline"]
    # Both are one step.
    page.locator("#undo").click()
    bench.settled()
    assert bench.document() == narrow
    page.locator("#redo").click()
    # The plate is raised in the front elevation, by hand and by keyboard.
    height = bench.document()["plate"].get("z_mm", 0)
    page.get_by_role("button", name="Elevations").click()
    front = page.locator("#elevations svg").first
    expect(front.locator('g.item[data-id="plate"]').first).to_be_visible(timeout=30_000)
    drag(bench, front.locator('g.item[data-id="plate"] .plate-outline').first, 0, -8)
    raised = bench.document()["plate"]["z_mm"]
    assert raised > height
    page.keyboard.press("Escape")
    page.get_by_role("tab", name="All items").click()
    page.locator('#items .item-row[data-item="plate"]').click()
    page.locator("#elevations svg").first.focus()
    page.keyboard.press("ArrowDown")
    assert eventually(lambda: bench.document()["plate"]["z_mm"], raised - 1)
    # Faster than the views come: no key is lost.
    for _ in range(4):
        page.keyboard.press("ArrowDown")
    assert eventually(lambda: bench.document()["plate"]["z_mm"], raised - 5)
    assert not bench.faults


#: The boxes of what stands in the case, by id and kind, px.
BOXES = """(root) => Object.fromEntries([...document.querySelectorAll(root + " g.item[data-id]")].flatMap((item) => {
    const shapes = [...item.querySelectorAll(".hardware, .device-port, .top-edge, .fitting, .plate-outline")]
      .filter((one) => one.getClientRects().length).map((one) => one.getBoundingClientRect());
    if (!shapes.length) return [];
    const ends = [["left", Math.min], ["top", Math.min], ["right", Math.max], ["bottom", Math.max]];
    return [[`${item.dataset.kind} ${item.dataset.id} ${shapes.length}`,
             ends.map(([side, most]) => most(...shapes.map((box) => box[side])))]];
}))"""
#: A place in an elevation where nothing lies over a thing, px.
TAKEN = """([root, id]) => [...document.querySelectorAll(`${root} g.item[data-id="${id}"]:not([data-index]) *`)]
.flatMap((e) => {
    const { left, top, width, height } = e.getBoundingClientRect();
    const share = (k) => (k + 1) / 10;
    return Array.from({ length: 81 }, (_, k) => [left + width * share(k % 9), top + height * share(Math.floor(k / 9))]);
}).find(([x, y]) => {
    const item = document.elementFromPoint(x, y)?.closest("g.item");
    return item && item.dataset.id === id && item.dataset.index === undefined;
})"""
FRAMES = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"


def far(a: dict[str, list[float]], b: dict[str, list[float]]) -> set[str]:
    """What is more than a pixel elsewhere in one than in the other."""
    return {
        key
        for key in a.keys() | b.keys()
        if key not in a or key not in b or max(map(abs, map(float.__sub__, a[key], b[key]))) > 1
    }


def test_what_is_held_moves_with_its_holder_in_the_same_frame(bench: Bench) -> None:
    """While it is dragged the page draws it by itself; the second method is the server's drawing after the drop."""
    page, mouse = bench.page, bench.page.mouse

    def dragged(root: str, x: float, y: float, dx: float, dy: float, drawn: str) -> int:
        before = page.evaluate(BOXES, root)
        mouse.move(x, y)
        mouse.down()
        mouse.move(x + dx / 2, y + dy / 2)
        mouse.move(x + dx, y + dy)
        page.evaluate(FRAMES)
        during = page.evaluate(BOXES, root)
        # What stands for the old drawing is marked, so that the new one is known when it comes.
        page.evaluate(f"() => document.querySelectorAll({drawn!r}).forEach((one) => {{ one.dataset.old = 'yes'; }})")
        mouse.up()
        page.wait_for_function(f"() => !document.querySelector({drawn + '[data-old]'!r})", timeout=30_000)
        bench.settled()
        page.evaluate(FRAMES)
        # An answer about the way there may come before the one about where it ended.
        assert eventually(lambda: len(far(during, page.evaluate(BOXES, root))), 0), far(
            during, page.evaluate(BOXES, root)
        )
        return len(far(before, during))

    # Turned on the plan: the riser takes its card along, and the card its block.
    page.get_by_role("tab", name="All items").click()
    page.locator('#items .item-row[data-item="RISER"]').click()
    handle = place_of(page.locator('#overlay [data-handle="turn"]'))
    assert dragged("#world", handle["x"] + 10, handle["y"] + 10, 60, 45, "#world g.plan") >= 5
    page.keyboard.press("Control+z")
    bench.settled()
    # Raised, and moved, in the front elevation.
    page.get_by_role("button", name="Elevations").click()
    front = "#elevations figure:first-of-type"
    expect(page.locator(front + ' g.item[data-id="plate"]').first).to_be_visible(timeout=30_000)
    for id_, dx, dy, least in (("MB", 0, -12, 3), ("RISER", 14, 0, 5), ("plate", 0, -9, 10)):
        place = page.evaluate(TAKEN, [front, id_])
        assert place, id_
        assert dragged(front, place[0], place[1], dx, dy, front + " svg") >= least


def test_what_follows_goes_with_its_thing_and_a_body_is_taken_by_its_line(
    context: BrowserContext, server: Server
) -> None:
    """A pump's foot on a plate of its own: every place is known here, in mm."""
    corners = [(-20, -15), (20, -15), (25, 20), (-20, 15)]
    foot = {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in corners]}
    floor = {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 400, "depth_mm": 300}
    document = {
        "name": "A foot", "floor": {"outline": floor},
        "plate": {"outline": floor, "body_thickness_mm": 12, "lid_thickness_mm": 8},
        "devices": [{"id": "D1", "kind": "pump", "x_mm": 150, "y_mm": 180, "outline": foot, "height_mm": 40,
                     "holes": [{"id": "a", "u_mm": -14, "v_mm": -10, "diameter_mm": 3.4}]}],
    }  # fmt: skip
    bench = Bench(context.new_page(), server, server.post("/api/plates", {"document": document})["id"])
    bench.open()
    page, panel = bench.page, bench.page.locator("#item-panel")
    # Beside its line, not on it: a line is thinner than a hand is steady.
    bench.click(150, 167)
    expect(page.locator('#world g.item[data-id="D1"].selected').first).to_be_attached()
    panel.locator("summary", has_text="Cutout, pocket or keep-out along it").click()
    panel.get_by_role("button", name="Make it").click()
    expect(page.locator("#notice")).to_contain_text("follow D1")
    made = bench.document()
    cutout, hole = made["cutouts"][0], made["holes"][0]
    assert (hole["x_mm"], hole["y_mm"]) == (150 - 14, 180 - 10)
    # By itself it stays, and says why; by its thing it moves, hole and all, in one step.
    page.keyboard.press("Alt+d")
    page.keyboard.press("ArrowRight")
    expect(page.locator("#notice")).to_contain_text("follows D1")
    assert bench.document() == made
    page.keyboard.press("Escape")
    # The cutout lies over it now: a second click in the same place goes on to what lies beneath.
    bench.click(150, 165.5)
    expect(page.locator(f'#world g.item[data-id="{cutout["id"]}"].selected').first).to_be_attached()
    bench.click(150, 165.5)
    expect(page.locator('#world g.item[data-id="D1"].selected').first).to_be_attached()
    bench.press(150, 165.5)
    bench.drag_to(180, 135.5)
    bench.drop()
    after = bench.document()
    dx, dy = (after["devices"][0][key] - made["devices"][0][key] for key in ("x_mm", "y_mm"))
    assert (dx, dy) != (0, 0)
    assert after["holes"][0]["x_mm"] - hole["x_mm"] == pytest.approx(dx)
    old, new = (one["outline"]["vertices"][0] for one in (cutout, after["cutouts"][0]))
    assert (new["x_mm"] - old["x_mm"], new["y_mm"] - old["y_mm"]) == (pytest.approx(dx), pytest.approx(dy))
    page.keyboard.press("Control+z")
    assert bench.document() == made
    # Enter ends corners that were clicked, where no cursor is.
    page.keyboard.press("c")
    bench.click(260, 220)
    bench.click(300, 250)
    page.keyboard.press("Enter")
    (channel,) = bench.document()["channels"]
    assert len(channel["points"]) == 2
    assert not bench.faults
