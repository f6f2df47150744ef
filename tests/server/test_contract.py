"""The contract of the HTTP interface, held against every route that there is: whatever is sent, the answer is either
what was asked for or the one envelope; never a 500, never a page of HTML, never NaN."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from sketcher.document import dumps, from_plain
from sketcher.server import create_app, openapi
from sketcher.server.contract import Contract
from sketcher.server.guard import POLICY
from sketcher.store import Cause, StoreError
from tests.document.test_files import BARE

#: Values in place of what a route wants, each of another JSON type or out of all bounds.
ODD: list[Any] = [None, True, -1, 1e308, 10**30, "", "x" * 3000, "../../etc", "\0", [], [[]], {}, {"a": [None]}]
CHANGING = ("POST", "PUT", "DELETE")


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    return create_app(tmp_path).test_client()


def _routes(tmp: Path) -> Iterator[tuple[str, str, str]]:
    for rule, path, method in openapi.routes(create_app(tmp)):
        yield rule.endpoint, path, method


@pytest.fixture(scope="module")
def contracts(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Contract]:
    return openapi.contracts(create_app(tmp_path_factory.mktemp("contracts")))


@pytest.fixture(scope="module")
def routes(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, str, str]]:
    return list(_routes(tmp_path_factory.mktemp("routes")))


def _strict(text: str) -> Any:
    return json.loads(text, parse_constant=lambda word: pytest.fail(f"{word} is no JSON"))


def in_order(answer: TestResponse, what: object) -> TestResponse:
    """Holds one answer against the contract and gives it back."""
    assert answer.status_code != 500, (what, answer.get_data(as_text=True))
    assert answer.headers["Content-Security-Policy"] == POLICY
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    if answer.mimetype == "application/json":
        content = _strict(answer.get_data(as_text=True))
    if answer.status_code >= 400:
        assert answer.mimetype == "application/json", what
        error = content["error"]
        assert set(error) <= {"code", "message", "pointer", "faults", "cause"}
        assert error["code"].islower()
        assert len(error["message"].split()) >= 3, error
        assert "Traceback" not in error["message"]
        for fault in error.get("faults", []):
            assert set(fault) == {"pointer", "message"}
            assert fault["pointer"] == "" or fault["pointer"].startswith("/")
    return answer


def begun(client: FlaskClient) -> int:
    answer = client.post("/api/plates", json={"document": BARE})
    assert answer.status_code == 201
    return int(answer.get_json()["id"])


def at(path: str, plate: int) -> str:
    return path.format(plate=plate, number=1, name="x", other="now", search="x", job="x", part="x")


def test_every_route_refuses_a_plate_that_is_not_there(client: FlaskClient, routes, contracts) -> None:
    bodies = {
        "plates.save": {"base": 1, "document": BARE},
        "plates.undo": {"base": 1},
        "plates.redo": {"base": 1},
        "plates.go_to": {"base": 1, "step": 1},
        "revisions.keep": {"label": "one"},
    }
    png = b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\0\x10\0\0\0\x10\x08\x02\0\0\0"
    for endpoint, path, method in routes:
        if "{plate}" not in path:
            continue
        sent = {"data": png} if contracts[endpoint].file else {"json": bodies.get(endpoint)}
        answer = in_order(client.open(at(path, 999), method=method, **sent), endpoint)
        assert answer.status_code in (404, 422) if endpoint == "floor.put_photo" else answer.status_code == 404, (
            endpoint
        )


def test_every_route_that_takes_json_refuses_what_is_no_object(client: FlaskClient, routes, contracts) -> None:
    plate = begun(client)
    for endpoint, path, method in routes:
        if contracts[endpoint].body is None:
            continue
        for body in ("", "{", "[]", "null", '"text"', "NaN", '{"document": NaN}'):
            answer = client.open(at(path, plate), method=method, data=body, content_type="application/json")
            assert in_order(answer, (endpoint, body)).status_code in (400, 422), (endpoint, body)
        answer = client.open(at(path, plate), method=method, data="a=1", content_type="text/plain")
        assert in_order(answer, endpoint).status_code == 415, endpoint
        assert answer.get_json()["error"]["code"] == "media-type"


def test_every_value_of_every_body_may_be_odd(client: FlaskClient, routes, contracts) -> None:
    plate = begun(client)
    full = {
        "document": BARE, "before": BARE, "after": BARE, "base": 1, "label": "label", "want": ["findings"],
        "line": [[0, 0], [100, 100]], "kind": "svg", "content_base64": "PHN2Zy8+", "csv": "port,dx_mm,dy_mm\n",
        "name": "Shop", "start": {"width_mm": 300, "depth_mm": 200, "body_thickness_mm": 20},
    }  # fmt: skip
    for endpoint, path, method in routes:
        model = contracts[endpoint].body
        keys = model.model_fields if model else {}
        right = {key: full[key] for key in keys if key in full}
        for key in keys:
            for odd in ODD:
                body = json.dumps({**right, key: odd})
                answer = client.open(at(path, plate), method=method, data=body, content_type="application/json")
                in_order(answer, (endpoint, key, odd))


def test_every_value_of_every_query_may_be_odd(client: FlaskClient, routes, contracts) -> None:
    plate = begun(client)
    for endpoint, path, method in routes:
        asked = contracts[endpoint].query
        for key in asked.model_fields if asked else ():
            for odd in ("", "-1", "0", "1e9", "99999999999999999999", "%00", "../x", "<b>", "x" * 500, "null", "nan"):
                in_order(client.open(f"{at(path, plate)}?{key}={odd}", method=method, data=b""), (endpoint, key, odd))


def test_a_file_may_be_anything(client: FlaskClient, routes, contracts) -> None:
    plate = begun(client)
    for endpoint, path, method in routes:
        if contracts[endpoint].file:
            for kind in ("dxf", "svg"):
                for data in (
                    b"",
                    b"\0" * 50,
                    b"  0\nSECTION\n",
                    b"<svg",
                    b"\x89PNG\r\n\x1a\n",
                    b"\xff\xd8\xff\xe0\0\0",
                ):
                    answer = client.open(f"{at(path, plate)}?kind={kind}", method=method, data=data)
                    expected = (202,) if endpoint == "imports.begin" else (400, 404, 415, 422)
                    assert in_order(answer, (endpoint, kind, data)).status_code in (*expected, 429)


def test_numbers_in_the_address_may_be_odd(client: FlaskClient) -> None:
    begun(client)
    for number in ("0", "-1", "1.5", "x", str(2**63), str(10**40), "%00", "1%2f2"):
        for path in (f"/api/plates/{number}", f"/api/plates/1/revisions/{number}"):
            assert in_order(client.get(path), path).status_code == 404
        compared = f"/api/plates/1/revisions/1/compare/{number}"
        assert in_order(client.get(compared), compared).status_code == 404


def test_every_changing_route_refuses_a_foreign_origin_and_every_route_a_foreign_host(
    client: FlaskClient, routes
) -> None:
    plate = begun(client)
    before = client.get(f"/api/plates/{plate}").get_json()
    foreign = {"Host": "localhost:8765", "Origin": "http://elsewhere.example"}
    for endpoint, path, method in routes:
        answer = client.open(at(path, plate), method=method, json={}, headers={"Host": "elsewhere.example"})
        assert in_order(answer, endpoint).get_json()["error"]["code"] == "host"
        if method in CHANGING:
            answer = client.open(at(path, plate), method=method, json={}, headers=foreign)
            assert in_order(answer, endpoint).get_json()["error"]["code"] == "origin"
            assert answer.status_code == 403
    assert client.get(f"/api/plates/{plate}").get_json() == before
    assert not client.get("/api/plates").get_json()["plates"][0]["deleted"]


def test_every_route_refuses_another_method(client: FlaskClient, routes) -> None:
    for _, path, _ in routes:
        answer = in_order(client.patch(at(path, 1), json={}), path)
        assert (answer.status_code, answer.get_json()["error"]["code"]) == (405, "method")


def test_a_disk_that_is_full_is_a_507(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(*_: object) -> None:
        raise StoreError("plates.sqlite3: the disk is full; make room; nothing was changed", Cause.FULL)

    monkeypatch.setattr("sketcher.store.Plates.add", full)
    answer = in_order(client.post("/api/plates", json={"document": BARE}), "full")
    assert answer.status_code == 507
    assert answer.get_json()["error"]["code"] == "store"
    assert answer.get_json()["error"]["cause"] == "full"


def test_a_document_of_another_time_can_be_listed_seen_and_had_but_does_no_harm(client, tmp_path, routes) -> None:
    plate = begun(client)
    old = dumps(from_plain(BARE)).replace('"outline"', '"outlines"')
    with sqlite3.connect(tmp_path / "plates.sqlite3") as connection:
        connection.execute("UPDATE step SET document = ?", (old,))
    connection.close()
    (row,) = client.get("/api/plates").get_json()["plates"]
    assert "/floor/outline" in row["fault"]
    assert client.get(f"/api/plates/{plate}/document.json").get_data(as_text=True) == old
    for endpoint, path, method in routes:
        if "{plate}" in path and method == "GET":
            in_order(client.get(at(path, plate)), endpoint)
    assert client.get(f"/api/plates/{plate}/look").status_code == 422
    # It is mended by an ordinary save, and the old text stays one undo away.
    saved = client.put(f"/api/plates/{plate}", json={"base": 1, "document": BARE, "label": "mended"})
    assert saved.status_code == 200
    assert client.get("/api/plates").get_json()["plates"][0]["fault"] == ""


def test_a_host_that_is_no_address_is_refused(client: FlaskClient) -> None:
    for host in ("", "[::1", "127.0.0.1.example.com", "127.0.0.1@evil.example", "localhost.evil.example:8765"):
        assert in_order(client.get("/api/ping", headers={"Host": host}), host).status_code in (400, 403), host


def test_names_with_markup_are_text_in_every_drawing_and_file(client: FlaskClient) -> None:
    evil = '"><script>alert(1)</script><img src=x onerror=alert(2)>&'
    named = {
        **BARE,
        "name": evil,
        "boards": [{"id": "B1", "name": evil, "width_mm": 50, "depth_mm": 50}],
        "ports": [{"id": "P1", "x_mm": 100, "y_mm": 100, "note": evil}],
    }
    made = client.post("/api/plates", json={"document": named})
    assert made.get_json()["document"]["name"] == evil
    plate = made.get_json()["id"]
    client.post(f"/api/plates/{plate}/revisions", json={"label": evil[:40], "reason": evil})
    drawings = [
        client.post("/api/look", json={"document": named, "want": ["drawing"]}).get_json()["drawing"]["svg"],
        client.post("/api/compare", json={"before": BARE, "after": named}).get_json()["svg"],
        client.post("/api/section", json={"document": named, "line": [[0, 100], [300, 100]]}).get_json()["svg"],
        *(
            client.get(f"/api/plates/{plate}/export?sheet={sheet}&format=svg&label={'<script>'}").get_data(as_text=True)
            for sheet in ("test-piece", "final", "floor-cut", "paper")
        ),
    ]
    for drawing in drawings:
        assert "<svg" in drawing
        assert "<script" not in drawing
        assert "<img" not in drawing
    assert client.get(f"/api/plates/{plate}/revisions").get_json()["revisions"][0]["reason"] == evil


@pytest.mark.parametrize(
    ("named", "status"),
    [({"item": ""}, 400), ({"item": "not an id"}, 400), ({"item": "Q9"}, 422),
     ({"item": "D1", "kind": "pocket", "depth_mm": 1e-300}, 400)],
)  # fmt: skip
def test_what_cannot_be_followed_is_refused_in_words(client: FlaskClient, named: dict[str, Any], status: int) -> None:
    answer = client.post("/api/follow", json={"document": BARE, "kind": "cutout", **named})
    assert answer.status_code == status
    assert len(answer.get_json()["error"]["message"].split()) > 3
