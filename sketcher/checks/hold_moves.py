"""Moves that make room for the groove and its screws: of what stands in the way, or of the channel or port it runs
around, by name, with how far and which way. Each is only offered when the rules bear it out (``fixes``)."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import shapely

from sketcher.checks import moving_apart
from sketcher.checks.scene import Scene
from sketcher.findings import Fix, Point, mm
from sketcher.strength.groove import MissingWall
from sketcher.strength.groove_room import MARGIN_MM
from sketcher.strength.screw_pattern import Lack

#: More than is missing by so much: the groove keeps a margin for the chords of its arcs, mm; and where that is not
#: enough, because the groove's bends change with the move.
_SPARE_MM, _MORE_SPARE_MM = 2.5 * MARGIN_MM, 15 * MARGIN_MM
_WAYS = ("to the right", "to the rear and the right", "to the rear", "to the rear and the left",
         "to the left", "to the front and the left", "to the front", "to the front and the right")  # fmt: skip


def which_way(by: Point) -> str:
    """A direction in words: x to the right, y to the rear of the case."""
    return _WAYS[round(math.degrees(math.atan2(by[1], by[0])) / 45) % 8]


def groove_ways(scene: Scene, wall: MissingWall) -> tuple[Fix, ...]:
    """Moves that give a groove the wall it misses, the shortest first."""
    ends = _nearest(scene, wall)
    if ends is None:
        return ()
    (wx, wy), (ox, oy) = ends
    size = math.dist(*ends)
    if size < 1e-6:
        return ()
    found: list[Fix | None] = []
    for spare in (_SPARE_MM, _MORE_SPARE_MM):
        far = wall.limit_mm - wall.value_mm + spare
        out = ((ox - wx) / size * far, (oy - wy) / size * far)
        back = (-out[0], -out[1])
        if wall.kind != "edge":
            found.append(_told(moving_apart.moved(scene, wall.items[-1], out, (ox, oy)), out))
        found += [_told(fix, back) for fix in _water(scene, wall.items[0], back, (wx, wy))]
    return tuple(fix for fix in found if fix is not None)


def screw_ways(scene: Scene, lack: Lack, items: tuple[str, ...]) -> tuple[str, tuple[Fix, ...]]:
    """Room for a lid screw: the remedy in words, and moves of what is in its way or of the coolant beside it."""
    far = lack.lacking_mm + _SPARE_MM
    out = (lack.away[0] * far, lack.away[1] * far)
    back = (-out[0], -out[1])
    place = shapely.Point(lack.at)
    near = {id_: shapely.union_all([prism.polygon for prism in scene.prisms_of(id_) if prism.wet]) for id_ in items}
    water = min((id_ for id_ in near if not near[id_].is_empty), key=lambda id_: near[id_].distance(place), default="")
    found = [_told(moving_apart.moved(scene, lack.item, out, lack.at), out)] if lack.item else []
    if water:
        x, y = shapely.get_coordinates(shapely.shortest_line(place, near[water]))[-1]
        found += [_told(fix, back) for fix in _water(scene, water, back, (float(x), float(y)))]
    what = lack.item or "the plate's edge"
    words = f"There is no room for one: {what} is {mm(lack.lacking_mm)} too near. Move "
    ways = [f"{lack.item} {mm(far)} {which_way(out)}"] if lack.item else []
    ways += [f"{water} {mm(far)} {which_way(back)}"] if water else []
    return words + ", or ".join(ways) + ".", tuple(fix for fix in found if fix is not None)


def _nearest(scene: Scene, wall: MissingWall) -> tuple[Point, Point] | None:
    """Where coolant and obstacle are nearest to each other."""
    water = shapely.union_all([prism.polygon for prism in scene.prisms_of(wall.items[0]) if prism.wet])
    if wall.kind == "edge":
        other = scene.edge
    else:
        other = shapely.union_all([prism.polygon for prism in scene.prisms_of(wall.items[-1])])
    if shapely.is_empty(water) or shapely.is_empty(other):
        return None
    # Of several places the one that the groove misses its wall at.
    place = shapely.Point(wall.at).buffer(wall.limit_mm)
    near = shapely.intersection(water, place)
    start, end = shapely.get_coordinates(shapely.shortest_line(water if near.is_empty else near, other)).tolist()
    return (start[0], start[1]), (end[0], end[1])


def _water(scene: Scene, id_: str, by: Point, near: Point) -> Iterator[Fix | None]:
    """A port, or the leg of a channel; one without corners goes with the ports at its ends."""
    yield moving_apart.moved(scene, id_, by, near)
    channel = next((one for one in scene.document.channels if one.id == id_), None)
    if channel is None or channel.locked or channel.points:
        return
    ends = [end for end in (channel.start, channel.end) if end is not None]
    fixes = [moving_apart.moved(scene, end, by) for end in dict.fromkeys(ends)]
    if fixes and all(fix is not None and fix.changes[0].pointer.startswith("/ports/") for fix in fixes):
        changes = tuple(change for fix in fixes if fix is not None for change in fix.changes)
        yield Fix(f"Move {id_} with {' and '.join(ends)} by {mm(math.hypot(*by))}", changes)


def _told(fix: Fix | None, by: Point) -> Fix | None:
    return None if fix is None else replace(fix, label=f"{fix.label} {which_way(by)}")
