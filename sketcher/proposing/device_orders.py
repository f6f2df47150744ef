"""The order of the devices that makes plate and tubes simplest, with what it costs in degrees.

For every order of the loop the straight lines between the ports of each device and the next are drawn; their length and
their crossings say how simple a plate can be. The best few, and the present one, are solved as loops with straight
channels, so that the coolant's temperature at the warmest block stands beside each.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations, pairwise, permutations
from typing import Any

from shapely import LineString

from sketcher.document import Document, with_changes
from sketcher.document.hardware import Device
from sketcher.document.kinds import new_ids
from sketcher.document.plate import Channel
from sketcher.flow import solve_loop
from sketcher.geometry import Shapes, build
from sketcher.geometry.path import Point

#: What a crossing counts, in mm of channel: going round another costs about two widths and two bends. Common practice,
#: no source.
_CROSSING_MM = 80.0
#: So many units of devices are permuted; beyond that only exchanges of two are compared.
_MOST_PERMUTED = 7
#: Orders that are solved and told of.
MOST = 5
#: Section of the straight channels that the orders are compared with where none is drawn, mm.
_USUAL_MM = 8.0


@dataclass(frozen=True)
class DeviceOrder:
    """One order of the devices: what is to be joined, how simple it is, and how warm the warmest block's coolant.

    ``costs_c`` is against the present order; None where nothing flows.
    """

    order: tuple[str, ...]
    connections: tuple[tuple[str, str], ...]
    length_mm: float
    crossings: int
    warmest_block_c: float | None
    costs_c: float | None
    present: bool

    def as_json(self) -> dict[str, Any]:
        """Plain data."""
        warmest, costs = (None if value is None else round(value, 3) for value in (self.warmest_block_c, self.costs_c))
        return {
            "order": list(self.order),
            "connections": [list(pair) for pair in self.connections],
            "length_mm": round(self.length_mm, 1),
            "crossings": self.crossings,
            "warmest_block_c": warmest,
            "costs_c": costs,
            "present": self.present,
        }


@dataclass(frozen=True)
class _Unit:
    """Devices that tubes join one after the other: where coolant enters the first and leaves the last."""

    devices: tuple[str, ...]
    enters: str
    leaves: str


def device_orders(document: Document) -> list[DeviceOrder]:
    """Orders of the devices in a ring, the simplest first, the present one among them.

    Empty when fewer than three units of devices have a port of the plate under inlet and outlet: two have only one.
    """
    shapes = build(document)
    served: dict[str, str] = {port.serves: port.id for port in document.ports if port.serves}
    units = list(_units(document, served))
    if len(units) < 3:
        return []
    now = _present(document, units, served)
    scored = sorted(
        ((_score(order, served, shapes), order) for order in _candidates(now)),
        key=lambda row: (row[0][0] + _CROSSING_MM * row[0][1], row[1] != now),
    )
    best = [(figures, order) for figures, order in scored[:MOST]]
    if all(order != now for _, order in best):
        best = [*best[: MOST - 1], next(row for row in scored if row[1] == now)]
    warmest = {order: _warmest(document, order, served) for _, order in best}
    usual = warmest[now]
    return [
        DeviceOrder(
            order=tuple(name for unit in order for name in unit.devices),
            connections=tuple(_pairs(order, served)),
            length_mm=length,
            crossings=crossings,
            warmest_block_c=warmest[order],
            costs_c=None if usual is None or (there := warmest[order]) is None else there - usual,
            present=order == now,
        )
        for (length, crossings), order in best
    ]


def _ends(device: Device) -> tuple[str | None, str | None]:
    """Where coolant enters and where it leaves: by direction, else by name, else by the place in the list."""

    def which(way: str) -> str | None:
        for port in device.ports:
            if port.flow == way or (port.flow == "either" and port.id.lower().startswith(way)):
                return f"{device.id}.{port.id}"
        return None

    enters, leaves = which("in"), which("out")
    if enters is None and leaves is None and len(device.ports) == 2:
        return f"{device.id}.{device.ports[0].id}", f"{device.id}.{device.ports[1].id}"
    return enters, leaves


def _units(document: Document, served: dict[str, str]) -> Iterator[_Unit]:
    """Devices with an inlet and an outlet, those that tubes join taken together, the pump's first."""
    ends = {device.id: _ends(device) for device in document.devices}
    tubes = [(tube.start, tube.end) for tube in document.loop.tubes]
    after: dict[str, str] = {}
    for one, (_, leaves) in ends.items():
        for other, (enters, _) in ends.items():
            if leaves and enters and one != other and ((leaves, enters) in tubes or (enters, leaves) in tubes):
                after[one] = other
    firsts = [name for name in ends if name not in after.values()]
    pumps = {device.id for device in document.devices if device.kind == "pump"}
    found = []
    for first in firsts:
        names = [first]
        while (following := after.get(names[-1])) is not None and following not in names:
            names.append(following)
        enters, leaves = ends[names[0]][0], ends[names[-1]][1]
        if enters in served and leaves in served and enters is not None and leaves is not None:
            found.append(_Unit(tuple(names), enters, leaves))
    yield from sorted(found, key=lambda unit: not pumps & set(unit.devices))


def _present(document: Document, units: Sequence[_Unit], served: dict[str, str]) -> tuple[_Unit, ...]:
    """The order as channels and connections have it now; where they say nothing, as the devices are listed."""
    joined = [{channel.start, channel.end} for channel in document.channels]
    joined += [set(connection) for connection in document.loop.connections]
    reached = _grouped(joined)
    order, rest = [units[0]], list(units[1:])
    while rest:
        leaves = served[order[-1].leaves]
        group = next((one for one in reached if leaves in one), {leaves})
        following = next((unit for unit in rest if served[unit.enters] in group), rest[0])
        order.append(following)
        rest.remove(following)
    return tuple(order)


def _grouped(sets: Sequence[set[str | None]]) -> list[set[str | None]]:
    found: list[set[str | None]] = []
    for one in sets:
        touching = [group for group in found if group & one]
        found = [group for group in found if not group & one] + [one.union(*touching)]
    return found


def _candidates(now: tuple[_Unit, ...]) -> Iterator[tuple[_Unit, ...]]:
    """All orders that begin as the present one; of many units the exchanges of two only."""
    first, rest = now[0], now[1:]
    if len(now) <= _MOST_PERMUTED:
        yield from ((first, *others) for others in permutations(rest))
        return
    yield now
    for i, j in combinations(range(len(rest)), 2):
        changed = list(rest)
        changed[i], changed[j] = changed[j], changed[i]
        yield (first, *changed)


def _pairs(order: Sequence[_Unit], served: dict[str, str]) -> Iterator[tuple[str, str]]:
    for one, other in pairwise((*order, order[0])):
        yield served[one.leaves], served[other.enters]


def _score(order: Sequence[_Unit], served: dict[str, str], shapes: Shapes) -> tuple[float, int]:
    """Length of the straight lines, mm, and how many pairs of them cross."""
    lines: list[tuple[Point, Point]] = [
        (shapes.ports[one].root, shapes.ports[other].root) for one, other in _pairs(order, served)
    ]
    crossings = sum(LineString(a).crosses(LineString(b)) for a, b in combinations(lines, 2))
    return math.fsum(math.dist(*line) for line in lines), crossings


def _warmest(document: Document, order: Sequence[_Unit], served: dict[str, str]) -> float | None:
    """The coolant where it enters the warmest block, °C, with straight channels in this order; None: nothing flows."""
    sections = [(channel.width_mm, channel.depth_mm) for channel in document.channels]
    width, depth = max(set(sections), key=sections.count) if sections else (_USUAL_MM, _USUAL_MM)
    bare = with_changes(document, channels=(), branches=(), groups=())
    channels = [
        Channel(id=id_, start=one, end=other, width_mm=width, depth_mm=depth)
        for (one, other), id_ in zip(_pairs(order, served), new_ids(bare, "channel"), strict=False)
    ]
    drawn = with_changes(bare, channels=tuple(channels))
    result = solve_loop(drawn, build(drawn))
    heated = {device.id for device in document.devices if device.kind == "block" and device.heat_w > 0}
    rows = result.as_json()["temperatures"]
    inlets = [row["inlet_c"] for row in rows if row["id"] in heated and row["inlet_c"] is not None]
    return max(inlets, default=None)
