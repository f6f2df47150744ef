"""Lid screws placed by rule."""

from __future__ import annotations

from flask import Blueprint, Response, jsonify

from sketcher.checks.hold_seal import screw_walls
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.server import requests
from sketcher.strength.seal import place_screws

blueprint = Blueprint("screws", __name__, url_prefix="/api")


@blueprint.post("/screws")
def propose() -> Response:
    """Holes to add for the lid's screws; ``anew`` proposes a whole pattern in place of those there are."""
    content = requests.body()
    document = requests.document(content)
    walls = screw_walls(limits_of(document))
    holes = place_screws(document, build(document), walls=walls, keep=content.get("anew") is not True)
    return jsonify(holes=[hole.as_json() for hole in holes])
