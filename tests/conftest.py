"""What every test shares: the flags for long statistics and for benchmarks, and one Chromium."""

from __future__ import annotations

import os
import random
import sys
from collections.abc import Generator, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest
from flask import Flask
from flask.testing import FlaskClient
from hypothesis import settings

import sketcher  # noqa: F401  (first, before anything imports numpy: it says with how many threads)

if TYPE_CHECKING:
    from playwright.sync_api import Browser

# Each process that a test starts would otherwise compile the program once more.
os.environ.pop("PYTHONDONTWRITEBYTECODE", None)
sys.dont_write_bytecode = False

BENCHMARKS = Path(__file__).parent / "bench"

# Time is measured in tests/bench alone, and a busy machine is no fault. CI tries the same examples each time, so that
# what it says of a change is said of that change; everyone else's run looks for new ones. With ``--long`` each property
# is tried on far more of them.
settings.register_profile("everyday", deadline=None, max_examples=50)
settings.register_profile("long", deadline=None, max_examples=400)
settings.register_profile("ci", deadline=None, max_examples=50, derandomize=True)
settings.register_profile("mutation", deadline=None, derandomize=True, max_examples=30, database=None)
settings.load_profile("ci" if os.environ.get("CI") else "everyday")


def a_seed() -> int:
    """For what is tried at random in every run: another one each time, but in CI the same."""
    return 1 if os.environ.get("CI") else random.randrange(2**32)


class Known(FlaskClient):
    """A test's client is whoever started the program; ``FlaskClient`` itself is anybody else on the machine."""

    def __init__(self, *args: Any, **named: Any) -> None:
        super().__init__(*args, **named)
        keys = self.application.extensions.get("keys")
        if keys is not None:
            self.environ_base["HTTP_AUTHORIZATION"] = f"Bearer {keys.token}"


Flask.test_client_class = Known


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="also run the statistics that take minutes")
    parser.addoption(
        "--fuzz", type=int, default=1000, help="how many changed documents, requests and files each, with --long"
    )
    parser.addoption("--bench", action="store_true", help="also run the ratio benchmarks, which want a quiet machine")


def pytest_configure(config: pytest.Config) -> None:
    if config.getoption("--long"):
        settings.load_profile("long")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if not config.getoption("--long"):
        skip = pytest.mark.skip(reason="long statistics: run with --long")
        for item in items:
            if "long" in item.keywords:
                item.add_marker(skip)
    if not config.getoption("--bench"):
        skip = pytest.mark.skip(reason="a benchmark: run with --bench, alone")
        for item in items:
            if item.path.parent == BENCHMARKS:
                item.add_marker(skip)


@pytest.hookimpl(wrapper=True)
def pytest_report_to_serializable(report: object) -> Generator[None, dict[str, Any] | None, dict[str, Any] | None]:
    """Half of a character in a report would end the whole run between two processes: it is sent written out."""
    data = yield
    return None if data is None else _written_out(data)


def _written_out(value: Any) -> Any:
    if isinstance(value, str):
        return value.encode("utf-8", "backslashreplace").decode()
    if isinstance(value, dict):
        return {_written_out(key): _written_out(inner) for key, inner in value.items()}
    return type(value)(map(_written_out, value)) if type(value) in (list, tuple) else value


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """One Chromium for all tests: Playwright runs once in a thread. Without Chromium the test skips; in CI it fails."""
    from playwright.sync_api import sync_playwright

    from tests.browser.conftest import ARGUMENTS, chromium_path

    path = chromium_path()
    with sync_playwright() as playwright:
        opened = playwright.chromium.launch(executable_path=path, args=ARGUMENTS)
        yield opened
        opened.close()
