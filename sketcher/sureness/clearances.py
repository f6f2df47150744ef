"""The chance that what must not touch does not: the plate against the floor's walls and what stands on the floor."""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely

from sketcher.document import Document
from sketcher.document.floor import Surveyed
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.survey import adjusted as survey
from sketcher.survey.adjusted import SurveyResult

#: Farther apart than this, mm, nothing is in question.
_FAR_MM = 20.0


@dataclass(frozen=True)
class Clearance:
    """A gap, its spread, and the chance that it is one."""

    items: tuple[str, ...]
    gap_mm: float
    sigma_mm: float
    chance: float
    at: Point


def clearances(document: Document, shapes: Shapes) -> list[Clearance]:
    """Every gap of the plate to a wall or an obstacle beside it that is small enough to be in question."""
    spreads = document.spreads
    result = survey.adjust(document) if document.survey.readings else None
    drawn = {outline.id: outline for outline in document.survey.outlines}
    floor = next((outline for outline in document.survey.outlines if outline.what == "floor"), None)
    plate = shapely.make_valid(shapes.plate_polygon)
    edge = shapely.boundary(plate)
    own = math.hypot(spreads.seating_mm, spreads.making_mm)
    low, high = document.plate.z_mm, document.plate.z_mm + shapes.thickness
    walls: list[tuple[tuple[str, ...], shapely.Geometry, Surveyed | None]] = [
        (("floor",), shapely.boundary(shapely.make_valid(shapes.floor_polygon)), floor)
    ]
    walls += [
        ((id_,), shapely.make_valid(area.polygon), drawn.get(id_))
        for id_, area in shapes.obstacles.items()
        if area.high > low and area.low < high
    ]
    found = []
    for items, wall, outline in walls:
        gap = float(shapely.distance(edge, wall))
        if gap <= 0 or gap > _FAR_MM:
            continue  # what touches as drawn is for the rules of fit to say
        start, end = shapely.shortest_line(edge, wall).coords
        direction = ((end[0] - start[0]) / gap, (end[1] - start[1]) / gap)
        sigma = math.hypot(own, _spread_of(outline, result, direction, spreads.hardware_mm))
        chance = 1.0 - survey.chance_below(gap, 0.0, sigma)
        found.append(Clearance(items, gap, sigma, chance, (float(start[0]), float(start[1]))))
    return found


def _spread_of(outline: Surveyed | None, result: SurveyResult | None, direction: Point, otherwise_mm: float) -> float:
    if outline is None or result is None:
        return otherwise_mm
    points = (*outline.corners, *([outline.centre] if outline.centre else []))
    if any(result.adjustment.point(name).loose for name in points):
        return otherwise_mm
    return survey.sigma_of_gap(result, points, direction)
