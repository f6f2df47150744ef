"""Plates: list, begin, open, save, undo, redo, delete, restore, download."""

from __future__ import annotations

import re
from contextlib import suppress
from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response

from sketcher.document import Document, DocumentError, loads, read, to_plain
from sketcher.document.begin import begin
from sketcher.document.strict_json import parse
from sketcher.server import requests
from sketcher.server.answers import Deleted, PlateAnswer, PlateList, PlateRow, PlateState
from sketcher.server.answers_parts import HistoryList
from sketcher.server.contract import asks, gives, gives_files, takes
from sketcher.server.errors import Refusal, answer
from sketcher.server.request_models import Base, New, Save, ShownQuery, Step
from sketcher.store import Conflict, Stored, shipped

blueprint = Blueprint("plates", __name__, url_prefix="/api/plates")


def answered(stored: Stored) -> PlateAnswer:
    """A stored plate as the page takes it."""
    document, fault = plain_or_fault(stored.text)
    return PlateAnswer(**dict(_state(stored)), document=document, fault=fault)


def plain_or_fault(text: str) -> tuple[Any, str]:
    """A stored text as plain values in today's version; one that cannot be read comes as it is, with the reason."""
    try:
        return to_plain(loads(text)), ""
    except DocumentError as error:
        with suppress(DocumentError):
            return parse(text), str(error)
        return None, str(error)


def _state(stored: Stored) -> PlateState:
    return PlateState(id=stored.id, state=stored.state, can_undo=stored.can_undo, can_redo=stored.can_redo)


@blueprint.get("")
@gives(PlateList)
def listed() -> PlateList:
    """Every plate, the last changed first."""
    rows = [
        PlateRow(id=row.id, name=row.name, state=row.state, changed=row.changed, deleted=row.deleted, fault=row.fault)
        for row in requests.plates().listed()
    ]
    return PlateList(plates=rows, examples=sorted(shipped.examples()))


@blueprint.post("")
@takes(New)
@gives(PlateAnswer, HTTPStatus.CREATED)
def add(body: New) -> PlateAnswer:
    """A new plate: from a document, from an example, or from the three things a first plate needs."""
    return answered(requests.plates().add(_new(body)))


def _new(body: New) -> Document:
    if body.document is not None:
        return body.document
    if body.example is not None:
        known = shipped.examples()
        if body.example not in known:
            raise Refusal(HTTPStatus.NOT_FOUND, "not-found", f"There are the examples {', '.join(known)}.")
        return read(known[body.example])
    start = body.start
    if start is None:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "Give a 'document', an 'example' or a 'start'.")
    return begin(start.width_mm, start.depth_mm, start.body_thickness_mm, str(start.name)[:120])


@blueprint.get("/<int:plate>")
@gives(PlateAnswer)
def get(plate: int) -> PlateAnswer:
    """A plate as it stands."""
    return answered(requests.plates().get(plate))


@blueprint.put("/<int:plate>")
@takes(Save)
@gives(PlateState)
def save(plate: int, body: Save) -> PlateState | tuple[Response, int]:
    """A finished edit: the whole document, and the state that it was based on."""
    try:
        return _state(requests.plates().save(plate, body.base, body.document, body.label.strip() or "changed"))
    except Conflict as error:
        return _conflict(plate, error)


@blueprint.post("/<int:plate>/undo")
@takes(Base)
@gives(PlateAnswer)
def undo(plate: int, body: Base) -> PlateAnswer | tuple[Response, int]:
    """One step back."""
    try:
        return answered(requests.plates().undo(plate, body.base))
    except Conflict as error:
        return _conflict(plate, error)


@blueprint.post("/<int:plate>/redo")
@takes(Base)
@gives(PlateAnswer)
def redo(plate: int, body: Base) -> PlateAnswer | tuple[Response, int]:
    """One step forth."""
    try:
        return answered(requests.plates().redo(plate, body.base))
    except Conflict as error:
        return _conflict(plate, error)


@blueprint.get("/<int:plate>/steps")
@gives(HistoryList)
def steps(plate: int) -> dict[str, Any]:
    """Every step of the plate's history, oldest first, and the one in force."""
    step, found = requests.plates().history(plate)
    return {"step": step, "steps": [{"number": number, "label": label} for number, label in found]}


@blueprint.post("/<int:plate>/step")
@takes(Step)
@gives(PlateAnswer)
def go_to(plate: int, body: Step) -> PlateAnswer | tuple[Response, int]:
    """To a step of the history, as several undos or redos would go."""
    try:
        return answered(requests.plates().go_to(plate, body.base, body.step))
    except Conflict as error:
        return _conflict(plate, error)


def _conflict(plate: int, error: Conflict) -> tuple[Response, int]:
    """What the plate is now goes with the refusal, so that the page can show both and ask."""
    return answer(
        HTTPStatus.CONFLICT, "conflict", str(error), **answered(requests.plates().get(plate)).model_dump(mode="json")
    )


@blueprint.delete("/<int:plate>")
@gives(Deleted)
def delete(plate: int) -> Deleted:
    """Deletes a plate; it can be restored."""
    requests.plates().set_deleted(plate, True)
    return Deleted(id=plate, deleted=True)


@blueprint.post("/<int:plate>/restore")
@gives(Deleted)
def restore(plate: int) -> Deleted:
    """Restores a deleted plate."""
    requests.plates().set_deleted(plate, False)
    return Deleted(id=plate, deleted=False)


@blueprint.get("/<int:plate>/document.json")
@asks(ShownQuery)
@gives_files("application/json")
def download(plate: int, query: ShownQuery) -> Response:
    """The document as a file, the same bytes each time; refused when the plate is not at the `state` that is shown."""
    stored = requests.shown(plate, query.state)
    try:
        name = stored.document().name
    except DocumentError:
        name = ""  # it can still be had, to be mended by hand
    return file_answer(stored.text.encode(), "application/json", f"{file_stem(name, plate)}.json")


def file_stem(name: str, plate: int) -> str:
    """A file name without its suffix: letters, digits and hyphens of the name; it leads nowhere else."""
    plain = re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")[:60]
    return plain or f"plate-{plate}"


def file_answer(content: bytes, kind: str, name: str) -> Response:
    """A file to be saved by the browser."""
    return Response(content, mimetype=kind, headers={"Content-Disposition": f'attachment; filename="{name}"'})
