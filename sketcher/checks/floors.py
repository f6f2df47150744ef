"""Does it hold: what stays under every recess, and threads against what they are cut into.

Body and lid are machined apart, each from its own sheet. What a recess leaves is counted to the far face of the part
that it is cut into, its drill's point included.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from sketcher.checks.edge_threads import SHORTEST_MM, beside_its_bore
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene, at_least
from sketcher.findings import PRACTICE, Change, Finding, Fix, Level, Point, Rule, mm
from sketcher.geometry.levels import body_heights, lid_heights
from sketcher.geometry.ports import PortShape, deepest_at_ports
from sketcher.geometry.prisms import Prism, point_mm

_THROUGH = "A recess that breaks through opens the joint between body and lid, or the plate's far face."


def _floor(what: str, title: str, limit: float, reason: str = _THROUGH) -> Rule:
    return Rule(f"depth-under-{what}", "holds", title, limit, "mm", reason, PRACTICE)


FLOORS = {
    "channel": _floor("channel", "Body left under a channel", 3.0,
                      "The floor carries the pressure, and breaks through when the cutter goes a little deep."),
    "pocket": _floor("pocket", "Material left under a pocket", 2.0),
    "hole": _floor("hole", "Material left under a blind hole and its drill's point", 0.5),
    "head": _floor("head", "Material left under a counterbore or a countersink", 2.0,
                   "A screw head pulls out of a floor that is too thin for it."),
    "thread": _floor("thread", "Material left under a port's thread, bore and drill's point", 2.0,
                     "A tap drill that breaks through the far side makes a leak that no seal closes."),
}  # fmt: skip


@dataclass(frozen=True)
class Left:
    """What one recess leaves: as drawn, and on the thinnest sheet (mm)."""

    id: str
    family: str
    value: float
    thinnest: float
    at: Point | None
    words: str


def floors(scene: Scene) -> list[Left]:
    """What stays under every recess."""
    return scene.once(_listed)


def _listed(scene: Scene) -> list[Left]:
    return list(_floors(scene))


def _floors(scene: Scene) -> Iterator[Left]:
    shapes = scene.shapes
    body, lid = body_heights(scene.document), lid_heights(scene.document)
    thin = scene.thin_shift
    bodies = {"body": body, "lid": lid}
    below_is_lid = lid[0] <= body[0]

    def left(prism: Prism, from_top: bool) -> tuple[float, float]:
        """Under a recess from the top, or over one from the bottom: to the far face of its part."""
        part = "body" if from_top == below_is_lid else "lid"
        low, high = bodies[part]
        if from_top:
            return prism.low - low, prism.low + thin[prism.low_from] - low
        return high - prism.high, high - (prism.high + thin[prism.high_from])

    for id_, channel in shapes.channels.items():
        value = body[1] - body[0] - channel.item.depth_mm
        at = channel.path.at(channel.path.length / 2) if channel.path.segments else None
        tolerance = abs(thin["body"])
        yield Left(id_, "channel", value, value - tolerance, at, f"channel {id_}")
    for pocket in scene.document.pockets:
        area = shapes.pockets[pocket.id]
        prism = next(prism for prism in scene.prisms_of(pocket.id) if prism.part == "pocket")
        place = area.polygon.representative_point()
        yield Left(pocket.id, "pocket", *left(prism, pocket.face == "top"), (place.x, place.y), f"pocket {pocket.id}")
    for id_, hole in shapes.holes.items():
        at = (hole.item.x_mm, hole.item.y_mm)
        top = hole.item.face == "top"
        if hole.head is not None:
            yield Left(id_, "head", *left(hole.head, top), at, f"head of {id_}")
        if hole.blind:
            yield _blind_hole(scene, id_, at, top)
    deepest = deepest_at_ports(scene.document)
    for id_, port in shapes.ports.items():
        if port.heading is None and id_ not in deepest and port.item.face != scene.document.plate.lid_face:
            low, high = bodies["body"]
            tip = point_mm(port.bore_diameter) if port.item.drill_end == "point" else 0.0
            bore, thread = port.bore_prism, port.thread_prism
            if port.item.face == "top":
                value = min(bore.low - tip, thread.low) - low
            else:
                value = high - max(bore.high + tip, thread.high)
            yield Left(id_, "thread", value, value - abs(thin["body"]), port.at, f"port {id_}")


def _blind_hole(scene: Scene, id_: str, at: Point, top: bool) -> Left:
    """A blind hole ends in body or lid, wherever its depth leads; a lid screw's goes through the lid."""
    thin, hole = scene.thin_shift, scene.shapes.holes[id_]
    main = hole.prism
    point = point_mm(hole.diameter) if hole.item.drill_end == "point" and hole.item.slot_length_mm is None else 0.0
    body, lid = body_heights(scene.document), lid_heights(scene.document)
    end = main.low if top else main.high
    inside = body[0] - 1e-9 <= end <= body[1] + 1e-9
    part, name = (body, "body") if inside else (lid, "lid")
    far = part[0] if top else part[1]
    far_moves = thin[name] if far in (0.0, scene.shapes.thickness) else 0.0
    moves = thin[main.low_from if top else main.high_from]
    value = end - point - far if top else far - end - point
    return Left(id_, "hole", value, value + (moves - far_moves if top else far_moves - moves), at, f"blind hole {id_}")


@rules(*FLOORS.values(), named=True)
def under_recesses(scene: Scene) -> Iterator[Finding]:
    """What every recess leaves of the part that it is cut into."""
    for left in floors(scene):
        rule = FLOORS[left.family].name
        limit = at_least(scene.limit(rule))
        if left.value >= limit - 1e-9:
            continue
        # A remedy for the thinnest sheet too: one that only holds as drawn would bring the next finding.
        value, missing = left.value, limit - min(left.value, left.thinnest)
        level: Level = "error" if left.family in ("channel", "thread") or value <= 0 else "warning"
        yield Finding(
            rule=rule,
            level=level,
            items=(left.id,),
            value=value,
            limit=limit,
            unit="mm",
            at=left.at,
            message=f"The {left.words} breaks through by {mm(-value)}."
            if value < 0
            else f"The {left.words} leaves {mm(value)} of material; {mm(limit)} is the minimum.",
            remedy=f"Make it {mm(missing)} less deep, which holds for the thinnest sheet too, or use thicker sheet.",
            fix=_shallower(scene, left, missing),
        )


def _shallower(scene: Scene, left: Left, missing: float) -> Fix | None:
    document = scene.document
    key, name = {
        "channel": ("channels", "depth_mm"),
        "pocket": ("pockets", "depth_mm"),
        "hole": ("holes", "depth_mm"),
        "thread": ("ports", "thread_depth_mm"),
    }.get(left.family, ("", ""))
    if not key:
        return None
    _, index = scene.numbers[left.id]
    item = getattr(document, key)[index]
    if key == "ports" and item.bore_depth_mm is not None:
        name = "bore_depth_mm"
    best = round(getattr(item, name) - missing - 0.0005, 3)
    if best <= 0 or (key == "ports" and best < 6):
        return None
    return Fix(f"Make {left.id} {mm(best)} deep", (Change(f"/{key}/{index}/{name}", best),))


@rules(
    Rule(
        "thread-reaches-channel", "holds", "Thread ends before the channel begins", 0.0, "mm",
        "A fitting screwed into the channel narrows it, and its thread has nothing to hold on there.", PRACTICE,
    ),
    Rule(
        "thread-in-lid", "holds", "A thread on the lid's side fits in the lid", 0.0, "mm",
        "A thread cut through lid and body lifts the lid off its seal when the fitting is tightened.", PRACTICE,
    ),
    Rule(
        "edge-port-thickness", "holds", "Body above and below an edge port's thread", 3.0, "mm",
        "A tapped hole in the edge splits a body that is too thin for it.", PRACTICE,
    ),
    named=True,
)  # fmt: skip
def threads(scene: Scene) -> Iterator[Finding]:
    """A port's thread against the channel behind it, the lid it is cut into, the body's faces beside it."""
    deepest = deepest_at_ports(scene.document)
    for index, item in enumerate(scene.document.ports):
        port = scene.shapes.ports[item.id]
        if item.face == "edge":
            yield from _edge_port(scene, port)
            if port.thread is not None:
                yield from beside_its_bore(scene, port, index)
        elif port.thread is None:
            continue
        elif item.face == scene.document.plate.lid_face:
            yield from _lid_port(scene, port)
        elif item.id in deepest:
            yield from _into_channel(scene, port, index, deepest[item.id])


def _into_channel(scene: Scene, port: PortShape, index: int, channel_depth: float) -> Iterator[Finding]:
    body, depth = scene.document.plate.body_thickness_mm, port.item.thread_depth_mm
    limit, value = scene.limit("thread-reaches-channel"), body - depth - channel_depth
    if value >= limit - 1e-9:
        return
    best = depth - (limit - value)
    yield Finding(
        rule="thread-reaches-channel",
        level="warning",
        items=(port.item.id,),
        value=value,
        limit=limit,
        unit="mm",
        at=port.at,
        message=f"The thread of {port.item.id} reaches {mm(-value)} into the channel below it."
        if value < 0
        else f"The thread of {port.item.id} ends {mm(value)} before its channel; {mm(limit)} is the minimum.",
        remedy=f"Tap it at most {mm(best)} deep, or make the body thicker." if best > 0 else "Make the body thicker.",
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
            message=f"The thread of {port.item.id} is {mm(-value)} deeper than the lid it is cut into."
            if value < 0
            else f"The thread of {port.item.id} leaves {mm(value)} of the lid; {mm(limit)} is the minimum.",
            remedy="Put the port on the body's side, the lid on the other side, or make the lid thicker.",
            fix=_tapped(scene, port, port.item.thread_depth_mm - (limit - value)),
        )


def _tapped(scene: Scene, port: PortShape, best: float) -> Fix | None:
    best, index = math.floor(best * 100 + 1e-6) / 100, scene.numbers[port.item.id][1]
    if best < SHORTEST_MM or port.item.locked:
        return None
    return Fix(f"Tap {port.item.id} {mm(best)} deep", (Change(f"/ports/{index}/thread_depth_mm", best),))


def _to_the_middle(scene: Scene, port: PortShape, middle: float, value: float, limit: float) -> Fix | None:
    """An edge port's axis at the middle of the body, where there is most on either side of it."""
    low, high = body_heights(scene.document)
    index = scene.numbers[port.item.id][1]
    if (high - low - port.thread_diameter) / 2 < limit - 1e-9 or port.item.locked:
        return None
    change = Change(f"/ports/{index}/level_mm", round(middle, 3))
    return Fix(f"Set {port.item.id} to the middle of the body", (change,))


def _edge_port(scene: Scene, port: PortShape) -> Iterator[Finding]:
    limit = scene.limit("edge-port-thickness")
    low, high = body_heights(scene.document)
    half = port.thread_diameter / 2
    value = min(port.rise - half - low, high - port.rise - half)
    if value < limit - 1e-9:
        need, cut = port.thread_diameter + 2 * limit, "bore" if port.thread is None else "thread"
        yield Finding(
            rule="edge-port-thickness",
            level="error",
            items=(port.item.id,),
            value=value,
            limit=limit,
            unit="mm",
            at=port.at,
            message=f"The edge port {port.item.id} leaves {mm(value)} of body beside its {cut}; "
            f"{mm(limit)} is the minimum."
            if value >= 0
            else f"The {cut} of the edge port {port.item.id} breaks out of the body by {mm(-value)}.",
            remedy=f"A body of {mm(need)} or more carries {port.item.thread or 'this bore'} in its edge, with the port "
            "at its middle.",
            fix=_to_the_middle(scene, port, (low + high) / 2, value, limit),
        )
