"""``docs/holds.md`` does not go stale: every number of the JSON has its line, every constant its value."""

import importlib
import re
from pathlib import Path

import pytest

from sketcher.document import from_plain, read, to_plain
from sketcher.geometry import build
from sketcher.strength.lid import lid_report
from sketcher.strength.lid_screws import place_screws
from sketcher.strength.seal import design_seal

ROOT = Path(__file__).parents[2]
TEXT = (ROOT / "docs" / "holds.md").read_text(encoding="utf-8")
CONSTANTS = re.findall(r"^\| `([A-Z_]+)` \| ([\d.]+) \| `([a-z_.]+)` \|$", TEXT, re.M)


def test_there_are_constants() -> None:
    assert len(CONSTANTS) > 15


@pytest.mark.parametrize(("name", "value", "module"), CONSTANTS)
def test_a_constant_is_the_codes(name: str, value: str, module: str) -> None:
    assert getattr(importlib.import_module(f"sketcher.{module}"), name) == float(value)


#: Numbers that are given by the document, or say only where something is.
GIVEN = {
    "cord_mm", "cord_tolerance_mm", "depth_tolerance_mm", "width_tolerance_mm", "low_mm", "high_mm", "nominal",
    "pressure_kpa", "thickness_mm", "joint_straight_mm", "least", "most", "design_stress_mpa", "modulus_mpa",
    "long_span_mm", "widest_gap_mm",
}  # fmt: skip


def _numbers(node: object, key: str = "") -> set[str]:
    if isinstance(node, dict):
        return set().union(*(_numbers(value, name) for name, value in node.items()), set())
    if isinstance(node, list):
        return set().union(*(_numbers(value, key) for value in node), set())
    return {key} if isinstance(node, int | float) and not isinstance(node, bool) else set()


def test_every_number_of_the_demo_has_a_line() -> None:
    document = read(ROOT / "examples" / "riser-bench.json")
    plain = to_plain(document)
    proposed = place_screws(document, build(document))
    plain["holes"] = [*plain.get("holes", []), *({"id": f"L{i}", **h.as_json()} for i, h in enumerate(proposed))]
    document = from_plain(plain)
    shapes = build(document)
    seal = design_seal(document, shapes)
    found = _numbers(seal.as_json()) | _numbers(lid_report(document, shapes, seal).as_json())
    lacking = {name for name in found - GIVEN if f"`{name}`" not in TEXT and f"`{name}." not in TEXT and name != "at"}
    assert lacking == set()
