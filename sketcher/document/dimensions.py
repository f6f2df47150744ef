"""Dimension lines that stay on the drawing: a distance between two references, which follows them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Strict

from sketcher.document.base import AsWhole, Item, Millimetres, Model

#: An item's id, ``plate``, ``floor``, or a device's port (``GPU.in``).
MeasuredRef = Annotated[
    str, Field(pattern=r"^[A-Za-z][A-Za-z0-9_-]{0,23}(\.[A-Za-z][A-Za-z0-9_-]{0,23})?$", max_length=49)
]

Direction = Literal["aligned", "horizontal", "vertical"]


class DimensionEnd(Model):
    """What a dimension line measures from or to: an item's centre, edge or corner, or a fixed point."""

    item: MeasuredRef | None = Field(
        default=None,
        description="An item's id, `plate`, `floor` or a device's port (`GPU.in`); none: the point at x and y.",
    )
    part: Literal["centre", "edge", "corner"] = Field(default="centre", description="Of the item.")
    index: Annotated[int, Strict(), Field(ge=0, le=1999), AsWhole] = Field(
        default=0,
        description="Which edge or corner. Of a rectangle or slot, before it is turned, edges 0 to 3 are front, right, "
        "rear, left and corner 0 is front left; of a board or device, those of the box around it in plan; of a polygon "
        "they are counted as its corners. What is round has one edge.",
    )
    x_mm: Millimetres = Field(default=0.0, description="Of a fixed point, from the left.")
    y_mm: Millimetres = Field(default=0.0, description="Of a fixed point, from the front.")


class Dimension(Item):
    """A dimension line on the drawing. It is printed and never cut."""

    first: DimensionEnd = DimensionEnd()
    second: DimensionEnd = DimensionEnd()
    direction: Direction = Field(
        default="aligned", description="Along the shortest way between the two, or along x or y alone."
    )
    offset_mm: Millimetres = Field(
        default=10.0,
        description="How far the line stands off the first end: to the rear (horizontal), to the right (vertical), or "
        "to the left of the way to the second.",
    )
