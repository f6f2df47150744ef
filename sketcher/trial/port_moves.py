"""Moving ports and whole plates in a document, so that what hangs on them follows.

A channel follows its port: the corner next to the port slides along the channel's next leg, so that the first leg
keeps its direction. A group follows when all its ports move as one rigid piece. The whole plate moves rigidly, with
everything machined into it. What the ports serve goes along (``served_devices``).
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any

from sketcher.document import Document, with_changes
from sketcher.document.base import Place
from sketcher.document.moved_items import ITEM_LISTS
from sketcher.document.outlines import Circle, Outline, Polygon
from sketcher.document.plate import Channel, ChannelPoint
from sketcher.trial.rigid_motion import RigidMotion, Vector, common_motion
from sketcher.trial.served_devices import carried, carried_whole

PlaceMap = Callable[[float, float], Vector]

#: Places are kept to this many decimals of a mm.
DECIMALS = 4
#: A corner slides along the next leg only when the legs meet at more than this.
LEAST_ANGLE_DEG = 15.0


def move_ports(document: Document, moves: Mapping[str, Vector]) -> Document:
    """The document with some ports moved by ``(dx, dy)`` mm; locked items stay.

    Channels and groups follow, and what the ports serve does too: a tube came down where the port goes.
    """
    moves = {port.id: moves[port.id] for port in document.ports if port.id in moves and not port.locked}
    others = _group_motions(document, moves)
    ends: dict[str, Vector] = {port.id: (port.x_mm, port.y_mm) for port in document.ports}
    ends.update((branch.id, (branch.x_mm, branch.y_mm)) for branch in document.branches)
    by = {id_: RigidMotion.shift(*move) for id_, move in moves.items()}
    by = {**others, **by}
    steps = {id_: by[id_].step(*ends[id_]) for id_ in ends if id_ in by}
    changes: dict[str, Any] = {
        "ports": [_moved_point(port, by.get(port.id)) for port in document.ports],
        "branches": [_moved_point(branch, by.get(branch.id)) for branch in document.branches],
        "holes": [_moved_point(hole, by.get(hole.id)) for hole in document.holes],
        "channels": [_follow(channel, ends, steps, by.get(channel.id)) for channel in document.channels],
    }
    for key in ("cutouts", "pockets", "keep_outs"):
        changes[key] = [
            item if item.id not in by else _area(item, by[item.id].place, by[item.id].turn_deg)
            for item in getattr(document, key)
        ]
    changes |= carried(document, moves, others)
    return with_changes(document, **changes)


def following(document: Document, moves: Mapping[str, Vector]) -> dict[str, list[str]]:
    """For each group that follows the moves, the items that go with it."""
    others = _group_motions(document, moves)
    return {
        group.id: [member for member in group.members if member in others]
        for group in document.groups
        if any(member in others for member in group.members)
    }


def move_whole(document: Document, place: PlaceMap, turn_deg: float) -> Document:
    """The document with the plate, all in it and what its ports serve moved rigidly; floor and keep-outs stay.

    Args:
        place: where a point of the plate goes, mm to mm.
        turn_deg: the turn that goes with it, counter-clockwise.
    """

    def point(item: Any, **more: Any) -> Any:
        x, y = place(item.x_mm, item.y_mm)
        return item.model_copy(update={"x_mm": _round(x), "y_mm": _round(y), **more})

    return with_changes(
        document,
        plate=document.plate.model_copy(update={"outline": mapped(document.plate.outline, place, turn_deg)}),
        ports=[
            point(
                port, **({"heading_deg": _turned(port.heading_deg, turn_deg)} if port.heading_deg is not None else {})
            )
            for port in document.ports
        ],
        branches=[point(branch) for branch in document.branches],
        holes=[
            point(hole, **({"turn_deg": _turned(hole.turn_deg, turn_deg)} if hole.slot_length_mm else {}))
            for hole in document.holes
        ],
        channels=[
            channel.model_copy(update={"points": [point(corner) for corner in channel.points]})
            for channel in document.channels
        ],
        cutouts=[_area(cutout, place, turn_deg) for cutout in document.cutouts],
        pockets=[_area(pocket, place, turn_deg) for pocket in document.pockets],
        **carried_whole(document, RigidMotion.of(place, turn_deg)),
    )


def _area(item: Any, place: PlaceMap, turn_deg: float) -> Any:
    """A cutout, pocket or keep-out moved rigidly; a cable slot with the corners on its way."""
    update: dict[str, Any] = {"outline": mapped(item.outline, place, turn_deg)}
    cable = getattr(item, "cable", None)
    if cable is not None and cable.points:
        places = [place(corner.x_mm, corner.y_mm) for corner in cable.points]
        points = tuple(Place(x_mm=_round(x), y_mm=_round(y)) for x, y in places)
        update["cable"] = cable.model_copy(update={"points": points})
    return item.model_copy(update=update)


def mapped(outline: Outline, place: PlaceMap, turn_deg: float) -> Outline:
    """An outline moved rigidly."""
    if isinstance(outline, Polygon):
        vertices = []
        for vertex in outline.vertices:
            x, y = place(vertex.x_mm, vertex.y_mm)
            vertices.append(vertex.model_copy(update={"x_mm": _round(x), "y_mm": _round(y)}))
        return outline.model_copy(update={"vertices": vertices})
    x, y = place(outline.x_mm, outline.y_mm)
    update: dict[str, float] = {"x_mm": _round(x), "y_mm": _round(y)}
    if not isinstance(outline, Circle) and turn_deg:
        update["turn_deg"] = _turned(outline.turn_deg, turn_deg)
    return outline.model_copy(update=update)


def _group_motions(document: Document, moves: Mapping[str, Vector]) -> dict[str, RigidMotion]:
    """Motions of the items that follow a group's ports."""
    ports = {port.id: (port.x_mm, port.y_mm) for port in document.ports}
    locked = {item.id for key in ITEM_LISTS for item in getattr(document, key) if item.locked}
    found: dict[str, RigidMotion] = {}
    for group in document.groups:
        members = [member for member in group.members if member in ports]
        if not members or group.locked or not all(member in moves for member in members):
            continue
        motion = common_motion([ports[member] for member in members], [moves[member] for member in members])
        if motion is None:
            continue
        for member in group.members:
            if member not in ports and member not in locked:
                found.setdefault(member, motion)
    return found


def _moved_point(item: Any, by: RigidMotion | None) -> Any:
    if by is None:
        return item
    x, y = by.place(item.x_mm, item.y_mm)
    update = {"x_mm": _round(x), "y_mm": _round(y)}
    if by.turn_deg and getattr(item, "slot_length_mm", None):
        update["turn_deg"] = _turned(item.turn_deg, by.turn_deg)
    return item.model_copy(update=update)


def _follow(
    channel: Channel, ends: Mapping[str, Vector], by: Mapping[str, Vector], whole: RigidMotion | None
) -> Channel:
    if channel.locked or not channel.points:
        return channel
    points = list(channel.points)
    if whole is not None:
        points = [_moved_point(corner, whole) for corner in points]
        return channel.model_copy(update={"points": points})
    start = ends.get(channel.start or "")
    end = ends.get(channel.end or "")
    if start is not None and channel.start in by:
        after = (points[1].x_mm, points[1].y_mm) if len(points) > 1 else end
        points[0] = _slid(points[0], start, by[channel.start or ""], after)
    if end is not None and channel.end in by:
        before = (points[-2].x_mm, points[-2].y_mm) if len(points) > 1 else start
        if before is not None and len(points) == 1 and channel.start in by:
            step = by[channel.start or ""]
            before = (before[0] + step[0], before[1] + step[1])
        points[-1] = _slid(points[-1], end, by[channel.end or ""], before)
    return channel.model_copy(update={"points": points})


def _slid(corner: ChannelPoint, port: Vector, by: Vector, beyond: Vector | None) -> ChannelPoint:
    """The corner next to a moved port, slid along its other leg so that the leg to the port keeps its direction."""
    leg = (corner.x_mm - port[0], corner.y_mm - port[1])
    length = math.hypot(*leg)
    step = by
    if beyond is not None and length > 0:
        other = (beyond[0] - corner.x_mm, beyond[1] - corner.y_mm)
        reach = math.hypot(*other)
        cross = leg[0] * other[1] - leg[1] * other[0]
        if reach > 0 and abs(cross) > math.sin(math.radians(LEAST_ANGLE_DEG)) * length * reach:
            # corner + s * other on the line through the moved port with the old direction
            s = (leg[0] * by[1] - leg[1] * by[0]) / cross
            step = (s * other[0], s * other[1])
    return corner.model_copy(update={"x_mm": _round(corner.x_mm + step[0]), "y_mm": _round(corner.y_mm + step[1])})


def _round(value: float) -> float:
    return round(value, DECIMALS) + 0.0


def _turned(angle_deg: float, by_deg: float) -> float:
    return round((angle_deg + by_deg + 180.0) % 360.0 - 180.0, 6) + 0.0
