"""Moves that end a finding: holes, cutouts, pockets, ports, and channels with their legs, moved apart in true space.

A move is worked out from where the two things are, and offered only when the rules bear it out (``fixes``). What is
locked, follows another thing, or stands under a tube stays where it is.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from sketcher.checks.scene import Scene
from sketcher.document.plate import Channel
from sketcher.findings import Change, Fix, Point, mm
from sketcher.geometry.path import Point as PathPoint

#: Farther than this nothing is moved by a button, mm.
FARTHEST_MM = 25.0
#: A hair more than is missing, so that rounding does not leave the finding standing, mm.
HAIR_MM = 0.01
#: Outlines with more corners than this are left where they are.
MOST_CORNERS = 60
_KEYS = ("holes", "cutouts", "pockets", "ports", "channels")
Vector = NDArray[np.float64]


def where(scene: Scene, id_: str) -> tuple[str, int] | None:
    """The list that an item stands in, and its number there; none for what cannot be moved."""
    key, index = scene.numbers.get(id_, ("", 0))
    if key not in _KEYS:
        return None
    item = getattr(scene.document, key)[index]
    cable = getattr(item, "cable", None)
    follows = getattr(item, "follows", None) is not None or (cable is not None and cable.in_step)
    return None if item.locked or follows else (key, index)


def moved(scene: Scene, id_: str, by: Point, near: Point | None = None) -> Fix | None:
    """An item moved by so much (mm); of a channel the leg next to ``near``, or all of it when nothing holds it."""
    far = math.hypot(*by)
    place = where(scene, id_)
    if place is None or far > FARTHEST_MM or far < 1e-9:
        return None
    key, index = place
    item = getattr(scene.document, key)[index]
    if key == "channels":
        return _channel(scene, item, index, by, near)
    if key == "ports":
        if item.face == "edge" or item.serves is not None:
            return None
        return _fix(id_, far, [(f"/ports/{index}", (item.x_mm, item.y_mm))], by)
    if key == "holes":
        return _fix(id_, far, [(f"/holes/{index}", (item.x_mm, item.y_mm))], by)
    outline, path = item.outline, f"/{key}/{index}/outline"
    if hasattr(outline, "x_mm"):
        return _fix(id_, far, [(path, (outline.x_mm, outline.y_mm))], by)
    if len(outline.vertices) > MOST_CORNERS:
        return None
    rows = [(f"{path}/vertices/{k}", (v.x_mm, v.y_mm)) for k, v in enumerate(outline.vertices)]
    return _fix(id_, far, rows, by)


def _fix(id_: str, far: float, rows: list[tuple[str, PathPoint]], by: Point, what: str = "") -> Fix:
    changes = tuple(
        Change(f"{path}/{name}", round(value + part, 3))
        for path, place in rows
        for name, value, part in zip(("x_mm", "y_mm"), place, by, strict=True)
        if abs(part) > 1e-9
    )
    return Fix(f"Move {what}{id_} by {mm(far)}", changes)


def _channel(scene: Scene, channel: Channel, index: int, by: Point, near: Point | None) -> Fix | None:
    """The two corners of the leg that is nearest, or all corners of a channel that begins and ends at nothing."""
    rows = [(f"/channels/{index}/points/{k}", (p.x_mm, p.y_mm)) for k, p in enumerate(channel.points)]
    if not rows:
        return None
    far = math.hypot(*by)
    if channel.start is None and channel.end is None:
        return _fix(channel.id, far, rows, by)
    if near is None:
        return None
    corners: list[tuple[PathPoint, int | None]] = [(place, k) for k, (_, place) in enumerate(rows)]
    roots = scene.shapes
    for end, at in ((channel.start, 0), (channel.end, len(corners))):
        if end is not None:
            branch = next(((b.x_mm, b.y_mm) for b in scene.document.branches if b.id == end), None)
            root = roots.ports[end].root if end in roots.ports else branch
            if root is None:
                return None
            corners.insert(at if at == 0 else len(corners), (root, None))
    legs = list(itertools.pairwise(corners))
    spot = shapely.Point(near)
    one, other = min(legs, key=lambda leg: float(shapely.distance(shapely.LineString([leg[0][0], leg[1][0]]), spot)))
    moving = [k for _, k in (one, other) if k is not None]
    # A leg that hangs on a port turns about it: its free corner has to go farther.
    if len(moving) == 1:
        whole = math.dist(one[0], other[0])
        fixed = one[0] if one[1] is None else other[0]
        reach = math.dist(fixed, near)
        if reach < 0.3 * whole:
            return None
        by = (by[0] * whole / reach, by[1] * whole / reach)
    if math.hypot(*by) > FARTHEST_MM:
        return None
    return _fix(channel.id, math.hypot(*by), [rows[k] for k in moving], by, "a leg of ")


def apart(one: tuple[shapely.Geometry, float], other: tuple[shapely.Geometry, float], gap: float) -> Point | None:
    """How to move ``other`` so that so much is between it and ``one``: cores with the radii that they grow by."""
    (first, r1), (second, r2) = one, other
    distance = float(shapely.distance(first, second))
    need = gap + r1 + r2 + HAIR_MM
    if distance > 1e-6:
        start, end = shapely.shortest_line(first, second).coords
        share = (need - distance) / distance
        return ((end[0] - start[0]) * share, (end[1] - start[1]) * share)
    return _out_of(first, second, need)


def _out_of(first: shapely.Geometry, second: shapely.Geometry, need: float) -> Point | None:
    """The shortest way of one area out of the hull of another, over the directions of both hulls' sides."""
    a, b = _corners(first), _corners(second)
    best: tuple[float, Vector] | None = None
    for normal in (*_normals(a), *_normals(b)):
        far = float((a @ normal).max() - (b @ normal).min()) + need
        if best is None or far < best[0]:
            best = (far, normal)
    if best is None or best[0] > FARTHEST_MM:
        return None
    return (float(best[0] * best[1][0]), float(best[0] * best[1][1]))


def _corners(area: shapely.Geometry) -> Vector:
    return np.asarray(shapely.get_coordinates(shapely.convex_hull(area)))


def _normals(corners: Vector) -> Iterator[Vector]:
    steps = np.diff(corners, axis=0)
    steps = steps[np.hypot(steps[:, 0], steps[:, 1]) > 1e-9] if len(steps) else np.array([[1.0, 0.0], [0.0, 1.0]])
    for x, y in steps[:64]:
        size = math.hypot(x, y)
        yield np.array([y / size, -x / size])
        yield np.array([-y / size, x / size])


def narrower(scene: Scene, id_: str, by: float) -> Fix | None:
    """A channel so many mm narrower, when a cutter of the shop still goes in."""
    shop, (key, index) = scene.document.shop, scene.numbers.get(id_, ("", 0))
    channel = scene.document.channels[index] if key == "channels" else None
    if channel is None or channel.locked:
        return None
    width = math.floor((channel.width_mm - by) * 100 + 1e-6) / 100
    reaching = [d for d in shop.cutter_diameters_mm if d * shop.deepest_by_diameter >= channel.depth_mm - 1e-9]
    least = min(reaching, default=math.inf)
    if width < max(least, channel.width_mm / 2):
        return None
    return Fix(f"Make {id_} {mm(width)} wide", (Change(f"/channels/{index}/width_mm", width),))


def shallower(scene: Scene, id_: str, by: float) -> Fix | None:
    """A channel, pocket or blind hole so many mm less deep."""
    key, index = scene.numbers.get(id_, ("", 0))
    if key not in ("channels", "pockets", "holes"):
        return None
    item = getattr(scene.document, key)[index]
    if item.depth_mm is None or item.locked:
        return None
    best = math.floor((item.depth_mm - by - 0.005) * 100 + 1e-6) / 100
    if best < max(1.0, item.depth_mm / 2):
        return None
    return Fix(f"Make {id_} {mm(best)} deep", (Change(f"/{key}/{index}/depth_mm", best),))


def along_the_edge(scene: Scene, id_: str, by: float) -> list[Fix]:
    """An edge port moved so far along its edge, either way."""
    port = scene.shapes.ports[id_]
    place = where(scene, id_)
    if port.heading is None or place is None or by > FARTHEST_MM:
        return []
    (x, y), (hx, hy) = port.at, port.heading
    found = []
    for sign in (1.0, -1.0):
        to = (x - sign * hy * by, y + sign * hx * by)
        found.append(_fix(id_, by, [(f"/ports/{place[1]}", (x, y))], (to[0] - x, to[1] - y)))
    return found


def onto_the_edge(scene: Scene, id_: str) -> tuple[Fix | None, Point]:
    """An edge port moved to the nearest place on the plate's edge; and by how much that is, mm."""
    port, place = scene.shapes.ports[id_], where(scene, id_)
    (x, y), (to_x, to_y) = shapely.shortest_line(shapely.Point(port.at), scene.edge).coords
    by = (to_x - x, to_y - y)
    far = math.hypot(*by)
    if place is None or far > FARTHEST_MM:
        return None, by
    return _fix(id_, far, [(f"/ports/{place[1]}", (x, y))], by), by
