"""Sections of O-rings and O-ring cords, each with the usual groove of an axial (face) seal."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from . import tables


@dataclass(frozen=True)
class Cord:
    """A cord section with its usual groove, mm."""

    section_mm: float
    groove_depth_mm: float
    groove_width_mm: float
    source: str
    groove_source: str


@cache
def _all() -> tuple[Cord, ...]:
    return tuple(
        Cord(
            section_mm=tables.number(row["section_mm"]),
            groove_depth_mm=tables.number(row["groove_depth_mm"]),
            groove_width_mm=tables.number(row["groove_width_mm"]),
            source=row["source"],
            groove_source=row["groove_source"],
        )
        for row in tables.rows("cords", "cord")
    )


def sections_mm() -> tuple[float, ...]:
    """The sections that have a row, thinnest first."""
    return tuple(cord.section_mm for cord in _all())


def cord(section_mm: float) -> Cord:
    """The cord of that section.

    Raises:
        UnknownEntry: no such section; own sections need their own groove.
    """
    for entry in _all():
        if abs(entry.section_mm - section_mm) < 1e-9:
            return entry
    known = ", ".join(f"{value:g}" for value in sections_mm())
    raise tables.UnknownEntry(f"no cord of {section_mm:g} mm section; the table has {known} mm")
