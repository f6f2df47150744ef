"""The description of the HTTP interface (OpenAPI 3.1), made from the routes themselves so that the two never part.

``python -m sketcher.server.describe docs/http.md`` writes the table of routes in the docs from it. Paths, methods and
summaries come from the routes and their docstrings, bodies, queries and answers from the models that the routes name.
"""

from __future__ import annotations

import re
from typing import Any

from flask import Blueprint, Flask, current_app
from pydantic import BaseModel
from pydantic.json_schema import models_json_schema
from werkzeug.routing import IntegerConverter, Rule

from sketcher import __version__
from sketcher.document import Document
from sketcher.server.answers import Description, Error
from sketcher.server.contract import Contract, contract_of, gives

TEXT, WHOLE = {"type": "string"}, {"type": "integer"}
REFERENCE = "#/components/schemas/{model}"

blueprint = Blueprint("openapi", __name__, url_prefix="/api")


@blueprint.get("/openapi.json")
@gives(Description)
def description() -> dict[str, Any]:
    """This description."""
    # It is that of the routes, which do not change while the program runs.
    known: dict[str, Any] = current_app.extensions
    if "description" not in known:
        known["description"] = describe(current_app)
    described: dict[str, Any] = known["description"]
    return described


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
    return {
        "openapi": "3.1.0",
        "info": {"title": "Plate sketcher", "version": __version__},
        "paths": paths,
        "components": {"schemas": _definitions(app)},
    }


def contracts(app: Flask) -> dict[str, Contract]:
    """What each route takes and gives, by its endpoint."""
    return {rule.endpoint: contract_of(app.view_functions[rule.endpoint]) for rule, _, _ in routes(app)}


def _definitions(app: Flask) -> dict[str, Any]:
    """The schema of every model that a route takes or gives, and of what they are made of."""
    models: set[type[BaseModel]] = {Document, Error}
    for contract in contracts(app).values():
        models |= {model for model in (contract.body, contract.answer) if model is not None}
    ordered = sorted(models, key=lambda model: model.__name__)
    _, described = models_json_schema([(model, "validation") for model in ordered], ref_template=REFERENCE)
    return {name: _plain(part) for name, part in described["$defs"].items()}


def _operation(app: Flask, rule: Rule, path: str) -> dict[str, Any]:
    view = app.view_functions[rule.endpoint]
    summary = " ".join((view.__doc__ or "").strip().split("\n\n")[0].split()).replace("``", "`")
    numbers = {name for name, converter in rule._converters.items() if isinstance(converter, IntegerConverter)}
    parameters: list[dict[str, Any]] = [
        {"name": name, "in": "path", "required": True, "schema": WHOLE if name in numbers else TEXT}
        for name in re.findall(r"{([a-z_]+)}", path)
    ]
    contract = contract_of(view)
    if contract.query is not None:
        for name, about in contract.query.model_json_schema(ref_template=REFERENCE)["properties"].items():
            needed = contract.query.model_fields[name].is_required()
            parameters.append({"name": name, "in": "query", "schema": about, **({"required": True} if needed else {})})
    operation: dict[str, Any] = {
        "operationId": rule.endpoint,
        "summary": summary,
        "responses": {
            str(int(contract.status)): {"description": "Done.", "content": _answer(contract)},
            "default": {
                "description": "It could not be done.",
                "content": {"application/json": {"schema": {"$ref": "#/components/schemas/Error"}}},
            },
        },
    }
    if parameters:
        operation["parameters"] = parameters
    if contract.body is not None:
        operation["requestBody"] = {
            "required": True,
            "content": {"application/json": {"schema": _named(contract.body)}},
        }
    elif contract.file:
        operation["requestBody"] = {"required": True, "content": {"application/octet-stream": {}}}
    return operation


def _answer(contract: Contract) -> dict[str, Any]:
    if contract.media:
        return {kind: {} for kind in contract.media}
    return {"application/json": {"schema": _named(contract.answer)}} if contract.answer else {}


def _named(model: type[BaseModel]) -> dict[str, str]:
    return {"$ref": REFERENCE.format(model=model.__name__)}


BEGIN, END = "<!-- routes: begin -->", "<!-- routes: end -->"


def renewed(app: Flask, text: str) -> str:
    """``docs/http.md`` with its table of routes written anew."""
    paths = describe(app)["paths"]
    rows = [f"| `{method} {path}` | {paths[path][method.lower()]['summary']} |" for _, path, method in routes(app)]
    table = "| route | does |\n| --- | --- |\n" + "\n".join(rows)
    before, rest = text.split(BEGIN)
    return f"{before}{BEGIN}\n\n{table}\n\n{END}{rest.split(END)[1]}"


def _plain(part: Any) -> Any:
    """A schema without pydantic's table of an outline's shapes, which OpenAPI wants in its own form."""
    if isinstance(part, dict):
        return {key: _plain(value) for key, value in part.items() if key != "mapping"}
    return [_plain(member) for member in part] if isinstance(part, list) else part
