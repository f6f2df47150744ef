"""Places for the lid screws of one document: what stands in their way, and the field that patterns are laid on."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from sketcher.document import Document
from sketcher.document.base import FARTHEST_MM
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.reference.screws import Screw
from sketcher.strength.screw_pattern import Blocked, Field, Lack, ScrewRoom, lack_near
from sketcher.strength.seal import DRIVER_ROOM_MM, SealDesign, design_seal, screw_of, valid
from sketcher.strength.taps import LEAST_FLOOR_MM, before_mm, design_tap, give_mm

#: Least walls from a lid screw's hole, mm, used when the caller gives none: the defaults of the wall rules.
WALLS_MM = {"channel": 4.0, "bore": 4.0, "thread": 4.0, "cutout": 3.0, "pocket": 2.0, "hole": 3.0, "head": 3.0}
SCREW_EDGE_MM = 3.0
#: From a lid screw's axis to the plate's edge, in diameters: at least, and where there is room. Common practice for
#: screws in plastic, no source.
EDGE_DIAMETERS, ROOMY_DIAMETERS = 1.5, 2.0
#: A screw may stand so much farther out than its least distance from the groove where something is in the way there, in
#: diameters: less than the reach within which it counts as holding the groove. Common practice, no source.
FARTHER_DIAMETERS = 1.25


@dataclass(frozen=True)
class ProposedHole:
    """A lid screw to be added to the document, with the keys of its holes."""

    x_mm: float
    y_mm: float
    screw: str
    face: str
    depth_mm: float

    def as_json(self) -> dict[str, Any]:
        """The hole as the document has it, without an id."""
        return {
            "x_mm": round(self.x_mm, 2),
            "y_mm": round(self.y_mm, 2),
            "kind": "tapped",
            "screw": self.screw,
            "use": "lid",
            "face": self.face,
            "depth_mm": round(self.depth_mm, 1),
        }


def _screw_room(document: Document, screw: Screw, walls: Mapping[str, float]) -> ScrewRoom:
    head = screw.cap_head.diameter_mm + DRIVER_ROOM_MM
    return ScrewRoom(
        hole_mm=screw.clearance_mm,
        head_mm=head,
        wall_mm=document.seal.wall_mm,
        edge_mm=walls.get("edge", SCREW_EDGE_MM),
        pitch_mm=max(document.seal.screw_pitch_mm, head + 1.0),
        axis_edge_mm=EDGE_DIAMETERS * screw.major_mm,
        roomy_edge_mm=ROOMY_DIAMETERS * screw.major_mm,
        farther_mm=FARTHER_DIAMETERS * screw.major_mm,
    )


def lid_screw_depth_mm(document: Document, screw: Screw) -> float:
    """Drilled depth of a lid screw's tapped hole from the lid's outer face: lid, full thread, run-out.

    As everywhere in the document lid on body: a gasket between them is not counted. On a tenth: deeper where the floor
    under it is left, so that the stock screw that it was made for does not meet its end, else less deep.
    """
    plate = document.plate
    before, give = before_mm(document, screw), give_mm(document)
    tap = design_tap(screw, plate.body_thickness_mm, document.seal.run_out, before, give)
    asked = (plate.lid_thickness_mm + tap.drilled_mm) * 10
    depth = math.ceil(asked - 1e-6) / 10
    if tap.floor_mm - (depth - asked / 10) < LEAST_FLOOR_MM - 1e-6:
        depth = math.floor(asked + 1e-6) / 10
    return max(depth, plate.lid_thickness_mm + screw.pitch_mm)


class ScrewSite:
    """Where one document's lid screws may stand, worked out once for patterns of any spacing.

    The lid screws that the document has stay, and patterns fill them up. ``screw`` is none where there can be no
    screws: a bonded lid, an unknown screw, a seal that cannot be, a screw as long as a house.
    """

    def __init__(
        self, document: Document, shapes: Shapes, seal: SealDesign | None, walls: Mapping[str, float] | None
    ) -> None:
        """Take stock.

        Args:
            document: with the lid screws that stay.
            shapes: its own.
            seal: its own, if it is known.
            walls: least walls in force, mm, by the other part (``channel``, ``bore``, ``thread``, ``cutout``,
                ``pocket``, ``hole``, ``head``, and ``edge``); the usual ones where none is given.
        """
        self.document, self.shapes = document, shapes
        self.seal = seal = design_seal(document, shapes) if seal is None else seal
        self.screw: Screw | None = screw_of(document)
        if document.seal.kind == "bonded" or seal.room is None or seal.problem or self.screw is None:
            self.screw = None
            return
        self.depth_mm = lid_screw_depth_mm(document, self.screw)
        if self.depth_mm > FARTHEST_MM:
            self.screw = None
            return
        walls = {**WALLS_MM, **(walls or {})}
        self.room = _screw_room(document, self.screw, walls)
        own = {hole.id for hole in document.holes if hole.use == "lid"}
        self.blocked = list(_blocked(document, shapes, self.room, walls, own, self.depth_mm))
        self.kept: list[Point] = [(hole.x_mm, hole.y_mm) for hole in document.holes if hole.use == "lid"]
        plate = valid(shapes.plate_polygon)
        self._field = Field(seal.plan.sealed, plate, seal.room.width_mm, self.room, self.blocked)

    def placed(self, pitch_mm: float, more: Sequence[ProposedHole] = ()) -> list[ProposedHole]:
        """Screws to add, at most so far apart where there is room, beside those that the document has and ``more``."""
        if self.screw is None:
            return []
        kept = [*self.kept, *((hole.x_mm, hole.y_mm) for hole in more)]
        face = self.document.plate.lid_face
        places = self._field.placed(max(pitch_mm, self.room.head_mm + 1.0), kept)
        return [ProposedHole(x, y, self.screw.name, face, self.depth_mm) for x, y in places]


def place_screws(
    document: Document,
    shapes: Shapes,
    seal: SealDesign | None = None,
    *,
    walls: Mapping[str, float] | None = None,
    keep: bool = True,
) -> list[ProposedHole]:
    """Lid screws to add around every groove; those the document has already stay (``keep``) and are filled up.

    Args:
        walls: as for ``ScrewSite``.
        keep: False proposes a whole new pattern, as if there were no lid screws yet.

    Returns an empty list for a bonded lid, an unknown screw or a seal that cannot be: the findings say why.
    """
    if not keep:
        document, shapes, seal = *without_lid_screws(document, shapes), None
    return ScrewSite(document, shapes, seal, walls).placed(document.seal.screw_pitch_mm)


def without_lid_screws(document: Document, shapes: Shapes) -> tuple[Document, Shapes]:
    """The document as if it had no lid screws, and its shapes."""
    gone = {hole.id for hole in document.holes if hole.use == "lid"}
    if not gone:
        return document, shapes
    document = document.model_copy(update={"holes": [hole for hole in document.holes if hole.id not in gone]})
    return document, _without(shapes, document, gone)


def screw_lack(
    document: Document, shapes: Shapes, seal: SealDesign, near: Point, reach_mm: float, walls: Mapping[str, float]
) -> Lack | None:
    """What keeps a lid screw from standing within ``reach_mm`` of a place; arguments else as for ``place_screws``."""
    site = ScrewSite(document, shapes, seal, walls)
    plate = shapes.plate_polygon.buffer(0)
    if site.screw is None or seal.room is None or plate.geom_type != "Polygon":
        return None
    sealed, room = seal.plan.sealed, site.room
    return lack_near(sealed, plate, seal.room.width_mm, room, site.blocked, near, reach_mm, site.kept)


def _without(shapes: Shapes, document: Document, gone: set[str]) -> Shapes:
    return replace(
        shapes,
        document=document,
        holes={name: hole for name, hole in shapes.holes.items() if name not in gone},
        prisms=tuple(prism for prism in shapes.prisms if prism.id not in gone),
    )


def _blocked(
    document: Document,
    shapes: Shapes,
    room: ScrewRoom,
    walls: Mapping[str, float],
    own: set[str],
    depth: float,
) -> Iterator[Blocked]:
    plate = document.plate
    reach = (0.0, depth) if plate.lid_face == "bottom" else (shapes.thickness - depth, shapes.thickness)
    for prism in shapes.prisms:
        if prism.id in own:
            continue
        wall = walls[prism.part]
        gap = max(prism.low - reach[1], reach[0] - prism.high, 0.0)
        if gap >= wall:
            continue
        yield Blocked(valid(prism.polygon), math.sqrt(wall**2 - gap**2) + room.hole_mm / 2 + 0.05, prism.id)
    for port in shapes.ports.values():
        if port.item.face == plate.lid_face:
            yield Blocked(port.fitting, room.head_mm / 2, port.item.id)
    for area in shapes.keep_outs.values():
        if "hole" in next(item.refuses for item in document.keep_outs if item.id == area.id):
            half = max(room.hole_mm, room.head_mm) / 2
            yield Blocked(valid(area.polygon), half, area.id)
