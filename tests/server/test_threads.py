"""Several requests at once, as waitress hands them out: the same bytes as one after the other, and no edit lost."""

from __future__ import annotations

import threading
from collections.abc import Callable
from pathlib import Path

import pytest
from flask import Flask

from sketcher.server import create_app

THREADS = 4


@pytest.fixture
def app(tmp_path: Path) -> Flask:
    return create_app(tmp_path)


def at_once(work: Callable[[int], None]) -> None:
    """Runs the work in every thread; what fails in one of them fails here."""
    failed: list[BaseException] = []

    def guarded(number: int) -> None:
        try:
            work(number)
        except BaseException as error:
            failed.append(error)

    threads = [threading.Thread(target=guarded, args=(number,)) for number in range(THREADS)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    if failed:
        raise failed[0]


def test_answers_and_files_are_the_same_at_once_as_in_turn(app: Flask) -> None:
    client = app.test_client()
    plate = client.post("/api/plates", json={"example": "small-board"}).get_json()["id"]
    paths = [
        f"/api/plates/{plate}/{what}"
        for what in (
            "look?want=findings,flow,seal,survey,drawing",
            "export?sheet=test-piece&format=dxf",
            "export?sheet=final&format=pdf",
            "export?sheet=paper&format=svg",
        )
    ]
    in_turn = {path: client.get(path).data for path in paths}

    def ask(number: int) -> None:
        own = app.test_client()
        for path in [*paths[number:], *paths[:number]]:
            assert own.get(path).data == in_turn[path], path

    at_once(ask)


def test_of_edits_at_once_each_is_kept_or_refused(app: Flask) -> None:
    made = app.test_client().post("/api/plates", json={"example": "small-board"}).get_json()
    at = f"/api/plates/{made['id']}"
    kept: list[str] = []

    def edit(number: int) -> None:
        own = app.test_client()
        for turn in range(3):
            now = own.get(at).get_json()
            name = f"edit {turn} of {number}"
            body = {"base": now["state"], "document": {**now["document"], "name": name}, "label": name}
            answer = own.put(at, json=body)
            assert answer.status_code in (200, 409)
            if answer.status_code == 200:
                kept.append(name)
            else:
                assert answer.get_json()["state"] > now["state"]

    at_once(edit)
    client = app.test_client()
    now = client.get(at).get_json()
    found = []
    while now["can_undo"]:
        found.append(now["document"]["name"])
        now = client.post(f"{at}/undo", json={"base": now["state"]}).get_json()
    assert sorted(found) == sorted(kept)
    assert now["document"] == made["document"]
