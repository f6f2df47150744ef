"""What a board carries, against the board's own sheet: it stands on it or in a slot of it, never through it.

What holds a thing may touch it, and the parts of a board stand around what it carries. Its sheet is solid all the same:
for what it carries, for a tube that drops to that, and for the fitting that the tube comes from.
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
from sketcher.geometry.bodies import Body, Gap, from_frame, gap
from sketcher.geometry.placement import Frame, Vector, board_size, holder_frame
from sketcher.geometry.ports import PortShape
from sketcher.geometry.shapes import AreaShape

#: Outlines with arcs are drawn up to a hundredth too large, mm; a tube along a sheet's face is not in it.
_SLIVER_MM, _IN_MM = 0.011, 0.05


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


@rules(named=True, reads=("boards", "devices"))  # its rule is registered with the other bodies
def through_its_board(scene: Scene) -> Iterator[Finding]:
    """Boards and devices against the sheets of the boards that hold them."""
    sheets = scene.once(_sheets)
    for body in bodies_of(scene).hardware if sheets else ():
        for id_ in sorted(chain(scene, body.id) - {body.id}):
            sheet = sheets.get(id_)
            if sheet is None:
                continue
            between = gap(sheet, body)
            if between.value < scene.limit("bodies-overlap") - _SLIVER_MM:
                yield _in_the_sheet(scene, body, id_, between)


def _in_the_sheet(scene: Scene, body: Body, board: str, between: Gap) -> Finding:
    return Finding(
        rule="bodies-overlap",
        level="error",
        items=pair(body.id, board),
        value=between.value,
        limit=scene.limit("bodies-overlap"),
        unit="mm",
        at=between.line[0],
        line=between.line,
        message=f"The {body.kind} {body.id} reaches {mm(-between.value)} into the sheet of {board}, which carries it.",
        remedy=f"Move it {mm(-between.value)} off the sheet.",
        fix=_off(scene, body.id, between),
    )


def _off(scene: Scene, id_: str, between: Gap) -> Fix | None:
    """A thing moved off a sheet, in the axes that its own x, y and z count in."""
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
    """Tubes that drop to what a board carries, and the fittings they come from, against the board's sheet; the fittings
    in the plate's edge against the device itself too."""
    document, bodies = scene.document, bodies_of(scene)
    sheets, drops = scene.once(_sheets), {body.id: body for body in bodies.drops}
    hardware = {body.id: body for body in bodies.hardware}
    straight = document.loop.tube_size is None
    for port, fitting in bodies.fittings:
        served = scene.shapes.device_ports.get(port.item.serves or "")
        if served is None:
            continue
        for id_ in sorted(chain(scene, served.device)):
            sheet = sheets.get(id_)
            undrawn = straight and port.item.tube is None and port.item.id in drops
            if sheet is not None and undrawn and _crosses(scene, port, id_):
                yield _tube(scene, port, id_)
            elif (hard := sheet if port.heading is None else sheet or hardware.get(id_)) is not None:
                yield from _fitting(scene, port, fitting, hard)


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


def _tube(scene: Scene, port: PortShape, board: str) -> Finding:
    return Finding(
        rule="tube-blocked",
        level="error",
        items=(port.item.id, board),
        value=-scene.document.loop.tube_outer_diameter_mm,
        limit=scene.limit("tube-blocked"),
        unit="mm",
        at=port.at,
        message=f"The tube from {port.item.id} to {port.item.serves} runs through the sheet of {board}.",
        remedy=f"Lead it around {board}: draw its course, or move {port.item.id} beside the board.",
    )


def _fitting(scene: Scene, port: PortShape, fitting: Body, hard: Body) -> Iterator[Finding]:
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
        if hard.kind == "device"
        else f"The fitting of {port.item.id} runs into {what}, which carries what its tube goes to.",
        remedy=f"Move the port {mm(-between.value)} away, or what it runs into.",
    )
