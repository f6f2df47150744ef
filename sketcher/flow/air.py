"""Filling and emptying: where air stays, how it leaves and by which port; what the drain leaves behind.

Every way is a line in space. Air leaves a place when some way to an opening never goes down below it: the largest,
over all ways to all openings, of the lowest point on the way is where it can get out; what stands above keeps its air.
Upside down the same says what stays wet. Coolant reaches a place when it stands as high as the highest point on the
lowest way to it. Hydrostatics alone: foam, capillary force in narrow ways and splashing are left out.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sketcher.document.hardware import Device
from sketcher.document.remembered import Remembered
from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation
from sketcher.flow.plumbing import Plumbing
from sketcher.flow.rules import limit_in_force
from sketcher.geometry.levels import above_floor_mm
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.placement import Frame
from sketcher.geometry.shapes import ChannelShape
from sketcher.tubes.runs import Run

Vector = NDArray[np.float64]
#: Ways up: the case on its floor, and lying on each of its four sides.
UPS: Mapping[str, tuple[float, float, float]] = {
    "standing": (0, 0, 1),
    "lying on its left side": (1, 0, 0),
    "lying on its right side": (-1, 0, 0),
    "lying on its front": (0, 1, 0),
    "lying on its rear": (0, -1, 0),
}
#: Pockets lower than this are films, mm. Common practice, no source.
LEAST_MM = 2.0
#: A pocket smaller than this is a bubble, ml. Common practice, no source.
LEAST_ML = 0.05


@dataclass(frozen=True, eq=False)
class Line:
    """A way of the network in space.

    Attributes:
        item: the item it belongs to.
        link: its link.
        start, end: names of its nodes.
        points: (m, 3), mm.
        area_mm2: its section.
        rise_mm: from its centreline to its ceiling, along z: air stands there, and coolant on its floor.
    """

    item: str
    link: int
    start: str
    end: str
    points: Vector
    area_mm2: float
    rise_mm: float = 0.0


def lines(loop: Plumbing) -> list[Line]:
    """Every way and every device as a line; a device runs straight from its inlet to its outlet."""
    shapes, ways = loop.shapes, len(loop.links.ducts)
    found: list[Line] = []
    places: dict[str, Vector] = {}
    for link, element in enumerate(loop.elements):
        names = loop.nodes[element.start], loop.nodes[element.end]
        if element.kind == "channel":
            shape = shapes.channels[element.id]
            rise = (shape.high - shape.low) / 2
            middle = above_floor_mm(loop.document, (shape.low + shape.high) / 2)
            points = _lines.of((shape,), middle, lambda shape=shape, z=middle: _along(shape, z))  # type: ignore[misc]
        elif element.kind == "port":
            port = shapes.ports[element.id]
            if port.heading is not None:
                low = high = above_floor_mm(loop.document, port.rise)
            else:
                outer = shapes.thickness if port.item.face == "top" else 0.0
                low, high = (above_floor_mm(loop.document, level) for level in (port.rise, outer))
            ends = ((*port.root, low), (*port.at, high))
            points, rise = _lines.of((), ends, lambda ends=ends: np.array(ends)), 0.0  # type: ignore[misc]
        elif link in loop.runs:
            run = loop.runs[link]
            points, rise = _lines.of((run,), None, lambda run=run: _through(run)), 0.0  # type: ignore[misc]
        else:
            continue
        if len(points) < 2:
            continue
        for name, at in zip(names, (points[0], points[-1]), strict=True):
            places.setdefault(name, at)
        area = float(loop.links.ducts.area[link]) * 1e6
        values = (element.item, link, *names, area, rise)
        found.append(_known_lines.of((points,), values, partial(Line, element.item, link, *names, points, area, rise)))
    for link in range(ways, len(loop.elements)):
        element = loop.elements[link]
        names = loop.nodes[element.start], loop.nodes[element.end]
        if names[0] in places and names[1] in places:
            found.append(Line(element.id, link, *names, np.array([places[name] for name in names]), 0.0))
    return found


_lines: Remembered[Vector] = Remembered()
_known_lines: Remembered[Line] = Remembered()


def _along(shape: ChannelShape, z: float) -> Vector:
    plan = shape.path.points(0.5) if shape.path.segments else []
    return np.array([(*place, z) for place in plan]).reshape(-1, 3)


def _through(run: Run) -> Vector:
    return np.vstack([run.start.at, run.line.points(15.0), run.end.at])


@dataclass(frozen=True, eq=False)
class Level:
    """A line in one posture: the heights of its points, and the lengths of its pieces, mm."""

    line: Line
    heights: Vector
    lengths: Vector


class Heights:
    """The net of all lines' ends with their heights in one posture; ``sign`` -1 turns it upside down.

    On a way through a line the lowest of its inner points counts, so that only ends are looked at; what stands in a
    line depends on its own points and on how its two ends can let it out, and is remembered by these.
    """

    def __init__(self, all_lines: Sequence[Line], up: tuple[float, float, float], sign: float = 1.0) -> None:
        self.levels = [_levels.of((line,), (up, sign), partial(_level, line, up, sign)) for line in all_lines]
        self.height: dict[str, float] = {}
        self.near: dict[str, list[tuple[str, float]]] = {}
        for level in self.levels:
            line, heights = level.line, level.heights
            for name, high in ((line.start, float(heights[0])), (line.end, float(heights[-1]))):
                self.height[name] = max(self.height.get(name, -math.inf), high)
            inner = float(heights[1:-1].min(initial=math.inf))
            self.near.setdefault(line.start, []).append((line.end, inner))
            self.near.setdefault(line.end, []).append((line.start, inner))

    def outlet(self, openings: Mapping[str, float]) -> dict[str, float]:
        """For each end of a line the largest, over all ways to all openings, of the lowest point on the way.

        Openings by node with their heights. Ends that no opening is reached from are left out.
        """
        found: dict[str, float] = {}
        queue = [(-max(level, self.height[name]), name) for name, level in openings.items() if name in self.height]
        heapq.heapify(queue)
        while queue:
            low, place = heapq.heappop(queue)
            if place in found:
                continue
            found[place] = -low
            for other, inner in self.near.get(place, ()):
                if other not in found:
                    heapq.heappush(queue, (-min(-low, inner, self.height[other]), other))
        return found

    def kept(self, openings: Mapping[str, float]) -> dict[int, float]:
        """ml kept in each way, by link: of each piece the part that stands above where it can get out."""
        outlet, found = self.outlet(openings), dict[int, float]()
        for level in self.levels:
            line = level.line
            if line.area_mm2:
                ends, lets = self._at_ends(line, outlet)
                volume = _volumes.of((level,), (ends, lets), partial(_stands, level, ends, lets))
                if volume > 0:
                    found[line.link] = found.get(line.link, 0.0) + volume
        return {link: volume for link, volume in found.items() if volume > LEAST_ML}

    def lowest_outlets(self, openings: Mapping[str, float]) -> Iterator[tuple[Line, float]]:
        """Each line that an opening is reached from, with the lowest level at which any of its points lets out."""
        outlet = self.outlet(openings)
        for level in self.levels:
            line = level.line
            if line.start in outlet:
                yield line, float(_outlets(level, self._at_ends(line, outlet)[1]).min())

    def _at_ends(self, line: Line, outlet: Mapping[str, float]) -> tuple[tuple[float, float], tuple[float, float]]:
        """The heights of a line's ends, and the levels at which they let out."""
        ends = (self.height[line.start], self.height[line.end])
        return ends, (outlet.get(line.start, -math.inf), outlet.get(line.end, -math.inf))


_levels: Remembered[Level] = Remembered()
_volumes: Remembered[float] = Remembered()


def _level(line: Line, up: tuple[float, float, float], sign: float) -> Level:
    direction = np.array(up, dtype=float)
    heights = sign * (line.points @ direction) + line.rise_mm * abs(direction[2])
    return Level(line, heights, np.linalg.norm(np.diff(line.points, axis=0), axis=1))


def _outlets(level: Level, lets: tuple[float, float]) -> Vector:
    """For each point of a line whose ends let out from these levels the level at which it lets out itself: by the start
    past the lowest point on the way there, or by the end."""
    inner = level.heights[1:-1]
    by_start = np.minimum(np.minimum.accumulate(inner), lets[0])
    by_end = np.minimum(np.minimum.accumulate(inner[::-1])[::-1], lets[1])
    return np.concatenate([lets[:1], np.maximum(by_start, by_end), lets[1:]])


def _stands(level: Level, ends: tuple[float, float], lets: tuple[float, float]) -> float:
    """ml that stay in a line whose ends have these heights and let out from these levels."""
    heights, outlet = level.heights.copy(), _outlets(level, lets)
    heights[0], heights[-1] = ends
    first, second = heights[:-1], heights[1:]
    rising = second > first
    top, foot = np.where(rising, second, first), np.where(rising, first, second)
    over = top - np.where(rising, outlet[1:], outlet[:-1])
    falls = top - foot
    part = np.where(falls > 1e-9, np.minimum(over / np.where(falls > 1e-9, falls, 1.0), 1.0), 1.0)
    volume = np.where(over > LEAST_MM, part * level.lengths * level.line.area_mm2 / 1000, 0.0)
    return float(volume.sum())


def device_pockets(loop: Plumbing, up: tuple[float, float, float], sign: float) -> dict[str, float]:
    """ml that stay in devices above their higher port (``sign`` 1), or below their lower one (-1).

    The volume is taken as spread evenly over the height of the body: what is inside is not known.
    """
    found = {}
    for device in loop.document.devices:
        if device.outline is None or not device.volume_ml or device.fills or len(device.ports) < 2:
            continue
        frame = loop.shapes.frames[device.id]
        volume = _device_air.of((device, frame), (up, sign), partial(_device_pocket, device, frame, up, sign))
        if volume is not None:
            found[device.id] = volume
    return found


_device_air: Remembered[float | None] = Remembered()


def _device_pocket(device: Device, frame: Frame, up: tuple[float, float, float], sign: float) -> float | None:
    assert device.outline is not None
    direction = sign * np.array(up, dtype=float)
    plan = np.array(contour(device.outline).path.points(1.0))
    corners = np.vstack([np.column_stack([plan, np.full(len(plan), w)]) for w in (0.0, device.height_mm)])
    levels = (frame.origin + corners @ frame.axes.T) @ direction
    ports = [float(frame.place(p.u_mm, p.v_mm, p.w_mm) @ direction) for p in device.ports]
    over, whole = float(levels.max()) - max(ports), float(levels.max() - levels.min())
    return device.volume_ml * min(over / whole, 1.0) if over > LEAST_MM and whole > 0 else None


def filling(loop: Plumbing, now: Operation) -> dict[str, Any]:
    """For each posture what air stays and how it leaves; how the loop fills, and what the drain leaves behind."""
    everything = lines(loop)
    reservoirs = [d for d in loop.document.devices if d.fills]
    return {
        "postures": [_posture(loop, now, everything, name, up) for name, up in UPS.items()],
        "filling": _order(loop, everything),
        "drain": _drain(loop, everything),
        "reservoir_ml": sum(device.volume_ml for device in reservoirs),
    }


def trapped(loop: Plumbing, now: Operation) -> list[dict[str, Any]]:
    """What air stays in the case as it stands and does not leave with the flow: an item, its ml, the port that would
    bleed it; a port and its tube count as one, and the largest comes first."""
    found: dict[str, dict[str, Any]] = {}
    for pocket in _posture(loop, now, lines(loop), "standing", UPS["standing"])["pockets"]:
        if "flow" not in pocket["leaves"]:
            row = found.setdefault(pocket["item"], {"item": pocket["item"], "volume_ml": 0.0, "bleed_port": None})
            row["volume_ml"] += pocket["volume_ml"]
            row["bleed_port"] = row["bleed_port"] or pocket["bleed_port"]
    return sorted(found.values(), key=lambda row: (-row["volume_ml"], row["item"]))


def _tops(loop: Plumbing, up: tuple[float, float, float], uses: Iterable[str], reservoir: bool) -> dict[str, float]:
    """Nodes that are open, with the height that they are open at: a reservoir's sides up to its top, ports by use."""
    direction = np.array(up, dtype=float)
    found: dict[str, float] = {}
    for device in loop.document.devices if reservoir else ():
        if not device.fills:
            continue
        frame = loop.shapes.frames[device.id]
        top = _device_tops.of((device, frame), up, partial(_device_top, device, frame, direction))
        found |= {f"{device.id}:in": top, f"{device.id}:out": top}
    wanted = set(uses)
    for port_id, port in loop.shapes.ports.items():
        if port.item.use in wanted:
            place = np.array([*port.at, above_floor_mm(loop.document, loop.shapes.thickness)])
            found[port_id] = float(place @ direction)
    return found


_device_tops: Remembered[float] = Remembered()


def _device_top(device: Device, frame: Frame, direction: Vector) -> float:
    ends = [frame.place(p.u_mm, p.v_mm, p.w_mm) for p in device.ports]
    if device.outline is not None:
        plan = np.array(contour(device.outline).path.points(2.0))
        ends += [frame.place(float(u), float(v), w) for u, v in plan for w in (0.0, device.height_mm)]
    return max(float(end @ direction) for end in ends) if ends else 0.0


def _posture(
    loop: Plumbing, now: Operation, everything: Sequence[Line], name: str, up: tuple[float, float, float]
) -> dict[str, Any]:
    # Air goes out where a way meets its opening: a reservoir's port, however high the coolant stands above it.
    by_link = Heights(everything, up).kept(dict.fromkeys(_tops(loop, up, ("fill", "bleed"), True), -math.inf))
    sweeps = limit_in_force(loop.document, "velocity-low")
    direction = np.array(up, dtype=float)
    pockets: list[dict[str, Any]] = []
    for link, volume in sorted(by_link.items()):
        area = float(loop.links.ducts.area[link])
        speed = abs(float(now.flow[link])) / area
        swept = speed >= sweeps
        item = loop.elements[link].item
        port = None if swept else _bleed_port(loop, link, direction)
        pockets.append(
            {
                "item": item,
                "kind": loop.elements[link].kind,
                "volume_ml": volume,
                "leaves": "with the flow" if swept else ("by a bleed" if port else "only by turning the case"),
                "bleed_port": port,
            }
        )
    for id_, volume in sorted(device_pockets(loop, up, 1.0).items()):
        at = next((i for i, element in enumerate(loop.elements) if element.id == id_), None)
        moves = at is not None and abs(float(now.flow[at])) > STILL
        pockets.append(
            {"item": id_, "kind": "device", "volume_ml": volume,
             "leaves": "slowly, with the flow" if moves else "only by turning the case", "bleed_port": None}
        )  # fmt: skip
    total = sum(pocket["volume_ml"] for pocket in pockets)
    holds = sum(device.volume_ml for device in loop.document.devices if device.fills)
    return {
        "posture": name,
        "pockets": pockets,
        "air_ml": total,
        "reservoir_left_percent": None if not holds else 100 * max(1 - total / holds, 0.0),
        "top_up_ml": max(total - holds, 0.0),
    }


def _bleed_port(loop: Plumbing, link: int, direction: Vector) -> str | None:
    """The highest port of the plate at either end of a way, or at the far end of a way that meets it."""
    graph = loop.graph
    ends = {int(graph.start[link]), int(graph.end[link])}
    names = {loop.nodes[node] for node in ends}
    for other in range(len(loop.links.ducts)):
        if int(graph.start[other]) in ends or int(graph.end[other]) in ends:
            names |= {loop.nodes[int(graph.start[other])], loop.nodes[int(graph.end[other])]}
    ports = [name for name in names if name in loop.shapes.ports]

    def height(name: str) -> float:
        port = loop.shapes.ports[name]
        return float(np.array([*port.at, above_floor_mm(loop.document, port.rise)]) @ direction)

    return max(sorted(ports), key=height, default=None)


def _order(loop: Plumbing, everything: Sequence[Line]) -> dict[str, Any]:
    """In which order gravity fills the loop with the case standing, and how high the coolant must stand for each."""
    # The reservoir pours out at its ports: upside down, "up to its top" is no help, so its ports' own heights count.
    openings = dict.fromkeys(_tops(loop, UPS["standing"], ("fill",), True), -math.inf)
    tops = _tops(loop, UPS["standing"], ("fill",), True)
    highest = max(tops.values(), default=None)
    needs: dict[str, float] = {}
    for line, level in Heights(everything, UPS["standing"], -1.0).lowest_outlets(openings):
        needs[line.item] = max(needs.get(line.item, -math.inf), -level)
    ranked = sorted(needs.items(), key=lambda row: (row[1], row[0]))
    rows = [{"item": item, "level_mm": need} for item, need in ranked]
    above = [item for item, need in ranked if highest is not None and need > highest + 1e-6]
    return {"filled_from": sorted({name.split(":")[0] for name in tops}), "fills_to_mm": highest, "order": rows,
            "needs_pump": above}  # fmt: skip


def _drain(loop: Plumbing, everything: Sequence[Line]) -> dict[str, Any]:
    """What stays in the loop when it is emptied by its drain with the case standing, the fill opened to let air in."""
    up = UPS["standing"]
    drains = sorted(port_id for port_id, port in loop.shapes.ports.items() if port.item.use == "drain")
    if not drains:
        return {"ports": [], "left_ml": None, "items": []}
    by_link = Heights(everything, up, -1.0).kept(dict.fromkeys(drains, -math.inf))
    items: dict[str, float] = {}
    for link, volume in by_link.items():
        item = loop.elements[link].item
        items[item] = items.get(item, 0.0) + volume
    for id_, volume in device_pockets(loop, up, -1.0).items():
        items[id_] = items.get(id_, 0.0) + volume
    rows = [{"item": item, "volume_ml": volume} for item, volume in sorted(items.items(), key=lambda row: -row[1])]
    return {"ports": drains, "left_ml": sum(items.values()), "items": rows}
