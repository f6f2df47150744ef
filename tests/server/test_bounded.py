"""Answers stay small: the worst findings, and how many more there are."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from sketcher.document import from_plain, read
from sketcher.server import look_routes
from tests.checks.plates import rectangle

WRONG = Path(__file__).parents[2] / "examples" / "wrong-on-purpose.json"


def test_the_worst_are_shown_and_the_others_counted(monkeypatch: pytest.MonkeyPatch) -> None:
    document = read(WRONG)
    whole = look_routes.answer(document, ["findings"], quick=True)
    assert whole["more"] == 0
    monkeypatch.setattr(look_routes, "MOST_FINDINGS", 5)
    short = look_routes.answer(document, ["findings"], quick=True)
    assert [row["rule"] for row in short["findings"]] == [row["rule"] for row in whole["findings"][:5]]
    assert short["more"] == len(whole["findings"]) - 5
    assert short["counts"] == whole["counts"]
    assert all(len(row["listed"]) <= 5 for row in short["findings"])
    ranks = ["error", "warning", "note"]
    left_out = [ranks.index(row["level"]) for row in whole["findings"][5:]]
    assert max(ranks.index(row["level"]) for row in short["findings"]) <= min(left_out)


def test_many_holes_that_touch_make_a_small_answer() -> None:
    """Each of 900 holes touches its neighbours: 3,300 pairs and more. A megabyte is what a page takes in at once."""
    side = 30
    holes = [{"id": f"H{n}", "x_mm": 20 + 4 * (n % side), "y_mm": 20 + 4 * (n // side)} for n in range(side * side)]
    document = from_plain(
        {
            "floor": {"outline": rectangle(100, 100, 400, 400)},
            "plate": {"outline": rectangle(100, 100, 300, 300), "body_thickness_mm": 20, "lid_thickness_mm": 6},
            "holes": holes,
        }
    )
    found = look_routes.answer(document, ["findings"], quick=True)
    pairs = 2 * side * (side - 1)  # along rows and columns, 4 mm apart and 4.5 mm wide
    said = sum(len(row["listed"]) + row.get("listed_more", 0) or 1 for row in found["findings"]) + found["more"]
    assert said >= pairs
    assert len(json.dumps(found)) < 1_000_000


def test_findings_that_say_the_same_are_worded_once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Once for each group and not once for each member: on a large plate that was most of an answer's time."""
    from sketcher.findings import Finding, grouping

    asked, wording = [], grouping._alike

    def counted(members: list[Finding]) -> grouping.Cause:
        asked.append(len(members))
        return wording(members)

    monkeypatch.setattr(grouping, "_alike", counted)
    many = [
        Finding("wall-wet", "error", (f"H{n}",), f"H{n} is too near.", "Move it.", 0.0, 1.0, "mm", (0, 0))
        for n in range(400)
    ]
    (one,) = grouping.grouped(many)
    assert asked == [400]
    assert [row.items for row in one.listed] == [(f"H{n}",) for n in range(400)]
