"""The description of the interface: valid, and the same as the interface."""

from __future__ import annotations

import base64
import io
import json
from pathlib import Path
from typing import Any

from jsonschema import Draft202012Validator
from openapi_spec_validator import validate
from PIL import Image

from sketcher.server import create_app, openapi

DOCS = Path(__file__).parents[2] / "docs" / "http.md"


def test_the_description_is_valid_openapi(tmp_path: Path) -> None:
    app = create_app(tmp_path)
    described = app.test_client().get("/api/openapi.json").get_json()
    validate(described)
    assert described["paths"]["/api/plates/{plate}"]["put"]["requestBody"]


def test_every_route_has_a_summary_and_every_change_says_what_it_takes(tmp_path: Path) -> None:
    app = create_app(tmp_path)
    silent = {"plates.restore"}  # takes nothing but its address
    paths = openapi.describe(app)["paths"]
    for rule, path, method in openapi.routes(app):
        operation = paths[path][method.lower()]
        assert operation["summary"].endswith("."), path
        if method in ("POST", "PUT"):
            assert "requestBody" in operation or rule.endpoint in silent, rule.endpoint


def test_every_route_says_what_it_gives_and_no_part_is_just_an_object(tmp_path: Path) -> None:
    app = create_app(tmp_path)
    for endpoint, contract in openapi.contracts(app).items():
        assert bool(contract.answer) != bool(contract.media), endpoint
        assert not (contract.body and contract.file), endpoint
    # What has keys of its own has a model; what has not says why.
    free = {
        "PlateAnswer/document", "RevisionDocument/document",  # stored by another version, perhaps
        "LidAnswer/clamped",  # screws or bonds, by the kind of seal
        "Look/edit",  # items of every kind
        "SchemaAnswer/$defs", "Description/info", "Description/paths", "Description/components",  # schemas themselves
    }  # fmt: skip
    loose = {
        f"{name}/{key}"
        for name, part in openapi.describe(app)["components"]["schemas"].items()
        for key, value in part.get("properties", {}).items()
        if '"additionalProperties": true' in json.dumps(value)
    }
    assert loose <= free


def test_the_docs_have_every_route_as_it_is(tmp_path: Path) -> None:
    text = DOCS.read_text("utf-8")
    assert openapi.renewed(create_app(tmp_path), text) == text, "run: python -m sketcher.server.describe docs/http.md"


PART = {"kind": "device", "name": "Own block", "device": {"id": "D1", "kind": "block"}}


def test_every_route_answers_as_it_is_described(tmp_path: Path) -> None:
    """One good request for every route there is; each answer is held against its schema."""
    app = create_app(tmp_path)
    client, described = app.test_client(), openapi.describe(app)
    document = client.post("/api/plates", json={"example": "riser-bench"}).get_json()["document"]
    photo = _png(8, 6)
    marks = [(0, 6, 0, 0), (8, 6, 80, 0), (8, 0, 80, 60), (0, 0, 0, 60)]
    photographed = {
        **document,
        "photo": {
            "file": "a.png", "width_px": 8, "height_px": 6,
            "marks": [{"x_px": x, "y_px": y, "x_mm": a, "y_mm": b} for x, y, a, b in marks],
        },
    }  # fmt: skip
    drawing = b"""<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">
        <rect x="10" y="10" width="280" height="180"/></svg>"""
    readings = "port,dx_mm,dy_mm\n" + "".join(f"P{n},{1.5 if n == 3 else 0},0\n" for n in range(1, 9))
    live = {"document": document}
    area = {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 60, "depth_mm": 12}
    strip = {
        "document": {
            **document,
            "pockets": [*document.get("pockets", []), {"id": "R99", "outline": area, "depth_mm": 5}],
        }
    }
    bare = {"floor": document["floor"], "plate": document["plate"]}
    searched = {"document": {**document, "loop": {**document["loop"], "connections": [["P1", "P2"]]}}, "anew": True}
    search = client.post("/api/proposals", json=searched).get_json()["search"]
    job = client.post("/api/floor/imports?kind=svg", data=drawing).get_json()["job"]
    tried = {**live, "csv": readings}
    final = client.get("/api/plates/1/export?sheet=final&format=dxf").data
    kept = client.put("/api/plates/1/photo", data=photo).get_json()["file"]
    # In this order: the state counts on, and the revision is there before it is read.
    requests: list[tuple[str, str, dict[str, Any]]] = [
        ("POST /api/plates", "", {"json": {"example": "small-board"}}),
        ("POST /api/plates/{plate}/revisions", "", {"json": {"label": "one", "kind": "hand-off"}}),
        ("PUT /api/plates/{plate}", "", {"json": {"base": 1, "document": {**document, "name": "x"}, "label": "named"}}),
        ("POST /api/plates/{plate}/undo", "", {"json": {"base": 2}}),
        ("POST /api/plates/{plate}/redo", "", {"json": {"base": 3}}),
        ("POST /api/plates/{plate}/step", "", {"json": {"base": 4, "step": 2}}),
        ("DELETE /api/plates/{plate}", "", {}),
        ("POST /api/plates/{plate}/restore", "", {}),
        ("PUT /api/plates/{plate}/photo", "", {"data": photo}),
        ("POST /api/plates/{plate}/returned", "?kind=dxf", {"data": final}),
        ("PUT /api/shops", "", {"json": {"name": "Yard"}}),
        ("PUT /api/parts", "", {"json": PART}),
        ("POST /api/parts/library", "", {"json": {"parts": [PART]}}),
        ("DELETE /api/parts/{part}", "", {}),
        ("POST /api/answers", "", {"json": {**live, "channel": "C1"}}),
        ("POST /api/proposals", "", {"json": {**searched, "seconds": 0.1}}),
        ("DELETE /api/proposals/{search}", "", {}),
        ("POST /api/compare", "", {"json": {"before": document, "after": {**document, "name": "x"}}}),
        ("POST /api/fit", "", {"json": tried}),
        ("POST /api/fit/apply", "", {"json": tried}),
        ("POST /api/floor/import", "?kind=svg", {"data": drawing}),
        ("POST /api/floor/imports", "?kind=svg", {"data": drawing}),
        ("DELETE /api/floor/imports/{job}", "", {}),
        (
            "POST /api/floor/use",
            "",
            {"json": {**live, "kind": "svg", "content_base64": base64.b64encode(drawing).decode()}},
        ),
        ("POST /api/photo/place", "", {"json": {"document": photographed}}),
        ("POST /api/look", "", {"json": live}),
        ("POST /api/measure", "", {"json": {**live, "items": ["P1", "B1"]}}),
        ("POST /api/orders", "", {"json": live}),
        ("POST /api/smallest-plate", "", {"json": {"document": bare, "shape": "notched", "clear_mm": 1}}),
        ("POST /api/reroute", "", {"json": {**live, "moved": ["P1"]}}),
        ("POST /api/ports", "", {"json": live}),
        ("POST /api/screws", "", {"json": {**live, "anew": True}}),
        (
            "POST /api/outline",
            "",
            {"json": {**live, "target": "plate", "do": "follow", "other": "floor", "distance_mm": 2}},
        ),
        ("POST /api/follow", "", {"json": {**live, "item": "MB", "kind": "keep-out", "holes": True}}),
        ("POST /api/cable-slot", "", {"json": {**strip, "start": "R99", "nearest": True, "cable_mm": 3}}),
        ("POST /api/hold", "", {"json": {**live, "item": "RISER", "holder": None}}),
        ("POST /api/follow/step", "", {"json": live}),
        ("POST /api/section", "", {"json": {**live, "line": [[0, 100], [400, 100]]}}),
        ("POST /api/sureness", "", {"json": live}),
        ("POST /api/survey", "", {"json": live}),
        ("POST /api/survey/apply", "", {"json": live}),
        ("POST /api/survey/follow", "", {"json": live}),
        ("POST /api/survey/readings", "", {"json": {**live, "text": "A B 402.5"}}),
        ("POST /api/tubes", "", {"json": live}),
        ("POST /api/measure/between", "", {"json": {**live, "first": {"item": "plate", "part": "edge"}, "second": {}}}),
        ("POST /api/tubes/propose", "", {"json": live}),
        (
            "POST /api/tubes/lay",
            "",
            {"json": {**live, "start": "RES.out", "end": "PUMP.in", "places": [[62.0, 180.0]]}},
        ),
    ]
    # A GET takes nothing but its address.
    # A package of a state that is no revision has to be asked for as a draft.
    draft = {"/api/plates/{plate}/handoff": "?draft=1"}
    requests += [(f"GET {path}", draft.get(path, ""), {}) for _, path, method in openapi.routes(app) if method == "GET"]
    assert {route for route, _, _ in requests} == {f"{method} {path}" for _, path, method in openapi.routes(app)}
    for route, query, sent in requests:
        method, path = route.split()
        # What makes every file asks the smaller plate: the answers have the same form.
        plate = 2 if "revisions" in path or "handoff" in path else 1
        answer = client.open(
            path.format(plate=plate, number=1, other="now", name=kept, search=search, job=job, part="Own block")
            + query,
            method=method,
            **sent,
        )
        ((status, response),) = (
            (status, response)
            for status, response in described["paths"][path][method.lower()]["responses"].items()
            if status != "default"
        )
        assert answer.status_code == int(status), (route, answer.get_data(as_text=True)[:400])
        assert answer.mimetype in response["content"], route
        part = response["content"][answer.mimetype].get("schema")
        if part is not None:
            assert part, f"{route} has no answer described"
            _hold(answer.get_json(), part, described["components"], route)


def test_refusals_are_as_they_are_described(tmp_path: Path) -> None:
    app = create_app(tmp_path)
    client, parts = app.test_client(), openapi.describe(app)["components"]
    for answer in (
        client.get("/api/plates/9"),
        client.patch("/api/ping"),
        client.post("/api/plates", json={"document": {}}),
        client.get("/api/ping", headers={"Host": "elsewhere"}),
    ):
        assert answer.status_code >= 400
        _hold(answer.get_json(), {"$ref": "#/components/schemas/Error"}, parts, "refusal")


def _hold(answer: Any, part: dict[str, Any], components: dict[str, Any], route: str) -> None:
    """Holds an answer against its schema, and says where it differs."""
    faults = list(Draft202012Validator({"components": components, **part}).iter_errors(answer))
    assert not faults, (route, [(fault.json_path, fault.message[:200]) for fault in faults[:3]])


def _png(width: int, height: int) -> bytes:
    held = io.BytesIO()
    Image.new("RGB", (width, height)).save(held, "PNG")
    return held.getvalue()
