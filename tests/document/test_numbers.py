"""A number in a document is a number of JSON, and a truth is one too: nothing else is taken (RFC 8259, section 3)."""

from __future__ import annotations

import copy
import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sketcher.document import DocumentError, from_plain
from tests.robust.test_documents import ONE_OF_EACH

DEMO = json.loads((Path(__file__).parents[2] / "examples" / "riser-bench.json").read_text("utf-8"))


def leaves(value: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[tuple[Any, ...], Any]]:
    """Every number and truth of a plain document, one for each kind of place."""
    pairs = value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ()
    for key, part in pairs:
        yield from leaves(part, (*path, key))
    if isinstance(value, int | float):
        yield path, value


def changed(plain: dict[str, Any], path: tuple[Any, ...], new: Any) -> dict[str, Any]:
    found = copy.deepcopy(plain)
    part = found
    for key in path[:-1]:
        part = part[key]
    part[path[-1]] = new
    return found


@pytest.mark.parametrize("plain", [ONE_OF_EACH, DEMO], ids=["one of each", "demo"])
def test_nothing_else_stands_for_a_number(plain: dict[str, Any]) -> None:
    seen = set()
    for path, value in leaves(plain):
        kind = tuple(key for key in path if isinstance(key, str))
        if kind in seen or path == ("version",):
            continue
        seen.add(kind)
        pointer = "/" + "/".join(map(str, path))
        for new in (str(value), value is not True, [value]) if not isinstance(value, bool) else ("true", int(value)):
            with pytest.raises(DocumentError) as error:
                from_plain(changed(plain, path, new))
            assert [fault.pointer for fault in error.value.faults] == [pointer], new
            assert "belongs here" in error.value.faults[0].message
    assert len(seen) > 30


def test_a_whole_number_may_be_written_with_its_point() -> None:
    """JSON has one kind of number: 4.0 is 4 (RFC 8259, section 6)."""
    document = from_plain({**ONE_OF_EACH, "drawing": {"quantity": 4.0}, "test_piece": {"tabs": 3.0}})
    assert document.drawing.quantity == 4
    assert isinstance(document.drawing.quantity, int)
    for wrong in (4.5, "4", True):
        with pytest.raises(DocumentError, match="/drawing/quantity"):
            from_plain({**ONE_OF_EACH, "drawing": {"quantity": wrong}})
