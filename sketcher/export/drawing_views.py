"""More views of a shop drawing: both sides of the body, the lid, the edges as they lie on the machine, with ids."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from shapely import Geometry, LineString

from sketcher.document import Document
from sketcher.export import drawing_page as page
from sketcher.export.drawing_paper import BLOCK_MM, Paper
from sketcher.export.drawing_plan import LARGE, SMALL
from sketcher.export.label_placement import Placer
from sketcher.export.operations import short
from sketcher.export.pdf import draw_entity
from sketcher.export.setup_sheets import NOTES, SET_UPS, edges
from sketcher.export.setups import DATUM, edge_set_ups
from sketcher.export.sheet import Entity, ExportError, Sheet
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point, circle

#: Line widths by what is done, mm: visible edges 0.5 and 0.35, all else thin (ISO 128-2).
_WIDTHS = {"outer": 0.5, "inner": 0.35, "pocket": 0.35, "mark": 0.13, "note": 0.13}
_AROUND = 12.0


def set_up_views(document: Document, shapes: Shapes, paper: Paper) -> Iterator[page.Page]:
    """A page for each set-up, drawn as it lies on the machine; none where an outline crosses itself."""
    try:
        sheets = [make(document, shapes, "") for make in SET_UPS]
    except ExportError:
        return
    if edge_set_ups(document, shapes):
        sheets.append(edges(document, shapes, ""))
    for sheet in sheets:
        words = sheet.title.removeprefix(document.name or "Plate").strip(", ")
        yield _view(sheet, words, shapes, paper)


def _drawn(sheet: Sheet) -> list[tuple[Entity, str, float | None]]:
    """The lines of a set-up with what is done and how deep, without its words: labels are placed here."""
    return [
        (entity, layer.role, layer.depth_mm)
        for layer in sheet.layers
        for entity in sheet.on(layer.name)
        if layer.name != NOTES.name or entity.item.startswith("edge")
    ]


def _view(sheet: Sheet, words: str, shapes: Shapes, paper: Paper) -> page.Page:
    drawn = _drawn(sheet)
    boxes = [entity.box() for entity, _, _ in drawn]
    left, front = min(box[0] for box in boxes), min(box[1] for box in boxes)
    right, rear = max(box[2] for box in boxes), max(box[3] for box in boxes)
    frame_left, foot, frame_right, top = paper.frame
    # Beside the title block where it is narrow enough to stand there, above it else.
    beside = frame_right - frame_left - BLOCK_MM[0]
    rooms = ((beside - 2 * _AROUND, top - foot - 2 * _AROUND - 14, 14.0),
             (frame_right - frame_left - 2 * _AROUND, top - foot - BLOCK_MM[1] - 2 * _AROUND, BLOCK_MM[1]))  # fmt: skip
    scale, room = max(
        ((page.scale_for(right - left, rear - front, *room[:2]), room) for room in rooms), key=lambda row: row[0]
    )
    x = frame_left + _AROUND + (room[0] - (right - left) * scale) / 2
    y = foot + room[2] + _AROUND + (room[1] - (rear - front) * scale) / 2

    def on_page(point: Point) -> Point:
        return (x + (point[0] - left) * scale, y + (point[1] - front) * scale)

    def draw(canvas: Canvas) -> None:
        canvas.saveState()
        canvas.translate(x * mm, y * mm)
        canvas.scale(scale, scale)
        canvas.translate(-left * mm, -front * mm)
        canvas.setStrokeColor(page.INK)
        for entity, role, _ in drawn:
            canvas.setLineWidth(_WIDTHS[role] * mm / scale)
            draw_entity(canvas, entity)
        canvas.restoreState()
        obstacles: list[Geometry] = [_line(entity, on_page) for entity, _, _ in drawn]
        datum = on_page((0.0, 0.0))
        if left - 1 < 0.0 < right + 1 or not words.lower().startswith("edge"):
            canvas.setLineWidth(0.25 * mm)
            canvas.circle(datum[0] * mm, datum[1] * mm, 2 * mm)
            obstacles.append(shapely.Point(datum).buffer(2.0).boundary)
        block = (frame_right - BLOCK_MM[0] - 1, foot, frame_right, foot + BLOCK_MM[1] + 1)
        placer = Placer((frame_left + 1, foot + 13.0, frame_right - 1, top - 1), obstacles, [block])
        wanted = [(f"{DATUM} (0, 0)", datum, 2.0, SMALL, True), *_wanted(drawn, shapes, on_page, scale)]
        page.labels(canvas, placer, wanted)
        page.paragraphs(canvas, (frame_left + 3, foot + 9.5), beside - 6, [" ".join(sheet.notes[:3])], SMALL)

    return page.Page(f"View: {words}", scale, draw)


def _line(entity: Entity, on_page: page.ToPage) -> LineString:
    path = circle(*entity.round) if entity.round is not None else entity.path
    points = [on_page(point) for point in path.points(0.05)]
    return LineString([*points, points[0]] if path.closed else points)


def _wanted(
    drawn: list[tuple[Entity, str, float | None]], shapes: Shapes, on_page: page.ToPage, scale: float
) -> Iterator[tuple[str, Point, float, float, bool]]:
    """One label for each item that is cut here, at its largest round contour or else on its outline: ports first."""
    best: dict[str, tuple[Entity, float | None]] = {}
    for entity, role, depth in drawn:
        if role in ("mark", "note") or entity.item in ("", "plate", "datum"):
            continue
        known = best.get(entity.item)
        if known is None or (
            entity.round is not None and (known[0].round is None or entity.round[1] > known[0].round[1])
        ):
            best[entity.item] = (entity, depth)
    order = sorted(best, key=lambda id_: (id_ not in shapes.ports, _lid_screw(id_, shapes)))
    for item in order:
        entity, depth = best[item]
        words = (
            item if depth is None or item in shapes.holes or item in shapes.ports else f"{item}, {short(depth)} deep"
        )
        size = LARGE if item in shapes.ports else SMALL
        if entity.round is not None:
            yield words, on_page(entity.round[0]), entity.round[1] * scale, size, item in shapes.ports
        else:
            yield words, on_page(entity.path.at(entity.path.length / 3)), 0.0, size, False


def _radius(entity: Entity) -> float:
    return 0.0 if entity.round is None else entity.round[1]


def _lid_screw(id_: str, shapes: Shapes) -> bool:
    return id_ in shapes.holes and shapes.holes[id_].item.use == "lid"
