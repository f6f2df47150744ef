"""The description of the HTTP interface (OpenAPI 3.1), made from the routes themselves so that the two never part.

``python -m sketcher.server.describe docs/http.md`` writes the table of routes in the docs from it. Paths, methods and
summaries come from the routes and their docstrings; what a body or a query holds stands here, what an answer holds in
``answers``.
"""

from __future__ import annotations

import re
from typing import Any

from flask import Blueprint, Flask, Response, current_app, jsonify
from werkzeug.routing import IntegerConverter, Rule

from sketcher import __version__
from sketcher.document import schema
from sketcher.server.answers import ANSWERS, CREATED, DOCUMENT, MEDIA, NUMBER, TEXT, WHOLE, YES

blueprint = Blueprint("openapi", __name__, url_prefix="/api")

_TEXTS = {"type": "array", "items": TEXT}

#: What the JSON bodies hold, by endpoint: the keys, and which of them are needed.
BODIES: dict[str, tuple[dict[str, Any], list[str]]] = {
    "plates.add": ({"document": DOCUMENT, "example": TEXT, "start": {"type": "object"}}, []),
    "plates.save": ({"base": WHOLE, "document": DOCUMENT, "label": TEXT}, ["base", "document"]),
    "plates.undo": ({"base": WHOLE}, ["base"]),
    "plates.redo": ({"base": WHOLE}, ["base"]),
    "look.look_at": (
        {"document": DOCUMENT, "want": _TEXTS, "quick": YES, "ellipse_scale": NUMBER, "channel": TEXT},
        ["document"],
    ),
    "survey.adjust": ({"document": DOCUMENT}, ["document"]),
    "survey.apply": ({"document": DOCUMENT}, ["document"]),
    "fit.judge": ({"document": DOCUMENT, "csv": TEXT}, ["document"]),
    "fit.apply": ({"document": DOCUMENT, "csv": TEXT, "accept": _TEXTS, "whole": YES}, ["document"]),
    "screws.propose": ({"document": DOCUMENT, "anew": YES}, ["document"]),
    "revisions.keep": ({"label": TEXT, "reason": TEXT, "kind": TEXT}, ["label"]),
    "profiles.keep": ({"name": TEXT}, ["name"]),
    "floor.use": (
        {"document": DOCUMENT, "kind": TEXT, "unit": TEXT, "inner": TEXT, "content_base64": TEXT},
        ["document", "kind", "content_base64"],
    ),
    "compare.compare": ({"before": DOCUMENT, "after": DOCUMENT}, ["before", "after"]),
    "plots.answers": ({"document": DOCUMENT, "channel": TEXT}, ["document"]),
    "section.section": ({"document": DOCUMENT, "line": {"type": "array"}}, ["document", "line"]),
    "floor.place": ({"document": DOCUMENT}, ["document"]),
}
#: Bodies that are a file as it is, by endpoint.
FILES = {"floor.look_into", "floor.put_photo", "export.returned"}
#: What may stand in the query, by endpoint.
QUERIES: dict[str, list[str]] = {
    "look.look_at_saved": ["want"],
    "export.export": ["sheet", "format", "paper", "copies", "label", "revision"],
    "export.sheet": ["sheet", "label", "revision"],
    "export.handoff": ["label", "revision"],
    "export.returned": ["kind", "sheet", "unit", "revision"],
    "floor.look_into": ["kind", "unit"],
}


@blueprint.get("/openapi.json")
def description() -> Response:
    """This description."""
    return jsonify(describe(current_app))


def routes(app: Flask) -> list[tuple[Rule, str, str]]:
    """Every route of the interface: its rule, its path in OpenAPI's form, and its method."""
    found = []
    for rule in app.url_map.iter_rules():
        if rule.rule.startswith("/api"):
            path = re.sub(r"<(?:[a-z]+:)?([a-z_]+)>", r"{\1}", rule.rule)
            found += [(rule, path, method) for method in sorted((rule.methods or set()) - {"HEAD", "OPTIONS"})]
    return sorted(found, key=lambda row: row[1:])


def describe(app: Flask) -> dict[str, Any]:
    """The whole description."""
    paths: dict[str, dict[str, Any]] = {}
    for rule, path, method in routes(app):
        paths.setdefault(path, {})[method.lower()] = _operation(app, rule, path)
    document = schema()
    parts = {name: _local(part) for name, part in document.pop("$defs").items()}
    return {
        "openapi": "3.1.0",
        "info": {"title": "Plate sketcher", "version": __version__},
        "paths": paths,
        "components": {"schemas": {"Document": _local(document), "Error": _ERROR, **parts}},
    }


_ERROR = {
    "type": "object",
    "required": ["error"],
    "properties": {
        "error": {
            "type": "object",
            "required": ["code", "message"],
            "properties": {
                "code": TEXT,
                "message": TEXT,
                "pointer": TEXT,
                "faults": {"type": "array", "items": {"type": "object"}},
            },
        }
    },
}


def _operation(app: Flask, rule: Rule, path: str) -> dict[str, Any]:
    view = app.view_functions[rule.endpoint]
    summary = " ".join((view.__doc__ or "").strip().split("\n\n")[0].split()).replace("``", "`")
    numbers = {name for name, converter in rule._converters.items() if isinstance(converter, IntegerConverter)}
    parameters: list[dict[str, Any]] = [
        {"name": name, "in": "path", "required": True, "schema": WHOLE if name in numbers else TEXT}
        for name in re.findall(r"{([a-z_]+)}", path)
    ]
    parameters += [{"name": name, "in": "query", "schema": TEXT} for name in QUERIES.get(rule.endpoint, [])]
    operation: dict[str, Any] = {
        "operationId": rule.endpoint,
        "summary": summary,
        "responses": {
            "201" if rule.endpoint in CREATED else "200": {"description": "Done.", "content": _answer(rule.endpoint)},
            "default": {
                "description": "It could not be done.",
                "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Error"}}},
            },
        },
    }
    if parameters:
        operation["parameters"] = parameters
    if rule.endpoint in BODIES:
        keys, needed = BODIES[rule.endpoint]
        body = {"type": "object", "properties": keys, **({"required": needed} if needed else {})}
        operation["requestBody"] = {"required": True, "content": {"application/json": {"schema": body}}}
    elif rule.endpoint in FILES:
        operation["requestBody"] = {"required": True, "content": {"application/octet-stream": {}}}
    return operation


def _answer(endpoint: str) -> dict[str, Any]:
    if endpoint in MEDIA:
        return {kind: {} for kind in MEDIA[endpoint]}
    return {"application/json": {"schema": ANSWERS.get(endpoint, {})}}


BEGIN, END = "<!-- routes: begin -->", "<!-- routes: end -->"


def renewed(app: Flask, text: str) -> str:
    """``docs/http.md`` with its table of routes written anew."""
    paths = describe(app)["paths"]
    rows = [f"| `{method} {path}` | {paths[path][method.lower()]['summary']} |" for _, path, method in routes(app)]
    table = "| route | does |\n| --- | --- |\n" + "\n".join(rows)
    before, rest = text.split(BEGIN)
    return f"{before}{BEGIN}\n\n{table}\n\n{END}{rest.split(END)[1]}"


def _local(part: Any) -> Any:
    """A schema whose references point into this description's components."""
    if isinstance(part, dict):
        return {
            key: value.replace("#/$defs/", "#/components/schemas/") if key == "$ref" else _local(value)
            for key, value in part.items()
            if key not in ("$schema", "mapping")
        }
    return [_local(member) for member in part] if isinstance(part, list) else part
