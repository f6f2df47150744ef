"""What the rules look at: the shapes, the limits in force, and who is near whom, worked out once."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import cast

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry

from sketcher.document import Document
from sketcher.flow import FlowResult, solve_loop
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point

#: Prisms nearer than this are looked at more closely, mm; a larger limit in the document widens it.
NEAR_MM = 8.0


@dataclass(frozen=True)
class Neighbours:
    """Pairs of prisms, by index into ``shapes.prisms``, and how far apart they are (mm)."""

    first: NDArray[np.intp]
    second: NDArray[np.intp]
    plan: NDArray[np.float64]
    apart: NDArray[np.float64]


class Scene:
    """One document's shapes as the rules see them."""

    def __init__(self, shapes: Shapes, limits: dict[str, float], flow: FlowResult | None = None) -> None:
        self.shapes = shapes
        self._flow = flow
        self.document: Document = shapes.document
        self.limits = limits

    def limit(self, rule: str) -> float:
        """The limit in force for a rule: the document's own, or the default."""
        return self.limits[rule]

    @cached_property
    def flow(self) -> FlowResult:
        """What the loop does."""
        return self._flow or solve_loop(self.document, self.shapes)

    def place(self, id_: str) -> Point | None:
        """Where an item is on the floor, mm; none for what has no place."""
        shapes = self.shapes
        if id_ in shapes.ports:
            return shapes.ports[id_].root
        if id_ in shapes.channels:
            path = shapes.channels[id_].path
            return path.at(path.length / 2) if path.segments else None
        for branch in self.document.branches:
            if branch.id == id_:
                return (branch.x_mm, branch.y_mm)
        if id_ in shapes.frames:
            x, y, _ = shapes.frames[id_].origin
            return (float(x), float(y))
        return None

    @cached_property
    def polygons(self) -> NDArray[np.object_]:
        """The prisms' polygons, made valid: a contour that crosses itself must not stop the other rules."""
        found = np.array([prism.polygon for prism in self.shapes.prisms], dtype=object)
        return _valid(found)

    @cached_property
    def parts(self) -> NDArray[np.str_]:
        """Each prism's part, for looking up which rule a pair belongs to."""
        return np.array([prism.part for prism in self.shapes.prisms], dtype=object)

    @cached_property
    def heights(self) -> NDArray[np.float64]:
        """Low and high of each prism: (n, 2)."""
        return np.array([(prism.low, prism.high) for prism in self.shapes.prisms]).reshape(-1, 2)

    @cached_property
    def plate(self) -> Geometry:
        """The plate's area, made valid."""
        (valid,) = _valid(np.array([self.shapes.plate_polygon], dtype=object))
        return cast(Geometry, valid)

    @cached_property
    def edge(self) -> Geometry:
        """The plate's outer edge."""
        return shapely.boundary(self.plate)

    @cached_property
    def neighbours(self) -> Neighbours:
        """Every pair of prisms of different items that is near."""
        none = np.array([], dtype=np.intp)
        if not len(self.polygons):
            return Neighbours(none, none, np.array([]), np.array([]))
        tree = shapely.STRtree(self.polygons)
        near = max([NEAR_MM, *(self.limits[rule] for rule in self.limits if rule.startswith("wall-"))])
        first, second = tree.query(self.polygons, predicate="dwithin", distance=near)
        ids = np.array([prism.id for prism in self.shapes.prisms], dtype=object)
        once = (first < second) & (ids[first] != ids[second])
        first, second = first[once], second[once]
        plan = shapely.distance(self.polygons[first], self.polygons[second])
        low = np.maximum(self.heights[first, 0], self.heights[second, 0])
        high = np.minimum(self.heights[first, 1], self.heights[second, 1])
        return Neighbours(first, second, plan, np.hypot(plan, np.maximum(low - high, 0.0)))


def _valid(polygons: NDArray[np.object_]) -> NDArray[np.object_]:
    bad = ~shapely.is_valid(polygons)
    if bad.any():
        polygons = polygons.copy()
        polygons[bad] = shapely.make_valid(polygons[bad])
    return polygons
