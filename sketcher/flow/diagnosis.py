"""What is wrong with a loop, or worth knowing: findings from its operating point."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sketcher.document.hardware import Device
from sketcher.findings import Finding, Level
from sketcher.flow.device_curves import KPA, L_MIN
from sketcher.flow.doubts import doubtful_curves
from sketcher.flow.ducts import DuctState
from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation
from sketcher.flow.plumbing import Plumbing
from sketcher.flow.ranges import notes
from sketcher.flow.rings import Ring, pumped, rings
from sketcher.flow.rules import limit_in_force
from sketcher.flow.speeds import speeds, too_little
from sketcher.flow.tracing import passed_by
from sketcher.flow.warmth import coolant_range, warmth

#: Past these shares of the pump's flow a way past the blocks is a warning, or worth a note. Common practice, no source.
_BYPASS_NOTE_PERCENT = 2.0


def diagnose(loop: Plumbing, now: Operation, state: DuctState) -> list[Finding]:
    """Every finding of the flow and the heat, most severe first."""
    parts = rings(loop)
    found = [
        *loop.findings,
        *doubtful_curves(loop.document),
        *_pumps(loop, now),
        *_rings(loop, now, parts),
        *_standing(loop, now, parts),
        *_unjoined(loop),
        *_backwards(loop, now, parts),
        *_bypass(loop, now),
        *speeds(loop, now, state),
        *too_little(loop, now),
        *notes(loop, now, state),
        *coolant_range(loop, now),
        *warmth(loop, now),
    ]
    if not now.settled:
        message = "Flows and temperatures did not settle; the figures are the last of a long search."
        remedy = "Look for a curve or a size that cannot be right."
        found.append(Finding("not-settled", "error", (), message, remedy))
    elif now.unsure > 0:
        message = (
            f"Where passages meet the flow may divide in two ways; losses there are good to {now.unsure / KPA:.2g} kPa."
        )
        remedy = "Narrow one of two wide ways that run side by side."
        found.append(Finding("not-settled", "warning", _meetings(loop), message, remedy, now.unsure / KPA, 0.0, "kPa"))
    order: tuple[Level, ...] = ("error", "warning", "note")
    return sorted(found, key=lambda finding: (order.index(finding.level), finding.rule, finding.items))


def _meetings(loop: Plumbing) -> tuple[str, ...]:
    return tuple(sorted({loop.nodes[node].split(":")[0] for node in loop.tee_nodes}))


def _pumps(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    if not loop.pumps:
        if loop.elements:
            yield Finding(
                "no-pump", "error", (), "No pump drives the loop: nothing flows.",
                "Add a pump and join both its ports, by ports of the plate that serve them or by tubes.",
            )  # fmt: skip
        return
    for link, pump in loop.pumps.items():
        id_, flow = loop.elements[link].id, float(now.flow[link])
        if not pump.curve.known:
            continue
        if pump.speed <= 0:
            yield _stopped(loop, now, link)
        elif (
            abs(flow) <= STILL
            and link in loop.valves
            and float(now.drop[link]) > -pump.curve.shut_off * (pump.speed**2) * (1 - 1e-6) - 1e-3
        ):
            yield Finding(
                "pumps-fight", "error", (id_,),
                f"A stronger pump holds the check valve of {id_} shut: it moves nothing.",
                "Set both pumps in series, or two alike side by side.", 0.0, 0.0, "l/min",
            )  # fmt: skip
        elif abs(flow) <= STILL:
            ends = _open_ends(loop, link)
            where = f" It ends at {', '.join(ends)}." if ends else ""
            yield Finding(
                "pump-dead-headed", "error", (id_, *ends),
                f"The pump {id_} runs against a closed loop and moves nothing.{where}",
                "Lead its coolant back to its inlet.",
            )  # fmt: skip
        elif flow < 0:
            yield Finding(
                "pumps-fight", "error", (id_,),
                f"The pump {id_} is pushed backwards, {-flow / L_MIN:.2f} l/min, by a stronger one.",
                "Set both pumps in series, or two alike side by side.", flow / L_MIN, 0.0, "l/min",
            )  # fmt: skip
        elif now.drop[link] > 0:
            yield Finding(
                "pumps-fight", "warning", (id_,),
                f"The pump {id_} is dragged along by a stronger one and holds it back "
                f"by {now.drop[link] / KPA:.1f} kPa.",
                "Run it faster, or leave it out.", float(now.drop[link]) / KPA, 0.0, "kPa",
            )  # fmt: skip
        elif flow < pump.curve.top * pump.speed:
            yield Finding(
                "pump-curve-rises", "warning", (id_,),
                f"The pump {id_} works at {flow / L_MIN:.2f} l/min, where its curve still climbs: the flow may hunt.",
                "Lower the loop's resistance, or take another pump.",
                flow / L_MIN, pump.curve.top * pump.speed / L_MIN, "l/min",
            )  # fmt: skip
        elif not pump.curve.covers(flow, pump.speed):
            yield Finding(
                "outside-range", "note", (id_,),
                f"The pump {id_} works at {flow / L_MIN:.2f} l/min, outside its measured points: "
                "its curve was extended.",
                "Measure it there.", flow / L_MIN, pump.curve.highest * pump.speed / L_MIN, "l/min",
            )  # fmt: skip


def _open_ends(loop: Plumbing, pump: int) -> tuple[str, ...]:
    """Ports, branches and devices at which the pump's part of the network ends."""
    ends = np.bincount(loop.graph.start, minlength=loop.graph.nodes)
    ends += np.bincount(loop.graph.end, minlength=loop.graph.nodes)
    part = loop.graph.component
    here = part[loop.elements[pump].start]
    names = {loop.nodes[n].split(":")[0] for n in range(loop.graph.nodes) if ends[n] == 1 and part[n] == here}
    return tuple(sorted(names - {loop.elements[pump].id}))


def _stopped(loop: Plumbing, now: Operation, link: int) -> Finding:
    id_, flow, lost = loop.elements[link].id, abs(float(now.flow[link])), abs(float(now.drop[link]))
    if flow > STILL:
        what = f"{flow / L_MIN:.2f} l/min are pushed through it at about {lost / KPA:.1f} kPa, by its own curve"
    else:
        what = "nothing passes it"
    return Finding(
        "pump-stopped", "warning", (id_,), f"The pump {id_} has stopped: {what}.",
        "Give it a speed above 0, or take it out.", 0.0, 0.0, "%",
    )  # fmt: skip


def _rings(loop: Plumbing, now: Operation, parts: list[Ring]) -> Iterator[Finding]:
    """Loops of their own: that there are several, and those that nothing drives."""
    driven = [ring for ring in parts if ring.driven]
    if len(driven) > 1:
        words = []
        for ring in driven:
            flow, pressure = pumped(loop, now, ring)
            words.append(f"{', '.join(ring.devices)} at {flow / L_MIN:.2f} l/min and {pressure / KPA:.1f} kPa")
        yield Finding(
            "loops-separate", "note", tuple(id_ for ring in driven for id_ in ring.devices),
            f"There are {len(driven)} separate loops: {'; '.join(words)}.",
            "Leave it if that is meant; otherwise join them.",
        )  # fmt: skip
    for ring in parts if loop.pumps else ():
        if ring.driven or ring.pumps:
            continue
        form = "forms a ring of its own" if len(ring.devices) == 1 else "form a ring of their own"
        watts = sum(float(loop.heat[link]) for link, element in enumerate(loop.elements) if element.id in ring.devices)
        yield Finding(
            "ring-without-pump", "error" if watts > 0 else "warning", ring.devices,
            f"{', '.join(ring.devices)} {form} without a pump: nothing flows there"
            + (f", and {watts:.0f} W stay in it." if watts > 0 else "."),
            "Give it a pump, or join it to the loop that has one.", watts if watts > 0 else None,
            0.0 if watts > 0 else None, "W" if watts > 0 else "",
        )  # fmt: skip


def _standing(loop: Plumbing, now: Operation, parts: list[Ring]) -> Iterator[Finding]:
    """Channels and heated devices without flow in a loop that does flow somewhere."""
    idle = {ring.part for ring in parts if not ring.pumps} if loop.pumps else set()
    if float(np.abs(now.flow).max(initial=0.0)) <= STILL:
        for link, element in enumerate(loop.elements):
            if loop.heat[link] > 0 and element.kind != "pump":
                yield _hot(element.id, float(loop.heat[link]))
        return
    quiet = {port.id for port in loop.document.ports if port.use != "loop"}
    channels = {channel.id: channel for channel in loop.document.channels}
    for link, element in enumerate(loop.elements):
        if abs(now.flow[link]) > STILL or loop.graph.component[element.start] in idle:
            continue
        if element.kind == "channel":
            ends = {channels[element.id].start, channels[element.id].end}
            meant = bool(ends & quiet)
            yield Finding(
                "dead-end", "note" if meant else "warning", (element.id,),
                f"No coolant moves in the channel {element.id}"
                + (", which leads to a port for filling, draining or a sensor." if meant else "."),
                "No action needed." if meant else "Lead it on to where the coolant can return, or delete it.",
            )  # fmt: skip
        elif loop.heat[link] > 0 and element.kind != "pump":
            yield _hot(element.id, float(loop.heat[link]))


def _hot(id_: str, watts: float) -> Finding:
    return Finding(
        "block-without-flow", "error", (id_,), f"No coolant moves through {id_}, which gives off {watts:.0f} W.",
        "Connect it into the loop.", watts, 0.0, "W",
    )  # fmt: skip


def _unjoined(loop: Plumbing) -> Iterator[Finding]:
    devices = {device.id: device for device in loop.document.devices}
    for id_ in loop.unjoined:
        device: Device = devices[id_]
        serious = device.heat_w > 0 or device.kind == "pump"
        yield Finding(
            "device-unconnected", "error" if serious else "warning", (id_,),
            f"{id_} is joined to the loop at its {_SIDES[side]} only; its {_SIDES[_OTHER[side]]} leads nowhere."
            if (side := loop.one_sided.get(id_)) else f"{id_} is not joined to the loop.",
            f"Let a port of the plate serve its {_SIDES[_OTHER[side]]}, or join it by a tube."
            if side else "Let ports of the plate serve its ports, or join them by tubes.",
        )  # fmt: skip


_SIDES, _OTHER = {"in": "inlet", "out": "outlet"}, {"in": "out", "out": "in"}


def _backwards(loop: Plumbing, now: Operation, parts: list[Ring]) -> Iterator[Finding]:
    """Devices that are passed from outlet to inlet; where it is all of them, the pump is the one that is reversed."""
    marked = {d.id for d in loop.document.devices if any(port.flow != "either" for port in d.ports)}
    first = len(loop.links.ducts)
    flowing: dict[int, list[int]] = {}
    for link in range(first, len(loop.elements)):
        element = loop.elements[link]
        if element.id in marked and element.kind != "pump" and abs(now.flow[link]) > STILL:
            flowing.setdefault(int(loop.graph.component[element.start]), []).append(link)
    pumps = {ring.part: ring.pumps for ring in parts}
    for part, links in flowing.items():
        reversed_ = [link for link in links if now.flow[link] < 0]
        if len(links) > 1 and len(reversed_) == len(links) and len(pumps.get(part, ())) == 1:
            pump = loop.elements[pumps[part][0]].id
            yield Finding(
                "pump-reversed", "warning", (pump,),
                f"The pump {pump} drives the loop backwards: all {len(links)} devices with a marked inlet are passed "
                "from their outlet.",
                f"Swap the two channels of {pump}.",
            )  # fmt: skip
            continue
        for link in reversed_:
            yield Finding(
                "device-backwards", "warning", (loop.elements[link].id,),
                f"Coolant passes {loop.elements[link].id} from its outlet to its inlet.", "Swap its two channels.",
            )  # fmt: skip


def _bypass(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    blocks = [i for i, element in enumerate(loop.elements) if element.kind == "block" and abs(now.flow[i]) > STILL]
    pumps = [link for link, pump in loop.pumps.items() if pump.curve.known and now.flow[link] > STILL]
    if not pumps:
        return
    main = max(pumps, key=lambda link: now.flow[link])
    any_block = any(element.kind == "block" for element in loop.elements)
    past = 100 * passed_by(loop.graph, now.flow, main, blocks) if any_block else 0.0
    limit = limit_in_force(loop.document, "short-circuit")
    if past > min(_BYPASS_NOTE_PERCENT, limit):
        yield Finding(
            "short-circuit", "warning" if past > limit else "note", (loop.elements[main].id,),
            f"{past:.0f} % of the pump's flow passes no block.",
            "Narrow the way past the blocks, or take it out.", past, limit, "%",
        )  # fmt: skip
