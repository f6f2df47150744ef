"""Lid, floor and screws of one document under its pressures.

Pressures: the pump's dead-head (its largest pressure at no flow; pumps in series add up), which a blocked loop keeps
up for years, and the test pressure, for an hour. Against the first stands the low end of the material's long-term
design stress and its modulus after creep; against the second the high end, and the modulus as measured.

The cord (or gasket) pushes too: its greatest force counts for stress and screws, its force at the least squeeze where
the lid must not lift. Lid, screws and body together are solved as a plate (``lid_bending``). While fewer than three
screws hold a part, the formulas of ``clamping`` and ``flat_plate`` stand in.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace
from typing import Any, Literal

import numpy as np
from shapely.geometry import Point, Polygon
from shapely.ops import unary_union

from sketcher.document import Document
from sketcher.document.hardware import Device
from sketcher.geometry import Shapes
from sketcher.reference import materials, seals
from sketcher.reference import screws as screw_table
from sketcher.strength import thread_strength
from sketcher.strength.body_bending import Folded, folded, folded_webs, thin_floors, thin_webs
from sketcher.strength.clamping import Clamping, Lid, by_plate, clamp
from sketcher.strength.flat_plate import PlateResult, Span, largest_span, needed_thickness_mm, pressed_plate
from sketcher.strength.floor_bending import floor_stress, greatest_tie_n_mm, needed_floor_mm
from sketcher.strength.floor_spans import FloorSpan, floor_spans
from sketcher.strength.gland import FORCE_SCATTER, Gland, line_load_n_mm
from sketcher.strength.lid_bending import LidAnswer, Solver, bend_lid, stress_mpa
from sketcher.strength.load import Load
from sketcher.strength.plate_bending import Push
from sketcher.strength.recess_remains import lid_left_mm
from sketcher.strength.seal import SealDesign, design_seal
from sketcher.strength.taps import screw_thread_mm

#: The modulus after years under load, as a share of the measured one. Common practice, no source.
CREEP_SHARE = 0.5
#: A screw farther outside its least distance from the groove than this, in diameters, does not hold it there.
#: Common practice, no source.
REACH_DIAMETERS = 1.5
#: What stands in for a material without a row of its own.
KNOWN_MATERIAL = "cast acrylic"
PLATE_SOURCE = "Kirchhoff's plate (Timoshenko, Theory of Plates and Shells) on its screws and the body, by B-splines"
#: Pressure of a loop without a pump curve, kPa: about 4 m of water. Common practice, no source.
USUAL_DEAD_HEAD_KPA = 40.0


@dataclass(frozen=True)
class Bent:
    """A lid or a floor under one load: its span, the plate's result, notch factor, stress allowed, thickness needed.

    ``head_stress_mpa`` is the lid's stress beside a screw's head, said apart: there the screw's clamping, which a plate
    on points does not know, spreads it. For a lid on its screws ``span.at`` is where it is bent most.
    """

    what: Literal["lid", "floor"]
    load: Load
    items: tuple[str, ...]
    thickness_mm: float
    span: Span
    plate: PlateResult
    notch_factor: float
    needed_mm: float
    head_stress_mpa: float | None = None

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
    """Everything that bends or pulls. ``on_screws``: the lid was solved as a plate on its screws; else formulas stand
    in, which leave the cord out of the stress. ``tie_n_mm``: what the lid has to tie along a channel, by friction, so
    that its pushed walls do not fold the floor open. ``folded``: floors that are thin enough to bear more than the lid,
    as the body bends against it."""

    loads: tuple[Load, ...]
    bent: tuple[Bent, ...]
    clamped: tuple[Clamped, ...]
    material: str
    material_known: bool
    on_screws: bool = True
    tie_n_mm: float = 0.0
    folded: tuple[Folded, ...] = ()

    def as_json(self) -> dict[str, Any]:
        """Plain values; an endless strip's long side is null."""
        return {
            "material": self.material,
            "material_known": self.material_known,
            "tie_n_mm": round(self.tie_n_mm, 4),
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
                    "head_stress_mpa": None if row.head_stress_mpa is None else round(row.head_stress_mpa, 3),
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
                            "prying_n": round(screw.prying_n, 1),
                            "total_n": round(screw.total_n, 1),
                        }
                        for screw in row.clamping.loads
                    ],
                    "widest_gap_mm": round(max((gap.along_mm for gap in row.clamping.gaps), default=0.0), 1),
                    "opening_mm": round(row.clamping.opening_mm, 4),
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

    Pressure goes with the square of the speed (affinity law). A pump without a curve counts with
    ``USUAL_DEAD_HEAD_KPA``; so does a loop without a pump.
    """
    pumps = [device for device in document.devices if device.kind == "pump"]
    if not any(pump.curve for pump in pumps):
        return USUAL_DEAD_HEAD_KPA * (len(pumps) if pumps and document.loop.pumps != "parallel" else 1)
    heads = [
        _at_no_flow(pump) * (pump.speed_percent / 100) ** 2 if pump.curve else USUAL_DEAD_HEAD_KPA for pump in pumps
    ]
    return max(heads) if document.loop.pumps == "parallel" else sum(heads)


def _at_no_flow(pump: Device) -> float:
    """A pump's pressure at no flow, kPa: its largest point; drawn on from its first two where they fall towards none.

    A curve of one point at some flow is drawn on as a parabola that has half its pressure there (common practice, no
    source): a pump is rated near the middle of its curve.
    """
    points = sorted(pump.curve, key=lambda point: point.flow_l_min)
    largest = max(point.pressure_kpa for point in points)
    first = points[0]
    if first.flow_l_min <= 0:
        return largest or USUAL_DEAD_HEAD_KPA
    if len(points) == 1:
        return 2 * largest or USUAL_DEAD_HEAD_KPA
    second = points[1]
    run = second.flow_l_min - first.flow_l_min
    slope = (first.pressure_kpa - second.pressure_kpa) / run if run > 0 else 0.0
    return max(largest, first.pressure_kpa + max(slope, 0.0) * first.flow_l_min)


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
    loads, _ = loads_of(document)
    seal, floors = seal or design_seal(document, shapes), floor_spans(document, shapes)
    report = lid_alone(document, shapes, seal)
    bent = report.bent + tuple(row for load in loads for row in _floors(document, floors, load))
    lid_mm = min((row.thickness_mm for row in report.bent if row.what == "lid"), default=0.0)
    known = report.on_screws and lid_mm > 0
    thin = thin_floors(document, shapes, floors, lid_mm) if known else ()
    webs = thin_webs(document, shapes, lid_mm) if known else ()
    if not thin and not webs:
        return replace(report, bent=bent)
    over = (*(floor.area.wkb for floor in thin), *(web.area.wkb for web in webs))
    answers = (_answers(document, shapes, seal, loads, lid_mm, 1.0, over) or ())[::2]
    rows = folded(thin, document.plate.body_thickness_mm, loads, answers)
    return replace(
        report, bent=bent, folded=rows + folded_webs(webs, loads, [answer.over[len(thin) :] for answer in answers])
    )


def lid_alone(
    document: Document,
    shapes: Shapes,
    seal: SealDesign,
    *,
    rough: bool = False,
    coarse: float | None = None,
    solver: Solver | None = None,
) -> LidReport:
    """The same without floors, for trials of screws.

    Args:
        coarse: cells so many times the usual size; by ``rough`` when not given.
        solver: as for ``lid_bending.bend_lid``.
        rough: on cells of twice the size, and only under the load that governs: pulls within 5 %, lift within 8 % and
            stress within 25 % of the answer on the fine ones, in a third of the time.
    """
    both, known = loads_of(document)
    loads = _governing(document, both) if rough else both
    parts = _pressed_parts(seal)
    beyond = 0.0 if seal.room is None or seal.kind == "bonded" else to_screws_mm(document, seal)
    lid_mm = lid_left_mm(document, shapes, seal.plan.sealed.buffer(beyond))
    cells = coarse or (2.0 if rough else 1.0)
    answers = _answers(document, shapes, seal, loads, lid_mm, cells, solver=solver)
    bent, clamped = [], []
    for index, load in enumerate(loads):
        hard, tight = (None, None) if answers is None else (answers[2 * index], answers[2 * index + 1])
        bent += _lids(parts, load, hard, lid_mm, beyond)
        clamped += _clamped(document, seal, parts, load, hard, tight, lid_mm)
    tie = 0.0
    if clamped:
        floors = [(left, span) for left, _, span in floor_spans(document, shapes)]
        tie = greatest_tie_n_mm(document.plate.body_thickness_mm, floors, both)
    return LidReport(loads, tuple(bent), tuple(clamped), document.plate.material, known, answers is not None, tie)


def _governing(document: Document, loads: tuple[Load, ...]) -> tuple[Load, ...]:
    """Of the two loads the one that decides, where one does: a lasting pressure is held against half of what a test is,
    and the cord pushes the same under both."""
    dead, test = loads
    share = test.design_stress_mpa / dead.design_stress_mpa
    if document.seal.kind != "cord" or document.seal.insert_pull_n is not None:
        return loads
    return (dead,) if test.pressure_kpa <= share * dead.pressure_kpa else loads


def floor_report(document: Document, shapes: Shapes) -> tuple[Bent, ...]:
    """The weakest floor under each load; it needs no design of the seal."""
    floors = floor_spans(document, shapes)
    return tuple(row for load in loads_of(document)[0] for row in _floors(document, floors, load))


def _answers(
    document: Document,
    shapes: Shapes,
    seal: SealDesign,
    loads: tuple[Load, ...],
    lid_mm: float,
    coarse: float,
    over: tuple[bytes, ...] = (),
    solver: Solver | None = None,
) -> tuple[LidAnswer, ...] | None:
    """The lid as a plate under each load, with the greatest force of the cord and with that at the least squeeze."""
    screws, name = _lid_screws(document), document.seal.screw
    if seal.room is None or seal.kind == "bonded" or name not in screw_table.names() or seal.plan.sealed.is_empty:
        return None
    plate = document.plate
    holes = unary_union([area.polygon.buffer(0) for area in shapes.cutouts.values()])
    lid = shapes.plate_polygon.buffer(0).difference(holes)
    forces = greatest_push_n_mm(seal, document, loads), tightness_push_n_mm(seal, document, loads)
    pushes = tuple(Push(load.pressure_kpa / 1000, force[i]) for i, load in enumerate(loads) for force in forces)
    return bend_lid(
        lid,
        seal.plan.sealed,
        screws,
        pushes,
        lid_mm=lid_mm,
        body_mm=plate.body_thickness_mm,
        groove_mm=seal.room.width_mm,
        head_mm=screw_table.screw(name).cap_head.diameter_mm,
        coarse=coarse,
        over=over,
        solver=solver,
    )


def _lid_screws(document: Document) -> dict[str, tuple[float, float]]:
    return {hole.id: (hole.x_mm, hole.y_mm) for hole in document.holes if hole.use == "lid"}


def greatest_push_n_mm(seal: SealDesign, document: Document, loads: tuple[Load, ...]) -> tuple[float, ...]:
    """The greatest force of the cord or gasket under each load, N per mm."""
    if seal.gland is not None:
        return (seal.gland.line_load_most_n_mm,) * len(loads)
    return tightness_push_n_mm(seal, document, loads)


def tightness_push_n_mm(seal: SealDesign, document: Document, loads: tuple[Load, ...]) -> tuple[float, ...]:
    """The force on the lid, N per mm, with which tightness is judged: of the cord at its least squeeze."""
    if seal.gland is not None:
        return (lift_line_load_n_mm(seal.gland, document.seal.hardness_shore_a),) * len(loads)
    if seal.kind != "gasket" or seal.room is None:
        return (0.0,) * len(loads)
    sheet, width = seals.gasket_material(document.seal.gasket), seal.room.width_mm
    return tuple(sheet.line_load_n_mm(width, load.pressure_kpa / 1000) for load in loads)


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


def _lids(parts: list[_Pressed], load: Load, answer: LidAnswer | None, thickness: float, beyond: float) -> list[Bent]:
    """The lid where it is bent most: the plate's answer, or without one a span between screw lines."""
    found = []
    for pressed in parts:
        span = pressed.span.widened(beyond)
        result = pressed_plate(span, thickness, load.pressure_kpa, load.modulus_mpa, "simply supported")
        needed = needed_thickness_mm(span, load.pressure_kpa, load.design_stress_mpa, "simply supported")
        found.append(Bent("lid", load, pressed.items, thickness, span, result, 1.0, needed))
    worst = max(found, key=lambda row: row.stress_mpa, default=None)
    if worst is None:
        return []
    if answer is None:
        return [worst]
    stress = stress_mpa(answer.moment_n, thickness)
    rigidity = Lid(thickness, load.modulus_mpa).rigidity
    place = Point(answer.at)
    pressed = min(parts, key=lambda one: one.part.distance(place))
    bulge = answer.bulge / rigidity
    result = PlateResult(stress, bulge, "on its screws", PLATE_SOURCE, worst.plate.thin, bulge <= thickness / 2)
    # Bending moments depend little on the thickness: stress goes with its square.
    needed = thickness * math.sqrt(stress / load.design_stress_mpa)
    span = replace(pressed.span.widened(beyond), at=answer.at)
    at_head = stress_mpa(answer.head_moment_n, thickness)
    return [Bent("lid", load, pressed.items, thickness, span, result, 1.0, needed, at_head)]


def to_screws_mm(document: Document, seal: SealDesign) -> float:
    """From the groove's centreline to the line of the screws, mm."""
    assert seal.room is not None
    name = document.seal.screw
    hole = screw_table.screw(name).clearance_mm if name in screw_table.names() else 4.5
    return seal.room.width_mm / 2 + seal.room.wall_mm + hole / 2


def _floors(document: Document, spans: list[FloorSpan], load: Load) -> list[Bent]:
    """The weakest floor: the body left under a channel, as a plate with fixed edges as wide as the water."""
    full = document.plate.body_thickness_mm
    found = [
        Bent("floor", load, names, left, span, *floor_stress(span, full - left, left, load), 0.0)
        for left, names, span in spans
    ]
    worst = max(found, key=lambda row: row.stress_mpa, default=None)
    if worst is None:
        return []
    return [replace(worst, needed_mm=needed_floor_mm(worst.span, full - worst.thickness_mm, load))]


def _clamped(
    document: Document,
    seal: SealDesign,
    parts: list[_Pressed],
    load: Load,
    hard: LidAnswer | None,
    tight: LidAnswer | None,
    lid_mm: float,
) -> list[Clamped]:
    if seal.room is None or seal.kind == "bonded":
        return []
    screws, name = _lid_screws(document), document.seal.screw
    if not screws or name not in screw_table.names():
        return []
    thread, holds = screw_thread_mm(document), thread_holds_n(document, load)
    form = thread_strength.thread_form(name)
    lid = Lid(lid_mm, load.modulus_mpa)
    (force,) = greatest_push_n_mm(seal, document, (load,))
    reach = to_screws_mm(document, seal) + REACH_DIAMETERS * form.major_mm
    found = []
    rings = 0
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
        if hard is not None and tight is not None:
            own = tight.lifts[rings : rings + 1 + len(pressed.part.interiors)]
            result = by_plate(result, hard.pulls_n, [np.asarray(lift) / lid.rigidity for lift in own], pressed.part)
        rings += 1 + len(pressed.part.interiors)
        left = None if seal.gland is None else seal.gland.squeeze.least - result.opening_mm / seal.gland.cord_mm
        found.append(Clamped(load, pressed.items, result, left, holds, thread))
    return found


def thread_holds_n(document: Document, load: Load) -> float:
    """What the thread of a lid screw holds under a load, N; with inserts their maker's pull."""
    if document.seal.insert_pull_n is not None:
        return document.seal.insert_pull_n
    thread = screw_thread_mm(document)
    return (
        thread_strength.holding_force_n(
            thread_strength.thread_form(document.seal.screw), thread, load.design_stress_mpa
        )
        if thread > 0
        else 0.0
    )


def lift_line_load_n_mm(gland: Gland, hardness_shore_a: float) -> float:
    """The cord's force where the lid must not lift: thinnest cord in the deepest groove, with the published scatter."""
    squeeze = min(max(gland.squeeze.least, 0.0), 0.5)
    return FORCE_SCATTER * line_load_n_mm(gland.cord_mm - gland.cord_tolerance_mm, squeeze, hardness_shore_a)
