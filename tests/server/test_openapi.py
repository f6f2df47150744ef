"""The description of the interface: valid, and the same as the interface."""

from __future__ import annotations

from pathlib import Path

from openapi_spec_validator import validate

from sketcher.server import create_app, openapi

DOCS = Path(__file__).parents[2] / "docs" / "http.md"


def test_the_description_is_valid_openapi(tmp_path: Path) -> None:
    app = create_app(tmp_path)
    described = app.test_client().get("/api/openapi.json").get_json()
    validate(described)
    assert described["paths"]["/api/plates/{plate}"]["put"]["requestBody"]


def test_every_route_has_a_summary_and_every_change_says_what_it_takes(tmp_path: Path) -> None:
    app = create_app(tmp_path)
    silent = {"plates.take_back"}  # takes nothing but its address
    for rule, path, method in openapi.routes(app):
        operation = openapi.describe(app)["paths"][path][method.lower()]
        assert operation["summary"].endswith("."), path
        if method in ("POST", "PUT"):
            assert "requestBody" in operation or rule.endpoint in silent, rule.endpoint


def test_what_is_described_by_hand_belongs_to_a_route(tmp_path: Path) -> None:
    endpoints = {rule.endpoint for rule, _, _ in openapi.routes(create_app(tmp_path))}
    assert {*openapi.BODIES, *openapi.FILES, *openapi.QUERIES} <= endpoints


def test_the_docs_have_every_route_as_it_is(tmp_path: Path) -> None:
    text = DOCS.read_text("utf-8")
    assert openapi.renewed(create_app(tmp_path), text) == text, "run: python -m sketcher.server.describe docs/http.md"
