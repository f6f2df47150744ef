"""What a tube keeps clear of in space: boards, cards, devices, obstacles, the plate; and how far it is from each.

A board is a box; a device, an obstacle and the plate are prisms over their true outlines, turned as they stand.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.geometry.levels import above_floor_mm
from sketcher.geometry.placement import board_size
from sketcher.tubes.line import Vector

#: A slanted box is covered by boxes of about this size, so many along each of its axes at most.
_TILE_MM, _MOST_TILES = 15.0, 10
_GOLDEN = (5**0.5 - 1) / 2
#: A prism over an outline that fills so much of the box around it is looked at as that box by the search for courses.
_NEARLY_FULL = 0.97
#: A line is cut into pieces no longer than this before a body with bays is looked at, mm.
_PIECE_MM = 4.0


@dataclass(frozen=True, eq=False)
class Body:
    """A box with axes of its own, or a prism in it.

    Attributes:
        id: of the board, device or obstacle.
        kind: ``board``, ``parts`` (what stands on a board), ``device``, ``obstacle`` or ``plate``.
        origin, axes: of its frame; the axes' columns are u, v, w.
        low, high: its extent in its own axes, mm, (3,).
        plan: the outline that it fills, in its own u and v; none for the whole box.
    """

    id: str
    kind: str
    origin: Vector
    axes: Vector
    low: Vector
    high: Vector
    plan: Geometry | None = None

    @cached_property
    def convex(self) -> bool:
        """Whether it has no bays and no holes."""
        if self.plan is None:
            return True
        size = float(shapely.area(self.plan))
        return float(shapely.area(shapely.convex_hull(self.plan))) - size < 1e-9 * size

    def inside(self, points: Vector) -> Vector:
        """Points (n, 3) of the floor's axes in the body's own."""
        return np.asarray((points - self.origin) @ self.axes)

    def distance(self, points: Vector) -> NDArray[np.float64]:
        """From each point (n, 3) to it, mm; 0 inside."""
        own = self.inside(points)
        if self.plan is not None:
            plan = shapely.distance(shapely.points(own[:, :2]), self.plan)
            height = np.maximum(np.maximum(self.low[2] - own[:, 2], own[:, 2] - self.high[2]), 0.0)
            return np.asarray(np.hypot(plan, height))
        return np.asarray(np.linalg.norm(np.maximum(np.maximum(self.low - own, own - self.high), 0.0), axis=1))

    def bounds(self) -> tuple[Vector, Vector]:
        """Low and high corners of the box around it in the floor's axes."""
        return self._bounds

    @cached_property
    def _bounds(self) -> tuple[Vector, Vector]:
        corners = np.array([[(self.low, self.high)[b >> i & 1][i] for i in range(3)] for b in range(8)])
        placed = self.origin + corners @ self.axes.T
        return placed.min(axis=0), placed.max(axis=0)

    def tiles(self) -> Iterator[tuple[Vector, Vector]]:
        """Boxes of the floor's axes that cover it, low and high corners: one when it is a box that stands square, else
        many small ones, so that what is empty of the box around it (its corners, its bays) stays free."""
        full = self.plan is None or self.kind == "plate" or self._share() > _NEARLY_FULL
        square = bool((np.abs(np.abs(self.axes).max(axis=0) - 1.0) < 1e-9).all())
        if full and square:
            yield self.bounds()
            return
        size = self.high - self.low
        # Along an axis that runs with one of the floor's nothing is won by cutting, but for the bays of an outline.
        cut = np.abs(self.axes).max(axis=0) < 1.0 - 1e-9
        cut[:2] |= not full
        counts = [min(math.ceil(float(size[i]) / _TILE_MM), _MOST_TILES) if cut[i] else 1 for i in range(3)]
        step = size / np.maximum(counts, 1)
        for cell in np.ndindex(*(max(count, 1) for count in counts)):
            low = self.low + np.array(cell) * step
            ends = (low, low + step) if full else self._filled(low, low + step)
            if ends is not None:
                yield replace(self, low=ends[0], high=ends[1], plan=None).bounds()

    def _share(self) -> float:
        assert self.plan is not None
        return float(shapely.area(self.plan)) / max(float(np.prod((self.high - self.low)[:2])), 1e-9)

    def _filled(self, low: Vector, high: Vector) -> tuple[Vector, Vector] | None:
        """The part of a cell that the outline fills; none where it is empty."""
        left, front, right, rear = shapely.bounds(shapely.clip_by_rect(self.plan, low[0], low[1], high[0], high[1]))
        if not right > left or not rear > front:
            return None
        return np.array([left, front, low[2]]), np.array([right, rear, high[2]])


def _prism(id_: str, kind: str, frame: tuple[Vector, Vector], plan: Geometry, levels: tuple[float, float]) -> Body:
    """A prism over an outline in a frame's (origin, axes) u and v, between two levels of w."""
    plan = plan if shapely.is_valid(plan) else shapely.make_valid(plan)
    left, front, right, rear = shapely.bounds(plan)
    low, high = np.array([left, front, levels[0]]), np.array([right, rear, levels[1]])
    box = float(shapely.area(plan)) > (1 - 1e-9) * (right - left) * (rear - front)
    return Body(id_, kind, *frame, low, high, None if box else plan)


def bodies(document: Document, shapes: Shapes) -> Iterator[Body]:
    """Every board (its sheet and what stands on it apart), device, obstacle, and the plate."""
    for board in document.boards:
        frame = shapes.frames[board.id]
        width, depth = board_size(board)
        for kind, under, over in (("board", -board.thickness_mm, 0.0), ("parts", 0.0, board.parts_height_mm)):
            ends = np.array([0.0, 0.0, under]), np.array([width, depth, over])
            yield Body(board.id, kind, frame.origin, frame.axes, *ends)
    for device in document.devices:
        if device.outline is None:
            continue
        area, frame = shapes.devices[device.id], shapes.frames[device.id]
        assert area.plan is not None
        yield _prism(device.id, "device", (frame.origin, frame.axes), shapely.Polygon(area.plan), area.levels)
    flat = (np.zeros(3), np.eye(3))
    for id_, area in shapes.obstacles.items():
        yield _prism(id_, "obstacle", flat, area.polygon, (area.low, area.high))
    gone = [area.polygon for area in shapes.cutouts.values()]
    plate = shapely.difference(_valid(shapes.plate_polygon), shapely.union_all([_valid(area) for area in gone]))
    if not shapely.is_empty(plate):
        levels = [above_floor_mm(document, level) for level in (0.0, shapes.thickness)]
        yield _prism("plate", "plate", flat, plate, (levels[0], levels[1]))


def _valid(area: Geometry) -> Geometry:
    return area if shapely.is_valid(area) else shapely.make_valid(area)


def to_body(line: Vector, body: Body) -> tuple[float, Vector]:
    """How far a line of points (m, 3) passes a body, mm, and where on the line.

    The distance to a convex body is convex along each straight piece: a golden-section search on all pieces at once
    finds the least of each. For a body with bays or holes the line is cut into short pieces first, of which those are
    looked at that may hold the least (a distance changes no faster than the place).
    """
    a, b = line[:-1], line[1:]
    if not body.convex:
        a, b = _short_pieces(a, b)
        half = np.linalg.norm(b - a, axis=1) / 2
        middles = body.distance((a + b) / 2)
        near = middles - half <= middles.min()
        a, b = a[near], b[near]
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


def _short_pieces(a: Vector, b: Vector) -> tuple[Vector, Vector]:
    starts, ends = [], []
    for start, end in zip(a, b, strict=True):
        count = max(1, math.ceil(float(np.linalg.norm(end - start)) / _PIECE_MM))
        cuts = start + np.linspace(0.0, 1.0, count + 1)[:, None] * (end - start)
        starts.append(cuts[:-1])
        ends.append(cuts[1:])
    return np.vstack(starts), np.vstack(ends)


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
