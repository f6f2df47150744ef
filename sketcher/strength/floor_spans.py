"""What the coolant spans over the floors of the channels, piece by piece.

Channels of one depth that meet are one piece of coolant. Most pieces of a plate stay as they are from one answer to the
next, and are remembered by the polygons of their channels.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree
from shapely.geometry import MultiPolygon, Polygon

from sketcher.document import Document
from sketcher.document.remembered import Recent, Remembered
from sketcher.document.union_find import grouped
from sketcher.geometry import Shapes
from sketcher.strength.flat_plate import Span, largest_span, worst_span
from sketcher.strength.recess_remains import floor_left_mm

#: What is left under the channels of one depth, mm; these channels; what their coolant spans.
FloorSpan = tuple[float, tuple[str, ...], Span]

#: Coolant in plan, and its worst span.
Piece = tuple[Polygon | MultiPolygon | None, Span | None]
_pieces: Remembered[Piece] = Remembered()


def floor_spans(document: Document, shapes: Shapes) -> list[FloorSpan]:
    """For each depth of channel the floor that is left, its channels, and the worst span of their coolant."""
    by_depth: dict[float, list[str]] = {}
    for name, channel in shapes.channels.items():
        by_depth.setdefault(channel.item.depth_mm, []).append(name)
    found = []
    for depth, names in by_depth.items():
        pieces = _united([shapes.channels[name].polygon for name in names])
        span = worst_span(span for _, span in pieces)
        if span is not None and depth < document.plate.body_thickness_mm:  # else another rule says: nothing is left
            water = [piece for piece, _ in pieces if piece is not None]
            found.append((floor_left_mm(document, shapes, depth, water), tuple(names), span))
    return found


@dataclass(frozen=True)
class _Union:
    """Polygons, those that meet united: for each group its members' numbers, what it is, and its worst span."""

    polygons: tuple[Polygon, ...]
    bounds: NDArray[np.float64]
    groups: dict[int, tuple[int, ...]]
    pieces: dict[int, Piece]


_unions: Recent[_Union] = Recent(8)
#: With more changed polygons than this all are united at once.
_MOST_CHANGED = 32


def _united(polygons: Sequence[Polygon]) -> list[Piece]:
    """The polygons, those that meet united, each piece with its worst span; none for what is no area."""
    now = tuple(polygons)
    found: _Union | None = None
    for known in _unions.all():
        if len(known.polygons) != len(now):
            continue
        changed = [n for n, (one, other) in enumerate(zip(known.polygons, now, strict=True)) if one is not other]
        if not changed:
            found = known
            break
        if len(changed) <= min(_MOST_CHANGED, len(now) // 2):
            found = _after_a_change(known, now, changed)
            break
    if found is None:
        bounds = shapely.bounds(np.array(now, dtype=object)).reshape(-1, 4)
        found = _Union(now, bounds, *_grouped(now, range(len(now))))
    if not _unions.all() or _unions.all()[0] is not found:
        _unions.add(found)
    return [found.pieces[first] for first in sorted(found.pieces)]


def _after_a_change(known: _Union, now: tuple[Polygon, ...], changed: Sequence[int]) -> _Union:
    """Only groups that have lost or won a member are made anew: of all others no polygon has changed or meets one."""
    bounds = known.bounds.copy()
    bounds[changed] = shapely.bounds(np.array([now[n] for n in changed], dtype=object))
    left, front, right, rear = bounds.T
    near = np.zeros(len(now), dtype=bool)
    near[changed] = True
    for a, b, c, d in bounds[changed]:
        near |= (left <= c) & (right >= a) & (front <= d) & (rear >= b)
    hit = set(np.flatnonzero(near).tolist())
    touched = {first for first, members in known.groups.items() if not hit.isdisjoint(members)}
    members = sorted(n for first in touched for n in known.groups[first])
    groups, pieces = _grouped(now, members)
    return _Union(
        now,
        bounds,
        {first: group for first, group in known.groups.items() if first not in touched} | groups,
        {first: piece for first, piece in known.pieces.items() if first not in touched} | pieces,
    )


def _grouped(
    polygons: Sequence[Polygon], numbers: Iterable[int]
) -> tuple[dict[int, tuple[int, ...]], dict[int, Piece]]:
    """Groups and pieces of some of the polygons, by the number of each group's first."""
    rows = list(numbers)
    chosen = [polygons[n] for n in rows]
    if len(chosen) == 1:
        found = [[0]]
    else:
        first, second = STRtree(chosen).query(chosen, predicate="intersects")
        found = grouped(range(len(chosen)), zip(first.tolist(), second.tolist(), strict=True))
    members = [tuple(chosen[k] for k in group) for group in found]
    pieces = _pieces.all([(group, None) for group in members], lambda new: [_piece(members[k]) for k in new])
    groups = {rows[group[0]]: tuple(rows[k] for k in group) for group in found}
    return groups, dict(zip(groups, pieces, strict=True))


def _piece(polygons: tuple[Polygon, ...]) -> Piece:
    united = shapely.union_all(polygons)
    return (united, largest_span(united)) if isinstance(united, Polygon | MultiPolygon) else (None, None)
