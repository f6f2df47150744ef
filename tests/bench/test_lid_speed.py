"""How long the lid takes as a plate on its screws: against one factorisation of its own equations, in the same run.

``docs/speed.md`` has the figures. ``python -m tests.bench.test_lid_speed`` prints them.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from sketcher.checks.hold_seal import report_of
from sketcher.checks.scene import Scene
from sketcher.document import Document, read
from sketcher.document.remembered import forget_all
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.strength import lid_bending
from sketcher.strength.plate_bending import LidPlate
from tests.bench.test_check_speed import best

EXAMPLES = Path(__file__).parents[2] / "examples"


def solved(document: Document, monkeypatch: pytest.MonkeyPatch) -> list[tuple[Any, ...]]:
    """What the document's lid is solved from, piece by piece: the arguments of ``lid_bending._solved``."""
    asked: list[tuple[Any, ...]] = []
    plain = lid_bending._solved.__wrapped__

    def kept(*given: Any) -> Any:
        asked.append(given)
        return plain(*given)

    with monkeypatch.context() as patch:
        patch.setattr(lid_bending, "_solved", kept)
        forget_all()
        report_of(Scene(build(document), limits_of(document)))
    return [given for given in asked if len(given[2]) >= 3]


def against_a_factorisation(document: Document, monkeypatch: pytest.MonkeyPatch) -> tuple[float, float]:
    """Seconds for all loads of the largest piece from nothing, and for one factorisation of its finest equations."""
    given = max(solved(document, monkeypatch), key=lambda given: len(given[0]))
    kept: list[LidPlate] = []
    begin = LidPlate.__init__

    def noted(self: LidPlate, *args: Any, **named: Any) -> None:
        begin(self, *args, **named)
        kept.append(self)

    with monkeypatch.context() as patch:
        patch.setattr(LidPlate, "__init__", noted)
        lid_bending._solved.__wrapped__(*given)
    equations = kept[0]._fine._equations
    whole, one = best(lambda: lid_bending._solved.__wrapped__(*given), equations.factor)
    return whole, one


def again(document: Document) -> tuple[float, float]:
    """Seconds for the lid from nothing, and when something else of the document has changed."""
    other = document.model_copy(update={"name": "another"})

    def first() -> None:
        forget_all()
        lid_bending._solved.cache_clear()
        report_of(Scene(build(document), limits_of(document)))

    first()
    scene = Scene(build(other), limits_of(other))
    new, known = best(first, lambda: report_of(scene), rounds=3)
    return new, known


@pytest.mark.parametrize("name", ["riser-bench", "small-board"])
def test_four_loads_take_at_most_nine_factorisations(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Each turn of each load was one before: thirteen, and as much again for what stands around them."""
    whole, one = against_a_factorisation(read(EXAMPLES / f"{name}.json"), monkeypatch)
    assert whole <= 9 * one, f"{whole * 1e3:.0f} ms against {one * 1e3:.1f} ms"


def test_a_lid_that_did_not_change_is_not_solved_again() -> None:
    new, known = again(read(EXAMPLES / "riser-bench.json"))
    assert known <= new / 300, f"{known * 1e6:.0f} µs against {new * 1e3:.0f} ms"


if __name__ == "__main__":
    for name in ("riser-bench", "small-board"):
        whole, one = against_a_factorisation(read(EXAMPLES / f"{name}.json"), pytest.MonkeyPatch())
        print(f"{name}: four loads {whole * 1e3:.0f} ms, a factorisation {one * 1e3:.1f} ms: {whole / one:.1f}")
    new, known = again(read(EXAMPLES / "riser-bench.json"))
    print(f"riser-bench: the whole lid {new * 1e3:.0f} ms, unchanged {known * 1e6:.0f} µs")
