"""What every test shares: the flag for long statistics."""

import pytest


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--long", action="store_true", help="also run the statistics that take minutes")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    if config.getoption("--long"):
        return
    skip = pytest.mark.skip(reason="long statistics: run with --long")
    for item in items:
        if "long" in item.keywords:
            item.add_marker(skip)
