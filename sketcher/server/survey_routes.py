"""The survey: adjusted live, and made the document's floor."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from flask import Blueprint

from sketcher.document import with_changes
from sketcher.document.files import MOST_ERRORS
from sketcher.importing import readings_table
from sketcher.server.answers import AddedReadings, Answer, DocumentAnswer
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal
from sketcher.server.live_survey import SurveyAnswer
from sketcher.server.request_models import OneDocument, ReadingsTable
from sketcher.survey import adjusted as survey
from sketcher.survey.ties import follow as follow_ties


class TieMove(Answer):
    """How a tied item has moved: its own origin, and its turn."""

    item: str
    dx_mm: float
    dy_mm: float
    turn_deg: float


class TieKept(Answer):
    """A tied item that does not follow its points."""

    item: str
    why: str


class FollowedAnswer(DocumentAnswer):
    """The document with tied items moved; nothing is saved by this."""

    moves: list[TieMove]
    kept: list[TieKept]


blueprint = Blueprint("survey", __name__, url_prefix="/api/survey")


@blueprint.post("")
@takes(OneDocument)
@gives(SurveyAnswer)
def adjust(body: OneDocument) -> dict[str, Any]:
    """The adjusted survey of a document that need not be saved."""
    return survey.adjust(body.document).as_json()


@blueprint.post("/apply")
@takes(OneDocument)
@gives(DocumentAnswer)
def apply(body: OneDocument) -> DocumentAnswer:
    """The document with its floor drawn through the adjusted points, and what is tied to them moved along."""
    try:
        result = survey.adjust(body.document)
        drawn = follow_ties(survey.apply(body.document, result), result).document
    except ValueError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "survey", str(error)) from None
    return DocumentAnswer(document=drawn)


@blueprint.post("/follow")
@takes(OneDocument)
@gives(FollowedAnswer)
def follow(body: OneDocument) -> FollowedAnswer:
    """The document with what is tied to survey points moved as far as these have moved; what moved, and what stays."""
    result = survey.adjust(body.document)
    followed = follow_ties(body.document, result)
    return FollowedAnswer(
        document=followed.document,
        moves=[TieMove(**vars(move)) for move in followed.moves],
        kept=[TieKept(item=item, why=why) for item, why in followed.kept.items()],
    )


@blueprint.post("/readings")
@takes(ReadingsTable)
@gives(AddedReadings)
def add(body: ReadingsTable) -> AddedReadings:
    """The document with the readings of a pasted table or a CSV file added to its survey."""
    try:
        table = readings_table.read_table(body.text, body.document.survey, body.tool, body.unit)
    except readings_table.ReadingsError as error:
        # The place is a line of the text that was sent.
        lines = [
            {"pointer": f"/text/{line}", "message": f"line {line}: {words}"}
            for line, words in error.faults[:MOST_ERRORS]
        ]
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "readings", f"{_first(error)}.", faults=lines) from None
    drawn = with_changes(body.document, survey=readings_table.add(body.document.survey, table))
    return AddedReadings(
        document=drawn, readings=[reading.id for reading in table.readings], new_points=list(table.new_points)
    )


def _first(error: readings_table.ReadingsError) -> str:
    words = str(error)
    return f"{words[:1].upper()}{words[1:]}"
