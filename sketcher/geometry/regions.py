"""Unions of outlines that keep lines lines and arcs arcs: what a milling shop needs as one pocket with its islands.

Every edge is split where another one meets it. A piece is on the union's boundary when one of its sides is inside and
the other is not; the pieces that are, chained, are the union's rings. A union whose pieces do not chain, or whose area
is not that of the polygons' union, is made from polygons instead (within 0.01 mm), and says so.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sketcher.geometry.edges import meetings, split
from sketcher.geometry.outline_contours import Contour
from sketcher.geometry.path import Path, Point, Segment, from_vertices

#: Points nearer than this are one corner, mm.
CORNER_MM = 1e-5
#: How far beside a piece it is asked whether the union is there, mm. No round number, nor is the place along the piece:
#: drawings are full of symmetry, and a point exactly on another edge's chord has no side.
_BESIDE_MM, _ALONG = 1.3719e-4, 0.43817
#: Polygons that the result is checked against keep within this of their arcs, mm.
_CHECK_MM = 1e-3
#: Shapes whose polygons are nearer than this may touch, mm: both polygons' errors, and room for a corner.
_TOUCH_MM = 4 * _CHECK_MM


@dataclass(frozen=True)
class Region:
    """One connected area: its outer ring (counter-clockwise) and its islands (clockwise)."""

    outer: Path
    islands: tuple[Path, ...] = ()
    exact: bool = True

    @property
    def area(self) -> float:
        """mm², arcs in full."""
        return self.outer.area + math.fsum(ring.area for ring in self.islands)

    def rings(self) -> tuple[Path, ...]:
        """The outer ring and the islands."""
        return (self.outer, *self.islands)

    def contours(self) -> tuple[Contour, ...]:
        """The rings, whole circles as such."""
        return tuple(as_contour(ring) for ring in self.rings())


#: A shape: its rings, of which the first is the outer one and the others are holes in it.
Shape = Sequence[Path]


def union(shapes: Iterable[Shape]) -> tuple[Region, ...]:
    """The union of shapes, each given by its rings (even-odd: an outline, then its islands).

    Args:
        shapes: closed rings, each of which goes round once; mm.

    Returns:
        The connected areas, the largest first; none for no shape.
    """
    given = [tuple(shape) for shape in shapes if shape]
    if not given:
        return ()
    polygons = [as_polygon(shape) for shape in given]
    found: list[Region] = []
    for members in together(polygons):
        found += _joined_up([given[n] for n in members], [polygons[n] for n in members])
    return tuple(sorted(found, key=lambda region: -region.area))


def together(polygons: Sequence[BaseGeometry]) -> list[list[int]]:
    """Which shapes hang together, by index: what does not touch (within ``_TOUCH_MM``) can be united apart."""
    if len(polygons) < 2:
        return [[n] for n in range(len(polygons))]
    first, second = shapely.STRtree(polygons).query(polygons, predicate="dwithin", distance=_TOUCH_MM)
    home = list(range(len(polygons)))

    def root(n: int) -> int:
        while home[n] != n:
            home[n] = home[home[n]]
            n = home[n]
        return n

    for i, j in zip(first.tolist(), second.tolist(), strict=True):
        if i < j:
            home[root(j)] = root(i)
    found: dict[int, list[int]] = defaultdict(list)
    for n in range(len(polygons)):
        found[root(n)].append(n)
    return list(found.values())


def _joined_up(given: Sequence[Shape], polygons: Sequence[BaseGeometry]) -> tuple[Region, ...]:
    """The union of shapes that hang together."""
    if len(given) == 1 and all(_simple(ring) for ring in given[0]):
        outer, *islands = given[0]
        return (Region(outer.counter_clockwise(), tuple(_clockwise(ring) for ring in islands)),)
    found = _exact(given)
    rough = shapely.union_all(polygons)
    if found is not None:
        allowed = 4 * _CHECK_MM * math.fsum(ring.length for shape in given for ring in shape) + 1e-3
        if abs(math.fsum(region.area for region in found) - rough.area) <= allowed:
            return found
    return _from_polygons(rough)


def area(shapes: Iterable[Shape]) -> float:
    """The area of a union, mm²."""
    return math.fsum(region.area for region in union(shapes))


def as_contour(ring: Path) -> Contour:
    """A ring; a whole circle knows its centre and radius."""
    first = ring.segments[0]
    if first.straight:
        return Contour(ring)
    (cx, cy), radius = first.centre, first.radius
    for segment in ring.segments:
        if segment.straight or math.dist(segment.centre, (cx, cy)) > 1e-5 or abs(segment.radius - radius) > 1e-5:
            return Contour(ring)
    return Contour(ring, ((cx, cy), radius))


def _filled(ring: Path) -> Polygon:
    return Polygon(np.array(ring.points(_CHECK_MM)))


def _simple(ring: Path) -> bool:
    return bool(_filled(ring).is_valid)


def _clockwise(ring: Path) -> Path:
    return ring if ring.area <= 0 else ring.reversed()


def as_polygon(shape: Shape) -> BaseGeometry:
    """A shape as a polygon within ``_CHECK_MM``."""
    outer, *holes = (_filled(ring) for ring in shape)
    found: BaseGeometry = shapely.make_valid(outer)
    return found.difference(shapely.union_all(holes)) if holes else found


def _from_polygons(rough: BaseGeometry) -> tuple[Region, ...]:
    def ring(coordinates: NDArray[np.float64]) -> Path:
        return from_vertices([(float(x), float(y), 0.0) for x, y in coordinates[:-1]], closed=True)

    found = []
    for part in shapely.get_parts(rough):
        if isinstance(part, Polygon) and part.area > 1e-6:
            outer = ring(np.asarray(part.exterior.coords)).counter_clockwise()
            islands = tuple(_clockwise(ring(np.asarray(hole.coords))) for hole in part.interiors)
            found.append(Region(outer, islands, exact=False))
    return tuple(sorted(found, key=lambda region: -region.area))


def _exact(shapes: Sequence[Shape]) -> tuple[Region, ...] | None:
    """The union's regions from the true edges, or none where the boundary does not close."""
    edges = [segment for shape in shapes for ring in shape for segment in ring.segments if segment.chord > CORNER_MM]
    corners = _Corners()
    pieces: dict[tuple[int, int, float, float], tuple[int, int, Segment]] = {}
    for edge, places in zip(edges, meetings(edges, CORNER_MM), strict=True):
        for piece in split(edge, places, CORNER_MM):
            a, b = corners.of(piece.start), corners.of(piece.end)
            if a == b:
                continue
            low, high = (a, b) if a < b else (b, a)
            # The edge between two corners is known by its middle: a line, or one of two arcs.
            x, y = piece.at(piece.length / 2)
            near = [(round(x, 4) + dx, round(y, 4) + dy) for dx in (0, 1e-4, -1e-4) for dy in (0, 1e-4, -1e-4)]
            if any((low, high, round(u, 4), round(v, 4)) in pieces for u, v in near):
                continue
            pieces[low, high, round(x, 4), round(y, 4)] = (a, b, piece)
    boundary = _boundary(list(pieces.values()), shapes)
    rings = _chained(boundary)
    return None if rings is None else _nested(rings)


class _Corners:
    """One number for all points on the same corner."""

    def __init__(self) -> None:
        self._cells: dict[tuple[int, int], list[tuple[Point, int]]] = defaultdict(list)
        self._count = 0

    def of(self, point: Point) -> int:
        """The corner's number."""
        size = 4 * CORNER_MM
        i, j = math.floor(point[0] / size), math.floor(point[1] / size)
        for ni in (i - 1, i, i + 1):
            for nj in (j - 1, j, j + 1):
                for other, number in self._cells.get((ni, nj), ()):
                    if math.dist(other, point) <= 2 * CORNER_MM:
                        return number
        self._cells[i, j].append((point, self._count))
        self._count += 1
        return self._count - 1


NumberedSegment = tuple[int, int, Segment]


def _boundary(pieces: Sequence[NumberedSegment], shapes: Sequence[Shape]) -> list[NumberedSegment]:
    """The pieces on the union's boundary, each turned so that the union lies to its left."""
    places, normals = [], []
    for _, _, piece in pieces:
        x, y = piece.at(_ALONG * piece.length)
        angle = piece.direction() + (0.0 if piece.straight else _ALONG * piece.included_angle)
        places.append((x, y))
        normals.append((-math.sin(angle), math.cos(angle)))
    at, normal = np.array(places).reshape(-1, 2), np.array(normals).reshape(-1, 2)
    left, right = np.zeros(len(pieces), dtype=bool), np.zeros(len(pieces), dtype=bool)
    for shape in shapes:
        segments = [segment for ring in shape for segment in ring.segments]
        left |= inside(at + _BESIDE_MM * normal, segments)
        right |= inside(at - _BESIDE_MM * normal, segments)
    found: list[NumberedSegment] = []
    for (a, b, piece), is_left, is_right in zip(pieces, left.tolist(), right.tolist(), strict=True):
        if is_left and not is_right:
            found.append((a, b, piece))
        elif is_right and not is_left:
            found.append((b, a, piece.reversed()))
    return found


def inside(points: NDArray[np.float64], segments: Sequence[Segment]) -> NDArray[np.bool_]:
    """Which points (n, 2) closed rings enclose, by the even-odd rule.

    The chords count as a polygon does; between a chord and its arc a point counts once more.
    """
    rows = np.array([(*s.start, *s.end, s.bulge) for s in segments])
    x0, y0, x1, y1, bulge = rows.T
    px, py = points[:, :1], points[:, 1:]
    crosses = (y0 <= py) != (y1 <= py)
    with np.errstate(divide="ignore", invalid="ignore"):
        at = x0 + (py - y0) * (x1 - x0) / (y1 - y0)
    count = (crosses & (px < at)).sum(axis=1)
    curved = np.abs(bulge) > 1e-12
    if curved.any():
        x0, y0, x1, y1, b = rows[curved].T
        # As ``Segment`` has centre and radius.
        k = (1 - b * b) / (4 * b)
        cx, cy = (x0 + x1) / 2 - k * (y1 - y0), (y0 + y1) / 2 + k * (x1 - x0)
        radius = np.hypot(x1 - x0, y1 - y0) * (1 + b * b) / (4 * np.abs(b))
        side = (x1 - x0) * (py - y0) - (y1 - y0) * (px - x0)
        within = np.hypot(px - cx, py - cy) < radius
        count = count + (within & (side * b < 0)).sum(axis=1)
    return np.asarray(count % 2 == 1)


def _chained(boundary: Sequence[NumberedSegment]) -> list[Path] | None:
    """The boundary's rings; none where a piece has no piece to follow."""
    leaving: dict[int, list[int]] = defaultdict(list)
    for n, (a, _, _) in enumerate(boundary):
        leaving[a].append(n)
    used = [False] * len(boundary)
    rings: list[Path] = []
    for first in range(len(boundary)):
        if used[first]:
            continue
        run, now = [], first
        while True:
            used[now] = True
            run.append(boundary[now][2])
            if boundary[now][1] == boundary[first][0]:
                break
            choices = [n for n in leaving[boundary[now][1]] if not used[n]]
            if not choices:
                return None
            heading = boundary[now][2].direction(at_end=True)
            # Where rings touch at a corner the sharpest turn to the left keeps them apart.
            now = max(choices, key=lambda n: _turn(heading, boundary[n][2].direction()))
        rings.append(_closed(run))
    return [ring for ring in rings if abs(ring.area) > 1e-6]


def _turn(heading: float, direction: float) -> float:
    return (direction - heading + math.pi) % (2 * math.pi)


def _closed(run: Sequence[Segment]) -> Path:
    """A ring of pieces; pieces that go on along the same line or circle become one edge again."""
    merged: list[Segment] = []
    for piece in run:
        joined = _joined(merged[-1], piece) if merged else None
        if joined is None:
            merged.append(piece)
        else:
            merged[-1] = joined
    if len(merged) > 2 and (joined := _joined(merged[-1], merged[0])) is not None:
        merged = [joined, *merged[1:-1]]
    return from_vertices([(*s.start, s.bulge) for s in merged], closed=True)


def _joined(one: Segment, other: Segment) -> Segment | None:
    if one.straight != other.straight:
        return None
    if one.straight:
        turn = abs(math.remainder(one.direction() - other.direction(), 2 * math.pi))
        return Segment(one.start, other.end) if turn * min(one.length, other.length) < 1e-7 else None
    if one.bulge * other.bulge < 0 or math.dist(one.centre, other.centre) > 1e-6:
        return None
    angle = one.included_angle + other.included_angle
    return Segment(one.start, other.end, math.tan(angle / 4)) if abs(angle) < 1.5 * math.pi else None


def _nested(rings: Sequence[Path]) -> tuple[Region, ...]:
    """Outer rings with the islands that lie in each."""
    outers = sorted((ring for ring in rings if ring.area > 0), key=lambda ring: ring.area)
    islands: dict[int, list[Path]] = defaultdict(list)
    for ring in rings:
        if ring.area < 0:
            segment = ring.segments[0]
            place = np.array([segment.at(_ALONG * segment.length)])
            home = next((n for n, outer in enumerate(outers) if inside(place, outer.segments)[0]), None)
            if home is not None:
                islands[home].append(ring)
    found = [Region(outer, tuple(islands[n])) for n, outer in enumerate(outers)]
    return tuple(sorted(found, key=lambda region: -region.area))
