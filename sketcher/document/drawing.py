"""What the title block of the shop drawing says, and the sheet that it is drawn on."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, Strict

from sketcher.document.base import AsWhole, Model

Words = Annotated[str, Field(max_length=60)]


class Drawing(Model):
    """The drawing's own data. ISO 7200 asks for owner, creator and approver: what is empty is a dash."""

    owner: Words = Field(default="", description="Legal owner of the drawing: a person or a firm.")
    creator: Words = Field(default="", description="Who made the drawing.")
    approver: Words = Field(default="", description="Who released it for manufacture.")
    number: Annotated[str, Field(max_length=16)] = Field(
        default="", description="Identification number; made from the plate's fingerprint when empty."
    )
    quantity: Annotated[int, Strict(), Field(ge=1, le=9999), AsWhole] = Field(
        default=1, description="Plates to be made."
    )
    finish: Words = Field(default="as milled", description="Of the visible faces and walls.")
    colour: Words = Field(default="clear", description="Of the sheet.")
    paper: Literal["A3", "B"] = Field(default="A3", description="A3 (ISO 5457), or B, 17 by 11 inches (ASME Y14.1).")
    projection: Literal["first-angle", "third-angle"] = Field(
        default="first-angle", description="The symbol in the title block (ISO 5456-2)."
    )
    note: Annotated[str, Field(max_length=600)] = Field(
        default="", description="What the shop must know besides: it is printed on the drawing and in plate.html."
    )
