"""Outlines worked out from other shapes, areas of the plate that follow things in the case, holders chosen."""

from __future__ import annotations

from http import HTTPStatus

from flask import Blueprint

from sketcher.geometry import build
from sketcher.geometry.cable_slots import SlotError, made_slot
from sketcher.geometry.following import FollowingError, in_step, made_along
from sketcher.geometry.holding import HoldingError, held_in_place
from sketcher.geometry.outline_edits import OutlineError, edited
from sketcher.server.answers import FollowAnswer, OutlineAnswer
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal
from sketcher.server.request_models import Along, CableWay, Hold, OneDocument, OutlineEdit

blueprint = Blueprint("outlines", __name__, url_prefix="/api")


@blueprint.post("/outline")
@takes(OutlineEdit)
@gives(OutlineAnswer)
def outline(body: OutlineEdit) -> OutlineAnswer:
    """The outline of `target` by another shape: following it, one edge along it, added to it, cut by it."""
    try:
        made = edited(build(body.document), body.target, body.do, body.other, body.distance_mm, body.edge)
    except OutlineError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "outline", _sentence(error)) from None
    return OutlineAnswer(outline=made.outline, messages=list(made.messages), changed=made.changed)


@blueprint.post("/follow")
@takes(Along)
@gives(FollowAnswer)
def follow(body: Along) -> FollowAnswer:
    """The document with a new cutout, pocket or keep-out along a thing, kept in step with it; and its screw holes."""
    try:
        made = made_along(body.document, body.item, body.kind, body.clearance_mm, body.depth_mm, body.holes)
    except FollowingError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "follow", _sentence(error)) from None
    return FollowAnswer(document=made.document, ids=list(made.ids), messages=list(made.messages))


@blueprint.post("/cable-slot")
@takes(CableWay)
@gives(FollowAnswer)
def cable_slot(body: CableWay) -> FollowAnswer:
    """The document with a slot for a cable out of a pocket, to a cutout, a floor opening or the edge, kept in step."""
    try:
        document, id_ = made_slot(
            body.document, body.start, body.end, body.cable_mm, body.clearance_mm, nearest=body.nearest
        )
    except SlotError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "follow", _sentence(error)) from None
    return FollowAnswer(document=document, ids=[id_], messages=[])


@blueprint.post("/hold")
@takes(Hold)
@gives(FollowAnswer)
def hold(body: Hold) -> FollowAnswer:
    """The document with a board or device held by another, or by nothing, and standing where it stood."""
    try:
        document = held_in_place(body.document, body.item, body.holder)
    except HoldingError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "hold", _sentence(error)) from None
    return FollowAnswer(document=document, ids=[body.item], messages=[])


@blueprint.post("/follow/step")
@takes(OneDocument)
@gives(FollowAnswer)
def step(body: OneDocument) -> FollowAnswer:
    """The document with everything that follows something brought in step with it; what is locked stays."""
    document, ids = in_step(body.document)
    return FollowAnswer(document=document, ids=ids, messages=[])


def _sentence(error: Exception) -> str:
    words = str(error)
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."
