"""What is wrong with a loop, or worth knowing: findings from its operating point."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sketcher.document.hardware import Device
from sketcher.findings import Finding, Level
from sketcher.flow.devices import KPA, L_MIN
from sketcher.flow.ducts import DuctState
from sketcher.flow.friction import LAMINAR_TO, TURBULENT_FROM
from sketcher.flow.losses import bend_note, mitre_note
from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation
from sketcher.flow.plumbing import Plumbing
from sketcher.flow.rules import RULES
from sketcher.flow.tracing import passed_by
from sketcher.reference import materials
from sketcher.reference.tables import UnknownEntry

#: Past these shares of the pump's flow a way past the blocks is a warning, or worth a note. Common practice, no source.
_BYPASS_NOTE_PERCENT = 2.0


def diagnose(loop: Plumbing, now: Operation, state: DuctState) -> list[Finding]:
    """Every finding of the flow and the heat, most severe first."""
    found = [
        *loop.findings,
        *_pumps(loop, now),
        *_standing(loop, now),
        *_unjoined(loop),
        *_backwards(loop, now),
        *_bypass(loop, now),
        *_speeds(loop, now, state),
        *_ranges(loop, now),
        *_coolant(loop, now),
        *_warmth(loop, now),
    ]
    if not now.settled:
        message = "Flows and temperatures did not settle; the figures are the last of a long search."
        remedy = "Look for a curve or a size that cannot be right."
        found.append(Finding("not-settled", "error", (), message, remedy))
    elif now.unsure > 0:
        message = (
            f"Where ways meet the flow may divide in two ways; losses there are good to {now.unsure / KPA:.2g} kPa."
        )
        remedy = "Narrow one of two wide ways that run side by side."
        found.append(Finding("not-settled", "warning", _meetings(loop), message, remedy, now.unsure / KPA, 0.0, "kPa"))
    order: tuple[Level, ...] = ("error", "warning", "note")
    return sorted(found, key=lambda finding: (order.index(finding.level), finding.rule, finding.items))


def _meetings(loop: Plumbing) -> tuple[str, ...]:
    return tuple(sorted({loop.nodes[node].split(":")[0] for node in loop.tee_nodes}))


def _limit(loop: Plumbing, rule: str) -> float:
    limit = loop.document.limits.get(rule, RULES[rule].limit)
    assert limit is not None
    return limit


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
        if abs(flow) <= STILL:
            ends = _open_ends(loop, link)
            where = f" It ends at {', '.join(ends)}." if ends else ""
            yield Finding(
                "pump-dead-headed", "error", (id_, *ends),
                f"The pump {id_} runs against a closed loop and moves nothing.{where}",
                "Lead its water back to its inlet.",
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


def _standing(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    """Channels and heated devices without flow in a loop that does flow somewhere."""
    if float(np.abs(now.flow).max(initial=0.0)) <= STILL:
        for link, element in enumerate(loop.elements):
            if loop.heat[link] > 0 and element.kind != "pump":
                yield _hot(element.id, float(loop.heat[link]))
        return
    quiet = {port.id for port in loop.document.ports if port.use != "loop"}
    channels = {channel.id: channel for channel in loop.document.channels}
    for link, element in enumerate(loop.elements):
        if abs(now.flow[link]) > STILL:
            continue
        if element.kind == "channel":
            ends = {channels[element.id].start, channels[element.id].end}
            meant = bool(ends & quiet)
            yield Finding(
                "dead-end", "note" if meant else "warning", (element.id,),
                f"No water moves in the channel {element.id}"
                + (", which leads to a port for filling, draining or a sensor." if meant else "."),
                "Nothing needs doing." if meant else "Lead it on to where the water can return, or delete it.",
            )  # fmt: skip
        elif loop.heat[link] > 0 and element.kind != "pump":
            yield _hot(element.id, float(loop.heat[link]))


def _hot(id_: str, watts: float) -> Finding:
    return Finding(
        "block-without-flow", "error", (id_,), f"No water moves through {id_}, which gives off {watts:.0f} W.",
        "Lead the flow through it.", watts, 0.0, "W",
    )  # fmt: skip


def _unjoined(loop: Plumbing) -> Iterator[Finding]:
    devices = {device.id: device for device in loop.document.devices}
    for id_ in loop.unjoined:
        device: Device = devices[id_]
        serious = device.heat_w > 0 or device.kind == "pump"
        yield Finding(
            "device-unconnected", "error" if serious else "warning", (id_,),
            f"{id_} is not joined to the loop at both sides.",
            "Let ports of the plate serve its ports, or join them by tubes.",
        )  # fmt: skip


def _backwards(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    marked = {d.id for d in loop.document.devices if any(port.flow != "either" for port in d.ports)}
    for link, element in enumerate(loop.elements):
        if element.id in marked and element.kind != "pump" and now.flow[link] < -STILL:
            yield Finding(
                "device-backwards", "warning", (element.id,),
                f"Water passes {element.id} from its outlet to its inlet.", "Change its two channels over.",
            )  # fmt: skip


def _bypass(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    blocks = [i for i, element in enumerate(loop.elements) if element.kind == "block" and abs(now.flow[i]) > STILL]
    pumps = [link for link, pump in loop.pumps.items() if pump.curve.known and now.flow[link] > STILL]
    if not pumps:
        return
    main = max(pumps, key=lambda link: now.flow[link])
    any_block = any(element.kind == "block" for element in loop.elements)
    past = 100 * passed_by(loop.graph, now.flow, main, blocks) if any_block else 0.0
    limit = _limit(loop, "short-circuit")
    if past > min(_BYPASS_NOTE_PERCENT, limit):
        yield Finding(
            "short-circuit", "warning" if past > limit else "note", (loop.elements[main].id,),
            f"{past:.0f} % of the pump's flow passes no block.",
            "Narrow the way past the blocks, or take it out.", past, limit, "%",
        )  # fmt: skip


def _speeds(loop: Plumbing, now: Operation, state: DuctState) -> Iterator[Finding]:
    fast, slow = _limit(loop, "velocity-high"), _limit(loop, "velocity-low")
    for link, (element, speed, reynolds) in enumerate(zip(loop.elements, state.velocity, state.reynolds, strict=False)):
        if abs(now.flow[link]) <= STILL or element.kind not in ("channel", "tube", "drop"):
            continue
        if speed > fast:
            yield Finding(
                "velocity-high", "warning", (element.id,),
                f"The water in {element.id} moves at {speed:.2f} m/s.", "Widen or deepen it.",
                float(speed), fast, "m/s",
            )  # fmt: skip
        elif speed < slow:
            yield Finding(
                "velocity-low", "note", (element.id,),
                f"The water in {element.id} moves at {speed:.3f} m/s: air may stay in it.",
                "Narrow it, or fill it from its lowest point.", float(speed), slow, "m/s",
            )  # fmt: skip
        if element.kind == "channel" and LAMINAR_TO < reynolds < TURBULENT_FROM:
            yield Finding(
                "flow-uncertain", "note", (element.id,),
                f"At Re {reynolds:.0f} the flow in {element.id} is neither laminar nor turbulent for certain.",
                "Take its loss as good to a third.", float(reynolds), TURBULENT_FROM, "",
            )  # fmt: skip


def _ranges(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    first = len(loop.links.ducts)
    for link in range(first, len(loop.elements)):
        id_, flow = loop.elements[link].id, abs(float(now.flow[link]))
        curve = loop.links.curves[link - first]
        highest = getattr(curve, "highest", 0.0)
        if link not in loop.pumps and highest > 0 and flow > highest * (1 + 1e-9):
            yield _beyond(id_, "loss", flow, highest)
        radiator = loop.radiators.get(link)
        if radiator is not None and flow > STILL and radiator.highest > 0 and not radiator.covers(flow):
            yield _beyond(id_, "W/K", flow, radiator.highest if flow > radiator.highest else radiator.lowest)
    for link, duct in enumerate(loop.links.ducts.items):
        for bend in duct.bends:
            note = bend_note(bend.angle_deg, bend.radius_over_width)
            if bend.radius_over_width <= 0:
                note = mitre_note(bend.angle_deg)
            if note and loop.elements[link].kind == "channel":
                yield _formula(loop.elements[link].id, note)
    for tee, node in zip(loop.tees, loop.tee_nodes, strict=True):
        for note in sorted(set(tee.notes(now.flow))):
            yield _formula(loop.nodes[node], note)


def _beyond(id_: str, what: str, flow: float, end: float) -> Finding:
    return Finding(
        "outside-range", "note", (id_,),
        f"{id_} works at {flow / L_MIN:.2f} l/min, outside the measured points of its {what}: the curve was extended.",
        "Measure it there.", flow / L_MIN, end / L_MIN, "l/min",
    )  # fmt: skip


def _formula(id_: str, note: str) -> Finding:
    return Finding(
        "outside-range", "note", (id_,), f"{id_}: {note}.", "Take this loss as a guess, or draw it otherwise."
    )


def _coolant(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    fluid = loop.coolant
    if fluid.asked_percent > fluid.strength_percent:
        yield Finding(
            "coolant-range", "warning", (),
            f"The table ends at {fluid.strength_percent:g} % glycol; that was taken instead of "
            f"{fluid.asked_percent:g} %.",
            "Thin the mixture.", fluid.asked_percent, fluid.strength_percent, "%",
        )  # fmt: skip
    coldest = min(loop.document.loop.room_c, float(now.temperatures.node.min(initial=now.mean_c)))
    hottest = float(now.temperatures.node.max(initial=now.mean_c))
    if coldest < fluid.freezing_c:
        yield Finding(
            "coolant-range", "error", (),
            f"The coolant freezes at {fluid.freezing_c:.1f} °C, and the loop is as cold as {coldest:.1f} °C.",
            "Add glycol, or keep the room warmer.", coldest, fluid.freezing_c, "°C",
        )  # fmt: skip
    if hottest > fluid.hottest_c:
        yield Finding(
            "coolant-range", "error", (),
            f"The water would reach {hottest:.0f} °C: it boils, and the table ends at {fluid.hottest_c:.0f} °C.",
            "More flow, more radiator, or less heat.", hottest, fluid.hottest_c, "°C",
        )  # fmt: skip


def _warmth(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    if not now.temperatures.steady:
        yield Finding(
            "no-radiator", "error", (),
            f"Nothing takes {now.temperatures.lost_w:.0f} W out of the loop: the water warms without end.",
            "Add a radiator with its W/K.", now.temperatures.lost_w, 0.0, "W",
        )  # fmt: skip
        return
    moving = np.abs(now.flow) > STILL
    if not moving.any():
        return
    outlets = np.where(moving, np.maximum(now.temperatures.inlet, now.temperatures.outlet), -np.inf)
    hottest = int(np.argmax(outlets))
    celsius, id_ = float(outlets[hottest]), loop.elements[hottest].id
    limit = loop.document.loop.water_limit_c
    if celsius > limit:
        yield Finding(
            "water-too-warm", "warning", (id_,), f"The water reaches {celsius:.1f} °C at {id_}.",
            "More radiator, more flow, or a cooler room.", celsius, limit, "°C",
        )  # fmt: skip
    bears = _material_limit(loop.document.plate.material)
    ways = [i for i, e in enumerate(loop.elements) if e.kind in ("channel", "port") and moving[i]]
    if bears is not None and ways:
        worst = max(ways, key=lambda i: outlets[i])
        if outlets[worst] > bears:
            yield Finding(
                "plate-too-warm", "error", (loop.elements[worst].id,),
                f"The water in {loop.elements[worst].id} is at {outlets[worst]:.1f} °C, more than "
                f"{loop.document.plate.material} bears for long.",
                "More radiator, more flow, or a plate of metal.", float(outlets[worst]), bears, "°C",
            )  # fmt: skip


def _material_limit(name: str) -> float | None:
    try:
        return materials.material(name)["service_temperature_max_c"].low
    except UnknownEntry:
        return None
