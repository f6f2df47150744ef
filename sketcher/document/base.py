"""The pieces every model is made of: strict fields, ids, numbers with a range, places."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

#: Nothing on a case floor is farther away than this; it keeps overflows and slips of the unit out.
FARTHEST_MM = 5_000.0

Millimetres = Annotated[float, Field(ge=-FARTHEST_MM, le=FARTHEST_MM, allow_inf_nan=False)]
Length = Annotated[float, Field(gt=0, le=FARTHEST_MM, allow_inf_nan=False)]
LengthOrZero = Annotated[float, Field(ge=0, le=FARTHEST_MM, allow_inf_nan=False)]
Degrees = Annotated[float, Field(ge=-360, le=360, allow_inf_nan=False)]
Positive = Annotated[float, Field(gt=0, le=1e9, allow_inf_nan=False)]
NotNegative = Annotated[float, Field(ge=0, le=1e9, allow_inf_nan=False)]
Percent = Annotated[float, Field(ge=0, le=100, allow_inf_nan=False)]
Celsius = Annotated[float, Field(ge=-40, le=120, allow_inf_nan=False)]

#: Short and readable, as it stands on the drawing and is scored into the plate: ``P3``, ``C12``, ``GPU``.
Id = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_-]{0,23}$")]
#: A device's port: the device's id, a full stop, the port's id within the device (``GPU.in``).
DevicePortRef = Annotated[str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_-]{0,23}\.[A-Za-z][A-Za-z0-9_-]{0,23}$")]
Name = Annotated[str, Field(max_length=120)]
Note = Annotated[str, Field(max_length=4000)]

Face = Literal["top", "bottom", "edge"]
BroadFace = Literal["top", "bottom"]


class Model(BaseModel):
    """A frozen part of a document; an unknown key is an error, so that a slip of the pen is seen."""

    model_config = ConfigDict(extra="forbid", frozen=True, validate_default=False, populate_by_name=True)


class Place(Model):
    """A point in plan, mm from the floor's front left inner corner: x to the right, y to the rear."""

    x_mm: Millimetres
    y_mm: Millimetres


class Item(Model):
    """Whatever has an id of its own and can be picked on the drawing."""

    id: Id
    name: Name = ""
    note: Note = ""
    locked: bool = Field(default=False, description="A locked item stays where it is in the page.")
