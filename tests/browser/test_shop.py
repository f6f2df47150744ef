"""A shop's profile is typed once and taken into the next plate."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Route, expect

from sketcher.document import from_plain
from sketcher.export import export_sheet
from sketcher.export.table_files import parts
from sketcher.geometry import build
from tests.browser.conftest import Bench

pytestmark = pytest.mark.browser


def test_a_shops_profile_is_kept_and_a_slip_is_said(bench: Bench) -> None:
    page = bench.page
    bench.step("Check")
    page.get_by_text("What the shop can do").click()
    name = page.get_by_role("textbox", name="Shop", exact=True)
    name.fill("Yard")
    name.press("Enter")
    bench.tried()  # or the value could be set, at once and not typed, in a field that an answer replaces
    cutters = page.get_by_role("textbox", name="Cutters, mm")
    cutters.fill("3, 6, large")
    cutters.press("Enter")
    expect(page.get_by_text("numbers above 0")).to_be_visible()
    cutters.fill("2.5, 6")
    cutters.press("Enter")
    page.get_by_role("button", name="Save as a profile").click()
    expect(page.get_by_role("combobox", name="Saved profiles")).to_contain_text("Yard")
    assert bench.document()["shop"] == {"name": "Yard", "cutter_diameters_mm": [2.5, 6]}


def test_what_is_half_typed_in_a_fold_outlives_an_answer(bench: Bench) -> None:
    """The answers to an edit come while the next field is being typed in; focus and text stay where they are."""
    page = bench.page
    bench.step("Check")
    page.get_by_text("What the shop can do").click()
    held: list[Route] = []
    page.route("**/api/look", lambda route: held.append(route))
    page.get_by_role("textbox", name="Shop", exact=True).fill("Yard")
    with page.expect_request("**/api/look"):
        page.keyboard.press("Enter")
    cutters = page.get_by_role("textbox", name="Cutters, mm")
    cutters.fill("2.5, 6")
    assert held
    page.unroute("**/api/look")  # what was held goes on
    bench.settled()
    expect(cutters).to_be_focused()
    expect(cutters).to_have_value("2.5, 6")
    page.keyboard.press("Enter")
    assert bench.document()["shop"]["cutter_diameters_mm"] == [2.5, 6]


def test_lid_screws_follow_by_rule_until_they_are_pinned(bench: Bench) -> None:
    page = bench.page
    placed = sum(hole.get("use") == "lid" for hole in bench.document()["holes"])
    bench.step("Hand off")
    page.get_by_role("button", name="Let screws follow").click()
    bench.settled()
    document = bench.document()
    assert document["seal"]["screws_by_rule"] is True
    assert not any(hole.get("use") == "lid" for hole in document["holes"])
    told = page.get_by_text(re.compile(r"^\d+ screws hold the lid\.$"))
    expect(told).to_be_visible(timeout=60_000)
    page.get_by_role("button", name="Pin all screws").click()
    bench.settled()
    document = bench.document()
    pinned = [hole for hole in document["holes"] if hole.get("use") == "lid"]
    assert str(len(pinned)) in told.inner_text()
    assert len(pinned) > placed / 3
    assert len({hole["id"] for hole in document["holes"]}) == len(document["holes"])
    assert "screws_by_rule" not in document["seal"]
    for _ in ("pinned", "following"):
        page.get_by_role("button", name="Undo").click()
        bench.settled()
    assert sum(hole.get("use") == "lid" for hole in bench.document()["holes"]) == placed
    _torque_is_that_of_the_parts_list(bench, placed)


def _torque_is_that_of_the_parts_list(bench: Bench, screws: int) -> None:
    """The page says the window of the parts list and the document's test pressure; the window is that of the screw that
    needs most."""
    page, document = bench.page, from_plain(bench.document())
    page.get_by_text("Torque and pressure test", exact=True).click()
    table = page.get_by_role("table", name="Torque of each screw, N m")
    expect(table).to_be_visible(timeout=30_000)
    rows = [row.split() for row in table.get_by_role("row").all_inner_texts()[1:]]
    assert len(rows) == screws
    said = next(row.note for row in parts(document, build(document)) if row.part.startswith("Lid screw"))
    least, most = map(float, re.findall(r"(\d+\.\d\d) to (\d+\.\d\d) N m", said)[0])
    assert max(float(row[1]) for row in rows) == pytest.approx(least, abs=0.005)
    assert {float(row[2]) for row in rows} == {most}
    expect(page.get_by_text(said, exact=True)).to_be_visible()
    asked = document.loop.test_pressure_kpa
    expect(page.get_by_text(f"Test pressure {asked:g} kPa ({asked / 100:.2f} bar)")).to_be_visible()


def test_a_returned_file_that_is_ours_is_said_to_be_the_same(bench: Bench) -> None:
    page = bench.page
    document = from_plain(bench.document())
    ours = export_sheet(document, build(document), "final", "dxf")
    bench.step("Hand off")
    page.get_by_text("Compare a returned file").click()
    field = page.get_by_label("DXF, SVG or STEP from the shop")
    field.set_input_files({"name": "back.dxf", "mimeType": "application/dxf", "buffer": ours})
    expect(page.get_by_text(re.compile(r"^Compared with the sheet final: \d+ same\.$"))).to_be_visible(timeout=30_000)
