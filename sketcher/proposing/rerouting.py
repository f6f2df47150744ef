"""Channels laid again while something is moved: those that end at it, and those that it would hit.

One at a time, in the style that each is drawn in, all else as it is; quick enough to follow a hand. The rules judge
what comes of it, as ever.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely import LineString

from sketcher.document import Document, to_plain, with_changes
from sketcher.document.plate import Channel
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.geometry.shapes import ChannelShape
from sketcher.proposing import lattice as lattices
from sketcher.proposing.courses import Course, Style, course_or_way
from sketcher.proposing.lattice import Lattice
from sketcher.proposing.negotiation import Ground, Net, Prices, lay
from sketcher.proposing.nets import net_of, roots_of
from sketcher.proposing.rule_distances import Clearances, Section
from sketcher.proposing.writing import points_of

#: About so many nodes, so that a hand does not wait; the pitch stays between these, mm.
_NODES, _FINEST_MM, _COARSEST_MM = 3_000, 2.0, 8.0
_STRAIGHT_DEG = 0.5


@dataclass(frozen=True)
class Rerouted:
    """The plate with some channels laid again; those that found no way stay as they were."""

    document: Document
    channels: tuple[str, ...]
    left: tuple[str, ...]

    def as_json(self) -> dict[str, Any]:
        """Plain data: the channels that were laid again, whole, and the ids of those that were not."""
        laid = set(self.channels)
        rows = to_plain(self.document).get("channels", [])
        return {"channels": [row for row in rows if row["id"] in laid], "left": list(self.left)}


def reroute(document: Document, moved: frozenset[str], stop: Callable[[], bool] = lambda: False) -> Rerouted:
    """Channels laid again around what was moved.

    Args:
        document: the plate with the items where they are now.
        moved: ids of what was moved.
        stop: asked between channels; true leaves the rest as they are.

    Locked channels stay, as do those with an open end.
    """
    shapes, limits = build(document), limits_of(document)
    waiting = list(_touched(document, moved, limits))
    laid: dict[str, Channel] = {}
    left: list[str] = []
    while waiting:
        id_ = waiting.pop(0)
        # Those that wait are no hindrance: they are laid after it, around it.
        kept = [laid.get(c.id, c) for c in document.channels if c.id != id_ and c.id not in waiting]
        new = None if stop() else _laid(with_changes(document, channels=kept), shapes.channels[id_], limits)
        if new is None:
            left.append(id_)
        else:
            laid[id_] = new
    channels = [laid.get(c.id, c) for c in document.channels]
    done = with_changes(document, channels=channels) if laid else document
    return Rerouted(done, tuple(laid), tuple(left))


def _touched(document: Document, moved: frozenset[str], limits: dict[str, float]) -> Iterator[str]:
    """Unlocked channels that end at what was moved or come too near to it."""
    shapes = build(document)
    clear: dict[Section, Clearances] = {}
    for id_, channel in shapes.channels.items():
        item = channel.item
        if item.locked or item.start is None or item.end is None or item.start == item.end or id_ in moved:
            continue
        if {item.start, item.end} & moved:
            yield id_
            continue
        section = Section(item.width_mm, item.depth_mm)
        if section not in clear:
            clear[section] = Clearances(document, shapes, limits, section, roomy=False)
        tight = clear[section]
        if not channel.path.segments:
            continue
        line = LineString(channel.path.points(0.05))
        named = zip(tight.obstacles, tight.grown, strict=True)
        ends = {item.start, item.end}
        if any(o.id in moved and o.id not in ends and shapely.intersects(area, line) for o, area in named):
            yield id_


def _laid(bare: Document, channel: ChannelShape, limits: dict[str, float]) -> Channel | None:
    """One channel laid again between its ends, on the plate without it; none when there is no way."""
    item = channel.item
    assert item.start is not None
    assert item.end is not None
    shapes = build(bare)
    section = Section(item.width_mm, item.depth_mm)
    tight = Clearances(bare, shapes, limits, section, roomy=False)
    roots = roots_of(bare, shapes)
    net = net_of(((item.start,), (item.end,)), item.width_mm, shapes.channels.values(), roots, tight)
    style = style_of(channel)
    over = _lattice(tight, net, roots, style)
    ground = Ground(over, tight, tight)
    found = lay(over, net, ground.costs(net), Prices(), ground.closed_by)
    if found.missing or not found.legs:
        return None
    way = over.points(found.legs[0].nodes)
    if found.legs[0].start != item.start:
        way = way[::-1]
    free = shapely.union_all([tight.free(frozenset(net.own), net.beside), shapely.buffer(LineString(way), 0.01)])
    return _written(item, course_or_way(way, free, style, tight.least_radius_mm))


def _lattice(tight: Clearances, net: Net, roots: dict[str, tuple[float, float]], style: Style) -> Lattice:
    ends = {id_: roots[id_] for id_ in net.ends}
    area = tight.inside.envelope.area if not tight.inside.is_empty else 0.0
    pitch = min(max(math.ceil(math.sqrt(area / _NODES)), _FINEST_MM), _COARSEST_MM)
    if style == "free":
        return lattices.even(tight.inside, pitch, ends)
    left, front, right, rear = (0.0, 0.0, 0.0, 0.0) if tight.inside.is_empty else tight.inside.bounds
    xs = [*np.arange(math.ceil(left), right, pitch), *(x for x, _ in ends.values())]
    ys = [*np.arange(math.ceil(front), rear, pitch), *(y for _, y in ends.values())]
    return lattices.square(tight.inside, xs, ys, ends)


def style_of(channel: ChannelShape) -> Style:
    """The style that a channel is drawn in: along x and y, at 45° too, or free."""
    turns = [math.degrees(s.direction()) for s in channel.path.segments if s.straight]
    for style, step in (("square", 90.0), ("diagonal", 45.0)):
        if all(abs((turn + step / 2) % step - step / 2) <= _STRAIGHT_DEG for turn in turns):
            return "square" if style == "square" else "diagonal"
    return "free"


def _written(item: Channel, tidy: Course) -> Channel:
    points, usual = points_of(tidy)
    return item.model_copy(update={"points": tuple(points), "bend_radius_mm": usual})
