"""A sheet at true size over several pages of paper.

Neighbouring pages overlap. In the middle of each overlap stand two joining marks, the same two on both pages: laid on
one another they join the pages, straight. Every page has a check line and a map of the pages.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.lib.utils import simpleSplit
from reportlab.pdfgen.canvas import Canvas

from sketcher.export.registry import cautions_of
from sketcher.export.sheet import Box, ExportError, Sheet

#: Width and height, mm: ISO 216; ANSI/ASME Y14.1 for Letter.
PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "LETTER": (215.9, 279.4)}
BORDER_MM = 10.0  # printers leave at least this blank
FOOT_MM = 18.0  # the check line and the words below the drawing
OVERLAP_MM = 12.0
CHECK_MM = 100.0
#: Smaller paper does not hold the check line with the map beside it; more pages than this nobody glues together.
LEAST_MM, MOST_PAGES = 148.0, 400
INK, GREY = HexColor("#000000"), HexColor("#777777")


@dataclass(frozen=True)
class Page:
    """One page: its column from the left and its row from the front, and the sheet's place at its window's corner."""

    column: int
    row: int
    left: float
    front: float

    @property
    def name(self) -> str:
        """Rows are letters from the front, columns numbers from the left."""
        return _name(self.column, self.row)


@dataclass(frozen=True)
class Tiling:
    """How a sheet lies over pages: the page's size, the window on each page, and how many there are, mm."""

    width: float
    height: float
    window_width: float
    window_height: float
    columns: int
    rows: int
    left: float
    front: float

    def pages(self) -> Iterator[Page]:
        """The pages as they lie, from the rear left to the front right."""
        step_x, step_y = self.window_width - OVERLAP_MM, self.window_height - OVERLAP_MM
        for row in range(self.rows - 1, -1, -1):
            for column in range(self.columns):
                yield Page(column, row, self.left + column * step_x, self.front + row * step_y)


def paper_size(paper: str) -> tuple[float, float]:
    """Width and height of a paper by name, or given as ``WIDTHxHEIGHT`` in mm. Raises ``ExportError``."""
    known = PAPERS.get(paper.strip().upper())
    if known is not None:
        return known
    own = re.fullmatch(r"\s*(\d+(?:\.\d+)?)\s*[x×]\s*(\d+(?:\.\d+)?)\s*(?:mm)?\s*", paper)
    if own is None:
        raise ExportError(f"there is no paper {paper!r} here; there are A4, A3 and Letter")
    width, height = float(own[1]), float(own[2])
    if min(width, height) < LEAST_MM:
        raise ExportError(
            f"paper of {width:g} by {height:g} mm is too small for the check line; each side needs {LEAST_MM:g} mm"
        )
    return width, height


def tiling(box: Box, paper: str) -> Tiling:
    """The tiling of a sheet's box with fewer pages, upright or across. Raises ``ExportError``."""
    size = paper_size(paper)
    left, front, right, rear = box
    choices = []
    for width, height in (size, size[::-1]):
        inner_width, inner_height = width - 2 * BORDER_MM, height - 2 * BORDER_MM - FOOT_MM
        columns, rows = _pages(right - left, inner_width), _pages(rear - front, inner_height)
        choices.append(Tiling(width, height, inner_width, inner_height, columns, rows, left, front))
    best = min(choices, key=lambda tiles: tiles.columns * tiles.rows)
    if best.columns * best.rows > MOST_PAGES:
        raise ExportError(f"the sheet would take {best.columns * best.rows} pages of {paper}; take larger paper")
    # The drawing stands in the middle of all pages together, away from the windows' edges.
    spare_x = best.columns * (best.window_width - OVERLAP_MM) + OVERLAP_MM - (right - left)
    spare_y = best.rows * (best.window_height - OVERLAP_MM) + OVERLAP_MM - (rear - front)
    return Tiling(
        best.width, best.height, best.window_width, best.window_height, best.columns, best.rows,
        left - spare_x / 2, front - spare_y / 2,
    )  # fmt: skip


def _pages(length: float, window: float) -> int:
    # A line's width of room on either side, so that no edge falls on a window's edge.
    return max(1, math.ceil((length + 2.0 - OVERLAP_MM) / (window - OVERLAP_MM)))


def open_window(canvas: Canvas, tiles: Tiling, page: Page) -> None:
    """Sets the canvas to the sheet's own coordinates, with nothing drawn outside the page's window."""
    foot = BORDER_MM + FOOT_MM
    clip = canvas.beginPath()
    clip.rect(BORDER_MM * mm, foot * mm, tiles.window_width * mm, tiles.window_height * mm)
    canvas.clipPath(clip, stroke=0, fill=0)
    canvas.translate((BORDER_MM - page.left) * mm, (foot - page.front) * mm)


def joints(tiles: Tiling, page: Page) -> list[tuple[float, float, str]]:
    """Joining marks of a page: places on the page, mm, and the names of the two pages they join."""
    left, foot = BORDER_MM, BORDER_MM + FOOT_MM
    wide, high, half = tiles.window_width, tiles.window_height, OVERLAP_MM / 2
    found = []
    for share in (0.25, 0.75):
        if page.column > 0:
            found.append((left + half, foot + share * high, _pair(page.column - 1, page.row, page.column, page.row)))
        if page.column < tiles.columns - 1:
            pair = _pair(page.column, page.row, page.column + 1, page.row)
            found.append((left + wide - half, foot + share * high, pair))
        if page.row > 0:
            found.append((left + share * wide, foot + half, _pair(page.column, page.row - 1, page.column, page.row)))
        if page.row < tiles.rows - 1:
            pair = _pair(page.column, page.row, page.column, page.row + 1)
            found.append((left + share * wide, foot + high - half, pair))
    return found


def _pair(column: int, row: int, other_column: int, other_row: int) -> str:
    return f"{_name(column, row)}+{_name(other_column, other_row)}"


def _name(column: int, row: int) -> str:
    letters = chr(ord("A") + row % 26) * (row // 26 + 1)
    return f"{letters}{column + 1}"


def frame(canvas: Canvas, tiles: Tiling, page: Page) -> None:
    """The window's edge, and the joining marks."""
    canvas.setStrokeColor(GREY)
    canvas.setFillColor(GREY)
    canvas.setFont("Helvetica", 5)
    canvas.setLineWidth(0.1 * mm)
    foot = BORDER_MM + FOOT_MM
    canvas.rect(BORDER_MM * mm, foot * mm, tiles.window_width * mm, tiles.window_height * mm)
    for x, y, pair in joints(tiles, page):
        canvas.line((x - 4) * mm, y * mm, (x + 4) * mm, y * mm)
        canvas.line(x * mm, (y - 4) * mm, x * mm, (y + 4) * mm)
        canvas.circle(x * mm, y * mm, 1.5 * mm, stroke=1, fill=0)
        canvas.drawCentredString(x * mm, (y + 4.5) * mm, pair)


def foot(canvas: Canvas, tiles: Tiling, page: Page, title: str, sheet: str) -> None:
    """The check line, what this is, the cautions' names and the map of the pages."""
    _check_line(canvas)
    y = BORDER_MM + FOOT_MM - 6
    where = f"page {page.name} ({tiles.columns} × {tiles.rows}); pages overlap by {OVERLAP_MM:g} mm"
    canvas.drawString(BORDER_MM * mm, (y - 7.5) * mm, f"{title[:60]}   {sheet}   {where}")
    words = "  ".join(f"{caution.title}." for caution in cautions_of(sheet))
    if words:
        canvas.setFont("Helvetica", 5.5)
        canvas.drawString(BORDER_MM * mm, (y - 11.0) * mm, f"Safety (last page): {words}"[:150])
    _map(canvas, tiles, page)


def _check_line(canvas: Canvas) -> None:
    y = BORDER_MM + FOOT_MM - 6
    canvas.setStrokeColor(INK)
    canvas.setFillColor(INK)
    canvas.setLineWidth(0.2 * mm)
    canvas.line(BORDER_MM * mm, y * mm, (BORDER_MM + CHECK_MM) * mm, y * mm)
    for x in (BORDER_MM, BORDER_MM + CHECK_MM):
        canvas.line(x * mm, (y - 1.5) * mm, x * mm, (y + 1.5) * mm)
    canvas.setFont("Helvetica", 7)
    words = f"This line is {CHECK_MM:g} mm long. If not, print again at 100 %, without fitting to the page."
    canvas.drawString((BORDER_MM + 2) * mm, (y - 3.5) * mm, words)


def _map(canvas: Canvas, tiles: Tiling, page: Page | None) -> None:
    """Which page this is among all of them, at the foot's right."""
    size = min(4.0, (FOOT_MM - 3) / max(tiles.rows, 1), 24.0 / max(tiles.columns, 1))
    left = tiles.width - BORDER_MM - size * tiles.columns
    canvas.setLineWidth(0.1 * mm)
    for row in range(tiles.rows):
        for column in range(tiles.columns):
            here = page is not None and (row, column) == (page.row, page.column)
            canvas.setFillColor(HexColor("#444444" if here else "#ffffff"))
            canvas.rect((left + column * size) * mm, (BORDER_MM + row * size) * mm, size * mm, size * mm, fill=1)
    canvas.setFillColor(INK)


def last_page(canvas: Canvas, tiles: Tiling, sheet: Sheet) -> None:
    """How to print and join, the notes and the cautions, in full."""
    _check_line(canvas)
    _map(canvas, tiles, None)
    words = [
        "Print at 100 % ('actual size'), never fitted to the page. Measure the check line on every page before use.",
    ]
    if tiles.columns * tiles.rows > 1:
        words.append(
            "Cut each page along its frame where another page joins it, lay the joining marks of the same two names on"
            " one another, and tape. The map at the foot shows where a page goes: rows are letters from the front."
        )
    words += sheet.notes
    words += [f"{c.title}: {c.text} {c.defer}" for c in cautions_of(sheet.name)]
    y = tiles.height - BORDER_MM - 6
    canvas.setFont("Helvetica-Bold", 12)
    canvas.drawString(BORDER_MM * mm, y * mm, f"{sheet.title[:70]}: {sheet.name}")
    canvas.setFont("Helvetica", 8.5)
    y -= 7
    for paragraph in words:
        for line in simpleSplit(paragraph, "Helvetica", 8.5, (tiles.width - 2 * BORDER_MM) * mm):
            if y < BORDER_MM + FOOT_MM + 4:
                canvas.showPage()
                _check_line(canvas)
                canvas.setFont("Helvetica", 8.5)
                y = tiles.height - BORDER_MM - 6
            canvas.drawString(BORDER_MM * mm, y * mm, line)
            y -= 4.2
        y -= 2
    canvas.showPage()
