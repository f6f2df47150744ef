"""How sure the document is of what it says: spreads of places and of making, and what landings forgive."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from sketcher.document.base import (
    DevicePortRef,
    Id,
    LengthOrZero,
    Millimetres,
    Model,
    NotNegative,
    Number,
    Percent,
    Place,
    Positive,
)


class Tie(Model):
    """A board, device or obstacle that was placed by survey points: it carries their spread, and moves with them.

    One point carries its place; two and more carry its turn as well.
    """

    item: Id
    points: Annotated[tuple[Id, ...], Field(min_length=1, max_length=12)]
    places: tuple[Place, ...] = Field(
        default=(),
        description="Where the points were when the item was last placed by them; none: it notes them next time.",
    )


class Landing(Model):
    """Where a trial found the tube of a device's port to land, in plan, and how well it was read."""

    serves: DevicePortRef
    x_mm: Millimetres
    y_mm: Millimetres
    spread_mm: Positive = 0.5


class Spreads(Model):
    """One standard deviation each, mm, unless it says otherwise. The defaults are common practice, no source."""

    hardware_mm: LengthOrZero = Field(
        default=0.5, description="Where a board or device stands, when no survey point ties it."
    )
    part_mm: LengthOrZero = Field(default=0.2, description="Where a port sits on its device.")
    standoff_mm: LengthOrZero = Field(default=0.15, description="A board's play on its standoffs.")
    seating_mm: LengthOrZero = Field(default=0.3, description="Where the plate comes to lie in the case.")
    making_mm: LengthOrZero = Field(default=0.05, description="Where the shop makes a port on the plate.")
    bow_mm: LengthOrZero = Field(default=0.2, description="How far the plate is out of flat; it tilts the fittings.")
    warming_k: NotNegative = Field(default=15.0, description="Warmer or colder than when it was measured, K.")
    landing_offset_mm: LengthOrZero = Field(
        default=0.5, description="How far beside its port a fitting lets a tube land. Assumed: no published figure."
    )
    landing_angle_deg: Annotated[Number, Field(ge=0, le=15, allow_inf_nan=False)] = Field(
        default=1.5, description="How far out of line a fitting holds a tube. Assumed: no published figure."
    )
    least_chance_percent: Percent = Field(default=95.0, description="Below this chance there is a finding.")
    sheet_cost: NotNegative = Field(default=0.0, description="Of a test piece, in any currency; 0: not said.")
    plate_cost: NotNegative = Field(default=0.0, description="Of a made plate, in the same currency; 0: not said.")
