"""A floor from a drawing, and the photo from above that lies under the plan."""

from __future__ import annotations

import base64
import binascii
import hashlib
from http import HTTPStatus
from typing import Any, Literal

from flask import Blueprint, Response, jsonify, request

from sketcher.document import to_plain
from sketcher.importing import floor_import, image_size
from sketcher.importing import photo as homography
from sketcher.importing.units import UNIT_MM
from sketcher.server import requests
from sketcher.server.errors import Refusal

blueprint = Blueprint("floor", __name__)

#: Media type and ending by the kind of picture.
PICTURES = {"png": ("image/png", "png"), "jpeg": ("image/jpeg", "jpg")}


@blueprint.post("/api/floor/import")
def look_into() -> Response:
    """The outlines in a DXF or SVG file, the file itself being the body."""
    kind = _one_of("kind", request.args.get("kind", ""), ("dxf", "svg"))
    imported = _read(request.get_data(), kind, request.args.get("unit") or None)
    return jsonify(
        outline=imported.outline.model_dump(mode="json"),
        inner=[outline.model_dump(mode="json") for outline in imported.inner],
        outer=[outline.model_dump(mode="json") for outline in imported.outer],
        unit=imported.unit,
        messages=list(imported.messages),
    )


@blueprint.post("/api/floor/use")
def use() -> Response:
    """The document with the floor of a drawing."""
    content = requests.body()
    document = requests.document(content)
    kind = _one_of("kind", requests.text(content, "kind"), ("dxf", "svg"))
    inner = _one_of("inner", requests.text(content, "inner", "openings"), ("openings", "obstacles", "nothing"))
    encoded = content.get("content_base64")
    try:
        data = base64.b64decode(encoded if isinstance(encoded, str) else "", validate=True)
    except (binascii.Error, ValueError):
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "'content_base64' is the file in base64.") from None
    imported = _read(data, kind, requests.text(content, "unit") or None)
    drawn = floor_import.use(document, imported, inner)
    return jsonify(document=to_plain(drawn), unit=imported.unit, messages=list(imported.messages))


@blueprint.put("/api/plates/<int:plate>/photo")
def put_photo(plate: int) -> Response:
    """Keeps a photo beside the plate, under a name of our own; the document then names it."""
    data = request.get_data()
    try:
        size = image_size.checked_size(data)
    except image_size.ImageError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "photo", _sentence(error)) from None
    media, ending = PICTURES[size.kind]
    # Named by its content, so that an undone edit finds the photo it named.
    name = f"photo-{hashlib.sha256(data).hexdigest()[:24]}.{ending}"
    requests.plates().put_file(plate, name, media, data)
    return jsonify(file=name, width_px=size.width_px, height_px=size.height_px)


@blueprint.get("/api/plates/<int:plate>/files/<name>")
def get_file(plate: int, name: str) -> Response:
    """A file kept beside the plate."""
    media, data = requests.plates().get_file(plate, name)
    response = Response(data, mimetype=media)
    response.headers["X-Content-Type-Options"] = "nosniff"
    return response


@blueprint.post("/api/photo/place")
def place() -> Response:
    """Where the photo of a document lies on the floor, by its marks, and how far to trust it."""
    document = requests.document(requests.body())
    if document.photo is None:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "photo", "The plate has no photo; choose one first.")
    try:
        return jsonify(homography.rectify(document.photo).as_json())
    except homography.PhotoError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "photo", _sentence(error)) from None


def _read(data: bytes, kind: Literal["dxf", "svg"], unit: str | None) -> floor_import.ImportedFloor:
    if unit is not None and unit not in UNIT_MM:
        raise Refusal(
            HTTPStatus.BAD_REQUEST, "request", f"'unit' is one of {', '.join(UNIT_MM)}.", options=list(UNIT_MM)
        )
    if not data:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "drawing", "The file is empty; choose the drawing again.")
    try:
        return floor_import.from_bytes(data, kind, unit)
    except floor_import.UnitUnknown as error:
        raise Refusal(
            HTTPStatus.UNPROCESSABLE_ENTITY, "unit-unknown", _sentence(error), options=list(error.options)
        ) from None
    except floor_import.DrawingError as error:
        raise Refusal(HTTPStatus.UNPROCESSABLE_ENTITY, "drawing", _sentence(error)) from None


def _one_of(key: str, value: str, options: tuple[Any, ...]) -> Any:
    if value not in options:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", f"{key!r} is one of {', '.join(options)}.")
    return value


def _sentence(error: Exception) -> str:
    words = str(error)
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."
