"""What the four questions did not look at, because the document does not say it yet."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from typing import Any

from sketcher.document import Document
from sketcher.findings import Finding, Question, counts, findings_json, natural, rule_named

QUESTIONS: tuple[Question, ...] = ("fits", "flows", "holds", "made")
_CUT = ("ports", "channels", "cutouts", "pockets", "holes")


def is_empty(document: Document) -> bool:
    """Whether nothing is cut into the plate yet."""
    return not any(getattr(document, key) for key in _CUT)


def not_looked_at(document: Document, left: Collection[str] = ()) -> dict[Question, list[str]]:
    """For each question what it did not look at, as sentences.

    Args:
        document: the plate.
        left: what a quick look left until the hand is off: ``seal``, ``chances``.
    """
    found: dict[Question, list[str]] = {"fits": [], "flows": [], "holds": [], "made": []}
    for question, sentence in (*_sentences(document), *_left(document, left)):
        found[question].append(sentence)
    return found


#: What a quick look leaves.
LEFT = ("seal", "chances")


def _left(document: Document, left: Collection[str]) -> Iterator[tuple[Question, str]]:
    """What is looked at only when the hand is off, where the document has any of it."""
    later = "looked at when the drag ends."
    if "chances" in left:
        yield "fits", f"The chance that all tubes land and all clearances hold: {later}"
    if "seal" in left and document.channels:
        yield "holds", f"The seal's groove, its screws and the lid, and how far the plate sags: {later}"


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
    if ways := _unknown_ways(document):
        yield "fits", f"The way of the tube{'' if len(ways) == 1 else 's'} at {', '.join(ways)}: no size, no corners."
    if guessed := [b.id for b in document.boards if b.pattern is None and None in (b.width_mm, b.depth_mm)]:
        yield "fits", f"How large {', '.join(guessed)} {_is(guessed)}: a usual width or depth is taken."
    if flat := [d.id for d in document.devices if d.outline is not None and d.height_mm == 0]:
        yield "fits", f"How high {', '.join(flat)} {_is(flat)}: no height is given."
    yield from _of_the_loop(document)
    if not document.devices:
        yield "flows", "Flow, pressure and temperatures: there are no devices."
    if not document.channels:
        yield "flows", "The plate's channels: there are none."
        yield "holds", "The seal, its screws and the lid: there are no channels."
    elif document.seal.kind == "bonded":
        yield "holds", "How strong the bond is: a bonded lid's joint is not calculated."
    elif document.seal.kind == "gasket":
        yield (
            "fits",
            f"By how much the lid presses the gasket: heights take its {document.seal.gasket_mm:g} mm as bought.",
        )
        yield "holds", "How evenly a gasket is pressed between its screws: only their spacing and pull are asked."
    if is_empty(document):
        yield "made", "Cutters and drills: nothing is cut yet."


def _of_the_loop(document: Document) -> Iterator[tuple[Question, str]]:
    """What is not said of blocks and radiators that coolant runs through."""
    cold = [device.id for device in document.devices if device.kind == "block" and device.heat_w == 0]
    bare = [d.id for d in document.devices if d.kind in ("block", "radiator") and d.metal == "none"]
    if cold:
        yield "flows", f"How warm {', '.join(cold)} make{'s' if len(cold) == 1 else ''} the coolant: no heat is given."
    if bare:
        yield "flows", f"Whether the metals agree: of {', '.join(bare)} no metal is given."


def _is(names: Sequence[str]) -> str:
    return "is" if len(names) == 1 else "are"


def _unknown_ways(document: Document) -> list[str]:
    """Tubes of which nothing says how they run: not drawn, of no size, and no straight drop to the plate's top."""
    if document.loop.tube_size is not None:
        return []
    found = [tube.id for tube in document.loop.tubes if not (tube.size or tube.material or tube.points)]
    for port in document.ports:
        bare = port.tube is None or not (port.tube.size or port.tube.material or port.tube.points)
        if port.serves is not None and bare and port.face != "top":
            found.append(port.id)
    return sorted(found, key=natural)


def check_json(document: Document, findings: Sequence[Finding], left: Collection[str] = ()) -> dict[str, Any]:
    """The answer of ``check --json``: findings, counts, and what each question did not look at (``left`` included)."""
    unseen = not_looked_at(document, left)
    rows = []
    for question in QUESTIONS:
        own = [f for f in findings if (rule := rule_named(f.rule)) is not None and rule.question == question]
        rows.append({"question": question, "counts": counts(own), "not_looked_at": unseen[question]})
    return {**findings_json(findings), "empty": is_empty(document), "questions": rows}
