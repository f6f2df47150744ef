"""The tables that the page offers: threads, screws, boards, fans, materials, rules, cautions, sheets."""

from __future__ import annotations

from dataclasses import asdict
from functools import cache
from typing import Any

from flask import Blueprint

from sketcher.checks import all_rules
from sketcher.document import schema
from sketcher.reference import boards, cautions, fans, materials, screws, threads
from sketcher.server.answers import Here, SchemaAnswer
from sketcher.server.answers_reference import ReferenceAnswer
from sketcher.server.contract import gives

blueprint = Blueprint("reference", __name__, url_prefix="/api")


@cache
def tables() -> dict[str, Any]:
    """Every table once, as plain values."""
    from sketcher.export import kinds  # with the modules that make sheets, which the first answer can do without

    return {
        "threads": [_plain(threads.thread(name)) for name in threads.names()],
        "screws": [_plain(screws.screw(name)) for name in screws.names()],
        "boards": [
            {"name": name, "width_mm": b.width_mm, "depth_mm": b.depth_mm, "slots": b.slots, "note": b.note}
            for name in boards.names()
            for b in [boards.board(name)]
        ],
        "fans": [_plain(fans.fan(size)) for size in fans.sizes_mm()],
        "materials": list(materials.names()),
        "rules": [asdict(rule) for rule in all_rules()],
        "cautions": [
            {**caution.as_json(), "sheets": [sheet.name for sheet in kinds() if caution.name in sheet.cautions]}
            for caution in cautions.all_cautions()
        ],
        "sheets": [sheet.as_json() for sheet in kinds()],
    }


def _plain(row: Any) -> dict[str, Any]:
    return {
        key: value for key, value in asdict(row).items() if isinstance(value, str | int | float | dict | type(None))
    }


@blueprint.get("/reference")
@gives(ReferenceAnswer)
def reference() -> dict[str, Any]:
    """All tables, each row with its source."""
    return tables()


@blueprint.get("/schema")
@gives(SchemaAnswer)
def document_schema() -> dict[str, Any]:
    """The document's JSON Schema."""
    return schema()


@blueprint.get("/ping")
@gives(Here)
def ping() -> Here:
    """Whether the server is there."""
    return Here()
