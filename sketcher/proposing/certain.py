"""Connections that certainly stay open, found before any search: no time goes into them, and the reason is known."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import combinations

import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.document.joined import joined_parts, open_connections
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.proposing.crossing import Crossing, crossings, set_aside
from sketcher.proposing.negotiation import Net
from sketcher.proposing.nets import net_of, roots_of
from sketcher.proposing.rule_distances import Clearances, Section

#: A port has its stub, so long at the most, mm: further from the open ground no channel leaves it.
_STUB_MM = 14.0
#: Two ports nearer than this are in one place, mm.
SAME_MM = 0.1


@dataclass(frozen=True)
class Certain:
    """A connection that cannot be joined: its ports, and the connection that it must cross, when that is why."""

    ports: tuple[str, ...]
    crossing: Crossing | None = None
    first: bool = False

    @property
    def why(self) -> str:
        """The reason in words; empty where ``stuck`` is to find it out."""
        if self.crossing is None:
            return ""
        a, c, b, d = self.crossing.ports
        mine, other = ((a, b), (c, d)) if self.first else ((c, d), (a, b))
        return (
            f"The ways from {mine[0]} to {mine[1]} and from {other[0]} to {other[1]} exclude each other: they would "
            f"cross, because along the edge their ports come in the order {a}, {c}, {b}, {d}."
        )


def certainly_open(document: Document, section: Section) -> list[Certain]:
    """What no channel of a section can join: ports in separate pieces of the open ground, and of two connections
    that must cross the one that was named later."""
    shapes = build(document)
    tight = Clearances(document, shapes, limits_of(document), section, roomy=False)
    roots = roots_of(document, shapes)
    whole = {id_: tuple(part) for part in joined_parts(document) for id_ in part}
    connections = open_connections(document)
    nets: list[Net] = []
    for connection in connections:
        parts = tuple((part[0], *(id_ for id_ in whole[part[0]] if id_ != part[0])) for part in connection)
        nets.append(net_of(parts, section.width_mm, shapes.channels.values(), roots, tight))
    found: dict[int, Crossing | None] = {
        n: None for n, net in enumerate(nets) if _same_place(net, roots) or not _in_one_piece(net, tight, roots)
    }
    crossed = [one for one in crossings(nets, tight, roots) if one.first not in found and one.second not in found]
    for n in set_aside(crossed):
        found[n] = next(one for one in crossed if n in (one.first, one.second))
    return [
        Certain(tuple(id_ for part in connections[n] for id_ in part), one, one is not None and n == one.first)
        for n, one in sorted(found.items())
    ]


def _same_place(net: Net, roots: dict[str, tuple[float, float]]) -> bool:
    return any(
        math.dist(roots[a], roots[b]) < SAME_MM for one, other in combinations(net.parts, 2) for a in one for b in other
    )


def _in_one_piece(net: Net, tight: Clearances, roots: dict[str, tuple[float, float]]) -> bool:
    """Whether one piece of the open ground reaches every part of a net."""
    pieces: list[BaseGeometry] = shapely.get_parts(tight.free(frozenset(net.own), net.beside)).tolist()
    places = [shapely.MultiPoint([roots[id_] for id_ in part]) for part in net.parts]
    reached = [{k for k, piece in enumerate(pieces) if shapely.dwithin(piece, place, _STUB_MM)} for place in places]
    # Parts are joined one after another: through a piece that both reach.
    joined, waiting = reached[0], reached[1:]
    while waiting:
        near = next((k for k, other in enumerate(waiting) if joined & other), None)
        if near is None:
            return False
        joined = joined | waiting.pop(near)
    return True
