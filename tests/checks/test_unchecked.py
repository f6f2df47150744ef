"""A rule that fails is an error of its own: the others are heard, nothing looks good, and it cannot be accepted."""

from __future__ import annotations

import pytest

from sketcher.checks import all_rules, check_json, run, running
from sketcher.checks.unasked import is_empty, not_looked_at
from sketcher.document import Document, from_plain
from sketcher.export import ExportError
from sketcher.export.handoff import stop_for_errors
from tests.checks.plates import channel, plate, rectangle
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


PORTS = [{"id": "P1", "x_mm": 100, "y_mm": 150}, {"id": "P2", "x_mm": 200, "y_mm": 150}]
CHANNEL = [channel("C1", start="P1", end="P2")]
POINT = {"kind": "block", "x_mm": 10, "y_mm": 10, "z_mm": 50, "ports": [{"id": "a"}]}
#: Plates of which something is missing, and a word of what is said not to have been looked at, by question.
HALF = [
    (plate(), {"fits": "What stands", "flows": "channels", "holds": "no channels", "made": "nothing is cut"}),
    (plate(holes=[{"id": "H1", "x_mm": 100, "y_mm": 150}]), {"flows": "channels", "holds": "no channels"}),
    (plate(ports=PORTS), {"flows": "channels", "holds": "no channels"}),
    (plate(ports=PORTS, channels=CHANNEL), {"fits": "ceiling", "flows": "no devices"}),
    (plate(ports=PORTS, channels=CHANNEL, seal={"kind": "bonded"}), {"holds": "bond is"}),
    (plate(ports=PORTS, channels=CHANNEL, seal={"kind": "gasket"}), {"fits": "presses the gasket", "holds": "gasket"}),
    (plate(devices=[{"id": "D1", **POINT}]), {"fits": "room that D1 takes", "flows": "warm D1 makes"}),
    (plate(boards=[{"id": "B1", "role": "card", "width_mm": 90}]), {"fits": "How large B1 is"}),
    (plate(devices=[{"id": "D1", **POINT, "heat_w": 9}]), {"flows": "of D1 no metal"}),
    (plate(devices=[{"id": "D1", **POINT, "outline": rectangle(0, 0, 9, 9)}]), {"fits": "How high D1"}),
    # A tube from device to device, and one from a port in the edge: nothing says how they run.
    (plate(devices=[{"id": "D1", **POINT}, {"id": "D2", **POINT, "x_mm": 90}],
           ports=[{"id": "P1", "x_mm": 50, "y_mm": 150, "face": "edge", "serves": "D1.a"}],
           loop={"tubes": [{"id": "T1", "start": "D1.a", "end": "D2.a"}]}), {"fits": "tubes at P1, T1"}),
]  # fmt: skip


@pytest.mark.parametrize(("document", "said"), HALF, ids=[f"half {n}" for n in range(len(HALF))])
def test_a_plate_that_is_half_empty_says_what_was_not_looked_at(document: Document, said: dict[str, str]) -> None:
    left = not_looked_at(document)
    for question, words in said.items():
        assert any(words in sentence for sentence in left[question]), left[question]
    assert is_empty(document) == (not document.ports and not document.holes)
