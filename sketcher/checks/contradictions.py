"""Figures of one thing that contradict each other: what a slip of a key makes, and nothing else would tell.

A place that is ten times too far, a curve that turns back, a tube that is thicker inside than outside: each may be
what somebody means, and hardly ever is.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence

import shapely

from sketcher.checks.plate_solid import sound
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document.hardware import Device
from sketcher.findings import PRACTICE, Finding, Rule, mm
from sketcher.geometry.placement import board_size

#: A curve may turn back by this share of itself: pumps have a hump at little flow, and readings scatter. Common
#: practice, no source.
HUMP = 0.15


@rules(
    Rule("device-port-away", "fits", "A device's port lies on its device, or no farther off than a fitting", 40.0, "mm",
         "A port that is typed in with a digit too many takes its tube to where nothing is.", PRACTICE),
    named=True, reads=("devices",),
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
            aside = float(shapely.distance(plan, shapely.Point(port.u_mm, port.v_mm)))
            above = max(-port.w_mm, port.w_mm - device.height_mm, 0.0)
            value = math.hypot(aside, above)
            if value <= limit + 1e-9:
                continue
            place = scene.shapes.device_ports.get(f"{device.id}.{port.id}")
            yield Finding(
                "device-port-away", "warning", (device.id,), f"The port {port.id} of {device.id} is {mm(value)} away "
                f"from {device.id} itself; {mm(limit)} is the maximum.",
                "Look its u, v and w over, or the device's outline and height.", value, limit, "mm",
                None if place is None else (place.x, place.y),
            )  # fmt: skip


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
    Rule("floor-item-outside", "fits", "Obstacles and openings lie on the case floor", None, "",
         "What was measured outside the floor was measured from another corner, or typed with a digit too many.",
         PRACTICE),
    reads=(),
)  # fmt: skip
def on_the_floor(scene: Scene) -> Iterator[Finding]:
    """Obstacles and openings against the floor's outline."""
    floor = sound(scene.shapes.floor_polygon)
    for kind, areas in (("obstacle", scene.shapes.obstacles), ("opening", scene.shapes.openings)):
        for id_, area in areas.items():
            if not shapely.intersects(floor, area.polygon):
                place = area.polygon.representative_point()
                yield Finding(
                    "floor-item-outside", "warning", (id_,), f"The {kind} {id_} lies outside the case floor.",
                    "Correct its place, or the floor's outline.", at=(place.x, place.y),
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
    reads=(),
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
                "l/min.", "Look these two points over, and their units.",
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
