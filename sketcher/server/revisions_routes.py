"""Kept revisions of a plate."""

from __future__ import annotations

from http import HTTPStatus

from flask import Blueprint

from sketcher.export.sheet import ExportError
from sketcher.server import requests
from sketcher.server.answers import RevisionAnswer, RevisionDocument, RevisionList
from sketcher.server.contract import gives, takes
from sketcher.server.errors import Refusal
from sketcher.server.plates_routes import plain_or_fault
from sketcher.server.request_models import Keep
from sketcher.store import Conflict, Revision
from sketcher.store.plates import now

blueprint = Blueprint("revisions", __name__, url_prefix="/api/plates/<int:plate>/revisions")


def answered(revision: Revision) -> RevisionAnswer:
    """A revision without its document."""
    return RevisionAnswer(
        number=revision.number,
        kind=revision.kind,
        label=revision.label,
        reason=revision.reason,
        made=revision.made,
        files=revision.files,
    )


@blueprint.get("")
@gives(RevisionList)
def listed(plate: int) -> RevisionList:
    """Every revision, the oldest first."""
    return RevisionList(revisions=[answered(revision) for revision in requests.plates().revisions(plate)])


@blueprint.post("")
@takes(Keep)
@gives(RevisionAnswer, HTTPStatus.CREATED)
def keep(plate: int, body: Keep) -> RevisionAnswer:
    """Keeps the plate as it stands, with label and reason; a test piece or a hand-off with its files' fingerprints."""
    label = body.label.strip()
    if not label:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "A revision needs a label, such as 'test piece 2'.")
    stored = requests.shown(plate, body.state)
    # The files carry the revision's own moment, so that they are the same whenever they are made again.
    revision = Revision(0, body.kind, label, body.reason, now(), stored.text, {})
    try:
        earlier = requests.handed_off(plate)
        files = requests.files("prints_of", stored.text, body.kind, label, revision.made[:10], body.reason, earlier)
    except ExportError as error:
        raise Refusal(HTTPStatus.CONFLICT, "export", str(error)) from None
    try:
        kept = requests.plates().keep(
            plate, label, revision.reason, body.kind, files, made=revision.made, state=stored.state
        )
    except Conflict:
        raise Refusal(
            HTTPStatus.CONFLICT, "conflict", "The plate was changed while its files were made; keep it once more."
        ) from None
    return answered(kept)


@blueprint.get("/<int:number>")
@gives(RevisionDocument)
def get(plate: int, number: int) -> RevisionDocument:
    """One revision, with its document."""
    revision = requests.plates().revision(plate, number)
    document, fault = plain_or_fault(revision.text)
    return RevisionDocument(**dict(answered(revision)), document=document, fault=fault)
