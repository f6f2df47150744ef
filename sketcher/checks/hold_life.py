"""The life of the loop: filling, draining, air, metals, coolant, and what must stay dry."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from typing import get_args

import shapely

from sketcher.checks import moving_apart, set_figures
from sketcher.checks.air_left import air_lying, air_of, air_standing
from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document.hardware import Metal
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Change, Finding, Fix, Rule, mm, ways
from sketcher.geometry.ports import PortShape
from sketcher.reference import materials, seals
from sketcher.strength.annealing import annealing_text
from sketcher.strength.lid import KNOWN_MATERIAL
from sketcher.strength.life import dissimilar


@rules(
    Rule("loop-fill", "flows", "The loop can be filled", None, "",
         "Without a reservoir or a port to fill by, coolant can only be poured into an open tube.", PRACTICE),
    Rule("loop-drain", "flows", "The loop can be emptied", None, "",
         "A plate that cannot be emptied is taken out full, over the electronics.", PRACTICE),
    Rule("air-standing", "flows", "No air stays under a channel's ceiling with the case standing", 3.0, "mm",
         "A way whose ports all lie lower than its ceiling keeps a cushion of air, which gurgles and blocks.",
         PRACTICE),
    Rule("air-lying", "flows", "No high place without a port with the case lying", 20.0, "mm",
         "Air that the flow does not sweep along stays in the high places; a bleed there lets it out.", PRACTICE),
    reads=("ports", "branches", "channels"),
)  # fmt: skip
def coolant_and_air(scene: Scene) -> Iterator[Finding]:
    """Filling, emptying, and where air stays."""
    document = scene.document
    if not air_of(scene).regions:
        return
    uses = {port.use for port in document.ports}
    reservoir = any(device.fills for device in document.devices)
    if not reservoir and "fill" not in uses:
        yield Finding(
            rule="loop-fill",
            level="note",
            items=(),
            message="The loop has no reservoir and no port to fill it by.",
            remedy="Give a port at a high place the use 'fill', or add a reservoir.",
        )
    if "drain" not in uses:
        yield Finding(
            rule="loop-drain",
            level="note",
            items=(),
            message="No port is meant for draining the loop.",
            remedy="Give a port at the lowest place the use 'drain', with a valve or a plug on it.",
        )
    air = air_of(scene)
    yield from air_standing(air)
    yield from air_lying(air, scene.limit("air-lying"))


@rules(
    Rule("metals-dissimilar", "flows", "Metals in one loop agree", 0.25, "V",
         "Of two metals in one coolant the less noble one is eaten, and its crumbs block the fins of the other.",
         "anodic index after MIL-STD-889 and MIL-F-14072, as widely reprinted; 0.25 V for a normal environment"),
    reads=(),
)  # fmt: skip
def metals(scene: Scene) -> Iterator[Finding]:
    """Pairs of wetted metals that are too far apart: of the devices, and of a metal plate with channels in it."""
    limit, plate = scene.limit("metals-dissimilar"), scene.document.plate.material
    by_metal: dict[str, list[str]] = {}
    for device in scene.document.devices:
        if device.metal != "none":
            by_metal.setdefault(device.metal, []).append(device.id)
    ids = {metal: tuple(devices) for metal, devices in by_metal.items()}
    if scene.document.channels and plate in get_args(Metal):
        by_metal.setdefault(plate, []).append("the plate")
    for couple in dissimilar(by_metal, limit):
        yield Finding(
            rule="metals-dissimilar",
            level="warning",
            items=(*ids.get(couple.eaten, ()), *ids.get(couple.by, ())),
            value=couple.volts,
            limit=limit,
            unit="V",
            message=f"{couple.eaten.capitalize()} ({', '.join(by_metal[couple.eaten])}) and {couple.by} "
            f"({', '.join(by_metal[couple.by])}) in one loop are {couple.volts:.2f} V apart: the "
            f"{couple.eaten} is eaten.",
            remedy=f"Keep {couple.eaten} out of the loop, or follow the coolant maker's word on inhibitors.",
        )


@rules(
    Rule("coolant-plate", "flows", "The coolant suits the plate's material", None, "",
         "Alcohols and some additives crack acrylic that is under stress.", PRACTICE),
    Rule("cord-coolant", "holds", "The cord's rubber stands the coolant", None, "",
         "Rubber that swells or sets loses its squeeze; the joint leaks after months.",
         "general seal handbooks, from memory; EPDM for coolants: data sheets of sealing makers"),
    Rule("material-extruded", "holds", "The plate is not of extruded acrylic", None, "",
         "Extruded sheet holds inner stress: it cracks at tapped holes and where it is glued.",
         "sheet makers' milling pages; design stress 750 psi against 1,500 psi for cast"),
    Rule("material-anneal", "holds", "Acrylic is annealed after machining", None, "",
         "Machining leaves stress in the surface that coolant turns into cracks.",
         "a sheet maker's annealing brief: 80 °C, 1 h per mm, at least 2 h, slow cooling"),
    Rule("coolant-hot", "holds", "The coolant stays below the material's service temperature", None, "°C",
         "Acrylic softens and creeps when it is warm.", "general data for cast PMMA, continuous service"),
    reads=(),
)  # fmt: skip
def coolant(scene: Scene) -> Iterator[Finding]:
    """Kind and temperature of the coolant against the plate's material."""
    loop, plate = scene.document.loop, scene.document.plate
    name = plate.material if plate.material in materials.names() else KNOWN_MATERIAL
    most = materials.material(name)["service_temperature_max_c"].low
    if loop.water_limit_c > most:
        yield Finding(
            rule="coolant-hot",
            level="error",
            items=(),
            value=loop.water_limit_c,
            limit=most,
            unit="°C",
            message=f"The coolant may reach {loop.water_limit_c:g} °C; {name} serves up to {most:g} °C.",
            remedy="Set a lower limit for the coolant, or choose another material.",
            fix=Fix(f"Set the coolant's limit to {most:g} °C", (Change("/loop/water_limit_c", float(most)),)),
        )
    yield from _cord_material(scene)
    yield from _sheet(scene)
    if "acrylic" in plate.material and loop.coolant.kind != "water":
        yield Finding(
            rule="coolant-plate",
            level="note",
            items=(),
            message=f"{loop.coolant.kind.replace('-', ' ').capitalize()} is usually compatible with acrylic; "
            "ready-mixed coolants with alcohols in them crack it.",
            remedy="Ask the coolant's maker whether it suits acrylic, and test it on a stressed (bent) offcut. "
            "Glycol is poisonous: keep it from children and animals.",
        )


def _cord_material(scene: Scene) -> Iterator[Finding]:
    seal, loop = scene.document.seal, scene.document.loop
    if seal.kind != "cord" or not scene.shapes.channels:
        return
    rubber = seals.cord_material(seal.cord_material)
    rating, name = rubber.ratings[loop.coolant.kind], loop.coolant.kind.replace("-", " ")
    if rating != "good":
        yield Finding(
            rule="cord-coolant",
            level="warning" if rating == "fair" else "error",
            items=(),
            message=f"A cord of {rubber.name} is rated {rating} for {name}: {rubber.note}.",
            remedy="Take EPDM, or ask the cord's maker for a grade that stands this coolant.",
            fix=set_figures.cord_for(loop.coolant.kind),
        )


def _sheet(scene: Scene) -> Iterator[Finding]:
    plate = scene.document.plate
    if not scene.shapes.channels or "acrylic" not in plate.material:
        return
    if "extruded" in plate.material:
        yield Finding(
            rule="material-extruded",
            level="warning",
            items=(),
            message="The plate is of extruded acrylic: half the design stress of cast sheet, and inner stress from its "
            "making.",
            remedy="Order cast sheet, for the lid too.",
        )
    if not plate.annealed:
        yield Finding(
            rule="material-anneal",
            level="note",
            items=(),
            message="Annealing after machining is not asked for.",
            remedy=f"Ask the shop to anneal: {annealing_text(plate.body_thickness_mm)} Set the plate to "
            "annealed: it is then on the drawing.",
            fix=Fix("Ask for annealing", (Change("/plate/annealed", True),)),
        )


@rules(
    Rule("pocket-wet", "holds", "A pocket that must stay dry lies clear of every fitting", 2.0, "mm",
         "Whenever a fitting is opened it drips; a light strip beside it gets wet.", PRACTICE),
    named=True,
    reads=("pockets", "ports"),
)  # fmt: skip
def dry_pockets(scene: Scene) -> Iterator[Finding]:
    """Pockets that must stay dry against the fittings on their face."""
    limit = scene.limit("pocket-wet")
    dry = {pocket.id: pocket for pocket in scene.document.pockets if pocket.must_stay_dry}
    for name, pocket in dry.items():
        polygon = sound(scene.shapes.pockets[name].polygon)
        for port in scene.shapes.ports.values():
            if port.item.face != pocket.face:
                continue
            value = _dry_gaps.of((polygon, port.fitting), None, partial(shapely.distance, polygon, port.fitting))
            if value < limit - 1e-9:
                yield Finding(
                    rule="pocket-wet",
                    level="warning",
                    items=(name, port.item.id),
                    value=value,
                    limit=limit,
                    unit="mm",
                    at=port.at,
                    message=f"The fitting of {port.item.id} stands {mm(value)} from the dry pocket {name}.",
                    remedy=f"Move one of them {mm(limit - value)} away, or put the pocket on the other face.",
                    **ways(*_drier(scene, name, port, limit)),
                )


_dry_gaps: Remembered[float] = Remembered()


def _drier(scene: Scene, pocket: str, port: PortShape, limit: float) -> Iterator[Fix | None]:
    """The pocket, or the port with its fitting, moved away from the other."""
    area = shapely.make_valid(scene.shapes.pockets[pocket].polygon)
    by = moving_apart.apart((shapely.Point(port.at), port.item.fitting_diameter_mm / 2), (area, 0.0), limit)
    if by is not None:
        yield moving_apart.moved(scene, pocket, by)
        yield moving_apart.moved(scene, port.item.id, (-by[0], -by[1]))
