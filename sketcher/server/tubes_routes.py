"""The tubes in space: how they are cut and bent, and courses proposed for them."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from flask import Blueprint

from sketcher.geometry import build
from sketcher.server.answers import CoursesAnswer, TubesAnswer
from sketcher.server.answers_canvas import LaidAnswer
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal
from sketcher.server.request_models import Courses, LaidTube, OneDocument
from sketcher.tubes.laying import CannotLay, laid
from sketcher.tubes.planning import planned, tubes_json

blueprint = Blueprint("tubes", __name__, url_prefix="/api/tubes")


@blueprint.post("")
@takes(OneDocument)
@gives(TubesAnswer)
def tubes(body: OneDocument) -> dict[str, Any]:
    """Every tube: its line in space, cut length, bends with marks, angles and turns; and the tube to buy."""
    return tubes_json(body.document, build(body.document))


@blueprint.post("/lay")
@takes(LaidTube)
@gives(LaidAnswer)
def lay(body: LaidTube) -> LaidAnswer:
    """The document with a tube from port to port through corners in plan, at the heights that the ports ask for."""
    try:
        places = [(x, y) for x, y in body.places]
        document, id_ = laid(body.document, build(body.document), (body.start, body.end), places, body.height_mm)
    except CannotLay as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "tube", str(error)) from error
    return LaidAnswer(document=document, id=id_)


@blueprint.post("/propose")
@takes(Courses)
@gives(CoursesAnswer)
def propose(body: Courses) -> CoursesAnswer:
    """The document with courses for its tubes: fewest bends, then shortest, clear of everything; `only` names some."""
    document, proposals = planned(body.document, build(body.document), body.only, body.clearance_mm)
    rows = [{"id": p.id, "bends": p.bends, "length_mm": p.length_mm, "why": p.why} for p in proposals]
    return CoursesAnswer(**tubes_json(document, build(document)), document=document, proposals=rows)
