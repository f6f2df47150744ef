"""The whole document: floor, hardware, plate and everything on it."""

from __future__ import annotations

from itertools import islice
from typing import Annotated, Literal

from pydantic import Field, ValidationError, model_validator

from sketcher.document.base import FrozenDict, Id, Item, Length, Millimetres, Model, Name, Note, Number
from sketcher.document.consistency import problems
from sketcher.document.dimensions import Dimension
from sketcher.document.drawing import Drawing
from sketcher.document.floor import Floor, Photo, Survey
from sketcher.document.hardware import Board, Device, Loop
from sketcher.document.kinds import KINDS, members
from sketcher.document.plate import (
    Acceptance,
    Branch,
    Channel,
    Cutout,
    FitReading,
    Group,
    Hole,
    KeepOut,
    Plate,
    Pocket,
    Port,
    Seal,
    Shop,
    TestPiece,
)
from sketcher.document.spreads import Landing, Spreads, Tie

#: The version that this program writes. Older files are lifted to it by ``document.upgrades``.
VERSION = 1


#: Longer lists of errors help nobody.
MOST_PROBLEMS = 50


class Grid(Model):
    """The plain square grid to snap to."""

    pitch_mm: Length = 5.0
    x_mm: Millimetres = 0.0
    y_mm: Millimetres = 0.0


class Document(Model):
    """A plate over its floor, with the hardware it serves. See ``docs/format.md``."""

    version: Literal[1] = 1
    name: Name = ""
    note: Note = ""
    floor: Floor
    survey: Survey = Survey()
    photo: Photo | None = None
    boards: tuple[Board, ...] = ()
    devices: tuple[Device, ...] = ()
    loop: Loop = Loop()
    plate: Plate
    ports: tuple[Port, ...] = ()
    branches: tuple[Branch, ...] = ()
    channels: tuple[Channel, ...] = ()
    cutouts: tuple[Cutout, ...] = ()
    pockets: tuple[Pocket, ...] = ()
    holes: tuple[Hole, ...] = ()
    keep_outs: tuple[KeepOut, ...] = ()
    groups: tuple[Group, ...] = ()
    dimensions: tuple[Dimension, ...] = ()
    seal: Seal = Seal()
    shop: Shop = Shop()
    drawing: Drawing = Drawing()
    test_piece: TestPiece = TestPiece()
    fit_readings: tuple[FitReading, ...] = ()
    landings: tuple[Landing, ...] = ()
    ties: tuple[Tie, ...] = ()
    spreads: Spreads = Spreads()
    grid: Grid = Grid()
    limits: FrozenDict[Annotated[str, Field(max_length=60)], Annotated[Number, Field(ge=0, le=1e6)]] = FrozenDict()
    accepted: tuple[Acceptance, ...] = ()
    retired_ids: tuple[Id, ...] = Field(default=(), description="Ids of deleted items: they are never given out again.")

    @model_validator(mode="after")
    def _consistent(self) -> Document:
        found = list(islice(problems(self), MOST_PROBLEMS))
        if found:
            raise ValidationError.from_exception_data(
                "Document",
                [{"type": p.as_pydantic(), "loc": p.location, "input": p.value} for p in found],
            )
        return self


def items(document: Document) -> dict[str, Item]:
    """Every item of the document by its id, obstacles and openings of the floor included."""
    found: dict[str, Item] = {}
    for kind in KINDS:
        if kind.name != "tube":
            found.update((item.id, item) for item in members(document, kind))
    return found
