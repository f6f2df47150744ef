"""Files of a plate: sheets, and the hand-off."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response, request

from sketcher.checks.by_rule import with_lid_screws
from sketcher.document import Document, loads
from sketcher.export import DRAFT, ExportError, export_sheet, handoff_files, make_sheet, packed
from sketcher.export import returned as held_against
from sketcher.export.handoff import Receiver, page_alone, stop_for_errors
from sketcher.geometry import build
from sketcher.server import requests
from sketcher.server.answers import Returned, SheetAnswer, SheetLayer
from sketcher.server.bodies import ExportQuery, HandoffQuery, ReturnedQuery, RevisionQuery, SheetQuery
from sketcher.server.contract import asks, gives, gives_files, takes_file
from sketcher.server.errors import Refusal
from sketcher.server.look import Look
from sketcher.server.plates import file_answer, file_stem
from sketcher.store import Revision

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


def hand_off(
    document: Document, revision: Revision, receiver: Receiver = "shop", dxf_version: str = "R2010"
) -> dict[str, bytes]:
    """The files of a hand-off, dated and labelled as the revision is. Raises ``ExportError``."""
    look = Look(document)
    return handoff_files(
        look.document,
        look.shapes,
        look.found,
        label=revision.label,
        dated=revision.made[:10],
        reason=revision.reason,
        volume_l=look.volume_l,
        receiver=receiver,
        dxf_version=dxf_version,
    )


@blueprint.get("/export")
@asks(ExportQuery)
@gives_files(*KINDS.values())
def export(plate: int, query: ExportQuery) -> Response:
    """One sheet as a file: ``sheet``, ``format``, ``paper`` of a PDF, ``dxf`` (R2010 or R12), ``copies`` of a test
    piece; ``revision`` takes a kept one."""
    document, label = _document(plate, query)
    sheet, suffix = query.sheet, query.format
    try:
        content = export_sheet(
            document,
            build(document),
            sheet,
            suffix,
            label=label,
            paper=query.paper,
            copies=query.copies,
            dxf_version=query.dxf,
        )
    except ExportError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "export", str(error)) from None
    return file_answer(content, KINDS[suffix], f"{file_stem(document.name, plate)}-{sheet}.{suffix}")


@blueprint.get("/sheet")
@asks(SheetQuery)
@gives(SheetAnswer)
def sheet(plate: int, query: SheetQuery) -> SheetAnswer:
    """What a sheet needs and says: its size, the length of its cuts, its layers and notes."""
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
    document = loads(revision.text)
    try:
        if not revision.label:
            stop_for_errors(Look(document).found)
            raise Refusal(HTTPStatus.CONFLICT, "not-kept", NOT_KEPT)
        files = hand_off(document, revision, query.receiver, query.dxf)
    except ExportError as error:
        raise Refusal(HTTPStatus.CONFLICT, "open-errors", str(error)) from None
    return file_answer(
        packed(files), "application/zip", f"{file_stem(document.name, plate)}-{_PACKS[query.receiver]}.zip"
    )


@blueprint.get("/plate.html")
@asks(RevisionQuery)
@gives_files("text/html")
def page(plate: int, query: RevisionQuery) -> Response:
    """The plate as one page that any browser opens without this program; also while errors are open."""
    document, label = _document(plate, query)
    look = Look(document)
    try:
        content = page_alone(document, look.shapes, look.found, look.volume_l, label)
    except ExportError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "export", str(error)) from None
    return file_answer(content, "text/html", f"{file_stem(document.name, plate)}.html")


@blueprint.post("/returned")
@takes_file
@asks(ReturnedQuery)
@gives(Returned)
def returned(plate: int, query: ReturnedQuery) -> dict[str, Any]:
    """A DXF, SVG or STEP from the shop (the body) compared with ours; `revision` takes a kept one."""
    document, _ = _document(plate, query)
    try:
        answer = held_against(
            document,
            build(document),
            request.get_data(),
            query.kind,
            sheet=query.sheet,
            unit=query.unit,
        )
    except ExportError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "export", str(error)) from None
    return answer.as_json()
