"""A section through the plate."""

from __future__ import annotations

import math
from dataclasses import asdict
from http import HTTPStatus

from flask import Blueprint, Response, jsonify

from sketcher.drawing.section import SectionError, pieces, section_svg
from sketcher.geometry import build
from sketcher.server import requests
from sketcher.server.errors import Refusal
from sketcher.strength.seal import design_seal

blueprint = Blueprint("section", __name__, url_prefix="/api")


@blueprint.post("/section")
def section() -> Response:
    """The plate cut along `line`, two points on the floor: an SVG, and every piece that is cut."""
    content = requests.body()
    document = requests.document(content)
    line = content.get("line")
    try:
        start, end = ((float(x), float(y)) for x, y in line)  # type: ignore[union-attr]
    except (TypeError, ValueError):
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "'line' is two points, [[x, y], [x, y]] in mm.") from None
    if not all(math.isfinite(value) for value in (*start, *end)):
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "The line's ends are finite numbers, in mm.")
    shapes = build(document)
    try:
        found = pieces(shapes, start, end, design_seal(document, shapes))
    except SectionError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "section", f"{str(error).capitalize()}.") from None
    svg = section_svg(found, shapes.thickness, math.dist(start, end), alone=False)
    return jsonify(svg=svg, pieces=[asdict(piece) for piece in found])
