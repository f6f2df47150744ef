"""How tidy channels look: how much of their length is parallel at an even spacing, along an edge, or mirrored."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import combinations

import numpy as np
import shapely
from shapely import LineString, affinity

from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.geometry.shapes import ChannelShape

#: Two lengths within this are the same, mm; lines within so many degrees are parallel.
_SAME_MM, _PARALLEL_DEG = 0.25, 0.5
#: Shorter straight pieces are not seen as lines, mm.
_SHORTEST_MM = 8.0
#: Neighbours are seen as a pair up to so many widths apart; a course follows an edge up to so many. Common practice,
#: no source.
PAIR_WIDTHS, _REACH_WIDTHS = 4.0, 3.0


@dataclass(frozen=True)
class Tidiness:
    """Shares of the channels' length, 0 to 1.

    Attributes:
        parallel: beside another channel, at the spacing that most of the pairs have.
        edges: at one distance from the edge of the plate or of a cutout.
        mirrored: on the mirror image of the channels.
    """

    parallel: float
    edges: float
    mirrored: float

    def of(self, look: str) -> float:
        """The share that a look is about."""
        return {"parallel": self.parallel, "edges": self.edges, "symmetry": self.mirrored}.get(look, 0.0)

    @property
    def whole(self) -> float:
        """One figure, 0 to 1: the largest of the three counts most."""
        high, middle, low = sorted((self.parallel, self.edges, self.mirrored), reverse=True)
        return round((4 * high + 2 * middle + low) / 7, 4)


def tidiness(shapes: Shapes, channels: Sequence[ChannelShape]) -> Tidiness:
    """How tidy some channels of a plate look."""
    length = math.fsum(channel.path.length for channel in channels)
    if length < _SHORTEST_MM:
        return Tidiness(0.0, 0.0, 0.0)
    pieces = [
        (k, np.array(segment.start), np.array(segment.end), channel.item.width_mm)
        for k, channel in enumerate(channels)
        for segment in channel.path.segments
        if segment.straight and math.dist(segment.start, segment.end) >= _SHORTEST_MM
    ]
    return Tidiness(
        min(_parallel(pieces, list(_arcs(channels))) / length, 1.0),
        min(_along_edges(shapes, pieces) / length, 1.0),
        min(_mirrored(shapes, channels) / length, 1.0),
    )


Piece = tuple[int, "np.ndarray", "np.ndarray", float]


Arc = tuple[int, Point, float, float, float]


def _arcs(channels: Sequence[ChannelShape]) -> Iterator[Arc]:
    """The bends: number of the channel, centre, radius, length, and the channel's width."""
    for k, channel in enumerate(channels):
        for segment in channel.path.segments:
            if not segment.straight:
                yield k, segment.centre, segment.radius, segment.length, channel.item.width_mm


def _parallel(pieces: Sequence[Piece], arcs: Sequence[Arc] = ()) -> float:
    """Length of straight pieces and bends that run beside one of another channel at the spacing that is commonest,
    mm; bends do so about one centre."""
    pairs: list[tuple[float, float]] = []
    for (k, a, b, width), (m, c, d, other) in combinations(pieces, 2):
        if k == m:
            continue
        along = (b - a) / np.hypot(*(b - a))
        across = np.array([-along[1], along[0]])
        if abs(across @ (d - c)) > math.sin(math.radians(_PARALLEL_DEG)) * np.hypot(*(d - c)):
            continue
        apart = abs(float(across @ (c + d - a - b))) / 2
        if not 0 < apart <= PAIR_WIDTHS * max(width, other):
            continue
        ends = sorted((float(along @ (c - a)), float(along @ (d - a))))
        beside = min(ends[1], float(along @ (b - a))) - max(ends[0], 0.0)
        if beside >= _SHORTEST_MM:
            pairs.append((apart, beside))
    for (k, centre, radius, length, width), (m, middle, larger, longer, other) in combinations(arcs, 2):
        apart = abs(larger - radius)
        near = math.dist(centre, middle) <= _SAME_MM and 0 < apart <= PAIR_WIDTHS * max(width, other)
        # Of the same turn, one is longer as its radius is.
        if k != m and near and abs(length / radius - longer / larger) <= math.radians(_PARALLEL_DEG):
            pairs.append((apart, (length + longer) / 2))
    count: Counter[int] = Counter()
    for apart, beside in pairs:
        count[round(apart / _SAME_MM)] += round(beside)
    if not count:
        return 0.0
    usual = max(count, key=lambda step: (count[step - 1] + count[step] + count[step + 1], -step)) * _SAME_MM
    # A pair is two channels; one channel between two others counts once for either.
    return 2 * math.fsum(beside for apart, beside in pairs if abs(apart - usual) <= _SAME_MM)


def _along_edges(shapes: Shapes, pieces: Sequence[Piece]) -> float:
    """Length of straight pieces at one distance from an edge, mm."""
    edges = [shapely.boundary(shapely.make_valid(shapes.plate_polygon))]
    edges += [shapely.boundary(shapely.make_valid(area.polygon)) for area in shapes.cutouts.values()]
    found = 0.0
    for _, a, b, width in pieces:
        places = shapely.points([a + (b - a) * share for share in (0.02, 0.25, 0.5, 0.75, 0.98)])
        length = float(np.hypot(*(b - a)))
        shares = []
        for edge in edges:
            apart = shapely.distance(edge, places)
            near = apart <= _REACH_WIDTHS * width
            # The piece may run on beyond the end of what it follows.
            level = near & (np.abs(apart - apart.min()) <= _SAME_MM)
            shares.append(float(level.mean()) if level.sum() >= 3 else 0.0)
        found += length * max(shares)
    return found


def _mirrored(shapes: Shapes, channels: Sequence[ChannelShape]) -> float:
    """Length of the channels that lies on their mirror image, about the line for which it is most, mm."""
    lines = shapely.union_all([LineString(c.path.points(0.05)) for c in channels if c.path.segments])
    ends: list[Point] = [end for c in channels if c.path.segments for end in (c.path.start, c.path.end)]
    left, front, right, rear = shapes.plate_polygon.bounds
    found = 0.0
    for k, middle in ((0, (left + right) / 2), (1, (front + rear) / 2)):
        halves = Counter(round((a[k] + b[k]) / 2, 1) for a, b in combinations(ends, 2))
        for at in {middle, *(half for half, _ in halves.most_common(6))}:
            flip = [-1, 0, 0, 1, 2 * at, 0] if k == 0 else [1, 0, 0, -1, 0, 2 * at]
            image = shapely.buffer(affinity.affine_transform(lines, flip), 2 * _SAME_MM, quad_segs=2)
            # What lies on the line itself is its own image, whatever it is.
            on = shapely.box(at - 1, -1e5, at + 1, 1e5) if k == 0 else shapely.box(-1e5, at - 1, 1e5, at + 1)
            found = max(found, float(shapely.difference(shapely.intersection(lines, image), on).length))
    return found
