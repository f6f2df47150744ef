"""Two states of a plate compared."""

from __future__ import annotations

import re
from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response, jsonify

from sketcher.document import Document, from_plain, loads
from sketcher.drawing.compare import differences, overlay_svg
from sketcher.geometry import build
from sketcher.server import requests
from sketcher.server.errors import Refusal

blueprint = Blueprint("compare", __name__, url_prefix="/api")


@blueprint.post("/compare")
def compare() -> Response:
    """Two documents compared: a table of differences, and the one drawn over the other."""
    content = requests.body()
    missing = [key for key in ("before", "after") if key not in content]
    if missing:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", f"The body has no {' and no '.join(missing)}.")
    return jsonify(_compared(from_plain(content["before"]), from_plain(content["after"])))


@blueprint.get("/plates/<int:plate>/revisions/<int:number>/compare/<other>")
def compare_revisions(plate: int, number: int, other: str) -> Response:
    """A revision compared with another one, or with the plate as it stands (`now`)."""
    before = loads(requests.plates().revision(plate, number).text)
    if other == "now":
        after = requests.plates().get(plate).document()
    elif re.fullmatch(r"[0-9]{1,9}", other):
        after = loads(requests.plates().revision(plate, int(other)).text)
    else:
        raise Refusal(HTTPStatus.NOT_FOUND, "not-found", "Compare with the number of a revision, or with 'now'.")
    return jsonify(_compared(before, after))


def _compared(before: Document, after: Document) -> dict[str, Any]:
    found = differences(before, after)
    svg = overlay_svg(build(before), build(after), found, alone=False)
    return {"table": [difference.as_json() for difference in found], "svg": svg}
