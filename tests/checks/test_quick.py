"""The quick look finds every error that the whole one finds, but for those that need the seal's design.

Examples with faults put in at random, in places that the issue was about too: the survey, the tubes' courses, the loop
and the air in it. ``--long`` does it for 200 more.
"""

from __future__ import annotations

import copy
import random
from collections.abc import Iterable
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.document import Document, DocumentError, from_plain
from sketcher.findings import home_of, one_by_one
from tests.checks.plates import channel, plate, rectangle
from tests.server.test_remembered import EXAMPLES, LISTS, edited

#: What first designs groove, screws or lid: docs/checks.md says so.
DESIGNED = {f"sketcher.checks.{name}" for name in ("hold_seal", "hold_screws", "hold_lid", "hold_sheet", "hold_webs")}


Errors = set[tuple[str, frozenset[str]]]


def errors(document: Document, quick: bool) -> tuple[Errors, Errors]:
    """What needs no design, and what needs one."""
    found = [f for f in one_by_one(run(document, quick=quick, fixes=False)) if f.level == "error"]
    keys = {(f.rule, frozenset(f.items)): home_of(f.rule) in DESIGNED for f in found}
    return {key for key, designed in keys.items() if not designed}, {key for key, one in keys.items() if one}


def _told_better(key: tuple[str, frozenset[str]], designed: Errors) -> bool:
    """Whether the groove, once it is designed, tells of the same spot and asks for more; or of a lid screw's floor."""
    floor = key[0] == "depth-under-hole"
    return any(
        key[1] & items for rule, items in designed if rule.startswith("seal-") or (floor and rule == "screw-floor")
    )


def _survey(plain: dict[str, Any], rng: random.Random) -> None:
    """A triangle that closes, one that cannot, and a reading along a wall that says nothing where it begins."""
    plain["survey"] = {
        "points": [{"id": name} for name in "ABC"],
        "readings": [{"id": "m1", "points": ["A", "B"], "value": 100}, {"id": "m2", "points": ["A", "C"], "value": 60},
                     {"id": "m3", "points": ["B", "C"], "value": rng.choice([80, 20, 400])},
                     {"id": "m4", "kind": "along", "points": [rng.choice("AC")], "wall": ["A", "B"], "value": 9}],
    }  # fmt: skip


def _tube(plain: dict[str, Any], rng: random.Random) -> None:
    """A tube from a block to another, laid wherever chance has it."""
    plain.setdefault("devices", []).extend(
        {"id": f"X{n}", "kind": "block", "x_mm": rng.uniform(0, 300), "y_mm": rng.uniform(0, 200),
         "z_mm": rng.uniform(10, 120), "ports": [{"id": "a"}]} for n in (1, 2)
    )  # fmt: skip
    corner = {"x_mm": rng.uniform(-50, 400), "y_mm": rng.uniform(-50, 300), "z_mm": rng.uniform(-20, 200)}
    plain.setdefault("loop", {})["tubes"] = [
        {"id": "X3", "start": "X1.a", "end": "X2.a", "size": "acrylic 14/10", "points": [corner]}
    ]


def _loop(plain: dict[str, Any], rng: random.Random) -> None:
    """No pump, or one whose ports are changed over or missing."""
    pumps = [device for device in plain.get("devices", []) if device["kind"] == "pump"]
    if pumps and rng.random() < 0.5:
        pumps[0]["kind"] = "block"
    elif pumps:
        pumps[0]["curve"] = []


FAULTS = (_survey, _tube, _loop)


def faulty(seed: int) -> Document | None:
    """An example with some faults; none where they make no valid document."""
    rng = random.Random(seed)
    plain = copy.deepcopy(EXAMPLES[seed % len(EXAMPLES)])
    plain.setdefault("seal", {})["screws_by_rule"] = False
    for _ in range(rng.randint(1, 4)):
        kind = rng.choice(["number", "number", "drop", "plate", "end", "loop"])
        plain = edited(plain, (kind, rng.choice(LISTS), rng.randrange(999), rng.randrange(999), rng.uniform(0.5, 60)))
    rng.choice(FAULTS)(plain, rng)
    try:
        return from_plain(plain)
    except DocumentError:
        return None


def differences(seeds: Iterable[int]) -> tuple[int, list[str]]:
    looked, wrong = 0, []
    for seed in seeds:
        document = faulty(seed)
        if document is None:
            continue
        looked += 1
        quick, (whole, designed) = errors(document, True)[0], errors(document, False)
        if whole - quick or not all(_told_better(key, designed) for key in quick - whole):
            wrong.append(f"seed {seed}: only quick {quick - whole}, only whole {whole - quick}")
    return looked, wrong


def test_a_quick_look_finds_every_error_that_needs_no_seal() -> None:
    looked, wrong = differences((2, 4, 5, 10))
    assert looked == 4
    assert wrong == []


@pytest.mark.long
def test_quick_looks_of_200_plates() -> None:
    looked, wrong = differences(range(260))
    assert looked >= 200
    assert wrong == []


def test_a_quick_look_tells_tubes_survey_and_loop_too() -> None:
    """A tube through the plate, readings that fit no triangle, and a loop without a pump: each is told at once."""
    sides = [{"id": "in", "heading": "u-"}, {"id": "out", "heading": "u+"}]
    devices = [
        {"id": f"D{n}", "kind": "block", "x_mm": x, "y_mm": 150, "z_mm": 5, "outline": rectangle(0, 0, 20, 20),
         "height_mm": 20, "ports": sides} for n, x in ((1, 20), (2, 380))
    ]  # fmt: skip
    document = plate(
        ports=[{"id": "P1", "x_mm": 100, "y_mm": 100, "serves": "D1.in"},
               {"id": "P2", "x_mm": 200, "y_mm": 100, "serves": "D2.out"}],
        channels=[channel("C1", start="P1", end="P2")], devices=devices,
        loop={"tubes": [{"id": "T1", "start": "D1.out", "end": "D2.in", "size": "acrylic 14/10",
                         "points": [{"x_mm": 200, "y_mm": 150, "z_mm": 12}]}]},
    )  # fmt: skip
    found = {f.rule for f in run(document, quick=True, fixes=False)}
    assert {"tube-clearance", "no-pump"} <= found
