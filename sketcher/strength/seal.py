"""The seal of one document: groove, cord and lid screws, from the plate's own shapes."""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from shapely import Point as Point_
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.geometry.path import Path, Point
from sketcher.geometry.prisms import Cone
from sketcher.geometry.rounds import discs
from sketcher.geometry.shapes import Prism
from sketcher.reference import screws as screw_table
from sketcher.reference.screws import Screw
from sketcher.strength.bends import rings
from sketcher.strength.gland import Gland, SealError, design_gland, groove_cutter_mm
from sketcher.strength.groove import GroovePlan, MissingWall, plan_grooves
from sketcher.strength.groove_path import Joint, fit_path, place_joint
from sketcher.strength.groove_room import Obstacle, Room
from sketcher.strength.taps import LEAST_FLOOR_MM

#: Width of a cut gasket, and of the land that a solvent-bonded lid is glued on, mm. Common practice, no source.
GASKET_MM = 6.0
BOND_MM = 5.0
#: Room around a socket head for the key and the hand, mm on the diameter. Common practice, no source.
DRIVER_ROOM_MM = 1.0

#: Least floor between the groove and an edge port's bore that runs out below it, mm. Common practice, no source.
UNDER_WALL_MM = 1.5

#: A cone is held against the groove disc by disc: of a 12 mm drill's point they are 0.5 mm apart, and the wall between
#: two of them is told 0.02 mm too thick at most.
CONE_PIECES = 8

_EMPTY = GroovePlan(MultiPolygon(), (), ())


@dataclass(frozen=True)
class SealLoop:
    """One closed groove: its centreline in lines and arcs, whether it runs around an island, and its cord."""

    path: Path
    island: bool
    items: tuple[str, ...]
    joint: Joint

    @property
    def cord_length_mm(self) -> float:
        """Length of cord along the centreline, mm; the joint is a square butt, with nothing added."""
        return self.path.length


@dataclass(frozen=True)
class SealDesign:
    """How the lid is sealed.

    ``problem`` says, in a sentence, why there is no seal at all (an impossible cord, an unknown screw); then there are
    no loops. ``low_mm`` and ``high_mm`` are the groove's heights above the plate's underside.
    """

    kind: str
    gland: Gland | None
    room: Room | None
    plan: GroovePlan
    low_mm: float
    high_mm: float
    cutter_mm: float | None
    screw_axes: tuple[Point, ...]
    problem: str = ""

    @property
    def missing(self) -> tuple[MissingWall, ...]:
        """Walls that the groove does not find."""
        return self.plan.missing

    @cached_property
    def loops(self) -> tuple[SealLoop, ...]:
        """Every closed groove, in lines and arcs. Worked out when asked for: a drag does not need it."""
        found = []
        for part, items in zip(self.plan.sealed.geoms, self.plan.items, strict=True):
            for index, ring in enumerate(rings(part)):
                path = _fitted(ring.tobytes())
                found.append(SealLoop(path, index > 0, items, place_joint(path, self.screw_axes)))
        return tuple(found)

    @property
    def cord_length_mm(self) -> float:
        """Cord for all grooves, mm."""
        return math.fsum(loop.cord_length_mm for loop in self.loops)

    def as_json(self) -> dict[str, Any]:
        """Groove, cord and missing walls as plain values; ``vertices`` are (x, y, bulge)."""
        return {
            "kind": self.kind,
            "problem": self.problem,
            "gland": None if self.gland is None else self.gland.as_json(),
            "low_mm": self.low_mm,
            "high_mm": self.high_mm,
            "cutter_mm": self.cutter_mm,
            "cord_length_mm": round(self.cord_length_mm, 1) if self.kind == "cord" else None,
            "loops": [
                {
                    "items": list(loop.items),
                    "island": loop.island,
                    "length_mm": round(loop.cord_length_mm, 1),
                    "vertices": [[round(x, 4), round(y, 4), round(bulge, 6)] for x, y, bulge in loop.path.vertices()],
                    "joint": [round(loop.joint.at[0], 2), round(loop.joint.at[1], 2)],
                    "joint_straight_mm": round(loop.joint.straight_mm, 1),
                }
                for loop in self.loops
            ],
            "missing": [
                {
                    "why": wall.why,
                    "kind": wall.kind,
                    "items": list(wall.items),
                    "at": [round(wall.at[0], 3), round(wall.at[1], 3)],
                    "value_mm": wall.value_mm,
                    "limit_mm": wall.limit_mm,
                }
                for wall in self.missing
            ],
        }


@lru_cache(maxsize=1024)
def _fitted(ring: bytes) -> Path:
    """A ring's path. Kept: while one thing is dragged the other grooves stay as they are."""
    return fit_path(np.frombuffer(ring).reshape(-1, 2))


def interface_mm(document: Document) -> float:
    """Height of the plane where the lid lies on the body, above the plate's underside."""
    plate = document.plate
    return plate.lid_thickness_mm if plate.lid_face == "bottom" else plate.body_thickness_mm


def gland_of(document: Document) -> tuple[Gland | None, str]:
    """The groove in section, and why there is none where it cannot be; it needs no shapes. None for other seals."""
    if document.seal.kind != "cord":
        return None, ""
    try:
        return _gland(document), ""
    except SealError as error:
        return None, str(error)


def design_seal(document: Document, shapes: Shapes) -> SealDesign:
    """The seal for a document; never raises for what a document can hold, ``problem`` says what is impossible."""
    seal = document.seal
    gland, problem = gland_of(document)
    low, high = groove_heights(document, gland)
    axes = tuple((hole.x_mm, hole.y_mm) for hole in document.holes if hole.use == "lid")
    if problem:
        return SealDesign(seal.kind, None, None, _EMPTY, low, high, None, axes, problem)
    room = room_of(document, gland)
    wet = wet_at_lid(document, shapes, low, high)
    screw = screw_of(document)
    head = None if screw is None or seal.kind == "bonded" else screw.cap_head.diameter_mm + DRIVER_ROOM_MM
    plate = valid(shapes.plate_polygon)
    if plate.geom_type != "Polygon":
        return SealDesign(
            seal.kind, gland, room, _EMPTY, low, high, None, axes, "the plate's outline crosses itself: fix it first"
        )
    assert isinstance(plate, Polygon)
    around = {id_ for id_, area in wet.items() if not area.is_empty}
    plan = plan_grooves(wet, list(_obstacles(document, shapes, low, high, around)), plate, room, screw_room_mm=head)
    cutter = None if gland is None else groove_cutter_mm(gland, tuple(document.shop.cutter_diameters_mm))
    return SealDesign(seal.kind, gland, room, plan, low, high, cutter, axes)


def _gland(document: Document) -> Gland:
    seal, plate = document.seal, document.plate
    gland = design_gland(
        seal.cord_mm,
        squeeze=seal.squeeze_percent / 100,
        fill=seal.fill_percent / 100,
        cord_tolerance_mm=seal.cord_tolerance_mm,
        depth_tolerance_mm=seal.depth_tolerance_mm,
        width_tolerance_mm=min(document.shop.tolerance_mm, 0.2),
        hardness_shore_a=seal.hardness_shore_a,
    )
    if gland.depth_mm + LEAST_FLOOR_MM > plate.body_thickness_mm:
        raise SealError(
            f"a cord of {seal.cord_mm:g} mm needs a groove {gland.depth_mm:g} mm deep with {LEAST_FLOOR_MM:g} mm left"
            f" under it: the body of {plate.body_thickness_mm:g} mm is too thin; take a thinner cord or a thicker body"
        )
    return gland


def groove_heights(document: Document, gland: Gland | None) -> tuple[float, float]:
    """Low and high end of the groove above the plate's underside, mm; the joint's plane without one."""
    plane, depth = interface_mm(document), gland.depth_mm if gland else 0.0
    return (plane, plane + depth) if document.plate.lid_face == "bottom" else (plane - depth, plane)


def room_of(document: Document, gland: Gland | None) -> Room:
    """What groove, gasket or bond need in plan."""
    wall = document.seal.wall_mm
    if gland is not None:
        join = {"apart": 0.0, "shared": _screw_between_mm(document, gland.width_mm), "one": math.inf}
        return Room(
            gland.width_mm,
            gland.centreline_radius_mm,
            wall,
            max(wall, document.shop.least_wall_mm),
            wall,
            join[document.seal.grooves],
        )
    width = GASKET_MM if document.seal.kind == "gasket" else BOND_MM
    # A gasket is cut and a bond is glued: neither bends, so its centreline only needs its own half width.
    return Room(width, width / 2, 0.5, 0.5, 0.5)


def _screw_between_mm(document: Document, width_mm: float) -> float:
    """From centreline to centreline of two grooves with a row of screws between them."""
    screw = screw_of(document)
    hole = screw.clearance_mm if screw is not None else 4.5
    return width_mm + 2 * document.seal.wall_mm + hole + 0.2


def wet_at_lid(document: Document, shapes: Shapes, low: float, high: float) -> dict[str, BaseGeometry]:
    """Outlines of all the water the groove must go around, by item id.

    That is what holds water in the plane where the lid lies on the body, and also threads and bores of ports on a broad
    face that end so near above the groove (between ``low`` and ``high``, mm) that too thin a floor would be left: they
    are drawn in by what the height between already gives. One that is narrower than that is left empty: the groove may
    pass over it, and keeps its wall from it in space.
    """
    found: dict[str, BaseGeometry] = {}
    for prism, drawn_in in wet_prisms(document, shapes, low, high):
        shape = valid(prism.polygon)
        if drawn_in > 0:
            shape = shape.buffer(-drawn_in)
        found[prism.id] = found[prism.id].union(shape) if prism.id in found else shape
    return found


def wet_prisms(document: Document, shapes: Shapes, low: float, high: float) -> Iterator[tuple[Prism, float]]:
    """The prisms that ``wet_at_lid`` goes around, each with how far it is drawn in, mm."""
    plane, wall = interface_mm(document), document.seal.wall_mm
    near = (piece for prism in shapes.further if prism.wet for piece in _pieces(prism, low - wall, high + wall))
    for prism in (*shapes.prisms, *near):
        if not prism.wet:
            continue
        if _opens(prism, plane):
            yield prism, 0.0
            continue
        gap = max(prism.low - high, low - prism.high, 0.0)
        if gap < wall and not _crosses(shapes, prism):
            yield prism, wall - math.sqrt(wall**2 - gap**2)


def _opens(prism: Prism, plane: float) -> bool:
    return prism.low <= plane + 1e-6 and prism.high >= plane - 1e-6


def _crosses(shapes: Shapes, prism: Prism) -> bool:
    """Whether the groove has to pass over the prism: an edge port's bore runs out under it."""
    port = shapes.ports.get(prism.id)
    return port is not None and port.heading is not None


def valid(area: BaseGeometry) -> BaseGeometry:
    """An area whose outline does not cross itself."""
    return area if area.is_valid else area.buffer(0)


def _obstacles(
    document: Document, shapes: Shapes, low: float, high: float, around: Collection[str]
) -> Iterator[Obstacle]:
    """What the groove keeps clear of; ``around``: the wet items that it goes around."""
    plane, wall = interface_mm(document), document.seal.wall_mm
    lid_screws = {hole.id for hole in document.holes if hole.use == "lid"}
    for prism in _dry_and_under(shapes, lid_screws, around, low - wall, high + wall):
        opens, crosses = _opens(prism, plane), prism.wet and _crosses(shapes, prism)
        if prism.wet and not crosses and (opens or prism.id in around):
            continue
        wider = _clearance_beyond(shapes, prism) if prism.id in lid_screws and prism.part == "hole" and opens else 0.0
        least = min(wall, UNDER_WALL_MM) if crosses else wall + wider
        gap = max(prism.low - high, low - prism.high, 0.0)
        if gap >= least - 1e-9 and not opens:
            continue
        yield Obstacle(
            prism.id,
            prism.part,
            valid(prism.polygon),
            least,
            through=opens,
            gap_mm=0.0 if opens else gap,
            screw=prism.id in lid_screws,
        )


def _dry_and_under(
    shapes: Shapes, lid_screws: set[str], around: Collection[str], low: float, high: float
) -> Iterator[Prism]:
    """All prisms, threads that are wider than their drill, and between two heights cones in pieces: drill points, and
    countersinks. A lid screw's thread lies within its way through the lid, which has its wall."""
    for prism in shapes.prisms:
        if prism.wet or not isinstance(prism.solid, Cone):
            yield prism
        else:
            yield from _pieces(prism, low, high)
    for prism in shapes.further:
        gone_around = prism.id in around if prism.wet else prism.id in lid_screws and prism.solid is None
        if not gone_around:
            yield from _pieces(prism, low, high)


def _pieces(prism: Prism, low: float, high: float) -> Iterator[Prism]:
    """A prism; or the discs of a cone, those between two heights."""
    cone = prism.solid
    if not isinstance(cone, Cone):
        yield prism
        return
    for share in np.linspace(0.0, 1.0, CONE_PIECES):
        z = cone.low + float(share) * (cone.high - cone.low)
        radius = cone.low_radius + float(share) * (cone.high_radius - cone.low_radius)
        if low < z < high:
            disc = discs([cone.at], [max(radius, 1e-3)])[0]
            yield Prism(prism.id, prism.part, disc, z, z, Point_(cone.at), radius)


def _clearance_beyond(shapes: Shapes, prism: Prism) -> float:
    """How much wider a tapped lid screw's hole is in the lid than in the body, on the radius."""
    hole = shapes.holes[prism.id]
    return max(0.0, (hole.screw.clearance_mm - hole.diameter) / 2) if hole.screw else 0.0


def screw_of(document: Document) -> Screw | None:
    """The lid screws' size; none where no table has it."""
    name = document.seal.screw
    return screw_table.screw(name) if name in screw_table.names() else None
