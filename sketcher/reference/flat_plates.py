"""Coefficients of flat rectangular plates under uniform pressure (Roark, table 11.4)."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from sketcher.reference import tables

Edges = Literal["simply supported", "fixed"]


@dataclass(frozen=True)
class PlateCase:
    """One row of the table: stress and deflection coefficients against a/b, for ν = 0.3."""

    name: str
    a_over_b: tuple[float, ...]
    beta: tuple[float, ...]
    alpha: tuple[float, ...]
    where: str
    source: str

    def coefficients(self, ratio: float) -> tuple[float, float]:
        """β and α at a/b = ``ratio``, straight lines between the rows.

        Beyond the last finite row the line runs in b/a, which is 0 for the endless strip. Both coefficients
        rise with a/b and the curves bulge upwards, so a straight line between rows reads up to 1.5 % low.

        Raises:
            ValueError: ``ratio`` is below 1: the short side is b.
        """
        if not ratio >= 1.0:
            raise ValueError(f"a/b is {ratio:g}, but b is the short side: it must be 1 or more")
        last = len(self.a_over_b) - 2
        index = min(bisect_right(self.a_over_b, ratio) - 1, last)
        low, high = self.a_over_b[index], self.a_over_b[index + 1]
        in_inverse = (1 / low - 1 / ratio) / (1 / low - 1 / high)
        part = min(in_inverse if index == last else (ratio - low) / (high - low), 1.0)

        def between(column: tuple[float, ...]) -> float:
            return column[index] + part * (column[index + 1] - column[index])

        return between(self.beta), between(self.alpha)


@cache
def _all() -> dict[str, PlateCase]:
    def column(row: dict[str, Any], key: str) -> tuple[float, ...]:
        return tuple(tables.number(value) for value in row[key])

    return {
        row["name"]: PlateCase(
            name=row["name"],
            a_over_b=column(row, "a_over_b"),
            beta=column(row, "beta"),
            alpha=column(row, "alpha"),
            where=row["where"],
            source=row["source"],
        )
        for row in tables.rows("flat_plates", "case")
    }


def plate_case(edges: Edges) -> PlateCase:
    """The table's row for those edges: ``"simply supported"`` (case 1a) or ``"fixed"`` (case 8a).

    Raises:
        UnknownEntry: no such case.
    """
    return _all()[tables.pick("flat plate case", edges, _all())]
