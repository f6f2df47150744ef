"""What is taken out of body and lid, as plain bodies with heights: for the solid, and for the plan's own volume.

Threads are nominal: the hole has the tap drill's diameter as deep as the thread goes, and the bore's beyond it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.export.operations import Operation, Part, operations, parts_of
from sketcher.export.setups import AREAS, once_round
from sketcher.geometry import Shapes
from sketcher.geometry.path import Path, Point, circle, from_vertices
from sketcher.geometry.regions import area, as_polygon, together, union
from sketcher.strength.seal import SealDesign
from sketcher.strength.taps import run_out_mm

_EPS = 1e-6
_WELL_INSIDE_MM = 0.01


@dataclass(frozen=True)
class Prism:
    """An upright recess: its rings (outer first), from ``low`` to ``high`` mm above the plate's underside."""

    rings: tuple[Path, ...]
    low: float
    high: float
    item: str
    what: str


@dataclass(frozen=True)
class Cone:
    """A countersink: its radii (mm) at ``low`` and at ``high``."""

    at: Point
    low: float
    high: float
    low_radius: float
    high_radius: float
    item: str


@dataclass(frozen=True)
class Barrel:
    """A bore that lies: from outside the edge (``start``) along ``heading`` for ``length`` mm, axis at ``level``."""

    start: Point
    heading: Point
    length: float
    level: float
    radius: float
    item: str


@dataclass(frozen=True)
class Threaded:
    """A threaded hole's name, to be written on its wall: the drill's radius, where its axis is and how it lies."""

    name: str
    at: Point
    level: float
    radius: float
    upright: bool


@dataclass(frozen=True)
class Recessed:
    """A part with all that is taken out of it. Places are on the floor, heights above the plate's underside, mm."""

    part: Part
    outline: Path
    prisms: tuple[Prism, ...]
    cones: tuple[Cone, ...]
    barrels: tuple[Barrel, ...]
    threads: tuple[Threaded, ...]


def recessed(document: Document, shapes: Shapes, seal: SealDesign) -> tuple[Recessed, Recessed]:
    """Body and lid.

    Raises:
        ExportError: an outline crosses itself; the message names the item.
    """
    made = operations(document, shapes, seal)
    once_round(made)
    body, lid = parts_of(document)
    return _part(body, made, shapes), _part(lid, made, shapes)


def _part(part: Part, made: Sequence[Operation], shapes: Shapes) -> Recessed:
    here = [op for op in made if op.part == part]
    prisms = list(_areas([op for op in here if op.kind in AREAS]))
    cones: list[Cone] = []
    threads: list[Threaded] = []
    for op in here:
        if op.kind in AREAS:
            continue
        if op.kind == "thread":
            prisms += _drilled(op, shapes, threads)
        elif op.kind == "countersink":
            cones.append(_cone(op, shapes))
        else:
            prisms.append(Prism(op.rings(), op.low, op.high, op.item, op.kind))
            if op.kind == "tap" and op.contour.round is not None:
                threads.append(_tapped(op, shapes))
    barrels: list[Barrel] = []
    for id_, port in shapes.ports.items():
        if port.heading is None or not part.low < port.rise < part.high:
            continue
        depth = math.dist(port.at, port.root)
        barrels.append(_barrel(id_, port.at, port.heading, depth, port.rise, port.bore_diameter))
        if port.thread is not None:
            drill = port.thread.tap_drill_mm
            if drill > port.bore_diameter + _EPS:
                reach = port.item.thread_depth_mm
                barrels.append(_barrel(id_, port.at, port.heading, reach, port.rise, drill))
            name = f"{id_} {port.thread.name} thread {port.item.thread_depth_mm:g} deep"
            threads.append(Threaded(name, port.at, port.rise, max(drill, port.bore_diameter) / 2, False))
    return Recessed(part, shapes.plate.path, tuple(prisms), tuple(cones), tuple(barrels), tuple(threads))


def _areas(areas: Sequence[Operation]) -> list[Prism]:
    """Channels and pockets: those between the same heights as one union."""
    found = []
    for low, high in dict.fromkeys((round(op.low, 6), round(op.high, 6)) for op in areas):
        same = [op for op in areas if (round(op.low, 6), round(op.high, 6)) == (low, high)]
        name = "+".join(dict.fromkeys(op.item for op in same))
        found += [Prism(region.rings(), low, high, name, "area") for region in union([op.rings() for op in same])]
    return found


def _drilled(op: Operation, shapes: Shapes, threads: list[Threaded]) -> list[Prism]:
    port = shapes.ports[op.item]
    assert port.thread is not None
    drill = port.thread.tap_drill_mm
    name = f"{op.item} {port.thread.name} thread {port.item.thread_depth_mm:g} deep"
    threads.append(Threaded(name, port.at, op.low, max(drill, port.bore_diameter) / 2, True))
    if drill <= port.bore_diameter + _EPS:
        return []
    return [Prism((circle(port.at, drill / 2),), op.low, op.high, op.item, "thread")]


def _tapped(op: Operation, shapes: Shapes) -> Threaded:
    screw = shapes.holes[op.item].screw
    assert op.contour.round is not None
    at, radius = op.contour.round
    lead = 0.0 if op.side == "through" or screw is None else run_out_mm(screw, shapes.document.seal.run_out)
    size = op.size.split("_")[0]
    return Threaded(f"{op.item} {size} thread {max(op.depth - lead, 0.0):g} deep", at, op.low, radius, True)


def _cone(op: Operation, shapes: Shapes) -> Cone:
    """ISO 10642: 90 degrees, so that each millimetre of depth takes a millimetre off the radius."""
    assert op.contour.round is not None
    at, radius = op.contour.round
    hole = shapes.holes[op.item]
    assert hole.head is not None
    from_top = hole.item.face == "top"
    # In the part that lies deeper the cone goes on where the upper one ends.
    start = hole.head.high if from_top else hole.head.low

    def at_height(z: float) -> float:
        return max(radius - abs(z - start), 0.0)

    return Cone(at, op.low, op.high, at_height(op.low), at_height(op.high), op.item)


def _barrel(item: str, at: Point, heading: Point, depth: float, level: float, diameter: float) -> Barrel:
    # The drill comes from outside: on an edge that is not square to it the mouth has to be cut free.
    start = (at[0] - diameter * heading[0], at[1] - diameter * heading[1])
    return Barrel(start, heading, depth + diameter, level, diameter / 2, item)


def volume_mm3(part: Recessed) -> float:
    """The part's volume from its plan alone: areas of unions, level by level; by Gauss where they change.

    It knows nothing of the solid, whose volume has to be the same.
    """
    low, high = part.part.low, part.part.high
    levels = {low, high}
    spans = [(p.low, p.high) for p in part.prisms] + [(c.low, c.high) for c in part.cones]
    levels |= {min(max(level, low), high) for span in spans for level in span}
    for barrel in part.barrels:
        # Where a cylinder is steep its width changes like a root: finer slices there.
        for share in np.sin(np.linspace(-math.pi / 2, math.pi / 2, 9)):
            levels.add(min(max(barrel.level + barrel.radius * float(share), low), high))
    ordered = sorted(levels)
    nodes, weights = np.polynomial.legendre.leggauss(6)
    total, known = 0.0, _Known(part.outline)
    for bottom, top in pairwise(ordered):
        if top - bottom < 1e-9:
            continue
        middle, half = (bottom + top) / 2, (top - bottom) / 2
        curved = any(c.low < middle < c.high for c in part.cones) or any(
            abs(middle - b.level) < b.radius for b in part.barrels
        )
        heights = (
            [(middle, 2.0)] if not curved else [(middle + half * n, w) for n, w in zip(nodes, weights, strict=True)]
        )
        total += half * math.fsum(float(weight) * _left_at(part, float(height), known) for height, weight in heights)
    return total


class _Known:
    """What the levels of one part have in common: the polygons of its prisms, and what each cluster of them removes."""

    def __init__(self, outline: Path) -> None:
        #: Well inside the outline: what lies here is all taken from the material.
        self.within = as_polygon((outline,)).buffer(-_WELL_INSIDE_MM)
        shapely.prepare(self.within)
        self.polygons: dict[int, BaseGeometry] = {}
        self.removed: dict[tuple[int, ...], float] = {}


def _left_at(part: Recessed, height: float, known: _Known) -> float:
    """The area of material at a height, mm²."""
    gone: list[tuple[int | None, tuple[Path, ...]]] = [
        (n, prism.rings) for n, prism in enumerate(part.prisms) if prism.low < height < prism.high
    ]
    for cone in part.cones:
        if cone.low < height < cone.high:
            share = (height - cone.low) / (cone.high - cone.low)
            radius = cone.low_radius + share * (cone.high_radius - cone.low_radius)
            if radius > 1e-6:
                gone.append((None, (circle(cone.at, radius),)))
    for barrel in part.barrels:
        square = barrel.radius**2 - (height - barrel.level) ** 2
        if square > 0:
            gone.append((None, (_strip(barrel, math.sqrt(square)),)))
    for n, rings in gone:
        if n is not None and n not in known.polygons:
            known.polygons[n] = as_polygon(rings)
    polygons = [as_polygon(rings) if n is None else known.polygons[n] for n, rings in gone]
    removed = []
    for members in together(polygons):
        names = [gone[m][0] for m in members]
        key = tuple(n for n in names if n is not None)
        if len(key) == len(names) and key in known.removed:
            removed.append(known.removed[key])
            continue
        shapes = [gone[m][1] for m in members]
        if all(known.within.contains(polygons[m]) for m in members):
            removed.append(area(shapes))
        else:  # what is gone outside the outline is no loss
            removed.append(abs(part.outline.area) + area(shapes) - area([(part.outline,), *shapes]))
        if len(key) == len(names):
            known.removed[key] = removed[-1]
    return abs(part.outline.area) - math.fsum(removed)


def _strip(barrel: Barrel, half: float) -> Path:
    (x, y), (hx, hy) = barrel.start, barrel.heading
    ex, ey = x + barrel.length * hx, y + barrel.length * hy
    corners = [(x + half * hy, y - half * hx), (ex + half * hy, ey - half * hx), (ex - half * hy, ey + half * hx),
               (x - half * hy, y + half * hx)]  # fmt: skip
    return from_vertices([(u, v, 0.0) for u, v in corners], closed=True).counter_clockwise()
