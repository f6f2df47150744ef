"""The HTTP interface: its envelope, its guard, and every resource once."""

from __future__ import annotations

import hashlib
import json
import re
import shutil
import zipfile
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from flask.testing import FlaskClient

from sketcher.document import from_plain, loads
from sketcher.server import create_app
from sketcher.store import shipped
from tests.document.test_files import BARE

FITS = "riser-bench"
#: A package of it is made in half the time.
SMALL = {"example": "small-board"}


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    return create_app(tmp_path).test_client()


def add(client: FlaskClient, what: dict[str, Any] | None = None) -> dict[str, Any]:
    answer = client.post("/api/plates", json=what or {"example": FITS})
    assert answer.status_code == 201
    return answer.get_json()


def refused(answer: Any, status: int, code: str) -> dict[str, Any]:
    """Checks the envelope, which is the same for everything that goes wrong."""
    assert answer.status_code == status
    error = answer.get_json()["error"]
    assert error["code"] == code
    assert error["message"].strip()
    assert "Traceback" not in answer.get_data(as_text=True)
    return error


def test_the_page_and_its_modules_are_served(client: FlaskClient) -> None:
    with client.get("/") as page:
        assert page.status_code == 200
        assert "script-src 'self'" in page.headers["Content-Security-Policy"]
    with client.get("/static/main.js") as module:
        assert module.headers["Content-Type"].startswith("text/javascript")
        assert "no-cache" in module.headers["Cache-Control"]


def test_a_browser_keeps_the_pages_files_until_any_of_them_changes(
    client: FlaskClient, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(shipped.folder("static"), tmp_path / "static")
    monkeypatch.setattr(shipped, "folder", lambda name: tmp_path / name)

    def named() -> set[str]:
        """The addresses of the page's files, each of which is to be had and kept."""
        with client.get("/") as page:
            assert "no-cache" in page.headers["Cache-Control"]
            found = set(re.findall(r'(?:href|src)="(/static/[^"]+)"', page.get_data(as_text=True)))
        for address in found:
            with client.get(address) as file:
                assert (file.status_code, file.cache_control.immutable, file.cache_control.no_cache) == (
                    200,
                    True,
                    None,
                )
        return found

    before = named()
    assert before == named()
    assert {name.rsplit("/", 1)[1] for name in before} >= {"main.js", "store.js", "style.css", "mark.svg"}
    (tmp_path / "static" / "style.css").write_text("body { margin: 0 }", encoding="utf-8")
    after = named()
    assert after.isdisjoint(before)
    assert len(after) == len(before)


@pytest.mark.parametrize(
    "path",
    [
        "/static/../pyproject.toml",
        "/static/%2e%2e/pyproject.toml",
        "/static/..%5cpyproject.toml",
        "/static/at-0/../../pyproject.toml",
        "/static/at-0/%2e%2e/pyproject.toml",
        "/static/at-0/",
        "/static/at-0",
    ],
)
def test_no_name_leads_out_of_the_pages_folder(client: FlaskClient, path: str) -> None:
    refused(client.get(path), 404, "not-found")


def test_a_foreign_host_is_refused(client: FlaskClient) -> None:
    refused(client.get("/api/plates", headers={"Host": "rebound.example:8765"}), 403, "host")
    assert client.get("/api/plates", headers={"Host": "127.0.0.1:8765"}).status_code == 200
    assert client.get("/api/plates", headers={"Host": "[::1]:8765"}).status_code == 200


@pytest.mark.parametrize("origin", ["http://evil.example", "null", "http://localhost:1", "https://localhost"])
def test_a_foreign_origin_may_change_nothing(client: FlaskClient, origin: str) -> None:
    body = {"example": FITS}
    headers = {"Host": "localhost:8765", "Origin": origin}
    refused(client.post("/api/plates", json=body, headers=headers), 403, "origin")
    assert client.get("/api/plates").get_json()["plates"] == []
    own = {"Host": "localhost:8765", "Origin": "http://localhost:8765"}
    assert client.post("/api/plates", json=body, headers=own).status_code == 201


def test_a_body_that_is_too_large_is_refused_in_words(client: FlaskClient) -> None:
    client.application.config["MAX_CONTENT_LENGTH"] = 1_000_000
    answer = client.post("/api/look", data=b"x" * 1_000_001, content_type="application/json")
    assert "1 MB" in refused(answer, 413, "too-large")["message"]


@pytest.mark.parametrize(
    ("method", "path", "body", "status", "code"),
    [
        ("get", "/api/plates/77", None, 404, "not-found"),
        ("get", "/api/nowhere", None, 404, "not-found"),
        ("delete", "/api/look", None, 405, "method"),
        ("post", "/api/plates", {}, 400, "request"),
        ("post", "/api/plates", {"example": "nothing"}, 404, "not-found"),
        ("post", "/api/plates", {"start": {"width_mm": 400}}, 400, "request"),
        ("post", "/api/plates", {"start": {"width_mm": -4, "depth_mm": 3, "body_thickness_mm": 20}}, 422, "document"),
        ("post", "/api/plates", {"document": {"version": 1}}, 422, "document"),
        ("post", "/api/look", {}, 400, "request"),
        ("post", "/api/fit", {"document": BARE}, 422, "readings"),
    ],
)
def test_what_cannot_be_done_is_said(
    client: FlaskClient, method: str, path: str, body: Any, status: int, code: str
) -> None:
    refused(getattr(client, method)(path, **({"json": body} if body is not None else {})), status, code)


def test_text_that_is_no_json_is_refused(client: FlaskClient) -> None:
    refused(client.post("/api/look", data="{", content_type="application/json"), 400, "request")


def test_a_documents_faults_come_with_their_places(client: FlaskClient) -> None:
    error = refused(client.post("/api/plates", json={"document": {**BARE, "ports": [{"id": "P1"}]}}), 422, "document")
    assert error["pointer"] == "/ports/0/x_mm"
    assert {fault["pointer"] for fault in error["faults"]} == {"/ports/0/x_mm", "/ports/0/y_mm"}


def test_what_nobody_foresaw_is_an_envelope_too(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object, **__: object) -> None:
        raise RuntimeError("an inner secret")

    monkeypatch.setattr("sketcher.server.look_routes.answer", fail)
    answer = client.post("/api/look", json={"document": BARE})
    assert "secret" not in refused(answer, 500, "unforeseen")["message"]


def test_an_empty_start_becomes_a_bare_plate(client: FlaskClient) -> None:
    made = add(client, {"start": {"width_mm": 400, "depth_mm": 300, "body_thickness_mm": 20, "name": "First"}})
    assert made["document"]["name"] == "First"
    assert made["document"]["plate"]["outline"]["width_mm"] == 380


def test_saving_undoing_and_redoing(client: FlaskClient) -> None:
    made = add(client)
    at = f"/api/plates/{made['id']}"
    document = {**made["document"], "name": "Renamed"}
    saved = client.put(at, json={"base": made["state"], "document": document, "label": "rename"}).get_json()
    assert saved["can_undo"] == "rename"
    undone = client.post(f"{at}/undo", json={"base": saved["state"]}).get_json()
    assert undone["document"]["name"] == made["document"]["name"]
    redone = client.post(f"{at}/redo", json={"base": undone["state"]}).get_json()
    assert redone["document"]["name"] == "Renamed"


def test_a_conflict_carries_what_the_plate_is_now(client: FlaskClient) -> None:
    made = add(client)
    at = f"/api/plates/{made['id']}"
    theirs = {**made["document"], "name": "Theirs"}
    client.put(at, json={"base": made["state"], "document": theirs, "label": "theirs"})
    answer = client.put(at, json={"base": made["state"], "document": made["document"], "label": "mine"})
    refused(answer, 409, "conflict")
    assert answer.get_json()["document"]["name"] == "Theirs"
    assert answer.get_json()["state"] == made["state"] + 1


def test_a_plate_is_put_away_and_taken_back(client: FlaskClient) -> None:
    made = add(client)
    client.delete(f"/api/plates/{made['id']}")
    assert client.get("/api/plates").get_json()["plates"][0]["deleted"] is True
    client.post(f"/api/plates/{made['id']}/restore")
    assert client.get("/api/plates").get_json()["plates"][0]["deleted"] is False


def test_the_document_is_downloaded_in_the_same_bytes(client: FlaskClient) -> None:
    made = add(client)
    answer = client.get(f"/api/plates/{made['id']}/document.json")
    example = Path(__file__).parents[2] / "examples" / f"{FITS}.json"
    assert answer.data == example.read_bytes()
    assert 'filename="radio-play-studio' in answer.headers["Content-Disposition"]


def test_markup_in_names_stays_text_in_the_drawing(client: FlaskClient) -> None:
    name = "<script>alert(1)</script>"
    board = {"id": "B1", "name": name, "width_mm": 50, "depth_mm": 50}
    answer = client.post("/api/look", json={"document": {**BARE, "boards": [board]}, "want": ["drawing"]})
    svg = answer.get_json()["drawing"]["svg"]
    assert "<script" not in svg
    assert "&lt;script&gt;" in svg


def test_file_names_of_downloads_lead_nowhere_else(client: FlaskClient) -> None:
    made = add(client, {"document": {**BARE, "name": '../../etc/passwd"; x="'}})
    header = client.get(f"/api/plates/{made['id']}/document.json").headers["Content-Disposition"]
    assert header == 'attachment; filename="etc-passwd-x.json"'


def test_every_part_of_the_live_answer(client: FlaskClient) -> None:
    made = add(client)
    want = ["drawing", "findings", "flow", "answers", "seal", "lid", "survey", "snaps"]
    answer = client.post("/api/look", json={"document": made["document"], "want": want}).get_json()
    assert answer["missing"] == {}
    assert answer["drawing"]["svg"].startswith("<svg")
    assert answer["counts"]["error"] == 0
    assert answer["flow"]["operating_point"]["flow_l_min"] > 1
    assert answer["seal"]["cord_length_mm"] > 1000
    assert answer["snaps"]["places"]
    unknown = client.post("/api/look", json={"document": made["document"], "want": ["weather"]}).get_json()
    assert unknown["weather"] is None
    assert "weather" in unknown["missing"]
    saved = client.get(f"/api/plates/{made['id']}/look?want=findings").get_json()
    assert saved["findings"] == answer["findings"]


def test_a_part_that_fails_leaves_the_others_standing(client: FlaskClient, monkeypatch: pytest.MonkeyPatch) -> None:
    def fail(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("sketcher.server.look_routes.design_of", fail)
    document = add(client)["document"]
    answer = client.post("/api/look", json={"document": document, "want": ["seal", "flow", "findings", "drawing"]})
    assert answer.status_code == 200
    found = answer.get_json()
    assert found["seal"] is None
    assert "ZeroDivisionError" in found["missing"]["seal"]
    assert set(found["missing"]) == {"seal"}
    assert found["flow"]["operating_point"]["flow_l_min"] > 1
    assert found["findings"]
    assert found["drawing"]["svg"].startswith("<svg")


def test_a_survey_that_cannot_be_adjusted_leaves_the_drawing(client: FlaskClient) -> None:
    reading = {"id": "R1", "kind": "offset", "points": ["A"], "wall": ["A", "B"], "value": 10}
    document = {**BARE, "survey": {"points": [{"id": "A"}, {"id": "B"}], "readings": [reading]}}
    found = client.post("/api/look", json={"document": document, "want": ["survey", "drawing", "findings"]}).get_json()
    assert found["survey"] is None
    assert "/survey/readings/0" in found["missing"]["survey"]
    assert "survey-unusable" in {finding["rule"] for finding in found["findings"]}
    assert found["drawing"]["svg"].startswith("<svg")


@pytest.mark.parametrize("want", ["findings", [1], {"a": 1}, ["x"] * 30])
def test_a_want_that_is_no_list_of_parts_is_refused(client: FlaskClient, want: Any) -> None:
    refused(client.post("/api/look", json={"document": BARE, "want": want}), 400, "request")


def test_numbers_in_the_query_are_whole(client: FlaskClient) -> None:
    at = f"/api/plates/{add(client)['id']}/export?sheet=test-piece&format=dxf"
    refused(client.get(f"{at}&revision=second"), 400, "request")
    refused(client.get(f"{at}&copies=-3"), 400, "request")
    refused(client.get(f"{at}&revision=7"), 404, "not-found")


def test_a_step_without_a_label_can_be_undone_too(client: FlaskClient) -> None:
    made = add(client)
    body = {"base": made["state"], "document": {**made["document"], "name": "x"}, "label": "  "}
    assert client.put(f"/api/plates/{made['id']}", json=body).get_json()["can_undo"] == "changed"


def test_tables_and_schema_are_to_be_had(client: FlaskClient) -> None:
    tables = client.get("/api/reference").get_json()
    assert {"G1/4"} <= {row["name"] for row in tables["threads"]}
    assert all(rule["reason"] and rule["source"] for rule in tables["rules"])
    assert client.get("/api/schema").get_json()["title"] == "Plate document"
    assert client.get("/api/ping").get_json() == {"here": True}


def test_survey_and_fit_over_http(client: FlaskClient) -> None:
    document = add(client)["document"]
    adjusted = client.post("/api/survey", json={"document": document}).get_json()
    assert adjusted["redundancy"] > 5
    drawn = client.post("/api/survey/apply", json={"document": document}).get_json()["document"]
    assert from_plain(drawn).floor.outline.shape == "polygon"
    readings = "port,dx_mm,dy_mm\n" + "".join(f"P{n},{1.5 if n == 3 else 0},0\n" for n in range(1, 9))
    judged = client.post("/api/fit", json={"document": document, "csv": readings}).get_json()
    assert [move["port"] for move in judged["moves"]] == ["P3"]
    applied = client.post("/api/fit/apply", json={"document": document, "csv": readings, "accept": ["P3"]}).get_json()
    before = next(port for port in document["ports"] if port["id"] == "P3")
    after = next(port for port in applied["document"]["ports"] if port["id"] == "P3")
    assert after["x_mm"] == pytest.approx(before["x_mm"] + 1.5)
    bad = client.post("/api/fit", json={"document": document, "csv": "port,dx_mm,dy_mm\nP99,1,1\n"})
    assert "line 2" in refused(bad, 422, "readings")["message"]


def test_lid_screws_by_rule(client: FlaskClient) -> None:
    document = add(client)["document"]
    bare = {**document, "holes": [hole for hole in document["holes"] if hole.get("use") != "lid"]}
    holes = client.post("/api/screws", json={"document": bare}).get_json()["holes"]
    assert len(holes) > 20
    assert client.post("/api/screws", json={"document": document}).get_json()["holes"] == []


def test_files_of_a_plate(client: FlaskClient) -> None:
    made = add(client)
    at = f"/api/plates/{made['id']}"
    dxf = client.get(f"{at}/export?sheet=test-piece&format=dxf")
    assert dxf.data.startswith(b"  0\nSECTION")
    assert client.get(f"{at}/export?sheet=paper&format=pdf&paper=A3").data.startswith(b"%PDF")
    refused(client.get(f"{at}/export?sheet=cake&format=dxf"), 422, "export")
    refused(client.get(f"{at}/export?sheet=final&format=xyz"), 422, "export")
    sheet = client.get(f"{at}/sheet?sheet=test-piece").get_json()
    assert sheet["width_mm"] > 400


def test_the_hand_off_waits_for_open_errors(client: FlaskClient) -> None:
    made = add(client, SMALL)
    at = f"/api/plates/{made['id']}"
    # A package names its revision: without one it is asked for.
    refused(client.get(f"{at}/handoff"), 409, "not-kept")
    draft = zipfile.ZipFile(BytesIO(client.get(f"{at}/handoff?draft=1&receiver=builder").data))
    assert {"floor-cut.dxf", "assembly.txt", "plate.json"} <= set(draft.namelist())
    assert "DRAFT" in draft.read("README.txt").decode()
    client.post(f"{at}/revisions", json={"label": "A", "kind": "kept"})
    names = zipfile.ZipFile(BytesIO(client.get(f"{at}/handoff").data)).namelist()
    assert {"body-below.dxf", "plate.html", "plate.json"} <= set(names)
    wrong = add(client, {"example": "wrong-on-purpose"})
    refused(client.get(f"/api/plates/{wrong['id']}/handoff"), 409, "open-errors")


def test_revisions_are_kept_with_their_files_fingerprints(client: FlaskClient) -> None:
    made = add(client)
    at = f"/api/plates/{made['id']}/revisions"
    refused(client.post(at, json={"label": " "}), 400, "request")
    refused(client.post(at, json={"label": "x", "kind": "cake"}), 400, "request")
    kept = client.post(at, json={"label": "piece 1", "reason": "to be tried", "kind": "test-piece"})
    assert kept.status_code == 201
    assert len(kept.get_json()["files"]["test-piece.dxf"]) == 64
    refused(client.post(at, json={"label": "Piece 1"}), 409, "label-taken")
    (listed,) = client.get(at).get_json()["revisions"]
    assert listed["label"] == "piece 1"
    whole = client.get(f"{at}/1").get_json()
    assert loads(json.dumps(whole["document"])) == from_plain(made["document"])
    labelled = client.get(f"/api/plates/{made['id']}/export?sheet=test-piece&format=dxf&revision=1")
    assert labelled.data != client.get(f"/api/plates/{made['id']}/export?sheet=test-piece&format=dxf").data


def test_the_files_of_a_revision_come_again_as_they_were_kept(client: FlaskClient) -> None:
    made = add(client, SMALL)
    at = f"/api/plates/{made['id']}"
    kept = client.post(f"{at}/revisions", json={"label": "final 1", "reason": "it fits", "kind": "hand-off"}).get_json()
    client.put(at, json={"base": made["state"], "document": {**made["document"], "name": "Later"}, "label": "rename"})
    pack = zipfile.ZipFile(BytesIO(client.get(f"{at}/handoff?revision={kept['number']}").data))
    assert {name: hashlib.sha256(pack.read(name)).hexdigest() for name in pack.namelist()} == kept["files"]
    assert kept["made"][:10] in pack.read("README.txt").decode()


def test_shop_profiles(client: FlaskClient) -> None:
    assert client.put("/api/shops", json={"name": "Yard", "least_wall_mm": 3}).status_code == 200
    assert client.get("/api/shops").get_json()["shops"][0]["least_wall_mm"] == 3
    refused(client.put("/api/shops", json={"name": ""}), 422, "shop")
    refused(client.put("/api/shops", json={"name": "Yard", "least_wall_mm": -1}), 422, "shop")


def test_a_drawing_that_came_back_is_compared_with_ours(client: FlaskClient) -> None:
    made = add(client)
    at = f"/api/plates/{made['id']}"
    sent = client.get(f"{at}/export?sheet=final&format=dxf").data
    same = client.post(f"{at}/returned?kind=dxf", data=sent, content_type="application/octet-stream").get_json()
    assert same["rows"] == []
    assert same["counts"]["same"] > 100
    refused(client.post(f"{at}/returned?kind=dxf", data=b"no drawing"), 422, "export")
    refused(client.post(f"{at}/returned?kind=cake", data=sent), 400, "request")


def test_a_file_carries_the_state_that_is_shown_or_is_refused(client: FlaskClient) -> None:
    """The page names the state that it shows; another window has changed the plate meanwhile."""
    made = add(client, SMALL)
    at, state = f"/api/plates/{made['id']}", made["state"]
    changed = {**made["document"], "name": "changed elsewhere"}
    files = (
        "document.json?",
        "export?sheet=test-piece&format=dxf&",
        "handoff?draft=1&receiver=builder&",
        "plate.html?",
    )
    for file in files:
        assert client.get(f"{at}/{file}state={state}").status_code == 200, file
    saved = client.put(at, json={"base": state, "document": changed, "label": "elsewhere"}).get_json()
    for file in files:
        refused(client.get(f"{at}/{file}state={state}"), 409, "other-state")
        assert client.get(f"{at}/{file}").status_code == 200, file
    keep = {"label": "one", "kind": "test-piece"}
    refused(client.post(f"{at}/revisions", json={**keep, "state": state}), 409, "other-state")
    assert client.post(f"{at}/revisions", json={**keep, "state": saved["state"]}).status_code == 201
    # A kept revision stays what it is, whatever the plate is by now.
    assert client.get(f"{at}/export?sheet=test-piece&format=dxf&revision=1&state={state}").status_code == 200
    page = client.get(f"{at}/plate.html?state={saved['state']}")
    assert page.mimetype == "text/html"
    assert b"changed elsewhere" in page.data
    assert b"http://" not in page.data.replace(b"http://www.w3.org/", b"")
