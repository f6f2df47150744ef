"""The round of the practice: test piece, readings, moves, a second test piece, comparison, hand-off."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Bench, place_of

pytestmark = pytest.mark.browser

#: The card had to go 30 mm to the front; one tube lands 1.5 mm beside its port; the others were right.
SHOWED = {
    "P1": (0, 0),
    "P2": (0, 0),
    "P3": (0, 0),
    "P4": (0, 0),
    "P5": (0, 0),
    "P8": (0, 0),
    "P9": (-1.5, 0),
    "P10": (0, 0),
}


def write(bench: Bench, port: str, dx: float, dy: float) -> None:
    for words, value in (("to the right", dx), ("to the rear", dy)):
        field = bench.page.get_by_label(f"{port} {words}", exact=True)
        field.fill(str(value))
        field.press("Enter")
    bench.settled()


def keep(bench: Bench, button: str, label: str) -> None:
    bench.page.get_by_label("Label", exact=True).fill(label)
    bench.page.get_by_label("Label", exact=True).press("Enter")
    bench.page.get_by_role("button", name=button).click()
    # A hand-off is kept with all its files, solids too: that takes seconds.
    expect(bench.page.get_by_role("listitem").filter(has_text=label)).to_be_visible(timeout=60_000)


def test_the_whole_round_from_test_piece_to_hand_off(bench: Bench) -> None:
    page = bench.page
    bench.step("Test piece")
    keep(bench, "Keep as test piece", "piece A")
    with page.expect_download() as first:
        page.get_by_role("link", name="DXF for the cutter").click()
    before = first.value.path().read_text("utf-8")
    assert "CUT_OUTER" in before

    for port, (dx, dy) in SHOWED.items():
        write(bench, port, dx, dy)
    old = bench.item("ports", "P9")
    page.get_by_role("button", name="Analyse fit").click()
    expect(page.get_by_text("P9: 1.5 mm to the left")).to_be_visible()
    page.get_by_role("button", name="Make the chosen moves").click()
    bench.settled()
    assert bench.item("ports", "P9")["x_mm"] == pytest.approx(old["x_mm"] - 1.5)
    assert "fit_readings" not in bench.document()

    with page.expect_download() as second:
        page.get_by_role("link", name="DXF for the cutter").click()
    assert second.value.path().read_text("utf-8") != before
    keep(bench, "Keep as test piece", "piece B")
    page.get_by_role("listitem").filter(has_text="piece A").get_by_role("button", name="Compare with now").click()
    comparison = page.get_by_role("region", name="Comparison")
    expect(comparison).to_contain_text("P9")
    expect(comparison).not_to_contain_text("P2")

    bench.step("Hand off")
    keep(bench, "Keep as hand-off", "hand-off A")
    with page.expect_download() as pack:
        page.get_by_role("button", name="Download shop package").click()
    names = zipfile.ZipFile(io.BytesIO(pack.value.path().read_bytes())).namelist()
    assert {"final.pdf", "drawing.pdf", "holes.csv", "parts.csv", "plate.json", "README.txt"} <= set(names)


def test_readings_from_a_file_can_be_acted_on_at_once_and_a_doubted_move_is_not_chosen(
    bench: Bench, tmp_path: Path
) -> None:
    """P9 is off by 1.5 mm; 55 mm at P2 is more than a trial shows (40 mm, docs/survey.md): a slip of the ruler."""
    page = bench.page
    rows = {**SHOWED, "P2": (55, 0)}
    (tmp_path / "fit.csv").write_text(
        "port,dx_mm,dy_mm\n" + "".join(f"{port},{dx},{dy}\n" for port, (dx, dy) in rows.items()), encoding="utf-8"
    )
    x = {port: bench.item("ports", port)["x_mm"] for port in ("P2", "P9")}
    bench.step("Test piece")
    page.get_by_label("Or take them from a CSV").set_input_files(tmp_path / "fit.csv")
    doubted = page.get_by_role("checkbox", name="P2: 55 mm to the right")
    expect(doubted).not_to_be_checked()
    expect(doubted).to_have_accessible_name(re.compile("read it again first"))
    expect(page.get_by_role("checkbox", name="P9: 1.5 mm to the left")).to_be_checked()
    page.get_by_role("button", name="Make the chosen moves").click()
    assert bench.item("ports", "P9")["x_mm"] == pytest.approx(x["P9"] - 1.5)
    assert bench.item("ports", "P2")["x_mm"] == x["P2"]


def test_a_ghost_is_dragged_to_where_the_port_should_be(bench: Bench) -> None:
    bench.step("Test piece")
    ghost = bench.page.locator('[data-ghost="P3"] circle')
    box = place_of(ghost)
    x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
    bench.page.mouse.move(x, y)
    bench.page.mouse.down()
    bench.page.mouse.move(x + 10, y, steps=3)
    bench.page.mouse.up()
    bench.settled()
    (reading,) = bench.document()["fit_readings"]
    assert reading["port"] == "P3"
    assert reading["dx_mm"] > 1
    assert reading.get("dy_mm", 0) == 0
    assert bench.item("ports", "P3")["x_mm"] == 230


def test_an_open_error_stands_in_the_way_until_it_has_a_reason(bench: Bench) -> None:
    """A port beside which nothing is drilled to: the pack is refused, and given once the reason is written."""
    page = bench.page
    bench.step("Lay out")
    page.get_by_role("button", name="Port", exact=False).and_(page.locator('[data-tool="port"]')).click()
    bench.click(240, 260)
    bench.settled()
    bench.step("Hand off")
    page.get_by_role("button", name="Download shop package").click()
    expect(page.get_by_text("port-unreached")).to_be_visible()
    reason = page.get_by_label("No channel reaches the port P12", exact=False).first
    reason.fill("A spare place for a sensor, drilled later.")
    reason.press("Enter")
    bench.settled()
    page.get_by_role("button", name="Download shop package").click()
    expect(page.get_by_text("Keep a revision first")).to_be_visible()
    keep(bench, "Keep as hand-off", "hand-off A")
    with page.expect_download():
        page.get_by_role("button", name="Download shop package").click()
