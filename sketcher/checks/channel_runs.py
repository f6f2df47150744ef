"""Does it hold: channels against themselves, against the channels they meet, and against their own ports.

Where a passage is meant to be near another one, nearness is judged along the way: two places that are far apart along
the coolant's way and near in plan have a wall between them.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations

import shapely

from sketcher.checks import moving_apart
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene, at_least
from sketcher.checks.walls import SHORT, middle
from sketcher.findings import PRACTICE, Finding, Fix, Point, Rule, mm, pair, ways
from sketcher.geometry.along import STRAIGHT_ENOUGH_DEG, nearest_to_itself, nearest_to_other, turning_deg
from sketcher.geometry.path import TOLERANCE_MM, Path, part
from sketcher.geometry.prisms import Prism
from sketcher.geometry.shapes import ChannelShape, PortShape

#: Two channels that meet are held apart beyond so many times the width and the wall, to either side of the meeting.
BEYOND = 1.5


@rules(
    Rule("wall-channel-itself", "holds", "Wall between two legs of one channel", 3.0, "mm", SHORT, PRACTICE),
    named=True,
)
def within_a_channel(scene: Scene) -> Iterator[Finding]:
    """A channel that comes near itself: the thinnest wall between places farther apart along it than half a circle."""
    limit = at_least(scene.limit("wall-channel-itself"))
    for id_, channel in scene.shapes.channels.items():
        if turning_deg(channel.path) <= STRAIGHT_ENOUGH_DEG:
            continue
        need = channel.item.width_mm + limit
        ring = channel.item.start is not None and channel.item.start == channel.item.end
        near = nearest_to_itself(channel.path, math.pi / 2 * need, ring)
        if near is None or near[0] >= need - 1e-6:
            continue
        value, line = max(near[0] - channel.item.width_mm, 0.0), near[1]
        yield Finding(
            rule="wall-channel-itself",
            level="error",
            items=(id_,),
            value=value,
            limit=limit,
            unit="mm",
            at=middle(line),
            line=line,
            message=f"Two legs of the channel {id_} are {mm(value)} apart; {mm(limit)} is the minimum."
            if value > 0
            else f"The channel {id_} runs into itself.",
            remedy=f"Move the legs {mm(need - near[0])} apart, or make the channel narrower.",
            **ways(*_legs(scene, id_, line, need - near[0])),
        )


def _legs(scene: Scene, id_: str, line: tuple[Point, Point], missing: float) -> list[Fix | None]:
    """One of two legs moved away from the other, or the channel made narrower."""
    (x0, y0), (x1, y1) = line
    size = math.dist(*line)
    by = ((x1 - x0) / size * (missing + 0.01), (y1 - y0) / size * (missing + 0.01)) if size > 1e-6 else (0.0, 0.0)
    return [
        moving_apart.moved(scene, id_, by, line[1]),
        moving_apart.moved(scene, id_, (-by[0], -by[1]), line[0]),
        moving_apart.narrower(scene, id_, missing + 0.01),
    ]


@rules(named=True)  # the rules are registered with the walls between items
def where_channels_meet(scene: Scene) -> Iterator[Finding]:
    """Channels that meet at a port or a branch, beyond the meeting; and channels that come back to their own port."""
    at_end: dict[str, list[ChannelShape]] = defaultdict(list)
    for channel in scene.shapes.channels.values():
        for end in ends_of(channel):
            at_end[end].append(channel)
    done: set[tuple[str, str]] = set()
    for end, members in at_end.items():
        for one, other in combinations(members, 2):
            key = pair(one.item.id, other.item.id)
            if key not in done and one.path.segments and other.path.segments:
                done.add(key)
                yield from _two(scene, one, other, end)
        port = scene.shapes.ports.get(end)
        for channel in members if port is not None else ():
            if turning_deg(channel.path) > STRAIGHT_ENOUGH_DEG:
                assert port is not None
                yield from _back_at_port(scene, channel, port)


def ends_of(channel: ChannelShape) -> set[str]:
    """The ports and branches at a channel's ends."""
    return {id_ for id_ in (channel.item.start, channel.item.end) if id_ is not None}


def _from(channel: ChannelShape, end: str) -> Path:
    """A channel's path, beginning at one of its ends."""
    return channel.path if channel.item.start == end else channel.path.reversed()


def _two(scene: Scene, one: ChannelShape, other: ChannelShape, end: str) -> Iterator[Finding]:
    limit = at_least(scene.limit("wall-channel-channel"))
    widths = (one.item.width_mm + other.item.width_mm) / 2
    need = widths + limit
    both = len(ends_of(one) & ends_of(other)) > 1
    near = nearest_to_other(_from(one, end), _from(other, end), 2 * BEYOND * need, both)
    if near is None or near[0] >= need - 1e-6:
        return
    value, line = max(near[0] - widths, 0.0), near[1]
    items = pair(one.item.id, other.item.id)
    yield Finding(
        rule="wall-channel-channel",
        level="error",
        items=items,
        value=value,
        limit=limit,
        unit="mm",
        at=middle(line),
        line=line,
        message=f"Beyond {end}, where they meet, the channels {items[0]} and {items[1]} "
        + (f"are {mm(value)} apart; {mm(limit)} is the minimum." if value > 0 else "run into each other."),
        remedy=f"Move one of them {mm(need - near[0])} away, or make one narrower.",
        **ways(*(moving_apart.narrower(scene, id_, 2 * (need - near[0]) + 0.01) for id_ in items)),
    )


def _back_at_port(scene: Scene, channel: ChannelShape, port: PortShape) -> Iterator[Finding]:
    limit = at_least(scene.limit("wall-channel-port"))
    radius = max(port.thread_diameter, port.bore_diameter) / 2
    half = channel.item.width_mm / 2
    start = math.pi / 2 * (half + radius + limit)
    path, last = _from(channel, port.item.id), channel.path.length
    if channel.item.start == channel.item.end:
        last -= start
    if last - start < 1e-3:
        return
    core = shapely.LineString(part(path, start, last).points(TOLERANCE_MM / 4))
    rest = Prism(channel.item.id, "channel", channel.polygon, channel.low, channel.high, core, half)
    parts = [replace(prism, core=prism.core or prism.polygon) for prism in _cut_for(port)]
    value, nearest = min(((prism.distance(rest), prism) for prism in parts), key=lambda row: row[0])
    if value >= limit - 1e-6:
        return
    start_, end_ = shapely.shortest_line(nearest.polygon, core).coords
    line: tuple[Point, Point] = ((start_[0], start_[1]), (end_[0], end_[1]))
    yield Finding(
        rule="wall-channel-port",
        level="error",
        items=pair(channel.item.id, port.item.id),
        value=value,
        limit=limit,
        unit="mm",
        at=middle(line),
        line=line,
        message=f"The channel {channel.item.id} comes back to {mm(value)} from its own port {port.item.id}; "
        f"{mm(limit)} is the minimum."
        if value > 0
        else f"The channel {channel.item.id} runs into its own port {port.item.id} from the side.",
        remedy=f"Lead it past at least {mm(limit - value)} farther away.",
    )


def _cut_for(port: PortShape) -> list[Prism]:
    return [prism for prism in (port.thread_prism, port.bore_prism, port.point) if prism is not None]
