"""How sure: chances on the sheets of the test piece and the hand-off, held to the command line's own answer."""

from __future__ import annotations

import json
from typing import Any

import pytest
from playwright.sync_api import Route, expect

from tests.browser.conftest import Bench
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
    bar = row.locator(".budget").bounding_box()
    part = row.locator(".budget-hardware").bounding_box()
    assert bar is not None
    assert part is not None
    assert part["width"] / bar["width"] == pytest.approx(weakest["shares"]["hardware"], abs=0.02)
    expect(row).to_contain_text(f"place of hardware {weakest['shares']['hardware']:.0%}".replace("%", " %"))
    page.get_by_text("Spreads and limits").click()
    assert faults(bench) == []

    # Hardware measured ten times as finely, and the fittings forgiving: the chance is another.
    for label, value in (("Place of hardware", "0.05"), ("Allowed offset", "2")):
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
    first = page.get_by_text("such plates land all")
    expect(first).to_be_visible()
    page.route("**/api/sureness", refuse)
    page.get_by_text("Spreads and limits").click()
    page.get_by_label("Making", exact=True).fill("0.2")
    page.get_by_label("Making", exact=True).press("Enter")
    bench.settled()
    expect(page.get_by_text("No chance can be stated. The server does not answer.")).to_be_visible()
    expect(first).to_have_count(0)
    assert asked == [{"making_mm": 0.2}]
    page.unroute("**/api/sureness")
    page.get_by_role("button", name="Ask again").click()
    expect(first).to_be_visible()
