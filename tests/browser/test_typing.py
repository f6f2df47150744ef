"""What is half typed stays: answers come when they come, and redraw the panels under one's hands."""

from __future__ import annotations

import math
from typing import Any

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.conftest import Bench, Server
from tests.browser.hands import Hand

pytestmark = pytest.mark.browser

#: Opens the folds of the step.
OPENED = """() => document.querySelectorAll('#step-panel details.fold:not(.all-values)').forEach((fold) => {
    fold.open = true;
})"""
#: Types into every field of a panel in turn (or every so many), lets the panel be drawn again as an answer does, and
#: looks what is left.
TYPED = """async ({ panel, redraw, every }) => {
    const frames = async (n) => { for (let i = 0; i < n; i += 1) await new Promise(requestAnimationFrame); };
    const root = document.querySelector(panel);
    const keeps = [...root.querySelectorAll('input[type="text"][data-keep], textarea[data-keep], select[data-keep]')]
        .filter((e) => e.checkVisibility() && !e.disabled).map((e) => e.dataset.keep).filter((_, i) => i % every === 0);
    const lost = [];
    for (const keep of keeps) {
        const find = () => root.querySelector(`[data-keep="${CSS.escape(keep)}"]`);
        const field = find();
        if (!field) continue;
        const was = field.value;
        field.focus();
        const text = field.tagName === 'SELECT' ? was : '7x';
        if (field.tagName !== 'SELECT') {
            field.value = text;
            field.dispatchEvent(new InputEvent('input', { bubbles: true }));
        }
        document.querySelector(redraw).click();
        await frames(3);
        const now = find();
        if (document.activeElement !== now) lost.push(`${keep}: the focus`);
        else if (now.value !== text) lost.push(`${keep}: “${now.value}” for “${text}”`);
        if (now && now.tagName !== 'SELECT') {
            now.value = was;
            now.dispatchEvent(new InputEvent('input', { bubbles: true }));
            now.dispatchEvent(new KeyboardEvent('keydown', { key: 'Escape', bubbles: true }));
            delete now.dataset.typing;
        }
        now?.blur();
    }
    return { tried: keeps.length, lost };
}"""


def test_half_typed_words_and_the_focus_outlive_every_redraw(bench: Bench, request: pytest.FixtureRequest) -> None:
    page = bench.page
    before = bench.document()
    tried = 0
    # Every field with --long; an eighth of them every day.
    every = 1 if request.config.getoption("--long") else 8
    for step in ("Measure", "Lay out", "Run channels", "Check", "Test piece", "Hand off"):
        bench.step(step)
        page.evaluate(OPENED)
        bench.settled()
        found: Any = page.evaluate(TYPED, {"panel": "#step-panel", "redraw": "#measure-button", "every": every})
        assert found["lost"] == [], step
        tried += found["tried"]
    # At least the readings, the points, the loop, the test piece, the seal.
    assert tried > 100 / every
    bench.settled()
    assert bench.document() == before


def test_what_is_chosen_is_what_is_added(bench: Bench) -> None:
    """An answer that comes between choosing and adding does not bring the first of the list back."""
    page = bench.page
    bench.step("Lay out")
    page.locator("summary", has_text="Boards, cards and devices").click()
    page.get_by_label("Ready set", exact=True).select_option("card-flat")
    page.get_by_role("button", name="Distance").click()  # the panel is drawn again
    expect(page.get_by_label("Ready set", exact=True)).to_have_value("card-flat")
    page.get_by_role("button", name="Add the ready set").click()
    assert [board.get("role") for board in bench.document()["boards"][-2:]] == ["riser", "card"]


def test_a_caliper_that_is_faster_than_the_page(empty: Bench) -> None:
    """Three corners of a 3-4-5 triangle, the second value typed in the same task as the first one's Enter."""
    page = empty.page
    page.get_by_label("New points").fill("A B C")
    page.get_by_label("New points").press("Enter")
    page.get_by_text("One after the other, or with a caliper that types").click()
    page.get_by_label("Pairs of points").fill("A-B, B-C, A-C")
    page.get_by_role("button", name="Begin", exact=True).click()
    expect(page.locator('[data-keep="sequence-value"]')).to_be_focused()
    page.evaluate(
        """(values) => {
            const field = document.activeElement;
            for (const value of values) {
                for (const letter of value) {
                    field.value += letter;
                    field.dispatchEvent(new InputEvent('input', { bubbles: true }));
                }
                field.dispatchEvent(new KeyboardEvent('keydown', { key: 'Enter', bubbles: true, cancelable: true }));
            }
        }""",
        ["400", "300", "500"],
    )
    empty.settled()
    readings = empty.document()["survey"]["readings"]
    assert [(r["points"], r["value"]) for r in readings] == [(["A", "B"], 400), (["B", "C"], 300), (["A", "C"], 500)]
    assert math.hypot(400, 300) == 500


def test_the_page_without_an_address_opens_the_last_plate(bench: Bench) -> None:
    page = bench.page
    page.goto(bench.server.address)
    page.wait_for_function("() => location.hash.startsWith('#plate=')")
    expect(page.get_by_role("dialog")).to_have_count(0)


@pytest.mark.parametrize("way", ["mouse", "finger"])
def test_a_press_that_meets_a_redraw_counts(way: str, browser: Browser, server: Server) -> None:
    """A hand rests on what it presses for a tenth of a second; what was typed before is taken then, and redraws."""
    context = browser.new_context(viewport={"width": 1280, "height": 800}, has_touch=way == "finger")
    bench = Bench(context.new_page(), server, server.post("/api/plates", {"example": "riser-bench"})["id"])
    bench.open()
    page, hand, panel = bench.page, Hand(bench, way), bench.page.locator("#item-panel")
    hand.item("P3")
    pressed = {"mouse": hand.hold, "finger": hand.hold_finger}[way]
    front, left = bench.field("From the front"), bench.field("From the left")

    def typed(value: str) -> None:
        hand.enter(left)
        expect(left).to_be_focused()
        page.keyboard.press("Control+a")
        page.keyboard.type(value)

    # From field to field: the next one has the focus, and takes what is typed.
    typed("300")
    pressed(front)
    expect(front).to_be_focused()
    page.keyboard.press("Control+a")
    page.keyboard.type("301")
    pressed(panel.locator(".lock input"))
    port = bench.item("ports", "P3")
    assert (port["x_mm"], port["y_mm"], port["locked"]) == (300, 301, True)
    pressed(panel.locator(".lock input"))
    # A button does what it does about the plate as it is now: the copy is one of the port where it was just put.
    typed("310")
    pressed(panel.get_by_role("button", name="Copy", exact=True))
    ports = bench.document()["ports"]
    assert bench.item("ports", "P3")["x_mm"] == 310
    assert ports[-1]["id"] != "P3"
    assert ports[-1]["x_mm"] > 310
    # A list opens, and stays open.
    hand.item("P3")
    typed("305")
    if way == "mouse":
        pressed(bench.field("Used for"))
        page.wait_for_function("() => document.querySelector('#item-panel select:open') !== null")
    assert bench.faults == []
    context.close()
