"""A tube's course: its size, the corners it passes in space, and the fittings at its ends."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from sketcher.document.base import Length, LengthOrZero, Millimetres, Model, NotNegative

TubeMaterial = Literal["acrylic", "petg", "glass", "copper", "soft"]


class Fitting(Model):
    """What a tube is fixed with at one end."""

    kind: Literal["straight", "elbow-45", "elbow-90", "rotary"] = "straight"
    bore_mm: Length | None = Field(default=None, description="The loop's fitting bore when not given.")
    loss_k: NotNegative | None = Field(
        default=None, description="Loss coefficient on the velocity in its bore; worked out when not given."
    )
    height_mm: LengthOrZero | None = Field(
        default=None, description="From the port's face to where the tube leaves it, or to an elbow's corner."
    )
    insertion_mm: LengthOrZero | None = Field(
        default=None, description="How deep the tube enters it; the size's usual depth when not given."
    )


class TubePoint(Model):
    """A corner of a tube's centreline in space, mm on the floor's axes."""

    x_mm: Millimetres
    y_mm: Millimetres
    z_mm: Millimetres
    bend_radius_mm: LengthOrZero | None = Field(default=None, description="The tube's own when not given.")


class Course(Model):
    """A tube's way between two ports. Without points it runs straight from fitting to fitting."""

    size: Annotated[str, Field(max_length=60)] | None = Field(
        default=None, description="A row of the table of tube sizes; sizes given beside it take precedence."
    )
    material: TubeMaterial | None = Field(default=None, description="The size's when not given.")
    inner_diameter_mm: Length | None = None
    outer_diameter_mm: Length | None = None
    bend_radius_mm: Length | None = Field(
        default=None, description="Of the centreline, at every corner that has none of its own."
    )
    points: Annotated[tuple[TubePoint, ...], Field(max_length=40)] = ()
    start_fitting: Fitting = Fitting()
    end_fitting: Fitting = Fitting()
    stock_mm: tuple[Length, ...] = Field(default=(), description="Lengths it is sold in; the size's when none.")
