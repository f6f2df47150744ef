"""What is cut out of the plate, piece by piece: prisms, and the round solids that no prism is.

Heights count from the plate's underside. A prism is a plan area from one height to another. A barrel is a drilled
hole that lies (an edge port's), a cone a countersink or a drill's point; each has a prism around it, which the drawing
and the seal use, and its true shape for the walls.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry, Polygon

from sketcher.geometry.path import Point
from sketcher.geometry.solids import distance

#: The face that a height is given from: on a thicker sheet it moves with that face.
Face = Literal["joint", "body", "lid"]
#: Half the angle of a twist drill's point, degrees: 118 in all; a point on d is then 0.30 d long.
HALF_POINT_DEG = 59.0
_STEPS = 32


def point_mm(diameter: float) -> float:
    """Length of a drill's 118 degree point, mm."""
    return diameter / 2 / math.tan(math.radians(HALF_POINT_DEG))


@dataclass(frozen=True)
class Cone:
    """A cone or frustum on an upright axis: its radius at its low and at its high end."""

    at: Point
    low: float
    low_radius: float
    high: float
    high_radius: float

    def distance(self, core: Geometry, radius: float, low: float, high: float) -> float:
        """Distance (mm) to the prism that is ``core`` grown by ``radius``, from ``low`` to ``high``."""
        reach = float(shapely.distance(shapely.Point(self.at), core)) - radius

        def apart(z: NDArray[np.float64]) -> NDArray[np.float64]:
            share = (z - self.low) / (self.high - self.low)
            here = self.low_radius + share * (self.high_radius - self.low_radius)
            return np.hypot(np.maximum(reach - here, 0.0), np.maximum(np.maximum(low - z, z - high), 0.0))

        return _least(apart, np.linspace(self.low, self.high, 2 * _STEPS + 1))

    def corners(self) -> NDArray[np.float64]:
        """Corners of a polyhedron that holds it, within a hundredth: (n, 3)."""
        angles = np.linspace(0, 2 * math.pi, 64, endpoint=False)
        ring = np.column_stack([np.cos(angles), np.sin(angles)]) / math.cos(math.pi / 64)
        ends = ((self.low, self.low_radius), (self.high, self.high_radius))
        return np.vstack([np.column_stack([self.at + ring * r, np.full(64, z)]) for z, r in ends])


@dataclass(frozen=True)
class Barrel:
    """A drilled hole that lies: from ``at`` on the plate's edge along ``heading``, with its axis at ``level``.

    ``point`` is the length of the drill's cone beyond ``reach``, 0 when there is none.
    """

    at: Point
    heading: Point
    reach: float
    level: float
    radius: float
    point: float = 0.0

    def sections(self, offsets: NDArray[np.float64]) -> NDArray[np.object_]:
        """Its plan section at each height above or below its axis."""
        half = np.sqrt(np.maximum(self.radius**2 - offsets**2, 0.0))
        along, across = [np.zeros_like(half), np.full_like(half, self.reach)], [half, half]
        if self.point:
            # Close together at the tip, where the section of a cone is curved most.
            for share in 1 - np.linspace(1.0, 0.0, 25)[1:] ** 2:
                tip = self.point * (1 - np.abs(offsets) / self.radius) * share
                here = self.radius * (1 - tip / self.point)
                along.append(self.reach + tip)
                across.append(np.sqrt(np.maximum(here**2 - offsets**2, 0.0)))
        u = np.column_stack([*along, *along[::-1]])
        v = np.column_stack([*across, *(-side for side in across[::-1])])
        (x, y), (hx, hy) = self.at, self.heading
        return np.asarray(shapely.polygons(np.stack([x + hx * u - hy * v, y + hy * u + hx * v], axis=-1)), dtype=object)

    def distance(self, core: Geometry, radius: float, low: float, high: float) -> float:
        """Distance (mm) to the prism that is ``core`` grown by ``radius``, from ``low`` to ``high``."""

        def apart(angle: NDArray[np.float64]) -> NDArray[np.float64]:
            offsets = self.radius * np.cos(angle) * (1 - 1e-9)
            z = self.level + offsets
            plan = np.maximum(shapely.distance(self.sections(offsets), core) - radius, 0.0)
            return np.hypot(plan, np.maximum(np.maximum(low - z, z - high), 0.0))

        return _least(apart, np.linspace(0.0, math.pi, 2 * _STEPS + 1))

    def corners(self) -> NDArray[np.float64]:
        """Corners of a polyhedron that holds it, within a hundredth: (n, 3)."""
        angles = np.linspace(0, 2 * math.pi, 96, endpoint=False)
        size = self.radius / math.cos(math.pi / 96)
        (x, y), (hx, hy) = self.at, self.heading
        v, z = size * np.cos(angles), self.level + size * np.sin(angles)
        rings = [np.column_stack([x + hx * u - hy * v, y + hy * u + hx * v, z]) for u in (0.0, self.reach)]
        tip = self.reach + self.point
        return np.vstack([*rings, [[x + hx * tip, y + hy * tip, self.level]]])


def _least(apart: Callable[[NDArray[np.float64]], NDArray[np.float64]], places: NDArray[np.float64]) -> float:
    """The least of a function over places, looked for again between the neighbours of the best."""
    values = apart(places)
    best = int(np.argmin(values))
    first, last = places[max(best - 1, 0)], places[min(best + 1, len(places) - 1)]
    return float(min(values[best], apart(np.linspace(first, last, _STEPS + 1)).min()))


@dataclass(frozen=True)
class Prism:
    """A part of an item in the plate: ``part`` is channel, thread, bore, cutout, pocket, hole or head.

    ``polygon`` is ``core`` grown by ``radius``; a wall is measured on the core, and so is exact where the core is a
    point or a straight line. ``solid`` is the true shape of what is no prism. ``low_from`` and ``high_from`` are the
    faces that its heights are given from.
    """

    id: str
    part: str
    polygon: Polygon
    low: float
    high: float
    core: Geometry | None = None
    radius: float = 0.0
    solid: Cone | Barrel | None = None
    low_from: Face = "joint"
    high_from: Face = "joint"

    @property
    def wet(self) -> bool:
        """Whether coolant stands in it."""
        return self.part in ("channel", "bore", "thread")

    def distance(self, other: Prism) -> float:
        """The wall between two, mm; 0 where they meet."""
        if self.solid is not None and other.solid is not None:
            return distance(self.solid.corners(), other.solid.corners())[0]
        if self.solid is not None:
            return self.solid.distance(other.core or other.polygon, other.radius, other.low, other.high)
        if other.solid is not None:
            return other.distance(self)
        plan = float(shapely.distance(self.core or self.polygon, other.core or other.polygon))
        plan = max(plan - self.radius - other.radius, 0.0)
        return math.hypot(plan, max(self.low - other.high, other.low - self.high, 0.0))


def moved(prism: Prism, up: float) -> Prism:
    """A prism with its true shape, so many mm higher."""
    solid = prism.solid
    if isinstance(solid, Cone):
        solid = replace(solid, low=solid.low + up, high=solid.high + up)
    elif isinstance(solid, Barrel):
        solid = replace(solid, level=solid.level + up)
    return replace(prism, low=prism.low + up, high=prism.high + up, solid=solid)
