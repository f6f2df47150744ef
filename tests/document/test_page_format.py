"""What the page knows of the format is what the schema says."""

from __future__ import annotations

from pathlib import Path

import pytest

from sketcher.server.page_format import DATA, PARTS, TYPES, written

STATIC = Path(__file__).parents[2] / "static"


@pytest.mark.parametrize("name", [DATA, PARTS, TYPES])
def test_the_written_file_is_fresh(name: str) -> None:
    fresh = written()[name] == (STATIC / name).read_text(encoding="utf-8")
    assert fresh, "run: python -m sketcher.server.page_format static"
