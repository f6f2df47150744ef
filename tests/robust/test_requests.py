"""Requests made from the interface's own description (OpenAPI): whatever is sent, never a 500, never a page of HTML.

The bodies follow the schema and leave it at a few places: another type, an end of the range, a key too many. Photos and
tables are broken byte by byte. Everyday some, ``--long --fuzz N`` N of each.
"""

from __future__ import annotations

import io
import json
import random
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from PIL import Image

from sketcher.document import from_plain
from sketcher.importing.photo import PhotoError, rectify
from sketcher.server import create_app, openapi
from tests.conftest import a_seed
from tests.document.test_files import BARE
from tests.importing.test_hostile import broken
from tests.robust.mutating import NUMBERS, ODD, mutated
from tests.robust.test_documents import ONE_OF_EACH

#: These begin a process for each request, or make solids for minutes; test_contract and test_room have them.
LEFT_OUT = {"/api/proposals", "/api/plates/{plate}/handoff", "/api/tubes/propose"}


class Maker:
    """Values that fit a schema, mostly."""

    def __init__(self, schemas: dict[str, Any], rng: random.Random) -> None:
        self.schemas, self.rng = schemas, rng

    def value(self, schema: Any, depth: int = 0) -> Any:
        """A value for a schema; every twentieth is another one."""
        rng = self.rng
        if not isinstance(schema, dict) or rng.random() < 0.03:
            return rng.choice(ODD)
        if "$ref" in schema:
            name = schema["$ref"].rsplit("/", 1)[-1]
            if name == "Document":
                return mutated(rng.choice([BARE, ONE_OF_EACH]), rng) if rng.random() < 0.6 else BARE
            return self.value(self.schemas[name], depth + 1)
        for key in ("anyOf", "oneOf", "allOf"):
            if key in schema:
                return self.value(rng.choice(schema[key]), depth + 1)
        if "enum" in schema:
            return rng.choice(schema["enum"])
        if "const" in schema:
            return schema["const"]
        match schema.get("type"):
            case "object":
                return self._object(schema, depth)
            case "array":
                most = 0 if depth > 6 else min(schema.get("maxItems", 3), 3)
                least = schema.get("minItems", 0)
                count = rng.randint(least, max(least, most))
                return [self.value(schema.get("items", {}), depth + 1) for _ in range(count)]
            case "integer":
                return rng.choice([0, 1, 2, -1, 7, 2**31, 2**53])
            case "number":
                return rng.choice(NUMBERS)
            case "boolean":
                return rng.random() < 0.5
            case "string":
                return rng.choice(["", "P1", "C1", "final", "test-piece", "x" * 50, "A B 402.5", "now", "dxf", "svg"])
            case "null":
                return None
        return rng.choice(ODD)

    def _object(self, schema: dict[str, Any], depth: int) -> dict[str, Any]:
        found = {
            key: self.value(part, depth + 1)
            for key, part in schema.get("properties", {}).items()
            if key in schema.get("required", ()) or self.rng.random() < 0.5
        }
        if self.rng.random() < 0.05:
            found["more"] = self.rng.choice(ODD)
        return found


def try_requests(client: FlaskClient, count: int, seed: int) -> dict[int, int]:
    """Sends so many requests; gives how many answers there were of each status."""
    rng = random.Random(seed)
    described = openapi.describe(client.application)
    maker = Maker(described["components"]["schemas"], rng)
    rows = [
        (path, method, operation)
        for path, by_method in described["paths"].items()
        for method, operation in by_method.items()
        if path not in LEFT_OUT
    ]
    client.post("/api/plates", json={"document": ONE_OF_EACH})
    found: dict[int, int] = {}
    for number in range(count):
        path, method, operation = rows[number % len(rows)]
        query, named = {}, {}
        for parameter in operation.get("parameters", ()):
            value = maker.value(parameter["schema"])
            if parameter["in"] == "query":
                query[parameter["name"]] = value if isinstance(value, str) else json.dumps(value)
            else:
                named[parameter["name"]] = rng.choice([1, 1, 1, 2, 99, "x"])
        sent: dict[str, Any] = {}
        body = operation.get("requestBody", {}).get("content", {})
        if "application/json" in body:
            text = json.dumps(maker.value(body["application/json"]["schema"]))
            sent = {"data": text, "content_type": "application/json"}
        elif body:
            sent = {"data": rng.choice([b"", b"<svg/>", b"  0\nSECTION\n", png(4, 3)])}
        answer = client.open(path.format(**named), method=method.upper(), query_string=query, **sent)
        where = f"seed {seed}, number {number}: {method} {path} {query} {str(sent)[:2000]}"
        assert answer.status_code != 500, f"{answer.get_data(as_text=True)[:300]} {where}"
        if answer.status_code >= 400:
            assert set(answer.get_json()["error"]) >= {"code", "message"}, where
        elif answer.mimetype == "application/json":
            json.loads(answer.get_data(), parse_constant=lambda word, where=where: pytest.fail(f"{word}: {where}"))
        if method == "delete":
            client.post("/api/plates/1/restore")
        found[answer.status_code] = found.get(answer.status_code, 0) + 1
    return found


def png(width: int, height: int) -> bytes:
    held = io.BytesIO()
    Image.new("RGB", (width, height)).save(held, "PNG")
    return held.getvalue()


def jpeg(width: int, height: int) -> bytes:
    held = io.BytesIO()
    Image.new("RGB", (width, height)).save(held, "JPEG", exif=Image.Exif())
    return held.getvalue()


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    return create_app(tmp_path).test_client()


def test_some_requests_from_the_description_are_answered_or_refused(client: FlaskClient) -> None:
    found = try_requests(client, 60, a_seed())
    assert sum(found.values()) == 60


@pytest.mark.long
def test_many_requests_from_the_description(client: FlaskClient, request: pytest.FixtureRequest) -> None:
    found = try_requests(client, request.config.getoption("--fuzz"), 1)
    assert 200 in found
    assert 422 in found


def try_photos(client: FlaskClient, count: int, rng: random.Random) -> None:
    plate = client.post("/api/plates", json={"document": BARE}).get_json()["id"]
    whole = [png(20, 10), jpeg(20, 10)]
    for number in range(count):
        hurt = broken(whole[number % 2], rng)
        answer = client.put(f"/api/plates/{plate}/photo", data=hurt)
        assert answer.status_code in (200, 422), (answer.get_data(as_text=True)[:200], hurt)
        # Marks anywhere: placed with finite numbers, or refused in words.
        marks = [
            {"x_px": rng.choice([0, 20, rng.uniform(-5, 25), 1e6]), "y_px": rng.choice([0, 10, rng.uniform(-5, 15)]),
             "x_mm": rng.choice([0, 400, rng.uniform(0, 400), 5000]), "y_mm": rng.choice([0, 300, rng.uniform(0, 300)]),
             "check": rng.random() < 0.2}
            for _ in range(rng.choice([0, 3, 4, 5, 6]))
        ]  # fmt: skip
        photo = {"file": "a.png", "width_px": 20, "height_px": 10, "marks": marks}
        document = from_plain({**BARE, "photo": photo})
        assert document.photo is not None
        words = "placed, with finite numbers"
        try:
            json.dumps(rectify(document.photo).as_json(), allow_nan=False)
        except PhotoError as error:
            words = str(error)
        except Exception as error:
            raise AssertionError(f"{type(error).__name__}: {error}; {marks}") from error
        assert len(words.split()) > 3


def test_some_broken_photos_and_marks_are_taken_or_refused(client: FlaskClient) -> None:
    try_photos(client, 8, random.Random(a_seed()))


@pytest.mark.long
def test_many_broken_photos_and_marks(client: FlaskClient, request: pytest.FixtureRequest) -> None:
    try_photos(client, min(request.config.getoption("--fuzz"), 1000), random.Random(1))


TABLES = ["port,dx_mm,dy_mm,note\nP1,1.5,-0.5,tight\nP2,0,0,\n", "from;to;value;unit\nA;E;402,5;mm\nA;E;15 13/16;in\n"]


def try_tables(client: FlaskClient, count: int, rng: random.Random) -> None:
    for number in range(count):
        hurt = broken(TABLES[number % 2].encode(), rng).decode("utf-8", "replace")
        path, key = (("/api/fit", "csv"), ("/api/survey/readings", "text"))[number % 2]
        answer = client.post(path, json={"document": ONE_OF_EACH, key: hurt})
        assert answer.status_code in (200, 400, 422), (answer.get_data(as_text=True)[:300], hurt)


def test_some_broken_tables_are_taken_or_refused(client: FlaskClient) -> None:
    try_tables(client, 20, random.Random(a_seed()))


@pytest.mark.long
def test_many_broken_tables(client: FlaskClient, request: pytest.FixtureRequest) -> None:
    try_tables(client, min(request.config.getoption("--fuzz"), 1000), random.Random(1))
