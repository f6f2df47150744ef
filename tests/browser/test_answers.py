"""The loop's answers on the sheet of channels: plots, what widening buys, which comes first."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Bench

pytestmark = pytest.mark.browser


def test_the_loops_answers_come_with_plots_that_can_be_kept(bench: Bench) -> None:
    page = bench.page
    bench.step("Run channels")
    expect(page.get_by_text("Pump and loop:")).to_be_visible()
    expect(page.get_by_text("The whole loop holds")).to_be_visible()
    page.get_by_role("button", name="C1", exact=True).first.click()
    expect(page.get_by_text("C1: loss against width:")).to_be_visible()
    with page.expect_download() as kept:
        page.locator("figure.plot").first.get_by_role("link", name="SVG").click()
    assert kept.value.suggested_filename == "pump-and-loop.svg"
    assert kept.value.path().read_text("utf-8").startswith("<svg")
    page.get_by_text("Which comes first").click()
    expect(page.get_by_text("CPU → TOP → GPU → FRONT")).to_be_visible()
