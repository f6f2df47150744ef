"""The page's pure modules, tested without the page: each ``tests/page/*.test.js`` runs as a module in Chromium."""

from __future__ import annotations

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
    """Modules that touch neither the document object model nor the network are tested alone."""
    pure = {
        path.stem
        for path in (ROOT / "static").glob("*.js")
        if "./dom.js" not in path.read_text(encoding="utf-8")
        and "document.getElementById" not in path.read_text(encoding="utf-8")
    }
    needs_a_page = {"main", "keys", "pointer", "api", "types", "fields", "dom"}
    tested = "\n".join((FOLDER / name).read_text(encoding="utf-8") for name in FILES)
    missing = {name for name in pure - needs_a_page if f"/static/{name}.js" not in tested}
    assert not missing
