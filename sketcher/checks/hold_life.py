"""The life of the loop: filling, draining, air, metals, coolant, and what must stay dry."""

from __future__ import annotations

from collections.abc import Iterator

import shapely

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Finding, Rule, mm
from sketcher.geometry.shapes import ChannelShape
from sketcher.reference import materials, seals
from sketcher.strength.annealing import annealing_text
from sketcher.strength.lid import KNOWN_MATERIAL
from sketcher.strength.life import AirPocket, Way, air_pockets, dissimilar, regions

#: Ways a case is laid down: what is up then, in plan.
_LYING = {"on its left side": (1.0, 0.0), "on its right side": (-1.0, 0.0)}
#: An outlet that air leaves by: any port that is not closed for good.
_CLOSED = ("plugged", "sensor")
#: The channels and the ports of one region of coolant.
Region = tuple[frozenset[str], frozenset[str]]


_known_ways: Remembered[Way | None] = Remembered()
_pockets: Remembered[list[AirPocket]] = Remembered()


def _ways(scene: Scene) -> list[Way]:
    channels = list(scene.shapes.channels.values())
    found = _known_ways.all([((channel,), None) for channel in channels], lambda new: [_way(channels[k]) for k in new])
    return [way for way in found if way is not None]


def _way(channel: ChannelShape) -> Way | None:
    segments = channel.path.segments
    points = (*(segment.start for segment in segments), channel.path.end) if segments else ()
    return Way(channel.item.id, channel.item.start, channel.item.end, points) if len(points) > 1 else None


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
    document, shapes = scene.document, scene.shapes
    ways = _ways(scene)
    if not ways:
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
    ceilings = scene.limit("air-standing")
    wet = regions(ways, shapes.ports)
    for channels, ports in wet:
        open_ports = [shapes.ports[name] for name in ports if shapes.ports[name].item.use not in _CLOSED]
        highest = max((_opening_top(scene, port.item.id) for port in open_ports), default=None)
        ceiling = max(shapes.channels[name].high for name in channels)
        if highest is None:
            continue  # a region without a port is another rule's business
        value = ceiling - highest
        if value > ceilings + 1e-9:
            first = min(channels)
            path = shapes.channels[first].path
            yield Finding(
                rule="air-standing",
                level="warning",
                items=tuple(sorted(channels)),
                value=value,
                limit=ceilings,
                unit="mm",
                at=path.at(path.length / 2),
                message=f"With the case standing, {mm(value)} of air stay under the ceiling of "
                f"{', '.join(sorted(channels))}: all its ports open lower.",
                remedy="Put one of its ports, or a bleed, on the top face.",
            )
    yield from _lying(scene, ways, wet)


def _opening_top(scene: Scene, port_id: str) -> float:
    """Height of the top of a port's opening into its channel, above the plate's underside."""
    port = scene.shapes.ports[port_id]
    if port.item.face == "top":
        return scene.shapes.thickness
    if port.item.face == "edge":
        return port.rise + port.bore_diameter / 2
    return port.bore_prism.high if scene.document.plate.lid_face == "top" else port.bore_prism.low


def _lying(scene: Scene, ways: list[Way], wet: list[Region]) -> Iterator[Finding]:
    limit = scene.limit("air-lying")
    outlets = {name: port.root for name, port in scene.shapes.ports.items() if port.item.use not in _CLOSED}
    by_name = {way.id: way for way in ways}
    # Air stays within its region of coolant: of all regions only those that changed are looked at again.
    apart = [
        (tuple(by_name[name] for name in sorted(channels)),
         tuple((name, outlets[name]) for name in sorted(ports) if name in outlets))
        for channels, ports in wet
    ]  # fmt: skip
    for side, up in _LYING.items():
        known = _pockets.all(
            [(ours, (open_, up, limit)) for ours, open_ in apart],
            lambda new, up=up: [air_pockets(apart[k][0], dict(apart[k][1]), up, least_mm=limit) for k in new],  # type: ignore[misc]
        )
        pockets = sorted((pocket for its in known for pocket in its), key=lambda pocket: -pocket.height_mm)
        if not pockets:
            continue
        items = sorted({item for pocket in pockets for item in pocket.items})
        worst = pockets[0]
        yield Finding(
            rule="air-lying",
            level="note",
            items=tuple(items),
            value=worst.height_mm,
            limit=limit,
            unit="mm",
            at=worst.at,
            message=f"With the case lying {side}, air stays in {', '.join(items)}: up to {mm(worst.height_mm)} above "
            "the way out.",
            remedy="Bleed the loop with the case standing, or give the high place a port with the use 'bleed'.",
        )


@rules(
    Rule("metals-dissimilar", "flows", "Metals in one loop agree", 0.25, "V",
         "Of two metals in one coolant the less noble one is eaten, and its crumbs block the fins of the other.",
         "anodic index after MIL-STD-889 and MIL-F-14072, as widely reprinted; 0.25 V for a normal environment"),
    reads=(),
)  # fmt: skip
def metals(scene: Scene) -> Iterator[Finding]:
    """Pairs of wetted metals that are too far apart."""
    limit = scene.limit("metals-dissimilar")
    by_metal: dict[str, list[str]] = {}
    for device in scene.document.devices:
        if device.metal != "none":
            by_metal.setdefault(device.metal, []).append(device.id)
    for couple in dissimilar(by_metal, limit):
        yield Finding(
            rule="metals-dissimilar",
            level="warning",
            items=(*by_metal[couple.eaten], *by_metal[couple.by]),
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
            remedy="Ask the coolant's maker whether it suits acrylic, and try it on an offcut that is bent. Glycol is "
            "poisonous: keep it from children and animals.",
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
        )


@rules(
    Rule("pocket-wet", "holds", "A pocket that must stay dry lies clear of every fitting", 2.0, "mm",
         "Whenever a fitting is opened it drips; a light strip beside it gets wet.", PRACTICE),
    local=True,
)  # fmt: skip
def dry_pockets(scene: Scene) -> Iterator[Finding]:
    """Pockets that must stay dry against the fittings on their face."""
    limit = scene.limit("pocket-wet")
    dry = {pocket.id: pocket for pocket in scene.document.pockets if pocket.must_stay_dry}
    for name, pocket in dry.items():
        polygon = shapely.make_valid(scene.shapes.pockets[name].polygon)
        for port in scene.shapes.ports.values():
            if port.item.face != pocket.face:
                continue
            value = float(shapely.distance(polygon, port.fitting))
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
                )
