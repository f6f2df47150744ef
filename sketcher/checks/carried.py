"""What is carried, against what carries it: it stands on it, beside it or in a slot of it, never within it.

What holds a thing may touch it, and the parts of a board stand around what it carries. A board's sheet is solid all the
same, and so is a device, unless it is said to be hollow (a frame, a tray): for what it carries, for a tube that drops
to that, and for the fitting that the tube comes from.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np
import shapely

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.checks.space import bodies_of, chain
from sketcher.document.hardware import Board
from sketcher.document.remembered import Remembered
from sketcher.findings import Change, Finding, Fix, mm, pair
from sketcher.geometry.bodies import Body, Gap, apart_along, from_frame, gap, lying_cylinder
from sketcher.geometry.placement import Frame, Vector, board_size, holder_frame
from sketcher.geometry.ports import PortShape
from sketcher.geometry.shapes import AreaShape

#: Outlines with arcs are drawn up to a hundredth too large, mm; a tube along a face is not in what is behind it.
_SLIVER_MM, _IN_MM = 0.011, 0.05
#: So thick is the line by which a tube's axis is sought in a device, mm.
_AXIS_MM = 0.01


def _sheets(scene: Scene) -> dict[str, Body]:
    """The sheets of the boards that carry anything, without their parts."""
    holding = {item.held_by for item in (*scene.document.boards, *scene.document.devices)}
    found = {}
    for board in scene.document.boards:
        if board.id in holding:
            area, frame = scene.shapes.boards[board.id], scene.shapes.frames[board.id]
            found[board.id] = _known_sheets.of((board, area, frame), None, partial(_sheet, board, area, frame))
    return found


_known_sheets: Remembered[Body] = Remembered()


def _sheet(board: Board, area: AreaShape, frame: Frame) -> Body:
    assert area.plan is not None
    levels = (-board.thickness_mm, 0.0)
    corners = np.vstack([np.column_stack([area.plan, np.full(len(area.plan), w)]) for w in levels])
    shadow = shapely.MultiPoint((frame.origin + corners @ frame.axes.T)[:, :2]).convex_hull
    return from_frame(board.id, "board", frame, area.plan, levels, shadow)


def _solid_holders(scene: Scene) -> dict[str, Body]:
    """What is solid of all that holds anything: the sheets of boards, and devices that are not hollow."""
    document, bodies = scene.document, bodies_of(scene)
    holding = {item.held_by for item in (*document.boards, *document.devices)}
    solid = {device.id for device in document.devices if device.id in holding and not device.hollow}
    devices = {body.id: body for body in bodies.hardware if body.id in solid} if solid else {}
    return {**scene.once(_sheets), **devices}


@rules(named=True, reads=("boards", "devices"))  # its rule is registered with the other bodies
def through_its_holder(scene: Scene) -> Iterator[Finding]:
    """Boards and devices against what is solid of the things that hold them, over any number of steps."""
    holders, least = scene.once(_solid_holders), scene.limit("bodies-overlap") - _SLIVER_MM
    for body in bodies_of(scene).hardware if holders else ():
        for id_ in sorted(chain(scene, body.id) - {body.id}):
            holder = holders.get(id_)
            # Nearly everything stands on what holds it, and is clear of it along its normal.
            if holder is None or apart_along(holder, body, scene.shapes.frames[id_].axes[:, 2]) >= least:
                continue
            between = gap(holder, body)
            if between.value < least:
                yield _in_its_holder(scene, body, holder, between)


def _in_its_holder(scene: Scene, body: Body, holder: Body, between: Gap) -> Finding:
    name, way = f"The {body.kind} {body.id} reaches {mm(-between.value)} into", f"Move it {mm(-between.value)} off"
    board = holder.kind == "board"
    return Finding(
        rule="bodies-overlap",
        level="error",
        items=pair(body.id, holder.id),
        value=between.value,
        limit=scene.limit("bodies-overlap"),
        unit="mm",
        at=between.line[0],
        line=between.line,
        message=f"{name} the sheet of {holder.id}, which carries it."
        if board
        else f"{name} the device {holder.id}, which holds it.",
        remedy=f"{way} the sheet."
        if board
        else f"{way} {holder.id}; or say that {holder.id} is hollow, if it is a frame or a tray.",
        fix=_off(scene, body.id, between),
    )


def _off(scene: Scene, id_: str, between: Gap) -> Fix | None:
    """A thing moved off what holds it, in the axes that its own x, y and z count in."""
    document = scene.document
    placed = {item.id: item for item in (*document.boards, *document.devices)}
    item = placed[id_]
    if item.locked:
        return None
    far = -between.value + 0.005
    key = "boards" if isinstance(item, Board) else "devices"
    index = [other.id for other in getattr(document, key)].index(id_)
    steps: Vector = holder_frame(item, placed, dict(scene.shapes.frames)).axes.T @ np.array(between.away) * far
    values = ("x_mm", item.x_mm), ("y_mm", item.y_mm), ("z_mm", item.z_mm)
    changes = tuple(
        Change(f"/{key}/{index}/{name}", round(value + float(step), 3))
        for (name, value), step in zip(values, steps, strict=True)
        if abs(step) > 1e-4
    )
    return Fix(f"Move {id_} by {mm(far)}", changes)


@rules(named=True, reads=("ports", "boards", "devices"))  # their rules are registered with tubes and fittings
def to_what_it_carries(scene: Scene) -> Iterator[Finding]:
    """Tubes that drop to a device, and the fittings they come from, against what is solid of all that holds it; tubes
    and the fittings in the plate's edge against the device itself too."""
    document, bodies = scene.document, bodies_of(scene)
    holders, drops = scene.once(_solid_holders), {body.id: body for body in bodies.drops}
    hardware = {body.id: body for body in bodies.hardware}
    straight = document.loop.tube_size is None
    for port, fitting in bodies.fittings:
        served = scene.shapes.device_ports.get(port.item.serves or "")
        if served is None:
            continue
        undrawn = straight and port.item.tube is None and port.item.id in drops
        # What is in its way first; through the device itself is the same cause when that is behind something.
        for id_ in (*sorted(chain(scene, served.device) - {served.device}), served.device):
            itself, hard = id_ == served.device, holders.get(id_) or hardware.get(id_)
            if hard is None or (id_ not in holders and not itself):
                continue
            if undrawn and _runs_through(scene, port, hard, itself=itself):
                yield _tube(scene, port, hard, itself=itself)
                undrawn = False
            elif not itself or port.heading is not None:
                yield from _fitting(scene, port, fitting, hard, itself=itself)


def _runs_through(scene: Scene, port: PortShape, hard: Body, *, itself: bool) -> bool:
    """Whether the axis of a straight drop passes through what it should not.

    A port that is drawn within its own device opens to the nearer side of it: reached from the plate that may be
    underneath, and through the device when it is on top.
    """
    if hard.kind == "board":
        return _crosses(scene, port, hard.id)
    served = scene.shapes.device_ports[port.item.serves or ""]
    _, top = bodies_of(scene).plate_heights
    if itself and hard.high - served.z >= served.z - hard.low - _IN_MM:
        return False
    ends = np.array([*port.at, top]), np.array([served.x, served.y, served.z])
    (left, front, right, rear), ((x0, y0, _), (x1, y1, _)) = hard.bounds, ends
    if min(x0, x1) >= right or max(x0, x1) <= left or min(y0, y1) >= rear or max(y0, y1) <= front:
        return False
    shadow = shapely.LineString([ends[0][:2], ends[1][:2]]).buffer(_AXIS_MM)
    return gap(hard, lying_cylinder(port.item.id, "tube", *ends, _AXIS_MM, shadow)).value < -_IN_MM


def _crosses(scene: Scene, port: PortShape, board: str) -> bool:
    """Whether the middle of a straight drop passes through a board's sheet."""
    item = next(one for one in scene.document.boards if one.id == board)
    frame, served = scene.shapes.frames[board], scene.shapes.device_ports[port.item.serves or ""]
    _, top = bodies_of(scene).plate_heights
    ends = np.array([[*port.at, top], [served.x, served.y, served.z]]) - frame.origin
    start, end = ends @ frame.axes
    low = np.array([_IN_MM, _IN_MM, -item.thickness_mm + _IN_MM])
    high = np.array([*board_size(item), 0.0]) - _IN_MM
    first, last = 0.0, 1.0
    for a, b, least, most in zip(start, end, low, high, strict=True):
        if abs(b - a) < 1e-9:
            if not least < a < most:
                return False
            continue
        near, far = sorted(((least - a) / (b - a), (most - a) / (b - a)))
        first, last = max(first, near), min(last, far)
    return last > first


def _tube(scene: Scene, port: PortShape, hard: Body, *, itself: bool) -> Finding:
    what = (
        f"the sheet of {hard.id}" if hard.kind == "board" else hard.id + (" itself" if itself else ", which holds it")
    )
    return Finding(
        rule="tube-blocked",
        level="error",
        items=(port.item.id, hard.id),
        value=-scene.document.loop.tube_outer_diameter_mm,
        limit=scene.limit("tube-blocked"),
        unit="mm",
        at=port.at,
        message=f"The tube from {port.item.id} to {port.item.serves} runs through {what}.",
        remedy=f"Lead it around {hard.id}: draw its course, or move {port.item.id} beside {hard.id}.",
    )


def _fitting(scene: Scene, port: PortShape, fitting: Body, hard: Body, *, itself: bool) -> Iterator[Finding]:
    """A fitting is about as high as it is wide; what is over an upright one is asked for by its drop's length."""
    (left, front, right, rear), box = fitting.bounds, hard.bounds
    if left >= box[2] or right <= box[0] or front >= box[3] or rear <= box[1]:
        return  # beside it
    if port.heading is None:
        high = min(fitting.high, fitting.low + port.item.fitting_diameter_mm)
        fitting = Body(fitting.id, fitting.kind, fitting.area, fitting.low, high)
    between = gap(fitting, hard)
    if between.value >= -_SLIVER_MM:
        return
    what = f"the sheet of {hard.id}" if hard.kind == "board" else f"the device {hard.id}"
    yield Finding(
        rule="fitting-blocked",
        level="error",
        items=(port.item.id, hard.id),
        value=between.value,
        limit=0.0,
        unit="mm",
        at=port.at,
        message=f"The fitting of {port.item.id} runs into {what}, to which its tube goes."
        if itself
        else f"The fitting of {port.item.id} runs into {what}, which carries what its tube goes to.",
        remedy=f"Move the port {mm(-between.value)} away, or what it runs into.",
    )
