"""The life of the loop in the plate: filling, emptying, air that stays, metals that do not agree.

Air: water that is filled in drives it up. A place keeps its air when every way from it to a port goes down first. On
the net of centrelines that is a bottleneck: B(place) is the largest, over all ways to all ports, of the lowest point on
the way; what a place stands above it, keeps its air. The same net turned upside down tells what stays wet when the
plate is emptied.
"""

from __future__ import annotations

import heapq
import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from sketcher.document.union_find import grouped
from sketcher.reference import metals

Point = tuple[float, float]
#: Copper and aluminium differ by 0.55 V on the index; within 0.25 V metals agree in a normal, not controlled
#: environment (the usual reading of the anodic index).
AGREE_V = 0.25


@dataclass(frozen=True)
class Way:
    """A channel as a line of points, from one end to the other; the ends' names join channels and ports."""

    id: str
    start: str | None
    end: str | None
    points: tuple[Point, ...]


@dataclass(frozen=True)
class AirPocket:
    """A place that keeps its air: where, how high above the way out (mm), in which channels."""

    at: Point
    height_mm: float
    items: tuple[str, ...]


def regions(ways: Sequence[Way], ports: Iterable[str]) -> list[tuple[frozenset[str], frozenset[str]]]:
    """Wet regions: channels that hang together, and the ports they reach, as pairs of sets of ids."""
    # Ends and channels may share a name; a channel stands here as the second of a pair.
    channels = [("", way.id) for way in ways]
    ends = [((end, ""), ("", way.id)) for way in ways for end in (way.start, way.end) if end is not None]
    reaches = {way.id: [end for end in (way.start, way.end) if end is not None] for way in ways}
    known = set(ports)
    return [
        (
            frozenset(id_ for _, id_ in group),
            frozenset(end for _, id_ in group for end in reaches[id_] if end in known),
        )
        for group in grouped(channels, ends)
    ]


def air_pockets(
    ways: Sequence[Way], outlets: Mapping[str, Point], up: Point, *, least_mm: float = 1.0
) -> list[AirPocket]:
    """Places that keep their air when the direction ``up`` (a vector in plan) points up: the case lies on a side.

    Args:
        ways: the channels.
        outlets: places of the ports that let air out, by id.
        up: direction that is up, in plan; need not be a unit vector.
        least_mm: pockets lower than this are left out.

    One pocket is given for each top of the net, the highest first.
    """
    size = math.hypot(*up)
    ux, uy = up[0] / size, up[1] / size

    def height(place: Point) -> float:
        return place[0] * ux + place[1] * uy

    net = _net(ways)
    heights = {name: height(place) for name, place in net.places.items()}
    ways_out = _ways_out(net, heights, {name: height(place) for name, place in outlets.items()})
    found = []
    for node, place in net.places.items():
        here = heights[node]
        if any(heights[other] > here + 1e-9 for other in net.next_to[node]):
            continue
        way_out = ways_out.get(node)
        if way_out is None:
            way_out = min(heights[other] for other in _together(node, net.next_to))
        if here - way_out >= least_mm:
            found.append(AirPocket(place, here - way_out, tuple(sorted(net.owners[node]))))
    return _one_each(sorted(found, key=lambda pocket: -pocket.height_mm))


@dataclass(frozen=True)
class _Net:
    """Channels as nodes (ends by name, inner points by channel and number), what is next to each, and whose it is."""

    places: dict[object, Point]
    next_to: dict[object, list[object]]
    owners: dict[object, set[str]]


def _net(ways: Sequence[Way]) -> _Net:
    net = _Net({}, {}, {})
    for way in ways:
        last = len(way.points) - 1
        before: object | None = None
        for index, place in enumerate(way.points):
            name: object = (way.id, index)
            if index == 0 and way.start is not None:
                name = way.start
            elif index == last and way.end is not None:
                name = way.end
            net.places[name] = place
            net.owners.setdefault(name, set()).add(way.id)
            net.next_to.setdefault(name, [])
            if before is not None and before != name:
                net.next_to[name].append(before)
                net.next_to[before].append(name)
            before = name
    return net


def _ways_out(net: _Net, heights: Mapping[object, float], outlets: Mapping[str, float]) -> dict[object, float]:
    """For each node with a way to an outlet, how low the best such way dips: a search by the widest bottleneck."""
    lowest: dict[object, float] = {}
    queue: list[tuple[float, int, object]] = []
    for number, (name, height) in enumerate(outlets.items()):
        if name in net.places:
            heapq.heappush(queue, (-height, number, name))
    number = len(outlets)
    while queue:
        low, _, node = heapq.heappop(queue)
        if node in lowest:
            continue
        lowest[node] = -low
        for other in net.next_to[node]:
            if other not in lowest:
                number += 1
                heapq.heappush(queue, (-min(-low, heights[other]), number, other))
    return lowest


def _together(node: object, next_to: Mapping[object, Sequence[object]]) -> set[object]:
    seen, waiting = {node}, [node]
    while waiting:
        for other in next_to[waiting.pop()]:
            if other not in seen:
                seen.add(other)
                waiting.append(other)
    return seen


def _one_each(pockets: Sequence[AirPocket]) -> list[AirPocket]:
    """Level tops (a straight level channel) give one pocket, not one for each of its points."""
    kept: list[AirPocket] = []
    heights: dict[str, list[float]] = {}
    for pocket in pockets:
        if not any(abs(pocket.height_mm - other) < 0.01 for item in pocket.items for other in heights.get(item, ())):
            kept.append(pocket)
            for item in pocket.items:
                heights.setdefault(item, []).append(pocket.height_mm)
    return kept


@dataclass(frozen=True)
class Couple:
    """Two metals of one loop: the less noble one is eaten; ``volts`` is how far apart they are."""

    eaten: str
    by: str
    volts: float


def dissimilar(names: Iterable[str], agree_v: float = AGREE_V) -> list[Couple]:
    """Pairs of wetted metals that differ by more than ``agree_v`` on the anodic index, the worst first."""
    known = sorted({name for name in names if name != "none"}, key=lambda name: metals.metal(name).anodic_index_v)
    found = []
    for index, noble in enumerate(known):
        for base in known[index + 1 :]:
            volts = metals.metal(base).anodic_index_v - metals.metal(noble).anodic_index_v
            if volts > agree_v + 1e-9:
                found.append(Couple(base, noble, round(volts, 3)))
    return sorted(found, key=lambda couple: -couple.volts)
