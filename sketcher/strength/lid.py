"""Lid, floor and screws of one document under its pressures.

Pressures: the pump's dead-head (its largest pressure at no flow; pumps in series add up), which a blocked loop keeps
up for years, and the test pressure, for an hour. Against the first stands the low end of the material's long-term
design stress and its modulus after creep; against the second the high end, and the modulus as measured.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import Any, Literal

from shapely.geometry import MultiPolygon, Polygon
from shapely.ops import unary_union

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.reference import materials
from sketcher.reference import screws as screw_table
from sketcher.strength import notch, threads
from sketcher.strength.clamping import Clamping, Lid, clamp
from sketcher.strength.flat_plate import PlateResult, Span, largest_span, needed_thickness_mm, pressed_plate
from sketcher.strength.gland import FORCE_SCATTER, Gland, line_load_n_mm
from sketcher.strength.seal import LEAST_FLOOR_MM, SealDesign, design_seal

#: The modulus after years under load, as a share of the measured one. Common practice, no source.
CREEP_SHARE = 0.5
#: Corner that a flat cutter leaves at the bottom of a channel, mm. Common practice, no source.
CUTTER_CORNER_MM = 0.2
#: A screw farther outside its least distance from the groove than this, in diameters, does not hold it there.
#: Common practice, no source.
REACH_DIAMETERS = 1.5
#: What stands in for a material without a row of its own.
KNOWN_MATERIAL = "cast acrylic"
#: Pressure of a loop without a pump curve, kPa: about 4 m of water. Common practice, no source.
USUAL_DEAD_HEAD_KPA = 40.0


@dataclass(frozen=True)
class Load:
    """One pressure and what it is held against."""

    name: Literal["dead-head", "test"]
    pressure_kpa: float
    design_stress_mpa: float
    modulus_mpa: float


@dataclass(frozen=True)
class Bent:
    """A lid or a floor under one load: its span, the plate's result, notch factor, stress allowed, thickness needed."""

    what: Literal["lid", "floor"]
    load: Load
    items: tuple[str, ...]
    thickness_mm: float
    span: Span
    plate: PlateResult
    notch_factor: float
    needed_mm: float

    @property
    def stress_mpa(self) -> float:
        """Largest stress, the notch's share included, MPa."""
        return self.plate.stress_mpa * self.notch_factor


@dataclass(frozen=True)
class Clamped:
    """One sealed part held down by its screws under one load."""

    load: Load
    items: tuple[str, ...]
    clamping: Clamping
    squeeze_left: float | None
    thread_n: float
    screw_thread_mm: float


@dataclass(frozen=True)
class LidReport:
    """Everything that bends or pulls."""

    loads: tuple[Load, ...]
    bent: tuple[Bent, ...]
    clamped: tuple[Clamped, ...]
    material: str
    material_known: bool

    def as_json(self) -> dict[str, Any]:
        """Plain values; an endless strip's long side is null."""
        return {
            "material": self.material,
            "material_known": self.material_known,
            "loads": [asdict(load) for load in self.loads],
            "bent": [
                {
                    "what": row.what,
                    "load": row.load.name,
                    "pressure_kpa": row.load.pressure_kpa,
                    "items": list(row.items),
                    "at": [round(row.span.at[0], 2), round(row.span.at[1], 2)],
                    "short_span_mm": round(row.span.b_mm, 2),
                    "long_span_mm": None if math.isinf(row.span.a_mm) else round(row.span.a_mm, 2),
                    "thickness_mm": row.thickness_mm,
                    "edges": row.plate.edges,
                    "stress_mpa": round(row.stress_mpa, 3),
                    "design_stress_mpa": row.load.design_stress_mpa,
                    "notch_factor": round(row.notch_factor, 2),
                    "deflection_mm": round(row.plate.deflection_mm, 4),
                    "needed_thickness_mm": round(row.needed_mm, 2),
                    "source": row.plate.source,
                }
                for row in self.bent
            ],
            "clamped": [
                {
                    "load": row.load.name,
                    "items": list(row.items),
                    "screws": [
                        {
                            "id": screw.id,
                            "cord_n": round(screw.cord_n, 1),
                            "pressure_n": round(screw.pressure_n, 1),
                            "total_n": round(screw.total_n, 1),
                        }
                        for screw in row.clamping.loads
                    ],
                    "widest_gap_mm": round(max((gap.along_mm for gap in row.clamping.gaps), default=0.0), 1),
                    "opening_mm": round(max((gap.opening_mm for gap in row.clamping.gaps), default=0.0), 4),
                    "squeeze_left_percent": None if row.squeeze_left is None else round(100 * row.squeeze_left, 1),
                    "thread_holds_n": round(row.thread_n, 1),
                    "thread_mm": round(row.screw_thread_mm, 2),
                    "unheld": [[round(x, 2), round(y, 2)] for x, y in row.clamping.unheld],
                }
                for row in self.clamped
            ],
        }


def dead_head_kpa(document: Document) -> float:
    """The pumps' pressure at no flow, kPa: the largest of each curve at its speed, added up when in series.

    Pressure goes with the square of the speed (affinity law). A curve that does not begin at no flow counts with its
    largest point. Without any curve ``USUAL_DEAD_HEAD_KPA`` stands in.
    """
    heads = [
        max(point.pressure_kpa for point in device.curve) * (device.speed_percent / 100) ** 2
        for device in document.devices
        if device.kind == "pump" and device.curve
    ]
    if not heads:
        return USUAL_DEAD_HEAD_KPA
    return max(heads) if document.loop.pumps == "parallel" else sum(heads)


def loads_of(document: Document) -> tuple[tuple[Load, Load], bool]:
    """Dead-head and test loads with the plate's material, and whether the tables know that material."""
    known = document.plate.material in materials.names()
    material = materials.material(document.plate.material if known else KNOWN_MATERIAL)
    modulus = material["modulus_gpa"].low * 1000
    stress = material["design_stress_mpa"]
    return (
        Load("dead-head", dead_head_kpa(document), stress.low, CREEP_SHARE * modulus),
        Load("test", document.loop.test_pressure_kpa, stress.high, modulus),
    ), known


def lid_report(document: Document, shapes: Shapes, seal: SealDesign | None = None) -> LidReport:
    """Bending of lid and floors, forces on the lid's screws and what is left of the cord's squeeze."""
    seal = seal or design_seal(document, shapes)
    loads, known = loads_of(document)
    parts = _pressed_parts(seal)
    floors = _floor_spans(document, shapes)
    bent = [row for load in loads for row in (*_lids(document, seal, parts, load), *_floors(document, floors, load))]
    clamped = [row for load in loads for row in _clamped(document, seal, parts, load)]
    return LidReport(loads, tuple(bent), tuple(clamped), document.plate.material, known)


@dataclass(frozen=True)
class _Pressed:
    part: Polygon
    items: tuple[str, ...]
    span: Span


def _pressed_parts(seal: SealDesign) -> list[_Pressed]:
    found = []
    for part, items in zip(seal.plan.sealed.geoms, seal.plan.items, strict=True):
        span = largest_span(part)
        if span is not None:
            found.append(_Pressed(part, items, span))
    return found


def _lids(document: Document, seal: SealDesign, parts: list[_Pressed], load: Load) -> list[Bent]:
    """The lid where it is bent most, from screw line to screw line."""
    thickness = document.plate.lid_thickness_mm
    beyond = 0.0 if seal.room is None or seal.kind == "bonded" else _to_screws(document, seal)
    found = []
    for pressed in parts:
        span = pressed.span.widened(beyond)
        result = pressed_plate(span, thickness, load.pressure_kpa, load.modulus_mpa, "simply supported")
        needed = needed_thickness_mm(span, load.pressure_kpa, load.design_stress_mpa, "simply supported")
        found.append(Bent("lid", load, pressed.items, thickness, span, result, 1.0, needed))
    worst = max(found, key=lambda row: row.stress_mpa, default=None)
    return [worst] if worst else []


def _to_screws(document: Document, seal: SealDesign) -> float:
    """From the groove's centreline to the line of the screws, mm."""
    assert seal.room is not None
    name = document.seal.screw
    hole = screw_table.screw(name).clearance_mm if name in screw_table.names() else 4.5
    return seal.room.width_mm / 2 + seal.room.wall_mm + hole / 2


def _floor_spans(document: Document, shapes: Shapes) -> list[tuple[float, tuple[str, ...], Span]]:
    """Channel depths, the channels of each, and what their water spans together."""
    by_depth: dict[float, list[str]] = {}
    for name, channel in shapes.channels.items():
        by_depth.setdefault(channel.item.depth_mm, []).append(name)
    found = []
    for depth, names in by_depth.items():
        water = unary_union([shapes.channels[name].polygon for name in names])
        span = largest_span(water) if isinstance(water, Polygon | MultiPolygon) else None
        if span is not None and depth < document.plate.body_thickness_mm:  # else another rule says: nothing is left
            found.append((depth, tuple(names), span))
    return found


def _floors(document: Document, spans: list[tuple[float, tuple[str, ...], Span]], load: Load) -> list[Bent]:
    """The weakest floor: the body left under a channel, as a plate with fixed edges as wide as the water."""
    full = document.plate.body_thickness_mm
    found = []
    for depth, names, span in spans:
        left = full - depth
        result = pressed_plate(span, left, load.pressure_kpa, load.modulus_mpa, "fixed")
        factor = notch.corner_factor(full, left, CUTTER_CORNER_MM)
        needed = needed_thickness_mm(span, load.pressure_kpa, load.design_stress_mpa / factor, "fixed")
        found.append(Bent("floor", load, names, left, span, result, factor, needed))
    worst = max(found, key=lambda row: row.stress_mpa, default=None)
    return [worst] if worst else []


def _clamped(document: Document, seal: SealDesign, parts: list[_Pressed], load: Load) -> list[Clamped]:
    if seal.room is None or seal.kind == "bonded":
        return []
    screws = {hole.id: (hole.x_mm, hole.y_mm) for hole in document.holes if hole.use == "lid"}
    name = document.seal.screw
    if not screws or name not in screw_table.names():
        return []
    thread = screw_thread_mm(document)
    form = threads.thread_form(name)
    holds = threads.holding_force_n(form, thread, load.design_stress_mpa) if thread > 0 else 0.0
    lid = Lid(document.plate.lid_thickness_mm, load.modulus_mpa)
    force = 0.0 if seal.gland is None else lift_line_load_n_mm(seal.gland, document.seal.hardness_shore_a)
    reach = _to_screws(document, seal) + REACH_DIAMETERS * form.major_mm
    found = []
    for pressed in parts:
        result = clamp(
            pressed.part,
            screws,
            lid=lid,
            line_load_n_mm=force,
            pressure_kpa=load.pressure_kpa,
            reach_mm=reach,
            span=pressed.span,
        )
        opening = max((gap.opening_mm for gap in result.gaps), default=0.0)
        left = None if seal.gland is None else seal.gland.squeeze.least - opening / seal.gland.cord_mm
        found.append(Clamped(load, pressed.items, result, left, holds, thread))
    return found


def lift_line_load_n_mm(gland: Gland, hardness_shore_a: float) -> float:
    """The cord's force where the lid must not lift: thinnest cord in the deepest groove, with the published scatter."""
    squeeze = min(max(gland.squeeze.least, 0.0), 0.5)
    return FORCE_SCATTER * line_load_n_mm(gland.cord_mm - gland.cord_tolerance_mm, squeeze, hardness_shore_a)


def screw_thread_mm(document: Document) -> float:
    """Full thread of the lid screws in the body, mm: the least of those drawn."""
    plate, name = document.plate, document.seal.screw
    form = threads.thread_form(name)
    lengths = []
    for hole in document.holes:
        if hole.use != "lid":
            continue
        if hole.kind == "tapped" and hole.depth_mm is not None:
            depth = hole.depth_mm - plate.lid_thickness_mm
        else:
            depth = plate.body_thickness_mm if hole.depth_mm is None else plate.body_thickness_mm - LEAST_FLOOR_MM
        lengths.append(threads.engaged_mm(form, min(depth, plate.body_thickness_mm), 2 * form.major_mm))
    return min(lengths, default=0.0)
