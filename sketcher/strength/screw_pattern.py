"""Lid screws outside the groove, by rule: at most the pitch apart, clear of the groove and of everything else."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

Point = tuple[float, float]
_STEP_MM = 1.0


class PatternError(ValueError):
    """A screw pattern that cannot be: no screws, no pitch, a screw of no size."""


@dataclass(frozen=True)
class ScrewRoom:
    """What a lid screw needs in plan, mm.

    ``hole_mm`` is its clearance hole in the lid, ``head_mm`` its head with the driver's room, ``wall_mm`` the least
    wall from the hole to the groove's edge, ``edge_mm`` from the hole's rim to the plate's edge, ``pitch_mm`` the
    greatest distance to the next one along the groove.
    """

    hole_mm: float
    head_mm: float
    wall_mm: float
    edge_mm: float
    pitch_mm: float

    def __post_init__(self) -> None:
        if not (self.hole_mm > 0 and self.head_mm > 0):
            raise PatternError("a lid screw needs a hole and a head above 0 mm")
        if not self.pitch_mm > self.head_mm:
            raise PatternError(
                f"the pitch is {self.pitch_mm:g} mm, but heads of {self.head_mm:g} mm must pass each other"
            )

    def from_centreline_mm(self, groove_width_mm: float) -> float:
        """From the groove's centreline to the screw's axis, at least."""
        return groove_width_mm / 2 + self.wall_mm + self.hole_mm / 2


@dataclass(frozen=True)
class Blocked:
    """Something that keeps screws away: its outline and the least distance from a screw's axis, mm."""

    shape: BaseGeometry
    distance_mm: float


def place_screws(
    sealed: MultiPolygon,
    plate: Polygon,
    groove_width_mm: float,
    room: ScrewRoom,
    blocked: Sequence[Blocked] = (),
    kept: Sequence[Point] = (),
) -> list[Point]:
    """Places for lid screws around every groove; those in ``kept`` stay and are filled up.

    The screws stand on a line at their least distance outside the groove, evenly at the pitch or a little closer;
    where something is in the way the next free place along the line is taken, and a gap wider than the pitch gets a
    screw more when there is room. What could not be held shows in ``clamping``.
    """
    if sealed.is_empty:
        return []
    line = sealed.buffer(room.from_centreline_mm(groove_width_mm) + 0.05, quad_segs=16)
    allowed = plate.buffer(-(room.edge_mm + room.hole_mm / 2))
    forbidden = shapely.union_all([item.shape.buffer(item.distance_mm) for item in blocked])
    shapely.prepare(allowed)
    shapely.prepare(forbidden)
    placed: list[Point] = list(kept)
    for part in shapely.get_parts(line):
        for ring in (part.exterior, *part.interiors):
            placed += _around(ring, allowed, forbidden, room, placed)
    return placed[len(kept) :]


def _around(
    ring: shapely.LinearRing,
    allowed: BaseGeometry,
    forbidden: BaseGeometry,
    room: ScrewRoom,
    placed: Sequence[Point],
) -> list[Point]:
    count = max(8, math.ceil(ring.length / _STEP_MM))
    step = ring.length / count
    places = shapely.get_coordinates(shapely.line_interpolate_point(ring, np.arange(count) * step))
    free = shapely.intersects_xy(allowed, places[:, 0], places[:, 1]) & ~shapely.intersects_xy(
        forbidden, places[:, 0], places[:, 1]
    )
    taken: list[int] = []
    if placed:
        others = np.asarray(placed)
        near = np.hypot(places[:, None, 0] - others[None, :, 0], places[:, None, 1] - others[None, :, 1])
        free &= near.min(axis=1) >= room.head_mm + 1.0
        # A screw that stands on this line already, or within half a head of it, holds it too.
        at = near.argmin(axis=0)
        taken = [int(index) for index, gap in zip(at, near.min(axis=0), strict=True) if gap <= room.head_mm / 2]
    chosen = _evenly(places, free, taken, step, room)
    return [(float(places[index, 0]), float(places[index, 1])) for index in chosen]


def _evenly(
    places: NDArray[np.float64], free: NDArray[np.bool_], taken: list[int], step: float, room: ScrewRoom
) -> list[int]:
    count = len(places)
    pitch = max(1, int(room.pitch_mm / step))
    apart = math.ceil((room.head_mm + 1.0) / step)
    least = room.head_mm + 1.0
    chosen: list[int] = []

    def apart_enough(index: int) -> bool:
        return all(math.dist(places[index], places[other]) >= least for other in (*taken, *chosen))

    def add(target: int, reach: int) -> bool:
        """The free place nearest to ``target`` that is not too near a screw."""
        for shift in range(reach + 1):
            for index in ((target + shift) % count, (target - shift) % count):
                if free[index] and apart_enough(index):
                    chosen.append(index)
                    return True
        return False

    if not taken:
        number = max(1, math.ceil(count / pitch))
        for number_of in range(number):
            add(round(number_of * count / number), pitch // 2)
    for _ in range(count):
        marks = sorted({*taken, *chosen})
        if not marks:
            break
        gaps = [((b - a - 1) % count + 1, a) for a, b in zip(marks, [*marks[1:], marks[0]], strict=True)]
        wide = sorted((gap for gap in gaps if gap[0] > pitch), reverse=True)
        if not any(add((start + width // 2) % count, max(width // 2 - apart, 0)) for width, start in wide):
            break
    return chosen
