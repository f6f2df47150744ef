"""Dimension lines on the plan: extension lines, arrows, value."""

from __future__ import annotations

import math
from collections.abc import Callable, Hashable, Iterable, Iterator
from functools import partial

from svgwrite.base import BaseElement
from svgwrite.container import Group

from sketcher.drawing import marks
from sketcher.geometry.measured_spans import Lost, Measured
from sketcher.geometry.path import Point

#: Extension lines begin so far off what is measured and end so far beyond the dimension line, mm.
GAP_MM, BEYOND_MM = 1.0, 2.0
#: Length of an arrow and half its width, mm; the page draws it at the screen's own size.
ARROW = "M0 0L-3 .5L-3 -.5Z"
#: A dimension shorter than this has its arrows outside, mm.
TIGHT_MM = 8.0


def dimension_groups(
    found: Iterable[Measured | Lost],
) -> Iterator[tuple[tuple[()], Hashable, Callable[[], Group]]]:
    """An item for each dimension line, what it depends on and how it is drawn; what has lost its reference is not
    drawn: a finding says so."""
    for one in found:
        if isinstance(one, Measured):
            yield (), one, partial(_dimension, one)


def _dimension(one: Measured) -> Group:
    return marks.item(one.id, "dimension", _parts(one))


def _parts(one: Measured) -> Iterator[BaseElement]:
    a, b = one.line
    yield marks.line(a, b, "dimension-hit")
    for start, end in ((one.start, a), (one.end, b)):
        if (extension := extension_line(start, end)) is not None:
            yield marks.line(*extension, "extension")
    yield marks.line(a, b, "dimension-line")
    for at, angle in arrows(one):
        placed = marks.SVG.g(
            transform=f"translate({marks.number(at[0])} {marks.number(at[1])}) rotate({marks.number(angle)})"
        )
        placed.add(marks.SVG.path(d=ARROW, class_="dimension-arrow"))
        yield placed
    yield marks.text(one.words, ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), "value middle")


def extension_line(start: Point, end: Point) -> tuple[Point, Point] | None:
    """From beside what is measured to beyond the dimension line; none where the two are together."""
    size = math.dist(start, end)
    if size <= GAP_MM:
        return None
    ux, uy = (end[0] - start[0]) / size, (end[1] - start[1]) / size
    return (
        (start[0] + ux * GAP_MM, start[1] + uy * GAP_MM), (end[0] + ux * BEYOND_MM, end[1] + uy * BEYOND_MM)
    )  # fmt: skip


def arrows(one: Measured) -> list[tuple[Point, float]]:
    """Where the two arrows point to, and which way, degrees: outward, or inward where there is little room."""
    a, b = one.line
    way = math.degrees(math.atan2(b[1] - a[1], b[0] - a[0]))
    turned = 0.0 if math.dist(a, b) >= TIGHT_MM else 180.0
    return [(a, way + 180 + turned), (b, way + turned)]
