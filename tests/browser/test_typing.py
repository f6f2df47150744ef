"""What is half typed stays: answers come when they come, and redraw the panels under one's hands."""

from __future__ import annotations

import math
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Bench

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
