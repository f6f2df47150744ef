"""What is remembered changes no answer: after any edits it is what a program without any memory says."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sketcher.document import DocumentError, from_plain
from sketcher.document.remembered import Remembered, forget_all
from sketcher.server.look_routes import answer
from tests.server.test_dragging import differing

EXAMPLES = [
    json.loads(path.read_text("utf-8")) for path in sorted((Path(__file__).parents[2] / "examples").glob("*.json"))
]
#: Lists of items, and the part of each that an edit may move.
LISTS = ("ports", "channels", "holes", "cutouts", "pockets", "keep_outs", "branches", "boards", "devices")
PARTS = ["findings", "flow", "snaps", "drawing"]
LIMITS = ["bore-meets", "bore-through", "port-opening", "wall-port-hole", "wall-channel-cutout", "air-lying",
          "spanner-room", "laser-web", "wall-port-edge"]  # fmt: skip
figures = st.one_of(st.floats(0.5, 40).map(lambda x: round(x, 2)), st.sampled_from([1, 2, 5, 10, 12]))


@st.composite
def edits(draw: st.DrawFn) -> tuple[Any, ...]:
    """One edit: to an item's number, to the order or number of items, to plate, loop, shop, limit, a channel's end."""
    kinds = ["number", "number", "number", "swap", "drop", "plate", "limit", "back", "shop", "loop", "end"]
    kind = draw(st.sampled_from(kinds))
    return (kind, draw(st.sampled_from(LISTS)), draw(st.integers(0, 999)), draw(st.integers(0, 999)), draw(figures))


def _numbers(part: Any, found: list[tuple[Any, Any]]) -> list[tuple[Any, Any]]:
    """Every number in a part of a document, as holder and key."""
    pairs = part.items() if isinstance(part, dict) else enumerate(part) if isinstance(part, list) else ()
    for key, value in pairs:
        if isinstance(value, float | int) and not isinstance(value, bool):
            found.append((part, key))
        else:
            _numbers(value, found)
    return found


def edited(plain: dict[str, Any], edit: tuple[Any, ...]) -> dict[str, Any]:
    """The document after an edit; it need not be valid."""
    kind, name, first, second, figure = edit
    plain = copy.deepcopy(plain)
    items = plain.get(name) or []
    if kind == "plate":
        plate = plain["plate"]
        plate[["body_thickness_mm", "lid_thickness_mm"][first % 2]] = figure
        plate["lid_face"] = ["top", "bottom"][second % 2]
    elif kind == "limit":
        plain.setdefault("limits", {})[LIMITS[first % len(LIMITS)]] = figure
    elif kind == "shop":
        plain.setdefault("shop", {})["cutter_diameters_mm"] = [figure, figure + 3]
    elif kind == "loop":
        loop = plain.setdefault("loop", {})
        loop[["room_c", "water_limit_c", "fitting_straight_mm"][first % 3]] = figure + 20
    elif kind == "end" and plain.get("channels") and plain.get("ports"):
        channel = plain["channels"][first % len(plain["channels"])]
        channel["end"] = plain["ports"][second % len(plain["ports"])]["id"]
    elif items and kind == "swap":
        items.append(items.pop(first % len(items)))
    elif items and kind == "drop":
        items.pop(first % len(items))
    elif items and kind == "number" and (numbers := _numbers(items[first % len(items)], [])):
        holder, key = numbers[second % len(numbers)]
        holder[key] = figure
    return plain


def _said(plain: dict[str, Any], quick: bool) -> Any:
    try:
        return answer(from_plain(copy.deepcopy(plain)), PARTS, quick=quick)
    except DocumentError as error:
        return str(error)


def _after(example: int, steps: list[tuple[Any, ...]], quick: bool) -> None:
    states = [EXAMPLES[example % len(EXAMPLES)]]
    said = []
    for step in steps:
        following = states[-2] if step[0] == "back" and len(states) > 1 else edited(states[-1], step)
        said.append((following, _said(following, quick)))
        if not isinstance(said[-1][1], str):
            states.append(following)
    # The last one from nothing; those before it had what was remembered of them.
    forget_all()
    for plain, before in said[-2:]:
        assert differing(_said(plain, quick), before) == []


@given(st.integers(0, 2), st.lists(edits(), min_size=2, max_size=4))
@settings(max_examples=7, suppress_health_check=list(HealthCheck))
def test_a_remembered_answer_is_the_full_answer(example: int, steps: list[tuple[Any, ...]]) -> None:
    _after(example, steps, quick=True)


@pytest.mark.long
@pytest.mark.parametrize("quick", [True, False])
def test_remembered_answers_over_many_edits(quick: bool) -> None:
    @given(st.integers(0, 2), st.lists(edits(), min_size=2, max_size=8))
    @settings(max_examples=500, suppress_health_check=list(HealthCheck))
    def many(example: int, steps: list[tuple[Any, ...]]) -> None:
        _after(example, steps, quick)

    many()


@pytest.mark.parametrize("key", ["thread_depth_mm", "locked", "name"])
def test_what_is_known_is_not_taken_for_something_equal(key: str) -> None:
    """JSON tells 1, 1.0, true and "1" apart (RFC 8259, section 3); Python finds the first three equal."""
    plain = copy.deepcopy(EXAMPLES[0])
    for value in (1, 1.0, True, "1", None, [1], {"x": 1}):
        plain["ports"][0][key] = value
        remembered, alone = [], []
        for found in (remembered, remembered, alone):
            if found is alone:
                forget_all()
            try:
                found.append(repr(from_plain(copy.deepcopy(plain)).ports[0]))
            except DocumentError as error:
                found.append(str(error))
        assert remembered == alone * 2


def test_an_item_is_known_by_its_content_and_not_by_its_place() -> None:
    plain = copy.deepcopy(EXAMPLES[0])
    before = from_plain(plain)
    plain["ports"].reverse()
    assert all(one is other for one, other in zip(reversed(before.ports), from_plain(plain).ports, strict=True))


def test_a_memory_holds_no_more_than_two_generations_and_works_each_out_once() -> None:
    memory, made = Remembered[int](most=10), []
    parts = [(object(),) for _ in range(50)]

    def work(n: int) -> int:
        made.append(n)
        return n

    for n in range(50):
        assert memory.of(parts[n], "x", lambda n=n: work(n)) == n
        assert memory.of(parts[n], "x", lambda n=n: work(n)) == n
        assert memory.of(parts[0], "x", lambda: work(0)) == 0  # what is asked for again stays
        assert len(memory._young) + len(memory._old) <= 20
    assert made == list(range(50))
    assert memory.all([(parts[0], "x"), (parts[1], "x"), (parts[49], "y")], lambda new: [work(-n) for n in new]) == [
        0,
        -1,
        -2,
    ]
