"""The survey: adjusted live, and made the document's floor."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from flask import Blueprint

from sketcher.server.answers import DocumentAnswer
from sketcher.server.bodies import OneDocument
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal
from sketcher.server.live import SurveyAnswer
from sketcher.survey import adjusted as survey

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
    """The document with its floor drawn through the adjusted points."""
    try:
        drawn = survey.apply(body.document, survey.adjust(body.document))
    except ValueError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "survey", str(error)) from None
    return DocumentAnswer(document=drawn)
