"""The page and its files."""

from __future__ import annotations

from flask import Blueprint, Response, send_from_directory

from sketcher.store import shipped

blueprint = Blueprint("page", __name__)


@blueprint.get("/")
def page() -> Response:
    """The one page."""
    return _fresh("index.html")


@blueprint.get("/static/<path:name>")
def static_file(name: str) -> Response:
    """A file of the page; names cannot lead out of its folder."""
    return _fresh(name)


def _fresh(name: str) -> Response:
    response = send_from_directory(shipped.folder("static"), name, max_age=0, conditional=True)
    if name.endswith(".js"):
        # What the machine's own table says of .js may be anything; a module with another type is refused.
        response.headers["Content-Type"] = "text/javascript; charset=utf-8"
    return response
