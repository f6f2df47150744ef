"""What is cut out of the plate as columns, and which of it is near which: worked out again only for what changed.

Prisms are frozen and remembered, so the same prism at the same place in the list is the same row. While one item is
dragged a few rows of thousands change: the others, and the pairs among them, are taken from an answer before.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
import shapely
from numpy.typing import NDArray

from sketcher.document.remembered import Recent
from sketcher.geometry.prisms import Prism

#: With more changed rows than this all is worked out at once.
MOST_CHANGED = 64
FACES = ("joint", "body", "lid")

Rows = NDArray[np.intp]
Kind = TypeVar("Kind", bound=np.generic)


@dataclass(frozen=True)
class Columns:
    """One row for each prism.

    Attributes:
        prisms: the rows' prisms.
        polygons: their polygons, made valid: a contour that crosses itself must not stop the other rules.
        cores: what each grows from by its radius: a point, a line, or its polygon.
        radii: how far each reaches beyond its core, mm.
        heights: low and high of each, mm: (n, 2).
        faces: the faces that these are given from, by number in ``FACES``: (n, 2).
        turned: which are only the box around a barrel or a cone.
        bounds: left, front, right and rear, mm: (n, 4).
    """

    prisms: tuple[Prism, ...]
    polygons: NDArray[np.object_]
    cores: NDArray[np.object_]
    radii: NDArray[np.float64]
    heights: NDArray[np.float64]
    faces: NDArray[np.intp]
    turned: NDArray[np.bool_]
    bounds: NDArray[np.float64]


@dataclass(frozen=True)
class Near:
    """The columns, and every pair of rows of different items that is within ``reach`` mm in plan, in order of rows.

    ``apart`` is how far the pairs are apart in plan, mm; below 0 where they overlap.
    """

    columns: Columns
    reach: float
    first: Rows
    second: Rows
    apart: NDArray[np.float64]


_known: Recent[Near] = Recent(4)


def near(prisms: tuple[Prism, ...], reach: float) -> Near:
    """Columns and near pairs of these prisms."""
    for known in _known.all():
        if known.reach != reach or len(known.columns.prisms) != len(prisms):
            continue
        pairs = enumerate(zip(prisms, known.columns.prisms, strict=True))
        changed = [n for n, (now, before) in pairs if now is not before]
        if not changed:
            return known
        if len(changed) <= MOST_CHANGED:
            found = _updated(known, prisms, np.array(changed, dtype=np.intp))
            break
    else:
        found = _anew(prisms, reach)
    _known.add(found)
    return found


def columns_of(prisms: Sequence[Prism]) -> Columns:
    """The columns of these prisms."""
    polygons = _objects([prism.polygon for prism in prisms])
    bounds = shapely.bounds(polygons).reshape(-1, 4)
    polygons = _valid(polygons)
    cores = _objects([prism.core for prism in prisms])
    plain = shapely.is_missing(cores)
    cores[plain] = polygons[plain]
    return Columns(
        prisms=tuple(prisms),
        polygons=polygons,
        cores=cores,
        radii=np.array([prism.radius for prism in prisms], dtype=float),
        heights=np.array([(prism.low, prism.high) for prism in prisms], dtype=float).reshape(-1, 2),
        faces=np.array(
            [(FACES.index(prism.low_from), FACES.index(prism.high_from)) for prism in prisms], dtype=np.intp
        ).reshape(-1, 2),
        turned=np.array([prism.solid is not None for prism in prisms], dtype=bool),
        bounds=bounds,
    )


def _anew(prisms: tuple[Prism, ...], reach: float) -> Near:
    columns = columns_of(prisms)
    none = np.array([], dtype=np.intp)
    if not prisms:
        return Near(columns, reach, none, none, np.array([]))
    boxes = shapely.box(*(columns.bounds + reach * np.array([-1, -1, 1, 1])).T)
    # What has no extent has no box, and is near nothing.
    first, second = shapely.STRtree(columns.polygons).query(boxes)
    once = first < second
    return _kept(columns, reach, first[once], second[once])


def _updated(known: Near, prisms: tuple[Prism, ...], changed: Rows) -> Near:
    """The same with some rows changed: the pairs of these are looked for among all, the others stay."""
    new = columns_of([prisms[n] for n in changed])
    before = known.columns

    columns = Columns(
        prisms,
        _put(before.polygons, changed, new.polygons),
        _put(before.cores, changed, new.cores),
        _put(before.radii, changed, new.radii),
        _put(before.heights, changed, new.heights),
        _put(before.faces, changed, new.faces),
        _put(before.turned, changed, new.turned),
        _put(before.bounds, changed, new.bounds),
    )
    is_new = np.zeros(len(prisms), dtype=bool)
    is_new[changed] = True
    stays = ~(is_new[known.first] | is_new[known.second])
    left, front, right, rear = columns.bounds.T
    some, others = [], []
    for n in changed.tolist():
        a, b, c, d = columns.bounds[n] + known.reach * np.array([-1, -1, 1, 1])
        beside = np.flatnonzero((left <= c) & (right >= a) & (front <= d) & (rear >= b))
        # Two changed rows are one pair.
        beside = beside[~is_new[beside] | (beside > n)]
        some.append(np.full(len(beside), n))
        others.append(beside)
    one, other = np.concatenate(some), np.concatenate(others)
    fresh = _kept(columns, known.reach, np.minimum(one, other), np.maximum(one, other))
    first = np.concatenate([known.first[stays], fresh.first])
    second = np.concatenate([known.second[stays], fresh.second])
    order = np.lexsort((second, first))
    apart = np.concatenate([known.apart[stays], fresh.apart])
    return Near(columns, known.reach, first[order], second[order], apart[order])


def _kept(columns: Columns, reach: float, first: Rows, second: Rows) -> Near:
    """Of these pairs those of different items that are near."""
    ids = _objects([prism.id for prism in columns.prisms])
    other = ids[first] != ids[second]
    first, second = first[other], second[other]
    apart = shapely.distance(columns.cores[first], columns.cores[second])
    apart = apart - columns.radii[first] - columns.radii[second]
    order = np.lexsort((second, first))
    order = order[apart[order] <= reach]
    return Near(columns, reach, first[order], second[order], np.asarray(apart[order], dtype=float))


def _put(before: NDArray[Kind], rows: Rows, new: NDArray[Kind]) -> NDArray[Kind]:
    found = before.copy()
    found[rows] = new
    return found


def _objects(values: Sequence[object]) -> NDArray[np.object_]:
    found = np.empty(len(values), dtype=object)
    found[:] = values
    return found


def _valid(polygons: NDArray[np.object_]) -> NDArray[np.object_]:
    bad = ~shapely.is_valid(polygons)
    if bad.any():
        polygons = polygons.copy()
        polygons[bad] = shapely.make_valid(polygons[bad])
    return polygons
