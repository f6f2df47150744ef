"""A lid screw beyond the plate's edge holds nothing; the answer stands all the same, and never calls the lid tight."""

from __future__ import annotations

import json
from pathlib import Path

from sketcher.checks import run
from sketcher.document import from_plain


def test_half_a_plate_with_the_screws_of_a_whole_one_has_an_answer_and_it_is_no() -> None:
    plain = json.loads((Path(__file__).parents[2] / "examples" / "small-board.json").read_text("utf-8"))
    plain["plate"]["outline"]["width_mm"] /= 2
    found = run(from_plain(plain), fixes=False)
    assert any(finding.open_error for finding in found)
    assert not [finding for finding in found if finding.rule.startswith("unchecked-")]
