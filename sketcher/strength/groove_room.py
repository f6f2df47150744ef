"""What the groove needs in plan, and what it keeps clear of."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
import shapely
from shapely.geometry import Polygon
from shapely.geometry.base import BaseGeometry

#: Chords of a quarter turn; with MARGIN_MM it keeps every wall at or above its limit in spite of the chords.
QUARTER = 16
MARGIN_MM = 0.02
#: What goes round the dry keeps so much farther from it, mm: arcs of chords and simplified lines take it up.
CHORDS_MM = 0.03
#: So far outside the plate's edge is looked at when the groove is kept from it, mm.
_BEYOND_MM = 60.0


@dataclass(frozen=True)
class Obstacle:
    """Something the groove keeps clear of: its outline and the least wall between the two, mm.

    ``through`` obstacles open where the lid lies on the body and must stay outside the sealed area; the others lie
    below the groove or above it (``gap_mm`` away in height), and only the groove itself must not come near them.
    ``screw``: a lid screw, which was placed beside the groove: the groove is laid without it first.
    """

    id: str
    kind: str
    shape: BaseGeometry
    wall_mm: float
    through: bool = True
    gap_mm: float = 0.0
    screw: bool = False

    @property
    def plan_wall_mm(self) -> float:
        """The wall that is needed in plan, when the height between already gives a part."""
        return float(np.sqrt(max(self.wall_mm**2 - self.gap_mm**2, 0.0)))


@dataclass(frozen=True)
class Room:
    """What the groove needs in plan, mm: its width, the centreline's least bend radius and the walls.

    Regions nearer to each other than ``width_mm`` and ``between_mm`` always share one groove; up to ``join_mm`` they do
    where nothing dry is in the way, for a wish or because no screw fits between two.
    """

    width_mm: float
    bend_radius_mm: float
    wall_mm: float
    edge_wall_mm: float
    between_mm: float
    join_mm: float = 0.0

    @property
    def offset_mm(self) -> float:
        """From the water to the groove's centreline."""
        return self.wall_mm + self.width_mm / 2


class Dry:
    """Where the groove's centreline may not be: what must stay dry with its wall and half the groove, and the rim."""

    def __init__(self, obstacles: Sequence[Obstacle], plate: Polygon, room: Room) -> None:
        """Take stock of the obstacles that must stay outside, and of the plate."""
        half = room.width_mm / 2
        self.obstacles = [one for one in obstacles if one.through and not one.shape.is_empty]
        self.reach = np.array([one.plan_wall_mm + half for one in self.obstacles])
        self.plate, self.edge_mm, self._room = plate, room.edge_wall_mm + half, room
        self._tree = shapely.STRtree([one.shape for one in self.obstacles])

    @cached_property
    def without_screws(self) -> Dry:
        """The same as long as there were no lid screws."""
        return Dry([one for one in self.obstacles if not one.screw], self.plate, self._room)

    def clear(self, part: Polygon) -> bool:
        """Whether a sealed area keeps from everything dry."""
        if self._touches(part):
            return False
        return bool(self.plate.contains(part)) and self.plate.exterior.distance(part) >= self.edge_mm - 1e-9

    def _touches(self, part: Polygon) -> bool:
        if not self.obstacles:
            return False
        near = self._tree.query(part, predicate="dwithin", distance=float(self.reach.max()))
        distances = shapely.distance(part, self._tree.geometries[near])
        return bool((distances < self.reach[near] - 1e-9).any())

    def around(self, area: BaseGeometry, far_mm: float) -> BaseGeometry:
        """All of it that is within a distance of an area, as one."""
        x0, y0, x1, y1 = area.bounds
        box = shapely.box(x0 - far_mm, y0 - far_mm, x1 + far_mm, y1 + far_mm)
        near: list[BaseGeometry] = []
        if self.obstacles:
            numbers = self._tree.query(box, predicate="dwithin", distance=float(self.reach.max()))
            widened = self.reach[numbers] + CHORDS_MM
            near += shapely.buffer(self._tree.geometries[numbers], widened, quad_segs=QUARTER).tolist()
        near.append(_rim(self.plate.wkb, self.edge_mm).intersection(box))
        return shapely.union_all(near)


@lru_cache(maxsize=8)
def _rim(plate: bytes, edge_mm: float) -> BaseGeometry:
    """Where the plate's edge keeps the sealed area from, out to where nothing is drawn."""
    outline = shapely.from_wkb(plate)
    inner = outline.buffer(-edge_mm - MARGIN_MM / 2, quad_segs=QUARTER)
    return outline.buffer(_BEYOND_MM, join_style="mitre").difference(inner)
