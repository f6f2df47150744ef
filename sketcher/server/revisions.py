"""Kept revisions of a plate."""

from __future__ import annotations

import json
from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response, jsonify

from sketcher.server import requests
from sketcher.server.errors import Refusal
from sketcher.store import Revision

blueprint = Blueprint("revisions", __name__, url_prefix="/api/plates/<int:plate>/revisions")


def as_json(revision: Revision) -> dict[str, Any]:
    """A revision without its document."""
    return {
        "number": revision.number,
        "label": revision.label,
        "reason": revision.reason,
        "made": revision.made,
        "files": revision.files,
    }


@blueprint.get("")
def listed(plate: int) -> Response:
    """Every revision, the oldest first."""
    return jsonify(revisions=[as_json(revision) for revision in requests.plates().revisions(plate)])


@blueprint.post("")
def keep(plate: int) -> tuple[Response, int]:
    """Keeps the plate as it stands, with a label and a reason."""
    content = requests.body()
    label = requests.text(content, "label", most=60).strip()
    if not label:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "A revision needs a label, such as 'test piece 2'.")
    kept = requests.plates().keep(plate, label, requests.text(content, "reason"))
    return jsonify(as_json(kept)), HTTPStatus.CREATED


@blueprint.get("/<int:number>")
def get(plate: int, number: int) -> Response:
    """One revision, with its document."""
    revision = requests.plates().revision(plate, number)
    return jsonify({**as_json(revision), "document": json.loads(revision.text)})
