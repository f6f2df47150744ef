"""The usual cautions, by name and by the step of the work; sheets name those that are printed with them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass
from functools import cache
from typing import Any

from sketcher.reference import tables

STEPS = ("measure", "cut", "mill", "drill", "bond", "bend", "assemble", "fill", "test", "power")


@dataclass(frozen=True)
class StepCaution:
    """One caution: what to mind, and whose word takes precedence (``defer``)."""

    name: str
    title: str
    steps: tuple[str, ...]
    text: str
    defer: str
    source: str

    def as_json(self) -> dict[str, Any]:
        """The caution as plain values."""
        return {**asdict(self), "steps": list(self.steps)}


@cache
def all_cautions() -> tuple[StepCaution, ...]:
    """Every caution, in the order of the file."""
    return tuple(
        StepCaution(
            name=row["name"],
            title=row["title"],
            steps=tuple(row["steps"]),
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


def named(names: Iterable[str]) -> tuple[StepCaution, ...]:
    """Cautions by their names, in the order of the file.

    Raises:
        UnknownEntry: a name is not in the table.
    """
    known = {caution.name: caution for caution in all_cautions()}
    wanted = {tables.pick("caution", name, known) for name in names}
    return tuple(caution for caution in all_cautions() if caution.name in wanted)
