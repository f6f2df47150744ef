"""Kept revisions of a plate."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response, jsonify

from sketcher.document import Document
from sketcher.export import ExportError, export_sheet, fingerprints
from sketcher.geometry import build
from sketcher.server import requests
from sketcher.server.errors import Refusal
from sketcher.server.export import hand_off
from sketcher.server.plates import plain_or_fault
from sketcher.store import Conflict, Revision
from sketcher.store.plates import now

blueprint = Blueprint("revisions", __name__, url_prefix="/api/plates/<int:plate>/revisions")


def as_json(revision: Revision) -> dict[str, Any]:
    """A revision without its document."""
    return {
        "number": revision.number,
        "kind": revision.kind,
        "label": revision.label,
        "reason": revision.reason,
        "made": revision.made,
        "files": revision.files,
    }


@blueprint.get("")
def listed(plate: int) -> Response:
    """Every revision, the oldest first."""
    return jsonify(revisions=[as_json(revision) for revision in requests.plates().revisions(plate)])


@blueprint.post("")
def keep(plate: int) -> tuple[Response, int]:
    """Keeps the plate as it stands, with label and reason; a test piece or a hand-off with its files' fingerprints."""
    content = requests.body()
    label = requests.text(content, "label", most=40).strip()
    kind = requests.text(content, "kind", "kept", most=20)
    if not label:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "A revision needs a label, such as 'test piece 2'.")
    if kind not in KINDS:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", f"A revision is of kind {', '.join(KINDS)}.")
    stored = requests.plates().get(plate)
    # The files carry the revision's own moment, so that they are the same whenever they are made again.
    revision = Revision(0, kind, label, requests.text(content, "reason"), now(), stored.text, {})
    try:
        files = fingerprints(KINDS[kind](stored.document(), revision))
    except ExportError as error:
        raise Refusal(HTTPStatus.CONFLICT, "export", str(error)) from None
    try:
        kept = requests.plates().keep(
            plate, label, revision.reason, kind, files, made=revision.made, state=stored.state
        )
    except Conflict:
        raise Refusal(
            HTTPStatus.CONFLICT, "conflict", "The plate was changed while its files were made; keep it once more."
        ) from None
    return jsonify(as_json(kept)), HTTPStatus.CREATED


def _no_files(document: Document, revision: Revision) -> dict[str, bytes]:
    return {}


def _test_piece(document: Document, revision: Revision) -> dict[str, bytes]:
    shapes = build(document)
    return {
        f"test-piece.{suffix}": export_sheet(document, shapes, "test-piece", suffix, label=revision.label)
        for suffix in ("dxf", "svg", "pdf")
    }


KINDS = {"kept": _no_files, "test-piece": _test_piece, "hand-off": hand_off}


@blueprint.get("/<int:number>")
def get(plate: int, number: int) -> Response:
    """One revision, with its document."""
    revision = requests.plates().revision(plate, number)
    document, fault = plain_or_fault(revision.text)
    return jsonify({**as_json(revision), "document": document, "fault": fault})
