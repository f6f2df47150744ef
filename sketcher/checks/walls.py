"""Does it hold: walls between what is milled, and the material left under it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import Any

import numpy as np
import shapely
from shapely import LineString

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.findings import PRACTICE, Change, Finding, Fix, Level, Point, Rule, mm
from sketcher.geometry.shapes import ChannelShape, PortShape, deepest_at_ports

#: Every part belongs to one family; a wall's rule is named by the two families it stands between.
_FAMILY = {
    "channel": "channel",
    "thread": "port",
    "bore": "port",
    "cutout": "cutout",
    "pocket": "pocket",
    "hole": "hole",
    "head": "hole",
}
_WORDS = {"channel": "channel", "port": "port", "cutout": "cutout", "pocket": "pocket", "hole": "screw hole"}

_LEAK = "A thin wall between water and open air cracks or is cut through, and the plate leaks."
_SHORT = "Water that breaks through to another way takes a short cut past a block."
_WEAK = "A thin web of acrylic breaks in the vice or in the case."


def _wall(pair: str, limit: float, reason: str) -> Rule:
    one, other = (_WORDS.get(name, name) for name in pair.split("-"))
    return Rule(f"wall-{pair}", "holds", f"Wall between {one} and {other}", limit, "mm", reason, PRACTICE)


_PAIRS = (
    _wall("channel-channel", 3.0, _SHORT),
    _wall("channel-port", 3.0, _SHORT),
    _wall("port-port", 3.0, _SHORT),
    _wall("channel-cutout", 4.0, _LEAK),
    _wall("channel-pocket", 3.0, _LEAK),
    _wall("channel-hole", 4.0, _LEAK),
    _wall("port-cutout", 4.0, _LEAK),
    _wall("port-pocket", 3.0, _LEAK),
    _wall("port-hole", 4.0, _LEAK),
    _wall("cutout-cutout", 3.0, _WEAK),
    _wall("cutout-pocket", 2.0, _WEAK),
    _wall("cutout-hole", 3.0, _WEAK),
    _wall("pocket-pocket", 2.0, _WEAK),
    _wall("pocket-hole", 2.0, _WEAK),
    _wall("hole-hole", 3.0, _WEAK),
)
_ORDER = ("channel", "port", "cutout", "pocket", "hole")


def _pair_name(one: str, other: str) -> str:
    first, second = sorted((one, other), key=_ORDER.index)
    return f"wall-{first}-{second}"


def _level(families: set[str], value: float) -> Level:
    """A wall against water is an error; a dry web is one only when nothing is left of it."""
    return "error" if families & {"channel", "port"} or value <= 0 else "warning"


@rules(*_PAIRS)
def between_items(scene: Scene) -> Iterator[Finding]:
    """Walls between two items, the thinnest place of each pair."""
    near, prisms = scene.neighbours, scene.shapes.prisms
    families = np.array([_FAMILY[part] for part in scene.parts], dtype=object)
    codes = np.array([_ORDER.index(family) for family in families], dtype=np.intp)
    table = np.array([[scene.limit(_pair_name(a, b)) for b in _ORDER] for a in _ORDER])
    thin = near.apart < table[codes[near.first], codes[near.second]] - 1e-6
    thinnest: dict[tuple[str, str], int] = {}
    for k in np.flatnonzero(thin).tolist():
        a, b = prisms[near.first[k]], prisms[near.second[k]]
        key = (min(a.id, b.id), max(a.id, b.id))
        if key not in thinnest or near.apart[k] < near.apart[thinnest[key]]:
            thinnest[key] = k
    for k in thinnest.values():
        i, j = int(near.first[k]), int(near.second[k])
        yield from _between(scene, i, j, float(near.apart[k]), str(families[i]), str(families[j]))


def _between(scene: Scene, i: int, j: int, value: float, family_i: str, family_j: str) -> Iterator[Finding]:
    a, b = scene.shapes.prisms[i], scene.shapes.prisms[j]
    rule = _pair_name(family_i, family_j)
    limit = scene.limit(rule)
    one, other = scene.polygons[i], scene.polygons[j]
    joint = _joint(scene, a.id, b.id)
    if joint is not None:
        if family_i != family_j:
            return  # a channel and the port it serves
        trimmed = _beyond_joint(scene, a.id, b.id, joint, limit)
        if trimmed is None:
            return
        one, other = trimmed
        value = float(shapely.distance(one, other))
        if value >= limit - 1e-6:
            return
    line = _shortest(one, other)
    what = {family_i, family_j}
    overlap = value <= 1e-9
    names = f"{_WORDS[family_i]} {a.id}", f"{_WORDS[family_j]} {b.id}"
    yield Finding(
        rule=rule,
        level=_level(what, value),
        items=(a.id, b.id),
        value=value,
        limit=limit,
        unit="mm",
        at=_middle(line),
        line=line,
        message=f"The {names[0]} runs into the {names[1]}."
        if overlap
        else f"The wall between {names[0]} and {names[1]} is {mm(value)}; {mm(limit)} is the least.",
        remedy=f"Move one of them {mm(limit - value)} away{' at least' if overlap else ''}, or make one narrower.",
        fix=None if overlap else _move_away(scene, (a.id, family_i), (b.id, family_j), line, limit - value),
    )


def _joint(scene: Scene, a: str, b: str) -> Point | None:
    """Where two items are meant to meet: a channel at its own port, two channels at one port or branch."""
    channels, ports = scene.shapes.channels, scene.shapes.ports
    if a in channels and b in channels:
        one, other = channels[a], channels[b]
        shared = _ends(one) & _ends(other)
        if shared:
            return _end_place(one, min(shared))
    for first, second in ((a, b), (b, a)):
        if first in channels and second in ports and second in _ends(channels[first]):
            return ports[second].root
    return None


def _ends(channel: ChannelShape) -> set[str]:
    return {id_ for id_ in (channel.item.start, channel.item.end) if id_ is not None}


def _end_place(channel: ChannelShape, id_: str) -> Point:
    return channel.path.start if channel.item.start == id_ else channel.path.end


def _beyond_joint(scene: Scene, a: str, b: str, joint: Point, limit: float) -> tuple[Any, ...] | None:
    """Two channels that meet, without the part near the meeting where they must be near each other."""
    one, other = scene.shapes.channels[a], scene.shapes.channels[b]
    reach = 1.5 * ((one.item.width_mm + other.item.width_mm) / 2 + limit)
    near: shapely.Geometry = shapely.Point(joint).buffer(reach)
    shared = _ends(one) & _ends(other)
    if len(shared) > 1:
        near = shapely.union_all([shapely.Point(_end_place(one, id_)).buffer(reach) for id_ in shared])
    parts = (one.polygon.difference(near), other.polygon.difference(near))
    return None if any(part.is_empty for part in parts) else parts


def _shortest(one: shapely.Geometry, other: shapely.Geometry) -> tuple[Point, Point]:
    if shapely.intersects(one, other):
        place = shapely.point_on_surface(shapely.intersection(one, other))
        return ((place.x, place.y), (place.x, place.y))
    start, end = shapely.shortest_line(one, other).coords
    return ((start[0], start[1]), (end[0], end[1]))


def _middle(line: tuple[Point, Point]) -> Point:
    return ((line[0][0] + line[1][0]) / 2, (line[0][1] + line[1][1]) / 2)


def _move_away(
    scene: Scene, one: tuple[str, str], other: tuple[str, str], line: tuple[Point, Point], missing: float
) -> Fix | None:
    """Moving a free-standing item straight away from the wall, when one of the two is such an item."""
    for (id_, family), (near, far) in ((one, (line[1], line[0])), (other, (line[0], line[1]))):
        key = {"hole": "holes", "cutout": "cutouts", "pocket": "pockets"}.get(family)
        apart = ((far[0] - near[0]) ** 2 + (far[1] - near[1]) ** 2) ** 0.5
        if key is None or apart < 1e-6:
            continue
        index, item = next((k, it) for k, it in enumerate(getattr(scene.document, key)) if it.id == id_)
        placed, path = (item, f"/{key}/{index}") if key == "holes" else (item.outline, f"/{key}/{index}/outline")
        if item.locked or not hasattr(placed, "x_mm"):
            continue
        # A hair more than is missing, so that rounding does not leave the finding standing.
        share = (missing + 0.01) / apart
        dx, dy = share * (far[0] - near[0]), share * (far[1] - near[1])
        changes = (
            Change(f"{path}/x_mm", round(placed.x_mm + dx, 3)),
            Change(f"{path}/y_mm", round(placed.y_mm + dy, 3)),
        )
        return Fix(f"Move {id_} {mm(missing)} away", changes)
    return None


@rules(
    Rule("wall-channel-itself", "holds", "Wall between two legs of one channel", 3.0, "mm", _SHORT, PRACTICE),
)
def within_a_channel(scene: Scene) -> Iterator[Finding]:
    """Walls between the straight legs of one channel, when two bends or more lie between them."""
    limit = scene.limit("wall-channel-itself")
    for id_, channel in scene.shapes.channels.items():
        if len(channel.bends) < 2:
            continue
        legs = [segment for segment in channel.path.segments if segment.straight]
        for (i, one), (j, other) in combinations(enumerate(legs), 2):
            if j - i < 2 and len(legs) > 2:
                continue
            first, second = LineString([one.start, one.end]), LineString([other.start, other.end])
            value = first.distance(second) - channel.item.width_mm
            if value >= limit - 1e-6:
                continue
            start, end = shapely.shortest_line(first, second).coords
            line = ((start[0], start[1]), (end[0], end[1]))
            value = max(value, 0.0)
            yield Finding(
                rule="wall-channel-itself",
                level="error",
                items=(id_,),
                value=value,
                limit=limit,
                unit="mm",
                at=_middle(line),
                line=line,
                message=f"Two legs of the channel {id_} are {mm(value)} apart; {mm(limit)} is the least.",
                remedy=f"Move the legs {mm(limit - value)} apart, or make the channel narrower.",
            )
            break


_EDGES = {
    "channel": Rule("wall-channel-edge", "holds", "Wall between channel and plate edge", 4.0, "mm", _LEAK, PRACTICE),
    "port": Rule(
        "wall-port-edge", "holds", "Wall between a port's bore and the plate edge", 4.0, "mm", _LEAK, PRACTICE
    ),
    "cutout": Rule("wall-cutout-edge", "holds", "Web between cutout and plate edge", 3.0, "mm", _WEAK, PRACTICE),
    "hole": Rule("wall-hole-edge", "holds", "Web between screw hole and plate edge", 3.0, "mm", _WEAK, PRACTICE),
}


@rules(*_EDGES.values())
def to_the_edge(scene: Scene) -> Iterator[Finding]:
    """Walls between an item inside the plate and the plate's edge."""
    if not len(scene.polygons):
        return
    limits = {family: scene.limit(rule.name) for family, rule in _EDGES.items()}
    bounds = np.array([limits.get(_FAMILY[part], 0.0) for part in scene.parts])
    shapely.prepare(scene.edge)
    near = shapely.dwithin(scene.edge, scene.polygons, float(bounds.max()))
    edge_ports = {id_ for id_, port in scene.shapes.ports.items() if port.heading is not None}
    seen: dict[str, Finding] = {}
    for i in np.flatnonzero(near):
        prism = scene.shapes.prisms[i]
        family = _FAMILY[prism.part]
        if family not in _EDGES or prism.id in edge_ports:
            continue
        value = float(shapely.distance(scene.edge, scene.polygons[i]))
        if value >= bounds[i] - 1e-6 or value <= 1e-9:
            continue  # on or over the edge is the business of the rule on items outside the plate
        if prism.id in seen and (seen[prism.id].value or 0.0) <= value:
            continue
        start, end = shapely.shortest_line(scene.polygons[i], scene.edge).coords
        line = ((start[0], start[1]), (end[0], end[1]))
        missing = float(bounds[i]) - value
        seen[prism.id] = Finding(
            rule=_EDGES[family].name,
            level=_level({family}, value),
            items=(prism.id,),
            value=value,
            limit=float(bounds[i]),
            unit="mm",
            at=_middle(line),
            line=line,
            message=f"The wall between {_WORDS[family]} {prism.id} and the plate's edge is {mm(value)}; "
            f"{mm(float(bounds[i]))} is the least.",
            remedy=f"Move it {mm(missing)} inwards, or widen the plate there.",
            fix=_move_away(scene, (prism.id, family), ("", ""), (line[0], line[1]), missing),
        )
    yield from seen.values()


@rules(
    Rule(
        "depth-under-channel", "holds", "Body left under a channel", 3.0, "mm",
        "The channel's floor carries the pressure, and breaks through when the cutter goes a little deep.", PRACTICE,
    ),
)  # fmt: skip
def under_channels(scene: Scene) -> Iterator[Finding]:
    """What a channel leaves of the body's thickness."""
    limit = scene.limit("depth-under-channel")
    body = scene.document.plate.body_thickness_mm
    for index, channel in enumerate(scene.document.channels):
        value = body - channel.depth_mm
        if value >= limit - 1e-9:
            continue
        path = scene.shapes.channels[channel.id].path
        best = body - limit
        yield Finding(
            rule="depth-under-channel",
            level="error",
            items=(channel.id,),
            value=max(value, 0.0),
            limit=limit,
            unit="mm",
            at=path.at(path.length / 2) if path.segments else None,
            message=f"The channel {channel.id} is {mm(channel.depth_mm)} deep and leaves {mm(max(value, 0))} of the "
            f"{mm(body)} body; {mm(limit)} is the least.",
            remedy=f"Make it {mm(best)} deep at most, or the body thicker." if best > 0 else "Make the body thicker.",
            fix=Fix(f"Make {channel.id} {mm(best)} deep", (Change(f"/channels/{index}/depth_mm", best),))
            if best > 0
            else None,
        )


@rules(
    Rule(
        "depth-under-thread", "holds", "Material left under a port's thread", 2.0, "mm",
        "A tap drill that breaks through the far side makes a leak that no seal closes.", PRACTICE,
    ),
    Rule(
        "thread-reaches-channel", "holds", "Thread ends before the channel begins", 0.0, "mm",
        "A fitting screwed into the water way narrows it, and its thread has nothing to hold on there.", PRACTICE,
    ),
    Rule(
        "thread-in-lid", "holds", "A thread on the lid's side fits in the lid", 0.0, "mm",
        "A thread cut through lid and body lifts the lid off its seal when the fitting is tightened.", PRACTICE,
    ),
    Rule(
        "edge-port-thickness", "holds", "Body above and below an edge port's thread", 3.0, "mm",
        "A tapped hole in the edge splits a body that is too thin for it.", PRACTICE,
    ),
)  # fmt: skip
def under_threads(scene: Scene) -> Iterator[Finding]:
    """What a port's thread leaves of body or lid."""
    deepest = deepest_at_ports(scene.document)
    for index, item in enumerate(scene.document.ports):
        port = scene.shapes.ports[item.id]
        if port.thread is None:
            continue
        if item.face == "edge":
            yield from _edge_port(scene, port)
        elif item.face == scene.document.plate.lid_face:
            yield from _lid_port(scene, port)
        else:
            yield from _body_port(scene, port, index, deepest.get(item.id))


def _body_port(scene: Scene, port: PortShape, index: int, channel_depth: float | None) -> Iterator[Finding]:
    body, depth = scene.document.plate.body_thickness_mm, port.item.thread_depth_mm
    rule = "depth-under-thread" if channel_depth is None else "thread-reaches-channel"
    limit, value = scene.limit(rule), body - depth - (channel_depth or 0.0)
    if value >= limit - 1e-9:
        return
    best = depth - (limit - value)
    yield Finding(
        rule=rule,
        level="error" if channel_depth is None else "warning",
        items=(port.item.id,),
        value=value,
        limit=limit,
        unit="mm",
        at=port.at,
        message=f"The thread of {port.item.id} leaves {mm(max(value, 0))} of the body; {mm(limit)} is the least."
        if channel_depth is None
        else f"The thread of {port.item.id} reaches {mm(-value)} into the channel below it.",
        remedy=f"Tap it {mm(best)} deep at most, or make the body thicker." if best > 0 else "Make the body thicker.",
        fix=Fix(f"Tap {port.item.id} {mm(best)} deep", (Change(f"/ports/{index}/thread_depth_mm", round(best, 3)),))
        if best >= 6
        else None,
    )


def _lid_port(scene: Scene, port: PortShape) -> Iterator[Finding]:
    limit = scene.limit("thread-in-lid")
    value = scene.document.plate.lid_thickness_mm - port.item.thread_depth_mm
    if value < limit - 1e-9:
        yield Finding(
            rule="thread-in-lid",
            level="error",
            items=(port.item.id,),
            value=value,
            limit=limit,
            unit="mm",
            at=port.at,
            message=f"The thread of {port.item.id} is {mm(-value)} deeper than the lid it is cut into.",
            remedy="Put the port on the body's side, the lid on the other side, or make the lid thicker.",
        )


def _edge_port(scene: Scene, port: PortShape) -> Iterator[Finding]:
    plate, limit = scene.document.plate, scene.limit("edge-port-thickness")
    low = plate.lid_thickness_mm if plate.lid_face == "bottom" else 0.0
    high = low + plate.body_thickness_mm
    half = port.thread_diameter / 2
    value = min(port.rise - half - low, high - port.rise - half)
    if value < limit - 1e-9:
        need = port.thread_diameter + 2 * limit
        yield Finding(
            rule="edge-port-thickness",
            level="error",
            items=(port.item.id,),
            value=value,
            limit=limit,
            unit="mm",
            at=port.at,
            message=f"The edge port {port.item.id} leaves {mm(max(value, 0))} of body beside its thread; "
            f"{mm(limit)} is the least.",
            remedy=f"A body of {mm(need)} or more carries {port.item.thread} in its edge, with the port at its middle.",
        )
