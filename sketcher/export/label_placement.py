"""Labels on a drawing, each beside what it names and over nothing else: on the page, mm, y up.

A label stands as near as there is room, tried in rings about its place; one that stands away from it has a leader.
Those that are placed first keep their places, so what matters most comes first.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry, LineString

from sketcher.geometry.path import Point

#: How far a label's box keeps from everything, mm.
CLEAR_MM = 0.5
#: Distances from the edge of what is named, mm; beyond the first few a leader leads to it.
RINGS_MM = (0.7, 1.5, 3.0, 5.0, 7.5, 10.5, 14.0, 18.0, 23.0, 29.0)
LEADER_FROM_MM = 2.5
#: Directions in the order in which they are tried.
_WAYS = [
    (math.cos(math.radians(angle)), math.sin(math.radians(angle)))
    for angle in (45, 135, -45, -135, 0, 180, 90, -90, 22, 158, -22, -158, 67, 113, -67, -113)
]
Box = tuple[float, float, float, float]


@dataclass(frozen=True)
class Label:
    """What is to be written: at a place, about something of a radius; width and height of the words, mm."""

    words: str
    at: Point
    radius: float
    width: float
    height: float


@dataclass(frozen=True)
class Placed:
    """A label's foot left corner, and its leader when it has one."""

    label: Label
    at: Point
    leader: tuple[Point, Point] | None


class Placer:
    """Places labels within ``bounds`` (left, foot, right, top), clear of lines, boxes and each other."""

    def __init__(self, bounds: Box, obstacles: Sequence[Geometry] = (), taken: Iterable[Box] = ()) -> None:
        self.bounds = bounds
        self._tree = shapely.STRtree(list(obstacles))
        self._boxes: list[Box] = list(taken)
        self._leaders: list[LineString] = []

    def place(self, labels: Iterable[Label]) -> Iterator[Placed]:
        """The labels that found room, in the order given."""
        for label in labels:
            found = next(self._free(label), None)
            if found is not None:
                x, y = found.at
                self._boxes.append((x, y, x + label.width, y + label.height))
                if found.leader is not None:
                    self._leaders.append(LineString(found.leader))
                yield found

    def _free(self, label: Label) -> Iterator[Placed]:
        (cx, cy), wide, high = label.at, label.width / 2, label.height / 2
        left, foot, right, top = self.bounds
        boxes = np.array(self._boxes).reshape(-1, 4)
        for ring in RINGS_MM:
            for ux, uy in _WAYS:
                # The box's middle, so far out that its nearest side is at the ring.
                reach = label.radius + ring + min(wide / max(abs(ux), 1e-9), high / max(abs(uy), 1e-9))
                x, y = cx + ux * reach - wide, cy + uy * reach - high
                box = (x - CLEAR_MM, y - CLEAR_MM, x + label.width + CLEAR_MM, y + label.height + CLEAR_MM)
                if box[0] < left or box[1] < foot or box[2] > right or box[3] > top or self._taken(box, boxes):
                    continue
                leader = _leader(label, (x, y)) if ring > LEADER_FROM_MM else None
                if leader is None or not _crosses(leader, boxes):
                    yield Placed(label, (x, y), leader)

    def _taken(self, box: Box, boxes: NDArray[np.float64]) -> bool:
        over = (boxes[:, 0] < box[2]) & (boxes[:, 2] > box[0]) & (boxes[:, 1] < box[3]) & (boxes[:, 3] > box[1])
        if over.any():
            return True
        area = shapely.box(*box)
        if len(self._tree.query(area, predicate="intersects")):
            return True
        return bool(self._leaders) and bool(shapely.intersects(np.array(self._leaders), area).any())


def _leader(label: Label, at: Point) -> tuple[Point, Point]:
    """From the near side of the words to the edge of what they name."""
    (cx, cy), (x, y) = label.at, at
    start = (min(max(cx, x - 0.3), x + label.width + 0.3), min(max(cy, y - 0.3), y + label.height + 0.3))
    share = label.radius / (math.dist(start, label.at) or 1.0)
    return start, (cx + (start[0] - cx) * share, cy + (start[1] - cy) * share)


def _crosses(leader: tuple[Point, Point], boxes: NDArray[np.float64]) -> bool:
    """Whether a leader runs over words; only boxes that reach into its own box are looked at closely."""
    (x0, y0), (x1, y1) = leader
    near = (boxes[:, 0] < max(x0, x1)) & (boxes[:, 2] > min(x0, x1)) & (boxes[:, 1] < max(y0, y1)) & (
        boxes[:, 3] > min(y0, y1))  # fmt: skip
    return bool(near.any()) and bool(shapely.intersects(shapely.box(*boxes[near].T), LineString(leader)).any())
