"""Random plates that can be solved: a hidden solution is drawn first, judged by the rules, then taken away."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass
from typing import Any

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document, from_plain
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.geometry.path import fillet
from sketcher.proposing.judging import Judged, judge
from sketcher.proposing.writing import design_in, drilled
from tests.checks.plates import rectangle

WIDTH_MM, DEPTH_MM, RADIUS_MM = 8.0, 8.0, 10.0
#: The lid's thread, which is the plate's own: the hidden solution's lid holds with it.
SCREW = "M5"


@dataclass(frozen=True)
class Puzzle:
    """A plate without channels, and the hidden solution it was made from."""

    document: Document
    hidden: Judged


def puzzle(seed: int, room_mm: float = 9.0, channels: tuple[int, int] = (3, 6)) -> Puzzle:
    """A plate with 6 to 12 ports and 1 to 3 cutouts, whose hidden channels keep ``room_mm`` from everything."""
    chance = random.Random(seed)
    while True:
        made = _attempt(chance, room_mm, chance.randint(*channels))
        if made is not None:
            return made


def _attempt(chance: random.Random, room: float, count: int) -> Puzzle | None:
    width, depth = chance.randint(240, 420), chance.randint(200, 320)
    left, front = 30.0, 30.0
    plate = shapely.box(left, front, left + width, front + depth)
    inner = plate.buffer(-(room + 8 + WIDTH_MM / 2))
    lines: list[LineString] = []
    drawn: list[list[tuple[float, float]]] = []
    for _ in range(400):
        if len(drawn) == count:
            break
        corners = _walk(chance, inner.bounds)
        path, bends = fillet(corners, [0.0, *[RADIUS_MM] * (len(corners) - 2), 0.0])
        if not all(bend.fits for bend in bends):
            continue
        line = LineString(path.points())
        ends = [shapely.Point(corners[0]), shapely.Point(corners[-1])]
        apart = WIDTH_MM + room
        if not inner.covers(line) or not _clear_of_itself(line, apart):
            continue
        if any(line.distance(other) < apart for other in lines):
            continue
        others = [shapely.Point(c[k]) for c in drawn for k in (0, -1)]
        # Fittings of 20 mm with a hand between them, and a bore of 12 mm beside every channel.
        if any(a.distance(b) < 30 for a in ends for b in [*others, *(e for e in ends if e is not a)]):
            continue
        if any(a.distance(other) < room + 6 + WIDTH_MM / 2 + 2 for a in ends for other in lines):
            continue
        if any(point.distance(line) < room + 6 + WIDTH_MM / 2 + 2 for point in others):
            continue
        lines.append(line)
        drawn.append(corners)
    if len(drawn) < count:
        return None
    wet = shapely.union_all([line.buffer(WIDTH_MM / 2) for line in lines])
    ends = shapely.MultiPoint([c[k] for c in drawn for k in (0, -1)]).buffer(7)
    cutouts = _cutouts(chance, plate, wet.union(ends), room)
    return _judged(left, front, width, depth, drawn, cutouts)


def _walk(chance: random.Random, bounds: tuple[float, float, float, float]) -> list[tuple[float, float]]:
    """A course of one to five legs, each along x, along y or at 45°."""
    left, front, right, rear = bounds
    heading = chance.randrange(8)
    place = (chance.uniform(left, right), chance.uniform(front, rear))
    corners = [(round(place[0], 1), round(place[1], 1))]
    for _ in range(chance.randint(1, 5)):
        length = chance.uniform(30, 160)
        place = (
            place[0] + length * math.cos(heading * math.pi / 4),
            place[1] + length * math.sin(heading * math.pi / 4),
        )
        corners.append((round(place[0], 1), round(place[1], 1)))
        heading = (heading + chance.choice((-2, -1, 1, 2))) % 8
    return corners


def _clear_of_itself(line: LineString, apart: float) -> bool:
    """Whether no two places of the line far apart along it are near each other."""
    count = max(int(line.length / 4), 2)
    steps = [line.interpolate(k / (count - 1), normalized=True) for k in range(count)]
    step = line.length / (count - 1)
    return all(
        steps[a].distance(steps[b]) >= apart
        for a in range(count)
        for b in range(a + 1, count)
        if (b - a) * step > math.pi / 2 * apart
    )


def _cutouts(chance: random.Random, plate: BaseGeometry, wet: BaseGeometry, room: float) -> list[dict[str, Any]]:
    found: list[dict[str, Any]] = []
    taken: list[BaseGeometry] = []
    left, front, right, rear = plate.bounds
    wanted = chance.randint(1, 3)
    for _ in range(300):
        if len(found) == wanted:
            break
        width, depth = chance.uniform(12, 50), chance.uniform(12, 50)
        x, y = chance.uniform(left, right), chance.uniform(front, rear)
        box = shapely.box(x - width / 2, y - depth / 2, x + width / 2, y + depth / 2)
        if not plate.buffer(-8).covers(box) or wet.distance(box) < room or any(box.distance(o) < 8 for o in taken):
            continue
        taken.append(box)
        outline = rectangle(round(x, 1), round(y, 1), round(width, 1), round(depth, 1), 4)
        found.append({"id": f"K{len(found) + 1}", "outline": outline})
    return found


def _judged(
    left: float,
    front: float,
    width: float,
    depth: float,
    drawn: list[list[tuple[float, float]]],
    cutouts: list[dict[str, Any]],
) -> Puzzle | None:
    ports, channels, connections = [], [], []
    for k, corners in enumerate(drawn):
        one, other = f"P{2 * k + 1}", f"P{2 * k + 2}"
        ports += [
            {"id": one, "x_mm": corners[0][0], "y_mm": corners[0][1]},
            {"id": other, "x_mm": corners[-1][0], "y_mm": corners[-1][1]},
        ]
        connections.append([one, other])
        channels.append(
            {
                "id": f"C{k + 1}",
                "start": one,
                "end": other,
                "points": [{"x_mm": x, "y_mm": y} for x, y in corners[1:-1]],
                "width_mm": WIDTH_MM,
                "depth_mm": DEPTH_MM,
                "bend_radius_mm": RADIUS_MM,
            }
        )
    plain: dict[str, Any] = {
        "floor": {"outline": rectangle(left + width / 2, front + depth / 2, width + 60, depth + 60)},
        "plate": {
            "outline": rectangle(left + width / 2, front + depth / 2, width, depth, 6),
            "body_thickness_mm": 20,
            "lid_thickness_mm": 10,
            "z_mm": 10,
        },
        "ports": ports,
        "cutouts": cutouts,
        "loop": {"connections": connections},
        "seal": {"screw": SCREW},
    }
    drawn_in = from_plain({**plain, "channels": channels})
    limits = limits_of(drawn_in)
    if any(error.rule.startswith("wall-") for error in judge(drawn_in, quick=True).errors):
        return None  # designing screws takes longest
    hidden = judge(drilled(drawn_in, design_in(drawn_in, build(drawn_in), limits, SCREW, "apart")))
    return Puzzle(from_plain(plain), hidden) if hidden.good else None
