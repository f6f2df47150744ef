"""Wet regions widened to the groove's centreline, with no bend tighter than the cord takes.

Bulges that are too tight get a disc of the least radius behind their apex, notches are closed with the same radius.
Where something dry is in the way of a disc, the disc leans away from it, as far as it has to and as the bulge lets it;
where regions are joined, the neck between them goes round what is in its way (``groove_necks``). Both move by little
when what is in the way moves by little.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import unary_union

from sketcher.strength.bends import Bend, rings, tight_bends
from sketcher.strength.groove_necks import neck
from sketcher.strength.groove_room import MARGIN_MM, QUARTER, Dry, Room

_TIDY_MM = 0.002
_ROUNDS = 6
_RIDGE_MM = 1.0
#: Halvings of the way that a disc leans.
_LEANINGS = 7
#: A disc leans straight away from what is in its way, or, between several things, turned by so much from that.
_TURNS = tuple(
    math.radians(turn * side) for turn in (0, 10, 20, 30, 40, 52, 65, 78, 90, 110, 140, 180) for side in (1, -1)
)
#: A ridge is taken in by a disc that touches it so far turned from its middle, where its hull takes from the dry.
_RIDGE_TURNS = tuple(math.radians(turn * side) for turn in (0, 15, 30, 45, 60, 75, 90) for side in (1, -1))
#: What is taken from the dry by less than this, mm², is chords.
_NOTHING_MM2 = 1e-3


def parts_of(shape: BaseGeometry) -> list[Polygon]:
    """The polygons of a shape."""
    return [part for part in shapely.get_parts(shape).tolist() if isinstance(part, Polygon) and not part.is_empty]


def rounded(seeds: Sequence[Polygon], room: Room, dry: Dry) -> Polygon:
    """Wet regions widened, joined and rounded; round what is dry where the plain way would miss its wall.

    The way round is only taken where it takes less from what is dry: else the plain one stands, and is told. Lid screws
    were placed beside a groove that was laid without them: where that one clears them it stays as it is.
    """
    regions = tuple(seed.wkb for seed in seeds)
    # What is joined is decided before: the rounding does not ask for it.
    needs = Room(room.width_mm, room.bend_radius_mm, room.wall_mm, room.edge_wall_mm, room.between_mm)
    plain = _plain(regions, needs)
    if dry.clear(plain):
        return plain
    far = 4 * room.bend_radius_mm
    first = _better(regions, needs, dry.without_screws.around(plain, far).wkb)
    return first if dry.clear(first) else _better(regions, needs, dry.around(plain, far).wkb)


@lru_cache(maxsize=512)
def _better(regions: tuple[bytes, ...], room: Room, dry: bytes) -> Polygon:
    """The plain way or the one round what is dry, whichever takes less from it."""
    plain, near = _plain(regions, room), shapely.from_wkb(dry)
    taken = plain.intersection(near).area
    offset = room.offset_mm + MARGIN_MM
    water = unary_union([shapely.from_wkb(region).buffer(offset, quad_segs=QUARTER) for region in regions])
    if taken <= water.intersection(near).area + _NOTHING_MM2:
        return plain  # all that is missing lies between coolant and obstacle
    around = _rounding(regions, room, near)
    return around if around.intersection(near).area < taken - _NOTHING_MM2 else plain


@lru_cache(maxsize=4096)
def _plain(regions: tuple[bytes, ...], room: Room) -> Polygon:
    """Regions given as WKB. Kept: while one channel is dragged the others stay as they are."""
    return _rounding(regions, room, None)


def _rounding(regions: tuple[bytes, ...], room: Room, dry: BaseGeometry | None) -> Polygon:
    seeds = [seed for seed in map(shapely.from_wkb, regions) if isinstance(seed, Polygon)]
    radius = room.bend_radius_mm
    offset = room.offset_mm + MARGIN_MM
    base = unary_union([seed.buffer(offset, quad_segs=QUARTER) for seed in seeds])
    if len(seeds) > 1:
        base = unary_union([base, *_bridges(base, offset, dry, radius)])
    for number in range(_ROUNDS):
        # Discs take a bulge that is too tight in; closing then takes the notches out, and may leave a ridge between
        # two of them, which the next round takes in. Ridges of the first round are mostly steps that closing levels.
        bulges = [bend for bend in _tight_bulges(base, radius) if number or bend.radius >= _RIDGE_MM]
        if dry is None:
            base = unary_union([base, *(_eased(base, bend, radius, dry) for bend in bulges)])
        else:  # what one disc takes may leave the next less room
            for bend in bulges:
                base = base.union(_eased(base, bend, radius, dry))
        closed = base.buffer(radius, quad_segs=QUARTER).simplify(_TIDY_MM).buffer(-radius, quad_segs=QUARTER)
        base = (closed if closed.contains(base) else unary_union([closed, base])).simplify(_TIDY_MM)
        if not _tight_bulges(base, radius):
            break
    return max(parts_of(base), key=lambda piece: piece.area)


def _tight_bulges(shape: BaseGeometry, radius: float) -> list[Bend]:
    return [
        bend
        for polygon in parts_of(shape)
        for ring in rings(polygon)
        for bend in tight_bends(ring, radius * 0.95)
        if bend.radius > 0
    ]


def _eased(base: BaseGeometry, bend: Bend, radius: float, dry: BaseGeometry | None) -> BaseGeometry:
    """What takes a bulge in: the disc that touches its apex from inside; for a sharp ridge, its hull."""
    if bend.radius < _RIDGE_MM:
        hull = base.intersection(Point(bend.apex).buffer(radius)).convex_hull
        return hull if dry is None else _over_the_ridge(base, bend, radius, dry, hull)
    plain = np.subtract(bend.apex, np.multiply(radius, bend.outward))
    centre = plain if dry is None else _leant(base, bend, radius, dry, plain)
    return Point(centre).buffer(radius, quad_segs=QUARTER)


def _over_the_ridge(
    base: BaseGeometry, bend: Bend, radius: float, dry: BaseGeometry, hull: BaseGeometry
) -> BaseGeometry:
    """A ridge's hull, or where that takes from what is dry the disc that touches the ridge and takes least of it."""
    around = shapely.box(*Point(bend.apex).buffer(4 * radius, quad_segs=1).bounds)
    here, there = base.intersection(around), dry.intersection(around)

    def takes(more: BaseGeometry) -> float:
        return float(_closed(here.union(more), radius).intersection(there).area)

    least = here.intersection(there).area + _NOTHING_MM2
    if takes(hull) <= least:
        return hull
    inward = math.atan2(-bend.outward[1], -bend.outward[0])
    ways = [
        np.add(bend.apex, radius * np.array([math.cos(inward + turn), math.sin(inward + turn)]))
        for turn in _RIDGE_TURNS
    ]
    discs = [hull, *(Point(way).buffer(radius, quad_segs=QUARTER) for way in ways)]
    taken = [takes(disc) for disc in discs]
    return next((disc for disc, area in zip(discs, taken, strict=True) if area <= least), discs[int(np.argmin(taken))])


def _leant(base: BaseGeometry, bend: Bend, radius: float, dry: BaseGeometry, plain: np.ndarray) -> np.ndarray:
    """The disc's centre, moved away from what it would take of the dry, as little as is enough.

    Any disc whose centre is within ``radius`` less the bulge's own radius of the bulge's middle holds all the bulge;
    the farthest one on the side away from an obstacle touches the bulge just where the obstacle is.
    """
    middle = np.subtract(bend.apex, np.multiply(bend.radius, bend.outward))
    around = shapely.box(*Point(middle).buffer(5 * radius, quad_segs=1).bounds)
    here, there = base.intersection(around), dry.intersection(around)
    least = _closed(here, radius).intersection(there).area + _NOTHING_MM2

    def takes(centre: np.ndarray) -> BaseGeometry:
        return _closed(here.union(Point(centre).buffer(radius, quad_segs=QUARTER)), radius).intersection(there)

    hit = takes(plain)
    if hit.area <= least:
        return plain
    x, y = hit.centroid.coords[0]
    away = middle - (x, y)
    size = float(np.hypot(*away))
    if size < 1e-6:
        return plain
    lean = max(radius - bend.radius, 0.0)
    first = math.atan2(away[1], away[0])
    ways = [middle + lean * np.array([math.cos(first + turn), math.sin(first + turn)]) for turn in _TURNS]
    far = next((one for one in ways if takes(one).area <= least), ways[0])
    least = max(least, takes(far).area + _NOTHING_MM2)  # where it cannot be clear it leans as far as that helps
    low, high = 0.0, 1.0
    for _ in range(_LEANINGS):
        half = (low + high) / 2
        low, high = (low, half) if takes(plain + half * (far - plain)).area <= least else (half, high)
    return np.asarray(plain + high * (far - plain))


def _closed(shape: BaseGeometry, radius: float) -> BaseGeometry:
    return shape.buffer(radius, quad_segs=QUARTER).buffer(-radius, quad_segs=QUARTER).union(shape)


def _bridges(base: BaseGeometry, half_width: float, dry: BaseGeometry | None, radius: float) -> list[BaseGeometry]:
    """Necks along the shortest lines that make one piece out of the parts of ``base``, clear of what is dry."""
    pieces = parts_of(base)
    joined: BaseGeometry = pieces[0]
    waiting = pieces[1:]
    necks: list[BaseGeometry] = []
    while waiting:
        nearest = min(waiting, key=joined.distance)
        waiting.remove(nearest)
        line = neck(joined, nearest, half_width, dry, radius)
        necks.append(line.buffer(half_width, quad_segs=QUARTER))
        joined = unary_union([joined, nearest, necks[-1]])
    return necks
