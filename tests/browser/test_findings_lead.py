"""A click on any finding leads to where it is worked at: for every rule that there is, with and without an item."""

from __future__ import annotations

from typing import Any

import pytest
from playwright.sync_api import Route, expect

from sketcher.checks import all_rules
from tests.browser.conftest import Bench

pytestmark = pytest.mark.browser

#: Clicks one finding of each place there is to lead to, and says where the focus did not come to stand.
LEAD = """async () => {
  const { placeFor } = await import("/static/panels/whereto.js");
  const rules = (await (await fetch("/api/reference")).json()).rules;
  const frame = () => new Promise((done) => requestAnimationFrame(done));
  const places = new Map();
  for (const { name, question } of rules) {
    const { step, keep } = placeFor({}, { rule: name, items: [] }, question);
    places.set(`${step} ${keep}`, { name, step, keep });
  }
  const lost = [];
  for (const { name, step, keep } of places.values()) {
    document.querySelector(`#findings [data-rule="${name}"] .found-words`).click();
    let at;
    for (let i = 0; i < 120; i += 1) {
      await frame();
      at = document.activeElement;
      if (at?.dataset.keep === keep && at.checkVisibility()) break;
    }
    if (at?.dataset.keep !== keep) lost.push(`${name}: ${step}, ${keep}; the focus is on ${at?.dataset.keep}`);
  }
  return { lost, places: places.size };
}"""


def finding(rule: str, items: list[str]) -> dict[str, Any]:
    """A finding as the server has it; what it says is of no matter here."""
    told = {"rule": rule, "level": "warning", "items": items, "value": None, "limit": None, "unit": "", "at": None}
    return {**told, "message": f"{rule} {' '.join(items)}", "mend": "", "fix": None, "listed": [], "accepted": None}


def test_a_click_on_any_finding_leads_to_its_field_or_its_item(bench: Bench) -> None:
    page = bench.page
    names = [rule.name for rule in all_rules()]

    def look(route: Route) -> None:
        answer = route.fetch()
        found = [finding(name, []) for name in names] + [finding("wall-channel-port", ["C3", "P6"])]
        route.fulfill(response=answer, json={**answer.json(), "findings": found, "differences": None})

    page.route("**/api/look", look)
    bench.step("Check")
    page.reload()
    expect(page.locator("#findings .found")).to_have_count(len(names) + 1, timeout=30_000)
    said = page.evaluate(LEAD)
    assert said["lost"] == []
    assert said["places"] > 25
    page.locator('#findings [data-items="C3 P6"] .found-words').evaluate("(words) => words.click()")
    expect(page.locator("#item-panel h3")).to_have_text("2 items")
