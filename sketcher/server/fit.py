"""What a tried test piece showed: registration, proposed moves, and what they would bring with them."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response, jsonify

from sketcher.checks import Finding, counts, run
from sketcher.document import Document, to_plain, with_changes
from sketcher.server import requests
from sketcher.server.errors import Refusal
from sketcher.trial import analysis as trial
from sketcher.trial.readings_csv import ReadingsError, read_text

blueprint = Blueprint("fit", __name__, url_prefix="/api/fit")


def _with_readings(content: dict[str, Any]) -> Document:
    """The document in the body, with the readings of a CSV text in place of its own when one is sent."""
    document = requests.document(content)
    if "csv" not in content:
        return document
    try:
        readings = read_text(requests.text(content, "csv", most=1_000_000), [port.id for port in document.ports])
    except ReadingsError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "readings", str(error)) from None
    return with_changes(document, fit_readings=readings)


def _judged(document: Document) -> trial.Trial:
    try:
        return trial.judge(document)
    except ValueError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "readings", str(error)) from None


@blueprint.post("")
def judge() -> Response:
    """How the test piece sat: as a whole, and each port by itself. ``csv`` may carry the readings."""
    document = _with_readings(requests.body())
    readings = [reading.model_dump(mode="json", exclude_none=True) for reading in document.fit_readings]
    return jsonify({**_judged(document).as_json(), "fit_readings": readings})


@blueprint.post("/apply")
def apply() -> Response:
    """The document after the accepted moves, and the findings that they bring or do away with.

    ``accept`` lists ports, ``whole`` says whether the plate is moved as a whole; nothing is saved by this.
    """
    content = requests.body()
    document = _with_readings(content)
    accept = content.get("accept")
    if accept is not None and not (isinstance(accept, list) and all(isinstance(port, str) for port in accept)):
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "'accept' is a list of ports.")
    moved = trial.apply(document, _judged(document), accept=accept, whole=content.get("whole") is True)
    before, after = run(document), run(moved)
    return jsonify(
        document=to_plain(moved),
        brings=[finding.as_json() for finding in _only_in(after, before)],
        mends=[finding.as_json() for finding in _only_in(before, after)],
        counts=counts(after),
    )


def _only_in(these: list[Finding], those: list[Finding]) -> list[Finding]:
    known = {(finding.rule, finding.items) for finding in those}
    return [finding for finding in these if (finding.rule, finding.items) not in known]
