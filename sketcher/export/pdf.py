"""PDF at true size, never scaled to fit: one page as large as the sheet, or tiled over paper.

Arcs are cubic curves that stray from the circle by less than a hundred-thousandth of its radius.
"""

from __future__ import annotations

import io
import math
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from sketcher.export import tiles
from sketcher.export.sheet import Entity, ExportError, Sheet
from sketcher.export.svg import COLOURS
from sketcher.geometry.path import Segment

LINE_MM = 0.15
MARGIN_MM = 5.0
#: The largest page that PDF 1.x can say: 14,400 units of 1/72 inch, ISO 32000-1, annex C.2.
LARGEST_MM = 14_400 / 72 * 25.4


def pdf(sheet: Sheet, paper: str | None = None) -> bytes:
    """The sheet as a PDF. Raises ``ExportError`` for a paper that cannot be, or a sheet too large for a page."""
    sheet = sheet.without_hidden()
    stream = io.BytesIO()
    canvas = new_canvas(stream, sheet.title, "; ".join(sheet.notes))
    left, front, right, rear = sheet.box()
    if paper is None:
        width, height = right - left + 2 * MARGIN_MM, rear - front + 2 * MARGIN_MM
        if max(width, height) > LARGEST_MM:
            raise ExportError(f"the sheet is {max(width, height):.0f} mm long, too large for one page; name a paper")
        canvas.setPageSize((width * mm, height * mm))
        canvas.translate((MARGIN_MM - left) * mm, (MARGIN_MM - front) * mm)
        draw(canvas, sheet)
        canvas.showPage()
    else:
        tiling = tiles.tiling(sheet.box(), paper)
        canvas.setPageSize((tiling.width * mm, tiling.height * mm))
        boxes = np.array([entity.box() for entity in sheet.entities]).reshape(-1, 4)
        for page in tiling.pages():
            canvas.saveState()
            tiles.open_window(canvas, tiling, page)
            draw(canvas, replace(sheet, entities=_seen(sheet, boxes, tiling, page)))
            canvas.restoreState()
            tiles.frame(canvas, tiling, page)
            tiles.foot(canvas, tiling, page, sheet.title, sheet.name)
            canvas.showPage()
        tiles.last_page(canvas, tiling, sheet)
    canvas.save()
    return stream.getvalue()


def _seen(sheet: Sheet, boxes: NDArray[np.float64], tiling: tiles.Tiling, page: tiles.Page) -> tuple[Entity, ...]:
    """What reaches into a page's window; a line's width is allowed for."""
    left, front, right, rear = boxes.T
    near = (right > page.left - 1) & (left < page.left + tiling.window_width + 1)
    near &= (rear > page.front - 1) & (front < page.front + tiling.window_height + 1)
    return tuple(sheet.entities[i] for i in np.flatnonzero(near).tolist())


def new_canvas(stream: io.BytesIO, title: str, subject: str) -> Canvas:
    """A canvas whose file carries no time and no number of its own."""
    canvas = Canvas(stream, invariant=1, pageCompression=1)
    canvas.setTitle(title)
    canvas.setSubject(subject)
    canvas.setCreator("plate-sketcher")
    return canvas


def draw(canvas: Canvas, sheet: Sheet) -> None:
    """Every entity in its layer's colour, in mm about the canvas's origin."""
    canvas.setLineWidth(LINE_MM * mm)
    for layer in sheet.layers:
        canvas.setStrokeColor(HexColor(COLOURS[layer.role]))
        for entity in sheet.on(layer.name):
            draw_entity(canvas, entity)


def draw_entity(canvas: Canvas, entity: Entity) -> None:
    """One path or circle, stroked as the canvas is set."""
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
