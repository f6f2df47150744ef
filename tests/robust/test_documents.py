"""Refused or drawn: a document that is taken has every part of its answer and every file, or a refusal in words.

Everyday a few, another few each time; ``--long --fuzz N`` tries N in all, in equal shares of four documents and of
``PIECES`` pieces, each a test of its own. A fault names its seed and number.
"""

from __future__ import annotations

import json
import random
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest

from sketcher.document import Document, DocumentError, dumps, from_plain, loads
from sketcher.export import ExportError, export_sheet, names
from sketcher.geometry import build
from sketcher.server.look_routes import DRAWING, PARTS, answer
from tests.conftest import a_seed
from tests.document.test_files import BARE
from tests.document.test_strict_json import polygon
from tests.robust.mutating import mutated

EXAMPLES = Path(__file__).parents[2] / "examples"
#: One of each kind that is machined, over a bare floor: an answer takes a tenth of what the examples' take.
ONE_OF_EACH: dict[str, Any] = {
    **BARE,
    "ports": [{"id": "P1", "x_mm": 140, "y_mm": 130}, {"id": "P2", "x_mm": 260, "y_mm": 170, "face": "bottom"}],
    "branches": [{"id": "B1", "x_mm": 200, "y_mm": 160}],
    "channels": [
        {"id": "C1", "start": "P1", "end": "B1", "points": [{"x_mm": 170, "y_mm": 130}], "width_mm": 8, "depth_mm": 8},
        {"id": "C2", "start": "B1", "end": "P2", "width_mm": 8, "depth_mm": 8},
    ],
    "cutouts": [
        {"id": "K1", "outline": {"shape": "slot", "x_mm": 130, "y_mm": 180, "length_mm": 20, "width_mm": 6}},
        {"id": "K2", "outline": {"shape": "polygon", "vertices": [
            {"x_mm": 240, "y_mm": 115}, {"x_mm": 270, "y_mm": 115, "bulge": 0.4}, {"x_mm": 270, "y_mm": 130},
            {"x_mm": 240, "y_mm": 130, "corner_radius_mm": 3}]}},
    ],
    "pockets": [{"id": "F1", "outline": {"shape": "rectangle", "x_mm": 220, "y_mm": 185, "width_mm": 30, "depth_mm": 10,
                                         "corner_radius_mm": 3}, "depth_mm": 3}],
    "holes": [{"id": "H1", "x_mm": 110, "y_mm": 110}, {"id": "H2", "x_mm": 290, "y_mm": 110, "kind": "tapped",
                                                       "depth_mm": 8, "use": "other"}],
    "keep_outs": [{"id": "N1", "outline": {"shape": "circle", "x_mm": 290, "y_mm": 190, "diameter_mm": 8}}],
    "devices": [{"id": "D1", "kind": "pump", "x_mm": 20, "y_mm": 20, "height_mm": 40,
                 "ports": [{"id": "out"}, {"id": "in"}],
                 "outline": {"shape": "rectangle", "x_mm": 0, "y_mm": 0, "width_mm": 30, "depth_mm": 30},
                 "curve": [{"flow_l_min": 0, "pressure_kpa": 30}, {"flow_l_min": 9, "pressure_kpa": 0}]}],
    "boards": [{"id": "M1", "x_mm": 300, "y_mm": 250, "width_mm": 60, "depth_mm": 30}],
    "survey": {"points": [{"id": "A"}, {"id": "E"}], "origin": "A", "along_x": "E",
               "readings": [{"id": "R1", "points": ["A", "E"], "value": 400}]},
    "groups": [{"id": "G1", "members": ["P1", "H1"]}],
    "limits": {"wall-channel-channel": 3},
}  # fmt: skip


#: Fixes are tried in every sixth answer: each runs all rules again, and that is nine tenths of the time.
FIXES_OF = 6


def hold(document: Document, sheets: Sequence[str], fixes: bool = True) -> list[str]:
    """What is wrong with the answer about a document that was taken, and with these sheets; empty when nothing is."""
    wrong = []
    if dumps(loads(dumps(document))) != dumps(document):
        wrong.append("it is not read back as it was written")
    found = answer(document, [*PARTS, DRAWING], fixes=fixes)
    json.dumps(found, allow_nan=False)
    wrong += [f"{part}: {why}" for part, why in found["missing"].items() if "program failed" in why]
    wrong += [f["message"] for f in found.get("findings") or () if f["rule"].startswith("unchecked-")]
    shapes = build(document)
    for name in sheets:
        try:
            export_sheet(document, shapes, name, "dxf")
        except ExportError as error:
            wrong += [] if len(str(error).split()) > 3 else [f"the refusal of {name} says little: {error}"]
    return wrong


def try_documents(plain: dict[str, Any], count: int, seed: int) -> int:
    """Tries so many changes of a document, with one sheet of each in turn; gives how many of them were documents."""
    rng = random.Random(seed)
    taken, kinds = 0, list(names())
    for number in range(count):
        changed = mutated(plain, rng)
        where = f"seed {seed}, number {number}: {json.dumps(changed)}"
        try:
            document = from_plain(changed)
        except DocumentError as error:
            bare = [fault.message for fault in error.faults if len(fault.message.split()) < 3]
            if bare:
                pytest.fail(f"{bare}; {where}")
            continue
        taken += 1
        try:
            wrong = hold(document, [kinds[taken % len(kinds)]], fixes=taken % FIXES_OF == 0)
        except Exception as error:
            raise AssertionError(f"{type(error).__name__}: {error}; {where}") from error
        assert wrong == [], where
    return taken


def test_a_few_changed_documents_are_refused_or_drawn() -> None:
    assert hold(from_plain(ONE_OF_EACH), []) == []
    try_documents(ONE_OF_EACH, 14, a_seed())


@pytest.mark.parametrize("fixes", [False, pytest.param(True, marks=pytest.mark.long)])
def test_what_is_barely_there_is_drawn_all_at_once(fixes: bool) -> None:
    """Sizes at the smallest that is taken, items in one place, corners closer than anything can be made."""
    tiny = 0.001
    one = {"x_mm": 150, "y_mm": 150}
    barely = {
        **BARE,
        "ports": [{"id": "P1", **one}, {"id": "P2", **one},
                  {"id": "P3", "x_mm": 220, "y_mm": 150, "fitting_diameter_mm": tiny,
                  "thread_depth_mm": tiny, "bore_diameter_mm": tiny}],
        "channels": [
            {"id": "C1", "start": "P1", "end": "P2", "width_mm": tiny, "depth_mm": tiny},
            {"id": "C2", "points": [one, one, one], "width_mm": 8, "depth_mm": 8},
            {"id": "C3", "points": [one, {"x_mm": 150.0000001, "y_mm": 150}], "width_mm": 8, "depth_mm": 8},
            {"id": "C4", "points": [{"x_mm": 160, "y_mm": 120}, {"x_mm": 200, "y_mm": 120}, {"x_mm": 160, "y_mm": 120}],
             "width_mm": 8, "depth_mm": 8, "bend_radius_mm": 1e-300},
            {"id": "C5", "start": "P3", "end": "P3", "points": [{"x_mm": 230, "y_mm": 150}, {"x_mm": 230, "y_mm": 160}],
             "width_mm": 5000, "depth_mm": 5000},
        ],
        "cutouts": [
            {"id": "K1", "outline": {"shape": "circle", **one, "diameter_mm": tiny}},
            {"id": "K2", "outline": {"shape": "slot", **one, "length_mm": tiny, "width_mm": tiny}},
            {"id": "K3", "outline": {"shape": "rectangle", **one, "width_mm": tiny, "depth_mm": 5000,
                                     "turn_deg": 1e-9}},
            {"id": "K4", "outline": polygon((120, 120), (120, 120), (120.0000001, 120), (130, 120), (130, 130))},
            {"id": "K5", "outline": polygon((140, 120), (150, 130), (150, 120), (140, 130))},
            {"id": "K6", "outline": polygon((160, 180, 10), (170, 180, 1e-9), (170, 190, -10))},
            {"id": "K7", "outline": polygon((180, 180), (190, 180), (200, 180), (190, 180), (190, 190))},
        ],
        "pockets": [{"id": "F1", "depth_mm": 5000, "outline": {"shape": "circle", **one, "diameter_mm": 5000}}],
        "holes": [{"id": "H1", **one, "diameter_mm": tiny},
                  {"id": "H2", **one, "slot_length_mm": 5000, "diameter_mm": tiny},
                  {"id": "H3", **one, "kind": "tapped", "depth_mm": tiny, "use": "lid"}],
        "keep_outs": [{"id": "N1", "outline": {"shape": "circle", **one, "diameter_mm": tiny}}],
    }  # fmt: skip
    assert hold(from_plain(barely), list(names()), fixes) == []


BASES = ("one of each", "small-board", "riser-bench", "wrong-on-purpose")
#: So that no piece of 10,000 takes longer than a few minutes.
PIECES = 4


@pytest.mark.long
@pytest.mark.parametrize("piece", range(1, PIECES + 1))
@pytest.mark.parametrize("name", BASES)
def test_many_changed_documents_are_refused_or_drawn(
    name: str, piece: int, request: pytest.FixtureRequest, capsys: pytest.CaptureFixture[str]
) -> None:
    plain = ONE_OF_EACH if name == "one of each" else json.loads((EXAMPLES / f"{name}.json").read_text("utf-8"))
    count = max(request.config.getoption("--fuzz") // (len(BASES) * PIECES), 1)
    taken = try_documents(plain, count, piece)
    with capsys.disabled():
        print(f"\n{name}, piece {piece}: {count} changes, {taken} taken")
    assert taken > 0 or count < 100
