"""Screw holes: their diameter, thread, the recess of a sunk head, the drill's point, the wider way through the lid."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import cast

import numpy as np
import shapely
from shapely import Geometry, Polygon

from sketcher.document import Document
from sketcher.document.plate import Hole
from sketcher.document.remembered import Remembered
from sketcher.geometry.levels import joint_mm, lid_heights
from sketcher.geometry.outline_contours import Contour, round_contour, slot_contour
from sketcher.geometry.path import Point
from sketcher.geometry.prisms import Cone, Face, Prism, point_mm
from sketcher.geometry.rounds import discs, polygon_of, quad_segs
from sketcher.reference import screws
from sketcher.reference.screws import Screw
from sketcher.reference.tables import UnknownEntry


@dataclass(frozen=True)
class HoleShape:
    """A screw hole, its diameter and its head's recess.

    ``further`` is what the hole cuts beside its prism: a thread as wide as its screw, a drill's point, and the
    wider way of a lid screw through the lid.
    """

    item: Hole
    contour: Contour
    screw: Screw | None
    diameter: float
    prism: Prism
    head: Prism | None
    further: tuple[Prism, ...] = ()

    @property
    def blind(self) -> bool:
        """Whether it ends in the plate."""
        return self.item.kind == "tapped" and self.item.depth_mm is not None


_shapes: Remembered[HoleShape] = Remembered()


def hole_shapes(document: Document, thickness: float) -> dict[str, HoleShape]:
    """Every screw hole of the document, by id. ``thickness`` is the plate's, body and lid together, mm."""
    wanted = [((hole, document.plate), thickness) for hole in document.holes]
    found = _shapes.all(wanted, lambda new: _made(document, thickness, [document.holes[n] for n in new]).values())
    return {shape.item.id: shape for shape in found}


def _made(document: Document, thickness: float, items: Sequence[Hole]) -> dict[str, HoleShape]:
    known = [_screw(hole.screw) for hole in items]
    sizes = [_diameter(hole, screw) for hole, screw in zip(items, known, strict=True)]
    places = [(hole.x_mm, hole.y_mm) for hole in items]
    rounds = discs(places, [size / 2 for size in sizes])
    # All at once: shapely is quick over arrays and slow one by one.
    wider = discs(places, [screw.clearance_mm / 2 if screw else 1.0 for screw in known])
    threads = discs(places, [screw.major_mm / 2 if screw else 1.0 for screw in known])
    points = np.asarray(shapely.points(np.array(places, dtype=float).reshape(-1, 2)), dtype=object)
    found = {}
    for hole, screw, size, place, disc, wide, thread, point in zip(
        items, known, sizes, places, rounds, wider, threads, points, strict=True
    ):
        outline, polygon = round_contour(place, size / 2), disc
        core: Geometry = point
        if hole.slot_length_mm is not None and hole.slot_length_mm > size:
            outline = slot_contour(place, hole.slot_length_mm, size, math.radians(hole.turn_deg))
            polygon, core = polygon_of(outline), _slot_core(hole, size)
        low, high, faces = _heights(document, hole, thickness)
        prism = Prism(hole.id, "hole", polygon, low, high, core, size / 2, None, *faces)
        shape = HoleShape(hole, outline, screw, size, prism, _head(document, hole, screw, place, thickness))
        found[hole.id] = replace(shape, further=tuple(_further(document, shape, wide, thread)))
    return found


def _slot_core(hole: Hole, size: float) -> Geometry:
    half, turn = ((hole.slot_length_mm or size) - size) / 2, math.radians(hole.turn_deg)
    dx, dy = half * math.cos(turn), half * math.sin(turn)
    return shapely.LineString([(hole.x_mm - dx, hole.y_mm - dy), (hole.x_mm + dx, hole.y_mm + dy)])


def _heights(document: Document, hole: Hole, thickness: float) -> tuple[float, float, tuple[Face, Face]]:
    """Low and high of a hole, and the faces they are given from."""
    lid_below = document.plate.lid_face == "bottom"
    below: Face = "lid" if lid_below else "body"
    above: Face = "body" if lid_below else "lid"
    if hole.kind != "tapped" or hole.depth_mm is None or hole.depth_mm >= thickness:
        return 0.0, thickness, (below, above)
    # A lid screw's depth is counted through the lid, but its thread is tapped from the joint face.
    face: Face = below if hole.face == "bottom" else above
    ends: Face = "joint" if face == "lid" else face
    if hole.face == "top":
        return max(thickness - hole.depth_mm, 0.0), thickness, (ends, above)
    return 0.0, min(hole.depth_mm, thickness), (below, ends)


def _screw(name: str) -> Screw | None:
    try:
        return screws.screw(name)
    except UnknownEntry:
        return None


def _diameter(hole: Hole, screw: Screw | None) -> float:
    if hole.diameter_mm is not None:
        return hole.diameter_mm
    if screw is None:
        return 4.5
    return screw.tap_drill_mm if hole.kind == "tapped" else screw.clearance_mm


def _head(document: Document, hole: Hole, screw: Screw | None, place: Point, thickness: float) -> Prism | None:
    """The recess of a sunk head: a cylinder, or the 90 degree cone of a countersink."""
    if screw is None or hole.kind not in ("countersunk", "counterbored"):
        return None
    head = screw.countersunk_head if hole.kind == "countersunk" and screw.countersunk_head else screw.cap_head
    radius = head.diameter_mm / 2
    low, high = (thickness - head.height_mm, thickness) if hole.face == "top" else (0.0, head.height_mm)
    face: Face = "lid" if hole.face == document.plate.lid_face else "body"
    cone = None
    if head is screw.countersunk_head:
        inner = max(radius - head.height_mm, 0.0)
        radii = (inner, radius) if hole.face == "top" else (radius, inner)
        cone = Cone(place, low, radii[0], high, radii[1])
    disc = discs([place], [radius])[0]
    return Prism(hole.id, "head", disc, low, high, shapely.Point(place), radius, cone, face, face)


def _further(document: Document, shape: HoleShape, wide: Polygon, thread: Polygon) -> Iterator[Prism]:
    hole, prism = shape.item, shape.prism
    lid = hole.face == document.plate.lid_face
    if hole.kind == "tapped" and shape.screw is not None and shape.screw.major_mm / 2 > prism.radius:
        # The tap cuts its thread into the wall of the drilled hole.
        radius = shape.screw.major_mm / 2
        yield replace(prism, polygon=_around(hole, prism, radius, thread), radius=radius)
    if shape.blind and hole.drill_end == "point" and hole.slot_length_mm is None:
        length, radius = point_mm(shape.diameter), shape.diameter / 2
        # A blind hole drilled from outside ends at the joint at the latest: body and lid are drilled apart.
        joint = joint_mm(document)
        if hole.face == "top":
            floor = joint if prism.low >= joint else 0.0
            low, high = max(prism.low - length, floor), prism.low
        else:
            ceiling = joint if prism.high <= joint else float("inf")
            low, high = prism.high, min(prism.high + length, ceiling)
        left = radius * (1 - (high - low) / length)
        if high - low > 1e-6:
            radii = (left, radius) if hole.face == "top" else (radius, left)
            face = prism.low_from if hole.face == "top" else prism.high_from
            cone = Cone((hole.x_mm, hole.y_mm), low, radii[0], high, radii[1])
            yield Prism(hole.id, "hole", prism.polygon, low, high, prism.core, radius, cone, face, face)
    if hole.kind == "tapped" and hole.use == "lid" and shape.screw is not None and lid:
        wider = shape.screw.clearance_mm / 2
        if wider > prism.radius and prism.core is not None:
            low, high = lid_heights(document)
            faces: tuple[Face, Face] = ("lid", "joint") if low == 0.0 else ("joint", "lid")
            around = _around(hole, prism, wider, wide)
            yield Prism(hole.id, "hole", around, low, high, prism.core, wider, None, *faces)


def _around(hole: Hole, prism: Prism, radius: float, disc: Polygon) -> Polygon:
    """A disc about a hole's middle; about all of a slot."""
    if hole.slot_length_mm is None:
        return disc
    return cast(Polygon, shapely.buffer(prism.core, radius, quad_segs=quad_segs(radius)))
