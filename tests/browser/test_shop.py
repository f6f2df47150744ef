"""A shop's profile is typed once and taken into the next plate."""

from __future__ import annotations

import pytest
from playwright.sync_api import expect

from tests.browser.conftest import Bench

pytestmark = pytest.mark.browser


def test_a_shops_profile_is_kept_and_a_slip_is_said(bench: Bench) -> None:
    page = bench.page
    bench.step("Check")
    page.get_by_text("What the shop can do").click()
    name = page.get_by_role("textbox", name="Shop", exact=True)
    name.fill("Yard")
    name.press("Enter")
    cutters = page.get_by_role("textbox", name="Cutters, mm")
    cutters.fill("3, 6, large")
    cutters.press("Enter")
    expect(page.get_by_text("numbers above 0")).to_be_visible()
    cutters.fill("2.5, 6")
    cutters.press("Enter")
    page.get_by_role("button", name="Keep as a profile").click()
    expect(page.get_by_role("combobox", name="Kept profiles")).to_contain_text("Yard")
    assert bench.document()["shop"] == {"name": "Yard", "cutter_diameters_mm": [2.5, 6]}
