"""Files of a plate: sheets, and the hand-off."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from flask import Blueprint, Response, request

from sketcher.checks.by_rule import with_lid_screws
from sketcher.document import Document, loads
from sketcher.export.sheet import ExportError
from sketcher.geometry import build
from sketcher.server import requests
from sketcher.server.answers import Returned, SheetAnswer, SheetLayer
from sketcher.server.contract import asks, gives, gives_files, takes_file
from sketcher.server.errors import Refusal
from sketcher.server.plates_routes import file_answer, file_stem
from sketcher.server.request_models import ExportQuery, HandoffQuery, ReturnedQuery, RevisionQuery, SheetQuery
from sketcher.store import Revision

if TYPE_CHECKING:
    from sketcher.export.handoff import Receiver

blueprint = Blueprint("export", __name__, url_prefix="/api/plates/<int:plate>")

KINDS = {
    "dxf": "image/vnd.dxf",
    "svg": "image/svg+xml",
    "pdf": "application/pdf",
    "step": "model/step",
    "stl": "model/stl",
}


def _document(plate: int, query: RevisionQuery) -> tuple[Document, str]:
    """The plate as it stands, or the revision that the request names, and the label to be scored into it."""
    revision = _revision(plate, query)
    return with_lid_screws(loads(revision.text)), revision.label


def _revision(plate: int, query: RevisionQuery) -> Revision:
    """The revision that the request names; without one, the plate as it stands, without a moment of its own."""
    if query.revision:
        return requests.plates().revision(plate, query.revision)
    text = requests.shown(plate, query.state).text
    return Revision(0, "kept", query.label[:40], "", "", text, {})


@blueprint.get("/export")
@asks(ExportQuery)
@gives_files(*KINDS.values())
def export(plate: int, query: ExportQuery) -> Response:
    """One sheet as a file: ``sheet``, ``format``, ``paper`` of a PDF, ``dxf`` (R2010 or R12), ``copies`` of a test
    piece; ``revision`` takes a kept one."""
    revision = _revision(plate, query)
    sheet, suffix = query.sheet, query.format
    try:
        content = requests.files(
            "sheet_file", revision.text, sheet, suffix, revision.label, query.paper, query.copies, query.dxf
        )
    except ExportError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "export", str(error)) from None
    return file_answer(content, KINDS[suffix], f"{file_stem(loads(revision.text).name, plate)}-{sheet}.{suffix}")


@blueprint.get("/sheet")
@asks(SheetQuery)
@gives(SheetAnswer)
def sheet(plate: int, query: SheetQuery) -> SheetAnswer:
    """What a sheet needs and says: its size, the length of its cuts, its layers and notes."""
    from sketcher.export import make_sheet

    document, label = _document(plate, query)
    try:
        made = make_sheet(document, build(document), query.sheet, label, query.copies)
    except ExportError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "export", str(error)) from None
    left, front, right, rear = made.box()
    return SheetAnswer(
        sheet=made.name,
        width_mm=round(right - left, 2),
        depth_mm=round(rear - front, 2),
        cut_length_mm=round(made.cut_length_mm(), 1),
        layers=[SheetLayer(name=layer.name, about=layer.about, depth_mm=layer.depth_mm) for layer in made.layers],
        notes=list(made.notes),
    )


_PACKS: dict[Receiver, str] = {"shop": "hand-off", "builder": "builder"}
NOT_KEPT = "Keep a revision first: a package names the revision that it was made from."


def _kept(plate: int, query: HandoffQuery) -> Revision:
    """The revision to pack: the one that is named, else the last that is the plate as it stands, else a draft.

    One without a label is not kept.
    """
    if query.revision:
        return requests.plates().revision(plate, query.revision)
    from sketcher.export import DRAFT

    stored = requests.shown(plate, query.state)
    same = [kept for kept in requests.plates().revisions(plate) if kept.text == stored.text]
    if same:
        return same[-1]
    return Revision(0, "kept", DRAFT if query.draft else "", "", "", stored.text, {})


@blueprint.get("/handoff")
@asks(HandoffQuery)
@gives_files("application/zip")
def handoff(plate: int, query: HandoffQuery) -> Response:
    """The zip for its `receiver`, the shop or the builder. Refused while an error is open, and for a state that is not
    kept as a revision, unless it is to be a `draft`."""
    revision = _kept(plate, query)
    earlier = requests.handed_off(plate, revision.number)
    who, dated = query.receiver, revision.made[:10]
    try:
        content = requests.files(
            "package", revision.text, revision.label, dated, revision.reason, who, query.dxf, earlier
        )
    except ExportError as error:
        raise Refusal(HTTPStatus.CONFLICT, "open-errors", str(error)) from None
    if content is None:
        raise Refusal(HTTPStatus.CONFLICT, "not-kept", NOT_KEPT)
    stem = file_stem(loads(revision.text).name, plate)
    return file_answer(content, "application/zip", f"{stem}-{_PACKS[query.receiver]}.zip")


@blueprint.get("/plate.html")
@asks(RevisionQuery)
@gives_files("text/html")
def page(plate: int, query: RevisionQuery) -> Response:
    """The plate as one page that any browser opens without this program; also while errors are open."""
    revision = _revision(plate, query)
    try:
        content = requests.files("page_file", revision.text, revision.label)
    except ExportError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "export", str(error)) from None
    return file_answer(content, "text/html", f"{file_stem(loads(revision.text).name, plate)}.html")


@blueprint.post("/returned")
@takes_file
@asks(ReturnedQuery)
@gives(Returned)
def returned(plate: int, query: ReturnedQuery) -> dict[str, Any]:
    """A DXF, SVG or STEP from the shop (the body) compared with ours; `revision` takes a kept one."""
    try:
        answer: dict[str, Any] = requests.files(
            "returned", _revision(plate, query).text, request.get_data(), query.kind, query.sheet, query.unit
        )
    except ExportError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "export", str(error)) from None
    return answer
