"""What a tried test piece showed: registration, proposed moves, and what they would bring with them."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from flask import Blueprint

from sketcher.checks import Finding, counts, run
from sketcher.document import Document, to_plain, with_changes
from sketcher.findings import one_by_one
from sketcher.server.answers import FitAnswer, FitApplied
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal
from sketcher.server.request_models import Fit, FitMoves

# The analysis is imported when it is asked for: the first answer can do without.
if TYPE_CHECKING:
    from sketcher.trial.analysis import Trial

blueprint = Blueprint("fit", __name__, url_prefix="/api/fit")


def _with_readings(body: Fit) -> Document:
    """The document in the body, with the readings of a CSV text in place of its own when one is sent."""
    from sketcher.trial.readings_csv import ReadingsError, read_text

    document = body.document
    if body.csv is None:
        return document
    try:
        readings = read_text(body.csv, [port.id for port in document.ports])
    except ReadingsError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "readings", str(error)) from None
    return with_changes(document, fit_readings=readings)


def _judged(document: Document) -> Trial:
    from sketcher.trial.analysis import judge

    try:
        return judge(document)
    except ValueError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "readings", str(error)) from None


@blueprint.post("")
@takes(Fit)
@gives(FitAnswer)
def judge(body: Fit) -> dict[str, Any]:
    """How the test piece sat: as a whole, and each port by itself. ``csv`` may carry the readings."""
    document = _with_readings(body)
    readings = [reading.model_dump(mode="json", exclude_none=True) for reading in document.fit_readings]
    return {**_judged(document).as_json(), "fit_readings": readings}


@blueprint.post("/apply")
@takes(FitMoves)
@gives(FitApplied)
def take(body: FitMoves) -> dict[str, Any]:
    """The document after the accepted moves, and the findings that they bring or do away with.

    ``accept`` lists ports, ``whole`` says whether the plate is moved as a whole; nothing is saved by this.
    """
    from sketcher.trial.analysis import apply

    document = _with_readings(body)
    moved = apply(document, _judged(document), accept=body.accept, whole=body.whole)
    before, after = run(document), run(moved)
    return {
        "document": to_plain(moved),
        "brings": [finding.as_json() for finding in _only_in(after, before)],
        "mends": [finding.as_json() for finding in _only_in(before, after)],
        "counts": counts(after),
    }


def _only_in(these: list[Finding], those: list[Finding]) -> list[Finding]:
    known = {(finding.rule, finding.items) for finding in one_by_one(those)}
    return [finding for finding in one_by_one(these) if (finding.rule, finding.items) not in known]
