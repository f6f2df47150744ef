"""PDF at true size: a sheet is tiled over as many pages as it needs, never scaled to fit.

Neighbouring pages overlap; a joining mark stands at the middle of each overlap on both pages. Every page has a check
line and a map of the pages.
"""

from __future__ import annotations

import io
import math
from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from sketcher.export.sheet import Entity, ExportError, Sheet
from sketcher.export.svg import COLOURS
from sketcher.geometry.path import Segment
from sketcher.reference import cautions

#: Width and height, mm: ISO 216; ANSI/ASME Y14.1 for Letter.
PAPERS = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "LETTER": (215.9, 279.4)}
BORDER_MM = 10.0  # printers leave at least this blank
FOOT_MM = 16.0  # the check line and the words below the drawing
OVERLAP_MM = 10.0
CHECK_MM = 100.0
_DASHES = {"mark": [2, 2]}


@dataclass(frozen=True)
class Tiling:
    """How a sheet lies over pages: the page's size, the window on each page, and how many there are, mm."""

    width: float
    height: float
    window_width: float
    window_height: float
    columns: int
    rows: int


def tiling(sheet: Sheet, paper: str) -> Tiling:
    """The tiling with fewer pages, upright or across.

    Raises:
        ExportError: no such paper.
    """
    key = paper.upper()
    if key not in PAPERS:
        raise ExportError(f"there is no paper {paper!r} here; there are A4, A3 and Letter")
    left, front, right, rear = sheet.box()
    choices = []
    for width, height in (PAPERS[key], PAPERS[key][::-1]):
        inner_width, inner_height = width - 2 * BORDER_MM, height - 2 * BORDER_MM - FOOT_MM
        columns = _pages(right - left, inner_width)
        rows = _pages(rear - front, inner_height)
        choices.append(Tiling(width, height, inner_width, inner_height, columns, rows))
    return min(choices, key=lambda tiles: tiles.columns * tiles.rows)


def _pages(length: float, window: float) -> int:
    return max(1, math.ceil((length - OVERLAP_MM) / (window - OVERLAP_MM) - 1e-9))


def pdf(sheet: Sheet, paper: str = "A4") -> bytes:
    """The sheet as a PDF at true size. Raises ``ExportError`` for an unknown paper."""
    tiles = tiling(sheet, paper)
    stream = io.BytesIO()
    canvas = Canvas(stream, pagesize=(tiles.width * mm, tiles.height * mm), invariant=1, pageCompression=1)
    canvas.setTitle(sheet.title)
    canvas.setSubject("; ".join(sheet.notes))
    canvas.setCreator("plate-sketcher")
    left, front, _, _ = sheet.box()
    for row in range(tiles.rows - 1, -1, -1):
        for column in range(tiles.columns):
            origin = (
                left + column * (tiles.window_width - OVERLAP_MM),
                front + row * (tiles.window_height - OVERLAP_MM),
            )
            _page(canvas, sheet, tiles, origin, column, row)
            canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _page(canvas: Canvas, sheet: Sheet, tiles: Tiling, origin: tuple[float, float], column: int, row: int) -> None:
    foot = BORDER_MM + FOOT_MM
    canvas.saveState()
    clip = canvas.beginPath()
    clip.rect(BORDER_MM * mm, foot * mm, tiles.window_width * mm, tiles.window_height * mm)
    canvas.clipPath(clip, stroke=0, fill=0)
    canvas.translate((BORDER_MM - origin[0]) * mm, (foot - origin[1]) * mm)
    canvas.setLineWidth(0.15 * mm)
    for layer in sheet.layers:
        canvas.setStrokeColor(HexColor(COLOURS[layer.role]))
        canvas.setDash(*([_DASHES[layer.role]] if layer.role in _DASHES and layer.name != "NOTES" else [[]]))
        for entity in sheet.on(layer.name):
            _draw(canvas, entity)
    canvas.restoreState()
    _joins(canvas, tiles, column, row)
    _foot(canvas, sheet, tiles, column, row)


def _draw(canvas: Canvas, entity: Entity) -> None:
    if entity.round is not None:
        (x, y), radius = entity.round
        canvas.circle(x * mm, y * mm, radius * mm, stroke=1, fill=0)
        return
    path = canvas.beginPath()
    path.moveTo(entity.path.start[0] * mm, entity.path.start[1] * mm)
    for segment in entity.path.segments:
        if segment.straight:
            path.lineTo(segment.end[0] * mm, segment.end[1] * mm)
        else:
            for control in _curves(segment):
                path.curveTo(*(value * mm for value in control))
    if entity.path.closed:
        path.close()
    canvas.drawPath(path, stroke=1, fill=0)


def _curves(segment: Segment) -> list[tuple[float, ...]]:
    """An arc as cubic curves of at most 45 degrees each: within 5e-6 of the radius (the usual 4/3 tan(a/4) handles)."""
    (cx, cy), radius, angle = segment.centre, segment.radius, segment.included_angle
    pieces = max(1, math.ceil(abs(angle) / (math.pi / 4)))
    step = angle / pieces
    start = math.atan2(segment.start[1] - cy, segment.start[0] - cx)
    handle = 4 / 3 * math.tan(step / 4) * radius
    found: list[tuple[float, ...]] = []
    for n in range(pieces):
        a, b = start + n * step, start + (n + 1) * step
        x0, y0 = cx + radius * math.cos(a), cy + radius * math.sin(a)
        x1, y1 = cx + radius * math.cos(b), cy + radius * math.sin(b)
        found.append(
            (
                x0 - handle * math.sin(a), y0 + handle * math.cos(a),
                x1 + handle * math.sin(b), y1 - handle * math.cos(b), x1, y1,
            )
        )  # fmt: skip
    return found


def _joins(canvas: Canvas, tiles: Tiling, column: int, row: int) -> None:
    """Where this page meets its neighbours: a triangle and the neighbour's name at the middle of each overlap."""
    canvas.setStrokeColor(HexColor("#777777"))
    canvas.setFillColor(HexColor("#777777"))
    canvas.setFont("Helvetica", 6)
    canvas.setLineWidth(0.1 * mm)
    left, foot = BORDER_MM, BORDER_MM + FOOT_MM
    right, top = left + tiles.window_width, foot + tiles.window_height
    canvas.rect(left * mm, foot * mm, tiles.window_width * mm, tiles.window_height * mm)
    half = OVERLAP_MM / 2
    middle_x, middle_y = (left + right) / 2, (foot + top) / 2
    marks = []
    if column > 0:
        marks.append((left + half, middle_y))
    if column < tiles.columns - 1:
        marks.append((right - half, middle_y))
    if row > 0:
        marks.append((middle_x, foot + half))
    if row < tiles.rows - 1:
        marks.append((middle_x, top - half))
    for x, y in marks:
        canvas.line((x - 3) * mm, y * mm, (x + 3) * mm, y * mm)
        canvas.line(x * mm, (y - 3) * mm, x * mm, (y + 3) * mm)
        canvas.circle(x * mm, y * mm, 1.5 * mm, stroke=1, fill=0)


def _foot(canvas: Canvas, sheet: Sheet, tiles: Tiling, column: int, row: int) -> None:
    canvas.setStrokeColor(HexColor("#000000"))
    canvas.setFillColor(HexColor("#000000"))
    canvas.setDash([])
    canvas.setLineWidth(0.2 * mm)
    y = BORDER_MM + FOOT_MM - 5
    canvas.line(BORDER_MM * mm, y * mm, (BORDER_MM + CHECK_MM) * mm, y * mm)
    for x in (BORDER_MM, BORDER_MM + CHECK_MM):
        canvas.line(x * mm, (y - 1.5) * mm, x * mm, (y + 1.5) * mm)
    canvas.setFont("Helvetica", 7)
    canvas.drawString(
        (BORDER_MM + 2) * mm, (y - 3.5) * mm, "This line is 100 mm long. If not, print at 100 %, without fitting."
    )
    page = f"{_name(column, row)} of {tiles.columns} x {tiles.rows}"
    canvas.drawString((BORDER_MM + 2) * mm, (y - 7.0) * mm, f"{sheet.title[:70]}   {sheet.name}   page {page}")
    words = "  ".join(f"{caution.title}." for caution in cautions.for_sheet(sheet.name))
    canvas.setFont("Helvetica", 5.5)
    canvas.drawString((BORDER_MM + 2) * mm, (y - 10.0) * mm, f"Mind: {words}"[:190])
    _map(canvas, tiles, column, row)


def _name(column: int, row: int) -> str:
    return f"{chr(ord('A') + row % 26)}{column + 1}"


def _map(canvas: Canvas, tiles: Tiling, column: int, row: int) -> None:
    """Which page this is among all of them, at the foot's right."""
    size = min(4.0, 12.0 / max(tiles.rows, 1), 30.0 / max(tiles.columns, 1))
    left = tiles.width - BORDER_MM - size * tiles.columns
    for r in range(tiles.rows):
        for c in range(tiles.columns):
            here = (r, c) == (row, column)
            canvas.setFillColor(HexColor("#444444" if here else "#ffffff"))
            canvas.rect((left + c * size) * mm, (BORDER_MM + r * size) * mm, size * mm, size * mm, stroke=1, fill=1)
