"""The drawing by fingers: touch points go in where a touch screen's would, and the browser makes events of them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pytest
from playwright.sync_api import Browser, CDPSession, expect

from tests.browser.conftest import Bench, Server, place_of

pytestmark = pytest.mark.browser

PLATE: dict[str, Any] = {
    "name": "by finger",
    "floor": {"outline": {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 400, "depth_mm": 300}},
    "plate": {
        "outline": {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 300, "depth_mm": 200},
        "body_thickness_mm": 12,
        "lid_thickness_mm": 8,
    },
    "ports": [{"id": "P1", "x_mm": 100, "y_mm": 150}, {"id": "P2", "x_mm": 180, "y_mm": 150}],
    "cutouts": [
        {"id": "K1", "outline": {"shape": "rectangle", "x_mm": 280, "y_mm": 150, "width_mm": 60, "depth_mm": 60}}
    ],
}
FRAMES = "() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))"
#: A finger's middle is seldom nearer than this to what it means, px: common practice, no source.
OFF = 15


@dataclass
class Fingers:
    """Fingers on the page, by their places on the floor in mm."""

    bench: Bench
    wire: CDPSession

    def put(self, *places: tuple[float, float]) -> None:
        """Fingers come down, px on the screen; those that are down already are given again."""
        self._send("touchStart", places)

    def move(self, *places: tuple[float, float]) -> None:
        """Fingers move; one that is given no place any more is lifted."""
        self._send("touchMove", places)

    def lift(self) -> None:
        """All fingers off."""
        self._send("touchEnd", ())

    def _send(self, kind: str, places: tuple[tuple[float, float], ...]) -> None:
        points = [{"x": x, "y": y, "id": i, "radiusX": 9, "radiusY": 9} for i, (x, y) in enumerate(places)]
        self.wire.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
        # The page has taken it in: what is read of the view afterwards is one state of it.
        self.bench.page.evaluate(FRAMES)

    def floor(self, at: tuple[float, float]) -> tuple[float, float]:
        """What place on the floor lies there now, mm."""
        (x0, y0), (x1, y1) = self.bench.screen(0, 0), self.bench.screen(1, 1)
        return ((at[0] - x0) / (x1 - x0), (at[1] - y0) / (y1 - y0))

    @property
    def scale(self) -> float:
        """px to a mm."""
        return self.bench.screen(1, 0)[0] - self.bench.screen(0, 0)[0]


@pytest.fixture
def fingers(browser: Browser, server: Server) -> Iterator[Fingers]:
    """A plate on a touch screen."""
    context = browser.new_context(viewport={"width": 1280, "height": 800}, has_touch=True)
    bench = Bench(context.new_page(), server, server.post("/api/plates", {"document": PLATE})["id"])
    bench.open()
    yield Fingers(bench, context.new_cdp_session(bench.page))
    assert bench.faults == []
    context.close()


def near(a: tuple[float, float], b: tuple[float, float], within: float) -> bool:
    return abs(a[0] - b[0]) <= within and abs(a[1] - b[1]) <= within


def test_two_fingers_move_and_zoom_and_the_floor_keeps_to_both(fingers: Fingers) -> None:
    x, y = fingers.bench.screen(330, 230)
    # The second finger comes when the first has moved the view already: so do most hands.
    fingers.put((x, y))
    fingers.move((x - 12, y))
    fingers.move((x - 20, y))
    first, second = (x - 20, y), (x - 120, y + 60)
    under = fingers.floor(first), fingers.floor(second)
    fingers.put(first, second)
    first, second = (x + 10, y - 30), (x - 150, y + 90)
    fingers.move(first, second)
    # The floor keeps to both: how far apart their places on it are, and what lies between them.
    length = lambda a, b: ((a[0] - b[0]) ** 2 + (a[1] - b[1]) ** 2) ** 0.5  # noqa: E731
    now = fingers.floor(first), fingers.floor(second)
    assert abs(length(*now) / length(*under) - 1) < 0.01
    assert near(*[((a[0] + b[0]) / 2, (a[1] + b[1]) / 2) for a, b in (now, under)], within=2 / abs(fingers.scale))
    # The finger that is left moves the view on; back with two, it zooms again.
    one = fingers.floor(first)
    fingers.move(first)
    fingers.move((first[0] - 40, first[1] + 25))
    # Within two pixels: browsers round where fingers are.
    assert near(fingers.floor((first[0] - 40, first[1] + 25)), one, within=2 / abs(fingers.scale))
    fingers.lift()
    expect(fingers.bench.page.get_by_role("button", name="Undo")).to_be_disabled()


def test_a_finger_that_rests_opens_the_menu_and_one_that_moves_on_drags(fingers: Fingers) -> None:
    bench, page = fingers.bench, fingers.bench.page
    menu = page.get_by_role("menu")
    fingers.put(bench.screen(100, 150))
    expect(menu.get_by_role("menuitem", name="Delete P1")).to_be_visible()
    fingers.lift()
    expect(menu).to_be_visible()
    page.keyboard.press("Escape")
    expect(menu).to_have_count(0)
    # Another one: it can be added to what is selected, for which a mouse has Shift.
    fingers.put(bench.screen(180, 150))
    expect(menu).to_be_visible()
    fingers.lift()
    menu.get_by_role("menuitem", name="Select with P1").tap()
    expect(page.locator("#item-panel")).to_contain_text("2 items")
    # Rested too long, and moved on: dragged after all, both together.
    x, y = bench.screen(180, 150)
    fingers.put((x, y))
    expect(menu).to_be_visible()
    for k in range(1, 6):
        fingers.move((x, y - 6 * k))
    expect(menu).to_have_count(0)
    fingers.lift()
    assert bench.item("ports", "P2")["y_mm"] > 155
    assert bench.item("ports", "P1")["y_mm"] == bench.item("ports", "P2")["y_mm"]
    # A second finger, a palm, does not break off what is dragged.
    high = bench.item("ports", "P2")["y_mm"]
    x, y = bench.screen(bench.item("ports", "P2")["x_mm"], high)
    fingers.put((x, y))
    fingers.move((x, y + 15))
    fingers.put((x, y + 15), (x + 200, y + 100))
    fingers.move((x, y + 40), (x + 200, y + 100))
    fingers.move((x, y + 40))
    fingers.lift()
    assert bench.item("ports", "P2")["y_mm"] < high - 10
    # A box of two taps, begun from the menu of an empty place.
    page.touchscreen.tap(*bench.screen(330, 235))
    expect(page.locator("#item-panel")).not_to_contain_text("2 items")
    fingers.put(bench.screen(70, 240))
    menu.get_by_role("menuitem", name="Select by a box from here").wait_for()
    fingers.lift()
    menu.get_by_role("menuitem", name="Select by a box from here").tap()
    page.touchscreen.tap(*bench.screen(340, 70))
    expect(page.locator("#item-panel")).to_contain_text("3 items")
    # Near the window's edge the menu opens to the other side: under the finger, its being lifted would press an entry.
    before = bench.document()
    fingers.put(bench.screen(335, 150))
    expect(menu).to_be_visible()
    box = place_of(menu)
    assert box["x"] + box["width"] < bench.screen(335, 150)[0]
    fingers.lift()
    page.wait_for_timeout(100)
    expect(menu).to_be_visible()
    assert bench.document() == before


def test_handles_are_taken_hold_of_by_a_finger_beside_them(fingers: Fingers) -> None:
    bench, page = fingers.bench, fingers.bench.page
    page.touchscreen.tap(*bench.screen(280, 150))
    expect(page.locator("#item-panel").get_by_role("heading", name=re.compile("K1"))).to_be_visible()
    # Outside of the corner by a finger's error: the corner comes along.
    x, y = bench.screen(310, 180)
    fingers.put((x + OFF * 0.7, y - OFF * 0.7))
    for k in range(1, 7):
        fingers.move((x + OFF * 0.7 + 5 * k, y - OFF * 0.7))
    fingers.lift()
    outline = bench.item("cutouts", "K1")["outline"]
    assert outline["width_mm"] > 65
    assert outline["x_mm"] - outline["width_mm"] / 2 == pytest.approx(250, abs=0.01)
    # In its middle the whole of it moves, whatever is near.
    at = (outline["x_mm"], outline["y_mm"])
    x, y = bench.screen(*at)
    fingers.put((x + 4, y))
    for k in range(1, 7):
        fingers.move((x + 4 - 7 * k, y))
    fingers.lift()
    moved = bench.item("cutouts", "K1")["outline"]
    assert (moved["width_mm"], moved["depth_mm"]) == (outline["width_mm"], outline["depth_mm"])
    assert moved["x_mm"] < at[0] - 5
