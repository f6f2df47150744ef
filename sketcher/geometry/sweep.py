"""What a round cutter leaves when it runs along a path: lines and arcs, also where the path crosses itself."""

from __future__ import annotations

import contextlib
import math

import numpy as np
from shapely import Polygon

from sketcher.geometry.offset import OffsetError, sides
from sketcher.geometry.path import SAME_MM, Path, Segment, circle, from_vertices
from sketcher.geometry.regions import Region, union

_CHECK_MM = 1e-3


def swept(path: Path, width: float) -> tuple[Region, ...]:
    """The area that a cutter of diameter ``width`` (mm) covers along an open path; usually one region.

    Where both sides do not run clear of each other, each edge is swept alone and the sweeps are joined.
    """
    with contextlib.suppress(OffsetError):
        outline = sides(path, width)
        if Polygon(np.array(outline.points(_CHECK_MM))).is_valid:
            return (Region(outline),)
    half = width / 2
    pieces: list[tuple[Path, ...]] = []
    for segment in path.segments:
        if segment.chord <= SAME_MM:
            continue
        pieces.append((circle(segment.start, half),))
        pieces.append((circle(segment.end, half),))
        pieces.append((_band(segment, half),))
    return union(pieces)


def _band(segment: Segment, half: float) -> Path:
    """The band along one edge without its round ends; inside a bend tighter than ``half`` it is a wedge."""
    if segment.straight:
        dx, dy = (
            (segment.end[0] - segment.start[0]) / segment.chord,
            (segment.end[1] - segment.start[1]) / segment.chord,
        )
        (x0, y0), (x1, y1), nx, ny = segment.start, segment.end, dy * half, -dx * half
        corners = [(x0 + nx, y0 + ny), (x1 + nx, y1 + ny), (x1 - nx, y1 - ny), (x0 - nx, y0 - ny)]
        return from_vertices([(x, y, 0.0) for x, y in corners], closed=True)
    (cx, cy), r = segment.centre, segment.radius
    first = math.atan2(segment.start[1] - cy, segment.start[0] - cx)
    last = first + segment.included_angle

    def at(radius: float, angle: float) -> tuple[float, float]:
        return (cx + radius * math.cos(angle), cy + radius * math.sin(angle))

    wide, tight = r + half, r - half
    rows = [(*at(wide, first), segment.bulge), (*at(wide, last), 0.0)]
    if tight > SAME_MM:
        rows += [(*at(tight, last), -segment.bulge), (*at(tight, first), 0.0)]
    else:
        rows.append((cx, cy, 0.0))
    return from_vertices(rows, closed=True).counter_clockwise()
