"""Random realistic plates: 6 to 12 ports, 3 to 6 channels, 1 to 3 cutouts, coolant a distance clear of everything.

All from a seed, so that a plate that fails can be looked at again.
"""

from __future__ import annotations

import itertools
import math
import random
from typing import Any

from shapely.geometry import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document, from_plain

#: How far coolant is kept from other coolant, cutouts, holes and the edge, mm.
CLEARANCES_MM = (5, 7, 9, 12)
EACH = 55


def random_plate(seed: int, clear_mm: float) -> Document:
    """One plate."""
    rng = random.Random(f"{seed}/{clear_mm}")
    while True:
        found = _tried(rng, clear_mm)
        if found is not None:
            return found


def _tried(rng: random.Random, clear: float) -> Document | None:
    width, depth = rng.randrange(240, 341, 10), rng.randrange(180, 261, 10)
    edge = box(0, 0, width, depth).exterior
    dry: list[BaseGeometry] = [edge]
    cutouts = []
    for index in range(rng.randint(1, 3)):
        w, d = rng.randrange(14, 45, 2), rng.randrange(12, 31, 2)
        x, y = rng.uniform(20 + w / 2, width - 20 - w / 2), rng.uniform(20 + d / 2, depth - 20 - d / 2)
        dry.append(box(x - w / 2, y - d / 2, x + w / 2, y + d / 2))
        outline = {"shape": "rectangle", "x_mm": round(x, 1), "y_mm": round(y, 1), "width_mm": w, "depth_mm": d}
        cutouts.append({"id": f"K{index + 1}", "outline": {**outline, "corner_radius_mm": 3}})
    holes = []
    for index, (x, y) in enumerate(((8, 8), (width - 8, 8), (width - 8, depth - 8), (8, depth - 8))):
        dry.append(Point(x, y).buffer(2.25))
        holes.append({"id": f"H{index + 1}", "x_mm": x, "y_mm": y})
    ports: list[dict[str, Any]] = []
    channels: list[dict[str, Any]] = []
    wet: list[BaseGeometry] = []
    for index in range(rng.randint(3, 6)):
        placed = _channel(rng, (width, depth), clear, dry, wet)
        if placed is None:
            continue
        points, shape, wide = placed
        wet.append(shape)
        ends = [f"P{len(ports) + 1}", f"P{len(ports) + 2}"]
        ports += [
            {"id": name, "x_mm": round(x, 2), "y_mm": round(y, 2), "thread_depth_mm": 9}
            for name, (x, y) in zip(ends, (points[0], points[-1]), strict=True)
        ]
        inner = [{"x_mm": round(x, 2), "y_mm": round(y, 2)} for x, y in points[1:-1]]
        channels.append(
            {"id": f"C{index + 1}", "start": ends[0], "end": ends[1], "points": inner, "width_mm": wide, "depth_mm": 9}
        )
    if len(channels) < 3:
        return None
    outline = {"shape": "rectangle", "x_mm": width / 2, "y_mm": depth / 2, "width_mm": width, "depth_mm": depth}
    floor = {"shape": "rectangle", "x_mm": width / 2, "y_mm": depth / 2, "width_mm": width + 60, "depth_mm": depth + 60}
    return from_plain(
        {
            "version": 1,
            "floor": {"outline": floor},
            "plate": {"outline": outline, "body_thickness_mm": 20, "lid_thickness_mm": 8, "z_mm": 8, "annealed": True},
            "ports": ports,
            "channels": channels,
            "cutouts": cutouts,
            "holes": holes,
            "seal": {"hardness_shore_a": 50},
        }
    )


def _channel(
    rng: random.Random, size: tuple[float, float], clear: float, dry: list[BaseGeometry], wet: list[BaseGeometry]
) -> tuple[list[tuple[float, float]], BaseGeometry, float] | None:
    """A channel of one to three straight runs between two ports, clear of all there is; none after many tries."""
    wide = rng.choice([8.0, 9.0, 10.0])
    for _ in range(60):
        at = (rng.uniform(25, size[0] - 25), rng.uniform(25, size[1] - 25))
        points = [at]
        across = rng.random() < 0.5
        for _ in range(rng.randint(1, 3)):
            x, y = points[-1]
            points.append((rng.uniform(25, size[0] - 25), y) if across else (x, rng.uniform(25, size[1] - 25)))
            across = not across
        runs = [math.dist(a, b) for a, b in itertools.pairwise(points)]
        line = LineString(points)
        if min(runs) < 30 or not 50 <= line.length <= 260:
            continue
        # A port's thread, 13.2 mm, counts as coolant too.
        ends = [Point(points[0]).buffer(6.6), Point(points[-1]).buffer(6.6)]
        shape = line.buffer(wide / 2).union(ends[0]).union(ends[1])
        if all(shape.distance(other) >= clear for other in (*dry, *wet)):
            return points, shape, wide
    return None
