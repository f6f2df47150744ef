"""What the plate serves: boards, cards and risers, and the devices of the loop."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Strict

from sketcher.document.base import (
    AsWhole,
    Celsius,
    Degrees,
    Id,
    Item,
    Length,
    LengthOrZero,
    Millimetres,
    Model,
    NotNegative,
    Number,
    Percent,
    Positive,
    Truth,
)
from sketcher.document.outlines import Outline
from sketcher.document.tubes import Course


class Placed(Item):
    """Something with a place and a direction in the case.

    It has axes of its own, u, v and w (right-handed). *Lying*, u runs along x, v along y and w up. *Standing*, it is
    on edge: u along x, v up, w to the front of the case (towards -y). Before that it is rolled in its own plane by
    ``roll_deg`` (about w), afterwards turned by ``turn_deg`` about the vertical. Its origin comes to x, y, z. When
    ``held_by`` names a holder, all this happens in the holder's own u, v, w, or in those of its ``slot``.
    """

    x_mm: Millimetres = 0.0
    y_mm: Millimetres = 0.0
    z_mm: Millimetres = 0.0
    turn_deg: Degrees = 0.0
    roll_deg: Degrees = 0.0
    posture: Literal["lying", "standing"] = "lying"
    held_by: Id | None = None
    slot: Annotated[int, Strict(), Field(ge=1, le=12), AsWhole] | None = Field(
        default=None, description="The holder's slot it stands in: u then runs along the slot, v off the board."
    )


class BoardHole(Model):
    """A mounting hole of a board, or of a device's foot, typed in by hand, in its own u and v."""

    id: Id
    u_mm: Millimetres
    v_mm: Millimetres
    diameter_mm: Length = 3.96


class Board(Placed):
    """A mainboard, a card or a riser.

    Its origin is the corner of rear edge and connector side, u runs along the rear edge towards the slots, v away
    from the rear edge and w out of the component side, as the published board drawings measure. A lying board
    whose rear edge is to the rear of the case is therefore turned by 180 degrees.
    """

    role: Literal["mainboard", "card", "riser"] = "mainboard"
    pattern: Annotated[str, Field(max_length=40)] | None = Field(
        default=None, description="A published pattern (ATX, microATX, Mini-ITX); none for your own board."
    )
    width_mm: Length | None = Field(default=None, description="Along u; the pattern's when not given.")
    depth_mm: Length | None = Field(default=None, description="Along v; the pattern's when not given.")
    thickness_mm: Length = 1.6
    parts_height_mm: LengthOrZero = Field(default=40.0, description="Height of the tallest part on the component side.")
    holes: tuple[BoardHole, ...] = Field(default=(), description="Your own board's holes; the pattern's when none.")
    slots: Annotated[int, Strict(), Field(ge=0, le=12), AsWhole] = 0
    first_slot_mm: LengthOrZero | None = Field(default=None, description="Slot 1 from the connector side, along u.")
    slot_pitch_mm: Length = 20.32


class DevicePort(Model):
    """A port of a device, in the device's own u, v, w."""

    id: Id
    u_mm: Millimetres = 0.0
    v_mm: Millimetres = 0.0
    w_mm: Millimetres = 0.0
    flow: Literal["in", "out", "either"] = "either"
    heading: Literal["u+", "u-", "v+", "v-", "w+", "w-"] | None = Field(
        default=None, description="Which way its tube leaves it; off the nearest side of its device when not given."
    )
    thread: Annotated[str, Field(max_length=12)] | None = Field(
        default=None, description="Of the fitting that goes into it, as its maker says; it goes to the parts list."
    )


class CurvePoint(Model):
    """One measured point: the pressure lost (or, for a pump, given) at a flow."""

    flow_l_min: NotNegative
    pressure_kpa: NotNegative


class ConductancePoint(Model):
    """Heat a radiator gives off per kelvin between coolant in and room, at a flow."""

    flow_l_min: Positive
    conductance_w_k: Positive


DeviceKind = Literal[
    "pump",
    "block",
    "radiator",
    "reservoir",
    "flow-meter",
    "filter",
    "valve",
    "coupling",
    "fan",
    "other",
]
Metal = Literal["copper", "nickel", "brass", "aluminium", "stainless", "none"]


class Device(Placed):
    """A device of the loop, with its ports and its measured curve."""

    kind: DeviceKind
    outline: Outline | None = Field(default=None, description="Its footprint in its own u and v.")
    height_mm: LengthOrZero = 0.0
    ports: tuple[DevicePort, ...] = ()
    holes: tuple[BoardHole, ...] = Field(default=(), description="Screw holes of its foot, in its own u and v.")
    curve: tuple[CurvePoint, ...] = Field(default=(), description="Pressure against flow; for a pump at full speed.")
    speed_percent: Annotated[Number, Field(ge=0, le=150, description="A pump's speed; 0: it has stopped.")] = 100.0
    check_valve: Truth = Field(default=False, description="Nothing passes it backwards: it is or has a check valve.")
    flow_min_l_min: NotNegative | None = Field(
        default=None, description="The minimum flow it needs; the rule's usual limit when not given."
    )
    heat_w: NotNegative = 0.0
    conductance: tuple[ConductancePoint, ...] = ()
    air_c: Celsius | None = Field(default=None, description="Air that a radiator draws in; the room's when not given.")
    volume_ml: NotNegative = 0.0
    mass_g: NotNegative = 0.0
    has_reservoir: Truth = Field(
        default=False, description="It carries a reservoir with a cap, as many pumps do: the loop is filled there."
    )
    metal: Metal = "none"
    hollow: Truth = Field(default=False, description="A frame or a tray: what it holds may stand within its outline.")
    fans: Annotated[int, Strict(), Field(ge=0, le=12), AsWhole] = 0
    fan_size_mm: Length | None = Field(default=None, description="Frame of each fan it carries or is: 120, 140 …")
    source: Annotated[str, Field(max_length=400)] = Field(
        default="", description="Where its figures come from: a data sheet, a measurement, an assumption."
    )
    invented: Truth = Field(default=False, description="The curve is made up, not measured: replace it by your own.")

    @property
    def fills(self) -> bool:
        """Whether the loop is filled at it: it is or carries a reservoir."""
        return self.kind == "reservoir" or self.has_reservoir


class Tube(Course, Item):
    """A tube between two device ports that does not pass through the plate."""

    start: Annotated[str, Field(max_length=60)]
    end: Annotated[str, Field(max_length=60)]
    length_mm: Length | None = Field(default=None, description="Worked out from its course when not given.")


class Coolant(Model):
    """What runs in the loop."""

    kind: Literal["water", "ethylene-glycol", "propylene-glycol"] = "water"
    strength_percent: Percent = Field(default=0.0, description="Mass of glycol in the mixture.")


class Loop(Model):
    """The loop as a whole: coolant, tubes, the air around, the limits."""

    coolant: Coolant = Coolant()
    tube_inner_diameter_mm: Length = 10.0
    tube_outer_diameter_mm: Length = 13.0
    fitting_bore_mm: Length = 9.0
    fitting_straight_mm: LengthOrZero = Field(
        default=25.0, description="Height of a fitting plus the tube's minimum straight length above the plate."
    )
    tube_size: Annotated[str, Field(max_length=60)] | None = Field(
        default=None, description="A row of the table of tube sizes, for every tube that names none."
    )
    carry_shift_mm: LengthOrZero = Field(
        default=0.5, description="By how much ports shift against each other when the case is carried."
    )
    room_c: Celsius = 25.0
    water_limit_c: Celsius = 50.0
    test_pressure_kpa: Annotated[Number, Field(ge=0.1, le=300)] = 50.0
    pumps: Literal["series", "parallel", "as-connected"] = "as-connected"
    tubes: tuple[Tube, ...] = ()
    connections: tuple[Annotated[tuple[Id, ...], Field(min_length=2, max_length=40)], ...] = Field(
        default=(), description="Ports of the plate that channels are to join; three or more by branches."
    )
