"""Screws designed for random realistic plates, judged by the rules themselves.

``python -m tests.strength.test_random_plates [N]`` prints the table of docs/holds.md for N plates of each clearance.
"""

from __future__ import annotations

import sys

import pytest

from sketcher.checks import run
from sketcher.document import Document, from_plain, to_plain
from sketcher.geometry import build
from sketcher.strength.screw_design import ScrewDesign, design_lid
from tests.strength.plates_random import CLEARANCES_MM, EACH, random_plate

FAMILIES = ("seal-", "screw-", "lid-", "wall-hole", "wall-channel-hole", "wall-port-hole", "wall-cutout-hole")


def with_design(document: Document) -> tuple[Document, ScrewDesign]:
    """The document with the screws designed for it, in the thread they were designed in."""
    design = design_lid(document, build(document))
    plain = to_plain(document)
    plain["holes"] = [*plain["holes"], *({"id": f"L{i}", **hole.as_json()} for i, hole in enumerate(design.holes))]
    plain["seal"] = {**plain.get("seal", {}), "screw": design.screw, "grooves": design.grooves}
    return from_plain(plain), design


def errors(document: Document) -> list[str]:
    """What the rules of seal, screws and lid find wrong."""
    return [f.message for f in run(document) if f.level == "error" and f.rule.startswith(FAMILIES)]


@pytest.mark.parametrize("seed", [3])
def test_a_design_that_says_it_works_passes_every_rule(seed: int) -> None:
    document, design = with_design(random_plate(seed, 9))
    assert design.works
    assert design.holes
    assert errors(document) == []


@pytest.mark.long
@pytest.mark.parametrize("clear_mm", CLEARANCES_MM)
@pytest.mark.parametrize("seed", range(EACH))
def test_no_design_says_it_works_and_fails_a_rule(seed: int, clear_mm: int) -> None:
    document = random_plate(seed, clear_mm)
    found, design = with_design(document)
    if design.works and not errors(document):
        assert errors(found) == []


def main(number: int) -> None:
    """The table: of each clearance, how many plates pass as they stand."""
    for clear in CLEARANCES_MM:
        passed = sum(not errors(with_design(random_plate(seed, clear))[0]) for seed in range(number))
        print(f"| {clear} mm | {number} | {passed} | {100 * passed / number:.0f} % |", flush=True)


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else EACH)
