"""What a route takes and gives, said once in front of it: a request's check and its description are one model.

``takes`` reads the JSON body, ``asks`` the query, ``takes_file`` a file that is the body; ``gives`` and ``gives_files``
say what is answered. ``openapi`` describes the interface from the marks that they leave.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass, replace
from http import HTTPStatus
from typing import Any

from flask import jsonify, request
from pydantic import BaseModel, ValidationError

from sketcher.document import DocumentError, worded
from sketcher.document.strict_json import parse
from sketcher.server.errors import Refusal

View = Callable[..., Any]
#: Keys of a body under which a plate document stands.
DOCUMENTS = {"document", "before", "after"}


@dataclass(frozen=True)
class Contract:
    """A route's models: of the body, of the query, of the answer; or the media types of a file."""

    body: type[BaseModel] | None = None
    query: type[BaseModel] | None = None
    file: bool = False
    answer: type[BaseModel] | None = None
    status: HTTPStatus = HTTPStatus.OK
    media: tuple[str, ...] = ()


def contract_of(view: View) -> Contract:
    """What a view's marks say of it."""
    found: Contract = getattr(view, "contract", Contract())
    return found


def _marked(wrapper: View, view: View, **more: Any) -> View:
    wrapper.contract = replace(contract_of(view), **more)  # type: ignore[attr-defined]
    return wrapper


def takes(
    model: type[BaseModel], status: HTTPStatus = HTTPStatus.BAD_REQUEST, code: str = "request"
) -> Callable[[View], View]:
    """The view's ``body`` is the JSON body as this model; what does not fit it is refused with status and code."""

    def mark(view: View) -> View:
        @functools.wraps(view)
        def wrapper(*args: Any, **named: Any) -> Any:
            return view(*args, **named, body=_valid(model, _json_object(), status, code))

        return _marked(wrapper, view, body=model)

    return mark


def asks(model: type[BaseModel]) -> Callable[[View], View]:
    """The view's ``query`` is the query as this model; a value left empty is one not given."""

    def mark(view: View) -> View:
        @functools.wraps(view)
        def wrapper(*args: Any, **named: Any) -> Any:
            given = {key: value for key, value in request.args.items() if value}
            return view(*args, **named, query=_valid(model, given, HTTPStatus.BAD_REQUEST, "request"))

        return _marked(wrapper, view, query=model)

    return mark


def takes_file(view: View) -> View:
    """The body is a file as it is."""
    return _marked(view, view, file=True)


def gives(model: type[BaseModel], status: HTTPStatus = HTTPStatus.OK) -> Callable[[View], View]:
    """The view returns this model, or plain values that are already in its form."""

    def mark(view: View) -> View:
        @functools.wraps(view)
        def wrapper(*args: Any, **named: Any) -> Any:
            found = view(*args, **named)
            if isinstance(found, BaseModel):
                found = found.model_dump(mode="json")
            return (jsonify(found), status) if isinstance(found, dict) else found

        return _marked(wrapper, view, answer=model, status=status)

    return mark


def gives_files(*media: str) -> Callable[[View], View]:
    """The answer is a file of one of these media types."""
    return lambda view: _marked(view, view, media=media)


def _json_object() -> dict[str, Any]:
    if not request.is_json:
        # Anything else could be sent by a form of a page from elsewhere.
        raise Refusal(HTTPStatus.UNSUPPORTED_MEDIA_TYPE, "media-type", "The body is sent as application/json.")
    try:
        content = parse(request.get_data(cache=False), "body")
    except DocumentError as error:
        raise _unreadable(error) from None
    if not isinstance(content, dict):
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "A JSON object belongs in the body.")
    return content


def _unreadable(error: DocumentError) -> Exception:
    """What a body holds that JSON does not know; within a document it is said as of a file, with its place there."""
    first, inside, _ = error.faults[0].pointer[1:].partition("/")
    if inside and first in DOCUMENTS and all(fault.pointer.startswith(f"/{first}/") for fault in error.faults):
        return DocumentError([replace(fault, pointer=fault.pointer[len(first) + 1 :]) for fault in error.faults])
    faults = [{"pointer": fault.pointer, "message": fault.message} for fault in error.faults]
    return Refusal(HTTPStatus.BAD_REQUEST, "request", f"The body cannot be read: {error}.", faults=faults)


def _valid(model: type[BaseModel], content: dict[str, Any], status: HTTPStatus, code: str) -> BaseModel:
    try:
        return model.model_validate(content)
    except ValidationError as error:
        faults = error.errors(include_url=False)
        for fault in faults:
            inner = fault.get("ctx", {}).get("error")
            if isinstance(inner, DocumentError) and len(faults) == 1:
                raise inner from None
        first = next((fault for fault in faults if not _is_document(fault)), faults[0])
        raise Refusal(status, code, _sentence(first)) from None


def _is_document(fault: Any) -> bool:
    return isinstance(fault.get("ctx", {}).get("error"), DocumentError)


def _sentence(fault: Any) -> str:
    key = "/".join(str(part) for part in fault["loc"])
    if fault["type"] == "missing":
        return f"The request has no {key!r}; add it."
    if fault["type"] == "value_error" and not fault["loc"]:
        return str(fault["ctx"]["error"])
    return f"{key!r}: {worded(fault)}."


__all__ = ["Contract", "asks", "contract_of", "gives", "gives_files", "takes", "takes_file"]
