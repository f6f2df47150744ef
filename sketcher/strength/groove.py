"""The path of the groove in plan: a closed centreline around each wet region.

Every wet region is widened by the wall and half the groove; what comes too near to each other for two grooves is
joined; corners are rounded to what the cord bends, and the groove goes round what is dry where it can
(``groove_shape``). The result is the *sealed* area: its boundary is the groove's centreline, and it holds every wet
point exactly once. An island of dry land inside a loop of channels gets a groove of its own when something in it must
stay dry or a screw finds room there; else it is sealed with the rest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, unary_union

from sketcher.document.union_find import grouped
from sketcher.strength.bends import Bend, rings, tight_bends
from sketcher.strength.groove_room import Dry, Obstacle, Room
from sketcher.strength.groove_shape import parts_of, rounded

_LEAST_TURN = np.radians(20.0)


@dataclass(frozen=True)
class MissingWall:
    """A place where the groove does not fit.

    ``why``: ``wall`` - there is less room between water and obstacle (``value_mm``) than wall, groove and wall need
    (``limit_mm``); ``bend`` - there would be room, but the cord's bends or a join of two regions fill it: the value is
    from the groove's centreline to the obstacle; ``under`` - the groove must pass over an edge port, and too little is
    left between them; ``cord`` - the path itself has a bend tighter than the cord takes.
    """

    why: Literal["wall", "bend", "under", "cord"]
    kind: str
    items: tuple[str, ...]
    at: tuple[float, float]
    value_mm: float
    limit_mm: float


@dataclass(frozen=True)
class GroovePlan:
    """Sealed area (its boundary is the centreline), the walls that are missing, and which items each part seals."""

    sealed: MultiPolygon
    items: tuple[tuple[str, ...], ...]
    missing: tuple[MissingWall, ...]


def plan_grooves(
    wet: Mapping[str, BaseGeometry],
    obstacles: Sequence[Obstacle],
    plate: Polygon,
    room: Room,
    *,
    screw_room_mm: float | None = None,
) -> GroovePlan:
    """Lay the groove around every wet region.

    Args:
        wet: outlines in plan of all that holds water where the lid lies on the body, by item id.
        obstacles: what must stay outside, each with its least wall to the groove.
        plate: the plate's outline.
        room: what the groove needs.
        screw_room_mm: diameter that a lid screw needs clear of the groove's edge; an island with room for one keeps a
            groove of its own. None: islands are sealed over unless something in them must stay dry.
    """
    shapes = {name: shape for name, shape in wet.items() if not shape.is_empty}
    if not shapes:
        return GroovePlan(MultiPolygon(), (), ())
    keep = Dry(obstacles, plate, room)
    parts = [_joined([part], room, keep) for part in parts_of(unary_union(list(shapes.values())))]
    parts = _join_near(parts, room, keep)
    if room.join_mm > room.width_mm + room.between_mm:
        parts = _join_by_wish(parts, room, keep)
    outlines = [part for _, part in parts]
    dry = shapely.STRtree([*(obstacle.shape for obstacle in obstacles if obstacle.through), *outlines])
    whole = [_keep_islands(part, dry, room, screw_room_mm) for part in outlines]
    sealed = MultiPolygon(whole)
    named = _named(whole, shapes)
    missing = _missing(sealed, shapes, obstacles, plate, room)
    tight = tuple(wall for part, names in zip(whole, named, strict=True) for wall in _too_tight(part, names, room))
    return GroovePlan(sealed, named, missing + tight)


_Part = tuple[list[Polygon], Polygon]


def _join_near(parts: list[_Part], room: Room, dry: Dry) -> list[_Part]:
    """Join parts until no two are too near for two grooves with a wall between them."""
    least = room.width_mm + room.between_mm
    while len(parts) > 1:
        tree = shapely.STRtree([part for _, part in parts])
        pairs = tree.query([part for _, part in parts], predicate="dwithin", distance=least).T
        near = [(int(a), int(b)) for a, b in pairs if a < b]
        if not near:
            break
        parts = [
            parts[members[0]]
            if len(members) == 1
            else _joined([seed for member in members for seed in parts[member][0]], room, dry)
            for members in grouped(range(len(parts)), near)
        ]
    return parts


def _joined(seeds: list[Polygon], room: Room, dry: Dry) -> _Part:
    return seeds, rounded(seeds, room, dry)


def _join_by_wish(parts: list[_Part], room: Room, dry: Dry) -> list[_Part]:
    """Join parts up to ``join_mm`` apart, the nearest first, where the shared groove clears everything dry."""
    tried: set[frozenset[bytes]] = set()
    while len(parts) > 1:
        pairs = [
            (one[1].distance(other[1]), a, b)
            for a, one in enumerate(parts)
            for b, other in enumerate(parts[:a])
            if frozenset((one[1].wkb, other[1].wkb)) not in tried
        ]
        near = min((pair for pair in pairs if pair[0] <= room.join_mm), default=None)
        if near is None:
            break
        _, a, b = near
        tried.add(frozenset((parts[a][1].wkb, parts[b][1].wkb)))
        joined = _joined([*parts[a][0], *parts[b][0]], room, dry)
        # A wish must not make worse what fits: parts that were not clear before may be joined all the same.
        if dry.clear(joined[1]) or not (dry.clear(parts[a][1]) and dry.clear(parts[b][1])):
            parts = [*(part for k, part in enumerate(parts) if k not in (a, b)), joined]
    return _join_near(parts, room, dry)


def _keep_islands(part: Polygon, dry: shapely.STRtree, room: Room, screw_room_mm: float | None) -> Polygon:
    """The part with the islands that need a groove of their own; the rest is filled.

    ``dry`` holds what must stay dry and the other parts: an island with any of them in it is kept.
    """
    kept = []
    for ring in part.interiors:
        island = Polygon(ring)
        inside = dry.query(island, predicate="intersects")
        needs = any(dry.geometries[index] is not part for index in inside)
        if not needs and screw_room_mm is not None:
            needs = not island.buffer(-(room.width_mm + screw_room_mm) / 2).is_empty
        if needs:
            kept.append(ring)
    return Polygon(part.exterior, kept)


def _named(parts: list[Polygon], shapes: Mapping[str, BaseGeometry]) -> tuple[tuple[str, ...], ...]:
    names = list(shapes)
    found: list[list[str]] = [[] for _ in parts]
    for index, part in shapely.STRtree(parts).query(list(shapes.values()), predicate="intersects").T:
        found[part].append(names[index])
    return tuple(tuple(items) for items in found)


def _too_tight(part: Polygon, names: tuple[str, ...], room: Room) -> list[MissingWall]:
    """Bends that the rounding could not take in: rare, between several channels that meet at odd angles."""
    return [
        MissingWall("cord", "cord", names, bend.apex, round(abs(bend.radius), 3), round(room.bend_radius_mm, 3))
        for bend in _tight(part.wkb, room.bend_radius_mm * 0.9)
    ]


@lru_cache(maxsize=1024)
def _tight(part: bytes, radius: float) -> tuple[Bend, ...]:
    """Kept: in a drag most grooves stay as they are."""
    polygon = shapely.from_wkb(part)
    assert isinstance(polygon, Polygon)
    return tuple(bend for ring in rings(polygon) for bend in tight_bends(ring, radius, least_turn=_LEAST_TURN))


def _missing(
    sealed: MultiPolygon,
    shapes: Mapping[str, BaseGeometry],
    obstacles: Sequence[Obstacle],
    plate: Polygon,
    room: Room,
) -> tuple[MissingWall, ...]:
    found = []
    names = list(shapes)
    waters = np.array([shapes[name] for name in names], dtype=object)
    water_tree = shapely.STRtree(waters)
    half = room.width_mm / 2
    lines = shapely.boundary(sealed)

    def note(kind: str, obstacle: Obstacle | None, shape: BaseGeometry, wall: float, barrier: BaseGeometry) -> None:
        nearest = int(water_tree.nearest(shape))
        value, limit = float(waters[nearest].distance(shape)), room.wall_mm + room.width_mm + wall
        on_water, on_shape = nearest_points(waters[nearest], shape)
        why: Literal["wall", "bend", "under"] = "wall" if value < limit else "bend"
        if obstacle is not None and not obstacle.through:
            on_water, on_shape = nearest_points(lines, shape)
            value, limit = float(np.hypot(max(barrier.distance(shape) - half, 0.0), obstacle.gap_mm)), wall
            why = "under"
        elif why == "bend":
            on_water, on_shape = nearest_points(lines, shape)
            value, limit = float(barrier.distance(shape)), wall + half
        at = ((on_water.x + on_shape.x) / 2, (on_water.y + on_shape.y) / 2)
        items = (names[nearest],) if obstacle is None else (names[nearest], obstacle.id)
        found.append(MissingWall(why, kind, items, at, round(value, 3), round(limit, 3)))

    for through, barrier in ((True, sealed), (False, lines)):
        some = [obstacle for obstacle in obstacles if obstacle.through == through]
        if not some:
            continue
        reach = np.array([obstacle.plan_wall_mm + half - 1e-9 for obstacle in some])
        pairs = shapely.STRtree(shapely.get_parts(barrier)).query(
            [obstacle.shape for obstacle in some], predicate="dwithin", distance=reach
        )
        for index in np.unique(pairs[0]):
            obstacle = some[int(index)]
            note(obstacle.kind, obstacle, obstacle.shape, obstacle.wall_mm, barrier)
    edge = plate.exterior
    if not plate.contains(sealed) or edge.distance(sealed) < room.edge_wall_mm + half - 1e-9:
        note("edge", None, edge, room.edge_wall_mm, sealed)
    return _worst_of_each(found)


def _worst_of_each(found: Sequence[MissingWall]) -> tuple[MissingWall, ...]:
    """Of a thing cut in several parts the part that lacks most; what opens at the joint before what does not."""
    worst: dict[str, MissingWall] = {}
    for wall in sorted(found, key=lambda it: (it.why == "under", it.value_mm - it.limit_mm)):
        worst.setdefault("" if wall.kind == "edge" else wall.items[-1], wall)
    kept = {id(wall) for wall in worst.values()}
    return tuple(wall for wall in found if id(wall) in kept)
