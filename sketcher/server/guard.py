"""Who may talk to the server: only the page that it served, on this machine.

A page from elsewhere in the same browser could send requests here. Its requests carry a foreign ``Origin``; a name
that was pointed at 127.0.0.1 carries a foreign ``Host``. Both are refused.
"""

from __future__ import annotations

from http import HTTPStatus
from urllib.parse import urlsplit

from flask import Flask, Response, request

from sketcher.server.errors import Refusal

LOCAL = {"127.0.0.1", "localhost", "::1"}
#: Methods that change nothing.
SAFE = {"GET", "HEAD", "OPTIONS"}
#: Scripts, styles and pictures come from here alone. Styles within the SVG are its own.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; "
    "connect-src 'self'; font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)


def register(app: Flask) -> None:
    """Checks every request and adds the headers that keep the page to itself."""

    @app.before_request
    def check() -> None:
        if not _local(f"//{request.host}"):
            raise Refusal(HTTPStatus.FORBIDDEN, "host", "This server answers to 127.0.0.1 and localhost only.")
        origin = request.headers.get("Origin")
        if request.method not in SAFE and origin not in (None, f"{request.scheme}://{request.host}"):
            raise Refusal(HTTPStatus.FORBIDDEN, "origin", "Changes are taken from this server's own page only.")

    @app.after_request
    def headers(response: Response) -> Response:
        response.headers["Content-Security-Policy"] = POLICY
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        if request.path.startswith("/api/"):
            response.headers["Cache-Control"] = "no-store"
        return response


def _local(address: str) -> bool:
    try:
        return urlsplit(address).hostname in LOCAL
    except ValueError:
        return False
