"""Parts of one's own, kept apart from any plate: devices, boards, fittings and tubes, and the file they are kept in.

A part is what a document would hold, under a name, with a sentence on what it assumes. Its place (``x_mm`` …) and what
holds it count for nothing; the page gives a new id when the part is added to a plate.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, StringConstraints

from sketcher.document.base import Model
from sketcher.document.hardware import Board, Device
from sketcher.document.tubes import Course, Fitting

PartName = Annotated[str, StringConstraints(min_length=1, max_length=120, strip_whitespace=True)]
Assumed = Annotated[str, Field(max_length=1000)]
#: More than this nobody keeps, and a file with more is not one of parts.
MOST_PARTS = 2000


class DevicePart(Model):
    """A device with its ports and curves."""

    kind: Literal["device"]
    name: PartName
    assumed: Assumed = ""
    device: Device


class BoardPart(Model):
    """A board, a card or a riser."""

    kind: Literal["board"]
    name: PartName
    assumed: Assumed = ""
    board: Board


class FittingPart(Model):
    """What a tube is fixed with."""

    kind: Literal["fitting"]
    name: PartName
    assumed: Assumed = ""
    fitting: Fitting


class TubePart(Model):
    """A tube: its size, material, bend radius and stock; its corners count for nothing."""

    kind: Literal["tube"]
    name: PartName
    assumed: Assumed = ""
    tube: Course


OwnPart = Annotated[DevicePart | BoardPart | FittingPart | TubePart, Field(discriminator="kind")]


class Library(Model):
    """A file of parts. ``format`` tells it from a plate's document."""

    format: Literal["parts"] = "parts"
    version: Literal[1] = 1
    parts: Annotated[tuple[OwnPart, ...], Field(max_length=MOST_PARTS)] = ()
