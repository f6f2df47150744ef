"""The page and its files."""

from __future__ import annotations

import hashlib
import posixpath
import re
from functools import lru_cache
from pathlib import Path

from flask import Blueprint, Response, request, send_from_directory

from sketcher.store import shipped

blueprint = Blueprint("page", __name__)

MAIN = "main.js"
#: Before the state of the files in an address: ``/static/at-1f0c/main.js``.
STATE = "at-"
_YEAR_S = 365 * 24 * 3600
_IMPORT = re.compile(r'^(?:import|export)\b[^"\';]*?["\'](\.[^"\']+)["\']', re.MULTILINE)


@blueprint.get("/")
def page() -> Response:
    """The one page; it names its modules at once, where a browser would find them out one import after the other.

    Its files have the state of all of them in their address, so that a browser keeps them and need not ask again.
    """
    folder = shipped.folder("static")
    state = _state(folder)
    links = "".join(f'<link rel="modulepreload" href="/static/{name}">\n' for name in modules(folder, state))
    text = (folder / "index.html").read_text("utf-8").replace("</head>", f"{links}</head>", 1)
    response = Response(text.replace('"/static/', f'"/static/{STATE}{state}/'), mimetype="text/html")
    response.cache_control.no_cache = True
    response.add_etag()  # of what is sent, not of the file: other modules make another page
    response.make_conditional(request)
    return response


def _state(folder: Path) -> str:
    """Tells one state of the page's files from any other: by name, size and time."""
    found = hashlib.sha256()
    for path in sorted(folder.rglob("*")):
        if path.is_file():
            stat = path.stat()
            found.update(f"{path.relative_to(folder).as_posix()} {stat.st_size} {stat.st_mtime_ns}\n".encode())
    return found.hexdigest()[:16]


@lru_cache(maxsize=4)
def modules(folder: Path, state: str) -> tuple[str, ...]:
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
    state, _, rest = name.partition("/")
    kept = state.startswith(STATE) and bool(rest)
    if kept:
        name = rest
    response = send_from_directory(shipped.folder("static"), name, max_age=0, conditional=True)
    if name.endswith(".js"):
        # What the machine's own table says of .js may be anything; a module with another type is refused.
        response.headers["Content-Type"] = "text/javascript; charset=utf-8"
    if kept:
        # When a file changes, the next page names another state: what is kept of this one is not asked for again.
        response.cache_control.no_cache = None
        response.cache_control.max_age = _YEAR_S
        response.cache_control.immutable = True
    return response
