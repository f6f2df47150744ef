"""Cords, hardnesses, materials, thicknesses, threads, inserts and places that cannot work: said, never a crash, and no
design that says it works fails a rule. What counts as failing is the rules', which have tests of their own."""

from __future__ import annotations

import itertools
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.document import Document, from_plain, to_plain
from sketcher.geometry import build
from sketcher.reference import materials, screws
from sketcher.strength.screw_design import design_lid
from tests.checks.plates import channel, plate, rectangle

C1 = channel("C1", (100, 150), (200, 150), width_mm=10)
HELD = ("seal-", "screw-", "lid-", "unchecked", "wall-channel-hole", "wall-hole")
#: Of the cord's section over its tolerances, which no design of screws changes.
SECTION = ("seal-squeeze-least", "seal-squeeze-most", "seal-fill")
SCREW = {"kind": "tapped", "screw": "M4", "use": "lid", "face": "bottom", "depth_mm": 21.8}


def judged(parts: dict[str, Any]) -> tuple[bool, list[str], list[str]]:
    """Whether the design says that it works, the errors that it answers for, and all errors."""
    document = plate(**{"channels": [C1], **parts})
    design = design_lid(document, build(document))
    plain = to_plain(document)
    holes = [{"id": f"L{i}", **hole.as_json()} for i, hole in enumerate(design.holes)]
    plain["holes"] = [*plain.get("holes", []), *holes]
    plain["seal"] = {**plain.get("seal", {}), "screw": design.screw, "grooves": design.grooves}
    errors = [f.rule for f in run(from_plain(plain), fixes=False) if f.level == "error"]
    assert not [rule for rule in errors if rule.startswith("unchecked")]
    own = [rule for rule in errors if rule.startswith(HELD) and rule not in SECTION]
    if not design.works:
        assert all(design.problems)
    return design.works, own, errors


def seal(**values: Any) -> dict[str, Any]:
    return {"seal": {"hardness_shore_a": 50, **values}}


def cut(x: float, y: float, width: float, depth: float) -> dict[str, Any]:
    return {"cutouts": [{"id": "K1", "outline": rectangle(x, y, width, depth)}]}


def thick(body: float, lid: float) -> dict[str, Any]:
    return {"plate": {"body_thickness_mm": body, "lid_thickness_mm": lid}, **seal()}


#: Each with whether a plate like that can hold. No: why, by hand or by what the words mean.
CASES = {
    "a cord of nothing": (seal(cord_mm=0.001), False),
    "a cord as thick as the body": (seal(cord_mm=50), False),
    "a cord as thick as a house": (seal(cord_mm=5000), False),
    "a tolerance as large as the cord": (seal(cord_tolerance_mm=2), False),
    "a cord as hard as wood": (seal(hardness_shore_a=95), False),
    "walls wider than the plate": (seal(wall_mm=500), False),
    "no fill": (seal(fill_percent=1), False),
    "a screw that there is not": (seal(screw="X9"), False),
    "no screw": (seal(screw=""), False),
    "a screw too long for its body": (seal(screw="M8"), True),  # 9.7 mm of thread where 16 are asked: a thinner one
    "an insert that bears nothing": (seal(insert_pull_n=0.001), False),
    "an insert that bears all": (seal(insert_pull_n=1e6), True),
    "screws nearly touching": (seal(screw_pitch_mm=0.001), True),
    "screws kilometres apart": (seal(screw_pitch_mm=5000), True),  # closer ones are found
    "a body without a floor": (thick(2, 6), False),
    "a body without thread": (thick(4, 6), False),
    "a lid like foil": (thick(20, 0.1), False),
    "a lid like a block": (thick(20, 100), True),
    "a lid as long as a hall": (thick(20, 5000), False),
    "a glued lid": (seal(kind="bonded"), True),
    "a gasket": (seal(kind="gasket"), True),
    "a plate as small as a coin": ({"plate": {"outline": rectangle(150, 150, 20, 20)}, **seal()}, False),
    "a plate as wide as its channel": ({"plate": {"outline": rectangle(150, 150, 110, 10)}, **seal()}, False),
    "a channel outside": ({"channels": [channel("C1", (10, 10), (40, 10), width_mm=10)], **seal()}, False),
    "a cutout across the groove": ({**cut(150, 160, 20, 10), **seal()}, False),
    "a cutout across the channel": ({**cut(150, 150, 20, 40), **seal()}, False),
    "a lid in two halves": ({**cut(150, 150, 4, 220), **seal()}, False),
    "a screw in the channel": ({"holes": [{"id": "X1", "x_mm": 150, "y_mm": 150, **SCREW}], **seal()}, False),
    "a screw on the groove": ({"holes": [{"id": "X1", "x_mm": 150, "y_mm": 158, **SCREW}], **seal()}, False),
    "a screw outside the plate": ({"holes": [{"id": "X1", "x_mm": 390, "y_mm": 290, **SCREW}], **seal()}, True),
    "one screw that is pinned": ({"holes": [{"id": "X1", "x_mm": 150, "y_mm": 164.2, **SCREW}], **seal()}, True),
    "two grooves that touch": ({"channels": [C1, channel("C2", (100, 163), (200, 163), width_mm=10)], **seal()}, True),
    "nothing to seal": ({"channels": []}, True),
}  # fmt: skip


SLOW = ("a lid like foil",)


@pytest.mark.parametrize("name", [pytest.param(one, marks=pytest.mark.long) if one in SLOW else one for one in CASES])
def test_what_cannot_work_is_said_and_what_is_said_to_work_passes_the_rules(name: str) -> None:
    parts, holds = CASES[name]
    works, own, _ = judged(parts)
    assert works == holds
    if works:
        assert own == []


@pytest.mark.parametrize("material", [*materials.names(), "cheese", ""])
def test_every_material_is_held_to_its_own_figures(material: str) -> None:
    works, own, errors = judged({"plate": {"material": material, "lid_thickness_mm": 10}, **seal()})
    assert works
    assert own == []
    assert errors is not None


def test_an_unknown_material_is_said() -> None:
    document: Document = plate(plate={"material": "cheese"}, channels=[C1])
    assert [f.level for f in run(document, fixes=False) if f.rule == "material-unknown"] == ["warning"]


def swept(names: tuple[str, ...], bodies: tuple[float, ...]) -> list[tuple[str, str, float, float | None]]:
    kinds = ("normal", "short", "thread-milled")
    return list(itertools.product(names, kinds, bodies, (None, 600.0)))


def _no_design_lies(screw: str, run_out: str, body: float, insert: float | None) -> None:
    told = {"plate": {"body_thickness_mm": body}, **seal(screw=screw, run_out=run_out, insert_pull_n=insert)}
    works, own, _ = judged({**told, "channels": [{**C1, "depth_mm": body / 2}]})
    assert not works or own == []


@pytest.mark.parametrize("case", swept(("M3", "M6"), (8, 15))[::5], ids=str)
def test_no_thread_insert_or_sheet_makes_a_design_lie(case: tuple[str, str, float, float | None]) -> None:
    _no_design_lies(*case)


@pytest.mark.long
@pytest.mark.parametrize("case", swept(tuple(screws.names()), (5, 6, 8, 10, 12, 15, 20)), ids=str)
def test_no_thread_with_any_insert_in_any_sheet_makes_a_design_lie(case: tuple[str, str, float, float | None]) -> None:
    _no_design_lies(*case)
