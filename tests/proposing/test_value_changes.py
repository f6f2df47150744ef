"""A proposal with an error is none: what passes after a change is offered with it, what does not pass is a draft."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from sketcher.checks import run
from sketcher.cli import main
from sketcher.document import Document, from_plain, to_plain, with_changes
from sketcher.findings import Change, Finding, Fix, limits_of
from sketcher.proposing import search, value_changes
from sketcher.proposing.budget import Budget
from sketcher.proposing.judging import Judged, judge, numbers
from sketcher.proposing.outcome import as_json, in_words
from sketcher.proposing.plate_changes import plate_changes
from sketcher.proposing.value_changes import Remedied, Tried, remedied
from sketcher.proposing.wishes import Wishes
from sketcher.strength.screw_design import ScrewDesign
from tests.checks.plates import channel, plate
from tests.proposing.test_proposals import OPEN, square_of_ports

PULLS = Finding(
    rule="screw-load",
    level="error",
    items=("H1",),
    message="H1 pulls with 300 N; its thread holds 200 N.",
    remedy="Use a softer cord.",
    value=300.0,
    fix=Fix("Move K1", (Change("/cutouts/0/outline/x_mm", 210.0),)),
)


def judging(passes: Callable[[Document], bool]) -> Callable[..., Judged]:
    """A judge whose only rule is told: what it says is known, so that the search for a remedy alone is on trial."""

    def judged(document: Document, known: frozenset = frozenset(), *, quick: bool = False) -> Judged:
        findings = () if quick or passes(document) else (PULLS,)
        return Judged(document, findings, (), numbers(document), known)

    return judged


@pytest.fixture
def no_design(monkeypatch: pytest.MonkeyPatch) -> None:
    """Designing lid screws takes longest, and is not what the stubbed judge asks about."""
    monkeypatch.setattr(value_changes, "design_in", lambda *_: ScrewDesign((), 40.0, ("not asked",)))


def draft(**seal: object) -> Document:
    return plate(
        plate=OPEN,
        ports=[{"id": "P1", "x_mm": 120, "y_mm": 150}, {"id": "P2", "x_mm": 280, "y_mm": 150}],
        channels=[channel("C1", start="P1", end="P2")],
        cutouts=[{"id": "K1", "outline": {"shape": "circle", "x_mm": 200, "y_mm": 220, "diameter_mm": 20}}],
        seal={"screw": "M5", **seal},
    )


@pytest.mark.usefixtures("no_design")
@pytest.mark.parametrize(
    ("passes", "told"),
    [
        (lambda d: d.seal.hardness_shore_a == 50, "a cord of 50 Shore A instead of 70"),
        (lambda d: d.plate.lid_thickness_mm == 12, "a lid of 12 mm instead of 10 mm"),
        # 0.8 of an insert's preload is left after relaxation, as the rule's remedy has it: 300 / 0.8 or more.
        (lambda d: (d.seal.insert_pull_n or 0) >= 300, "threaded inserts"),
        (lambda d: d.cutouts[0].outline.x_mm == 210, "K1 moved by 10, 0 mm"),
        (lambda d: d.seal.hardness_shore_a == 50 and d.plate.lid_thickness_mm == 12, "a lid of 12 mm"),
    ],
)
def test_the_change_that_ends_it_is_found_and_named(passes: Callable[[Document], bool], told: str) -> None:
    document = draft(hardness_shore_a=70)
    judged = judging(passes)
    done = remedied(
        judged(document), document, limits_of(document), Budget(1e3), judged=judged, found=lambda _: [PULLS]
    )
    assert done.passing
    assert all(passes(one.document) for one in done.passing)
    assert any(told in change.words for change in plate_changes(done.passing[0].document, document))


@pytest.mark.usefixtures("no_design")
def test_what_ends_nothing_is_told_with_what_the_rules_still_say() -> None:
    """A locked cutout is not moved, whatever a rule's fix says."""
    document = draft(hardness_shore_a=70)
    document = with_changes(document, cutouts=[document.cutouts[0].model_copy(update={"locked": True})])
    judged = judging(lambda d: False)
    done = remedied(
        judged(document), document, limits_of(document), Budget(1e3), judged=judged, found=lambda _: [PULLS]
    )
    assert not done.passing
    words = [one.words for one in done.tried]
    assert "a cord of 50 Shore A instead of 70" in words
    assert {one.left for one in done.tried} == {PULLS.message}
    assert not any("K1" in one for one in words)


def test_a_cord_too_hard_for_the_threads_is_softened_under_the_rules_themselves() -> None:
    """What ``check`` finds is the measure: an error as drawn, none with the change."""
    document = draft(hardness_shore_a=95, screw_pitch_mm=90)
    judged = judge(search.Lids(limits_of(document), Budget(0.0)).screwed(document))
    assert {error.rule for error in judged.errors} >= {"screw-load"}
    done = remedied(judged, document, limits_of(document), Budget(0.5))  # one change
    assert done.passing
    for one in done.passing:
        assert not [finding for finding in run(one.document, fixes=False) if finding.open_error]
        assert plate_changes(one.document, document)


def test_a_draft_that_fails_is_no_alternative_and_no_success(
    monkeypatch: pytest.MonkeyPatch, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    document = square_of_ports([["P1", "P3"]])
    monkeypatch.setattr(search, "judge", judging(lambda d: not d.channels))
    monkeypatch.setattr(
        search, "remedied", lambda *_: Remedied((), (Tried("a lid of 12 mm instead of 10 mm", PULLS.message),))
    )
    found = search.propose(document, Wishes(width_mm=8, style="square", seconds=0.3))
    assert found.best is not None
    assert not found.passing
    answer = as_json(found, document)
    assert (answer["passes"], answer["alternatives"]) == (False, [])
    assert len(answer["drafts"]) == 1
    (failure,) = answer["failures"]
    assert (failure["rule"], failure["items"], failure["message"]) == ("screw-load", ["H1"], PULLS.message)
    words = "\n".join(in_words(answer))
    assert words.startswith("Nothing found that passes every rule.")
    for said in (PULLS.message, PULLS.remedy, "tried without success: a lid of 12 mm"):
        assert said in words

    source, target = tmp_path / "plate.json", tmp_path / "new.json"
    source.write_text(json.dumps(to_plain(document)))
    monkeypatch.setattr(search, "propose", lambda *_: found)
    assert main(["propose", str(source), "-o", str(target)]) == 1
    assert "a draft that does not pass" in capsys.readouterr().err


def test_an_error_that_stood_before_is_none_of_the_proposals_but_no_solution_either() -> None:
    """A hole outside the plate: channels join everything, and ``check`` still finds an error."""
    document = square_of_ports([["P1", "P3"]], holes=[{"id": "H1", "x_mm": 20, "y_mm": 20, "diameter_mm": 4}])
    assert any(finding.open_error and "H1" in finding.items for finding in run(document, fixes=False))
    found = search.propose(document, Wishes(width_mm=8, style="square", seconds=0.3))
    answer = as_json(found, document)
    assert answer["alternatives"] == []
    assert answer["drafts"]
    assert all(failure["stood_before"] for failure in answer["failures"])
    assert "stood before any channel" in "\n".join(in_words(answer))


def test_screws_by_rule_are_judged_as_check_has_them() -> None:
    document = draft(screws_by_rule=True)
    by_rule = {(f.rule, f.items) for f in run(document, fixes=False)}
    judged = judge(document)
    assert {(f.rule, f.items) for f in judged.findings} == by_rule
    assert not judged.unscrewed
    assert judged.document == document


def test_every_value_that_differs_is_named_once() -> None:
    old = draft()
    new = from_plain(
        {
            **to_plain(old),
            "plate": {**to_plain(old)["plate"], "z_mm": 12},
            "seal": {"screw": "M6", "grooves": "shared"},
            "limits": {"lid-squeeze": 5},
            "holes": [{"id": "H9", "x_mm": 90, "y_mm": 90, "diameter_mm": 5.5, "use": "lid"}],
        }
    )
    told = {change.pointer: change.words for change in plate_changes(new, old)}
    assert set(told) == {"/seal/screw", "/seal/grooves", "/plate/z_mm", "/limits"}
    assert told["/seal/screw"] == "M6 lid screws instead of M5"
    assert plate_changes(old, old) == []
