"""How sure it is that every tube lands."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from sketcher.server.answers import SurenessAnswer
from sketcher.server.bodies import OneDocument
from sketcher.server.contract import gives, takes
from sketcher.sureness.assessment import assess

blueprint = Blueprint("sureness", __name__, url_prefix="/api")


@blueprint.post("/sureness")
@takes(OneDocument)
@gives(SurenessAnswer)
def sureness(body: OneDocument) -> dict[str, Any]:
    """The chance that all tubes land and clearances hold, whose spread it is, and what would raise it."""
    return assess(body.document).as_json()
