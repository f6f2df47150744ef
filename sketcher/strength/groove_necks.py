"""The line of a neck that joins two sealed regions: the shortest way from one to the other in the room that is free.

Where the regions run side by side many lines are as short; then it is the middle of the stretch where they are near,
so that it does not leap from end to end when one of them turns a little. Where nothing straight is free, the shortest
way is sought among the corners of what is in the way (a visibility graph), rounded as the cord bends.
"""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from sketcher.strength.bends import rings, tight_bends

_QUARTER = 16
#: Places along a region are looked at so far apart, mm; lines longer than the shortest by less than this are as good.
_STEP_MM, _AS_GOOD_MM = 1.0, 2.0
#: Chords of what is gone round leave its arcs by no more than this, outside, mm.
_CHORD_MM = 0.03
_MOST_CORNERS = 600

Places = NDArray[np.float64]


def neck(
    one: BaseGeometry, other: BaseGeometry, half_mm: float, dry: BaseGeometry | None = None, radius_mm: float = 0.0
) -> LineString:
    """A line from one region to another.

    Args:
        one, other: regions that do not meet, mm.
        half_mm: half the neck's width: so far it keeps from what is dry.
        dry: what the neck may not touch; none asks for the shortest line whatever is in its way.
        radius_mm: the least radius of the neck's edge where it goes round something.

    Returns the shortest line where no free way is found: the finding about it is the caller's.
    """
    if dry is None or dry.is_empty:
        return _straight(one, other, None)[0] or LineString(nearest_points(one, other))
    shortest = one.distance(other)
    # What is gone round has its tight corners rounded before; the neck keeps half its width from that.
    shut = shapely.union_all([_rounded(piece, radius_mm) for piece in shapely.get_parts(dry).tolist()])
    shut = shut.buffer(half_mm + _CHORD_MM, quad_segs=_QUARTER).simplify(_CHORD_MM)
    line, length = _straight(one, other, shut)
    if line is not None and length <= shortest + _AS_GOOD_MM:
        return line
    found = _round_about(one, other, shut)
    if found is not None and (line is None or found.length < length):
        return found
    return line or LineString(nearest_points(one, other))


def _straight(one: BaseGeometry, other: BaseGeometry, shut: BaseGeometry | None) -> tuple[LineString | None, float]:
    """The straight line in the middle of the nearest stretch from which one is free, and its length."""
    best: tuple[float, float, LineString] | None = None
    for ring in shapely.get_rings(shapely.get_parts(one)).tolist():
        count = max(8, int(ring.length / _STEP_MM))
        along = np.arange(count) * (ring.length / count)
        places = np.asarray(shapely.line_interpolate_point(ring, along))
        apart = shapely.distance(places, other)
        if shut is not None:
            lines = shapely.shortest_line(places, other)
            shapely.prepare(shut)
            apart = np.where(shapely.intersects(shut, lines), np.inf, apart)
        least = float(apart.min())
        if not np.isfinite(least) or (best is not None and least > best[0] + _AS_GOOD_MM):
            continue
        weight, middle = _heaviest(np.maximum(0.0, 1 - (apart - least) / _AS_GOOD_MM))
        place = ring.interpolate(middle * ring.length / count)
        line = LineString(nearest_points(place, other))
        if line.length < 1e-9 or (shut is not None and shut.intersects(line)):
            place = places[int(np.argmin(apart))]
            line = LineString(nearest_points(place, other))
        if best is None or (least - best[0], -weight) < (0.0, -best[1]):
            best = (least, weight, line)
    return (None, np.inf) if best is None else (best[2], best[0])


def _heaviest(weights: NDArray[np.float64]) -> tuple[float, float]:
    """Of the runs of a ring with weights above 0 the heaviest: its weight, and its middle by number."""
    count = len(weights)
    if (weights > 0).all():
        return float(weights.sum()), float(np.argmax(weights))
    start = int(np.argmin(weights > 0))  # a place without weight
    turned = np.roll(weights, -start)
    best, middle = -1.0, 0.0
    edges = np.flatnonzero(np.diff((turned > 0).astype(int))) + 1
    for run in np.split(np.arange(count), edges):
        total = float(turned[run].sum())
        if total > best:
            best, middle = total, float((turned[run] * run).sum() / total) if total > 0 else float(run[0])
    return best, (middle + start) % count


def _rounded(piece: BaseGeometry, radius: float) -> BaseGeometry:
    """What is gone round, with corners of at least a radius: all of it in a disc where it is small."""
    circle = shapely.minimum_bounding_circle(piece)
    if shapely.minimum_bounding_radius(piece) <= radius:
        return circle.centroid.buffer(radius, quad_segs=_QUARTER)
    if not isinstance(piece, Polygon):
        return piece
    discs = [
        Point(np.subtract(bend.apex, np.multiply(radius, bend.outward))).buffer(radius, quad_segs=_QUARTER)
        for bend in tight_bends(rings(piece)[0], 0.95 * radius)
        if bend.radius > 0
    ]
    return shapely.union_all([piece, *discs])


def _round_about(one: BaseGeometry, other: BaseGeometry, shut: BaseGeometry) -> LineString | None:
    """The shortest way that keeps out of ``shut``; none where there is none, or where that is too much to ask."""
    begin, end = one.difference(shut), other.difference(shut)
    if begin.is_empty or end.is_empty:
        return None
    corners, before, after = _corners(shut)
    if not 0 < len(corners) <= _MOST_CORNERS:
        return None
    inside = shut.buffer(-1e-3)
    shapely.prepare(inside)
    points = np.asarray(shapely.points(corners))
    from scipy.sparse import coo_array  # it takes long to import, and few necks go round anything
    from scipy.sparse.csgraph import dijkstra

    first, second = _sees(corners, before, after, inside)
    lengths = [np.hypot(*(corners[first] - corners[second]).T)]
    rows, columns = [first], [second]
    count = len(corners)
    for number, region in ((count, begin), (count + 1, end)):
        lines = shapely.shortest_line(points, region)
        seen = np.flatnonzero(~shapely.intersects(inside, lines))
        rows.append(np.full(len(seen), number))
        columns.append(seen)
        lengths.append(shapely.length(lines)[seen])
    graph = coo_array(
        (np.concatenate(lengths) + 1e-9, (np.concatenate(rows), np.concatenate(columns))), shape=(count + 2, count + 2)
    ).tocsr()
    far, came = dijkstra(graph, directed=False, indices=count, return_predecessors=True)
    if not np.isfinite(far[count + 1]):
        return None
    way = []
    at = int(came[count + 1])
    while at != count:
        way.append(at)
        at = int(came[at])
    way.reverse()
    start = nearest_points(points[way[0]], begin)[1]
    stop = nearest_points(points[way[-1]], end)[1]
    return LineString([start, *(points[number] for number in way), stop])


def _corners(shut: BaseGeometry) -> tuple[Places, Places, Places]:
    """Corners that a taut line can turn at: those that bulge into the free room, with their neighbours."""
    found = [np.empty((0, 3, 2))]
    for polygon in shapely.get_parts(shut).tolist():
        for ring in rings(polygon):
            before, after = np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0)
            (ax, ay), (bx, by) = (ring - before).T, (after - ring).T
            bulges = ax * by - ay * bx > 0
            found.append(np.stack([ring, before, after], axis=1)[bulges])
    every = np.concatenate(found)
    return every[:, 0], every[:, 1], every[:, 2]


def _sees(
    corners: Places, before: Places, after: Places, inside: BaseGeometry
) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pairs of corners with a free line between that touches at both ends: a taut line uses no others."""
    ahead = corners[None] - corners[:, None]

    def side(neighbour: Places) -> NDArray[np.float64]:
        to = (neighbour - corners)[:, None]
        return np.asarray(ahead[..., 0] * to[..., 1] - ahead[..., 1] * to[..., 0])

    touches = side(before) * side(after) >= -1e-9
    first, second = np.nonzero(np.triu(touches & touches.T, 1))
    lines = shapely.linestrings(np.stack([corners[first], corners[second]], axis=1))
    free = ~shapely.intersects(inside, lines)
    return first[free], second[free]
