"""Plates: list, begin, open, save, undo, redo, put away, take back, download."""

from __future__ import annotations

import json
import re
from contextlib import suppress
from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response, jsonify

from sketcher.document import Document, DocumentError, from_plain, loads, read, to_plain
from sketcher.document.begin import begin
from sketcher.server import requests
from sketcher.server.errors import Refusal, answer
from sketcher.store import Conflict, Stored, shipped

blueprint = Blueprint("plates", __name__, url_prefix="/api/plates")


def as_json(stored: Stored) -> dict[str, Any]:
    """A stored plate as the page takes it. ``fault`` says why its document cannot be read, and is empty when it can."""
    document, fault = plain_or_fault(stored.text)
    return {**_head(stored), "document": document, "fault": fault}


def plain_or_fault(text: str) -> tuple[Any, str]:
    """A stored text as plain values in today's version; one that cannot be read comes as it is, with the reason."""
    try:
        return to_plain(loads(text)), ""
    except DocumentError as error:
        with suppress(ValueError):
            return json.loads(text), str(error)
        return None, str(error)


def _head(stored: Stored) -> dict[str, Any]:
    """``can_undo`` and ``can_redo`` are the labels of the steps there are, empty when there is none."""
    return {"id": stored.id, "state": stored.state, "can_undo": stored.can_undo, "can_redo": stored.can_redo}


@blueprint.get("")
def listed() -> Response:
    """Every plate, the last changed first."""
    rows = [
        {
            "id": row.id,
            "name": row.name,
            "state": row.state,
            "changed": row.changed,
            "deleted": row.deleted,
            "fault": row.fault,
        }
        for row in requests.plates().listed()
    ]
    return jsonify(plates=rows, examples=sorted(shipped.examples()))


@blueprint.post("")
def add() -> tuple[Response, int]:
    """A new plate: from a document, from an example, or from the three things a first plate needs."""
    content = requests.body()
    return jsonify(as_json(requests.plates().add(_new(content)))), HTTPStatus.CREATED


def _new(content: dict[str, Any]) -> Document:
    if "document" in content:
        return from_plain(content["document"])
    if "example" in content:
        known, name = shipped.examples(), requests.text(content, "example")
        if name not in known:
            raise Refusal(HTTPStatus.NOT_FOUND, "not-found", f"There are the examples {', '.join(known)}.")
        return read(known[name])
    start = content.get("start")
    if not isinstance(start, dict):
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "Give a 'document', an 'example' or a 'start'.")
    missing = [key for key in ("width_mm", "depth_mm", "body_thickness_mm") if key not in start]
    if missing:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", f"The start needs {', '.join(missing)}.")
    return begin(start["width_mm"], start["depth_mm"], start["body_thickness_mm"], str(start.get("name", ""))[:120])


@blueprint.get("/<int:plate>")
def get(plate: int) -> Response:
    """A plate as it stands."""
    return jsonify(as_json(requests.plates().get(plate)))


@blueprint.put("/<int:plate>")
def save(plate: int) -> Response | tuple[Response, int]:
    """A finished edit: the whole document, and the state that it was based on."""
    content = requests.body()
    document = requests.document(content)
    base, label = requests.whole(content, "base"), requests.text(content, "label", most=200).strip() or "changed"
    try:
        return jsonify(_head(requests.plates().save(plate, base, document, label)))
    except Conflict as error:
        return _conflict(plate, error)


@blueprint.post("/<int:plate>/undo")
def undo(plate: int) -> Response | tuple[Response, int]:
    """One step back."""
    try:
        return jsonify(as_json(requests.plates().undo(plate, requests.whole(requests.body(), "base"))))
    except Conflict as error:
        return _conflict(plate, error)


@blueprint.post("/<int:plate>/redo")
def redo(plate: int) -> Response | tuple[Response, int]:
    """One step forth."""
    try:
        return jsonify(as_json(requests.plates().redo(plate, requests.whole(requests.body(), "base"))))
    except Conflict as error:
        return _conflict(plate, error)


def _conflict(plate: int, error: Conflict) -> tuple[Response, int]:
    """What the plate is now goes with the refusal, so that the page can show both and ask."""
    return answer(HTTPStatus.CONFLICT, "conflict", str(error), **as_json(requests.plates().get(plate)))


@blueprint.delete("/<int:plate>")
def put_away(plate: int) -> Response:
    """Puts a plate away; it can be taken back."""
    requests.plates().set_deleted(plate, True)
    return jsonify(id=plate, deleted=True)


@blueprint.post("/<int:plate>/restore")
def take_back(plate: int) -> Response:
    """Takes a plate back that was put away."""
    requests.plates().set_deleted(plate, False)
    return jsonify(id=plate, deleted=False)


@blueprint.get("/<int:plate>/document.json")
def download(plate: int) -> Response:
    """The document as a file, the same bytes each time."""
    stored = requests.plates().get(plate)
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
