"""A section through the plate."""

from __future__ import annotations

import math
from dataclasses import asdict
from http import HTTPStatus
from typing import Any

from flask import Blueprint

from sketcher.checks.by_rule import with_lid_screws
from sketcher.drawing.section import SectionError, pieces, section_svg
from sketcher.geometry import build
from sketcher.server.answers import SectionAnswer
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal
from sketcher.server.request_models import Section
from sketcher.strength.seal import design_seal

blueprint = Blueprint("section", __name__, url_prefix="/api")


@blueprint.post("/section")
@takes(Section)
@gives(SectionAnswer)
def section(body: Section) -> dict[str, Any]:
    """The plate cut along `line`, two points on the floor: an SVG, and every piece that is cut."""
    document = with_lid_screws(body.document)
    start, end = ((x, y) for x, y in body.line)
    shapes = build(document)
    try:
        found = pieces(shapes, start, end, design_seal(document, shapes))
    except SectionError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "section", f"{str(error).capitalize()}.") from None
    svg = section_svg(found, shapes.thickness, math.dist(start, end), alone=False)
    return {"svg": svg, "pieces": [asdict(piece) for piece in found]}
