"""Who may talk to the server: only the page that it served, in the browser of whoever started it, on this machine.

A page from elsewhere in the same browser could send requests here. Its requests carry a foreign ``Origin``; a name
that was pointed at 127.0.0.1 carries a foreign ``Host``. Both are refused. Another user of the machine can ask too,
but has no token: it comes in the address that the program opens and prints, and stays in a cookie that no script and no
other site gets (``HttpOnly``, ``SameSite=Strict``; RFC 6265bis). Programs may send it as a bearer token (RFC 6750).
"""

from __future__ import annotations

import hmac
import secrets
import threading
import time
from collections.abc import Mapping
from http import HTTPStatus
from urllib.parse import urlsplit

from flask import Flask, Response, g, request
from werkzeug.datastructures import Authorization
from werkzeug.http import parse_cookie

from sketcher.server.errors import Refusal

LOCAL = {"127.0.0.1", "localhost", "::1"}
#: Methods that change nothing.
SAFE = {"GET", "HEAD", "OPTIONS"}
#: Scripts, styles and pictures come from here alone. Styles within the SVG are its own.
POLICY = (
    "default-src 'none'; script-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data: blob:; "
    "connect-src 'self'; font-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
NO_TOKEN = (
    "This address is for the person who started the program. Open the whole address that the program printed, with its "
    "token, or start plate-sketcher again: it opens the page by itself."
)
#: A key that opens the page once is good for so long, s.
ONCE_S = 120.0


class Keys:
    """The token, and keys that stand for it once: a browser's command line can be read by every user of the machine."""

    def __init__(self, token: str) -> None:
        self.token = token
        self._once: dict[str, float] = {}
        self._lock = threading.Lock()

    def once(self) -> str:
        """A key that opens the page one time."""
        key = secrets.token_urlsafe(24)
        with self._lock:
            self._once[key] = time.monotonic() + ONCE_S
        return key

    def knows(self, given: str | None) -> bool:
        """Whether this is the token."""
        return given is not None and hmac.compare_digest(given.encode(), self.token.encode())

    def shown(self, head: Mapping[str, str]) -> bool:
        """Whether the head of a request shows the token, as ``check`` will ask; the names are ``COOKIE`` and alike."""
        try:
            given = Authorization.from_header(head.get("AUTHORIZATION"))
            cookie = parse_cookie(head.get("COOKIE", "")).get(cookie_name(head.get("HOST", "")))
        except ValueError:  # a port beyond all ports
            return False
        return self.knows(given.token if given else None) or self.knows(cookie)

    def opens(self, given: str | None) -> bool:
        """Whether this opens the page: the token, or a key that was not used yet."""
        if given is None or self.knows(given):
            return given is not None
        with self._lock:
            return self._once.pop(given, 0.0) > time.monotonic()


def cookie_name(host: str) -> str:
    """A browser keeps cookies by name and host, not by port; two servers must not take each other's."""
    return f"plate-sketcher-{urlsplit(f'//{host}').port or 80}"


def register(app: Flask, token: str) -> None:
    """Checks every request and adds the headers that keep the page to itself."""
    keys = app.extensions["keys"] = Keys(token)

    @app.before_request
    def check() -> None:
        if not _local(f"//{request.host}"):
            raise Refusal(HTTPStatus.FORBIDDEN, "host", "This server answers to 127.0.0.1 and localhost only.")
        origin = request.headers.get("Origin")
        if request.method not in SAFE and origin not in (None, f"{request.scheme}://{request.host}"):
            raise Refusal(HTTPStatus.FORBIDDEN, "origin", "Changes are taken from this server's own page only.")
        bearer = request.authorization.token if request.authorization else None
        if keys.knows(request.cookies.get(cookie_name(request.host))) or keys.knows(bearer):
            return
        if request.path == "/" and keys.opens(request.args.get("token")):
            g.entered = True
            return
        raise Refusal(HTTPStatus.FORBIDDEN, "token", NO_TOKEN)

    @app.after_request
    def headers(response: Response) -> Response:
        if g.get("entered"):
            response.set_cookie(
                cookie_name(request.host), keys.token, httponly=True, samesite="Strict", max_age=400 * 24 * 3600
            )
        response.headers["Content-Security-Policy"] = POLICY
        response.headers["X-Content-Type-Options"] = "nosniff"
        response.headers["Referrer-Policy"] = "no-referrer"
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        response.headers["Cross-Origin-Opener-Policy"] = "same-origin"
        if request.path.startswith("/api/") or g.get("entered"):
            response.headers["Cache-Control"] = "no-store"
        return response


def _local(address: str) -> bool:
    try:
        return urlsplit(address).hostname in LOCAL
    except ValueError:
        return False
