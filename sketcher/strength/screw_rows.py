"""Lid screws that line up: in rows across the plate, and on a tenth of a millimetre, as a drawing is dimensioned."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon
from shapely.geometry.base import BaseGeometry

Point = tuple[float, float]
#: Screws whose places differ by less than this in one direction are set in line, mm; further apart it would show in
#: their spacing.
NEAR_MM = 4.0
#: Across from each other within this counts when a pattern's beginning is chosen, mm.
FINE_MM = 2.1
TENTH_MM = 0.1
#: No farther out than this beyond the least distance from the groove, mm, if it did not stand farther before: a longer
#: lever pries more.
FARTHER_MM = 0.6


@dataclass(frozen=True)
class Ground:
    """Where axes of screws may stand: ``allowed`` at all, ``roomy`` with room to the plate's edge, ``forbidden`` beside
    other things; and the sealed area, from whose edge they keep ``away_mm``."""

    allowed: BaseGeometry
    roomy: BaseGeometry
    forbidden: BaseGeometry
    sealed: MultiPolygon
    away_mm: float

    def free(self, place: Point, before: Point) -> bool:
        """Whether a screw that stands at ``before`` may stand there: no nearer than it may, and no farther out."""
        x, y = place
        if not shapely.intersects_xy(self.allowed, x, y) or shapely.intersects_xy(self.forbidden, x, y):
            return False
        axis = shapely.Point(place)
        if shapely.dwithin(self.sealed, axis, self.away_mm - 1e-9):
            return False
        if shapely.dwithin(self.sealed, axis, self.away_mm + FARTHER_MM):
            return True
        stood = float(shapely.distance(self.sealed, shapely.Point(before)))
        return stood > self.away_mm + FARTHER_MM and bool(shapely.dwithin(self.sealed, axis, stood + TENTH_MM))


def lined_up(
    rows: list[list[Point]], kept: list[Point], ground: Ground, *, apart_mm: float, pitch_mm: float
) -> list[Point]:
    """The screws of every ring, set in line with each other where nothing forces them elsewhere, and on tenths.

    Args:
        rows: places around each ring, in the order of the ring.
        kept: screws that stay where they are.
        ground: where screws may stand.
        apart_mm: least distance of two axes.
        pitch_mm: neighbours around a ring come no farther apart than this, if they were not before.
    """
    moved = [list(row) for row in rows]
    starts = np.cumsum([0, *(len(row) for row in rows)]).tolist()
    stand = np.array([*(place for row in rows for place in row), *kept]).reshape(-1, 2)

    def attempt(number: int, k: int, place: Point) -> bool:
        """Moves a screw if it may stand there, keeps its distance, and leaves no wider gap beside it."""
        row, own = moved[number], starts[number] + k
        old = row[k]
        if place == old or not ground.free(place, old):
            return place == old
        gaps = np.hypot(stand[:, 0] - place[0], stand[:, 1] - place[1])
        gaps[own] = math.inf
        if gaps.min() < apart_mm:
            return False
        for other in (row[k - 1], row[(k + 1) % len(row)]):
            if other is not old and math.dist(place, other) > max(pitch_mm, math.dist(old, other)) + 1e-9:
                return False
        row[k] = stand[own] = place
        return True

    for axis in (0, 1):
        lines = _lines([place[axis] for row in moved for place in row])
        for number, row in enumerate(moved):
            for k, place in enumerate(row):
                attempt(number, k, _with(place, axis, lines[place[axis]]))
    for number, row in enumerate(moved):
        for k, place in enumerate(row):
            any(attempt(number, k, tenth) for tenth in _tenths(place))
    return [place for row in moved for place in row]


def _lines(values: list[float]) -> dict[float, float]:
    """For every value the line that it is set on: values within ``NEAR_MM`` share one, on a tenth."""
    found: dict[float, float] = {}
    group: list[float] = []
    for value in [*sorted(values), math.inf]:
        if group and value - group[0] >= NEAR_MM:
            line = round(group[len(group) // 2], 1)
            found.update(dict.fromkeys(group, line))
            group = []
        group.append(value)
    return found


def across(places: NDArray[np.float64], near_mm: float) -> int:
    """How many pairs of screws stand nearly in one line along x or y."""
    gaps = np.abs(places[:, None, :] - places[None, :, :])
    return int((gaps.min(axis=2) < near_mm).sum() - len(places)) // 2


def _with(place: Point, axis: int, value: float) -> Point:
    return (value, place[1]) if axis == 0 else (place[0], value)


def _tenths(place: Point) -> list[Point]:
    """The tenths around a place, the nearest first."""
    x, y = (math.floor(value / TENTH_MM) for value in place)
    found = [(round((x + i) * TENTH_MM, 1), round((y + j) * TENTH_MM, 1)) for i in (-1, 0, 1, 2) for j in (-1, 0, 1, 2)]
    return sorted(found, key=lambda tenth: math.dist(tenth, place))
