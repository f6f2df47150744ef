"""The application: its blueprints, its guard, its errors."""

from __future__ import annotations

from pathlib import Path

from flask import Flask
from werkzeug.routing import IntegerConverter, Map

from sketcher.server import (
    compare,
    errors,
    export,
    fit,
    floor,
    guard,
    imports,
    look,
    measure,
    openapi,
    outlines,
    page,
    parts,
    plates,
    plots,
    profiles,
    proposals,
    reference,
    revisions,
    screws,
    section,
    sureness,
    survey,
    tubes,
)
from sketcher.server.jobs import Jobs
from sketcher.server.known import KnownDocuments
from sketcher.server.searches import Searches
from sketcher.server.workers import Inline, Workers
from sketcher.store import Database, Plates
from sketcher.store.token import token_of

#: A photo from above is the largest thing that is sent.
LARGEST_BODY_BYTES = 32_000_000

#: One blueprint per resource.
RESOURCES = (
    page,
    plates,
    revisions,
    compare,
    export,
    look,
    plots,
    reference,
    survey,
    floor,
    imports,
    fit,
    screws,
    section,
    tubes,
    measure,
    outlines,
    profiles,
    parts,
    proposals,
    sureness,
    openapi,
)


class Number(IntegerConverter):
    """The number of a plate or a revision; one that the store cannot hold leads nowhere."""

    def __init__(self, map: Map) -> None:
        super().__init__(map, max=2**53)


def create_app(data: Path, *, apart: bool = False) -> Flask:
    """The Flask application over a data folder.

    Args:
        data: where plates and the token are.
        apart: do long tasks in processes of their own, so that they never hold up an answer.

    Raises:
        StoreError: the folder cannot be used.
    """
    app = Flask("sketcher", static_folder=None)
    app.config["MAX_CONTENT_LENGTH"] = LARGEST_BODY_BYTES
    app.json.sort_keys = False  # type: ignore[attr-defined]
    app.url_map.converters["int"] = Number
    app.extensions["plates"] = Plates(Database(data))
    app.extensions["known"] = KnownDocuments()
    app.extensions["searches"] = Searches()
    app.extensions["imports"] = Jobs[imports.Import]("import")
    app.extensions["files"] = Workers() if apart else Inline()
    app.extensions["drawings"] = Workers(most=2) if apart else Inline()
    errors.register(app)
    guard.register(app, token_of(data))
    for module in RESOURCES:
        app.register_blueprint(module.blueprint)
    return app
