"""Two states of a plate compared."""

from __future__ import annotations

import re
from http import HTTPStatus
from typing import Any

from flask import Blueprint

from sketcher.document import Document, loads
from sketcher.drawing.compare import differences, overlay_svg
from sketcher.geometry import build
from sketcher.server import requests
from sketcher.server.answers import Compared
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal
from sketcher.server.request_models import Compare

blueprint = Blueprint("compare", __name__, url_prefix="/api")


@blueprint.post("/compare")
@takes(Compare)
@gives(Compared)
def compare(body: Compare) -> dict[str, Any]:
    """Two documents compared: a table of differences, and the one drawn over the other."""
    return _compared(body.before, body.after)


@blueprint.get("/plates/<int:plate>/revisions/<int:number>/compare/<other>")
@gives(Compared)
def compare_revisions(plate: int, number: int, other: str) -> dict[str, Any]:
    """A revision compared with another one, or with the plate as it stands (`now`)."""
    before = loads(requests.plates().revision(plate, number).text)
    if other == "now":
        after = requests.plates().get(plate).document()
    elif re.fullmatch(r"[0-9]{1,9}", other):
        after = loads(requests.plates().revision(plate, int(other)).text)
    else:
        raise Refusal(HTTPStatus.NOT_FOUND, "not-found", "Compare with the number of a revision, or with 'now'.")
    return _compared(before, after)


def _compared(before: Document, after: Document) -> dict[str, Any]:
    found = differences(before, after)
    svg = overlay_svg(build(before), build(after), found, alone=False)
    return {"table": [difference.as_json() for difference in found], "svg": svg}
