"""The description of the HTTP interface (OpenAPI 3.1), made from the routes themselves so that the two never part.

``python -m sketcher.server.describe docs/http.md`` writes the table of routes in the docs from it. Paths, methods and
summaries come from the routes and their docstrings; what a body or a query holds stands here.
"""

from __future__ import annotations

import re
from typing import Any

from flask import Blueprint, Flask, Response, current_app, jsonify
from werkzeug.routing import IntegerConverter, Rule

from sketcher import __version__
from sketcher.document import schema

blueprint = Blueprint("openapi", __name__, url_prefix="/api")

_TEXT, _NUMBER, _WHOLE, _YES = {"type": "string"}, {"type": "number"}, {"type": "integer"}, {"type": "boolean"}
_DOCUMENT = {"$ref": "#/components/schemas/Document"}
_TEXTS = {"type": "array", "items": _TEXT}

#: What the JSON bodies hold, by endpoint: the keys, and which of them are needed.
BODIES: dict[str, tuple[dict[str, Any], list[str]]] = {
    "plates.add": ({"document": _DOCUMENT, "example": _TEXT, "start": {"type": "object"}}, []),
    "plates.save": ({"base": _WHOLE, "document": _DOCUMENT, "label": _TEXT}, ["base", "document"]),
    "plates.undo": ({"base": _WHOLE}, ["base"]),
    "plates.redo": ({"base": _WHOLE}, ["base"]),
    "look.look_at": (
        {"document": _DOCUMENT, "want": _TEXTS, "quick": _YES, "ellipse_scale": _NUMBER, "channel": _TEXT},
        ["document"],
    ),
    "survey.adjust": ({"document": _DOCUMENT}, ["document"]),
    "survey.apply": ({"document": _DOCUMENT}, ["document"]),
    "fit.judge": ({"document": _DOCUMENT, "csv": _TEXT}, ["document"]),
    "fit.apply": ({"document": _DOCUMENT, "csv": _TEXT, "accept": _TEXTS, "whole": _YES}, ["document"]),
    "screws.propose": ({"document": _DOCUMENT, "anew": _YES}, ["document"]),
    "revisions.keep": ({"label": _TEXT, "reason": _TEXT, "kind": _TEXT}, ["label"]),
    "profiles.keep": ({"name": _TEXT}, ["name"]),
    "floor.use": (
        {"document": _DOCUMENT, "kind": _TEXT, "unit": _TEXT, "inner": _TEXT, "content_base64": _TEXT},
        ["document", "kind", "content_base64"],
    ),
    "compare.compare": ({"before": _DOCUMENT, "after": _DOCUMENT}, ["before", "after"]),
    "plots.answers": ({"document": _DOCUMENT, "channel": _TEXT}, ["document"]),
    "section.section": ({"document": _DOCUMENT, "line": {"type": "array"}}, ["document", "line"]),
    "floor.place": ({"document": _DOCUMENT}, ["document"]),
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
                "code": _TEXT,
                "message": _TEXT,
                "pointer": _TEXT,
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
        {"name": name, "in": "path", "required": True, "schema": _WHOLE if name in numbers else _TEXT}
        for name in re.findall(r"{([a-z_]+)}", path)
    ]
    parameters += [{"name": name, "in": "query", "schema": _TEXT} for name in QUERIES.get(rule.endpoint, [])]
    operation: dict[str, Any] = {
        "operationId": rule.endpoint,
        "summary": summary,
        "responses": {
            "2XX": {"description": "Done."},
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
