"""What is to be joined, with the channels that are drawn: where new ones may end, and where they have no room."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.geometry.shapes import ChannelShape
from sketcher.proposing.lattice import EIGHT
from sketcher.proposing.negotiation import Net
from sketcher.proposing.rule_distances import Clearances

#: Two channels that meet are held apart from this many times their width and wall on, as the wall rule does it.
MEETING_REACH = 1.5


def roots_of(document: Document, shapes: Shapes) -> dict[str, Point]:
    """Where channels reach ports and branches, mm."""
    roots: dict[str, Point] = {id_: port.root for id_, port in shapes.ports.items()}
    roots.update({branch.id: (branch.x_mm, branch.y_mm) for branch in document.branches})
    return roots


def net_of(
    parts: Sequence[tuple[str, ...]],
    width_mm: float,
    channels: Iterable[ChannelShape],
    roots: Mapping[str, Point],
    tight: Clearances,
) -> Net:
    """A net of parts that are to be joined.

    Args:
        parts: ports and branches, each part joined already.
        width_mm: of the channels to be laid.
        channels: those of the plate; the ones that end at the parts are the net's own.
        roots: places of ports and branches.
        tight: what channels keep clear of.
    """
    ends = {id_ for part in parts for id_ in part}
    own = [c for c in channels if {c.item.start, c.item.end} & ends and c.path.segments]
    leaving = {id_: frozenset(_leaving(own, id_)) for id_ in ends}
    return Net(tuple(parts), width_mm, tuple(c.item.id for c in own), leaving, _beside(own, roots, tight))


def _beside(own: Sequence[ChannelShape], roots: Mapping[str, Point], tight: Clearances) -> BaseGeometry | None:
    """Where a net's own channels leave no room for another one: about them, but not about their ends."""
    areas: list[BaseGeometry] = []
    for channel in own:
        reach = tight.between_channels_mm(channel.item.width_mm)
        line = LineString(channel.path.points(0.05))
        ends = [roots[id_] for id_ in (channel.item.start, channel.item.end) if id_ is not None and id_ in roots]
        around = [shapely.Point(place).buffer(MEETING_REACH * reach) for place in ends]
        areas.append(shapely.difference(shapely.buffer(line, reach, quad_segs=16), shapely.union_all(around)))
    return shapely.union_all(areas) if areas else None


def _leaving(channels: Iterable[ChannelShape], end: str) -> Iterator[int]:
    """The eighths of a turn on either side of the directions in which channels leave one of their ends."""
    for channel in channels:
        for name, path in ((channel.item.start, channel.path), (channel.item.end, channel.path.reversed())):
            if name == end:
                eighth = path.segments[0].direction() / (math.pi / 4)
                yield math.floor(eighth + 1e-6) % EIGHT
                yield math.ceil(eighth - 1e-6) % EIGHT
