"""What the pages of a shop drawing are made of: words, tables in columns, dimensions, and scales."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from shapely import Geometry, LineString

from sketcher.export.label_placement import Label, Placer
from sketcher.geometry.path import Point

#: Scales by ISO 5455, the largest first.
SCALES = (5.0, 2.0, 1.0, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50)
ToPage = Callable[[Point], Point]
INK, GREY = HexColor("#000000"), HexColor("#777777")
FONT, BOLD = "Helvetica", "Helvetica-Bold"
#: The smallest lettering, points: capitals of 1.8 mm, the smallest nominal height of ISO 3098-1.
SMALLEST = 7.11


def scale_for(width: float, height: float, room_width: float, room_height: float) -> float:
    """The largest usual scale at which a view fits its room, all mm; the smallest when none does."""
    return next((s for s in SCALES if width * s <= room_width and height * s <= room_height), SCALES[-1])


def scale_words(scale: float) -> str:
    """``1:2``, ``2:1``."""
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


def text(
    canvas: Canvas,
    at: Point,
    words: str,
    size: float,
    *,
    bold: bool = False,
    grey: bool = False,
    centred: bool = False,
) -> None:
    """Words with their foot's left end, or its middle, at a place, mm."""
    canvas.setFillColor(GREY if grey else INK)
    canvas.setFont(BOLD if bold else FONT, size)
    draw = canvas.drawCentredString if centred else canvas.drawString
    draw(at[0] * mm, at[1] * mm, words)


def text_width(words: str, size: float, *, bold: bool = False) -> float:
    """mm."""
    return float(stringWidth(words, BOLD if bold else FONT, size) / mm)


def text_height(size: float) -> float:
    """Of capitals and figures, mm: Helvetica's are 0.718 of its size."""
    return float(0.718 * size / mm)


def _below(words: str, size: float) -> float:
    """How far words reach below the line that they stand on, mm: Helvetica's tails are 0.207 of its size."""
    return float(0.207 * size / mm) if any(letter in "gjpqy," for letter in words) else 0.0


def fitted_text(canvas: Canvas, at: Point, words: str, size: float, room: float, *, bold: bool = False) -> None:
    """Words made smaller, and at last cut off with dots, to stay within ``room`` mm."""
    while size > SMALLEST and text_width(words, size, bold=bold) > room:
        size = max(SMALLEST, size - 0.25)
    if text_width(words, size, bold=bold) > room:
        while words and text_width(f"{words}…", size, bold=bold) > room:
            words = words[:-1]
        words = f"{words.rstrip()}…"
    text(canvas, at, words, size, bold=bold)


def paragraphs(canvas: Canvas, at: Point, width: float, words: Sequence[str], size: float = 8.0) -> float:
    """Running text from a top left corner, mm; the height below it comes back."""
    x, y = at
    for paragraph in words:
        for line in simpleSplit(paragraph, FONT, size, width * mm):
            text(canvas, (x, y), line, size)
            y -= size * 0.46
        y -= 1.2
    return y


def size_for(words: Sequence[str], width: float, height: float) -> float:
    """The largest size at which running text stays within a height, mm: from 8 points down to the smallest."""
    size = 8.0
    while size > SMALLEST:
        lines = sum(len(simpleSplit(paragraph, FONT, size, width * mm)) for paragraph in words)
        if lines * size * 0.46 + 1.2 * len(words) <= height:
            break
        size = max(SMALLEST, size - 0.25)
    return size


@dataclass(frozen=True)
class Table:
    """A table: its heading, its columns as pairs of a name and a width (mm), and its rows."""

    heading: str
    columns: tuple[tuple[str, float], ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def width(self) -> float:
        """Of its columns, mm."""
        return sum(width for _, width in self.columns)

    @property
    def full_width(self) -> float:
        """With its heading, mm."""
        return max(self.width, text_width(self.heading, 8, bold=True))


ROW_MM, CELL_MM, TABLE_GAP_MM = 4.4, 1.2, 6.0


def sized(heading: str, names: Sequence[str], rows: Sequence[Sequence[str]], most: float = 80.0) -> Table:
    """A table whose columns are as wide as what stands in them, up to ``most`` mm."""
    widths = [
        min(max(text_width(words, SMALLEST) for words in (name, *(row[n] for row in rows))) + 2 * CELL_MM, most)
        for n, name in enumerate(names)
    ]
    return Table(heading, tuple(zip(names, widths, strict=True)), tuple(tuple(row) for row in rows))


def height_of(shown: Table) -> float:
    """Of a table with its heading, mm."""
    return 6.0 + ROW_MM * (len(shown.rows) + 1)


def in_columns(tables: Sequence[Table], room: tuple[float, float]) -> list[list[tuple[Point, Table]]]:
    """Tables on pages of a room (width, height; mm), cut where they do not fit and laid in columns beside each other.

    For each page the places of the top left corners, from the room's own, and the tables.
    """
    pages: list[list[tuple[Point, Table]]] = [[]]
    x, y, wide = 0.0, 0.0, 0.0
    for whole in tables:
        rest, first = list(whole.rows), True
        while rest or first:
            fits = int((room[1] - y - 6.0) / ROW_MM) - 1
            if fits < min(3, len(rest)) or (wide and x + whole.full_width > room[0]):
                x, y = x + (wide and wide + TABLE_GAP_MM), 0.0
                if x + whole.full_width > room[0] and pages[-1]:
                    pages.append([])
                    x = 0.0
                wide = 0.0
                fits = int((room[1] - y - 6.0) / ROW_MM) - 1
            heading = whole.heading if first else "continued"
            piece = Table(heading, whole.columns, tuple(rest[:fits]))
            pages[-1].append(((x, y), piece))
            rest, first = rest[fits:], False
            y += height_of(piece) + TABLE_GAP_MM
            wide = max(wide, piece.full_width)
    return pages


def table(canvas: Canvas, at: Point, shown: Table) -> float:
    """A table from its top left corner, mm; the height below it comes back."""
    x, y = at
    text(canvas, (x, y - 4), shown.heading, 8, bold=True)
    y -= 6
    canvas.setLineWidth(0.1 * mm)
    canvas.setStrokeColor(GREY)
    for n, row in enumerate([tuple(name for name, _ in shown.columns), *shown.rows]):
        left = x
        for cell, (_, width) in zip(row, shown.columns, strict=True):
            if n == 0:
                text(canvas, (left + 0.6, y - 3.2), cell, SMALLEST, grey=True)
            else:
                fitted_text(canvas, (left + 0.6, y - 3.2), cell, SMALLEST, width - CELL_MM)
            left += width
        canvas.line(x * mm, (y - ROW_MM) * mm, (x + shown.width) * mm, (y - ROW_MM) * mm)
        y -= ROW_MM
    return y


def dimension(canvas: Canvas, start: Point, end: Point, away: float, words: str) -> None:
    """A dimension between two places on the page, drawn ``away`` mm to the right as one goes from start to end."""
    (x0, y0), (x1, y1) = start, end
    length = ((x1 - x0) ** 2 + (y1 - y0) ** 2) ** 0.5
    ux, uy = (x1 - x0) / length, (y1 - y0) / length
    nx, ny = uy, -ux
    canvas.setLineWidth(0.13 * mm)
    canvas.setStrokeColor(INK)
    for x, y in (start, end):
        canvas.line((x + nx) * mm, (y + ny) * mm, (x + nx * (away + 1.5)) * mm, (y + ny * (away + 1.5)) * mm)
    ax, ay, bx, by = x0 + nx * away, y0 + ny * away, x1 + nx * away, y1 + ny * away
    canvas.line(ax * mm, ay * mm, bx * mm, by * mm)
    canvas.setFillColor(INK)
    for px, py, s in ((ax, ay, 1.0), (bx, by, -1.0)):
        head = canvas.beginPath()
        head.moveTo(px * mm, py * mm)
        head.lineTo((px + s * 2.5 * ux + 0.5 * nx) * mm, (py + s * 2.5 * uy + 0.5 * ny) * mm)
        head.lineTo((px + s * 2.5 * ux - 0.5 * nx) * mm, (py + s * 2.5 * uy - 0.5 * ny) * mm)
        head.close()
        canvas.drawPath(head, stroke=0, fill=1)
    middle, upright = ((ax + bx) / 2, (ay + by) / 2), abs(uy) > abs(ux)
    tight = text_width(words, 8) > length - 6
    if upright and tight:
        # Beside a short dimension the words lie, on the side that looks away from what is measured.
        left = middle[0] + (1.2 if nx > 0 else -1.2 - text_width(words, 8))
        text(canvas, (left, middle[1] - 1.0), words, 8)
        return
    canvas.saveState()
    canvas.translate(middle[0] * mm, middle[1] * mm)
    if upright:
        canvas.rotate(90)
    canvas.setFont(FONT, 8)
    canvas.drawCentredString(0, (2.0 if tight and ny > 0 else 1.0) * mm, words)
    canvas.restoreState()


@dataclass(frozen=True)
class Page:
    """A page: its heading, the scale of what is drawn on it, and what draws it."""

    heading: str
    scale: float | None
    draw: Callable[[Canvas], None]


def labels(canvas: Canvas, placer: Placer, wanted: Sequence[tuple[str, Point, float, float, bool]]) -> list[str]:
    """Words beside what they name, by the placer: (words, place, radius, size, bold), what matters most first.

    What found no room comes back.
    """
    asked = [Label(words, at, radius, text_width(words, size, bold=bold), text_height(size) + _below(words, size))
             for words, at, radius, size, bold in wanted]  # fmt: skip
    sizes = {id(label): (size, bold) for label, (_, _, _, size, bold) in zip(asked, wanted, strict=True)}
    done = set()
    for placed in placer.place(asked):
        size, bold = sizes[id(placed.label)]
        done.add(id(placed.label))
        words, (x, y) = placed.label.words, placed.at
        text(canvas, (x, y + _below(words, size)), words, size, bold=bold)
        if placed.leader is not None:
            canvas.setStrokeColor(INK)
            canvas.setLineWidth(0.13 * mm)
            (x0, y0), (x1, y1) = placed.leader
            canvas.line(x0 * mm, y0 * mm, x1 * mm, y1 * mm)
    return [label.words for label in asked if id(label) not in done]


def tolerance_frame(canvas: Canvas, at: Point, value: str, surface: Point) -> None:
    """A flatness tolerance by ISO 1101: a frame with the sign and its value, and a leader to the surface."""
    x, y = at
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.25 * mm)
    wide = 7.0 + text_width(value, SMALLEST) + 2.4
    canvas.rect(x * mm, (y - 2.5) * mm, wide * mm, 5 * mm)
    canvas.line((x + 7) * mm, (y - 2.5) * mm, (x + 7) * mm, (y + 2.5) * mm)
    corners = ((x + 1.2, y - 1.2), (x + 4.6, y - 1.2), (x + 5.8, y + 1.2), (x + 2.4, y + 1.2), (x + 1.2, y - 1.2))
    for a, b in pairwise(corners):
        canvas.line(a[0] * mm, a[1] * mm, b[0] * mm, b[1] * mm)
    text(canvas, (x + 8.2, y - 0.9), value, SMALLEST)
    canvas.setLineWidth(0.13 * mm)
    canvas.line(x * mm, y * mm, (x - 4) * mm, y * mm)
    canvas.line((x - 4) * mm, y * mm, surface[0] * mm, surface[1] * mm)


def hatch(canvas: Canvas, area: Geometry, apart: float, *, falling: bool) -> None:
    """Thin slanting lines over an area of the page, mm (ISO 128-3)."""
    if shapely.is_empty(area):
        return
    left, foot, right, top = shapely.bounds(area)
    high, slope = top - foot, -1.0 if falling else 1.0
    starts = np.arange(left - high, right + high, apart * math.sqrt(2))
    lines = [LineString([(x, foot if slope > 0 else top), (x + high, top if slope > 0 else foot)]) for x in starts]
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.1 * mm)
    for part in shapely.get_parts(shapely.intersection(np.array(lines), area)):
        for line in shapely.get_parts(part):
            if line.geom_type == "LineString" and not line.is_empty:
                (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
                canvas.line(x0 * mm, y0 * mm, x1 * mm, y1 * mm)
