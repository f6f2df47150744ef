"""One envelope for everything that goes wrong: ``{"error": {"code", "message", …}}`` with a fitting status."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from flask import Flask, Response, jsonify, request
from werkzeug.exceptions import HTTPException

from sketcher.document import DocumentError
from sketcher.document.out_of_memory import WORDS, out_of_memory
from sketcher.store import Conflict, LabelTaken, NoSuchPlate, StoreError


class Refusal(Exception):
    """A request that cannot be done: the status, a short code, a sentence with the fix, and what stands beside it."""

    def __init__(self, status: HTTPStatus, code: str, message: str, **beside: Any) -> None:
        super().__init__(message)
        self.status, self.code, self.message, self.beside = status, code, message, beside


def answer(status: int, code: str, message: str, **beside: Any) -> tuple[Response, int]:
    """The envelope. ``faults`` and ``cause`` go inside it, everything else beside it."""
    error: dict[str, Any] = {"code": code, "message": message}
    if "cause" in beside:
        error["cause"] = beside.pop("cause")
    if "faults" in beside:
        error["faults"] = beside.pop("faults")
        error["pointer"] = error["faults"][0].get("pointer", "")
    return jsonify(error=error, **beside), status


def register(app: Flask) -> None:
    """Makes every exception an envelope; what nobody foresaw is a 500 that names no inner thing."""

    @app.errorhandler(Refusal)
    def refused(error: Refusal) -> tuple[Response, int]:
        if request.path == "/":  # a person reads this, not the page
            return Response(f"<!doctype html><title>Plate sketcher</title><p>{error.message}</p>"), error.status
        return answer(error.status, error.code, error.message, **error.beside)

    @app.errorhandler(DocumentError)
    def no_document(error: DocumentError) -> tuple[Response, int]:
        faults = [{"pointer": fault.pointer, "message": fault.message} for fault in error.faults]
        return answer(HTTPStatus.UNPROCESSABLE_ENTITY, "document", str(error), faults=faults)

    @app.errorhandler(NoSuchPlate)
    def not_there(error: NoSuchPlate) -> tuple[Response, int]:
        return answer(HTTPStatus.NOT_FOUND, "not-found", f"{error}; it may be in another data folder.")

    @app.errorhandler(Conflict)
    def conflict(error: Conflict) -> tuple[Response, int]:
        return answer(HTTPStatus.CONFLICT, "conflict", str(error))

    @app.errorhandler(LabelTaken)
    def label_taken(error: LabelTaken) -> tuple[Response, int]:
        return answer(
            HTTPStatus.CONFLICT, "label-taken", f"{error}; a piece cut from this one needs a label of its own."
        )

    @app.errorhandler(StoreError)
    def not_stored(error: StoreError) -> tuple[Response, int]:
        return answer(HTTPStatus.INSUFFICIENT_STORAGE, "store", str(error), cause=error.cause)

    @app.errorhandler(HTTPException)
    def http(error: HTTPException) -> tuple[Response, int]:
        status = error.code or HTTPStatus.INTERNAL_SERVER_ERROR
        if status == HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
            most = app.config["MAX_CONTENT_LENGTH"] // 1_000_000
            return answer(status, "too-large", f"More than {most} MB is not taken; a plate document is far smaller.")
        code = {404: "not-found", 405: "method", 415: "media-type", 400: "request"}.get(status, "http")
        remedy = {
            404: "Nothing is at this address; /api/openapi.json lists what there is.",
            405: "This address does not take that method; /api/openapi.json lists which it takes.",
            416: "The file has no such range; ask for all of it.",
        }
        return answer(status, code, remedy.get(status) or error.description or HTTPStatus(status).phrase)

    @app.errorhandler(Exception)
    def unforeseen(error: Exception) -> tuple[Response, int]:
        if out_of_memory(error):
            return answer(HTTPStatus.SERVICE_UNAVAILABLE, "memory", WORDS)
        app.logger.exception("unforeseen")
        return answer(
            HTTPStatus.INTERNAL_SERVER_ERROR,
            "unforeseen",
            f"The program failed ({type(error).__name__}); nothing was lost.",
        )
