"""What a tube keeps clear of beside boards, devices and obstacles: fittings and screw heads, and the case itself."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from sketcher.checks.plate_solid import sound
from sketcher.checks.scene import Scene
from sketcher.checks.space import bodies_of
from sketcher.geometry import bodies as hard
from sketcher.tubes.line import Vector, unit
from sketcher.tubes.measures import Gap
from sketcher.tubes.runs import Run
from sketcher.tubes.surroundings import Body

#: What of the case a tube may come near: names of things that have no id.
SIDES = ("case's wall", "case's ceiling", "case floor")


def on_the_plate(scene: Scene) -> list[Body]:
    """The fittings of the plate's ports, and the screw heads that stand out of it."""
    bodies = bodies_of(scene)
    found = [_upright(body) for body in bodies.heads]
    for port, body in bodies.fittings:
        found.append(_upright(body) if port.heading is None else _lying(body, port.heading))
    return found


def _upright(body: hard.Body) -> Body:
    left, front, right, rear = shapely.bounds(body.area)
    low, high = np.array([left, front, body.low]), np.array([right, rear, body.high])
    return Body(body.id, body.kind, np.zeros(3), np.eye(3), low, high, body.area)


def _lying(body: hard.Body, heading: tuple[float, float]) -> Body:
    """A lying fitting as a prism along its axis: u across, v up, w outwards."""
    (corners,) = body.pieces
    across, up, out = np.array([-heading[1], heading[0], 0.0]), np.array([0.0, 0.0, 1.0]), -np.array([*heading, 0.0])
    axes = np.column_stack([across, -up, out]) if np.linalg.det(np.column_stack([across, up, out])) < 0 else (
        np.column_stack([across, up, out]))  # fmt: skip
    own = corners @ axes
    plan = shapely.MultiPoint(own[:, :2]).convex_hull
    return Body(body.id, body.kind, np.zeros(3), axes, own.min(axis=0), own.max(axis=0), plan)


def to_the_case(scene: Scene, run: Run, near_mm: float) -> Iterator[Gap]:
    """A tube against the case's walls, its ceiling and its floor: below 0 by how far it reaches beyond."""
    line, half, floor = run.line.points(0.5), run.outer_mm / 2, scene.document.floor
    ceiling = floor.clear_height_mm
    walls = sound(scene.shapes.floor_polygon)
    places = shapely.points(line[:, :2])
    inside = shapely.covers(walls, places)
    # Between two points of the line the wall may come nearer: straight runs are measured as lines.
    apart = np.where(inside, shapely.distance(places, shapely.boundary(walls)), -shapely.distance(places, walls)) - half
    if (apart >= 0).all():
        whole = shapely.LineString(line[:, :2]) if len(line) > 1 else shapely.Point(line[0, :2])
        least = float(shapely.distance(whole, shapely.boundary(walls))) - half
        apart[int(np.argmin(apart))] = min(float(apart.min()), least)
    rows: list[tuple[Vector, str]] = [(np.asarray(apart), SIDES[0])]
    steep = _lean(line)
    if ceiling is not None:
        rows.append((ceiling - line[:, 2] - half * steep, SIDES[1]))
    opening = shapely.union_all([sound(area.polygon) for area in scene.shapes.openings.values()])
    down = np.where(shapely.covers(opening, shapely.buffer(places, half)), np.inf, line[:, 2] - half * steep)
    rows.append((down, SIDES[2]))
    for values, name in rows:
        k = int(np.argmin(values))
        if values[k] < near_mm:
            yield Gap(float(values[k]), name, line[k])


def _lean(line: Vector) -> Vector:
    """How much of a tube's half width stands up at each point of its line: 1 where it lies, 0 where it stands."""
    if len(line) < 2:
        return np.zeros(len(line))
    ways = np.array([unit(step) for step in np.diff(line, axis=0)])
    up = np.sqrt(np.maximum(1.0 - ways[:, 2] ** 2, 0.0))
    return np.asarray(np.maximum(np.append(up, up[-1]), np.insert(up, 0, up[0])))
