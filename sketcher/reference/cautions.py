"""The usual cautions, by the step of the work and by the sheet they are printed on."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

from sketcher.reference import tables

STEPS = ("measure", "cut", "mill", "drill", "bond", "assemble", "fill", "test", "power")
SHEETS = ("test-piece", "final", "floor-cut", "paper")


@dataclass(frozen=True)
class StepCaution:
    """One caution: what to mind, and whose word goes before ours (``defer``)."""

    name: str
    title: str
    steps: tuple[str, ...]
    sheets: tuple[str, ...]
    text: str
    defer: str
    source: str

    def as_json(self) -> dict[str, Any]:
        """The caution as plain values."""
        return {**asdict(self), "steps": list(self.steps), "sheets": list(self.sheets)}


@cache
def all_cautions() -> tuple[StepCaution, ...]:
    """Every caution, in the order of the file."""
    return tuple(
        StepCaution(
            name=row["name"],
            title=row["title"],
            steps=tuple(row["steps"]),
            sheets=tuple(row["sheets"]),
            text=row["text"],
            defer=row["defer"],
            source=row["source"],
        )
        for row in tables.rows("cautions", "caution")
    )


def for_step(step: str) -> tuple[StepCaution, ...]:
    """Cautions of one step of the work, for example ``"cut"``.

    Raises:
        UnknownEntry: no such step.
    """
    wanted = tables.pick("step", step, STEPS)
    return tuple(caution for caution in all_cautions() if wanted in caution.steps)


def for_sheet(sheet: str) -> tuple[StepCaution, ...]:
    """Cautions that are printed on a sheet, for example ``"final"``.

    Raises:
        UnknownEntry: no such sheet.
    """
    wanted = tables.pick("sheet", sheet, SHEETS)
    return tuple(caution for caution in all_cautions() if wanted in caution.sheets)
