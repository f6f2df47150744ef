"""The page and its files."""

from __future__ import annotations

import posixpath
import re
from functools import cache
from pathlib import Path

from flask import Blueprint, Response, request, send_from_directory

from sketcher.store import shipped

blueprint = Blueprint("page", __name__)

MAIN = "main.js"
_IMPORT = re.compile(r'^(?:import|export)\b[^"\';]*?["\'](\.[^"\']+)["\']', re.MULTILINE)


@blueprint.get("/")
def page() -> Response:
    """The one page; it names its modules at once, where a browser would find them out one import after the other."""
    folder = shipped.folder("static")
    links = "".join(f'<link rel="modulepreload" href="/static/{name}">\n' for name in modules(folder))
    text = (folder / "index.html").read_text("utf-8").replace("</head>", f"{links}</head>", 1)
    response = Response(text, mimetype="text/html")
    response.cache_control.no_cache = True
    response.add_etag()  # of what is sent, not of the file: other modules make another page
    response.make_conditional(request)
    return response


@cache
def modules(folder: Path) -> tuple[str, ...]:
    """Every module that the page loads as it starts, by its path within ``folder``: all that ``main.js`` leads to."""
    found: dict[str, None] = {}
    waiting = [MAIN]
    while waiting:
        name = waiting.pop()
        if name in found or not (folder / name).is_file():
            continue
        found[name] = None
        text = (folder / name).read_text("utf-8")
        waiting += [
            posixpath.normpath(posixpath.join(posixpath.dirname(name), other)) for other in _IMPORT.findall(text)
        ]
    return tuple(found)


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
