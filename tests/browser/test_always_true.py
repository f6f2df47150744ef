"""What is shown is what is saved: other browsers, files, the browser's history, reloads, answers that do not come."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Route, expect

from tests.browser.conftest import Bench, Server

pytestmark = pytest.mark.browser


@pytest.fixture
def small(context: BrowserContext, server: Server) -> Iterator[Bench]:
    """The small example, open on the page."""
    opened = Bench(context.new_page(), server, server.post("/api/plates", {"example": "small-board"})["id"])
    opened.open()
    yield opened
    assert opened.faults == []


def rename_elsewhere(bench: Bench, name: str) -> None:
    """Another browser saves the plate under another name; this one hears nothing of it by itself."""
    stored = bench.server.get(f"/api/plates/{bench.plate}")
    bench.server.put(
        f"/api/plates/{bench.plate}",
        {"base": stored["state"], "document": {**stored["document"], "name": name}, "label": "Name the plate"},
    )


def test_another_browser_is_noticed_and_no_file_is_made_of_what_is_not_shown(
    small: Bench, browser: Browser, tmp_path: Path
) -> None:
    page = small.page
    name = page.get_by_label("Name of the plate")
    rename_elsewhere(small, "first")
    page.evaluate("() => window.dispatchEvent(new Event('focus'))")
    expect(name).to_have_value("first")
    # A file asked for before the change is noticed is refused, with the reason; then the plate is shown as it is.
    small.step("Test piece")
    rename_elsewhere(small, "second")
    page.get_by_role("link", name="DXF for the cutter").click()
    expect(page.get_by_text("The plate was changed in another window")).to_be_visible()
    expect(name).to_have_value("second")
    with page.expect_download() as download:
        page.get_by_role("link", name="DXF for the cutter").click()
    download.value.save_as(tmp_path / "piece.dxf")
    assert download.value.suggested_filename == "second-test-piece.dxf"
    # Undo of what another browser did is no conflict, also in quick succession.
    rename_elsewhere(small, "third")
    undo = page.get_by_role("button", name="Undo")
    undo.click()
    expect(name).to_have_value("third")
    page.locator("#stage").focus()
    page.keyboard.press("Control+z")
    page.keyboard.press("Control+z")
    expect(name).to_have_value("first")
    expect(page.get_by_role("dialog")).to_have_count(0)


def test_the_address_back_and_a_reload_show_the_right_plate_and_step(small: Bench) -> None:
    page = small.page
    small.step("Lay out")
    small.step("Check")
    page.go_back()
    expect(page.get_by_role("heading", name="Lay out", level=2)).to_be_visible()
    page.go_forward()
    expect(page.get_by_role("heading", name="Check", level=2)).to_be_visible()
    # How far the steps are is known at once, not only when one of them is opened.
    small.server.post(f"/api/plates/{small.plate}/revisions", {"label": "one", "kind": "test-piece"})
    page.reload()
    bar = page.get_by_role("navigation", name="Steps")
    expect(bar.get_by_role("button", name="Test piece")).to_contain_text("1 revision")
    start = {"width_mm": 200, "depth_mm": 150, "body_thickness_mm": 20, "name": "the other"}
    other = small.server.post("/api/plates", {"start": start})["id"]
    page.evaluate(f"() => {{ location.hash = 'plate={other}'; }}")
    expect(page.get_by_label("Name of the plate")).to_have_value("the other")
    expect(bar.get_by_role("button", name="Test piece")).to_contain_text("none cut")
    # An empty plate is not called good.
    expect(page.locator("#findings")).to_contain_text("Nothing to check yet")
    expect(bar.get_by_role("button", name="Check")).to_contain_text("nothing yet")
    expect(page.locator('[data-question="fits"]')).to_contain_text("Not looked at")
    page.go_back()
    expect(page.get_by_label("Name of the plate")).not_to_have_value("the other")


#: Presses a button twice in one turn, and once more when the page may have drawn it anew.
TWICE = """(button) => {
    const keep = button.dataset.keep;
    button.click();
    button.click();
    setTimeout(() => keep && document.querySelector(`[data-keep="${keep}"]`)?.click(), 30);
}"""


def test_what_takes_a_while_cannot_be_started_twice(small: Bench) -> None:
    page = small.page
    asked: list[str] = []
    page.on("request", lambda request: request.method == "POST" and asked.append(request.url.rpartition("/api/")[2]))
    small.step("Lay out")
    page.locator("#step-panel summary", has_text="The plate").click()
    smallest = page.locator('[data-keep="smallest-plate"]')
    smallest.evaluate(TWICE)
    expect(smallest).to_have_text("Working…")
    expect(smallest).to_have_text("Smallest plate", timeout=60_000)
    small.settled()
    assert asked.count("smallest-plate") == 1
    small.step("Test piece")
    page.get_by_role("button", name="Keep as test piece").evaluate(TWICE)
    expect(page.get_by_role("listitem").filter(has_text="test piece 1")).to_be_visible(timeout=30_000)
    assert len([one for one in asked if one.endswith("/revisions")]) == 1
    page.get_by_role("button", name="Plates").click()
    page.get_by_role("button", name="A new plate").click()
    dialog = page.get_by_role("dialog", name="A new plate")
    dialog.get_by_label("Name", exact=True).fill("only one")
    dialog.get_by_role("button", name="Begin this plate").evaluate(TWICE)
    expect(page.get_by_label("Name of the plate")).to_have_value("only one")
    small.settled()
    assert asked.count("plates") == 1


def test_answers_that_do_not_come_leave_old_ones_marked_as_old(small: Bench) -> None:
    page = small.page
    small.step("Check")
    held: list[Route] = []
    page.route("**/api/look", lambda route: held.append(route))
    page.get_by_role("tab", name="All items").click()
    page.locator('#items [data-item="P1"]').click()
    page.locator("#stage").focus()
    page.keyboard.press("Shift+ArrowRight")
    expect(page.locator("#findings .old-answer")).to_contain_text("from before the last change")
    expect(page.locator('[data-question="fits"] .answer')).to_have_text("…")
    expect(page.locator("#foot .old-answer")).to_be_visible()
    # The server fails at it: the reason stands there, and nothing is called good.
    page.unroute("**/api/look")  # what was held goes on
    assert held
    expect(page.locator(".old-answer")).to_have_count(0)
    page.route("**/api/look", lambda route: route.fulfill(status=500, json={"error": {"message": "It failed."}}))
    page.keyboard.press("Shift+ArrowLeft")
    expect(page.locator("#findings .old-answer")).to_contain_text("It failed.")
    page.unroute("**/api/look")
    page.keyboard.press("Shift+ArrowLeft")
    expect(page.locator(".old-answer")).to_have_count(0)
    small.settled()


def test_edits_of_a_plate_that_was_left_are_listed_and_go_out_when_they_can(small: Bench) -> None:
    page = small.page
    start = {"width_mm": 200, "depth_mm": 150, "body_thickness_mm": 20, "name": "the other"}
    other = small.server.post("/api/plates", {"start": start})["id"]
    full = {"error": {"code": "store", "message": "No room.", "cause": "full"}}
    page.route(
        "**/api/plates/*",
        lambda route: route.fulfill(status=507, json=full) if route.request.method == "PUT" else route.continue_(),
    )
    name = page.get_by_label("Name of the plate")
    name.fill("left behind")
    name.press("Tab")
    expect(page.locator("#link-sign")).to_contain_text("The disk is full")
    page.evaluate(f"() => {{ location.hash = 'plate={other}'; }}")
    expect(name).to_have_value("the other")
    # The list of plates says what waits; nothing is lost by having left it.
    page.get_by_role("button", name="Plates").click()
    dialog = page.get_by_role("dialog", name="Plates")
    expect(dialog.get_by_text("1 change not saved yet")).to_be_visible()
    page.keyboard.press("Escape")
    page.unroute("**/api/plates/*")
    page.evaluate("() => window.dispatchEvent(new Event('focus'))")
    expect(page.locator("#notice")).to_contain_text("1 change to “left behind” had waited, and is saved now.")
    assert small.server.plate(small.plate)["name"] == "left behind"
    page.get_by_role("button", name="Plates").click()
    expect(dialog.get_by_text("left behind")).to_be_visible()
    expect(dialog.get_by_text("not saved yet")).to_have_count(0)
