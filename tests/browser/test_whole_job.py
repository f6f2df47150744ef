"""A plate of one's own from "new" to the shop's zip by mouse, by keyboard alone and by finger, its actions counted.

The scenario is invented: a bench supply with a floor of 220 by 160 mm, whose pump and block are joined by one channel.
"""

from __future__ import annotations

import io
import re
import zipfile
from dataclasses import dataclass
from typing import Any

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser.conftest import Bench, Server
from tests.browser.test_keyboard import pen_to

pytestmark = pytest.mark.browser

#: More actions than this are too many for a plate of two ports; docs/page.md has the count.
MOST_ACTIONS = 24


@dataclass
class Hand:
    """One way of working at the page; every press, place and text is counted."""

    bench: Bench
    way: str
    count: int = 0

    @property
    def page(self) -> Page:
        """The page."""
        return self.bench.page

    def press(self, target: Any) -> None:
        """Presses a button or a link."""
        self.count += 1
        expect(target).to_be_visible()
        if self.way == "finger":
            target.tap()
        elif self.way == "mouse":
            target.click()
        else:
            # Tab reaches it (tests/browser/test_keyboard.py goes there key by key); from there on keys do all.
            # An answer that comes while it is sought puts another one in its place: then it is sought again.
            for _ in range(3):
                target.focus()
                if target.evaluate("(e) => e === document.activeElement"):
                    break
            assert target.evaluate("(e) => e === document.activeElement && e.tabIndex >= 0")
            self.page.keyboard.press("Enter")

    def write(self, target: Any, text: str) -> None:
        """Types into a field and takes it."""
        self.count += 1
        if self.way == "finger":
            target.tap()
        elif self.way == "mouse":
            target.click()
        else:
            target.focus()
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)
        self.page.keyboard.press("Tab")

    def place(self, x: float, y: float) -> None:
        """Acts at a place on the floor, mm."""
        self.count += 1
        # A step that has just been opened may still change the room for the drawing: a hand waits until it stands.
        self.bench.settled()
        self.page.evaluate("() => new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        if self.way == "finger":
            self.page.touchscreen.tap(*self.bench.screen(x, y))
        elif self.way == "mouse":
            self.bench.click(x, y)
        else:
            self.page.locator("#stage").focus()
            self.page.keyboard.press("ArrowRight")
            pen_to(self.bench, round(x), round(y))
            self.page.keyboard.press("Enter")
        self.bench.settled()

    def step(self, title: str) -> None:
        """Goes to a step."""
        self.press(self.page.get_by_role("navigation", name="Steps").get_by_role("button", name=title))


@pytest.fixture(params=["mouse", "keyboard", "finger"])
def hand(request: pytest.FixtureRequest, browser: Browser, server: Server) -> Any:
    """A hand at the page, with some other plate open."""
    finger = request.param == "finger"
    context = browser.new_context(viewport={"width": 1280, "height": 800}, has_touch=finger, accept_downloads=True)
    start = {"width_mm": 100, "depth_mm": 100, "body_thickness_mm": 20}
    bench = Bench(context.new_page(), server, server.post("/api/plates", {"start": start})["id"], beside=False)
    bench.open()
    yield Hand(bench, request.param)
    assert bench.faults == []
    context.close()


def test_from_new_to_the_shops_package(hand: Hand) -> None:
    page, bench = hand.page, hand.bench
    hand.press(page.get_by_role("button", name="Plates"))
    hand.press(page.get_by_role("button", name="A new plate"))
    dialog = page.get_by_role("dialog", name="A new plate")
    hand.write(dialog.get_by_label("Name", exact=True), "Bench supply")
    hand.write(dialog.get_by_label("Floor, left to right", exact=True), "220")
    hand.write(dialog.get_by_label("Floor, front to rear", exact=True), "160")
    hand.press(dialog.get_by_role("button", name="Begin this plate"))
    expect(page.get_by_label("Name of the plate")).to_have_value("Bench supply")
    bench.plate = int(page.evaluate("() => location.hash.split('=')[1]"))
    expect(page.get_by_role("region", name="First steps")).to_be_visible()
    hand.step("Lay out")
    for x in (60, 160):
        hand.press(page.locator('[data-tool="port"]'))
        hand.place(x, 80)
    expect(page.get_by_role("region", name="First steps")).to_have_count(0)
    hand.step("Run channels")
    hand.press(page.locator('[data-tool="channel"]'))
    hand.place(60, 80)
    hand.place(160, 80)
    hand.step("Hand off")
    hand.press(page.get_by_role("button", name="Place the screws"))
    expect(page.get_by_text(re.compile(r"^\d+ screws hold the lid"))).to_be_visible(timeout=30_000)
    bench.settled()
    hand.step("Check")
    expect(page.locator('[data-question="made"]')).to_contain_text("Yes", timeout=30_000)
    hand.step("Hand off")
    hand.press(page.get_by_role("button", name="Download shop package"))
    expect(page.get_by_text("Keep a revision first")).to_be_visible(timeout=30_000)
    hand.press(page.get_by_role("button", name="Keep “hand-off 1” now"))
    # All files are made, solids too.
    expect(page.get_by_role("listitem").filter(has_text="hand-off 1")).to_be_visible(timeout=120_000)
    with page.expect_download(timeout=120_000) as pack:
        hand.press(page.get_by_role("button", name="Download shop package"))
    assert pack.value.suggested_filename == "bench-supply-hand-off.zip"
    names = zipfile.ZipFile(io.BytesIO(pack.value.path().read_bytes())).namelist()
    assert {"body-above.dxf", "lid.dxf", "drawing.pdf", "holes.csv", "plate.html", "plate.json"} <= set(names)
    document = bench.document()
    assert [(p["x_mm"], p["y_mm"]) for p in document["ports"]] == [(60, 80), (160, 80)]
    assert (document["channels"][0]["start"], document["channels"][0]["end"]) == ("P1", "P2")
    assert page.locator("#findings .found.error, #findings .found.warning").count() == 0
    assert hand.count <= MOST_ACTIONS
