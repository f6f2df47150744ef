"""What a request carries, read with clear refusals."""

from __future__ import annotations

import re
from http import HTTPStatus
from typing import Any

from flask import current_app, request

from sketcher.document import Document, from_plain
from sketcher.server.errors import Refusal
from sketcher.store import Plates


def plates() -> Plates:
    """The store of the running application."""
    store: Plates = current_app.extensions["plates"]
    return store


def body() -> dict[str, Any]:
    """The JSON object in the request's body. Raises ``Refusal``."""
    if not request.is_json:
        # Anything else could be sent by a form of a page from elsewhere.
        raise Refusal(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, "media-type", "The body is sent as application/json.")
    content = request.get_json(silent=True)
    if not isinstance(content, dict):
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "A JSON object belongs in the body.")
    return content


def whole(content: dict[str, Any], key: str) -> int:
    """A whole number from the body. Raises ``Refusal``."""
    value = content.get(key)
    if not isinstance(value, int) or isinstance(value, bool):
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", f"{key!r} is a whole number.")
    return value


def number(key: str, default: int) -> int:
    """A whole number from the query, the default when there is none. Raises ``Refusal``."""
    value = request.args.get(key, "")
    if not value:
        return default
    if not re.fullmatch(r"[0-9]{1,9}", value):
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", f"{key!r} is a whole number, not {value[:20]!r}.")
    return int(value)


def text(content: dict[str, Any], key: str, default: str = "", most: int = 2000) -> str:
    """A text from the body. Raises ``Refusal``."""
    value = content.get(key, default)
    if not isinstance(value, str) or len(value) > most:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", f"{key!r} is a text of at most {most} characters.")
    return value


def document(content: dict[str, Any]) -> Document:
    """The document in the body. Raises ``Refusal`` and ``DocumentError``."""
    if "document" not in content:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "The body has no 'document'.")
    return from_plain(content["document"])
