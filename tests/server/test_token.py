"""Who does not have the token gets nothing: every route and file, in plain words. Cookies as RFC 6265bis has them."""

from __future__ import annotations

import os
import stat
import time
from collections import defaultdict
from pathlib import Path
from typing import Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from werkzeug.test import TestResponse

from sketcher.server import create_app, guard, openapi
from sketcher.server.guard import cookie_name
from sketcher.store.token import token_of


@pytest.fixture
def app(tmp_path: Path) -> Flask:
    return create_app(tmp_path)


class Stranger(FlaskClient):
    """Another user of the machine: without the header that the tests' own client sends. Files are read to their end."""

    def open(self, *args: Any, **named: Any) -> TestResponse:
        return super().open(*args, buffered=True, **named)


@pytest.fixture
def stranger(app: Flask) -> FlaskClient:
    return Stranger(app, app.response_class)


def test_every_route_and_every_file_of_the_page_refuses_a_stranger(app: Flask, stranger: FlaskClient) -> None:
    app.test_client().post("/api/plates", json={"example": "small-board"})
    paths = [(path, method) for _, path, method in openapi.routes(app)]
    paths += [("/static/main.js", "GET"), ("/static/mark.svg", "GET"), ("/nowhere", "GET"), ("/", "GET"), ("/", "HEAD")]
    for path, method in paths:
        for cookie in (None, "wrong", ""):
            for bearer in (None, "Bearer wrong", "Basic eDp5", "Bearer", "Bearer \u00e9"):
                headers = {} if bearer is None else {"Authorization": bearer}
                if cookie is not None:
                    headers["Cookie"] = f"{cookie_name('localhost')}={cookie}"
                named = path.format_map(defaultdict(lambda: "1"))
                answer = stranger.open(named, method=method, headers=headers)
                assert answer.status_code == 403, path
                assert "Set-Cookie" not in answer.headers
    answer = stranger.get("/api/plates")
    assert answer.get_json()["error"]["code"] == "token"
    assert "the whole address that the program printed" in answer.get_json()["error"]["message"]
    page = stranger.get("/?token=wrong")
    assert (page.status_code, page.mimetype) == (403, "text/html")
    assert "start plate-sketcher again" in page.get_data(as_text=True)


def test_the_address_opens_the_page_and_leaves_a_cookie_that_no_script_and_no_other_site_gets(app, stranger) -> None:
    token = app.extensions["keys"].token
    answer = stranger.get(f"/?token={token}")
    assert answer.status_code == 200
    assert answer.headers["Cache-Control"] == "no-store"
    (cookie,) = answer.headers.getlist("Set-Cookie")
    for part in ("HttpOnly", "SameSite=Strict", "Path=/"):
        assert part in cookie
    assert "Domain" not in cookie
    for path in ("/", "/static/main.js", "/api/plates"):
        answer = stranger.get(path)
        assert answer.status_code == 200
        assert answer.headers["Cross-Origin-Opener-Policy"] == "same-origin"
        assert "Set-Cookie" not in answer.headers
    # In another place than the page's address it opens nothing.
    assert Stranger(app, app.response_class).get(f"/api/plates?token={token}").status_code == 403


def test_what_the_browser_is_started_with_is_good_once_and_not_for_long(app, monkeypatch: pytest.MonkeyPatch) -> None:
    keys = app.extensions["keys"]
    key = keys.once()
    assert key != keys.token
    first, second = (Stranger(app, app.response_class) for _ in range(2))
    assert first.get(f"/?token={key}").status_code == 200
    assert second.get(f"/?token={key}").status_code == 403
    assert first.get("/api/plates").status_code == 200
    late = keys.once()
    now = time.monotonic()
    monkeypatch.setattr(guard.time, "monotonic", lambda: now + guard.ONCE_S + 1)
    assert second.get(f"/?token={late}").status_code == 403


def test_servers_beside_each_other_do_not_take_each_others_cookies() -> None:
    assert cookie_name("localhost:8765") != cookie_name("localhost:8766")
    assert cookie_name("[::1]:8765") == cookie_name("127.0.0.1:8765")


def test_the_token_outlives_the_program_and_is_for_its_owner_alone(tmp_path: Path) -> None:
    first = token_of(tmp_path)
    assert len(first) >= 32
    assert token_of(tmp_path) == first
    path = tmp_path / "token"
    if os.name != "nt":
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        # One that others could read, a link, or rubbish is not used again.
        path.chmod(0o644)
        second = token_of(tmp_path)
        assert second != first
        path.unlink()
        (tmp_path / "theirs").write_text(first)
        path.symlink_to(tmp_path / "theirs")
        assert token_of(tmp_path) not in (first, second)
        assert not path.is_symlink()
    path.write_text("short")
    assert len(token_of(tmp_path)) >= 32
