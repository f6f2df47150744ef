"""Every kind of item against every gesture, and gestures in any order: what comes out can be saved and read.

The page edits in the browser (``tests/page/gestures.js``); the second method is the format and the program itself.
"""

from __future__ import annotations

import json
from typing import Any

import pytest
from playwright.sync_api import Page

from sketcher.document import DocumentError, from_plain
from sketcher.geometry import build
from sketcher.geometry.following import in_step, out_of_step
from sketcher.server.look_routes import answer
from tests.browser.test_page_modules import blank  # noqa: F401  (a fixture)

pytestmark = pytest.mark.browser


def made(page: Page, call: str) -> list[dict[str, Any]]:
    page.reload()
    rows: list[dict[str, Any]] = json.loads(
        page.evaluate(f"async () => JSON.stringify((await import('/tests/page/gestures.js')).{call})")
    )
    return rows


def faults(rows: list[dict[str, Any]], every: int) -> list[str]:
    """What is wrong with the documents; each ``every``-th is brought in step and looked over too."""
    found = [f"{row['words']}: {row['wrong']}" for row in rows if row["wrong"]]
    different = {json.dumps(row["document"], sort_keys=True): row for row in rows}
    for n, row in enumerate(different.values()):
        try:
            document = from_plain(row["document"])
        except DocumentError as error:
            found.append(f"{row['words']}: {error}")
            continue
        if n % every == 0:
            stepped, _ = in_step(document)
            locked = {item.id for key in ("cutouts", "pockets", "keep_outs", "holes") for item in getattr(stepped, key)
                      if item.locked}  # fmt: skip
            late = [one for one in out_of_step(build(stepped)) if one.values and one.id not in locked]
            found += [f"{row['words']}: {one.id} is not in step" for one in late]
            answer(stepped, ["findings", "drawing", "elevations"], quick=True)
    return found


def test_every_gesture_on_every_kind_leaves_a_plate_that_can_be_saved(blank: Page) -> None:  # noqa: F811
    rows = made(blank, "singles()")
    assert len(rows) >= 25 * 30
    assert faults(rows, 60) == []


def test_gestures_in_any_order_leave_a_plate_that_can_be_saved(blank: Page) -> None:  # noqa: F811
    rows = made(blank, "sequences(7, 60)")
    assert len(rows) == 60
    assert faults(rows, 30) == []


@pytest.mark.long
def test_long_rows_of_gestures_leave_a_plate_that_can_be_saved(blank: Page) -> None:  # noqa: F811
    for seed in range(100, 110):
        assert faults(made(blank, f"sequences({seed}, 400, 8)"), 10) == [], seed
