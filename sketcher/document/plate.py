"""The plate and what is machined into it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Strict

from sketcher.document.base import (
    AsWhole,
    BroadFace,
    Degrees,
    DevicePortRef,
    Face,
    Id,
    Item,
    Length,
    LengthOrZero,
    Millimetres,
    Model,
    Note,
    NotNegative,
    Number,
    Percent,
    Place,
    Positive,
    Truth,
)
from sketcher.document.outlines import Outline
from sketcher.document.tubes import Course

#: What a thickness in the document is: the sheet's name, read with a caliper, or milled to size.
Thickness = Literal["nominal", "measured", "faced"]
#: How a blind drilled hole ends: with the drill's point beyond its depth, or milled flat.
DrillEnd = Literal["point", "flat"]


class Plate(Model):
    """A milled body closed by a lid. Channels are open towards the lid until it is on."""

    outline: Outline
    body_thickness_mm: Length
    lid_thickness_mm: Length
    lid_face: BroadFace = Field(default="bottom", description="The side of the body that the lid closes.")
    z_mm: LengthOrZero = Field(default=0.0, description="The plate's underside above the floor.")
    sheet: Literal["cast", "extruded"] = Field(
        default="cast", description="How the sheet was made: it gives the tolerance of a nominal thickness (ISO 7823)."
    )
    body_thickness_is: Thickness = Field(
        default="nominal", description="Whether the body's thickness is the sheet's name, measured, or faced to size."
    )
    lid_thickness_is: Thickness = Field(
        default="nominal", description="Whether the lid's thickness is the sheet's name, measured, or faced to size."
    )
    material: Annotated[str, Field(max_length=60)] = "cast acrylic"
    annealed: Truth = Field(default=False, description="The shop is asked to anneal body and lid after machining.")


class Port(Item):
    """A threaded hole for a fitting; without a thread it is a marker, a place not yet machined."""

    x_mm: Millimetres
    y_mm: Millimetres
    face: Face = "top"
    thread: Annotated[str, Field(max_length=12)] | None = "G1/4"
    thread_depth_mm: Length = 10.0
    bore_diameter_mm: Length | None = Field(
        default=None, description="From the thread to the channel; the tap drill when not given."
    )
    bore_depth_mm: Length | None = Field(
        default=None, description="From the face to the bore's end; when not given, as far as the channel it serves."
    )
    fitting_diameter_mm: Length = 20.0
    heading_deg: Degrees | None = Field(
        default=None, description="An edge port's direction into the plate; square to the edge when not given."
    )
    level_mm: Length | None = Field(
        default=None, description="An edge port's axis above the plate's underside; mid-body when not given."
    )
    drill_end: DrillEnd = Field(
        default="point", description="How the bore ends: with the drill's 118 degree point beyond its depth, or flat."
    )
    serves: DevicePortRef | None = None
    tube: Course | None = Field(
        default=None, description="The tube that drops to it, from this port to the one it serves; straight when none."
    )
    use: Literal["loop", "fill", "drain", "bleed", "sensor", "plugged"] = "loop"


class Branch(Item):
    """A point where channels meet."""

    x_mm: Millimetres
    y_mm: Millimetres


class ChannelPoint(Place):
    """A corner of a centreline; its own bend radius overrides the channel's."""

    bend_radius_mm: LengthOrZero | None = None


class Channel(Item):
    """A milled coolant passage along a centreline, from one port or branch to another."""

    start: Id | None = Field(default=None, description="The port or branch it begins at; none: at its first point.")
    end: Id | None = Field(default=None, description="The port or branch it ends at; none: at its last point.")
    points: Annotated[tuple[ChannelPoint, ...], Field(max_length=500)] = ()
    width_mm: Length
    depth_mm: Length
    bend_radius_mm: LengthOrZero = 10.0
    roughness_um: Positive | None = Field(
        default=None, description="Sand roughness of its walls; that of a milled wall, 5, when not given."
    )


class Follow(Model):
    """A thing that an area of the plate, or a screw hole, is kept in step with until it stops following."""

    item: Id = Field(description="The board, device, obstacle or opening that is followed.")
    clearance_mm: LengthOrZero = Field(default=1.0, description="All round its outline.")
    hole: Annotated[str, Field(max_length=24)] | None = Field(
        default=None, description="The mounting hole of the board that a screw hole follows."
    )


class Cutout(Item):
    """A hole through the plate: cables, connectors, a bracket."""

    outline: Outline
    follows: Follow | None = Field(default=None, description="What its outline follows; none: it is drawn by hand.")


class CableSlot(Model):
    """A cable's way out of a pocket: between which places a slot runs, and for which cable.

    The pocket's outline is worked out from it while ``in_step``: as wide as the cable and its clearance.
    """

    start: Id = Field(description="The pocket that the cable leaves.")
    end: Id | None = Field(
        default=None, description="The cutout, or the opening in the floor, that it leads to; none: the plate's edge."
    )
    cable_mm: Length = Field(default=4.0, description="Diameter of the cable.")
    clearance_mm: LengthOrZero = Field(default=0.5, description="What the slot is wider than the cable.")
    points: Annotated[tuple[Place, ...], Field(max_length=100)] = Field(
        default=(), description="Corners on its way; straight by the shortest way when none."
    )
    in_step: Truth = Field(default=True, description="Its outline is worked out again when what it joins has moved.")


class Pocket(Item):
    """A dry recess: a light strip, a riser's foot, a slot for a cable."""

    outline: Outline
    depth_mm: Length
    face: BroadFace = "top"
    must_stay_dry: Truth = True
    follows: Follow | None = Field(default=None, description="What its outline follows; none: it is drawn by hand.")
    cable: CableSlot | None = Field(
        default=None, description="The slot that it is, open to the places it joins; none: it opens into nothing."
    )


class Hole(Item):
    """A screw hole."""

    x_mm: Millimetres
    y_mm: Millimetres
    kind: Literal["through", "tapped", "countersunk", "counterbored"] = "through"
    screw: Annotated[str, Field(max_length=8)] = "M4"
    use: Literal["mount", "lid", "other"] = "mount"
    face: BroadFace = Field(default="top", description="The side the screw goes in from.")
    diameter_mm: Length | None = Field(
        default=None, description="The ISO 273 clearance, or the tap drill, when not given."
    )
    depth_mm: Length | None = Field(default=None, description="Of a tapped hole; through when not given.")
    drill_end: DrillEnd = Field(
        default="point",
        description="How a blind hole ends: with the drill's 118 degree point beyond its depth, or flat.",
    )
    slot_length_mm: Length | None = Field(default=None, description="Over all, when the hole is a slot.")
    turn_deg: Degrees = 0.0
    follows: Follow | None = Field(default=None, description="The mounting hole it follows; none: it stands by itself.")


class KeepOut(Item):
    """An area that nothing of the kinds named may enter."""

    outline: Outline
    refuses: tuple[Literal["port", "channel", "cutout", "pocket", "hole"], ...] = (
        "port",
        "channel",
        "cutout",
        "pocket",
        "hole",
    )
    follows: Follow | None = Field(default=None, description="What its outline follows; none: it is drawn by hand.")


class Group(Item):
    """Items that move together: a riser, its card and the card's ports."""

    members: tuple[Id, ...] = ()


class Seal(Model):
    """How the lid is sealed."""

    kind: Literal["cord", "gasket", "bonded"] = "cord"
    cord_mm: Length = 2.0
    cord_tolerance_mm: LengthOrZero = 0.1
    depth_tolerance_mm: LengthOrZero = 0.05
    squeeze_percent: Annotated[Number, Field(ge=5, le=40, allow_inf_nan=False)] = 25.0
    fill_percent: Annotated[Number, Field(ge=1, le=100, allow_inf_nan=False)] = 75.0
    cord_material: Literal["EPDM", "NBR", "FKM", "silicone"] = "EPDM"
    gasket: Literal["elastomer below 75 Shore A", "elastomer of 75 Shore A or more", "elastomer with cotton fabric"] = (
        Field(default="elastomer below 75 Shore A", description="The sheet that a gasket is cut from.")
    )
    gasket_mm: Annotated[Number, Field(ge=0.1, le=10, allow_inf_nan=False)] = Field(
        default=1.5, description="Thickness of the gasket sheet as bought, before the lid presses it."
    )
    hardness_shore_a: Annotated[Number, Field(ge=30, le=95)] = 60.0
    wall_mm: Length = Field(default=2.0, description="Minimum wall between the groove and the coolant, and beyond it.")
    screw: Annotated[str, Field(max_length=8)] = "M4"
    screw_pitch_mm: Length = 40.0
    grooves: Literal["apart", "shared", "one"] = Field(
        default="apart",
        description="Whether wet regions share a groove: only where there is no room for two, also where no screw fits "
        "between two, or one round all as far as nothing dry is in the way.",
    )
    screws_by_rule: Truth = Field(
        default=False,
        description="Lid screws are worked out and follow the channels; those among the holes are pinned and stay.",
    )
    run_out: Literal["normal", "short", "thread-milled"] = Field(
        default="normal", description="How a blind hole is tapped: what it is drilled beyond the full thread."
    )
    insert_pull_n: Positive | None = Field(
        default=None, description="Maker's lasting pull of a threaded insert; none: threads are tapped in the plate."
    )


class Shop(Model):
    """What the shop can do; kept as a profile and copied into the document."""

    name: Annotated[str, Field(max_length=120)] = ""
    cutter_diameters_mm: Annotated[tuple[Length, ...], Field(min_length=1, max_length=40)] = (
        2.5,
        3.0,
        4.0,
        6.0,
        8.0,
        10.0,
    )
    deepest_by_diameter: Positive = Field(default=3.0, description="Deepest pocket, in diameters of the cutter.")
    least_wall_mm: Length = 2.0
    tolerance_mm: Length = 0.1
    stock_thicknesses_mm: tuple[Length, ...] = (5.0, 6.0, 8.0, 10.0, 12.0, 15.0, 20.0, 25.0, 30.0)
    sheet_width_mm: Length = 600.0
    sheet_depth_mm: Length = 400.0
    feed_mm_min: Positive = Field(default=1_080.0, description="Feed of a cutter in the sheet, for the time estimate.")
    step_down_diameters: Positive = Field(default=0.5, description="Depth of one pass, in diameters of the cutter.")
    step_over_diameters: Annotated[Number, Field(gt=0, le=1)] = Field(
        default=0.45, description="Width of one track in a pocket, in diameters of the cutter."
    )
    drill_feed_mm_min: Positive = Field(default=150.0, description="Feed of a drill along its axis.")
    thread_minutes: NotNegative = Field(default=0.7, description="Tapping or thread milling one hole.")
    clamp_minutes: NotNegative = Field(default=15.0, description="Clamping and setting a part, for each set-up.")
    tool_minutes: NotNegative = Field(default=1.5, description="Changing a tool.")
    laser_mm_s: Positive = Field(
        default=12.0, description="Speed of the laser through 3 mm of acrylic; it falls in proportion to thickness."
    )
    stock_margin_mm: LengthOrZero = Field(default=15.0, description="Stock around a part for clamps and the cutter.")


class TestPiece(Model):
    """How the cheap cut is made."""

    __test__ = False  # not a test class, whatever its name

    material: Annotated[str, Field(max_length=60)] = "acrylic"
    thickness_mm: Length = 3.0
    kerf_mm: Annotated[Number, Field(ge=0, le=3, allow_inf_nan=False)] = 0.2
    port_holes: Literal["tube", "bore", "fitting"] = "bore"
    tabs: Annotated[int, Strict(), Field(ge=0, le=40), AsWhole] = 0
    tab_width_mm: Length = 1.0
    sheet_width_mm: Length = 600.0
    sheet_depth_mm: Length = 400.0


class FitReading(Model):
    """What the test piece showed at one port: it should sit so far to the right and to the rear."""

    port: Id
    dx_mm: Millimetres | None = None
    dy_mm: Millimetres | None = None
    spread_mm: Positive = 0.5
    note: Note = ""


class Acceptance(Model):
    """A finding the user has looked at and lets stand, with the reason."""

    rule: Annotated[str, Field(max_length=60)]
    items: tuple[Annotated[str, Field(max_length=60)], ...]
    reason: Annotated[str, Field(min_length=3, max_length=2000)]


__all__ = [
    "Acceptance",
    "Branch",
    "CableSlot",
    "Channel",
    "ChannelPoint",
    "Cutout",
    "FitReading",
    "Follow",
    "Group",
    "Hole",
    "KeepOut",
    "Percent",
    "Plate",
    "Pocket",
    "Port",
    "Seal",
    "Shop",
    "TestPiece",
]
