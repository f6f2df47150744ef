"""How near a channel's centreline may come to everything else on the plate: the rules' own limits, as areas in plan.

Each obstacle is given by the distance that the *edge* of a channel keeps from it. Walls stand in the rules; where the
lid is sealed by a groove, what opens through the joint face also needs the groove and its two walls, and with room to
spare a lid screw beyond the groove.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.geometry.shapes import Prism, channel_heights, quad_segs
from sketcher.reference import screws
from sketcher.strength.seal import SealDesign, design_seal, interface_mm

#: Families of parts as the names of the wall rules have them.
FAMILY = {
    "thread": "port",
    "bore": "port",
    "cutout": "cutout",
    "pocket": "pocket",
    "hole": "hole",
    "head": "hole",
    "channel": "channel",
}
#: Kept beyond every limit, mm, so that rounding to the document's digits never falls under one.
MARGIN_MM = 0.05
#: Lines just beyond the reach of each other do not touch it, mm.
_TOUCHING_MM = 0.02
#: With room to spare a channel keeps so far from a keep-out, mm. Common practice, no source.
_OFF_KEEP_OUT_MM = 3.0


@dataclass(frozen=True)
class Obstacle:
    """Something that channels keep clear of: the item, its area, and the distance of a channel's edge to it, mm."""

    id: str
    area: BaseGeometry
    distance_mm: float


@dataclass(frozen=True)
class Section:
    """A channel's section, mm."""

    width_mm: float
    depth_mm: float


class Clearances:
    """What a channel of one section must keep clear of on one plate.

    Args:
        document: the plate; its channels named in ``moving`` and its unlocked lid screws do not count.
        shapes: its shapes.
        limits: the limits in force, by rule.
        section: of the channels to be laid.
        roomy: keep room for a lid screw beyond the groove, too.
        moving: ids of channels that will be laid anew.
    """

    def __init__(
        self,
        document: Document,
        shapes: Shapes,
        limits: dict[str, float],
        section: Section,
        *,
        roomy: bool,
        moving: frozenset[str] = frozenset(),
    ) -> None:
        self.document, self.shapes, self.limits = document, shapes, limits
        self.section, self.roomy, self.moving = section, roomy, moving
        self.low, self.high = channel_heights(document, section.depth_mm)

    @cached_property
    def _seal(self) -> SealDesign:
        return design_seal(self.document, self.shapes)

    @cached_property
    def _groove_mm(self) -> float:
        """From the coolant to the far edge of the groove, mm; 0 without a groove."""
        room = self._seal.room
        return 0.0 if room is None else room.wall_mm + room.width_mm

    @cached_property
    def _screw_mm(self) -> float:
        """What a lid screw takes beyond the groove, from the groove's edge to the far side of its hole, mm."""
        name = self.document.seal.screw
        if not self.roomy or self._seal.room is None or self.document.seal.kind == "bonded":
            return 0.0
        if name not in screws.names():
            return 0.0
        return self.document.seal.wall_mm + screws.screw(name).clearance_mm

    def _distance(self, family: str, low: float, high: float) -> float:
        """Least distance in plan of a channel's edge from a prism between two heights, mm; 0 where none is needed."""
        order = ("channel", "port", "cutout", "pocket", "hole")
        first, second = sorted(("channel", family), key=order.index)
        limit = self.limits[f"wall-{first}-{second}"]
        gap = max(low - self.high, self.low - high, 0.0)
        wall = math.sqrt(max(limit**2 - gap**2, 0.0))
        if family in ("port", "channel"):
            return wall
        plane = interface_mm(self.document)
        if low <= plane + 1e-6 and high >= plane - 1e-6 and self._groove_mm:
            beyond = self.document.seal.wall_mm
            wall = max(wall, self._groove_mm + max(beyond, self._screw_mm + beyond if self.roomy else beyond))
        return wall

    @cached_property
    def obstacles(self) -> tuple[Obstacle, ...]:
        """Everything in the plate and everything drawn as a keep-out that a channel must not come near."""
        return tuple(self._obstacles())

    def _obstacles(self) -> Iterator[Obstacle]:
        lid_screws = {hole.id for hole in self.document.holes if hole.use == "lid" and not hole.locked}
        for prism in self.shapes.prisms:
            if prism.id in self.moving or prism.id in lid_screws:
                continue
            distance = self._distance(FAMILY[prism.part], prism.low, prism.high)
            if distance > 0:
                yield Obstacle(prism.id, _sound(prism), distance)
        refuses = {item.id: item.refuses for item in self.document.keep_outs}
        for id_, area in self.shapes.keep_outs.items():
            if "channel" in refuses[id_]:
                # Up to it is allowed; where there is room a course looks better a little off.
                yield Obstacle(id_, shapely.make_valid(area.polygon), _OFF_KEEP_OUT_MM if self.roomy else 0.0)

    @cached_property
    def edge_mm(self) -> float:
        """Distance of a channel's edge from the plate's edge, mm."""
        wall = self.limits["wall-channel-edge"]
        room = self._seal.room
        if room is None:
            return wall
        beyond = room.edge_wall_mm
        if self._screw_mm:
            beyond = max(beyond, self._screw_mm + self.limits["wall-hole-edge"])
        return max(wall, self._groove_mm + beyond)

    @cached_property
    def inside(self) -> BaseGeometry:
        """Where centrelines may run as far as the plate's edge is concerned."""
        plate = shapely.make_valid(self.shapes.plate_polygon)
        return shapely.buffer(plate, -(self.edge_mm + self.section.width_mm / 2 + MARGIN_MM), quad_segs=16)

    @cached_property
    def grown(self) -> np.ndarray:
        """Each obstacle's area grown to where centrelines may not run; in the order of ``obstacles``."""
        half = self.section.width_mm / 2 + MARGIN_MM
        return np.array(
            [
                shapely.buffer(o.area, o.distance_mm + half, quad_segs=quad_segs(o.distance_mm + half, 0.02))
                for o in self.obstacles
            ],
            dtype=object,
        )

    def between_channels_mm(self, other_width_mm: float) -> float:
        """Distance between the centrelines of two channels of different nets, mm."""
        wall = self.limits["wall-channel-channel"]
        return wall + (self.section.width_mm + other_width_mm) / 2 + MARGIN_MM

    @property
    def side_by_side_mm(self) -> float:
        """From centreline to centreline of channels laid side by side as near as may be, mm."""
        return self.between_channels_mm(self.section.width_mm) + MARGIN_MM + _TOUCHING_MM

    @cached_property
    def two_rows_mm(self) -> float:
        """Distance between the centrelines of two channels with a row of lid screws for each between them, mm; 0 where
        screws have no say."""
        if not self._screw_mm:
            return 0.0
        return self.section.width_mm + 2 * (self._groove_mm + self._screw_mm) + self.limits["wall-hole-hole"]

    @property
    def least_radius_mm(self) -> float:
        """The smallest bend radius that leaves a round inside corner, mm."""
        return self.section.width_mm / 2 + self.limits["bend-inside"]

    def free(self, own: frozenset[str], beside: BaseGeometry | None = None) -> BaseGeometry:
        """Where the centreline of a net may run: the plate less all that is not its own.

        Args:
            own: ids of what the net may touch.
            beside: where the net's own channels that are drawn already leave no room, away from their ends.
        """
        others = [area for o, area in zip(self.obstacles, self.grown, strict=True) if o.id not in own]
        if beside is not None:
            others.append(beside)
        return shapely.difference(self.inside, shapely.union_all(others)) if others else self.inside


def _sound(prism: Prism) -> BaseGeometry:
    return prism.polygon if prism.polygon.is_valid else shapely.make_valid(prism.polygon)
