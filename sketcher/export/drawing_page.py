"""The pages of a shop drawing: frame, title block, tables, running text, and views at a scale that is said."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas

from sketcher.geometry.path import Point

#: A3 across (ISO 216), and the frame on it, mm.
WIDTH_MM, HEIGHT_MM, FRAME_MM = 420.0, 297.0, 10.0
BLOCK_MM = (190.0, 34.0)
#: Scales by ISO 5455, the largest first.
SCALES = (5.0, 2.0, 1.0, 1 / 2, 1 / 5, 1 / 10, 1 / 20, 1 / 50)
INK, GREY, PAPER = HexColor("#000000"), HexColor("#777777"), HexColor("#ffffff")
FONT, BOLD = "Helvetica", "Helvetica-Bold"


@dataclass(frozen=True)
class Title:
    """What the title block says; ``rows`` are pairs of a word and its value."""

    name: str
    rows: tuple[tuple[str, str], ...]


def scale_for(width: float, height: float, room_width: float, room_height: float) -> float:
    """The largest usual scale at which a view fits its room, all mm; the smallest when none does."""
    return next((s for s in SCALES if width * s <= room_width and height * s <= room_height), SCALES[-1])


def scale_words(scale: float) -> str:
    """``1:2``, ``2:1``."""
    return f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}"


def frame(canvas: Canvas, title: Title, number: int, count: int, heading: str, scale: float | None) -> None:
    """The frame and the title block of a page."""
    canvas.setPageSize((WIDTH_MM * mm, HEIGHT_MM * mm))
    canvas.setStrokeColor(INK)
    canvas.setFillColor(INK)
    canvas.setLineWidth(0.5 * mm)
    canvas.rect(FRAME_MM * mm, FRAME_MM * mm, (WIDTH_MM - 2 * FRAME_MM) * mm, (HEIGHT_MM - 2 * FRAME_MM) * mm)
    wide, high = BLOCK_MM
    left, foot = WIDTH_MM - FRAME_MM - wide, FRAME_MM
    canvas.setLineWidth(0.25 * mm)
    canvas.rect(left * mm, foot * mm, wide * mm, high * mm)
    text(canvas, (left + 2, foot + high - 6), title.name[:60], 11, bold=True)
    text(canvas, (left + 2, foot + high - 11), heading, 8)
    rows = [*title.rows, ("Scale", scale_words(scale) if scale else "—"), ("Sheet", f"{number} of {count}")]
    for n, (word, value) in enumerate(rows):
        column, row = n % 3, n // 3
        place = (left + 2 + column * wide / 3, foot + high - 15.0 - row * 3.9)
        text(canvas, place, f"{word}:", 6, grey=True)
        fitted_text(canvas, (place[0] + 17, place[1]), value, 7, wide / 3 - 19)


def text(canvas: Canvas, at: Point, words: str, size: float, *, bold: bool = False, grey: bool = False) -> None:
    """Words with their foot's left end at a place, mm."""
    canvas.setFillColor(GREY if grey else INK)
    canvas.setFont(BOLD if bold else FONT, size)
    canvas.drawString(at[0] * mm, at[1] * mm, words)


def tag(canvas: Canvas, at: Point, words: str, size: float, *, bold: bool = False, grey: bool = False) -> None:
    """Words on a white ground, so that lines that pass behind them do not make them hard to read."""
    width = stringWidth(words, BOLD if bold else FONT, size) / mm
    canvas.setFillColor(PAPER)
    canvas.rect((at[0] - 0.2) * mm, (at[1] - 0.2) * mm, (width + 0.4) * mm, (size * 0.27 + 0.2) * mm, stroke=0, fill=1)
    text(canvas, at, words, size, bold=bold, grey=grey)


def fitted_text(canvas: Canvas, at: Point, words: str, size: float, room: float) -> None:
    """Words made smaller, and at last cut off, to stay within ``room`` mm."""
    while size > 4.5 and stringWidth(words, FONT, size) > room * mm:
        size -= 0.25
    while words and stringWidth(words, FONT, size) > room * mm:
        words = words[:-1]
    text(canvas, at, words, size)


def paragraphs(canvas: Canvas, at: Point, width: float, words: Sequence[str], size: float = 8.0) -> float:
    """Running text from a top left corner, mm; the height below it comes back."""
    x, y = at
    for paragraph in words:
        for line in simpleSplit(paragraph, FONT, size, width * mm):
            text(canvas, (x, y), line, size)
            y -= size * 0.46
        y -= 1.2
    return y


@dataclass(frozen=True)
class Table:
    """A table: its heading, its columns as pairs of a name and a width (mm), and its rows."""

    heading: str
    columns: tuple[tuple[str, float], ...]
    rows: tuple[tuple[str, ...], ...]

    @property
    def width(self) -> float:
        """mm."""
        return sum(width for _, width in self.columns)

    def chunk(self, most: int) -> list[Table]:
        """The table in pieces of at most so many rows."""
        pieces = [self.rows[i : i + most] for i in range(0, len(self.rows), most)] or [()]
        return [Table(self.heading + (", continued" if n else ""), self.columns, rows) for n, rows in enumerate(pieces)]


ROW_MM = 4.4


def table(canvas: Canvas, at: Point, shown: Table) -> float:
    """A table from its top left corner, mm; the height below it comes back."""
    x, y = at
    text(canvas, (x, y - 4), shown.heading, 9, bold=True)
    y -= 6
    canvas.setLineWidth(0.1 * mm)
    canvas.setStrokeColor(GREY)
    for n, row in enumerate([tuple(name for name, _ in shown.columns), *shown.rows]):
        left = x
        for cell, (_, width) in zip(row, shown.columns, strict=True):
            if n == 0:
                text(canvas, (left + 0.7, y - 3.2), cell, 6, grey=True)
            else:
                fitted_text(canvas, (left + 0.7, y - 3.2), cell, 7, width - 1.2)
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
    canvas.saveState()
    canvas.translate((ax + bx) / 2 * mm, (ay + by) / 2 * mm)
    if abs(uy) > abs(ux):
        canvas.rotate(90)
    canvas.setFont(FONT, 8)
    canvas.drawCentredString(0, 1.0 * mm, words)
    canvas.restoreState()
