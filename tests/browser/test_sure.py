"""How sure: chances on the sheets of the test piece and the hand-off, held to the command line's own answer."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from playwright.sync_api import Route, expect

from tests.browser.conftest import Bench, place_of
from tests.browser.test_access import faults

pytestmark = pytest.mark.browser


def sure(bench: Bench) -> Any:
    """What the server answers about the plate as it is saved."""
    return bench.server.post("/api/sureness", {"document": bench.document()})


def test_the_chances_stand_where_one_decides(bench: Bench) -> None:
    page = bench.page
    said = sure(bench)
    bench.step("Test piece")
    expect(page.get_by_text(said["messages"][0])).to_be_visible()
    weakest = min(said["tubes"], key=lambda tube: tube["chance"])
    expect(page.get_by_text(f"Weakest tube: {weakest['port']} ({weakest['serves']})")).to_be_visible()
    rows = page.get_by_role("list", name="Shares of the spread").get_by_role("listitem")
    expect(rows).to_have_count(len(said["tubes"]))
    expect(page.get_by_role("list", name="What would raise the chance").get_by_role("listitem")).to_have_count(
        len(said["advice"])
    )
    # The widths of a bar's parts are its shares.
    row = rows.filter(has_text=f"{weakest['port']} (")
    bar = place_of(row.locator(".budget"))
    part = place_of(row.locator(".budget-hardware"))
    assert part["width"] / bar["width"] == pytest.approx(weakest["shares"]["hardware"], abs=0.02)
    expect(row).to_contain_text(f"place of hardware {weakest['shares']['hardware']:.0%}".replace("%", " %"))
    page.get_by_text("Spreads and limits").click()
    assert faults(bench) == []

    # Hardware measured ten times as finely, and the fittings forgiving: the chance is another.
    for label, value in (("Position of hardware", "0.05"), ("Allowed offset of a tube", "2")):
        page.get_by_label(label, exact=True).fill(value)
        page.get_by_label(label, exact=True).press("Enter")
        bench.settled()
    assert bench.document()["spreads"] == {"hardware_mm": 0.05, "landing_offset_mm": 2}
    finer = sure(bench)
    assert finer["chance"] > said["chance"]
    bench.step("Hand off")
    expect(page.get_by_text(finer["messages"][0])).to_be_visible()


def test_no_chance_is_left_standing_when_none_can_be_stated(bench: Bench) -> None:
    """Asked at rest and not while something moves; an answer that does not come is said."""
    page = bench.page
    asked: list[dict[str, float]] = []

    def refuse(route: Route) -> None:
        asked.append(json.loads(route.request.post_data or "{}")["document"]["spreads"])
        route.abort()

    bench.step("Test piece")
    first = page.get_by_text(re.compile(r"tubes? lands? in .* of 100 such plates"))
    expect(first).to_be_visible()
    page.route("**/api/sureness", refuse)
    page.get_by_text("Spreads and limits").click()
    page.get_by_label("Machining", exact=True).fill("0.2")
    page.get_by_label("Machining", exact=True).press("Enter")
    bench.settled()
    expect(page.get_by_text("No chance can be stated. The server does not answer.")).to_be_visible()
    expect(first).to_have_count(0)
    assert asked == [{"making_mm": 0.2}]
    page.unroute("**/api/sureness")
    page.get_by_role("button", name="Try again").click()
    expect(first).to_be_visible()


def test_a_board_tied_to_survey_points_moves_with_a_new_reading(bench: Bench) -> None:
    """The tie is chosen in the item's panel, seen on the plan, followed after a reading, undone step by step, cut."""
    page = bench.page
    page.get_by_role("tab", name="All items").click()
    page.locator("#items").get_by_role("button", name=re.compile("^MB")).first.click()
    panel = page.get_by_role("region", name="Tied to the survey")
    for point in ("S", "T"):
        panel.get_by_label("Tie to point").select_option(point)
        expect(panel.get_by_role("button", name=f"Untie from {point}")).to_be_visible()
    expect(page.locator(".over-ties [data-tie='MB-T']")).to_have_count(1)
    (tie,) = bench.document()["ties"]
    assert (tie["item"], tie["points"], len(tie["places"])) == ("MB", ["S", "T"], 2)

    # S and T are read again, all of it 2 mm farther from the front: the board follows by as much.
    before = bench.item("boards", "MB")
    bench.step("Measure")
    for reading, value in (("M16", "114.1"), ("M20", "181.9"), ("M18", "268.9")):
        field = page.get_by_label(f"Value of {reading}", exact=True)
        field.fill(value)
        field.press("Enter")
        bench.settled()
    expect(page.get_by_text("MB moved with the survey's points").first).to_be_attached()
    # The move after the last reading is a question of its own to the server: it comes a moment after the reading.
    for _ in range(100):
        if bench.item("boards", "MB")["y_mm"] - before["y_mm"] > 1.4:
            break
        page.wait_for_timeout(100)
    after = bench.item("boards", "MB")
    assert after["y_mm"] - before["y_mm"] == pytest.approx(2.0, abs=0.6)
    expect(bench.rule("tie-moved")).to_have_count(0)
    # What follows is a step of its own, and undoing it does not bring it back at once.
    while bench.item("boards", "MB") != before:
        page.get_by_role("button", name="Undo").click()
        bench.settled()
    expect(bench.rule("tie-moved")).to_have_count(1 if bench.document()["survey"]["readings"][15]["value"] > 113 else 0)

    # The landings stand on the plan where one decides: a circle and an ellipse for each tube, at true size.
    bench.step("Test piece")
    said = sure(bench)
    marks = page.locator(".over-landings [data-landing]")
    expect(marks).to_have_count(len(said["tubes"]))
    tube = said["tubes"][0]
    mark = page.locator(f".over-landings [data-landing='{tube['port']}']")
    allowed = float(mark.locator("circle").get_attribute("r") or 0)
    spread = float(mark.locator("ellipse").get_attribute("rx") or 0)
    assert spread / allowed == pytest.approx(tube["ellipse"]["semi_major_mm"] / tube["allowed_mm"], rel=1e-6)
    assert allowed / tube["allowed_mm"] == pytest.approx(bench.screen(1, 0)[0] - bench.screen(0, 0)[0], rel=0.01)

    panel.get_by_role("button", name="Cut the tie").click()
    expect(panel.get_by_role("button", name="Cut the tie")).to_have_count(0)
    assert "ties" not in bench.document()
