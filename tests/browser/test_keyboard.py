"""The whole job by keyboard alone: no pointer is touched after the page is open."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Bench
from tests.browser.hands import cursor_to

pytestmark = pytest.mark.browser


def focused(bench: Bench) -> str:
    """What has the focus: its name or its words."""
    active = bench.page.locator("*:focus")
    return active.get_attribute("aria-label") or active.inner_text().strip()


def tab_to(bench: Bench, words: str, most: int = 60) -> None:
    """Presses Tab until something that begins so has the focus, and it shows."""
    for _ in range(most):
        bench.page.keyboard.press("Tab")
        if focused(bench).startswith(words):
            assert bench.page.evaluate("() => getComputedStyle(document.activeElement).outlineStyle") != "none"
            return
    raise AssertionError(f"Tab does not come to {words!r}")


def test_the_whole_job_by_keyboard(bench: Bench) -> None:
    keys = bench.page.keyboard
    # Take a round cutout in hand, set it down with the pen, give it its size and its place by number.
    keys.press("Alt+d")
    expect(bench.page.locator("#stage")).to_be_focused()
    keys.press("k")
    expect(bench.page.locator("#tool-bar")).to_contain_text("Round cutout")
    keys.press("Shift+ArrowLeft")
    keys.press("Enter")
    bench.settled()
    made = bench.document()["cutouts"][-1]
    assert made["id"] == "K4"
    keys.press("Enter")  # to its card
    assert bench.page.evaluate("() => document.activeElement.closest('#item-panel') !== null")
    for value in ("250", "270", "0.8 in"):
        keys.press("Control+a")
        keys.type(value)
        keys.press("Enter")
        keys.press("Tab")  # to its help
        keys.press("Tab")
    assert bench.item("cutouts", "K4")["outline"] == {
        "shape": "circle",
        "x_mm": 250,
        "y_mm": 270,
        "diameter_mm": 20.32,
    }
    # A port nudged until a wall is too thin; the finding is reached and read, undo takes it away.
    keys.press("Alt+i")
    keys.press("Home")
    # Plate and floor come first, then the ports.
    for _ in range(4):
        keys.press("ArrowDown")
    assert focused(bench).startswith("P3")
    keys.press("Enter")
    keys.press("Alt+d")
    for _ in range(3):
        keys.press("Shift+ArrowLeft")
    bench.settled()
    expect(bench.page.locator('#findings .found.error[data-rule^="wall-"]').first).to_be_visible()
    keys.press("Alt+f")
    assert bench.page.evaluate("() => document.activeElement.closest('.found') !== null")
    expect(bench.page.locator("#overlay .halo")).to_be_attached()
    for _ in range(3):
        keys.press("Control+z")
        bench.settled()
    expect(bench.page.locator("#findings .found.error")).to_have_count(0)
    # A channel from port to port through a corner.
    keys.press("Alt+3")
    expect(bench.page.get_by_role("heading", name="Run channels", level=2)).to_be_focused()
    keys.press("Alt+d")
    keys.press("Escape")
    cursor_to(bench, 294, 230)
    keys.press("c")
    keys.press("Enter")
    cursor_to(bench, 294, 260)
    keys.press("Enter")
    cursor_to(bench, 300, 305)
    keys.press("Enter")
    channel = bench.item("channels", "C8")
    assert (channel["start"], channel["end"]) == ("P5", "P4")
    assert channel["points"] == [{"x_mm": 294, "y_mm": 260}]
    keys.press("Delete")
    assert "C8" in bench.document()["retired_ids"]
    # The test piece is fetched by its link.
    keys.press("Alt+5")
    expect(bench.page.get_by_role("heading", name="Test piece", level=2, exact=True)).to_be_focused()
    tab_to(bench, "DXF for the cutter")
    with bench.page.expect_download() as download:
        keys.press("Enter")
    assert download.value.suggested_filename.endswith(".dxf")


def test_every_item_can_be_reached_and_selected_from_the_list(bench: Bench) -> None:
    document = bench.document()
    keys = ("ports", "branches", "channels", "cutouts", "pockets", "keep_outs", "boards", "devices", "groups")
    ids = [item["id"] for key in keys for item in document[key]]
    bench.page.keyboard.press("Alt+i")
    listed = bench.page.locator("#items .item-row").evaluate_all("rows => rows.map((row) => row.dataset.item)")
    assert set(ids) <= set(listed)
    for _ in range(3):
        bench.page.keyboard.press("ArrowDown")
    chosen = bench.page.locator("*:focus").get_attribute("data-item")
    assert chosen
    bench.page.keyboard.press("Enter")
    expect(bench.page.locator("#item-panel h3 .id")).to_have_text(chosen)


def test_dialogs_hold_the_focus_and_give_it_back(bench: Bench) -> None:
    button = bench.page.get_by_role("button", name="Shortcuts")
    button.focus()
    bench.page.keyboard.press("Enter")
    dialog = bench.page.get_by_role("dialog", name="Shortcuts")
    expect(dialog).to_be_visible()
    assert bench.page.evaluate("() => document.activeElement.closest('dialog') !== null")
    bench.page.keyboard.press("Escape")
    expect(dialog).to_have_count(0)
    expect(button).to_be_focused()


def test_single_letters_do_nothing_outside_the_drawing(bench: Bench) -> None:
    bench.page.get_by_role("button", name="Shortcuts").focus()
    for key in ("p", "h", "c", "x"):
        bench.page.keyboard.press(key)
    expect(bench.page.locator("#tool-bar")).to_be_hidden()
    bench.page.get_by_label("Name of the plate").fill("phcx")
    expect(bench.page.locator("#tool-bar")).to_be_hidden()
