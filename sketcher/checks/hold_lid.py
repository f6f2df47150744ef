"""Does it hold: lid and floor under pressure, fittings in plastic, expansion on the case floor, flatness."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import replace

from sketcher.checks import set_figures
from sketcher.checks.each import Found, each
from sketcher.checks.hold_seal import design_of, report_of
from sketcher.checks.hold_side import other_side
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document import Document
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Cause, Finding, Fix, Rule, mm, ways
from sketcher.geometry.shapes import HoleShape, PortShape
from sketcher.reference import materials, metals
from sketcher.strength import thread_strength
from sketcher.strength.expansion import bow_between_mm, hole_moves
from sketcher.strength.lid import KNOWN_MATERIAL, Bent, floor_report
from sketcher.strength.load import worst_over
from sketcher.strength.over_sheet import on_thin_sheet
from sketcher.strength.pressure_test import pressure_test

ROARK = "Roark's Formulas for Stress and Strain, table 11.4, cases 1a and 8a"
#: Flatness of a milled face, class H over 100 to 300 mm (ISO 2768-2, table 1; from memory).
FLATNESS_MM = 0.2
FLATNESS_LENGTH_MM = 300.0
#: Coldest the plate gets in a room or a parcel, °C. Common practice, no source.
COLDEST_C = 5.0
#: Thread that a usual fitting has, mm. Common practice, no source.
FITTING_THREAD_MM = 5.0


@rules(
    Rule("material-unknown", "holds", "The plate's material is one the tables know", None, "",
         "Strength and expansion are the material's own.", "the tables in sketcher/reference"),
    Rule("floor-stress", "holds", "Stress in the floor under a channel, with the notch of its corner", None, "MPa",
         "A crack begins at the sharp corner at the bottom of a channel.",
         ROARK + "; the notch: finite elements of a step, in the form of Peterson's and of deep cracks"),
    reads=("ports", "branches", "channels", "pockets"),
)  # fmt: skip
def the_floors(scene: Scene) -> Iterator[Finding]:
    """Floors under dead-head and test pressure; they need no design of the seal."""
    material = scene.document.plate.material
    if scene.document.channels and material not in materials.names():
        yield Finding(
            rule="material-unknown",
            level="warning",
            items=(),
            message=f"No table has the material {material!r}; strength is worked out for {KNOWN_MATERIAL}.",
            remedy=f"Choose one of {', '.join(materials.names())}, or ask the maker of the sheet for its figures.",
        )
    told = list(_stressed(scene, floor_report(scene.document, scene.shapes)))
    yield from told or _on_the_thinnest(scene)


def _on_the_thinnest(scene: Scene) -> Iterator[Finding]:
    """Floors that hold as drawn, and not where the body's sheet is as thin as it may be."""
    document, thin = scene.document, on_thin_sheet(scene.document)
    rows = [] if thin is None else floor_report(thin, scene.shapes)
    row = worst_over(rows)
    if row is None or thin is None:
        return
    limit = row.load.design_stress_mpa
    yield Finding(
        rule="floor-stress",
        level="warning",
        items=row.items,
        value=row.stress_mpa,
        limit=limit,
        unit="MPa",
        at=row.span.at,
        message=f"The body's sheet may be {mm(thin.plate.body_thickness_mm)} thick: at the {row.load.name} pressure "
        f"the floor then bears {_bears(row)}; the maximum is {limit:g} MPa.",
        remedy="Measure the body's sheet and type in what it is, or have it faced to size; or take a thicker body.",
        fix=set_figures.thicker(scene, "body", document.plate.body_thickness_mm + row.needed_mm - row.thickness_mm),
    )


@rules(
    Rule("lid-stress", "holds", "Stress in the lid stays below the material's design stress", None, "MPa",
         "Acrylic crazes under a lasting stress far below its strength.", ROARK),
    Rule("lid-deflection", "holds", "The lid bends by no more than this share of its thickness", 10.0, "%",
         "A lid that bulges is no flat plate any more, lifts off its seal, and rubs on what is above it.", PRACTICE),
    slow=True,
)  # fmt: skip
def the_lid(scene: Scene) -> Iterator[Finding]:
    """The lid under dead-head and test pressure."""
    rows = [row for row in report_of(scene).bent if row.what == "lid"]
    yield from _stressed(scene, rows)
    yield from _bulging(scene, rows)


def _bulging(scene: Scene, rows: Sequence[Bent]) -> Iterator[Finding]:
    """Deflection over its limit: of the two loads the worse one speaks here too."""
    share = scene.limit("lid-deflection")
    row = max(rows, key=lambda one: one.plate.deflection_mm / one.thickness_mm, default=None)
    if row is None or 100 * row.plate.deflection_mm / row.thickness_mm <= share:
        return
    # Beyond half the thickness the figure means nothing; that it is too much is sure.
    far = 100 * row.plate.deflection_mm / row.thickness_mm
    told = f"the lid bulges by {mm(row.plate.deflection_mm)}, {far:.0f} % of its thickness"
    if not row.plate.small_deflection:
        told = (
            f"the lid gives way: it bulges by more than half its {mm(row.thickness_mm)} of thickness, as far "
            "as the theory of thin plates goes"
        )
    yield Finding(
        rule="lid-deflection",
        level="warning",
        items=row.items,
        value=far if row.plate.small_deflection else None,
        limit=share,
        unit="%",
        at=row.span.at,
        message=f"At the {row.load.name} pressure {told}{_thinned(scene, row)}; the maximum is {share:g} %.",
        remedy="Make the lid thicker, or place screws in the middle of the wide part.",
        # Its share of the thickness goes with the fourth power of that.
        fix=set_figures.thicker(scene, "lid", scene.document.plate.lid_thickness_mm * (far / share) ** 0.25),
    )


def _stressed(scene: Scene, rows: Sequence[Bent]) -> Iterator[Finding]:
    """Stress over its limit: of the two loads the worse one speaks, since one thickness cures both."""
    row = worst_over(rows)
    if row is None:
        return
    notched = f" with the notch of its corner ({row.notch_factor:.1f})" if row.what == "floor" else ""
    yield Finding(
        rule=f"{row.what}-stress",
        level="error",
        items=row.items,
        value=row.stress_mpa,
        limit=row.load.design_stress_mpa,
        unit="MPa",
        at=row.span.at,
        message=f"At the {row.load.name} pressure of {row.load.pressure_kpa:g} kPa the {row.what} over a span of "
        f"{mm(row.span.b_mm)} bears {_bears(row)}{notched}{_thinned(scene, row)}; the maximum is "
        f"{row.load.design_stress_mpa:g} MPa.",
        remedy=f"Make the {row.what} {mm(math.ceil(row.needed_mm * 2) / 2)} thick, or the coolant narrower there.",
        **ways(_thicker(scene, row), other_side(scene) if row.what == "lid" else None),
    )


def _thicker(scene: Scene, row: Bent) -> Fix | None:
    """Lid or body so thick that the span bears its load; a floor grows by what the body does."""
    plate = scene.document.plate
    whole = plate.lid_thickness_mm if row.what == "lid" else plate.body_thickness_mm
    return set_figures.thicker(scene, "lid" if row.what == "lid" else "body", whole + row.needed_mm - row.thickness_mm)


def _bears(row: Bent) -> str:
    """The stress in words; where the span bends by more than half its thickness, only that it is over the limit."""
    if row.plate.small_deflection:
        return f"{row.stress_mpa:.1f} MPa"
    return f"more than {row.load.design_stress_mpa:g} MPa (it gives way beyond the theory of thin plates)"


def _thinned(scene: Scene, row: Bent) -> str:
    """Says that a pocket thins the lid or the floor."""
    plate = scene.document.plate
    full = plate.lid_thickness_mm if row.what == "lid" else plate.body_thickness_mm - min(
        scene.shapes.channels[id_].item.depth_mm for id_ in row.items if id_ in scene.shapes.channels
    )  # fmt: skip
    return f", {mm(row.thickness_mm)} thick under a pocket" if row.thickness_mm < full - 1e-9 else ""


@rules(
    Rule("test-pressure", "holds", "Test pressure against the pumps' pressure at no flow", 1.5, "",
         "A joint that is tested at less than it will bear can open in use.",
         "ASME B31.3, section 345: 1.5 times the design pressure with liquid (read in reprints)"),
    reads=(),
)  # fmt: skip
def the_test(scene: Scene) -> Iterator[Finding]:
    """Whether the pressure test is hard enough, when the pump's curve is known."""
    test, factor = pressure_test(scene.document), scene.limit("test-pressure")
    # Without a curve the pumps' pressure is assumed: the test is held against that as it is.
    factor = factor if test.curve_known else min(factor, 1.0)
    if test.pressure_kpa < factor * test.dead_head_kpa - 1e-6:
        needed = math.ceil(factor * test.dead_head_kpa)
        whose = "of the pumps" if test.curve_known else "that are assumed for a pump without a curve,"
        yield Finding(
            rule="test-pressure",
            level="warning",
            items=(),
            value=test.pressure_kpa / test.dead_head_kpa,
            limit=factor,
            message=f"The test pressure of {test.pressure_kpa:g} kPa is "
            f"{test.pressure_kpa / test.dead_head_kpa:.2f} times the {test.dead_head_kpa:.0f} kPa {whose} at no flow; "
            f"the minimum is {factor:g} times.",
            remedy=f"Set the test pressure to {needed} kPa ({needed / 100:.2f} bar), tested with water.",
            fix=set_figures.tested_at(needed),
        )


@rules(
    Rule("thread-engagement", "holds", "Shear in a port's thread when its fitting is tightened by hand", None, "MPa",
         "A fitting in plastic is held by few turns; tightened like one in brass it strips them.",
         "shear area: ISO 228-1 sizes, FED-STD-H28; hand torque 1.5 N m: common practice, no source"),
    Rule("port-side-load", "holds", "Pressure on a port's mouth when its tube is pulled sideways", None, "MPa",
         "A tube that is leaned on levers its fitting out of the plastic.",
         "statics; a pull of 20 N: common practice, no source"),
    named=True,
)  # fmt: skip
def port_threads(scene: Scene) -> Iterator[Finding]:
    """Fittings in their threads: tightening, and the pull of a tube."""
    plate, height = scene.document.plate, scene.document.loop.fitting_straight_mm
    ports = [port for port in scene.shapes.ports.values() if port.thread is not None]
    rows = [((port,), (plate.material, height)) for port in ports]
    for finding in each(_threads, rows, lambda n: _port_thread(ports[n], plate.material, height)):
        if finding.rule == "thread-engagement":  # remembered without a fix: that names the port by its number
            yield replace(finding, fix=set_figures.deeper_thread(scene, *_enough(finding.items[0], scene)))
        else:
            yield finding


_threads: Found = Remembered()


def _enough(id_: str, scene: Scene) -> tuple[str, float]:
    """A port, and the depth of thread that bears a fitting tightened by hand, mm."""
    thread = scene.shapes.ports[id_].thread
    assert thread is not None
    material = scene.document.plate.material
    known = materials.material(material if material in materials.names() else KNOWN_MATERIAL)
    return id_, _thread_needed_mm(thread.name, thread_strength.SHEAR_SHARE * known["design_stress_mpa"].high)


def _thread_needed_mm(name: str, limit_mpa: float) -> float:
    form = thread_strength.thread_form(name)
    one = thread_strength.shear_from_torque_mpa(form, 1.0, thread_strength.hand_torque_n_m(form))
    return math.ceil(2 * (one / limit_mpa + form.pitch_mm)) / 2


def _port_thread(port: PortShape, plate_material: str, height: float) -> Iterator[Finding]:
    material = materials.material(plate_material if plate_material in materials.names() else KNOWN_MATERIAL)
    short = material["design_stress_mpa"].high
    assert port.thread is not None
    form = thread_strength.thread_form(port.thread.name)
    engaged = thread_strength.engaged_mm(form, port.item.thread_depth_mm, FITTING_THREAD_MM)
    shear = math.inf
    if engaged > 0:
        shear = thread_strength.shear_from_torque_mpa(form, engaged, thread_strength.hand_torque_n_m(form))
    limit = thread_strength.SHEAR_SHARE * short
    if shear > limit + 1e-9:
        yield Finding(
            rule="thread-engagement",
            level="warning",
            items=(port.item.id,),
            value=shear if engaged > 0 else None,
            limit=limit,
            unit="MPa",
            at=port.at,
            message=f"Tightened by hand, the fitting in {port.item.id} strains its {mm(engaged)} of thread more than "
            f"{limit:g} MPa."
            if engaged > 0
            else f"No whole turn of thread is left for the fitting in {port.item.id}.",
            remedy=f"Tap it at least {mm(_thread_needed_mm(port.thread.name, limit))} deep.",
        )
        return
    pressure = thread_strength.neck_pressure_mpa(form, engaged, thread_strength.SIDE_PULL_N, height)
    # The fitting's collar rests on the face and takes half of the levering: common practice, no source.
    if pressure / 2 > material["tensile_strength_mpa"].low / 3:
        yield Finding(
            rule="port-side-load",
            level="note",
            items=(port.item.id,),
            value=pressure / 2,
            limit=material["tensile_strength_mpa"].low / 3,
            unit="MPa",
            at=port.at,
            message=f"A pull of {thread_strength.SIDE_PULL_N:g} N at the tube of {port.item.id} presses on the mouth "
            f"of its thread with {pressure / 2:.0f} MPa.",
            remedy="Hold the tube near the fitting, or tap the port deeper.",
        )


@rules(
    Rule("mount-expansion", "holds", "Mounting holes give way to the plate's expansion", None, "mm",
         "Acrylic grows three times as much as aluminium; a plate that is held fast at both ends bows or cracks.",
         "expansion: ISO 11359-2 (acrylic), Callister, table B.6 (aluminium, steel)"),
    reads=("holes",),
)  # fmt: skip
def expansion(scene: Scene) -> Iterator[Finding]:
    """Mounting holes against expansion over the temperature range."""
    document = scene.document
    mounts = {
        name: hole
        for name, hole in scene.shapes.holes.items()
        if hole.item.use == "mount" and hole.item.kind != "tapped" and hole.screw is not None
    }
    if len(mounts) < 2:
        return
    loop, floor = document.loop, document.floor.material
    asked = (document.plate.material, loop.room_c, loop.water_limit_c, floor)
    for finding, wide, slot in _moves.of(tuple(mounts.values()), asked, lambda: tuple(_expands(document, mounts))):
        yield replace(finding, fix=set_figures.given_way(scene, finding.items[0], wide, slot))


#: A finding, the width that its hole is drilled to (none: a slot), and that slot's length and the hole it points to.
_Move = tuple[Finding, float | None, tuple[float, str]]
#: By all the mounting holes: one holds the plate for all.
_moves: Remembered[tuple[_Move, ...]] = Remembered(most=8)


def _expands(document: Document, mounts: dict[str, HoleShape]) -> Iterator[_Move]:
    known = document.plate.material in materials.names()
    material = materials.material(document.plate.material if known else KNOWN_MATERIAL)
    room = document.loop.room_c
    play = {}
    for name, hole in mounts.items():
        assert hole.screw is not None
        across = (hole.diameter - hole.screw.major_mm) / 2
        slotted = hole.item.slot_length_mm is not None and hole.item.slot_length_mm > hole.diameter
        play[name] = (hole.item.slot_length_mm - hole.screw.major_mm) / 2 if slotted else across  # type: ignore[operator]
    moves = hole_moves(
        {name: (hole.item.x_mm, hole.item.y_mm) for name, hole in mounts.items()},
        play,
        {name: hole.screw.major_mm for name, hole in mounts.items() if hole.screw is not None},
        plate_per_k=material["expansion_per_k"].high,
        plate_k=[document.loop.water_limit_c - room, COLDEST_C - room],
        floor_per_k=metals.floor_expansion(document.floor.material).expansion_per_k,
        floor_k=0.0,
    )
    fixed = next(move.id for move in moves if move.needs == "fixed")
    for move in moves:
        if move.needs in ("oversized", "slotted"):
            hole = mounts[move.id]
            wide = math.ceil(10 * (hole.diameter + 2 * (move.move_mm - move.play_mm))) / 10
            finding = Finding(
                rule="mount-expansion",
                level="warning",
                items=(move.id,),
                value=move.play_mm,
                limit=move.move_mm,
                unit="mm",
                at=(hole.item.x_mm, hole.item.y_mm),
                message=f"{move.id} moves by {mm(move.move_mm)} between cold and hot, {mm(move.distance_mm)} from "
                f"{fixed}; it has {mm(max(move.play_mm, 0.0))} of play.",
                remedy=f"Drill it {mm(wide)} with a washer, or make it a slot of "
                f"{mm(move.slot_length_mm)} that points to {fixed}, and tighten only {fixed} firmly.",
                cause=Cause(
                    "play",
                    f"{{count}} mounting holes have too little play for the way they move from {fixed} "
                    "between cold and hot.",
                    f"Drill them wider, with washers, or make them slots that point to "
                    f"{fixed}, and tighten only {fixed} firmly.",
                ),
            )
            yield finding, wide if move.needs == "oversized" else None, (move.slot_length_mm, fixed)


@rules(
    Rule("seal-flatness", "holds", "Bow left in lid and body between two screws, against the squeeze", 5.0, "%",
         "A sheet is never flat: screws pull most of its bow out, what stays between them is taken from the squeeze.",
         "ISO 2768-2, class H (from memory); a bow's sagitta grows with the square of its chord"),
    slow=True,
)  # fmt: skip
def flatness(scene: Scene) -> Iterator[Finding]:
    """The bow that the screws leave between them, on both faces."""
    gland, limit = design_of(scene).gland, scene.limit("seal-flatness")
    if gland is None:
        return
    pitch = scene.document.seal.screw_pitch_mm
    bow = 2 * bow_between_mm(FLATNESS_MM, FLATNESS_LENGTH_MM, pitch)
    value = 100 * bow / gland.cord_mm
    if value > limit + 1e-9:
        yield Finding(
            rule="seal-flatness",
            level="warning",
            items=(),
            value=value,
            limit=limit,
            unit="%",
            message=f"At a screw spacing of {mm(pitch)} faces that are flat to {mm(FLATNESS_MM)} in "
            f"{mm(FLATNESS_LENGTH_MM)} leave a bow of {mm(bow)}: {value:.0f} % of the cord.",
            remedy="Place the screws closer, take a thicker cord, or have both faces milled flat.",
            fix=set_figures.closer_screws(pitch, math.sqrt(limit / value)),  # the bow grows with its square
        )
