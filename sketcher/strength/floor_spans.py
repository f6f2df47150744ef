"""What the coolant spans over the floors of the channels, piece by piece.

Channels of one depth that meet are one piece of coolant. Most pieces of a plate stay as they are from one answer to the
next, and are remembered by the polygons of their channels.
"""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import STRtree
from shapely.geometry import MultiPolygon, Polygon

from sketcher.document import Document
from sketcher.document.grouping import grouped
from sketcher.document.remembered import Remembered
from sketcher.geometry import Shapes
from sketcher.strength.flat_plate import Span, largest_span, worst_span
from sketcher.strength.recesses import floor_left_mm

#: What is left under the channels of one depth, mm; these channels; what their coolant spans.
FloorSpan = tuple[float, tuple[str, ...], Span]

_pieces: Remembered[tuple[Polygon | MultiPolygon | None, Span | None]] = Remembered()


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


def _united(polygons: Sequence[Polygon]) -> list[tuple[Polygon | MultiPolygon | None, Span | None]]:
    """The polygons, those that meet united, each piece with its worst span; none for what is no area."""
    if len(polygons) == 1:
        groups = [[0]]
    else:
        first, second = STRtree(polygons).query(polygons, predicate="intersects")
        groups = grouped(range(len(polygons)), zip(first.tolist(), second.tolist(), strict=True))
    members = [tuple(polygons[k] for k in group) for group in groups]
    return _pieces.all([(group, None) for group in members], lambda new: [_piece(members[k]) for k in new])


def _piece(polygons: tuple[Polygon, ...]) -> tuple[Polygon | MultiPolygon | None, Span | None]:
    united = shapely.union_all(polygons)
    return (united, largest_span(united)) if isinstance(united, Polygon | MultiPolygon) else (None, None)
