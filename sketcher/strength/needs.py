"""The room that groove and screws need around the coolant, as regions: to be shown while channels are drawn."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.reference import screws as screw_table
from sketcher.strength.bends import rings
from sketcher.strength.groove_room import Room
from sketcher.strength.seal import DRIVER_ROOM_MM, SealDesign, gland_of, room_of

#: What is shown leaves the true line by no more than this, mm.
SHOWN_MM = 0.1
_QUARTER = 8


@dataclass(frozen=True)
class SealRoom:
    """Areas in plan, mm: ``groove`` is the coolant with the groove and its walls, ``screws`` that and the screws' heads
    beyond it. Nothing dry may be in the first; where something is in the second no screw stands."""

    groove: BaseGeometry
    screws: BaseGeometry

    def as_json(self) -> dict[str, Any]:
        """Each as rings of x and y, to the hundredth."""
        return {name: _rings(area) for name, area in (("groove", self.groove), ("screws", self.screws))}


def room_needed(document: Document, seal: SealDesign) -> SealRoom:
    """The room around every wet region; nothing where there is no seal, and no screws for a bonded lid.

    The groove's wall on the outside is the document's; a screw stands at its least distance, its head with the key's
    room reaches beyond.
    """
    nothing = shapely.GeometryCollection()
    if seal.room is None or seal.plan.sealed.is_empty:
        return SealRoom(nothing, nothing)
    centreline = seal.room.offset_mm
    groove_mm, screws_mm = (far - centreline if far else 0.0 for far in _beyond(document, seal.room))
    groove = seal.plan.sealed.buffer(groove_mm, quad_segs=_QUARTER)
    return SealRoom(groove, seal.plan.sealed.buffer(screws_mm, quad_segs=_QUARTER) if screws_mm else nothing)


def room_beyond(document: Document) -> tuple[float, float] | None:
    """How far groove and screws reach beyond the coolant, mm: the groove with its outer wall, and the screws' heads.

    It needs no shapes, so that it can be drawn while a channel is. The second is 0 for a bonded lid or an unknown
    screw; None where the seal cannot be.
    """
    gland, problem = gland_of(document)
    return None if problem else _beyond(document, room_of(document, gland))


def _beyond(document: Document, room: Room) -> tuple[float, float]:
    groove = room.offset_mm + room.width_mm / 2 + document.seal.wall_mm
    name = document.seal.screw
    if document.seal.kind == "bonded" or name not in screw_table.names():
        return groove, 0.0
    screw = screw_table.screw(name)
    axis = room.offset_mm + room.width_mm / 2 + document.seal.wall_mm + screw.clearance_mm / 2
    return groove, axis + (screw.cap_head.diameter_mm + DRIVER_ROOM_MM) / 2


def _rings(area: BaseGeometry) -> list[list[list[float]]]:
    parts = shapely.get_parts(shapely.simplify(area, SHOWN_MM)).tolist()
    return [np.round(ring, 2).tolist() for part in parts if isinstance(part, shapely.Polygon) for ring in rings(part)]
