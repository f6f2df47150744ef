"""A rule that fails is an error of its own: the others are heard, nothing looks good, and it cannot be accepted."""

from __future__ import annotations

import pytest

from sketcher.checks import all_rules, check_json, run, running
from sketcher.document import from_plain
from sketcher.export import ExportError
from sketcher.export.handoff import stop_for_errors
from tests.document.test_files import BARE

UNCHECKED = {"unchecked-fits", "unchecked-flows", "unchecked-holds", "unchecked-made"}


def test_what_the_program_fails_at_is_an_error_that_nobody_can_accept(monkeypatch: pytest.MonkeyPatch) -> None:
    assert {rule.name for rule in all_rules() if rule.name.startswith("unchecked-")} == UNCHECKED
    accepted = {"rule": "unchecked-holds", "items": [], "reason": "it will be fine"}
    document = from_plain({**BARE, "limits": {"no-such-limit": 1}, "accepted": [accepted]})
    before = {finding.rule for finding in run(document)}
    looks = list(running._LOOKS)
    victim = next(look for look in looks if look.__module__.endswith("hold_screws"))

    def fails(scene: object) -> None:
        raise ZeroDivisionError("by nothing")

    monkeypatch.setitem(running._DESCRIBED, fails, running._DESCRIBED[victim])
    monkeypatch.setattr(running, "_LOOKS", [fails if look is victim else look for look in looks])
    found = run(document)
    failures = [finding for finding in found if finding.rule in UNCHECKED]
    assert "unchecked-holds" in {failure.rule for failure in failures}
    assert all(failure.open_error and "ZeroDivisionError" in failure.message for failure in failures)
    assert "limit-unknown" in {finding.rule for finding in found} & before
    holds = next(row for row in check_json(document, found)["questions"] if row["question"] == "holds")
    assert holds["counts"]["error"] >= 1
    with pytest.raises(ExportError):
        stop_for_errors(found)
