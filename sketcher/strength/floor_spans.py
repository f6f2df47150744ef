"""What the coolant spans over the floors of the channels, piece by piece.

Channels of one depth that meet are one piece of coolant. Most pieces of a plate stay as they are from one answer to the
next, and are remembered by their channels.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import partial
from operator import itemgetter

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import STRtree
from shapely.geometry import MultiPolygon, Polygon

from sketcher.document import Document
from sketcher.document.remembered import Recent, Remembered
from sketcher.document.union_find import grouped
from sketcher.geometry import Shapes
from sketcher.geometry.shapes import ChannelShape
from sketcher.strength.flat_plate import Span, span_of_channels, weight, worst_span
from sketcher.strength.recess_remains import floor_left_mm

#: What is left under the channels of one depth, mm; these channels; what their coolant spans.
FloorSpan = tuple[float, tuple[str, ...], Span]

#: A depth, its channels, their coolant in pieces, and its worst span.
_Spanned = tuple[float, tuple[str, ...], list[Polygon | MultiPolygon], Span]
#: Coolant in plan, its worst span, and how that bends; none for what is no area.
Piece = tuple[Polygon | MultiPolygon, Span, float] | None
_pieces: Remembered[Piece] = Remembered()


def floor_spans(document: Document, shapes: Shapes) -> list[FloorSpan]:
    """For each depth of channel the floor that is left, its channels, and the worst span of their coolant."""
    thick = document.plate.body_thickness_mm
    return [
        (floor_left_mm(document, shapes, depth, water), names, span)
        for depth, names, water, span in _spanned.of((shapes.channels,), None, partial(_by_depth, shapes.channels))
        if depth < thick  # else another rule says: nothing is left
    ]


def _by_depth(channels: Mapping[str, ChannelShape]) -> list[_Spanned]:
    """For each depth its channels, their coolant in pieces, and the worst span of it."""
    by_depth: dict[float, list[str]] = {}
    for name, channel in channels.items():
        by_depth.setdefault(channel.item.depth_mm, []).append(name)
    found = []
    for depth, names in by_depth.items():
        pieces = [piece for piece in _united([channels[name] for name in names]) if piece is not None]
        if pieces:
            _, span, _ = max(pieces, key=_WEIGHT)
            found.append((depth, tuple(names), [piece for piece, _, _ in pieces], span))
    return found


_WEIGHT = itemgetter(2)
#: The sheet may be the thinnest: the channels are the same.
_spanned: Remembered[list[_Spanned]] = Remembered(most=4)


@dataclass(frozen=True)
class _Union:
    """Channels, those that meet united: for each group its members' numbers, what it is, and its worst span."""

    channels: tuple[ChannelShape, ...]
    bounds: NDArray[np.float64]
    groups: dict[int, tuple[int, ...]]
    pieces: dict[int, Piece]


_unions: Recent[_Union] = Recent(8)
#: With more changed channels than this all are united at once.
_MOST_CHANGED = 32


def _united(channels: Sequence[ChannelShape]) -> list[Piece]:
    """The channels, those that meet united, each piece with its worst span; none for what is no area."""
    now = tuple(channels)
    found: _Union | None = None
    for known in _unions.all():
        if len(known.channels) != len(now):
            continue
        changed = [n for n, (one, other) in enumerate(zip(known.channels, now, strict=True)) if one is not other]
        if not changed:
            found = known
            break
        if len(changed) <= min(_MOST_CHANGED, len(now) // 2):
            found = _after_a_change(known, now, changed)
            break
    if found is None:
        bounds = _bounds(now)
        found = _Union(now, bounds, *_grouped(now, range(len(now))))
    if not _unions.all() or _unions.all()[0] is not found:
        _unions.add(found)
    return [found.pieces[first] for first in sorted(found.pieces)]


def _after_a_change(known: _Union, now: tuple[ChannelShape, ...], changed: Sequence[int]) -> _Union:
    """Only groups that have lost or won a member are made anew: of all others no channel has changed or meets one."""
    bounds = known.bounds.copy()
    bounds[changed] = _bounds([now[n] for n in changed])
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


def _bounds(channels: Sequence[ChannelShape]) -> NDArray[np.float64]:
    areas = np.array([channel.polygon for channel in channels], dtype=object)
    return np.asarray(shapely.bounds(areas), dtype=float).reshape(-1, 4)


def _grouped(
    channels: Sequence[ChannelShape], numbers: Iterable[int]
) -> tuple[dict[int, tuple[int, ...]], dict[int, Piece]]:
    """Groups and pieces of some of the channels, by the number of each group's first."""
    rows = list(numbers)
    chosen = [channels[n] for n in rows]
    if len(chosen) == 1:
        found = [[0]]
    else:
        areas = [channel.polygon for channel in chosen]
        first, second = STRtree(areas).query(areas, predicate="intersects")
        found = grouped(range(len(chosen)), zip(first.tolist(), second.tolist(), strict=True))
    members = [tuple(chosen[k] for k in group) for group in found]
    pieces = _pieces.all([(group, None) for group in members], lambda new: [_piece(members[k]) for k in new])
    groups = {rows[group[0]]: tuple(rows[k] for k in group) for group in found}
    return groups, dict(zip(groups, pieces, strict=True))


def _piece(channels: tuple[ChannelShape, ...]) -> Piece:
    united = shapely.union_all([channel.polygon for channel in channels])
    if not isinstance(united, Polygon | MultiPolygon):
        return None
    widest = max(channels, key=lambda channel: channel.item.width_mm)
    half, path = widest.item.width_mm / 2, widest.path
    place = path.at(path.length / 2) if path.segments else (0.0, 0.0)
    parts = (part for part in shapely.get_parts(united) if not part.is_empty)
    span = worst_span(span_of_channels(part, half, place) for part in parts)
    return None if span is None else (united, span, weight(span))
