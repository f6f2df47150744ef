"""Lid screws placed by rule."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from sketcher.checks.hold_seal import screw_walls
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.server.answers import ScrewHoles
from sketcher.server.bodies import Screws
from sketcher.server.contract import gives, takes
from sketcher.strength.seal import place_screws

blueprint = Blueprint("screws", __name__, url_prefix="/api")


@blueprint.post("/screws")
@takes(Screws)
@gives(ScrewHoles)
def propose(body: Screws) -> dict[str, Any]:
    """Holes to add for the lid's screws; ``anew`` proposes a whole pattern in place of those there are."""
    document = body.document
    walls = screw_walls(limits_of(document))
    holes = place_screws(document, build(document), walls=walls, keep=not body.anew)
    return {"holes": [hole.as_json() for hole in holes]}
