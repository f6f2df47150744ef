"""The page's pure modules, tested without the page: each ``tests/page/*.test.js`` runs as a module in Chromium."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route

from tests.browser.conftest import ROOT, Server

pytestmark = pytest.mark.browser

FOLDER = ROOT / "tests" / "page"
FILES = sorted(path.name for path in FOLDER.glob("*.test.js"))


@pytest.fixture(scope="module")
def blank(browser: Browser, server: Server) -> Iterator[Page]:
    """A page of the server's own origin with nothing on it; the tests' files come from the repository."""
    page = browser.new_page()

    def from_disk(route: Route) -> None:
        path = FOLDER / Path(route.request.url).name
        route.fulfill(body=path.read_text(encoding="utf-8"), content_type="text/javascript")

    page.route("**/tests/page/*", from_disk)
    page.goto(f"{server.address}api/ping")
    yield page
    page.close()


@pytest.mark.parametrize("name", FILES)
def test_module(blank: Page, name: str) -> None:
    # The harness keeps its list for the life of a page, so each file gets a copy of its own.
    blank.reload()
    found = blank.evaluate(
        """async (name) => {
            const harness = await import("/tests/page/harness.js");
            await import(`/tests/page/${name}`);
            return harness.results();
        }""",
        name,
    )
    assert found, f"{name} holds no test"
    faults = [f"{entry['name']}: {entry['fault']}" for entry in found if entry["fault"]]
    assert not faults, "\n".join(faults)


def test_every_pure_module_has_its_tests() -> None:
    """``model`` and ``geometry`` touch neither the page nor the network; each of their modules is tested alone."""
    static = ROOT / "static"
    pure = {path for folder in ("model", "geometry") for path in (static / folder).glob("*.js")}
    impure = [
        path.name for path in pure if re.search(r"/dom\.js|\bdocument\.(get|create)|\bfetch\(", path.read_text("utf-8"))
    ]
    assert not impure, "these belong to another folder"
    alone = {
        static / name
        for name in ("store.js", "server/answer.js", "server/live.js", "server/sync.js", "canvas/tools.js")
    }
    tested = "\n".join((FOLDER / name).read_text(encoding="utf-8") for name in FILES)
    missing = {path.name for path in pure | alone if f"/static/{path.relative_to(static).as_posix()}" not in tested}
    assert not missing


def test_the_pages_folders_keep_their_order() -> None:
    """The pure folders import from nothing above them, as the layout in ``docs/page.md`` says."""
    allowed = {
        "geometry": {"model", "geometry"},
        "model": {"model", "geometry"},
        "server": {"server", "model", "geometry"},
    }
    for folder, below in allowed.items():
        for path in (ROOT / "static" / folder).glob("*.js"):
            for target in re.findall(r'from "(\.[^"]+)"', path.read_text("utf-8")):
                found = (path.parent / target).resolve().relative_to(ROOT / "static")
                assert found.parts[0] in below or found.name in ("types.js", "format.js"), f"{path.name}: {target}"
