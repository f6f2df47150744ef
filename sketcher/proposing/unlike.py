"""Other ways for what has one already: a connection kept off the courses it was given, so that it finds another."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.geometry import build
from sketcher.proposing.attempt import Table
from sketcher.proposing.lattice import Floats
from sketcher.proposing.ranking import APART_MM, Proposal
from sketcher.proposing.sound import connections_of

#: What a length costs within reach of a course that is to be kept off, and how far that reach goes, mm. Beyond it a
#: course counts as another one.
_SHUNNED, _REACH_MM = 4.0, APART_MM + 2.0
#: So many connections have their turn in one round.
_AT_ONCE = 3

Shunned = Mapping[int, Floats]


def unlike(table: Table, base: Document, proposals: Sequence[Proposal], turn: int) -> Iterator[Shunned]:
    """What to keep off for layouts that differ: one connection off its courses, then another, then all of them.

    Args:
        table: the lattice that they are to be laid over.
        base: the plate before anything was proposed.
        proposals: what was found; courses of all of them are kept off.
        turn: how often that was done before: other connections have their turn.
    """
    bands = [_bands(one.document, base) for one in proposals]
    by_net: dict[int, Floats] = {}
    for n, net in enumerate(table.nets):
        number = next((k for k, ports in enumerate(base.loop.connections) if net.ports[0] in ports), -1)
        areas = [band[number] for band in bands if number in band]
        if areas:
            times = np.ones(len(table.lattice.tails))
            times[table.lattice.touching(shapely.union_all(areas))] = _SHUNNED
            by_net[n] = times
    order = sorted(by_net)
    for k in range(min(_AT_ONCE, len(order))):
        n = order[(turn * _AT_ONCE + k) % len(order)]
        yield {n: by_net[n]}
    if len(order) > 1:
        yield by_net


def _bands(document: Document, base: Document) -> dict[int, BaseGeometry]:
    """By the number of its connection, the ground about the new channels of each."""
    number = connections_of(document, base)
    lines: dict[int, list[BaseGeometry]] = {}
    for id_, channel in build(document).channels.items():
        if id_ in number and channel.path.segments:
            lines.setdefault(number[id_], []).append(LineString(channel.path.points(0.1)))
    return {k: shapely.buffer(shapely.union_all(found), _REACH_MM, quad_segs=4) for k, found in lines.items()}
