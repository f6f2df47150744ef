"""Fan hole patterns and the radiators that carry fans."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache

from . import tables


@dataclass(frozen=True)
class Fan:
    """A square fan, mm."""

    size_mm: float
    hole_spacing_mm: float
    source: str

    def holes_mm(self) -> tuple[tuple[float, float], ...]:
        """The four hole centres from the fan's centre, counter-clockwise from front left."""
        half = self.hole_spacing_mm / 2
        return ((-half, -half), (half, -half), (half, half), (-half, half))


@dataclass(frozen=True)
class Radiator:
    """A row of fans, mm; its length is between the outer edges of the first and the last fan's frame, without tanks."""

    fan: Fan
    count: int
    gap_mm: float
    source: str

    @property
    def length_mm(self) -> float:
        """Length between fan frames."""
        return self.count * self.fan.size_mm + (self.count - 1) * self.gap_mm

    @property
    def width_mm(self) -> float:
        """Width of the fans' frame."""
        return self.fan.size_mm

    def holes_mm(self) -> tuple[tuple[float, float], ...]:
        """All hole centres, from the front left corner of the first fan's frame, the fans in a row along x."""
        pitch = self.fan.size_mm + self.gap_mm
        half = self.fan.size_mm / 2
        return tuple(
            (half + index * pitch + x, half + y) for index in range(self.count) for x, y in self.fan.holes_mm()
        )


@cache
def _all() -> dict[float, Fan]:
    return {
        tables.number(row["size_mm"]): Fan(
            tables.number(row["size_mm"]), tables.number(row["hole_spacing_mm"]), row["source"]
        )
        for row in tables.rows("fans", "fan")
    }


def sizes_mm() -> tuple[float, ...]:
    """Sizes that have a pattern."""
    return tuple(_all())


def fan(size_mm: float) -> Fan:
    """The fan of that size. Raises UnknownEntry: larger fans differ by maker and are typed in."""
    try:
        return _all()[float(size_mm)]
    except (KeyError, TypeError, ValueError):
        known = ", ".join(f"{size:g}" for size in sizes_mm())
        raise tables.UnknownEntry(
            f"no fan of size {size_mm} mm in the table; there are {known}. Type the hole spacing in."
        ) from None


def radiator(size_mm: float, count: int, gap_mm: float | None = None) -> Radiator:
    """A radiator for ``count`` fans of one size. The gap between fans differs by maker; without one the fans touch.

    Raises:
        UnknownEntry: no such fan.
        ValueError: no fans, or a negative gap.
    """
    row = tables.table("fans")["radiator"]
    gap = tables.number(row["gap_mm"]) if gap_mm is None else gap_mm
    if count < 1:
        raise ValueError(f"a radiator carries at least one fan, not {count}")
    if gap < 0:
        raise ValueError(f"the gap between fans cannot be {gap} mm")
    return Radiator(fan(size_mm), count, gap, row["source"])
