"""Sizes that hardly any machine has: a decimal point lost, or a unit mixed up, where no other rule would tell.

Each is a note that asks, with the bound of what is usual. Bounds are wide, and common practice without a source: what
cases, boards, fans and loops for computers are made in. A limit in the document moves the upper one.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document.hardware import Device
from sketcher.findings import PRACTICE, Finding, Point, Rule, all_rules, mm
from sketcher.geometry.placement import board_size

#: Less than this is asked about, mm: a floor across, a fan's frame, the parts of a mainboard.
FLOOR_MM, FAN_MM, PARTS_MM = 70.0, 20.0, 8.0
#: The shorter side of a board, mm.
BOARD_MM = {"mainboard": 25.0, "card": 15.0, "riser": 5.0}
#: The parts of a riser are no higher, mm: it is a board for a card's slot.
RISER_MM = 60.0
#: A block that gives off less heat needs no coolant, W.
HEAT_W = 1.0
#: A fitting with its straight tube is no shorter, a wall beside the groove no thinner, mm.
STRAIGHT_MM, GROOVE_WALL_MM = 8.0, 0.8
#: A limit in a document may be so many times the usual one, or such a part of it.
LIMIT_TIMES = 5.0
#: An obstacle narrower than this both ways, or less high, mm.
THIN_MM, LOW_MM = 1.5, 0.5


def _asked(
    rule: str, item: str | None, what: str, value: float, least: float, most: float, unit: str, at: Point | None
) -> Iterator[Finding]:
    """A note where a value is outside its usual range; ``what`` is the sentence up to the value."""
    if least - 1e-9 <= value <= most + 1e-9:
        return
    limit, word = (most, "less") if value > most else (least, "more")
    shown, bound = (mm(value), mm(limit)) if unit == "mm" else (f"{value:.6g} {unit}", f"{limit:g} {unit}")
    yield Finding(
        rule, "note", () if item is None else (item,), f"{what} {shown}; {bound} or {word} is usual.",
        "Look it over: was a decimal point lost, or a unit mixed up? Accept this when it is right.", value, limit, unit,
        at,
    )  # fmt: skip


@rules(
    Rule("case-size", "fits", "The case floor is as large as those of cases", 1500.0, "mm",
         "On a floor in the wrong unit everything has room.", PRACTICE),
    Rule("case-height", "fits", "The case's clear height is one that cases have", 1000.0, "mm",
         "Under a ceiling ten times too high everything has room.", PRACTICE),
    Rule("obstacle-size", "fits", "Obstacles are things that stand on a floor", 1000.0, "mm",
         "What is drawn ten times too small is in nobody's way.", PRACTICE),
    reads=(),
)  # fmt: skip
def the_case(scene: Scene) -> Iterator[Finding]:
    """Floor, ceiling and obstacles."""
    left, front, right, rear = shapely.bounds(scene.shapes.floor_polygon).tolist()
    at, size = ((left + right) / 2, (front + rear) / 2), scene.limit("case-size")
    wide, deep = right - left, rear - front
    what, value = max((("wide", wide), ("deep", deep)), key=lambda side: abs(math.log(side[1] / 300)))
    yield from _asked("case-size", None, f"The case floor is {what} by", value, FLOOR_MM, size, "mm", at)
    clear = scene.document.floor.clear_height_mm
    if clear is not None:
        yield from _asked("case-height", None, "The clear height of the case is", clear, 0.0,
                          scene.limit("case-height"), "mm", at)  # fmt: skip
    most = scene.limit("obstacle-size")
    for id_, area in scene.shapes.obstacles.items():
        x0, y0, x1, y1 = shapely.bounds(area.polygon).tolist()
        middle, high = ((x0 + x1) / 2, (y0 + y1) / 2), area.high - area.low
        across = max(x1 - x0, y1 - y0)
        if not THIN_MM <= across <= most:
            yield from _asked("obstacle-size", id_, f"Across {id_} measures", across, THIN_MM, most, "mm", middle)
        else:
            yield from _asked("obstacle-size", id_, f"The height of {id_} is", high, LOW_MM, most, "mm", middle)


@rules(
    Rule("board-size", "fits", "Boards and their parts are as large as boards are", 200.0, "mm",
         "A board or its parts ten times too small are in nobody's way.", PRACTICE),
    named=True, reads=("boards",),
)  # fmt: skip
def boards(scene: Scene) -> Iterator[Finding]:
    """The shorter side of boards, and the height of their parts."""
    for board in scene.document.boards:
        at, side = scene.place(board.id), min(board_size(board))
        if side < BOARD_MM[board.role]:
            yield from _asked("board-size", board.id, f"The shorter side of the {board.role} {board.id} is", side,
                              BOARD_MM[board.role], math.inf, "mm", at)  # fmt: skip
        elif board.parts_height_mm > 0:
            least = PARTS_MM if board.role == "mainboard" else 0.0
            most = RISER_MM if board.role == "riser" else scene.limit("board-size")
            yield from _asked("board-size", board.id, f"The tallest part of the {board.role} {board.id} is",
                              board.parts_height_mm, least, most, "mm", at)  # fmt: skip


@rules(
    Rule("fan-size", "fits", "Fans have frames of a usual size", 250.0, "mm",
         "Fans are counted and bought by their frame: 40 to 200 mm.", PRACTICE),
    Rule("fan-count", "fits", "Fans have room on both sides of what carries them", 150.0, "%",
         "A number of fans with a digit too many.", PRACTICE),
    Rule("block-height", "fits", "Blocks are as high as blocks are", 100.0, "mm",
         "A block that is ten times too high leaves no room to anything over it, or is no block.", PRACTICE),
    Rule("pump-heat", "flows", "Pumps warm the coolant as pumps do", 80.0, "W",
         "What a pump takes is what it heats; ten times that is a heater.", PRACTICE),
    Rule("block-heat", "flows", "Blocks give off heat as chips do", 2000.0, "W",
         "A heat in kilowatts, or with the decimal point lost, makes every temperature of the loop wrong.", PRACTICE),
    Rule("curve-far", "flows", "Curves end at flows that loops have", 30.0, "l/min",
         "Points in litres per hour, or with a digit too many, stretch a curve over flows that nobody measured.",
         PRACTICE),
    reads=("boards", "devices"),
)  # fmt: skip
def devices(scene: Scene) -> Iterator[Finding]:
    """Fans, blocks, pumps and the ends of curves."""
    for device in scene.document.devices:
        at = scene.place(device.id)
        if device.fan_size_mm is not None and (device.fans or device.kind == "fan"):
            yield from _asked("fan-size", device.id, f"The fans of {device.id} have a frame of", device.fan_size_mm,
                              FAN_MM, scene.limit("fan-size"), "mm", at)  # fmt: skip
            yield from _too_many(scene, device, at)
            yield from _fan_in_its_body(scene, device, at)
        if device.kind == "block":
            yield from _asked("block-height", device.id, f"The block {device.id} has a height of", device.height_mm,
                              0.0, scene.limit("block-height"), "mm", at)  # fmt: skip
            if device.heat_w > 0:
                yield from _asked("block-heat", device.id, f"The block {device.id} is said to heat with",
                                  device.heat_w, HEAT_W, scene.limit("block-heat"), "W", at)  # fmt: skip
        if device.kind == "pump":
            yield from _asked("pump-heat", device.id, f"The pump {device.id} is said to heat with", device.heat_w,
                              0.0, scene.limit("pump-heat"), "W", at)  # fmt: skip
        flows = [p.flow_l_min for p in device.curve] + [p.flow_l_min for p in device.conductance]
        yield from _asked("curve-far", device.id, f"A curve of {device.id} goes on to", max(flows, default=0.0), 0.0,
                          scene.limit("curve-far"), "l/min", at)  # fmt: skip


def _fan_in_its_body(scene: Scene, device: Device, at: Point | None) -> Iterator[Finding]:
    """The frame of a fan of its own against what it is drawn as."""
    area = scene.shapes.devices.get(device.id)
    size = device.fan_size_mm or 0.0
    if device.kind == "fan" and area is not None and area.plan is not None and size <= scene.limit("fan-size"):
        largest = max(*np.ptp(area.plan, axis=0).tolist(), device.height_mm)
        yield from _asked("fan-size", device.id, f"{device.id} is drawn {mm(largest)} large, and its frame is", size,
                          FAN_MM, max(1.25 * largest, FAN_MM), "mm", at)  # fmt: skip


def _too_many(scene: Scene, device: Device, at: Point | None) -> Iterator[Finding]:
    """Fans of a usual size against the largest face of a radiator: they stand on two sides, and may reach over."""
    area = scene.shapes.devices.get(device.id)
    size = device.fan_size_mm or 0.0
    if device.kind != "radiator" or area is None or area.plan is None or not FAN_MM <= size <= scene.limit("fan-size"):
        return
    (left, front), (right, rear) = area.plan.min(axis=0), area.plan.max(axis=0)
    *_, second, first = sorted((float(right - left), float(rear - front), device.height_mm))
    if second <= 0:
        return
    share = 100 * device.fans * size**2 / (2 * first * second)
    yield from _asked("fan-count", device.id, f"The {device.fans} fans of {device.id} take, of its two faces,", share,
                      0.0, scene.limit("fan-count"), "%", at)  # fmt: skip


@rules(
    Rule("tube-length", "flows", "A tube's length goes with where its ends are", 400.0, "mm",
         "A length with a digit too many counts as loss and as coolant that nobody fills in.", PRACTICE),
    reads=("devices", "boards"),
)  # fmt: skip
def tubes(scene: Scene) -> Iterator[Finding]:
    """Lengths that are typed in against the straight way between the two ports."""
    slack, places = scene.limit("tube-length"), scene.shapes.device_ports
    for tube in scene.document.loop.tubes:
        one, other = places.get(tube.start), places.get(tube.end)
        if tube.length_mm is None or one is None or other is None:
            continue
        straight = math.dist((one.x, one.y, one.z), (other.x, other.y, other.z))
        yield from _asked("tube-length", tube.id, f"{tube.id} goes to a port {mm(straight)} away and has a length of",
                          tube.length_mm, 0.0, 3 * straight + slack, "mm", (one.x, one.y))  # fmt: skip


@rules(
    Rule("recess-slight", "made", "A pocket is deeper than a scratch", 0.5, "mm",
         "A pocket less deep than the sheet's own unevenness holds nothing.", PRACTICE),
    named=True, reads=("pockets",),
)  # fmt: skip
def pockets(scene: Scene) -> Iterator[Finding]:
    """The depth of pockets."""
    for pocket in scene.document.pockets:
        spot = scene.shapes.pockets[pocket.id].polygon.representative_point()
        yield from _asked("recess-slight", pocket.id, f"The pocket {pocket.id} has a depth of", pocket.depth_mm,
                          scene.limit("recess-slight"), math.inf, "mm", (spot.x, spot.y))  # fmt: skip


@rules(
    Rule("fitting-straight", "fits", "Fitting and straight tube over a port are as long as they are made", 120.0, "mm",
         "What stands over the ports is held against this length.", PRACTICE),
    Rule("groove-wall", "holds", "The wall beside the groove is one that is cut", 15.0, "mm",
         "The groove is laid out with this wall, and no other rule asks for more.", PRACTICE),
    Rule("limit-far", "made", "Limits in the document are not far from the usual ones", LIMIT_TIMES, "",
         "A limit with its decimal point lost lets through what the rule is there for.", PRACTICE),
    reads=(),
)  # fmt: skip
def settings(scene: Scene) -> Iterator[Finding]:
    """Figures that the rules themselves go by."""
    document, known = scene.document, {rule.name: rule.limit for rule in all_rules() if rule.limit}
    if any(port.serves is not None for port in document.ports):
        yield from _asked("fitting-straight", None, "Fitting and straight tube over a port are said to take",
                          document.loop.fitting_straight_mm, STRAIGHT_MM, scene.limit("fitting-straight"), "mm",
                          None)  # fmt: skip
    if document.channels and document.seal.kind == "cord":
        yield from _asked("groove-wall", None, "The seal's wall beside the groove is", document.seal.wall_mm,
                          GROOVE_WALL_MM, scene.limit("groove-wall"), "mm", None)  # fmt: skip
    most = document.limits.get("limit-far", LIMIT_TIMES)
    for name, limit in sorted(document.limits.items()):
        usual = known.get(name, 0.0)
        if usual <= 0 or name == "limit-far" or usual / most - 1e-9 <= limit <= usual * most + 1e-9:
            continue
        yield Finding(
            "limit-far", "note", (name,), f"The limit of {name} is set to {limit:g}; the usual one is {usual:g}.",
            "Look it over: was a decimal point lost? Accept this when it is right.", limit, usual,
        )  # fmt: skip


#: Settings by the name of their key, what they are called, and least and most, in their unit: a cord is made to
#: ± 0.08 mm at 2 mm (ISO 3601-1), a groove is milled to a hundredth at best; the rest is common practice, no source.
SETTINGS: tuple[tuple[str, str, str, float, float], ...] = (
    ("seal.cord_tolerance_mm", "The cord is said to keep its size within", "mm", 0.03, 0.5),
    ("seal.depth_tolerance_mm", "The groove's depth is said to be kept within", "mm", 0.01, 0.3),
    ("seal.insert_pull_n", "A threaded insert is said to hold", "N", 30.0, 5000.0),
    ("shop.tolerance_mm", "The shop is said to keep sizes within", "mm", 0.02, 1.0),
    ("shop.deepest_by_diameter", "Cutters are said to reach down, in diameters,", "", 0.5, 10.0),
    ("shop.least_wall_mm", "The shop's thinnest wall is said to be", "mm", 0.5, 10.0),
    ("spreads.least_chance_percent", "The chance asked for is", "%", 50.0, 100.0),
    ("spreads.landing_offset_mm", "Tubes are said to land when they are off by", "mm", 0.0, 3.0),
    ("spreads.landing_angle_deg", "Tubes are said to land when they lean by", "°", 0.0, 8.0),
)


@rules(
    Rule("setting-unlikely", "made", "Tolerances and reach that the rules go by are ones that are kept", None, "",
         "A tolerance with a digit lost makes the worst case look as good as the drawing.",
         "cord: ISO 3601-1; the rest: " + PRACTICE),
    reads=(),
)  # fmt: skip
def tolerances(scene: Scene) -> Iterator[Finding]:
    """Tolerances of seal and shop, and the spreads behind every chance."""
    document = scene.document
    if not (document.channels or document.ports):
        return
    for name, what, unit, least, most in SETTINGS:
        part, key = name.split(".")
        if part == "seal" and (document.seal.kind != "cord" or not document.channels):
            continue
        value = getattr(getattr(document, part), key)
        if value is not None and value > 0:
            yield from _asked("setting-unlikely", name, what, float(value), least, most, unit, None)
