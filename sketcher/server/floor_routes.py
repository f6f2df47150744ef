"""A floor from a drawing, and the photo from above that lies under the plan."""

from __future__ import annotations

import base64
import binascii
import hashlib
from http import HTTPStatus
from typing import Any, Literal

from flask import Blueprint, Response, current_app, request

from sketcher.importing import floor_import, image_size
from sketcher.importing.units import UNIT_MM
from sketcher.server import requests
from sketcher.server.answers import FloorFound, FloorUsed, PhotoKept, PhotoPlaced
from sketcher.server.contract import asks, gives, gives_files, takes, takes_file
from sketcher.server.errors import Refusal
from sketcher.server.request_models import FloorQuery, FloorUse, OneDocument
from sketcher.server.workers import Busy, Ended, Failed, Runner, TooLong

blueprint = Blueprint("floor", __name__)

#: A drawing that is read while the page waits is read within this, s; ``imports_routes`` has the long way.
SHORT_S, LONGEST_S = 5.0, 120.0
FAILED = "The program failed at this drawing; nothing was lost. Save it in another version, and report it."

#: Media type and ending by the kind of picture.
PICTURES = {"png": ("image/png", "png"), "jpeg": ("image/jpeg", "jpg")}


@blueprint.post("/api/floor/import")
@takes_file
@asks(FloorQuery)
@gives(FloorFound)
def look_into(query: FloorQuery) -> FloorFound:
    """The outlines in a DXF or SVG file, the file itself being the body."""
    return found(_read(request.get_data(), query.kind, query.unit))


def found(imported: floor_import.ImportedFloor) -> FloorFound:
    """An imported floor as an answer."""
    return FloorFound(
        outline=imported.outline,
        inner=list(imported.inner),
        outer=list(imported.outer),
        unit=imported.unit,
        messages=list(imported.messages),
    )


@blueprint.post("/api/floor/use")
@takes(FloorUse)
@gives(FloorUsed)
def use(body: FloorUse) -> FloorUsed:
    """The document with the floor of a drawing."""
    try:
        data = base64.b64decode(body.content_base64, validate=True)
    except (binascii.Error, ValueError):
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "'content_base64' is the file in base64.") from None
    imported = _read(data, body.kind, body.unit or None, LONGEST_S)
    drawn = floor_import.use(body.document, imported, body.inner)
    return FloorUsed(document=drawn, unit=imported.unit, messages=list(imported.messages))


@blueprint.put("/api/plates/<int:plate>/photo")
@takes_file
@gives(PhotoKept)
def put_photo(plate: int) -> PhotoKept:
    """Keeps a photo beside the plate, under a name of our own; the document then names it."""
    data = request.get_data()
    try:
        size = image_size.checked_size(data)
    except image_size.ImageError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "photo", sentence(error)) from None
    media, ending = PICTURES[size.kind]
    # Named by its content, so that an undone edit finds the photo it named.
    name = f"photo-{hashlib.sha256(data).hexdigest()[:24]}.{ending}"
    requests.plates().put_file(plate, name, media, data)
    return PhotoKept(file=name, width_px=size.width_px, height_px=size.height_px)


@blueprint.get("/api/plates/<int:plate>/files/<name>")
@gives_files("image/png", "image/jpeg")
def get_file(plate: int, name: str) -> Response:
    """A file kept beside the plate."""
    media, data = requests.plates().get_file(plate, name)
    response = Response(data, mimetype=media)
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


@blueprint.post("/api/photo/place")
@takes(OneDocument)
@gives(PhotoPlaced)
def place(body: OneDocument) -> dict[str, Any]:
    """Where the photo of a document lies on the floor, by its marks, and how far to trust it."""
    if body.document.photo is None:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "photo", "The plate has no photo; choose one first.")
    from sketcher.importing.photo import PhotoError, rectify

    try:
        return rectify(body.document.photo).as_json()
    except PhotoError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "photo", sentence(error)) from None


def checked_unit(unit: str | None) -> None:
    """Raises ``Refusal`` for a unit that is none."""
    if unit is not None and unit not in UNIT_MM:
        raise Refusal(
            HTTPStatus.BAD_REQUEST, "request", f"'unit' is one of {', '.join(UNIT_MM)}.", options=list(UNIT_MM)
        )


def _read(
    data: bytes, kind: Literal["dxf", "svg"], unit: str | None, seconds: float = SHORT_S
) -> floor_import.ImportedFloor:
    checked_unit(unit)
    if not data:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "drawing", "The file is empty; choose the drawing again.")
    runner: Runner = current_app.extensions["drawings"]
    try:
        imported: floor_import.ImportedFloor = runner.run("read_drawing", data, kind, unit, seconds=seconds)
        return imported
    except floor_import.UnitUnknown as error:
        raise Refusal(
            HTTPStatus.UNPROCESSABLE_ENTITY, "unit-unknown", sentence(error), options=list(error.options)
        ) from None
    except floor_import.DrawingError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "drawing", sentence(error)) from None
    except TooLong:
        words = f"The drawing takes longer than {seconds:.0f} s to read: take out what is not the floor, or let it run."
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "too-long", words) from None
    except Busy:
        raise Refusal(
            HTTPStatus.SERVICE_UNAVAILABLE, "busy", "Other drawings are being read; try again in a minute."
        ) from None
    except Ended:
        raise Refusal(HTTPStatus.SERVICE_UNAVAILABLE, "ended", requests.ENDED) from None
    except Failed:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "drawing", FAILED) from None


def sentence(error: Exception) -> str:
    """What an error says, as a sentence."""
    words = str(error)
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."
