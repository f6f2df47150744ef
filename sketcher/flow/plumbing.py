"""From a document and its shapes to a network: what is joined to what, and what each piece is.

Nodes are the ports' roots in the plate, their faces, the branches and the devices' ports. Links are the channels, the
ports' bores, the drops, the tubes and the devices. Everything is taken in the order of its id, so that the order of the
file has no say.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.document.hardware import Device
from sketcher.findings import Finding
from sketcher.flow import losses
from sketcher.flow.coolant import Coolant, coolant
from sketcher.flow.curves import Curve
from sketcher.flow.devices import DeviceModel, model
from sketcher.flow.ducts import BendIn, Duct
from sketcher.flow.heat import RadiatorCurve
from sketcher.flow.junctions import Leg, Tee, Vector, fixed_losses
from sketcher.flow.links import Links
from sketcher.flow.network import Graph
from sketcher.flow.pumps import RunningPump
from sketcher.geometry import Shapes
from sketcher.geometry.shapes import ChannelShape, DevicePortPlace, PortShape

Array = NDArray[np.float64]
MM = 1e-3

#: Sand roughness of a milled and of a drawn wall, m. Milled: common practice, no source.
#: Drawn tubing: Moody, Trans. ASME 66, 1944.
MILLED, DRAWN = 5e-6, 1.5e-6
#: A tube that has to lean is taken to bend twice, with this radius in its bores. Common practice, no source.
TUBE_BEND = 3.0
#: A drop that leans less than this is straight, degrees.
_PLUMB_DEG = 5.0
#: A channel of no length still joins its ends.
_SHORTEST = 1e-6


@dataclass(frozen=True)
class Element:
    """One link of the loop.

    Attributes:
        id: the item's id; a port's drop adds ``-drop``.
        kind: ``channel``, ``port``, ``drop``, ``tube``, or a device's kind.
        start, end: nodes; the way the link is drawn.
        item: the item it belongs to.
    """

    id: str
    kind: str
    start: int
    end: int
    item: str


@dataclass(frozen=True, eq=False)
class Plumbing:
    """The loop as a network. Links are ``elements`` in order: the ways first, then the devices.

    Attributes:
        nodes: names of the nodes.
        tees, tee_nodes: the junctions of three ways and where they are.
        models: of every device that has ports, by id.
        heat: W put into the coolant in each link.
        radiators: by link.
        pumps: by link.
        unjoined: devices that nothing reaches, or only at one side.
        findings: what was assumed or is missing.
        volume: of the coolant, m³.
    """

    document: Document
    shapes: Shapes
    coolant: Coolant
    nodes: tuple[str, ...]
    elements: tuple[Element, ...]
    graph: Graph
    links: Links
    tees: tuple[Tee, ...]
    tee_nodes: tuple[int, ...]
    models: dict[str, DeviceModel]
    heat: Array
    radiators: dict[int, RadiatorCurve]
    pumps: dict[int, RunningPump]
    unjoined: tuple[str, ...]
    findings: tuple[Finding, ...]
    volume: float

    def at_speed(self, factor: float) -> Plumbing:
        """The same loop with every pump's speed times ``factor``."""
        pumps = {link: replace(pump, speed=pump.speed * factor) for link, pump in self.pumps.items()}
        first = len(self.links.ducts)
        curves = [pumps.get(first + i, curve) for i, curve in enumerate(self.links.curves)]
        return replace(self, links=self.links.with_curves(curves), pumps=pumps)

    def resized(self, channel: str, width_mm: float, depth_mm: float) -> Plumbing:
        """The same loop with one channel's section changed, the losses at its ends with it."""
        return plumbing(self.document, self.shapes, {channel: (width_mm, depth_mm)})


@dataclass
class _Draft:
    """Gathers the network piece by piece."""

    names: dict[str, int] = field(default_factory=dict)
    ways: list[tuple[Element, Duct]] = field(default_factory=list)
    devices: list[tuple[Element, Curve]] = field(default_factory=list)
    legs: dict[int, list[Leg]] = field(default_factory=lambda: defaultdict(list))
    findings: list[Finding] = field(default_factory=list)

    def node(self, name: str) -> int:
        return self.names.setdefault(name, len(self.names))

    def way(self, id_: str, kind: str, start: str, end: str, item: str, duct: Duct) -> int:
        self.ways.append((Element(id_, kind, self.node(start), self.node(end), item), duct))
        return len(self.ways) - 1

    def leg(self, node: str, link: int, leaves: bool, direction: Vector, drilled: bool = False) -> None:
        area = self.ways[link][1].area
        self.legs[self.node(node)].append(Leg(link, leaves, direction, area, drilled))

    def note(self, item: str, message: str, remedy: str = "Draw it as it is, or measure it.") -> None:
        self.findings.append(Finding("assumed", "note", (item,), message, remedy))


def plumbing(document: Document, shapes: Shapes, sections: Mapping[str, tuple[float, float]] | None = None) -> Plumbing:
    """The network of a document. It never fails: what cannot be joined is left out, with a finding.

    Args:
        document: the plate.
        shapes: its shapes.
        sections: width and depth, mm, of channels that are to be tried in another size.
    """
    draft = _Draft()
    mixture = coolant(document.loop.coolant.kind, document.loop.coolant.strength_percent)
    density = float(mixture.density(25.0))
    joined = _joined_device_ports(document)
    sides = {device.id: _sides(device, joined, draft) for device in document.devices if device.ports}
    for channel_id in sorted(shapes.channels):
        _channel(draft, shapes.channels[channel_id], (sections or {}).get(channel_id))
    for port_id in sorted(shapes.ports):
        port = shapes.ports[port_id]
        if port.item.serves is not None and port.item.serves in shapes.device_ports:
            _port_and_drop(draft, document, port, shapes.device_ports[port.item.serves], shapes.thickness, sides)
    for tube in sorted(document.loop.tubes, key=lambda tube: tube.id):
        _tube(draft, document, tube.id, shapes.device_ports, sides)
    ducts = _with_junctions(draft)
    bore = document.loop.fitting_bore_mm * MM
    models = {d.id: model(d, bore, density) for d in document.devices if d.ports and d.kind != "fan"}
    unjoined = _devices(draft, document, sides, models)
    for id_, found in models.items():
        if id_ not in unjoined:
            draft.findings += found.findings
    return _finish(draft, document, shapes, mixture, ducts, models, unjoined)


def _joined_device_ports(document: Document) -> set[str]:
    """Device ports that a plate port serves or a tube ends at."""
    found = {port.serves for port in document.ports if port.serves is not None}
    for tube in document.loop.tubes:
        found |= {tube.start, tube.end}
    return found


def _sides(device: Device, joined: set[str], draft: _Draft) -> dict[str, str]:
    """The node of each joined port of a device, by port reference: its inlet side or its outlet side.

    Ports that say neither go where one is missing, in their order; further ones join the inlet side.
    """
    ports = [port for port in device.ports if f"{device.id}.{port.id}" in joined]
    side = {port.id: port.flow for port in ports}
    for port in ports:
        if side[port.id] != "either":
            continue
        flows = list(side.values())
        side[port.id] = "out" if "in" in flows and "out" not in flows else "in"
    if len(ports) > 2:
        draft.note(device.id, f"{device.id} has {len(ports)} tubes: its inlets, and its outlets, count as one each.")
    if len(ports) == 2 and len(set(side.values())) == 1:
        # Two ports of one kind: water goes through all the same, in at the first.
        draft.note(device.id, f"Both joined ports of {device.id} are marked {side[ports[0].id]}: one was turned round.",
                   "Mark one port in and the other out.")  # fmt: skip
        side[ports[0].id], side[ports[1].id] = "in", "out"
    return {f"{device.id}.{port.id}": f"{device.id}:{side[port.id]}" for port in ports}


def _side(sides: dict[str, dict[str, str]], ref: str) -> str:
    return sides.get(ref.split(".", 1)[0], {}).get(ref, ref)


def _channel(draft: _Draft, shape: ChannelShape, section: tuple[float, float] | None) -> None:
    item = shape.item
    width, depth = section or (item.width_mm, item.depth_mm)
    bends = tuple(BendIn(abs(bend.angle_deg), bend.radius / width) for bend in shape.bends)
    duct = Duct(width * MM, depth * MM, max(shape.length_mm * MM, _SHORTEST), roughness=MILLED, bends=bends)
    start = item.start or f"{item.id}:start"
    end = item.end or f"{item.id}:end"
    link = draft.way(item.id, "channel", start, end, item.id, duct)
    segments = shape.path.segments
    first = segments[0].direction() if segments else 0.0
    last = segments[-1].direction(at_end=True) + math.pi if segments else math.pi
    draft.leg(start, link, True, (math.cos(first), math.sin(first), 0.0))
    draft.leg(end, link, False, (math.cos(last), math.sin(last), 0.0))


def _outward(port: PortShape) -> Vector:
    """From the port's root out of the plate."""
    if port.heading is not None:
        return (-port.heading[0], -port.heading[1], 0.0)
    return (0.0, 0.0, 1.0 if port.item.face == "top" else -1.0)


def _port_and_drop(
    draft: _Draft,
    document: Document,
    port: PortShape,
    place: DevicePortPlace,
    thickness: float,
    sides: dict[str, dict[str, str]],
) -> None:
    loop, id_ = document.loop, port.item.id
    bore = port.bore_diameter * MM
    if port.heading is not None:
        length, height = math.dist(port.at, port.root), port.rise
    else:
        height = thickness if port.item.face == "top" else 0.0
        length = abs(height - port.rise)
    face = f"{id_}:face"
    way = Duct(bore, bore, max(length * MM, _SHORTEST), round=True, roughness=MILLED)
    link = draft.way(id_, "port", id_, face, id_, way)
    outward = _outward(port)
    draft.leg(id_, link, True, outward, drilled=port.heading is not None)

    at = (port.at[0], port.at[1], document.plate.z_mm + height)
    run = (place.x - at[0], place.y - at[1], place.z - at[2])
    straight = math.hypot(*run)
    lean = 0.0
    if straight > 0:
        cosine = sum(a * b for a, b in zip(run, outward, strict=True)) / straight
        lean = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
    tube = loop.tube_inner_diameter_mm * MM
    bends = (BendIn(lean, TUBE_BEND),) * 2 if lean > _PLUMB_DEG else ()
    plate_end = _fitting(tube, loop.fitting_bore_mm * MM, bore)
    device_end = _fitting(tube, loop.fitting_bore_mm * MM, None)
    drop = Duct(
        tube, tube, max(straight * MM, _SHORTEST), round=True, roughness=DRAWN, bends=bends,
        k_forward=plate_end[0] + device_end[1], k_backward=plate_end[1] + device_end[0],
    )  # fmt: skip
    draft.way(f"{id_}-drop", "drop", face, _side(sides, place.ref), id_, drop)


def _fitting(tube: float, bore: float, beyond: float | None) -> tuple[float, float]:
    """K of a fitting on the tube's velocity, for flow into the tube and out of it.

    The way narrows or widens between the tube, the fitting's bore and the plate's bore ``beyond`` it; a device's own
    curve is measured with its ports, so that nothing is added beyond its fitting.
    """

    def change(before: float, after: float) -> float:
        small = min(before, after)
        k = (
            losses.sudden_contraction((after / before) ** 2)
            if after < before
            else losses.sudden_expansion((before / after) ** 2)
        )
        return k * (tube / small) ** 4

    into, out_of = change(bore, tube), change(tube, bore)
    if beyond is not None:
        into += change(beyond, bore)
        out_of += change(bore, beyond)
    return into, out_of


def _tube(
    draft: _Draft,
    document: Document,
    tube_id: str,
    places: dict[str, DevicePortPlace],
    sides: dict[str, dict[str, str]],
) -> None:
    loop = document.loop
    tube = next(tube for tube in loop.tubes if tube.id == tube_id)
    inner = (tube.inner_diameter_mm or loop.tube_inner_diameter_mm) * MM
    length = tube.length_mm
    if length is None:
        a, b = places[tube.start], places[tube.end]
        length = math.dist((a.x, a.y, a.z), (b.x, b.y, b.z))
        draft.note(tube.id, f"The tube {tube.id} is taken as straight, {length:.0f} mm.", "Type its length.")
    into, out_of = _fitting(inner, loop.fitting_bore_mm * MM, None)
    way = Duct(
        inner, inner, max(length * MM, _SHORTEST), round=True, roughness=DRAWN,
        k_forward=into + out_of, k_backward=into + out_of,
    )  # fmt: skip
    draft.way(tube.id, "tube", _side(sides, tube.start), _side(sides, tube.end), tube.id, way)


def _with_junctions(draft: _Draft) -> list[Duct]:
    """The ways with the losses of the junctions at their ends."""
    ducts = [duct for _, duct in draft.ways]
    for legs in draft.legs.values():
        for end in fixed_losses(legs):
            duct = ducts[end.link]
            if end.leaves:
                ducts[end.link] = replace(
                    duct,
                    k_forward=duct.k_forward + end.k_out,
                    k_backward=duct.k_backward + end.k_in,
                    low_forward=duct.low_forward + end.low_out,
                    low_backward=duct.low_backward + end.low_in,
                    inlet_low_forward=end.inlet_low,
                )
            else:
                ducts[end.link] = replace(
                    duct,
                    k_forward=duct.k_forward + end.k_in,
                    k_backward=duct.k_backward + end.k_out,
                    low_forward=duct.low_forward + end.low_in,
                    low_backward=duct.low_backward + end.low_out,
                    inlet_low_backward=end.inlet_low,
                )
    return ducts


def _devices(
    draft: _Draft, document: Document, sides: dict[str, dict[str, str]], models: dict[str, DeviceModel]
) -> set[str]:
    """Adds the devices that are joined at both sides; the ids of the others come back."""
    unjoined = set()
    loose_pumps = []
    devices = sorted((d for d in document.devices if d.id in models), key=lambda d: d.id)
    for device in devices:
        inlet, outlet = f"{device.id}:in", f"{device.id}:out"
        reached = set(sides[device.id].values())
        if {inlet, outlet} <= reached:
            element = Element(device.id, device.kind, draft.node(inlet), draft.node(outlet), device.id)
            draft.devices.append((element, models[device.id].curve))
        elif device.kind == "pump" and not reached and document.loop.pumps != "as-connected":
            loose_pumps.append(device)
        else:
            unjoined.add(device.id)
    for device in loose_pumps:
        if not _beside(draft, device, document.loop.pumps, models):
            unjoined.add(device.id)
    return unjoined


def _beside(draft: _Draft, device: Device, arrangement: str, models: dict[str, DeviceModel]) -> bool:
    """Sets a pump without tubes of its own beside the first joined one: behind it, or at its side."""
    for i, (element, curve) in enumerate(draft.devices):
        if element.kind != "pump":
            continue
        if arrangement == "parallel":
            beside = Element(device.id, "pump", element.start, element.end, device.id)
        else:
            between = draft.node(f"{device.id}:between")
            beside = Element(device.id, "pump", between, element.end, device.id)
            draft.devices[i] = (replace(element, end=between), curve)
        draft.devices.append((beside, models[device.id].curve))
        return True
    return False


def _finish(
    draft: _Draft,
    document: Document,
    shapes: Shapes,
    mixture: Coolant,
    ducts: list[Duct],
    models: dict[str, DeviceModel],
    unjoined: set[str],
) -> Plumbing:
    elements = [element for element, _ in draft.ways] + [element for element, _ in draft.devices]
    devices = {device.id: device for device in document.devices}
    heat = np.zeros(len(elements))
    radiators: dict[int, RadiatorCurve] = {}
    pumps: dict[int, RunningPump] = {}
    for link in range(len(ducts), len(elements)):
        found = models[elements[link].id]
        heat[link] = devices[elements[link].id].heat_w
        if found.radiator is not None:
            radiators[link] = found.radiator
        if isinstance(found.curve, RunningPump):
            pumps[link] = found.curve
    tees = [(node, Tee(legs)) for node, legs in draft.legs.items() if len(legs) == 3]
    volume = sum(duct.volume for duct in ducts)
    volume += sum(devices[id_].volume_ml for id_ in models if id_ not in unjoined) * 1e-6
    return Plumbing(
        document=document,
        shapes=shapes,
        coolant=mixture,
        nodes=tuple(draft.names),
        elements=tuple(elements),
        graph=Graph(
            len(draft.names),
            np.array([e.start for e in elements], dtype=np.intp),
            np.array([e.end for e in elements], dtype=np.intp),
        ),
        links=Links(ducts, [curve for _, curve in draft.devices]),
        tees=tuple(tee for _, tee in tees),
        tee_nodes=tuple(node for node, _ in tees),
        models=models,
        heat=heat,
        radiators=radiators,
        pumps=pumps,
        unjoined=tuple(sorted(unjoined)),
        findings=tuple(draft.findings),
        volume=volume,
    )
