"""What a tube keeps clear of in space: boards, cards, devices, obstacles as boxes; and how far it is from each."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.geometry.outlines import contour
from sketcher.geometry.placement import board_size
from sketcher.geometry.shapes import AreaShape
from sketcher.tubes.line import Vector

#: A slanted box is covered by boxes of about this size, so many along each of its axes at most.
_TILE_MM, _MOST_TILES = 15.0, 10
_GOLDEN = (5**0.5 - 1) / 2


@dataclass(frozen=True, eq=False)
class Body:
    """A box with axes of its own.

    Attributes:
        id: of the board, device or obstacle.
        kind: ``board``, ``parts`` (what stands on a board), ``device``, ``obstacle`` or ``plate``.
        origin, axes: of its frame; the axes' columns are u, v, w.
        low, high: its extent in its own axes, mm, (3,).
    """

    id: str
    kind: str
    origin: Vector
    axes: Vector
    low: Vector
    high: Vector

    def inside(self, points: Vector) -> Vector:
        """Points (n, 3) of the floor's axes in the body's own."""
        return np.asarray((points - self.origin) @ self.axes)

    def distance(self, points: Vector) -> NDArray[np.float64]:
        """From each point (n, 3) to the box, mm; 0 inside."""
        own = self.inside(points)
        return np.asarray(np.linalg.norm(np.maximum(np.maximum(self.low - own, own - self.high), 0.0), axis=1))

    def bounds(self) -> tuple[Vector, Vector]:
        """Low and high corners of the box around it in the floor's axes."""
        corners = np.array([[(self.low, self.high)[b >> i & 1][i] for i in range(3)] for b in range(8)])
        placed = self.origin + corners @ self.axes.T
        return placed.min(axis=0), placed.max(axis=0)

    def tiles(self) -> Iterator[tuple[Vector, Vector]]:
        """Boxes of the floor's axes that cover it, low and high corners: one when it stands square, else many small
        ones, so that the corners of the box around it, which are empty, stay free."""
        if (np.abs(np.abs(self.axes).max(axis=0) - 1.0) < 1e-9).all():
            yield self.bounds()
            return
        size = self.high - self.low
        # Along an axis that runs with one of the floor's nothing is won by cutting.
        slanted = np.abs(self.axes).max(axis=0) < 1.0 - 1e-9
        counts = [min(math.ceil(float(size[i]) / _TILE_MM), _MOST_TILES) if slanted[i] else 1 for i in range(3)]
        step = size / np.maximum(counts, 1)
        for cell in np.ndindex(*(max(count, 1) for count in counts)):
            low = self.low + np.array(cell) * step
            yield replace(self, low=low, high=low + step).bounds()


def bodies(document: Document, shapes: Shapes) -> Iterator[Body]:
    """Every board (its sheet and what stands on it apart), device, obstacle, and the plate."""
    for board in document.boards:
        frame = shapes.frames[board.id]
        width, depth = board_size(board)
        for kind, under, over in (("board", -board.thickness_mm, 0.0), ("parts", 0.0, board.parts_height_mm)):
            ends = np.array([0.0, 0.0, under]), np.array([width, depth, over])
            yield Body(board.id, kind, frame.origin, frame.axes, *ends)
    for device in document.devices:
        if device.outline is None or device.kind == "fan":
            continue
        plan = np.array(contour(device.outline).path.points(0.5))
        frame = shapes.frames[device.id]
        low, high = np.array([*plan.min(axis=0), 0.0]), np.array([*plan.max(axis=0), device.height_mm])
        yield Body(device.id, "device", frame.origin, frame.axes, low, high)
    for id_, area in shapes.obstacles.items():
        yield _around(id_, area)
    left, front, right, rear = shapes.plate_polygon.bounds
    z = document.plate.z_mm
    low, high = np.array([left, front, z]), np.array([right, rear, z + shapes.thickness])
    yield Body("plate", "plate", np.zeros(3), np.eye(3), low, high)


def _around(id_: str, area: AreaShape) -> Body:
    """The smallest box around an obstacle's plan, turned as it lies: a turned bracket's own box is half as large as one
    along the floor's axes."""
    turned = shapely.minimum_rotated_rectangle(area.polygon)
    left, front, right, rear = shapely.bounds(area.polygon)
    if turned.geom_type != "Polygon" or shapely.area(turned) > 0.99 * (right - left) * (rear - front):
        low, high = np.array([left, front, area.low]), np.array([right, rear, area.high])
        return Body(id_, "obstacle", np.zeros(3), np.eye(3), low, high)
    corners = np.asarray(shapely.get_coordinates(turned))[:4]
    along, across = corners[1] - corners[0], corners[3] - corners[0]
    size = np.array([np.linalg.norm(along), np.linalg.norm(across), 0.0])
    axes = np.column_stack([[*(along / size[0]), 0.0], [*(across / size[1]), 0.0], [0.0, 0.0, 1.0]])
    low, high = np.array([0.0, 0.0, area.low]), size + np.array([0.0, 0.0, area.high])
    return Body(id_, "obstacle", np.array([*corners[0], 0.0]), axes, low, high)


def to_body(line: Vector, body: Body) -> tuple[float, Vector]:
    """How far a line of points (m, 3) passes a body, mm, and where on the line.

    The distance to a convex body is convex along each straight piece: a golden-section search on all pieces at once
    finds the least of each.
    """
    a, b = line[:-1], line[1:]
    low, high = np.zeros(len(a)), np.ones(len(a))

    def at(share: Vector) -> Vector:
        return np.asarray(a + share[:, None] * (b - a))

    for _ in range(34):
        first, second = high - _GOLDEN * (high - low), low + _GOLDEN * (high - low)
        left = body.distance(at(first)) <= body.distance(at(second))
        low, high = np.where(left, low, first), np.where(left, second, high)
    middle = at((low + high) / 2)
    places = np.vstack([middle, a, b])
    distances = body.distance(places)
    best = int(np.argmin(distances))
    return float(distances[best]), places[best]


def between_lines(one: Vector, other: Vector) -> tuple[float, Vector]:
    """The least distance between two lines of points, (m, 3) and (n, 3), mm, and the place on the first.

    Segment against segment in closed form (Ericson, Real-Time Collision Detection, 2005, section 5.1.9).
    """
    p, d = one[:-1, None, :], (one[1:] - one[:-1])[:, None, :]
    q, e = other[None, :-1, :], (other[1:] - other[:-1])[None, :, :]
    r = p - q
    a, b, f = (d * d).sum(-1), (e * e).sum(-1), (e * r).sum(-1)
    c, g = (d * r).sum(-1), (d * e).sum(-1)
    a, b = np.maximum(a, 1e-12), np.maximum(b, 1e-12)
    whole = a * b - g * g
    s = np.clip(np.where(whole > 1e-9 * a * b, (g * f - c * b) / np.where(whole == 0, 1, whole), 0.0), 0.0, 1.0)
    t = (g * s + f) / b
    s = np.where(t < 0, np.clip(-c / a, 0, 1), np.where(t > 1, np.clip((g - c) / a, 0, 1), s))
    t = np.clip(t, 0, 1)
    on = p + s[..., None] * d
    distances = np.linalg.norm(on - (q + t[..., None] * e), axis=-1)
    i, j = np.unravel_index(int(np.argmin(distances)), distances.shape)
    return float(distances[i, j]), on[i, j]


def trimmed(line: Vector, start_mm: float, end_mm: float) -> Vector:
    """The line of points (m, 3) without so much at its start and at its end; at least its middle is left."""
    steps = np.linalg.norm(np.diff(line, axis=0), axis=1)
    along = np.concatenate([[0.0], np.cumsum(steps)])
    total = float(along[-1])
    first, last = min(start_mm, total / 2 - 1e-6), max(total - end_mm, total / 2 + 1e-6)
    places = [first, *(float(s) for s in along if first < s < last), last]
    return np.array([[np.interp(s, along, line[:, i]) for i in range(3)] for s in places])
