"""A pressure, what it is held against, and of what bears it the worst."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, Protocol, TypeVar


@dataclass(frozen=True)
class Load:
    """One pressure and what it is held against."""

    name: Literal["dead-head", "test"]
    pressure_kpa: float
    design_stress_mpa: float
    modulus_mpa: float


class Stressed(Protocol):
    """A lid, a floor or a web under one load."""

    @property
    def load(self) -> Load:
        """The load."""

    @property
    def stress_mpa(self) -> float:
        """Its largest stress, MPa."""


Row = TypeVar("Row", bound=Stressed)


def worst_over(rows: Iterable[Row]) -> Row | None:
    """What bears more than its load's design stress, by the largest share; none where all holds."""
    bad = [row for row in rows if row.stress_mpa > row.load.design_stress_mpa]
    return max(bad, key=lambda row: row.stress_mpa / row.load.design_stress_mpa, default=None)
