"""The application: its blueprints, its guard, its errors."""

from __future__ import annotations

from pathlib import Path

from flask import Flask
from werkzeug.routing import IntegerConverter, Map

from sketcher.server import (
    compare_routes,
    errors,
    export_routes,
    fit_routes,
    floor_routes,
    guard,
    imports_routes,
    look_routes,
    measure_routes,
    openapi,
    outlines_routes,
    page_routes,
    parts_routes,
    plates_routes,
    plots_routes,
    profiles_routes,
    proposals_routes,
    reference_routes,
    revisions_routes,
    screws_routes,
    section_routes,
    sureness_routes,
    survey_routes,
    tubes_routes,
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
    page_routes,
    plates_routes,
    revisions_routes,
    compare_routes,
    export_routes,
    look_routes,
    plots_routes,
    reference_routes,
    survey_routes,
    floor_routes,
    imports_routes,
    fit_routes,
    screws_routes,
    section_routes,
    tubes_routes,
    measure_routes,
    outlines_routes,
    profiles_routes,
    parts_routes,
    proposals_routes,
    sureness_routes,
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
    app.url_map.merge_slashes = False  # an address with two strokes leads nowhere, and not on to another one
    app.extensions["plates"] = Plates(Database(data))
    app.extensions["known"] = KnownDocuments()
    app.extensions["searches"] = Searches()
    app.extensions["imports"] = Jobs[imports_routes.Import]("import")
    app.extensions["files"] = Workers() if apart else Inline()
    app.extensions["drawings"] = Workers(most=2) if apart else Inline()
    errors.register(app)
    guard.register(app, token_of(data))
    for module in RESOURCES:
        app.register_blueprint(module.blueprint)
    return app
