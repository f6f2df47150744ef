"""Which parts of a network hang together, and which of them are loops of their own."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation
from sketcher.flow.plumbing import Plumbing
from sketcher.flow.tracing import passed_by


@dataclass(frozen=True)
class Ring:
    """A part of the network in which coolant can go round.

    Attributes:
        part: its number among the graph's connected parts.
        pumps: links of its pumps that have a curve, running or not.
        devices: ids of its devices.
        driven: whether a pump of it runs.
    """

    part: int
    pumps: tuple[int, ...]
    devices: tuple[str, ...]
    driven: bool


def rings(loop: Plumbing) -> list[Ring]:
    """Every connected part with at least one closed way and one device, those with a running pump first."""
    graph = loop.graph
    if not graph.nodes or not len(graph.start):
        return []
    part = graph.component
    links = np.bincount(part[graph.start], minlength=int(part.max()) + 1)
    nodes = np.bincount(part, minlength=len(links))
    members: dict[int, list[int]] = {}
    for link in range(len(loop.links.ducts), len(loop.elements)):
        members.setdefault(int(part[graph.start[link]]), []).append(link)
    found = []
    for number, devices in members.items():
        if links[number] < nodes[number]:
            continue
        pumps = tuple(link for link in devices if link in loop.pumps and loop.pumps[link].curve.known)
        ids = tuple(sorted(loop.elements[link].id for link in devices))
        found.append(Ring(number, pumps, ids, any(loop.pumps[link].speed > 0 for link in pumps)))
    return sorted(found, key=lambda ring: (not ring.driven, ring.devices))


def pumped(loop: Plumbing, now: Operation, within: Ring | None = None) -> tuple[float, float]:
    """Flow (m³/s) and pressure (Pa) of the running pumps together: in series one flow, side by side their sum.

    Args:
        loop: the network.
        now: what it does.
        within: the part that is asked about; the one with the strongest flow when there are several.
    """
    known = running(loop, within.part if within else None)
    if not known:
        return 0.0, 0.0
    if within is None:
        part = loop.graph.component
        main = max(known, key=lambda link: abs(float(now.flow[link])))
        known = [link for link in known if part[loop.elements[link].start] == part[loop.elements[main].start]]
    flows = [float(now.flow[link]) for link in known]
    power = -sum(float(now.flow[link] * now.drop[link]) for link in known)
    flow = max(flows) if in_series(loop, now, known) else sum(flows)
    if abs(flow) <= STILL:
        return 0.0, max(-float(now.drop[link]) for link in known)
    return flow, power / flow


def running(loop: Plumbing, part: int | None = None) -> list[int]:
    """Links of the pumps that have a curve and a speed, of one connected part or of all."""
    return [
        link
        for link, pump in loop.pumps.items()
        if pump.curve.known
        and pump.speed > 0
        and (part is None or loop.graph.component[loop.elements[link].start] == part)
    ]


def in_series(loop: Plumbing, now: Operation, pumps: list[int] | None = None) -> bool:
    """Whether all the coolant of one running pump passes every other one; true of a single pump."""
    known = running(loop) if pumps is None else pumps
    first = max(known, key=lambda link: now.flow[link], default=None)
    if first is None or len(known) < 2 or now.flow[first] <= STILL:
        return True
    return all(passed_by(loop.graph, now.flow, first, [other]) < 1e-6 for other in known if other != first)
