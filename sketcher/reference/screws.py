"""Metric screws: coarse threads (ISO 261, 262), clearance holes (ISO 273), heads (ISO 4762, ISO 10642)."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from typing import Any

from . import tables


@dataclass(frozen=True)
class Head:
    """A screw head, lengths in mm. For a countersunk head the diameter is that of the sharp edge, at 90 degrees."""

    diameter_mm: float
    height_mm: float
    source: str


@dataclass(frozen=True)
class Screw:
    """One screw size, lengths in mm.

    ``clearance_mm`` is the medium series; ``internal_minor_mm`` the basic minor diameter of the tapped hole.
    ``run_out_mm`` is what a blind hole is drilled beyond its thread, ``washer_mm`` the washer's outer diameter,
    ``stock_lengths_mm`` the lengths under the head that shops stock.
    ``countersunk_head`` is None where ISO 10642 has no such size.
    """

    name: str
    major_mm: float
    pitch_mm: float
    internal_minor_mm: float
    clearance_fine_mm: float
    clearance_mm: float
    clearance_coarse_mm: float
    tap_drill_mm: float
    run_out_mm: float
    run_out_short_mm: float
    washer_mm: float
    cap_head: Head
    countersunk_head: Head | None
    source: str
    clearance_source: str
    tap_drill_source: str
    run_out_source: str
    washer_source: str
    stock_lengths_mm: tuple[float, ...]


@cache
def _all() -> dict[str, Screw]:
    return {row["name"]: _screw(row) for row in tables.rows("screws", "screw")}


def _screw(row: dict[str, Any]) -> Screw:
    lengths = ("major", "pitch", "internal_minor", "clearance_fine", "clearance", "clearance_coarse", "tap_drill",
               "run_out", "run_out_short", "washer")  # fmt: skip
    cap_head = _head(row, "cap_head")
    assert cap_head is not None
    return Screw(
        name=row["name"],
        **{f"{key}_mm": tables.number(row[f"{key}_mm"]) for key in lengths},
        cap_head=cap_head,
        countersunk_head=_head(row, "countersunk_head"),
        source=row["source"],
        clearance_source=row["clearance_source"],
        tap_drill_source=row["tap_drill_source"],
        run_out_source=row["run_out_source"],
        washer_source=row["washer_source"],
        stock_lengths_mm=tuple(tables.number(value) for value in row["stock_lengths_mm"]),
    )


def _head(row: dict[str, Any], kind: str) -> Head | None:
    if f"{kind}_diameter_mm" not in row:
        return None
    return Head(
        diameter_mm=tables.number(row[f"{kind}_diameter_mm"]),
        height_mm=tables.number(row[f"{kind}_height_mm"]),
        source=row[f"{kind}_source"],
    )


def names() -> tuple[str, ...]:
    """Names of the screws, smallest first."""
    return tuple(_all())


def screw(name: str) -> Screw:
    """The screw called ``name``, for example ``"M4"``.

    Raises:
        UnknownEntry: no such screw.
    """
    return _all()[tables.pick("screw", name, _all())]
