"""From a document and its shapes to a network: what is joined to what, and what each piece is.

Nodes are the ports' roots in the plate, their faces, the branches and the devices' ports. Links are the channels, the
ports' bores, the drops, the tubes and the devices. Everything is taken in the order of its id, so that the order of the
file has no say.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.document.hardware import Device
from sketcher.document.remembered import Remembered
from sketcher.findings import Finding
from sketcher.flow.coolant import Coolant, coolant
from sketcher.flow.curves import CheckValve, Curve
from sketcher.flow.device_curves import DeviceModel, model
from sketcher.flow.ducts import BendIn, Duct
from sketcher.flow.heat import RadiatorCurve
from sketcher.flow.junctions import EndLoss, Leg, Tee, Vector, fixed_losses
from sketcher.flow.links import Links
from sketcher.flow.network import Graph
from sketcher.flow.pumps import RunningPump
from sketcher.flow.tubing import MM, SHORTEST, TUBE_BEND, Passage, fitting_volume, passages, tube_way
from sketcher.geometry import Shapes
from sketcher.geometry.shapes import ChannelShape, PortShape
from sketcher.tubes.runs import Run, between_devices, drops

Array = NDArray[np.float64]
#: Sand roughness of a milled wall, m. Common practice, no source.
MILLED = 5e-6


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


@dataclass(frozen=True)
class Change:
    """A change of section on a link.

    Attributes:
        narrows: whether flow along the link's drawn direction narrows there; none where it narrows and widens, as at
            the two ends of a fitting.
        drilled: whether it is a drill's point rather than a flat end.
    """

    narrows: bool | None
    drilled: bool = False


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
        air_c: °C of the air at radiators that draw in another than the room's, by link.
        valves: links that let nothing pass backwards.
        passages: bores of fittings, by the link of their tube.
        runs: the tubes in space, by link.
        changes: changes of section that cost something, by link.
        chambers: nodes where four ways or more meet.
        one_sided: of devices that are joined at one side only, which side that is.
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
    air_c: dict[int, float]
    valves: frozenset[int]
    passages: dict[int, tuple[Passage, ...]]
    runs: dict[int, Run]
    changes: dict[int, tuple[Change, ...]]
    chambers: tuple[str, ...]
    one_sided: dict[str, str]
    unjoined: tuple[str, ...]
    findings: tuple[Finding, ...]
    volume: float

    def at_speed(self, factor: float) -> Plumbing:
        """The same loop with every pump's speed times ``factor``."""
        return self.with_speeds({link: pump.speed * factor for link, pump in self.pumps.items()})

    def with_speeds(self, speeds: Mapping[int, float], valves: frozenset[int] = frozenset()) -> Plumbing:
        """The same loop with pumps at other speeds, as parts of that of their curves, by link.

        Args:
            speeds: of some pumps; 0 stops one.
            valves: links that get a check valve beside those that have one.
        """
        pumps = {link: replace(pump, speed=speeds.get(link, pump.speed)) for link, pump in self.pumps.items()}
        first, closing = len(self.links.ducts), self.valves | valves
        curves = list(self.links.curves)
        for link, pump in pumps.items():
            curves[link - first] = CheckValve(pump) if link in closing else pump
        return replace(self, links=self.links.with_curves(curves), pumps=pumps, valves=closing)

    def with_air(self, more_k: float) -> Plumbing:
        """The same loop with the air at every radiator so many kelvin warmer."""
        room = self.document.loop.room_c
        return replace(self, air_c={link: self.air_c.get(link, room) + more_k for link in self.radiators})

    def resized(self, channel: str, width_mm: float, depth_mm: float) -> Plumbing:
        """The same loop with one channel's section changed, the losses at its ends with it."""
        return plumbing(self.document, self.shapes, {channel: (width_mm, depth_mm)})


_passages: Remembered[tuple[Passage, ...]] = Remembered()
_fittings: Remembered[float] = Remembered()


@dataclass
class _Draft:
    """Gathers the network piece by piece."""

    names: dict[str, int] = field(default_factory=dict)
    ways: list[tuple[Element, Duct]] = field(default_factory=list)
    devices: list[tuple[Element, Curve]] = field(default_factory=list)
    legs: dict[int, list[Leg]] = field(default_factory=lambda: defaultdict(list))
    findings: list[Finding] = field(default_factory=list)
    passages: dict[int, tuple[Passage, ...]] = field(default_factory=dict)
    runs: dict[int, Run] = field(default_factory=dict)
    changes: dict[int, tuple[Change, ...]] = field(default_factory=dict)
    fittings: float = 0.0

    def run(self, link: int, run: Run) -> None:
        """What the network keeps of a tube beside its way."""
        self.runs[link] = run
        self.passages[link] = _passages.of((run,), None, lambda: passages(run))
        if any(abs(end.bore_mm - run.inner_mm) > 1e-9 and end.fitting.loss_k is None for end in (run.start, run.end)):
            self.changes[link] = (Change(None),)
        self.fittings += _fittings.of((run,), None, lambda: fitting_volume(run))

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
    for run in drops(document, shapes):
        _port_and_drop(draft, shapes.ports[run.id], run, shapes.thickness, sides)
    for run in between_devices(document, shapes):
        _tube(draft, document, run, sides)
    ducts = _with_junctions(draft)
    bore = document.loop.fitting_bore_mm * MM
    models = {
        d.id: _models.of((d,), (bore, density), partial(model, d, bore, density))
        for d in document.devices
        if d.ports and d.kind != "fan"
    }
    unjoined = _devices(draft, document, sides, models)
    for id_, found in models.items():
        if id_ not in unjoined:
            draft.findings += found.findings
    one_sided = {
        id_: next(iter(set(sides[id_].values()))).split(":")[1]
        for id_ in unjoined
        if len(set(sides.get(id_, {}).values())) == 1
    }
    return _finish(draft, document, shapes, mixture, ducts, models, unjoined, one_sided)


_models: Remembered[DeviceModel] = Remembered()


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
    start = item.start or f"{item.id}:start"
    end = item.end or f"{item.id}:end"
    duct, out, back = _channels.of((shape,), section, lambda: _channel_way(shape, section))
    link = draft.way(item.id, "channel", start, end, item.id, duct)
    draft.leg(start, link, True, out)
    draft.leg(end, link, False, back)


_channels: Remembered[tuple[Duct, Vector, Vector]] = Remembered()


def _channel_way(shape: ChannelShape, section: tuple[float, float] | None) -> tuple[Duct, Vector, Vector]:
    """A channel as a way, and the directions into it at its two ends."""
    item = shape.item
    width, depth = section or (item.width_mm, item.depth_mm)
    bends = tuple(BendIn(abs(bend.angle_deg), bend.radius / width) for bend in shape.bends)
    rough = MILLED if item.roughness_um is None else item.roughness_um * 1e-6
    duct = Duct(width * MM, depth * MM, max(shape.length_mm * MM, SHORTEST), roughness=rough, bends=bends)
    segments = shape.path.segments
    first = segments[0].direction() if segments else 0.0
    last = segments[-1].direction(at_end=True) + math.pi if segments else math.pi
    return duct, (math.cos(first), math.sin(first), 0.0), (math.cos(last), math.sin(last), 0.0)


def _outward(port: PortShape) -> Vector:
    """From the port's root out of the plate."""
    if port.heading is not None:
        return (-port.heading[0], -port.heading[1], 0.0)
    return (0.0, 0.0, 1.0 if port.item.face == "top" else -1.0)


def _port_and_drop(
    draft: _Draft, port: PortShape, run: Run, thickness: float, sides: dict[str, dict[str, str]]
) -> None:
    id_ = port.item.id
    bore = port.bore_diameter * MM
    if port.heading is not None:
        length = math.dist(port.at, port.root)
    else:
        length = abs((thickness if port.item.face == "top" else 0.0) - port.rise)
    face = f"{id_}:face"
    # A moved port's bore is as before: equal ways are one object, so that what is made of them is remembered.
    way = _bores.of((), (bore, length), lambda: _bore(bore, length))
    link = draft.way(id_, "port", id_, face, id_, way)
    draft.leg(id_, link, True, _outward(port), drilled=port.heading is not None)
    drop, leans = tube_way(run, bore)
    if leans:
        draft.note(
            id_,
            f"The tube at {id_} leans and is taken to bend twice, with a radius of {TUBE_BEND:g} bores.",
            "Draw its course.",
        )
    link = draft.way(f"{id_}-drop", "drop", face, _side(sides, run.end.ref), id_, drop)
    draft.run(link, run)


_bores: Remembered[Duct] = Remembered()


def _bore(bore: float, length_mm: float) -> Duct:
    return Duct(bore, bore, max(length_mm * MM, SHORTEST), round=True, roughness=MILLED)


def _tube(draft: _Draft, document: Document, run: Run, sides: dict[str, dict[str, str]]) -> None:
    tube = next(tube for tube in document.loop.tubes if tube.id == run.id)
    if tube.length_mm is None and not run.drawn:
        message = f"The tube {tube.id} is taken as straight, {run.wet_length_mm:.0f} mm."
        draft.note(tube.id, message, "Draw its course, or type its length.")
    way, _ = tube_way(run, None, tube.length_mm)
    link = draft.way(tube.id, "tube", _side(sides, tube.start), _side(sides, tube.end), tube.id, way)
    draft.run(link, run)


def _with_junctions(draft: _Draft) -> list[Duct]:
    """The ways with the losses of the junctions at their ends."""
    ends: dict[int, list[EndLoss]] = defaultdict(list)
    for legs in draft.legs.values():
        for end in _losses.of((), tuple(legs), lambda legs=legs: tuple(fixed_losses(legs))):  # type: ignore[misc]
            ends[end.link].append(end)
            if end.k_out or end.k_in:
                change = Change(end.leaves, end.drilled)
                draft.changes[end.link] = (*draft.changes.get(end.link, ()), change)
    return [
        _ended.of((duct, *ends[link]), None, partial(_with_ends, duct, ends[link]))
        for link, (_, duct) in enumerate(draft.ways)
    ]


_losses: Remembered[tuple[EndLoss, ...]] = Remembered()
_ended: Remembered[Duct] = Remembered()


def _with_ends(duct: Duct, ends: Sequence[EndLoss]) -> Duct:
    """A way with what its ends cost."""
    for end in ends:
        if end.leaves:
            duct = replace(
                duct,
                k_forward=duct.k_forward + end.k_out,
                k_backward=duct.k_backward + end.k_in,
                turn_forward=duct.turn_forward + end.turn_out,
                turn_backward=duct.turn_backward + end.turn_in,
                low_forward=duct.low_forward + end.low_out,
                low_backward=duct.low_backward + end.low_in,
                inlet_low_forward=end.inlet_low,
            )
        else:
            duct = replace(
                duct,
                k_forward=duct.k_forward + end.k_in,
                k_backward=duct.k_backward + end.k_out,
                turn_forward=duct.turn_forward + end.turn_in,
                turn_backward=duct.turn_backward + end.turn_out,
                low_forward=duct.low_forward + end.low_in,
                low_backward=duct.low_backward + end.low_out,
                inlet_low_backward=end.inlet_low,
            )
    return duct


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


_graphs: Remembered[Graph] = Remembered(most=16)


def _graph(nodes: int, starts: tuple[int, ...], ends: tuple[int, ...]) -> Graph:
    """Who is joined to whom, with what is worked out of that: while things only move it is one object."""

    def make() -> Graph:
        return Graph(nodes, np.array(starts, dtype=np.intp), np.array(ends, dtype=np.intp))

    return _graphs.of((), (nodes, starts, ends), make)


def _finish(
    draft: _Draft,
    document: Document,
    shapes: Shapes,
    mixture: Coolant,
    ducts: list[Duct],
    models: dict[str, DeviceModel],
    unjoined: set[str],
    one_sided: dict[str, str],
) -> Plumbing:
    elements = [element for element, _ in draft.ways] + [element for element, _ in draft.devices]
    devices = {device.id: device for device in document.devices}
    # Links behind the ducts are devices.
    at = {link: devices[elements[link].id] for link in range(len(ducts), len(elements))}
    curves = {link: models[device.id].curve for link, device in at.items()}
    radiators = {link: found for link, device in at.items() if (found := models[device.id].radiator) is not None}
    valves = frozenset(link for link, device in at.items() if device.check_valve)
    closing = {elements[link].id for link in valves}
    tees = [(node, Tee(legs)) for node, legs in draft.legs.items() if len(legs) == 3]
    volume = sum(duct.volume for duct in ducts) + draft.fittings
    volume += sum(devices[id_].volume_ml for id_ in models if id_ not in unjoined) * 1e-6
    return Plumbing(
        document=document,
        shapes=shapes,
        coolant=mixture,
        nodes=tuple(draft.names),
        elements=tuple(elements),
        graph=_graph(len(draft.names), tuple(e.start for e in elements), tuple(e.end for e in elements)),
        links=Links(
            ducts,
            [CheckValve(curve) if element.id in closing else curve for element, curve in draft.devices],
        ),
        tees=tuple(tee for _, tee in tees),
        tee_nodes=tuple(node for node, _ in tees),
        models=models,
        heat=np.array([at[link].heat_w if link in at else 0.0 for link in range(len(elements))]),
        radiators=radiators,
        pumps={link: curve for link, curve in curves.items() if isinstance(curve, RunningPump)},
        air_c={link: air for link in radiators if (air := at[link].air_c) is not None},
        valves=valves,
        passages=draft.passages,
        runs=draft.runs,
        changes=draft.changes,
        chambers=tuple(name for name, node in draft.names.items() if len(draft.legs.get(node, ())) > 3),
        one_sided=one_sided,
        unjoined=tuple(sorted(unjoined)),
        findings=tuple(draft.findings),
        volume=volume,
    )
