"""Boards: outline, mounting holes, slots and the rear opening, from their standards, exact in inches.

A :class:`Hole` keeps the standard's own frame: component side up, rear edge at the top, x from the edge on the
connector side, y from the rear edge. ``geometry.placement`` puts boards into the case.
"""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from functools import cache

from . import tables


@dataclass(frozen=True)
class Hole:
    """A mounting hole in the standard's frame, inches exact."""

    name: str
    x_in: Decimal
    y_in: Decimal
    source: str

    @property
    def x_mm(self) -> float:
        """Distance from the edge on the connector side, mm."""
        return tables.inches_to_mm(self.x_in)

    @property
    def y_mm(self) -> float:
        """Distance from the rear edge, mm."""
        return tables.inches_to_mm(self.y_in)


@dataclass(frozen=True)
class Board:
    """A board's outline and holes. ``holes`` is empty where no source gives them; ``note`` then says so.

    ``slots`` is the largest number of slots the standard allows, None where no source gives it.
    """

    name: str
    width_in: Decimal
    depth_in: Decimal
    holes: tuple[Hole, ...]
    slots: int | None
    note: str
    source: str

    @property
    def width_mm(self) -> float:
        """Size along the rear edge, mm."""
        return tables.inches_to_mm(self.width_in)

    @property
    def depth_mm(self) -> float:
        """Size from the rear edge to the front edge, mm."""
        return tables.inches_to_mm(self.depth_in)

    def hole(self, name: str) -> Hole:
        """The hole of that letter. Raises UnknownEntry."""
        by_name = {hole.name: hole for hole in self.holes}
        return by_name[tables.pick(f"hole of {self.name}", name, by_name)]


@dataclass(frozen=True)
class RearOpening:
    """The opening for the connectors in the case's rear wall, mm."""

    width_mm: float
    height_mm: float
    corner_radius_max_mm: float
    keep_out_mm: float
    board_top_to_opening_bottom_mm: float
    source: str


@dataclass(frozen=True)
class HoleSize:
    """What the mounting holes have in common, mm."""

    diameter_mm: float
    diameter_source: str
    tolerance_mm: float
    tolerance_source: str


@cache
def _all() -> dict[str, Board]:
    return {
        row["name"]: Board(
            name=row["name"],
            width_in=Decimal(row["width_in"]),
            depth_in=Decimal(row["depth_in"]),
            holes=tuple(
                Hole(hole["name"], Decimal(hole["x_in"]), Decimal(hole["y_in"]), hole["source"])
                for hole in row.get("hole", ())
            ),
            slots=row.get("slots"),
            note=row.get("note", ""),
            source=row["source"],
        )
        for row in tables.rows("boards", "board")
    }


def names() -> tuple[str, ...]:
    """Names of the boards."""
    return tuple(_all())


def board(name: str) -> Board:
    """The board called ``name``, for example ``"ATX"``. Raises UnknownEntry."""
    return _all()[tables.pick("board", name, _all())]


def slot_pitch_in() -> Decimal:
    """Distance between neighbouring slots, inches, exact (0.800)."""
    return Decimal(tables.table("boards")["common"]["slot_pitch_in"])


@cache
def rear_opening() -> RearOpening:
    """The rear connector opening of ATX, microATX and the boards that share it."""
    row = tables.table("boards")["rear_opening"]
    return RearOpening(
        width_mm=tables.inches_to_mm(row["width_in"]),
        height_mm=tables.inches_to_mm(row["height_in"]),
        corner_radius_max_mm=tables.inches_to_mm(row["corner_radius_max_in"]),
        keep_out_mm=tables.inches_to_mm(row["keep_out_in"]),
        board_top_to_opening_bottom_mm=tables.inches_to_mm(row["board_top_to_opening_bottom_in"]),
        source=row["source"],
    )


@cache
def hole_size() -> HoleSize:
    """Diameter and tolerance of place of the mounting holes."""
    row = tables.table("boards")["common"]
    return HoleSize(
        diameter_mm=tables.inches_to_mm(row["hole_diameter_in"]),
        diameter_source=row["hole_diameter_source"],
        tolerance_mm=tables.inches_to_mm(row["hole_tolerance_in"]),
        tolerance_source=row["hole_tolerance_source"],
    )
