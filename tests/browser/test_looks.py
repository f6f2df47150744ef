"""How the page looks, as far as it can be measured; docs/page.md has the table of what is held where.

The numbers are the project's own (four sizes of letters, 8 px of rhythm); contrast and sizes to press are axe's.
"""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from tests.browser.conftest import Bench, Server

pytestmark = pytest.mark.browser

STEPS = ("Measure", "Lay out", "Run channels", "Check", "Test piece", "Hand off")
#: Pixels: docs/page.md.
SIZES = {"12px", "14px", "17px", "21px"}

MAIN = """() => [...document.querySelectorAll("#step-panel .do")]
    .filter((one) => one.checkVisibility() && !one.closest("details:not([open])")).map((one) => one.textContent)"""

#: Sizes, slants and faces of all words that are seen; small figures on the rulers are part of the drawing.
LETTERS = """() => {
    const found = { sizes: new Set(), slants: new Set(), faces: new Set() };
    const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walk.nextNode(); node; node = walk.nextNode()) {
        const one = node.parentElement;
        if (!node.data.trim() || one.closest("svg, script, style, .unseen") || !one.checkVisibility()) continue;
        const { fontSize, fontStyle, fontFamily } = getComputedStyle(one);
        found.sizes.add(fontSize); found.slants.add(fontStyle); found.faces.add(fontFamily);
    }
    return Object.fromEntries(Object.entries(found).map(([key, all]) => [key, [...all]]));
}"""

SIGNS = """() => [...document.querySelectorAll("#findings .level > summary")].map((head) => {
    const sign = head.querySelector("svg");
    const shape = sign.querySelector("path, circle, rect");
    return {
        level: head.querySelector("h3").textContent, words: sign.textContent,
        shape: shape.getAttribute("d"), colour: getComputedStyle(shape).fill,
    };
})"""


@pytest.fixture(scope="module")
def made(server: Server) -> dict[str, int]:
    start = {"width_mm": 400, "depth_mm": 300, "body_thickness_mm": 20}
    bodies: dict[str, Any] = {"empty": {"start": start}, "demo": {"example": "riser-bench"}}
    bodies["wrong"] = {"example": "wrong-on-purpose"}
    return {name: server.post("/api/plates", body)["id"] for name, body in bodies.items()}


@pytest.fixture
def page(context: BrowserContext) -> Page:
    return context.new_page()


def opened(page: Page, server: Server, plate: int) -> Bench:
    bench = Bench(page, server, plate, beside=False)
    bench.open()
    return bench


def test_an_empty_plate_leads_on_and_claims_nothing(page: Page, server: Server, made: dict[str, int]) -> None:
    bench = opened(page, server, made["empty"])
    for step in STEPS:
        bench.step(step)
        bench.settled()
        assert len(page.evaluate(MAIN)) == 1, step
        shown = " ".join(page.locator(name).inner_text() for name in ("#head", "#bench", "#foot"))
        assert "✓" not in shown, step
        assert "kPa" not in page.locator("#foot").inner_text(), step
        assert page.locator("#step-panel a[href*='/export'], #step-panel a[href*='/handoff']").count() == 0, step
    page.get_by_role("button", name="Begin with Lay out").click()
    expect(page.get_by_role("heading", name="Lay out", exact=True, level=2)).to_be_visible()
    assert bench.faults == []


def test_each_step_has_one_main_action_and_words_of_four_sizes(
    page: Page, server: Server, made: dict[str, int]
) -> None:
    bench = opened(page, server, made["demo"])
    names = {device["id"]: device["name"] for device in bench.document()["devices"]}
    for step in STEPS:
        bench.step(step)
        bench.settled()
        assert len(page.evaluate(MAIN)) == 1, (step, page.evaluate(MAIN))
        letters = page.evaluate(LETTERS)
        assert set(letters["sizes"]) <= SIZES, (step, letters)
        assert letters["slants"] == ["normal"], step
        assert len(letters["faces"]) <= 2, (step, letters["faces"])
    # The bar of losses speaks of devices by name, with the whole name in sight, and the figures add up.
    bar = page.locator("#foot .share.device .share-id")
    assert set(bar.all_inner_texts()) <= set(names.values())
    assert bar.count() >= 4
    assert bar.evaluate_all("all => all.every((one) => one.scrollWidth <= one.parentElement.clientWidth)")
    parts = page.locator("#foot .share-part").all_inner_texts()
    assert abs(sum(int(part.split()[0]) for part in parts) - 100) <= len(parts) / 2
    # The panel of a port has both its places: P1 is at 62, 215, and at 44, 193 from the plate's corner (18, 22).
    page.get_by_role("button", name="All items").first.click()
    page.locator("#items").get_by_role("button", name="P1 Pump out").click()
    expect(page.get_by_text("From the shop's datum: x 44, y 193 mm")).to_be_visible()
    assert bench.faults == []


def test_one_row_for_one_cause_and_a_sign_for_each_level(page: Page, server: Server, made: dict[str, int]) -> None:
    bench = opened(page, server, made["wrong"])
    bench.step("Check")
    bench.settled()
    assert len(page.evaluate(MAIN)) == 1
    page.get_by_role("button", name="Show the first error").click()
    expect(page.locator("#findings .found.error").first).to_be_visible()
    signs = page.evaluate(SIGNS)
    assert [sign["level"] for sign in signs] == ["Errors", "Warnings", "Notes"]
    for key in ("words", "shape", "colour"):
        assert len({sign[key] for sign in signs}) == 3, (key, signs)
    rows = page.evaluate(
        """() => [...document.querySelectorAll("#findings .level > ul > li.found")].map((one) => one.dataset.rule)"""
    )
    assert rows
    assert max(rows.count(rule) for rule in rows) <= 2
    assert bench.faults == []
