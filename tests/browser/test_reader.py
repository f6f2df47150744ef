"""The page as a screen reader has it: landmarks, headings, names, what is said, and where the focus stands.

The names are those of Chromium's own accessibility tree, which is what a screen reader is given; axe reads the markup.
"""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import pytest
from playwright.sync_api import Page, expect

from tests.browser.conftest import Bench
from tests.browser.test_access import STEPS

pytestmark = pytest.mark.browser

#: What is worked with; one without a name is heard as "button" and no more (WCAG 2.2, 4.1.2).
CONTROLS = {
    "button", "link", "textbox", "combobox", "checkbox", "radio", "slider", "tab", "spinbutton", "DisclosureTriangle",
    "application", "group", "region", "toolbar", "tabpanel", "dialog", "navigation", "image",
}  # fmt: skip
#: Groups of the browser's own, around the words of a fold.
UNNAMED = {"group"}


def value(node: dict[str, Any], key: str) -> Any:
    return node.get(key, {}).get("value")


def tree(page: Page) -> list[dict[str, Any]]:
    """What a screen reader is given of the page now."""
    session = page.context.new_cdp_session(page)
    nodes: list[dict[str, Any]] = session.send("Accessibility.getFullAXTree")["nodes"]
    session.detach()
    return [node for node in nodes if not node.get("ignored")]


def levels(page: Page) -> list[tuple[int, str]]:
    """The headings as they come in the page."""
    found = page.evaluate(
        """() => [...document.querySelectorAll("h1, h2, h3, h4, h5, h6")].filter((one) => one.checkVisibility())
          .map((one) => [Number(one.tagName[1]), one.textContent])"""
    )
    return [(level, name) for level, name in found]


def test_landmarks_headings_and_names_on_every_step(bench: Bench) -> None:
    page = bench.page
    page.set_viewport_size({"width": 1600, "height": 800})
    nameless: list[str] = []
    for step in STEPS:
        bench.step(step)
        page.evaluate(
            """() => document.querySelectorAll('#step-panel details.fold, #findings details').forEach((fold) => {
              fold.open = !fold.querySelector('.glossary');
            })"""
        )
        bench.settled()
        # What comes later than this, as plots do, is in the tree only.
        found = levels(page)
        folds = page.locator("#step-panel details.fold > summary").all_text_contents()
        nodes = tree(page)
        nameless += [
            f"{step}: a {value(node, 'role')} without a name"
            for node in nodes
            if value(node, "role") in CONTROLS - UNNAMED and not (value(node, "name") or "").strip()
        ]
        heard = {value(node, "name") for node in nodes if value(node, "role") == "heading"}
        assert {name for _, name in found} <= heard, step
        assert all(name.strip() for _, name in found), step
        # WAI-ARIA practices: no level is left out on the way down.
        assert [name for (a, _), (b, name) in pairwise(found) if b > a + 1] == [], step
        assert [name for level, name in found if level <= 2] == ["Plate sketcher", step, "Drawing", "Findings", "Items"]
        assert set(folds) <= {name for _, name in found}, step
        roles = [value(node, "role") for node in nodes]
        for landmark in ("banner", "navigation", "main", "complementary", "contentinfo"):
            assert roles.count(landmark) == 1, (step, landmark)
    assert nameless == []


def test_what_has_changed_is_said_and_the_focus_is_never_lost(bench: Bench) -> None:
    page = bench.page
    focused = page.locator(":focus")
    page.get_by_role("tab", name="All items").click()
    page.get_by_role("button", name="P11").first.click()
    panel = page.get_by_role("tabpanel", name="Selected")
    # Deleting takes the button away that was pressed.
    panel.get_by_role("button", name="Delete", exact=True).focus()
    page.keyboard.press("Enter")
    expect(panel).to_be_focused()
    expect(page.get_by_role("status").filter(has_text="P11")).not_to_have_count(0)
    bench.settled()
    # The last undo takes its own button away; the other is beside it.
    page.get_by_role("button", name="Undo").focus()
    page.keyboard.press("Enter")
    expect(page.get_by_role("button", name="Redo")).to_be_focused()
    bench.settled()
    # A dialog gives the focus back to what opened it.
    for name in ("Settings", "Shortcuts", "Plates", "History"):
        opener = page.get_by_role("button", name=name, exact=True)
        opener.focus()
        page.keyboard.press("Enter")
        dialog = page.get_by_role("dialog")
        expect(dialog).to_be_visible()
        assert dialog.evaluate("(box) => box.contains(document.activeElement)"), name
        page.keyboard.press("Escape")
        expect(opener).to_be_focused()
    # A new step is heard with its heading.
    page.keyboard.press("Alt+4")
    expect(page.get_by_role("heading", name="Check", level=2)).to_be_focused()
    # An error is said with its words, and its fold keeps the focus.
    page.get_by_role("tab", name="All items").click()
    page.locator('#items [data-item="P3"]').click()
    page.locator("#stage").focus()
    for _ in range(3):
        page.keyboard.press("Shift+ArrowLeft")
    expect(page.locator("#say-findings")).to_contain_text("error")
    expect(page.locator("#link-sign")).to_have_attribute("role", "status")
    expect(focused).to_have_id("stage")
