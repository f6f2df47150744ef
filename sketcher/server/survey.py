"""The survey: adjusted live, and made the document's floor."""

from __future__ import annotations

from http import HTTPStatus

from flask import Blueprint, Response, jsonify

from sketcher.document import to_plain
from sketcher.server import requests
from sketcher.server.errors import Refusal
from sketcher.survey import adjusted as survey

blueprint = Blueprint("survey", __name__, url_prefix="/api/survey")


@blueprint.post("")
def adjust() -> Response:
    """The adjusted survey of a document that need not be saved."""
    return jsonify(survey.adjust(requests.document(requests.body())).as_json())


@blueprint.post("/apply")
def apply() -> Response:
    """The document with its floor drawn through the adjusted points."""
    document = requests.document(requests.body())
    try:
        drawn = survey.apply(document, survey.adjust(document))
    except ValueError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "survey", str(error)) from None
    return jsonify(document=to_plain(drawn))
