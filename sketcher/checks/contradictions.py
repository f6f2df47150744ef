"""Figures of one thing that contradict each other: what a slip of a key makes, and nothing else would tell.

A place that is ten times too far, a curve that turns back, a tube that is thicker inside than outside: each may be
what somebody means, and hardly ever is.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from functools import partial

import numpy as np
import shapely
from shapely import Geometry

from sketcher.checks.body_pairs import known_gap
from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.checks.space import bodies_of
from sketcher.document.hardware import Device
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Finding, Point, Rule, mm, pair
from sketcher.geometry.placement import board_size
from sketcher.geometry.shapes import DevicePortPlace

#: A curve may turn back by this share of itself: pumps have a hump at little flow, and readings scatter. Common
#: practice, no source.
HUMP = 0.15
#: A block lies on a chip: farther over its board than this there is none, mm. Common practice, no source.
LIFTED_MM = 20.0


@rules(
    Rule("device-port-away", "fits", "A device's port lies on its device, or no farther off than a fitting", 40.0, "mm",
         "A port that is typed in with a digit too many takes its tube to where nothing is.", PRACTICE),
    named=True, reads=("boards", "devices"),
)  # fmt: skip
def device_ports(scene: Scene) -> Iterator[Finding]:
    """Ports of devices against the devices' own bodies, in these' own axes."""
    limit = scene.limit("device-port-away")
    for device in scene.document.devices:
        area = scene.shapes.devices.get(device.id)
        if area is None or area.plan is None:
            continue
        plan = sound(shapely.Polygon(area.plan))
        for port in device.ports:
            place = scene.shapes.device_ports.get(f"{device.id}.{port.id}")
            at = scene.mouth(device.id, port.id)
            if place is not None and (deep := _behind(scene, device, place)) is not None:
                yield Finding(
                    "device-port-away", "warning", (device.id,), f"The port {port.id} of {device.id} is {mm(deep)} "
                    f"behind the face of {device.held_by}, which carries {device.id}: no tube comes to it there.",
                    "Look its u, v and w over: w counts from the device's underside.", -deep, 0.0, "mm", at,
                )  # fmt: skip
                continue
            aside = float(shapely.distance(plan, shapely.Point(port.u_mm, port.v_mm)))
            above = max(-port.w_mm, port.w_mm - device.height_mm, 0.0)
            value = math.hypot(aside, above)
            if value <= limit + 1e-9:
                continue
            yield Finding(
                "device-port-away", "warning", (device.id,), f"The port {port.id} of {device.id} is {mm(value)} away "
                f"from {device.id} itself; {mm(limit)} is the maximum.",
                "Look its u, v and w over, or the device's outline and height.", value, limit, "mm", at,
            )  # fmt: skip


def _behind(scene: Scene, device: Device, place: DevicePortPlace) -> float | None:
    """How far a device's port lies behind the face of the board that carries it, mm; none in front and beside it."""
    board = next((board for board in scene.document.boards if board.id == device.held_by), None)
    if board is None or device.slot is not None:
        return None
    frame = scene.shapes.frames[board.id]
    u, v, w = (np.array([place.x, place.y, place.z]) - frame.origin) @ frame.axes
    width, depth = board_size(board)
    return float(-w) if w < -1e-6 and 0 < u < width and 0 < v < depth else None


@rules(
    Rule("slot-off-board", "fits", "A board's slots lie on the board", None, "mm",
         "What stands in a slot that is beside its board stands where nothing holds it.", PRACTICE),
    named=True, reads=("boards",),
)  # fmt: skip
def slots(scene: Scene) -> Iterator[Finding]:
    """Slots against the width of their boards."""
    for board in scene.document.boards:
        if not board.slots or board.first_slot_mm is None:
            continue
        last, width = board.first_slot_mm + (board.slots - 1) * board.slot_pitch_mm, board_size(board)[0]
        if last > width + 1e-9:
            area = scene.shapes.boards[board.id].polygon.representative_point()
            yield Finding(
                "slot-off-board", "warning", (board.id,), f"Slot {board.slots} of {board.id} is at {mm(last)} along u; "
                f"the board is {mm(width)} wide.", "Correct the number of slots, the first one's place or their pitch.",
                last, width, "mm", (area.x, area.y),
            )  # fmt: skip


@rules(
    Rule("hole-off-board", "fits", "A board's mounting holes lie on the board", 0.0, "mm",
         "A hole that is beside its board is where no screw holds it, and what follows it is in the wrong place.",
         PRACTICE),
    named=True, reads=("boards",),
)  # fmt: skip
def board_screws(scene: Scene) -> Iterator[Finding]:
    """Mounting holes that are typed in, against their board's sheet: the whole hole lies in it."""
    limit = scene.limit("hole-off-board")
    for board in scene.document.boards:
        width, depth = board_size(board)
        rows = [
            (min(hole.u_mm, width - hole.u_mm, hole.v_mm, depth - hole.v_mm) - hole.diameter_mm / 2, hole)
            for hole in board.holes
        ]
        off = sorted((row for row in rows if row[0] < limit - 1e-9), key=lambda row: row[0])
        if not off:
            continue
        value, hole = off[0]
        x, y, _ = scene.shapes.frames[board.id].place(hole.u_mm, hole.v_mm, 0.0)
        more = "" if len(off) == 1 else f" So are {len(off) - 1} more of its holes."
        yield Finding(
            "hole-off-board", "warning", (board.id,), f"The mounting hole {hole.id} of {board.id} reaches "
            f"{mm(-value)} over the edge of the board, which is {mm(width)} by {mm(depth)}.{more}",
            "Correct its u and v, or the board's width and depth.", value, limit, "mm", (float(x), float(y)),
        )  # fmt: skip


@rules(
    Rule("held-away", "fits", "What a thing holds is at it, or no farther off than a bracket", 40.0, "mm",
         "What is said to be held, and stands far from its holder, moves with it and is held by nothing.", PRACTICE),
    named=True, reads=("boards", "devices"),
)  # fmt: skip
def held(scene: Scene) -> Iterator[Finding]:
    """Boards and devices against what holds them, in space."""
    limit, document = scene.limit("held-away"), scene.document
    items = [item for item in (*document.boards, *document.devices) if item.held_by is not None]
    bodies = {body.id: body for body in bodies_of(scene).hardware} if items else {}
    for item in items:
        body, holder = bodies.get(item.id), bodies.get(item.held_by or "")
        if body is None or holder is None:
            continue
        if isinstance(item, Device) and (off := _off_its_chip(scene, item)) is not None:
            yield off
            continue
        between = known_gap(holder, body)
        if between.value > limit + 1e-9:
            yield Finding(
                "held-away", "warning", pair(item.id, holder.id), f"{item.id} is held by {holder.id} and stands "
                f"{mm(between.value)} away from it; {mm(limit)} is the maximum.",
                f"Correct its x, y and z, which count from {holder.id}; or the size of {holder.id}; or say that "
                "nothing holds it.", between.value, limit, "mm", between.line[1], between.line,
            )  # fmt: skip


def _off_its_chip(scene: Scene, block: Device) -> Finding | None:
    """A block that lies on a board: not far over its sheet, nor with its middle beside it; none for what does."""
    board = next((board for board in scene.document.boards if board.id == block.held_by), None)
    area = scene.shapes.devices.get(block.id)
    if block.kind != "block" or board is None or block.slot is not None or block.posture != "lying" or area is None:
        return None
    assert area.plan is not None
    frame, own = scene.shapes.frames[board.id], scene.shapes.frames[block.id]
    middle = own.place(*(area.plan.min(axis=0) + area.plan.max(axis=0)) / 2)
    u, v, _ = (middle - frame.origin) @ frame.axes
    width, depth = board_size(board)
    aside = math.hypot(max(-u, u - width, 0.0), max(-v, v - depth, 0.0))
    over, aside = block.z_mm, float(aside)
    if over <= LIFTED_MM and aside <= 1e-6:
        return None
    if aside > 1e-6:
        says, value, limit, what = f"'s middle is {mm(aside)} beside the sheet of {board.id}", aside, 0.0, "x and y"
    else:
        says, value, limit = (
            f" is {mm(over)} over the sheet of {board.id}; {mm(LIFTED_MM)} is the maximum",
            over,
            LIFTED_MM,
        )
        what = "z"
    return Finding(
        "held-away", "warning", pair(block.id, board.id), f"The block {block.id}{says}.",
        f"Correct its {what}, which count from {board.id}, or the size of {board.id}."
        if what != "z" else f"Correct its z, which counts from {board.id}.",
        value, limit, "mm", (float(middle[0]), float(middle[1])),
    )  # fmt: skip


@rules(
    Rule("floor-item-outside", "fits", "Obstacles and openings lie on the case floor", 20.0, "mm",
         "What was measured outside the floor was measured from another corner, or typed with a digit too many.",
         PRACTICE),
    reads=(),
)  # fmt: skip
def on_the_floor(scene: Scene) -> Iterator[Finding]:
    """Obstacles and openings against the floor's outline; what stands in the wall may reach a little beyond it."""
    floor, limit = sound(scene.shapes.floor_polygon), scene.limit("floor-item-outside")
    for kind, areas in (("obstacle", scene.shapes.obstacles), ("opening", scene.shapes.openings)):
        for id_, area in areas.items():
            value, place, outside = _beyond.of((area.polygon, scene.shapes.floor_polygon), None,
                                               partial(_far_beyond, area.polygon, floor))  # fmt: skip
            if outside or value > limit:
                says = "lies outside" if outside else f"reaches {mm(value)} beyond"
                yield Finding(
                    "floor-item-outside", "warning", (id_,), f"The {kind} {id_} {says} the case floor; {mm(limit)} "
                    "beyond it is the maximum.", "Correct its place or its size, or the floor's outline.", value,
                    limit, "mm", place,
                )  # fmt: skip


_beyond: Remembered[tuple[float, Point, bool]] = Remembered()


def _far_beyond(area: Geometry, floor: Geometry) -> tuple[float, Point, bool]:
    """How far an outline reaches beyond the floor, mm, where, and whether it lies outside it altogether."""
    rows = shapely.get_coordinates(area)
    away = np.asarray(shapely.distance(shapely.points(rows), floor))
    far = int(np.argmax(away))
    return float(away[far]), (float(rows[far][0]), float(rows[far][1])), not bool(shapely.intersects(floor, area))


@rules(
    Rule("keep-out-idle", "fits", "Keep-outs lie on the plate", None, "",
         "A keep-out beside the plate keeps nothing out, and what it was drawn for stays open.", PRACTICE),
    named=True, reads=("keep_outs",),
)  # fmt: skip
def keep_outs(scene: Scene) -> Iterator[Finding]:
    """Keep-outs against the plate's outline."""
    plate = sound(scene.shapes.plate_polygon)
    for id_, area in scene.shapes.keep_outs.items():
        if not shapely.intersects(plate, area.polygon):
            place = area.polygon.representative_point()
            yield Finding(
                "keep-out-idle", "note", (id_,), f"The keep-out {id_} lies beside the plate and keeps nothing out.",
                "Correct its place or its size, or delete it.", at=(place.x, place.y),
            )  # fmt: skip


@rules(
    Rule("tube-wall", "fits", "A tube is thicker outside than inside", None, "mm",
         "Fittings, clearances and bends go by the outer diameter, losses by the inner one.", PRACTICE),
    reads=(),
)  # fmt: skip
def the_tube(scene: Scene) -> Iterator[Finding]:
    """The loop's two diameters, where no size of the table gives them."""
    loop = scene.document.loop
    value = (loop.tube_outer_diameter_mm - loop.tube_inner_diameter_mm) / 2
    if loop.tube_size is None and value <= 0:
        yield Finding(
            "tube-wall", "error", (), f"The tubes are {mm(loop.tube_outer_diameter_mm)} outside and "
            f"{mm(loop.tube_inner_diameter_mm)} inside: they have no wall.", "Correct one of the two diameters.",
            value, 0.0, "mm",
        )  # fmt: skip


@rules(
    Rule("curve-turns", "flows", "Measured curves go one way", None, "",
         "A pump gives less with more flow, a device loses more and cools more; a point out of line is a slip.",
         PRACTICE),
    reads=("boards", "devices"),
)  # fmt: skip
def curves(scene: Scene) -> Iterator[Finding]:
    """Points of curves that turn back by more than readings scatter."""
    for device in scene.document.devices:
        for what, rows, unit in _curves_of(device):
            falls = device.kind == "pump" and what == "pressure"
            turn = _turned(rows, falls)
            if turn is None:
                continue
            (flow, before), (far, after) = turn
            yield Finding(
                "curve-turns", "warning", (device.id,), f"The {what} of {device.id} "
                f"{'rises' if falls else 'falls'} from {before:g} to {after:g} {unit} between {flow:g} and {far:g} "
                "l/min.", "Look these two points over, and their units.", at=scene.place(device.id),
            )  # fmt: skip


_Rows = Sequence[tuple[float, float]]


def _curves_of(device: Device) -> Iterator[tuple[str, _Rows, str]]:
    yield "pressure", sorted((point.flow_l_min, point.pressure_kpa) for point in device.curve), "kPa"
    yield "conductance", sorted((point.flow_l_min, point.conductance_w_k) for point in device.conductance), "W/K"


def _turned(rows: _Rows, falls: bool) -> tuple[tuple[float, float], tuple[float, float]] | None:
    """The two neighbours between which a curve turns back most, by their own size; none where it hardly does."""
    sign = 1.0 if falls else -1.0
    steps = [
        (sign * (after[1] - before[1]) / max(before[1], after[1], 1e-9), before, after)
        for before, after in itertools.pairwise(rows)
        if after[0] > before[0]
    ]
    worst = max(steps, key=lambda step: step[0], default=None)
    return None if worst is None or worst[0] <= HUMP else (worst[1], worst[2])
