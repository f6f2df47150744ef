"""Findings of how fast and how much: every passage's velocity, and devices that get too little."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from sketcher.findings import Finding
from sketcher.flow.device_curves import L_MIN
from sketcher.flow.ducts import DuctState
from sketcher.flow.friction import LAMINAR_TO, TURBULENT_FROM
from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation
from sketcher.flow.plumbing import Element, Plumbing
from sketcher.flow.rules import limit_in_force

#: A pump that moves less than this part of its largest flow heats its own coolant. Common practice, no source.
_PUMP_PART = 0.1


def speeds(loop: Plumbing, now: Operation, state: DuctState) -> Iterator[Finding]:
    """Passages in which the coolant is too fast or too slow, one finding for each item and kind."""
    fast, slow = (limit_in_force(loop.document, rule) for rule in ("velocity-high", "velocity-low"))
    fastest: dict[str, tuple[float, str]] = {}
    uncertain: list[tuple[str, float]] = []
    for link, (element, speed, reynolds) in enumerate(zip(loop.elements, state.velocity, state.reynolds, strict=False)):
        flow = abs(float(now.flow[link]))
        if flow <= STILL:
            continue
        places = [(float(speed), _named(element))]
        places += [(flow / passage.area, passage.name) for passage in loop.passages.get(link, ())]
        most = max(places)
        if most[0] > max(fast, fastest.get(element.item, (0.0, ""))[0]):
            fastest[element.item] = most
        if speed < slow and element.kind != "port":
            yield Finding(
                "velocity-low", "note", (element.item,),
                f"The coolant in {_named(element)} moves at {speed:.3f} m/s: air may stay in it.",
                "Narrow it, or fill it from its lowest point.", float(speed), slow, "m/s",
            )  # fmt: skip
        if LAMINAR_TO < reynolds < TURBULENT_FROM:
            uncertain.append((element.item, float(reynolds)))
    for item, (speed, name) in sorted(fastest.items()):
        yield Finding(
            "velocity-high", "warning", (item,), f"The coolant in {name} moves at {speed:.2f} m/s (maximum {fast:g}).",
            "Widen it, or lower the flow.", speed, fast, "m/s",
        )  # fmt: skip
    if uncertain:
        items = tuple(dict.fromkeys(item for item, _ in uncertain))
        worst = max(re for _, re in uncertain)
        yield Finding(
            "flow-uncertain", "note", items,
            f"Between Re {LAMINAR_TO:.0f} and {TURBULENT_FROM:.0f} the flow is neither laminar nor turbulent for "
            f"certain: {', '.join(items)}.",
            "Take their friction as good to a third.", worst, TURBULENT_FROM, "",
        )  # fmt: skip


def _named(element: Element) -> str:
    names = {"port": f"the bore of {element.item}", "drop": f"the tube at {element.item}"}
    return names.get(element.kind, element.id)


def too_little(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    """Devices that get less flow than they need, and blocks whose coolant warms too much on the way through."""
    devices = {device.id: device for device in loop.document.devices}
    usual = limit_in_force(loop.document, "flow-low")
    most_k = limit_in_force(loop.document, "block-starved")
    rises = now.temperatures.outlet - now.temperatures.inlet
    for link in range(len(loop.links.ducts), len(loop.elements)):
        device, flow = devices[loop.elements[link].id], abs(float(now.flow[link]))
        if flow <= STILL:
            continue
        needed = device.flow_min_l_min
        if needed is None and link in loop.pumps:
            pump = loop.pumps[link]
            needed = _PUMP_PART * pump.curve.highest * pump.speed / L_MIN if pump.curve.known else 0.0
        elif needed is None:
            needed = usual if device.kind in ("block", "radiator") else 0.0
        if flow / L_MIN < needed * (1 - 1e-9):
            yield Finding(
                "flow-low", "warning", (device.id,),
                f"{device.id} gets {flow / L_MIN:.2f} l/min; it needs at least {needed:.2f}.",
                "Widen the way to it, narrow the ways beside it, or run the pump faster.",
                flow / L_MIN, needed, "l/min",
            )  # fmt: skip
        if loop.heat[link] > 0 and link not in loop.pumps and now.temperatures.steady and np.isfinite(rises[link]):
            rise = float(rises[link])
            if rise > most_k:
                yield Finding(
                    "block-starved", "warning", (device.id,),
                    f"The coolant warms by {rise:.1f} K in {device.id}, which gives off {device.heat_w:.0f} W into "
                    f"{flow / L_MIN:.2f} l/min (maximum {most_k:g} K).",
                    "Lead more flow through it.", rise, most_k, "K",
                )  # fmt: skip
