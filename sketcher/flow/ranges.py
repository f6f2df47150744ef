"""Formulas and curves that are used beyond the range of their source: one note for each, on the elements that are.

``RANGES`` has one entry for each row of docs/flow.md that has a range.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import numpy as np

from sketcher.findings import Finding
from sketcher.flow.device_curves import L_MIN
from sketcher.flow.ducts import DuctState
from sketcher.flow.friction import LAMINAR_TO, TURBULENT_FROM
from sketcher.flow.losses import bend_factor, bend_friction_lengths, mitre, turn_factor
from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation
from sketcher.flow.plumbing import Plumbing

#: What each note says after the elements' names.
RANGES: dict[str, str] = {
    "rough-walls": "roughness above 5 % of the diameter, where Colebrook's formula ends; 5 % was taken",
    "flat-section": "turbulent flow in a section flatter than 0.03, beyond Jones's rule",
    "developing": "developing flow above Re 2300, where Shah's formula ends: it counts for more than 5 % of the loss",
    "bend-tight": "a bend radius below the width, beyond Crane's table",
    "bend-wide": "a bend radius above 6 widths, beyond Crane's table",
    "bend-angle": "a rounded bend of less than 30° or more than 180°, beyond Crane's rule",
    "turn-angle": "a sharp turn of more than 150°, beyond the published formula",
    "turn-slow": "a sharp turn at a Reynolds number below 10,000, where ASHRAE's correction ends; sources differ by a "
    "factor of up to three there",
    "narrowing-slow": "a sudden narrowing at a Reynolds number below 10,000, where Idelchik's formula begins",
    "widening-laminar": "a sudden widening in laminar flow, for which Borda and Carnot's formula is not meant",
    "cone-laminar": "a drill's point in laminar flow, for which Crane's cones are not meant",
    "tee-laminar": "a tee at a Reynolds number below 4000: the tee formulas are for turbulent flow",
    "chamber": "four ways or more meet: taken as a small chamber with sharp edges",
    "pump-speed": "a speed outside 50 to 100 % of the curve's, where the affinity laws hold to 5 %",
}
#: Above this part of the loss developing flow is worth a note where its formula has ended.
_DEVELOPING_PART = 0.05
_ROUGHEST, _FLATTEST = 0.05, 0.03
_SLOW_RE = 1e4


def outside(loop: Plumbing, now: Operation, state: DuctState) -> dict[str, list[str]]:
    """For each key of ``RANGES`` the ids of the items outside it, in order; keys without any are left out."""
    found: dict[str, set[str]] = {}
    for key, item in _outside(loop, now, state):
        found.setdefault(key, set()).add(item)
    return {key: sorted(found[key]) for key in RANGES if key in found}


def _outside(loop: Plumbing, now: Operation, state: DuctState) -> Iterator[tuple[str, str]]:
    ducts = loop.links.ducts
    heads = ducts.entries.developing(np.maximum(state.reynolds, 1.0))[0] if len(ducts) else np.array([])
    # As plain numbers: taking them out of arrays one by one takes longer than the sums.
    flows, numbers, factors = now.flow.tolist(), state.reynolds.tolist(), state.friction_factor.tolist()
    moving = [abs(flow) > STILL for flow in flows]
    for link, (duct, re) in enumerate(zip(ducts.items, numbers, strict=True)):
        if not moving[link]:
            continue
        item = loop.elements[link].item
        aspect = min(duct.width, duct.depth) / max(duct.width, duct.depth)
        if re > LAMINAR_TO:
            if duct.roughness / duct.hydraulic_diameter > _ROUGHEST:
                yield "rough-walls", item
            if not duct.round and aspect < _FLATTEST:
                yield "flat-section", item
            total = float(state.friction[link] + state.minor[link])
            head = 0.5 * now.density * float(state.velocity[link]) ** 2
            if heads[link] * head > _DEVELOPING_PART * total:
                yield "developing", item
        if duct.bends:
            yield from ((key, item) for key in _bends(duct.bends, re, factors[link]))
        turns = duct.turn_forward if flows[link] > 0 else duct.turn_backward
        if turns > 0 and re < _SLOW_RE:
            yield "turn-slow", item
        if link in loop.changes:
            yield from ((key, item) for key in _changes(loop, link, flows[link], re))
    viscosity = loop.coolant.viscosity(now.temperatures.node[list(loop.tee_nodes)]) if loop.tees else ()
    for tee, node, mu in zip(loop.tees, loop.tee_nodes, viscosity, strict=True):
        whole = tee.legs[tee.stem(now.flow)]
        if moving[whole.link] and tee.reynolds(now.flow, now.density, float(mu)) < TURBULENT_FROM:
            yield "tee-laminar", loop.nodes[node].split(":")[0]
    for node_name in loop.chambers:
        yield "chamber", node_name.split(":")[0]
    for link, pump in loop.pumps.items():
        if pump.curve.known and pump.speed > 0 and not 0.5 <= pump.speed <= 1.0 + 1e-9:
            yield "pump-speed", loop.elements[link].id


def _bends(bends: tuple[Any, ...], reynolds: float, friction: float) -> Iterator[str]:
    factor, rounded = float(turn_factor(reynolds)), float(bend_factor(max(reynolds, 1))[0])
    for bend in bends:
        angle, ratio = abs(bend.angle_deg), bend.radius_over_width
        sharp = mitre(angle) * factor + 1000 * angle / 90 / max(reynolds, 1)
        if ratio <= 0 or friction * bend_friction_lengths(angle, ratio) * rounded > sharp:
            if angle > 150:
                yield "turn-angle"
            if reynolds < _SLOW_RE:
                yield "turn-slow"
            if ratio <= 0:
                continue
        if ratio < 1 - 1e-9:
            yield "bend-tight"
        if ratio > 6 + 1e-9:
            yield "bend-wide"
        if not 30 - 1e-6 <= angle <= 180 + 1e-6:
            yield "bend-angle"


def _changes(loop: Plumbing, link: int, flow: float, reynolds: float) -> Iterator[str]:
    for change in loop.changes.get(link, ()):
        narrows = change.narrows is None or change.narrows == (flow > 0)
        widens = change.narrows is None or not narrows
        if change.drilled:
            if reynolds < LAMINAR_TO:
                yield "cone-laminar"
            continue
        if narrows and reynolds < _SLOW_RE:
            yield "narrowing-slow"
        if widens and reynolds < LAMINAR_TO:
            yield "widening-laminar"


def notes(loop: Plumbing, now: Operation, state: DuctState) -> Iterator[Finding]:
    """The findings: one for each formula, with all its elements; tees' shapes and devices' curves one by one."""
    for key, items in outside(loop, now, state).items():
        yield Finding(
            "outside-range", "note", tuple(items), f"{_listed(items)}: {RANGES[key]}.",
            "Take these losses as estimates.",
        )  # fmt: skip
    for tee, node in zip(loop.tees, loop.tee_nodes, strict=True):
        for note in sorted(set(tee.notes(now.flow))):
            id_ = loop.nodes[node].split(":")[0]
            yield Finding(
                "outside-range",
                "note",
                (id_,),
                f"{id_}: {note}.",
                "Take this loss as an estimate, or draw it otherwise.",
            )
    yield from _curves(loop, now)


def _listed(items: list[str]) -> str:
    if len(items) <= 6:
        return ", ".join(items)
    return f"{', '.join(items[:5])} and {len(items) - 5} more"


def _curves(loop: Plumbing, now: Operation) -> Iterator[Finding]:
    first = len(loop.links.ducts)
    for link in range(first, len(loop.elements)):
        id_, flow = loop.elements[link].id, abs(float(now.flow[link]))
        highest = getattr(loop.links.curves[link - first], "highest", 0.0)
        if link not in loop.pumps and highest > 0 and flow > highest * (1 + 1e-9):
            yield _beyond(id_, "loss", flow, highest)
        radiator = loop.radiators.get(link)
        if radiator is not None and flow > STILL and radiator.highest > 0 and not radiator.covers(flow):
            yield _beyond(id_, "W/K", flow, radiator.highest if flow > radiator.highest else radiator.lowest)


def _beyond(id_: str, what: str, flow: float, end: float) -> Finding:
    return Finding(
        "outside-range", "note", (id_,),
        f"{id_} works at {flow / L_MIN:.2f} l/min, outside the measured points of its {what}: the curve was extended.",
        "Measure it there.", flow / L_MIN, end / L_MIN, "l/min",
    )  # fmt: skip
