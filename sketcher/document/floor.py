"""The case floor as it is: outline, obstacles, and the survey it was measured by."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Strict

from sketcher.document.base import (
    AsWhole,
    Id,
    Item,
    Length,
    LengthOrZero,
    Millimetres,
    Model,
    Name,
    Note,
    Number,
    Positive,
    Truth,
)
from sketcher.document.outlines import Outline


class Obstacle(Item):
    """Something on the floor, with an outline and the heights it fills."""

    outline: Outline
    bottom_mm: LengthOrZero = Field(default=0.0, description="Its underside above the floor; 0 when it stands on it.")
    height_mm: Length = Field(description="Its top above the floor.")


class Opening(Item):
    """A hole in the case floor itself, for cables or for what hangs below the plate."""

    outline: Outline


class Floor(Model):
    """The case floor seen from above."""

    outline: Outline
    clear_height_mm: Length | None = Field(default=None, description="From the floor to what closes the case above.")
    material: Literal["aluminium", "steel", "acrylic", "other"] = "aluminium"
    thickness_mm: Length = 2.0
    obstacles: tuple[Obstacle, ...] = ()
    openings: tuple[Opening, ...] = ()


class Tool(Model):
    """A measuring tool, with the spread (one standard deviation) of a reading taken with it."""

    id: Id
    name: Name = ""
    spread_mm: Positive
    jaw_mm: Length | None = Field(
        default=None,
        description="What reading with the outside of the jaws for the inside, or a hook for none, is off by.",
    )


class SurveyPoint(Item):
    """A named point on the floor. Its place is worked out; x and y here are a first guess, or none."""

    x_mm: Millimetres | None = None
    y_mm: Millimetres | None = None
    z_mm: LengthOrZero | None = None


ReadingKind = Literal["distance", "offset", "along", "diameter", "height", "x", "y"]


class Reading(Model):
    """What a tool read, as it was typed, in the unit it was read in.

    - ``distance``: between two points (``points``: 2); a diagonal is one too.
    - ``offset``: of a point from a wall (``points``: 1, ``wall``: the wall's two points).
    - ``along``: along a wall from its first point to the foot of a point (``points``: 1, ``wall``).
    - ``diameter``: of the round thing about a point (``points``: 1).
    - ``height``: of a point above the floor (``points``: 1).
    - ``x``, ``y``: from the left or the front inner wall (``points``: 1).
    """

    id: Id
    kind: ReadingKind = "distance"
    points: Annotated[tuple[Id, ...], Field(min_length=1, max_length=2)]
    wall: Annotated[tuple[Id, ...], Field(min_length=2, max_length=2)] | None = None
    value: Positive
    unit: Literal["mm", "in", "cm"] = "mm"
    tool: Id = "rule"
    set_aside: Truth = Field(default=False, description="Kept, but not used: the user found it wrong.")
    note: Note = ""


class Surveyed(Model):
    """A thing that the survey draws: an outline through points, or a round one about a point."""

    id: Id
    name: Name = ""
    what: Literal["floor", "obstacle", "opening"] = "obstacle"
    corners: tuple[Id, ...] = ()
    centre: Id | None = None
    height_mm: Length | None = None


#: Well beyond any photo: a mark may lie outside it.
Pixels = Annotated[Number, Field(ge=-1e6, le=1e6, allow_inf_nan=False)]


class Photo(Model):
    """A photo from above that lies under the drawing, kept beside the document by the store."""

    file: Annotated[str, Field(pattern=r"^[A-Za-z0-9_-]{1,64}\.(png|jpe?g)$")]
    width_px: Annotated[int, Strict(), Field(gt=0, le=40_000), AsWhole]
    height_px: Annotated[int, Strict(), Field(gt=0, le=40_000), AsWhole]
    marks: Annotated[tuple[PhotoMark, ...], Field(max_length=24)] = ()
    edges: Annotated[tuple[PhotoEdge, ...], Field(max_length=40)] = Field(
        default=(), description="Edges that are straight on the floor."
    )
    opacity: Annotated[Number, Field(ge=0, le=1)] = 0.5


class PhotoMark(Model):
    """A point seen in the photo (pixels from its top left) and where it truly is on the floor."""

    x_px: Pixels
    y_px: Pixels
    x_mm: Millimetres
    y_mm: Millimetres
    check: Truth = Field(default=False, description="Used to judge the photo, not to place it.")


class PhotoEdge(Model):
    """Pixels along an edge that is straight on the floor: they show how the lens bends lines."""

    points: Annotated[tuple[Pixel, ...], Field(min_length=3, max_length=40)]


class Pixel(Model):
    """A place in a photo, pixels from its top left."""

    x_px: Pixels
    y_px: Pixels


Photo.model_rebuild()

#: Spread of a reading, mm: common practice, no source.
USUAL_TOOLS = (
    Tool(id="caliper", name="Caliper", spread_mm=0.05),
    Tool(id="rule", name="Steel rule", spread_mm=0.3),
    Tool(id="tape", name="Tape", spread_mm=1.0),
)


class Survey(Model):
    """Named points and the readings between them. The first wall gives the x axis."""

    tools: tuple[Tool, ...] = USUAL_TOOLS
    points: tuple[SurveyPoint, ...] = ()
    origin: Id | None = Field(default=None, description="The point at 0, 0: the front left inner corner.")
    along_x: Id | None = Field(default=None, description="A point on the front wall: the x axis runs to it.")
    readings: tuple[Reading, ...] = ()
    outlines: tuple[Surveyed, ...] = ()
