"""Random lids: outline with notches, openings, channels, grooves, screws; all from a seed."""

from __future__ import annotations

import math
import random
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry import LineString, Polygon, box
from shapely.ops import unary_union


@dataclass(frozen=True)
class RandomLid:
    """One lid with its loads; figures in mm, N, MPa."""

    lid: Polygon
    sealed: shapely.Geometry
    screws: np.ndarray
    thickness: float
    pressure: float
    cord: float
    groove: float = 2.8
    head: float = 7.0


#: From the groove's centreline to an opening, mm: half a groove and a wall, and some room.
_OPENING_CLEAR_MM = 4.0


def many_openings(seed: int) -> RandomLid:
    """A lid with three to six openings in it, some of them close beside the groove."""
    return random_lid(seed, openings=True)


def _opened(rng: random.Random, lid: Polygon, sealed: shapely.Geometry) -> Polygon | None:
    """The lid with three to six openings; none where there is no room for three. They leave 10 mm of lid between."""
    x0, y0, x1, y1 = lid.bounds
    wished, inner, cut = rng.randint(3, 6), lid.buffer(-6), []
    for _ in range(80):
        x, y = 2.5 * rng.randrange(int(x0 / 2.5), int(x1 / 2.5)), 2.5 * rng.randrange(int(y0 / 2.5), int(y1 / 2.5))
        hole = box(x, y, x + 2.5 * rng.randint(2, 12), y + 2.5 * rng.randint(2, 8))
        clear = all(hole.distance(other) >= 10 for other in cut)
        if clear and inner.contains(hole) and hole.distance(sealed) >= _OPENING_CLEAR_MM:
            cut.append(hole)
        if len(cut) == wished:
            break
    return lid.difference(unary_union(cut)) if len(cut) >= 3 else None


def random_lid(seed: int, *, openings: bool = False) -> RandomLid:
    """A lid of one to three channels; corners of the outline and of openings lie on a 2.5 mm raster."""
    rng = random.Random(f"{seed}/openings" if openings else seed)
    while True:
        width, depth = rng.randrange(100, 221, 10), rng.randrange(80, 141, 10)
        lid = box(0, 0, width, depth)
        channels = []
        for _ in range(rng.randint(1, 3)):
            points = [(rng.uniform(22, width - 22), rng.uniform(22, depth - 22))]
            for _ in range(rng.randint(1, 3)):
                x, y = points[-1]
                points.append(
                    (rng.uniform(22, width - 22), y) if rng.random() < 0.5 else (x, rng.uniform(22, depth - 22))
                )
            line = LineString(points)
            if line.length > 30:
                channels.append(line.buffer(rng.uniform(4, 9)))
        if rng.random() < 0.3:
            x, y = rng.uniform(25, width - 60), rng.uniform(25, depth - 50)
            channels.append(box(x, y, x + rng.uniform(20, 35), y + rng.uniform(15, 25)))
        if not channels:
            continue
        wet = unary_union(channels)
        sealed = wet.buffer(3.4 + 6).buffer(-6)
        sealed = unary_union([Polygon(p.exterior) if p.area < 1 else p for p in shapely.get_parts(sealed)])
        for _ in range(rng.randint(0, 2)):
            x, y = 2.5 * rng.randrange(2, int(width / 2.5) - 8), 2.5 * rng.randrange(2, int(depth / 2.5) - 8)
            hole = box(x, y, x + rng.choice([10, 15, 20]), y + rng.choice([10, 15, 20]))
            if hole.distance(sealed) > 12 and box(4, 4, width - 4, depth - 4).contains(hole):
                lid = lid.difference(hole)
        if rng.random() < 0.4:
            notch = box(width - 2.5 * rng.randrange(4, 12), depth - 2.5 * rng.randrange(4, 12), width, depth)
            if notch.distance(sealed) > 12:
                lid = lid.difference(notch)
        if openings:
            opened = _opened(rng, lid, sealed)
            if opened is None:
                continue
            lid = opened
        pitch = rng.uniform(22, 45)
        screws: list[tuple[float, float]] = []
        for ring in shapely.get_rings(shapely.get_parts(sealed.buffer(5.7 + rng.uniform(0, 1.0)))):
            count = max(3, math.ceil(ring.length / pitch))
            for k in range(count):
                p = ring.interpolate(k / count, normalized=True)
                clear = all(math.dist(other, (p.x, p.y)) > 9 for other in screws)
                if clear and lid.buffer(-5).contains(p) and not sealed.buffer(5.0).contains(p):
                    screws.append((p.x, p.y))
        if len(screws) >= 4:
            return RandomLid(
                lid,
                sealed,
                np.array(screws),
                rng.choice([5.0, 6.0, 8.0]),
                rng.choice([0.03, 0.06, 0.1]),
                rng.uniform(0.5, 5),
            )
