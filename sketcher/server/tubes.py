"""The tubes in space: how they are cut and bent, and courses proposed for them."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from sketcher.geometry import build
from sketcher.server.answers import CoursesAnswer, TubesAnswer
from sketcher.server.bodies import Courses, OneDocument
from sketcher.server.contract import gives, takes
from sketcher.tubes.planning import planned, tubes_json

blueprint = Blueprint("tubes", __name__, url_prefix="/api/tubes")


@blueprint.post("")
@takes(OneDocument)
@gives(TubesAnswer)
def tubes(body: OneDocument) -> dict[str, Any]:
    """Every tube: its line in space, cut length, bends with marks, angles and turns; and the tube to buy."""
    return tubes_json(body.document, build(body.document))


@blueprint.post("/propose")
@takes(Courses)
@gives(CoursesAnswer)
def propose(body: Courses) -> CoursesAnswer:
    """The document with courses for its tubes: fewest bends, then shortest, clear of everything; `only` names some."""
    document, proposals = planned(body.document, build(body.document), body.only, body.clearance_mm)
    rows = [{"id": p.id, "bends": p.bends, "length_mm": p.length_mm, "why": p.why} for p in proposals]
    return CoursesAnswer(**tubes_json(document, build(document)), document=document, proposals=rows)
