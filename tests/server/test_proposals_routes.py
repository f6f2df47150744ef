"""Searches over HTTP: begun, watched, cancelled; and none outlives the server."""

import time
from pathlib import Path

import pytest
from flask.testing import FlaskClient

from sketcher.document import from_plain, to_plain
from sketcher.proposing.judging import judge
from sketcher.server import create_app
from tests.proposing.test_proposals import square_of_ports


@pytest.fixture
def client(tmp_path: Path) -> FlaskClient:
    return create_app(tmp_path).test_client()


def waited(client: FlaskClient, search: str, until: str) -> dict:
    for _ in range(600):
        answer = client.get(f"/api/proposals/{search}").get_json()
        if answer["state"] == until:
            return answer
        assert answer["state"] == "running", answer
        time.sleep(0.1)
    raise AssertionError("the search did not end")


def test_a_search_ends_with_documents_that_pass_the_rules(client: FlaskClient) -> None:
    document = to_plain(square_of_ports([["P1", "P3"], ["P2", "P4"]]))
    wishes = {"style": "square", "width_mm": 8.0, "seconds": 30.0}
    begun = client.post("/api/proposals", json={"document": document, **wishes})
    assert begun.status_code == 202
    answer = waited(client, begun.get_json()["search"], "done")["answer"]
    best = answer["alternatives"][0]
    assert best["good"]
    assert answer["connected"] == [["P1", "P3"], ["P2", "P4"]]
    judged = judge(from_plain(best["document"]))
    assert not judged.unconnected
    assert not judged.errors


def test_a_search_can_be_cancelled_and_a_third_is_refused(client: FlaskClient) -> None:
    document = to_plain(square_of_ports([["P1", "P2"], ["P3", "P4"]]))
    body = {"document": document, "seconds": 600.0}
    one, two = (client.post("/api/proposals", json=body).get_json()["search"] for _ in range(2))
    refused = client.post("/api/proposals", json=body)
    assert refused.status_code == 429
    assert "cancel" in refused.get_json()["error"]["message"]
    for search in (one, two):
        assert client.delete(f"/api/proposals/{search}").get_json()["state"] == "cancelled"
    for search in (one, two):
        process = client.application.extensions["searches"].get(search).process
        assert process.wait(timeout=10) is not None


def test_nothing_to_join_is_said_and_no_search_is_begun(client: FlaskClient) -> None:
    refused = client.post("/api/proposals", json={"document": to_plain(square_of_ports([]))})
    assert refused.status_code == 422
    assert refused.get_json()["error"]["code"] == "nothing-open"
    assert client.get("/api/proposals/nobody").status_code == 404
