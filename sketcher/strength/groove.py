"""The path of the groove in plan: a closed centreline around each wet region.

Every wet region is widened by the wall and half the groove; what comes too near to each other for two grooves is
joined; corners are rounded to what the cord bends. The result is the *sealed* area: its boundary is the groove's
centreline, and it holds every wet point exactly once. An island of dry land inside a loop of channels gets a groove of
its own when something in it must stay dry or a screw finds room there; else it is sealed with the rest.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Literal

import numpy as np
import shapely
from shapely.geometry import LineString, MultiPolygon, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, unary_union

from sketcher.document.union_find import grouped
from sketcher.strength.bends import Bend, rings, tight_bends

#: Chords of a quarter turn; with MARGIN_MM it keeps every wall at or above its limit in spite of the chords.
QUARTER = 16
MARGIN_MM = 0.02
_TIDY_MM = 0.002
_ROUNDS = 6
_RIDGE_MM = 1.0
_LEAST_TURN = np.radians(20.0)


@dataclass(frozen=True)
class Obstacle:
    """Something the groove keeps clear of: its outline and the least wall between the two, mm.

    ``through`` obstacles open where the lid lies on the body and must stay outside the sealed area; the others lie
    below the groove or above it (``gap_mm`` away in height), and only the groove itself must not come near them.
    """

    id: str
    kind: str
    shape: BaseGeometry
    wall_mm: float
    through: bool = True
    gap_mm: float = 0.0

    @property
    def plan_wall_mm(self) -> float:
        """The wall that is needed in plan, when the height between already gives a part."""
        return float(np.sqrt(max(self.wall_mm**2 - self.gap_mm**2, 0.0)))


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
class Room:
    """What the groove needs in plan, mm: its width, the centreline's least bend radius and the walls.

    Regions nearer to each other than ``width_mm`` and ``between_mm`` always share one groove; up to ``join_mm`` they do
    where nothing dry is in the way, for a wish or because no screw fits between two.
    """

    width_mm: float
    bend_radius_mm: float
    wall_mm: float
    edge_wall_mm: float
    between_mm: float
    join_mm: float = 0.0

    @property
    def offset_mm(self) -> float:
        """From the water to the groove's centreline."""
        return self.wall_mm + self.width_mm / 2


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
    alone = replace(room, join_mm=0.0)
    parts = [([part], _rounded_alone(part.wkb, alone)) for part in _parts(unary_union(list(shapes.values())))]
    parts = _join_near(parts, room)
    if room.join_mm > room.width_mm + room.between_mm:
        parts = _join_by_wish(parts, obstacles, plate, room)
    outlines = [part for _, part in parts]
    dry = shapely.STRtree([*(obstacle.shape for obstacle in obstacles if obstacle.through), *outlines])
    whole = [_keep_islands(part, dry, room, screw_room_mm) for part in outlines]
    sealed = MultiPolygon(whole)
    named = _named(whole, shapes)
    missing = _missing(sealed, shapes, obstacles, plate, room)
    tight = tuple(wall for part, names in zip(whole, named, strict=True) for wall in _too_tight(part, names, room))
    return GroovePlan(sealed, named, missing + tight)


def _parts(shape: BaseGeometry) -> list[Polygon]:
    return [part for part in shapely.get_parts(shape).tolist() if isinstance(part, Polygon) and not part.is_empty]


_Part = tuple[list[Polygon], Polygon]


@lru_cache(maxsize=4096)
def _rounded_alone(region: bytes, room: Room) -> Polygon:
    """One wet region, given as WKB. Kept: while one channel is dragged the other regions stay as they are."""
    return _rounding((region,), room)


def _rounded(seeds: list[Polygon], room: Room) -> _Part:
    """Wet regions widened to the centreline, joined, every bend at least the least radius."""
    # What is joined is decided before: the rounding does not ask for it.
    return seeds, _rounded_together(tuple(seed.wkb for seed in seeds), replace(room, join_mm=0.0))


@lru_cache(maxsize=512)
def _rounded_together(regions: tuple[bytes, ...], room: Room) -> Polygon:
    """Several wet regions. Kept: trials of other screws and of moves ask for the same ones."""
    return _rounding(regions, room)


def _rounding(regions: tuple[bytes, ...], room: Room) -> Polygon:
    seeds = [seed for seed in map(shapely.from_wkb, regions) if isinstance(seed, Polygon)]
    radius = room.bend_radius_mm
    offset = room.offset_mm + MARGIN_MM
    base = unary_union([seed.buffer(offset, quad_segs=QUARTER) for seed in seeds])
    if len(seeds) > 1:
        base = unary_union([base, *_bridges(base, offset)])
    for _ in range(_ROUNDS):
        # Discs take a bulge that is too tight in; closing then takes the notches out, and may leave a ridge between
        # two of them, which the next round takes in.
        base = unary_union([base, *(_eased(base, bend, radius) for bend in _tight_bulges(base, radius))])
        closed = base.buffer(radius, quad_segs=QUARTER).simplify(_TIDY_MM).buffer(-radius, quad_segs=QUARTER)
        base = (closed if closed.contains(base) else unary_union([closed, base])).simplify(_TIDY_MM)
        if not _tight_bulges(base, radius):
            break
    return max(_parts(base), key=lambda piece: piece.area)


def _tight_bulges(shape: BaseGeometry, radius: float) -> list[Bend]:
    return [
        bend
        for polygon in _parts(shape)
        for ring in rings(polygon)
        for bend in tight_bends(ring, radius * 0.95)
        if bend.radius > 0
    ]


def _eased(base: BaseGeometry, bend: Bend, radius: float) -> BaseGeometry:
    """What takes a bulge in: the disc that touches its apex from inside; for a sharp ridge, its hull."""
    if bend.radius < _RIDGE_MM:
        return base.intersection(Point(bend.apex).buffer(radius)).convex_hull
    centre = np.subtract(bend.apex, np.multiply(radius, bend.outward))
    return Point(centre).buffer(radius, quad_segs=QUARTER)


def _bridges(base: BaseGeometry, half_width: float) -> list[BaseGeometry]:
    """Necks along the shortest lines that make one piece out of the parts of ``base``."""
    pieces = _parts(base)
    joined: BaseGeometry = pieces[0]
    waiting = pieces[1:]
    necks: list[BaseGeometry] = []
    while waiting:
        nearest = min(waiting, key=joined.distance)
        waiting.remove(nearest)
        line = LineString(nearest_points(joined, nearest))
        necks.append(line.buffer(half_width, quad_segs=QUARTER))
        joined = unary_union([joined, nearest, necks[-1]])
    return necks


def _join_near(parts: list[_Part], room: Room) -> list[_Part]:
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
            else _rounded([seed for member in members for seed in parts[member][0]], room)
            for members in grouped(range(len(parts)), near)
        ]
    return parts


def _join_by_wish(parts: list[_Part], obstacles: Sequence[Obstacle], plate: Polygon, room: Room) -> list[_Part]:
    """Join parts up to ``join_mm`` apart, the nearest first, where the shared groove clears everything dry."""
    half = room.width_mm / 2
    dry = [obstacle for obstacle in obstacles if obstacle.through]
    inner = plate.buffer(-(room.edge_wall_mm + half))

    def clear(part: Polygon) -> bool:
        return bool(inner.covers(part)) and all(
            part.distance(obstacle.shape) >= obstacle.plan_wall_mm + half - 1e-9 for obstacle in dry
        )

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
        joined = _rounded([*parts[a][0], *parts[b][0]], room)
        # A wish must not make worse what fits: parts that were not clear before may be joined all the same.
        if clear(joined[1]) or not (clear(parts[a][1]) and clear(parts[b][1])):
            parts = [*(part for k, part in enumerate(parts) if k not in (a, b)), joined]
    return _join_near(parts, room)


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
        for ring in rings(part)
        for bend in tight_bends(ring, room.bend_radius_mm * 0.9, least_turn=_LEAST_TURN)
    ]


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
