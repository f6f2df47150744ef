"""The first page of a shop drawing: the body from above with every id, the cuts, the datum and the overall sizes."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

import shapely
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from shapely import Geometry, LineString

from sketcher.document import Document
from sketcher.export import drawing_page as page
from sketcher.export.dimension_lines import of_plate, on_canvas, onto
from sketcher.export.drawing_paper import BLOCK_MM, Paper
from sketcher.export.label_placement import Placer
from sketcher.export.operations import Operation
from sketcher.export.pdf import draw_entity
from sketcher.export.section_cuts import Cut
from sketcher.export.setups import DATUM
from sketcher.export.sheet import Entity
from sketcher.export.table_files import millimetres
from sketcher.geometry import Shapes
from sketcher.geometry.path import Path, Point, circle

Cuts = tuple[tuple[str, Cut], ...]
ToPage = Callable[[Point], Point]
#: Room beside the view for dimensions and the marks of the cuts, mm: left, foot, right, top.
_AROUND = (30.0, 22.0, 24.0, 12.0)
#: Dimensions keep clear of the marks of the sections, mm.
_CLEAR = 14.0
#: Lettering, points: 2.5 and 1.8 mm high (ISO 3098).
LARGE, SMALL = 9.9, page.SMALLEST


def plan_page(
    document: Document, shapes: Shapes, made: list[Operation], cuts: Cuts, paper: Paper, revisions: page.Table
) -> page.Page:
    """The page."""
    left, front, right, rear = (float(value) for value in shapes.plate_polygon.bounds)
    frame_left, foot, frame_right, top = paper.frame
    room = (frame_right - frame_left - _AROUND[0] - _AROUND[2], top - foot - BLOCK_MM[1] - _AROUND[1] - _AROUND[3])
    scale = page.scale_for(right - left, rear - front, *room)
    # In the middle of its room, so that the sheet is filled evenly.
    origin = (
        frame_left + _AROUND[0] + (room[0] - (right - left) * scale) / 2,
        foot + BLOCK_MM[1] + _AROUND[1] + (room[1] - (rear - front) * scale) / 2,
    )

    def on_page(point: Point) -> Point:
        return (origin[0] + (point[0] - left) * scale, origin[1] + (point[1] - front) * scale)

    def draw(canvas: Canvas) -> None:
        _lines(canvas, shapes, made, (origin, scale, left, front), document.plate.lid_face == "bottom")
        marks, letters = _cut_lines(canvas, shapes, cuts, on_page)
        obstacles = [*_obstacles(shapes, made, on_page), *marks]
        corner = on_page((left, front))
        obstacles.append(shapely.Point(corner).buffer(2.0).boundary)
        for one in of_plate(shapes):
            obstacles += on_canvas(canvas, onto(one, on_page), SMALL)
        canvas.setLineWidth(0.25 * mm)
        canvas.circle(corner[0] * mm, corner[1] * mm, 2 * mm)
        page.dimension(canvas, corner, on_page((right, front)), _CLEAR, millimetres(right - left))
        page.dimension(canvas, on_page((left, rear)), corner, _CLEAR, millimetres(rear - front))
        x, y, end, high = *corner, on_page((right, front))[0], on_page((left, rear))[1]
        taken = [
            (x - _CLEAR - 4, y - 2, x - _CLEAR + 2, high + 2), (x - 2, y - _CLEAR - 2, end + 2, y - _CLEAR + 4),
            (x - _CLEAR - 2, y - 0.2, x, y + 0.2), (x - _CLEAR - 2, high - 0.2, x, high + 0.2),
            (x - 0.2, y - _CLEAR - 2, x + 0.2, y), (end - 0.2, y - _CLEAR - 2, end + 0.2, y),
        ]  # fmt: skip
        bounds = (frame_left + 1, foot + BLOCK_MM[1] + 1, frame_right - 1, top - 1)
        placer = Placer(bounds, obstacles, [*taken, *letters])
        missing = page.labels(canvas, placer, list(_wanted(shapes, on_page, scale, corner)))
        words = "Body from above; what is milled from below is dashed."
        if missing:
            words += f" No room for {len(missing)} ids: they are in the hole table by their places."
        page.table(canvas, (frame_left + 4, foot + BLOCK_MM[1] - 0.5), revisions)
        page.text(canvas, (frame_left + 4, foot + 3), words, SMALL)
        _rear(canvas, (frame_right - 12, top - 12))

    return page.Page("Plan", scale, draw)


def _lines(
    canvas: Canvas, shapes: Shapes, made: list[Operation], view: tuple[Point, float, float, float], lid_below: bool
) -> None:
    (x, y), scale, left, front = view
    canvas.saveState()
    canvas.translate(x * mm, y * mm)
    canvas.scale(scale, scale)
    canvas.translate(-left * mm, -front * mm)
    canvas.setStrokeColor(page.INK)
    canvas.setLineWidth(0.5 * mm / scale)
    draw_entity(canvas, Entity("", shapes.plate.path, shapes.plate.round))
    for op in _seen(made):
        hidden = op.side == "below" and lid_below
        # A dashed circle of a few millimetres is a row of dots: small holes are thin, not dashed.
        dashed = hidden and not (op.contour.round is not None and op.contour.round[1] * scale < 4)
        canvas.setLineWidth((0.18 if hidden else 0.35) * mm / scale)
        canvas.setDash([2.0 * mm / scale, 0.8 * mm / scale] if dashed else [])
        for contour in op.contours():
            draw_entity(canvas, Entity("", contour.path, contour.round))
    canvas.setDash([5 * mm / scale, 1 * mm / scale, 1 * mm / scale, 1 * mm / scale])
    canvas.setLineWidth(0.1 * mm / scale)
    for channel in shapes.channels.values():
        if channel.path.segments:
            draw_entity(canvas, Entity("", channel.path))
    for port in shapes.ports.values():
        if port.heading is not None:
            canvas.line(*(value * mm for value in (*port.at, *port.root)))
    canvas.restoreState()


def _seen(made: list[Operation]) -> Iterator[Operation]:
    """What is drawn: of the lid not what lies in the same place as in the body."""
    return (op for op in made if not (op.part.name == "LID" and op.side == "through"))


def _obstacles(shapes: Shapes, made: list[Operation], on_page: ToPage) -> Iterator[Geometry]:
    """Every line of the view, on the page."""

    def line(path: Path) -> LineString:
        points = [on_page(point) for point in path.points(0.05)]
        return LineString([*points, points[0]] if path.closed else points)

    yield line(shapes.plate.path if shapes.plate.round is None else circle(*shapes.plate.round))
    for op in _seen(made):
        for contour in op.contours():
            yield line(contour.path if contour.round is None else circle(*contour.round))
    for channel in shapes.channels.values():
        if channel.path.segments:
            yield line(channel.path)
    for port in shapes.ports.values():
        if port.heading is not None:
            yield LineString([on_page(port.at), on_page(port.root)])


def _wanted(
    shapes: Shapes, on_page: ToPage, scale: float, corner: Point
) -> Iterator[tuple[str, Point, float, float, bool]]:
    """What is written, what matters most first: words, place, radius, size, bold."""
    yield f"{DATUM} (0, 0)", corner, 2.0, SMALL, True
    for id_, port in shapes.ports.items():
        radius = port.thread_diameter / 2 * scale if port.heading is None else 0.0
        yield f"{id_} {port.item.thread or 'marker'}", on_page(port.root), radius, LARGE, True
    for group in (shapes.cutouts, shapes.pockets):
        for id_, area in group.items():
            middle = area.polygon.buffer(0).representative_point()
            yield id_, on_page((middle.x, middle.y)), 0.0, LARGE, False
    for id_, hole in shapes.holes.items():
        if hole.item.use != "lid":
            yield id_, on_page((hole.item.x_mm, hole.item.y_mm)), hole.diameter / 2 * scale, SMALL, False
    for id_, channel in shapes.channels.items():
        if channel.path.segments:
            radius = channel.item.width_mm / 2 * scale
            yield id_, on_page(channel.path.at(channel.length_mm / 2)), radius, SMALL, False
    for id_, hole in shapes.holes.items():
        if hole.item.use == "lid":
            yield id_, on_page((hole.item.x_mm, hole.item.y_mm)), hole.diameter / 2 * scale, SMALL, False


def _cut_lines(
    canvas: Canvas, shapes: Shapes, cuts: Cuts, on_page: ToPage
) -> tuple[list[Geometry], list[tuple[float, float, float, float]]]:
    """The ends of the cuts, with arrows the way they look; their lines and the boxes of their letters come back."""
    marks: list[Geometry] = []
    letters = []
    for name, cut in cuts:
        start, end = cut.line(shapes).coords
        (x0, y0), (x1, y1) = on_page((start[0], start[1])), on_page((end[0], end[1]))
        dx, dy = (5.0, 0.0) if cut.along == "x" else (0.0, 5.0)
        canvas.setLineWidth(0.5 * mm)
        # Thick ends with arrows that look to the rear, or to the left.
        look = (0.0, 4.0) if cut.along == "x" else (-4.0, 0.0)
        for x, y, s in ((x0, y0, -1), (x1, y1, 1)):
            ex, ey = x + s * dx, y + s * dy
            canvas.line(x * mm, y * mm, ex * mm, ey * mm)
            canvas.line(ex * mm, ey * mm, (ex + look[0]) * mm, (ey + look[1]) * mm)
            at = (ex + (-1.0 if cut.along == "x" else 1.5), ey + (-4.0 if cut.along == "x" else s * 1.5 - 1.2))
            page.text(canvas, at, name, LARGE, bold=True)
            marks += [LineString([(x, y), (ex, ey)]), LineString([(ex, ey), (ex + look[0], ey + look[1])])]
            letters.append((at[0] - 0.4, at[1] - 0.4, at[0] + 3.0, at[1] + 2.9))
    return marks, letters


def _rear(canvas: Canvas, at: Point) -> None:
    canvas.setLineWidth(0.3 * mm)
    for a, b in (((0, 0), (0, 8)), ((-2, 5), (0, 8)), ((2, 5), (0, 8))):
        canvas.line(*(v * mm for v in (at[0] + a[0], at[1] + a[1], at[0] + b[0], at[1] + b[1])))
    page.text(canvas, (at[0] - math.copysign(page.text_width("rear", SMALL) + 1.5, 1), at[1]), "rear", SMALL)
