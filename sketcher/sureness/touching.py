"""The chance that what must not touch does not: the plate, boards, devices, obstacles and the case's walls."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.geometry.levels import above_floor_mm
from sketcher.geometry.path import Point
from sketcher.sureness.place_errors import FLOOR, Places, places_of
from sketcher.survey import adjusted as survey

Array = NDArray[np.float64]

#: Farther apart than this, mm, nothing is in question.
_FAR_MM = 20.0
#: Two things whose heights overlap by less than this, mm, pass over each other.
_OVER_MM = 0.01
#: No more of them are told of, the least sure first.
MOST = 60


@dataclass(frozen=True)
class Clearance:
    """A gap in plan, its spread, and the chance that it is one. A single item's gap is that to the plate."""

    items: tuple[str, ...]
    gap_mm: float
    sigma_mm: float
    chance: float
    at: Point

    @property
    def words(self) -> str:
        """What the gap is between."""
        names = ["the case wall" if name == "floor" else name for name in self.items]
        return " and ".join(names if len(names) > 1 else ["the plate", *names])

    def needed_mm(self, percent: float) -> float:
        """The gap that would hold with a chance, given in percent; rounded up to a tenth."""
        from scipy.special import ndtri  # what takes long to import waits until somebody asks for a chance

        wanted = self.sigma_mm * float(ndtri(min(percent / 100, 0.9999)))
        return math.ceil(10 * max(wanted, 0.0) + 1e-9) / 10


@dataclass(frozen=True)
class _Body:
    """Something that others must clear. ``kind``: plate, wall, obstacle, hardware; ``root``: what it stands on."""

    name: str
    kind: str
    edge: shapely.Geometry
    low: float
    high: float
    root: str = ""


def clearances(document: Document, shapes: Shapes, places: Places | None = None) -> list[Clearance]:
    """Every gap that is small enough to be in question, the least sure first.

    Looked at are gaps in plan of what shares a height: the plate, boards, devices and obstacles against each other and
    against the case's walls. What stands on the same board moves with it and is left to the rules, as is what touches
    as drawn.

    Raises:
        DocumentError: the survey cannot be adjusted.
    """
    places = places or places_of(document, shapes)
    bodies = list(_bodies(document, shapes, places))
    edges = np.array([body.edge for body in bodies], dtype=object)
    found = []
    for i, j in combinations(range(len(bodies)), 2):
        one, other = bodies[i], bodies[j]
        if not _in_question(one, other):
            continue
        gap = float(shapely.distance(edges[i], edges[j]))
        if 0 < gap <= _FAR_MM:
            found.append(_clearance(places, one, other, gap))
    return sorted(found, key=lambda one: (one.chance, one.items))[:MOST]


def _in_question(one: _Body, other: _Body) -> bool:
    if {one.kind, other.kind} <= {"wall", "obstacle"}:
        return False  # the case as it is; nobody is going to move it
    if one.root and one.root == other.root:
        return False
    return min(one.high, other.high) - max(one.low, other.low) > _OVER_MM


def _bodies(document: Document, shapes: Shapes, places: Places) -> Iterator[_Body]:
    low, high = above_floor_mm(document, 0.0), above_floor_mm(document, shapes.thickness)
    wall = shapely.boundary(shapely.make_valid(shapes.floor_polygon))
    yield _Body(FLOOR, "wall", wall, -math.inf, math.inf)
    # The plate against the wall about it is edge to edge; what stands in a cutout, against that.
    holes = [shapely.make_valid(area.polygon) for area in shapes.cutouts.values()]
    covered = shapely.difference(shapely.make_valid(shapes.plate_polygon), shapely.union_all(holes))
    yield _Body("", "plate", covered, low, high)
    for name, area in shapes.obstacles.items():
        yield _Body(name, "obstacle", shapely.make_valid(area.polygon), area.low, area.high)
    for group in (shapes.boards, shapes.devices):
        for name, area in group.items():
            root = places.chain(name)[-1]
            yield _Body(name, "hardware", shapely.make_valid(area.polygon), area.low, area.high, root)


def _clearance(places: Places, one: _Body, other: _Body, gap: float) -> Clearance:
    start, end = shapely.shortest_line(one.edge, other.edge).coords
    direction = np.array([(end[0] - start[0]) / gap, (end[1] - start[1]) / gap])
    between = np.subtract(_gain(places, one, (start[0], start[1])), _gain(places, other, (end[0], end[1])))
    sigma = float(np.linalg.norm(direction @ between))
    if "plate" in (one.kind, other.kind):
        sigma = math.hypot(sigma, places.document.spreads.making_mm)
    names = tuple("floor" if body.kind == "wall" else body.name for body in (one, other) if body.kind != "plate")
    chance = 1.0 - survey.chance_below(gap, 0.0, sigma)
    return Clearance(names, gap, sigma, chance, (float(start[0]), float(start[1])))


def _gain(places: Places, body: _Body, at: Point) -> Array:
    if body.kind == "plate":
        return places.plate(at)
    return places.hardware(body.name, at) if body.kind == "hardware" else places.fixed(body.name, at)
