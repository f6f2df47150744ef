"""Connections of which no plate could have both: their ports come by turns along one edge of the open ground.

Two curves in a disc whose ends alternate on its rim meet (a consequence of the Jordan curve theorem). The disc is the
ground where centrelines may run, its holes filled; a port is on its rim when the room about it, where no other
connection's channel may run, reaches that far. What is found this way is certain; what is not found may still cross.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely import LinearRing, Polygon, affinity
from shapely.geometry.base import BaseGeometry

from sketcher.geometry.path import Point
from sketcher.proposing.negotiation import Net
from sketcher.proposing.rule_distances import Clearances

#: Ports nearer than this along the rim are not told apart, mm.
_APART_MM = 12.0
#: A port in an edge lies so near to the rim, in widths of a channel.
_STUB = 2.0


@dataclass(frozen=True)
class Crossing:
    """Two nets, by number, the four ports that come by turns (the first net's, the other's, and so on), and how it was
    found."""

    first: int
    second: int
    ports: tuple[str, str, str, str]
    pair: Pair

    def stays(self, id_: str, dx_mm: float, dy_mm: float) -> bool:
        """Whether the two must cross even when one of their ports is moved so far."""
        return self.pair.by_turns({id_: (dx_mm, dy_mm)}) is not None


class Pair:
    """Two nets on the ground that neither has to itself.

    Args:
        one, other: the nets.
        tight: what channels keep clear of.
        roots: where channels reach ports, mm.
    """

    def __init__(self, one: Net, other: Net, tight: Clearances, roots: Mapping[str, Point]) -> None:
        self.mine, self.theirs, self.roots = _single(one), _single(other), roots
        self._stub_mm = _STUB * tight.section.width_mm
        if len(self.mine) < 2 or len(self.theirs) < 2:
            return
        # What either may touch stands in nobody's way here: the ground is rather too large, and the claim too weak.
        self._rims = list(_rims(tight.free(frozenset((*one.own, *other.own)))))
        self._room: dict[str, BaseGeometry] = {}
        for obstacle, area in zip(tight.obstacles, tight.grown, strict=True):
            if obstacle.id in roots:
                before = self._room.get(obstacle.id)
                self._room[obstacle.id] = area if before is None else shapely.union(before, area)

    def by_turns(self, moved: Mapping[str, Point]) -> tuple[str, str, str, str] | None:
        """Four ports, two of either net, that come by turns along a rim; some moved by so much, mm."""
        if len(self.mine) < 2 or len(self.theirs) < 2:
            return None
        for rim in self._rims:
            at = dict(self._on(rim, moved))
            for a, b in combinations([id_ for id_ in self.mine if id_ in at], 2):
                for c, d in combinations([id_ for id_ in self.theirs if id_ in at], 2):
                    if _alternate(at[a], at[b], at[c], at[d], rim.length):
                        return a, c, b, d
        return None

    def _on(self, rim: LinearRing, moved: Mapping[str, Point]) -> Iterator[tuple[str, float]]:
        """The ports on a rim, with how far along it, mm."""
        disc = Polygon(rim)
        for id_ in (*self.mine, *self.theirs):
            dx, dy = moved.get(id_, (0.0, 0.0))
            x, y = self.roots[id_]
            place = shapely.Point(x + dx, y + dy)
            nearest = float(shapely.distance(rim, place))
            if not disc.covers(place):
                held = nearest < self._stub_mm
            elif id_ in self._room:
                # Nothing passes between the port and the rim: the straight way there lies in the port's own room.
                room = affinity.translate(self._room[id_], dx, dy)
                held = bool(shapely.covers(room, shapely.shortest_line(place, rim)))
            else:
                held = nearest < 1e-6
            if held:
                yield id_, float(rim.project(place))


def crossings(nets: Sequence[Net], tight: Clearances, roots: Mapping[str, Point]) -> list[Crossing]:
    """All pairs of nets that must cross; arguments as for ``Pair``."""
    found = []
    for m, n in combinations(range(len(nets)), 2):
        pair = Pair(nets[m], nets[n], tight, roots)
        ports = pair.by_turns({})
        if ports is not None:
            found.append(Crossing(m, n, ports, pair))
    return found


def _single(net: Net) -> list[str]:
    """Ports that no channel reaches yet: one that is joined may be met anywhere along its channels."""
    return [part[0] for part in net.parts if len(part) == 1 and not net.leaving.get(part[0])]


def _rims(ground: BaseGeometry) -> Iterator[LinearRing]:
    for piece in shapely.get_parts(ground).tolist():
        if isinstance(piece, Polygon) and not piece.is_empty:
            yield LinearRing(piece.exterior)


def _alternate(a: float, b: float, c: float, d: float, length: float) -> bool:
    """Whether a and b part c from d along a ring, with room to spare between each."""
    around = sorted((a, b, c, d))
    gaps = [(after - before) % length for before, after in zip(around, [*around[1:], around[0]], strict=True)]
    if min(gaps) < _APART_MM:
        return False
    low, high = min(a, b), max(a, b)
    return (low < c < high) != (low < d < high)


def set_aside(found: Sequence[Crossing]) -> list[int]:
    """The nets to leave out so that no two of the others must cross: of those in most crossings, the last."""
    left, aside = list(found), list[int]()
    while left:
        counts: dict[int, int] = {}
        for one in left:
            for net in (one.first, one.second):
                counts[net] = counts.get(net, 0) + 1
        worst = max(counts, key=lambda net: (counts[net], net))
        aside.append(worst)
        left = [one for one in left if worst not in (one.first, one.second)]
    return sorted(aside)
