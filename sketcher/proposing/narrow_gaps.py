"""A gap too narrow for all the channels that want to pass: what stands on either side, and by how much it is short.

What a gap must measure is what the rules ask for by themselves: the distance of a channel from either side, the widths
of the channels, and the walls between them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.findings import mm
from sketcher.geometry import build
from sketcher.geometry.path import Point
from sketcher.proposing.attempt import Table
from sketcher.proposing.lattice import JUST_CLEAR_MM
from sketcher.proposing.negotiation import Net, Prices, lay
from sketcher.proposing.rule_distances import MARGIN_MM

#: Beyond what is short a side is moved by so much more, mm, one after the other.
_BEYOND_MM = (0.0, 2.0, 6.0)
#: Moves are on halves of a millimetre.
_HALF_MM = 0.5
#: The plate's own edge as a side of a gap.
_EDGE = ""


@dataclass(frozen=True)
class Gap:
    """A gap between two items (an empty id is the plate's edge), with how wide it is and how wide it would have to be
    for ``count`` channels, mm; ``across`` is the unit vector from the first side to the second."""

    sides: tuple[str, str]
    wide_mm: float
    needed_mm: float
    count: int
    across: Point

    @property
    def why(self) -> str:
        """The reason in words."""
        names = [id_ or "the plate's edge" for id_ in self.sides]
        return (
            f"The gap between {names[0]} and {names[1]} is {mm(self.wide_mm)}; {self.count} channels need "
            f"{mm(self.needed_mm)} there, which is {mm(self.needed_mm - self.wide_mm)} more."
        )

    def moves(self, free: set[str]) -> Iterator[tuple[str, float, float]]:
        """Moves of one side away from the other, the least first: its id and how far along x and y, mm."""
        short = self.needed_mm - self.wide_mm
        for beyond in _BEYOND_MM:
            far = math.ceil((short + beyond) / _HALF_MM) * _HALF_MM
            for id_, way in zip(self.sides, (-1.0, 1.0), strict=True):
                if id_ in free:
                    # Away from zero, so that rounding never makes the gap narrower again.
                    dx, dy = (
                        math.copysign(math.ceil(abs(far * c) * 10 - 1e-6) / 10, way * c) + 0.0 for c in self.across
                    )
                    yield id_, dx, dy


def narrow_gap(table: Table, net: Net, prices: Prices, laid: Document) -> Gap | None:
    """The gap on a net's way that is shortest of room for it beside the channels that were laid; none when each has
    room.

    Args:
        table: the plate that the net has a way on by itself.
        net: which was left open.
        prices: of turns.
        laid: the plate with the other channels.
    """
    alone = lay(table.lattice, net, table.ground.costs(net), prices, table.ground.closed_by)
    if alone.missing or not alone.legs:
        return None
    way = shapely.MultiLineString([LineString(table.lattice.points(leg.nodes)) for leg in alone.legs])
    width = table.section.width_mm
    shapes = build(laid)
    others = {
        id_: (LineString(channel.path.points(0.1)), channel.item.width_mm)
        for id_, channel in shapes.channels.items()
        if channel.path.segments and id_ not in net.own
    }
    best: Gap | None = None
    for (a, one, near), (b, other, far) in combinations(_sides(table, net, set(others)), 2):
        if a == b:
            continue
        line = shapely.shortest_line(one, other)
        if line.length <= 0 or not line.intersects(way):
            continue
        passing = [wide for course, wide in others.values() if line.intersects(course)]
        if not passing:
            continue
        walls = len(passing) * (table.tight.side_by_side_mm - width) + 2 * (MARGIN_MM + JUST_CLEAR_MM)
        needed = near + far + width + sum(passing) + walls
        if needed <= line.length or (best is not None and needed - line.length <= best.needed_mm - best.wide_mm):
            continue
        (x0, y0), (x1, y1) = line.coords
        across = ((x1 - x0) / line.length, (y1 - y0) / line.length)
        best = Gap((a, b), float(line.length), needed, len(passing) + 1, across)
    return best


def _sides(table: Table, net: Net, channels: set[str]) -> list[tuple[str, BaseGeometry, float]]:
    """What a gap may have as a side: id, area, and the distance that a channel's edge keeps from it, mm."""
    found = [
        (obstacle.id, obstacle.area, obstacle.distance_mm)
        for obstacle in table.tight.obstacles
        if obstacle.id not in net.own and obstacle.id not in channels
    ]
    edge = shapely.boundary(shapely.make_valid(table.shapes.plate_polygon))
    return [*found, (_EDGE, edge, table.tight.edge_mm)]
