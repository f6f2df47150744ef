"""What the four questions did not look at, because the document does not say it yet."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

from sketcher.document import Document
from sketcher.findings import Finding, Question, counts, findings_json, rule_named

QUESTIONS: tuple[Question, ...] = ("fits", "flows", "holds", "made")
_CUT = ("ports", "channels", "cutouts", "pockets", "holes")


def is_empty(document: Document) -> bool:
    """Whether nothing is cut into the plate yet."""
    return not any(getattr(document, key) for key in _CUT)


def not_looked_at(document: Document) -> dict[Question, list[str]]:
    """For each question what it did not look at, as sentences."""
    found: dict[Question, list[str]] = {"fits": [], "flows": [], "holds": [], "made": []}
    for question, sentence in _sentences(document):
        found[question].append(sentence)
    return found


def _sentences(document: Document) -> Iterator[tuple[Question, str]]:
    bare = [device.id for device in document.devices if device.outline is None]
    if document.floor.clear_height_mm is None:
        yield "fits", "The case's ceiling: no clear height is given."
    if not document.survey.readings:
        yield "fits", "How sure the floor's places are: there are no readings."
    if not (document.boards or document.devices or document.floor.obstacles):
        yield "fits", "What stands in the case: there are no boards, devices or obstacles."
    if bare:
        yield "fits", f"The room that {', '.join(bare)} take{'s' if len(bare) == 1 else ''}: no outline is given."
    if not document.devices:
        yield "flows", "Flow, pressure and temperatures: there are no devices."
    if not document.channels:
        yield "flows", "The plate's channels: there are none."
        yield "holds", "The seal, its screws and the lid: there are no channels."
    elif document.seal.kind == "bonded":
        yield "holds", "How strong the bond is: a bonded lid's joint is not calculated."
    elif document.seal.kind == "gasket":
        yield "holds", "How evenly a gasket is pressed between its screws: only their spacing and pull are asked."
    if is_empty(document):
        yield "made", "Cutters and drills: nothing is cut yet."


def check_json(document: Document, findings: Sequence[Finding]) -> dict[str, Any]:
    """The answer of ``check --json``: findings, counts, and what each question did not look at."""
    unseen = not_looked_at(document)
    rows = []
    for question in QUESTIONS:
        own = [f for f in findings if (rule := rule_named(f.rule)) is not None and rule.question == question]
        rows.append({"question": question, "counts": counts(own), "not_looked_at": unseen[question]})
    return {**findings_json(findings), "empty": is_empty(document), "questions": rows}
