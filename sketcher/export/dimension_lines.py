"""Dimension lines on sheets and drawings: thin lines, open arrows, the value beside. Never cut, never scored."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from shapely import LineString

from sketcher.document.dimensions import Dimension
from sketcher.export import drawing_page as page
from sketcher.export.sheet import Draft, Layer
from sketcher.export.strokes import text_width
from sketcher.geometry import Shapes
from sketcher.geometry.measured_spans import Lost, Measured, measured
from sketcher.geometry.path import Point

LAYER = Layer("DIMENSIONS", "note", "Dimension lines to read: neither cut nor scored", colour=8)
TEXT_MM, ARROW_MM, BEYOND_MM, GAP_MM = 3.0, 2.5, 1.5, 1.0


@dataclass(frozen=True)
class Lines:
    """What a dimension line is drawn of, mm: straight lines, and its words with their middle."""

    lines: tuple[tuple[Point, Point], ...]
    words: str
    middle: Point
    upright: bool


def of_plate(shapes: Shapes) -> list[Measured]:
    """Dimension lines between what the shop makes: both ends on the plate, or one there and the other a fixed point."""
    known = {"plate", *shapes.ports, *shapes.channels, *shapes.cutouts, *shapes.pockets, *shapes.holes}
    known |= {branch.id for branch in shapes.document.branches} | set(shapes.keep_outs)
    return _drawn(shapes, lambda items: bool(items) and items <= known)


def of_floor(shapes: Shapes) -> list[Measured]:
    """Dimension lines with an end on the floor or on what stands on it."""
    known = {"floor", *shapes.obstacles, *shapes.openings, *shapes.boards, *shapes.devices, *shapes.device_ports}
    return _drawn(shapes, lambda items: bool(items & known) or not items)


def _drawn(shapes: Shapes, wanted: Callable[[set[str]], bool]) -> list[Measured]:
    def items(dimension: Dimension) -> set[str]:
        return {end.item for end in (dimension.first, dimension.second) if end.item is not None}

    found = [measured(shapes, one) for one in shapes.document.dimensions if wanted(items(one))]
    return [one for one in found if not isinstance(one, Lost)]


def onto(one: Measured, to: Callable[[Point], Point]) -> Measured:
    """The same in other coordinates; the value stays."""
    return replace(one, start=to(one.start), end=to(one.end), line=(to(one.line[0]), to(one.line[1])))


def laid(one: Measured, width: float, height: float) -> Lines:
    """Lines and place of the words, which are ``width`` by ``height`` mm."""
    a, b = one.line
    size = math.dist(a, b)
    ux, uy = ((b[0] - a[0]) / size, (b[1] - a[1]) / size) if size > 1e-9 else (1.0, 0.0)
    tight = size < 3 * ARROW_MM
    lines = list(_extensions(one))
    reach = 2 * ARROW_MM if tight else 0.0
    lines.append(((a[0] - ux * reach, a[1] - uy * reach), (b[0] + ux * reach, b[1] + uy * reach)))
    for (x, y), s in ((a, -1.0 if tight else 1.0), (b, 1.0 if tight else -1.0)):
        for t in (0.2, -0.2):
            lines.append(((x, y), (x + s * ARROW_MM * (ux - t * uy), y + s * ARROW_MM * (uy + t * ux))))
    upright = abs(uy) > 0.999
    middle = ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2)
    if upright:
        return Lines(tuple(lines), one.words, (middle[0] - height / 2 - 0.8, middle[1]), True)
    # Above the line as it is read, so far that a slanted line does not run through the words.
    nx, ny = (-uy, ux) if ux >= 0 else (uy, -ux)
    off = 0.8 + (width * abs(nx) + height * abs(ny)) / 2
    return Lines(tuple(lines), one.words, (middle[0] + nx * off, middle[1] + ny * off), False)


def _extensions(one: Measured) -> Iterator[tuple[Point, Point]]:
    for start, end in ((one.start, one.line[0]), (one.end, one.line[1])):
        size = math.dist(start, end)
        if size > GAP_MM:
            ux, uy = (end[0] - start[0]) / size, (end[1] - start[1]) / size
            yield (
                (start[0] + ux * GAP_MM, start[1] + uy * GAP_MM), (end[0] + ux * BEYOND_MM, end[1] + uy * BEYOND_MM)
            )  # fmt: skip


def on_sheet(draft: Draft, lines: list[Measured], layer: str = LAYER.name) -> None:
    """Dimension lines onto a sheet, letters in single strokes."""
    for one in lines:
        width = text_width(one.words, TEXT_MM)
        made = laid(one, width, TEXT_MM)
        for a, b in made.lines:
            draft.line(layer, a, b, item=one.id)
        words = Draft()
        words.text(layer, (-width / 2, -TEXT_MM / 2), made.words, TEXT_MM, one.id)
        draft.entities += [entity.placed(*made.middle, quarter=made.upright) for entity in words.entities]


def on_canvas(canvas: Canvas, one: Measured, size: float) -> list[LineString]:
    """A dimension line, already in the page's mm, onto a PDF; what labels keep clear of comes back."""
    width, height = page.text_width(one.words, size), page.text_height(size)
    made = laid(one, width, height)
    canvas.setLineWidth(0.13 * mm)
    canvas.setStrokeColor(page.INK)
    for (x0, y0), (x1, y1) in made.lines:
        canvas.line(x0 * mm, y0 * mm, x1 * mm, y1 * mm)
    canvas.saveState()
    canvas.translate(made.middle[0] * mm, made.middle[1] * mm)
    if made.upright:
        canvas.rotate(90)
    canvas.setFillColor(page.INK)
    canvas.setFont(page.FONT, size)
    canvas.drawCentredString(0, -height / 2 * mm, made.words)
    canvas.restoreState()
    w, h = (height, width) if made.upright else (width, height)
    (x, y) = made.middle
    corners = [(x - w / 2, y - h / 2), (x + w / 2, y - h / 2), (x + w / 2, y + h / 2), (x - w / 2, y + h / 2)]
    return [*(LineString(line) for line in made.lines), LineString([*corners, corners[0]]), LineString(corners[::2])]
