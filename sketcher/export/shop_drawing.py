"""The drawing for the shop: plan, sections, hole table from datum A, sizes, tolerances, notes and cautions, as a PDF.

It is a drawing to be read, on A3 at a scale that it says; what is cut is in the DXF, at true size.
"""

from __future__ import annotations

import hashlib
import io
import math
from collections.abc import Callable
from dataclasses import dataclass

from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from sketcher.document import Document, dumps
from sketcher.drawing.section import CutPart, pieces
from sketcher.export import drawing_page as page
from sketcher.export import drawing_views as views
from sketcher.export.drawing_tables import hole_table, other_tables
from sketcher.export.final import final_sheet
from sketcher.export.hole_table import DATUM
from sketcher.export.operations import Operation, operations, parts_of, short
from sketcher.export.pdf import draw_entity, new_canvas
from sketcher.export.registry import cautions_of
from sketcher.export.section import BEYOND_MM, Cut, telling_cut
from sketcher.export.sheet import Entity
from sketcher.export.tables import millimetres
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.strength import notes as hold_notes
from sketcher.strength.seal import SealDesign, design_seal

#: Room for a view, and for tables, between the frame and the title block, mm.
_LEFT, _TOP = page.FRAME_MM + 22.0, page.HEIGHT_MM - page.FRAME_MM - 14.0
_ROOM = (page.WIDTH_MM - 2 * page.FRAME_MM - 44.0, page.HEIGHT_MM - 2 * page.FRAME_MM - page.BLOCK_MM[1] - 42.0)
_ROWS = 45
#: Dimensions keep clear of the marks of the sections, mm.
_CLEAR = 14.0
_WET, _DRY = "#cfe3f1", "#ffffff"
_FILLS = {
    "body": "#f4f3ee", "lid": "#e4e2d8", "channel": _WET, "bore": _WET, "thread": "#9bc4e2", "groove": "#f2d7a6",
    "pocket": _DRY, "cutout": _DRY, "hole": _DRY, "head": _DRY,
}  # fmt: skip

#: Of a circle's radius, how far up and to the right its slanted end lies.
_SLANT = math.sqrt(0.5)

Draw = Callable[[Canvas], None]


@dataclass(frozen=True)
class _Page:
    heading: str
    scale: float | None
    draw: Draw


def shop_drawing_pdf(
    document: Document, shapes: Shapes, *, revision: str = "", dated: str = "", reason: str = ""
) -> bytes:
    """The drawing.

    Args:
        document: the plate.
        shapes: its shapes.
        revision: the revision's label.
        dated: the revision's own date; the drawing carries no other.
        reason: why the revision was made.
    """
    seal = design_seal(document, shapes)
    made = operations(document, shapes, seal)
    cuts = (("B", telling_cut(shapes, made, "x")), ("C", telling_cut(shapes, made, "y")))
    pages = [_plan(document, shapes, made, cuts, (revision, dated, reason)), _sections(document, shapes, seal, cuts)]
    pages += [_Page(*view) for view in views.set_up_views(document, shapes)]
    pages.append(_Page(*views.details(shapes, seal)))
    pages += _tables(document, shapes, seal)
    pages += _notes(document, shapes, revision, reason)
    title = _title(document, revision, dated)
    stream = io.BytesIO()
    canvas = new_canvas(stream, title.name, "Shop drawing")
    for number, drawn in enumerate(pages, start=1):
        page.frame(canvas, title, number, len(pages), drawn.heading, drawn.scale)
        views.projection_symbol(canvas, (page.WIDTH_MM - page.FRAME_MM - 18, page.FRAME_MM + page.BLOCK_MM[1] - 6))
        drawn.draw(canvas)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _title(document: Document, revision: str, dated: str) -> page.Title:
    plate = document.plate
    return page.Title(
        document.name or "Coolant distribution plate",
        (
            # ISO 7200: owner, number, date, sheet, title, approval, creator, type; what is not known is a dash.
            ("Owner", "—"),
            ("Number", _number(document)),
            ("Type", "Part drawing"),
            ("Created by", "—"),
            ("Approved by", "—"),
            ("Material", plate.material),
            ("Body", f"{plate.body_thickness_mm:g} mm"),
            ("Lid", f"{plate.lid_thickness_mm:g} mm, {plate.lid_face}"),
            ("Tolerance", f"±{document.shop.tolerance_mm:g} mm"),
            ("Revision", revision or "—"),
            ("Dated", dated or "—"),
            ("Units", "mm; do not scale"),
        ),
    )


def _number(document: Document) -> str:
    """The drawing's number: twelve letters of the document's fingerprint, another for each state."""
    return hashlib.sha256(dumps(document).encode()).hexdigest()[:12].upper()


def _plan(
    document: Document,
    shapes: Shapes,
    made: list[Operation],
    cuts: tuple[tuple[str, Cut], ...],
    revision: tuple[str, str, str],
) -> _Page:
    left, front, right, rear = (float(value) for value in shapes.plate_polygon.bounds)
    scale = page.scale_for(right - left, rear - front, *_ROOM)
    origin = (_LEFT, _TOP - (rear - front) * scale)

    def on_page(point: Point) -> Point:
        return (origin[0] + (point[0] - left) * scale, origin[1] + (point[1] - front) * scale)

    def draw(canvas: Canvas) -> None:
        canvas.saveState()
        canvas.translate(origin[0] * mm, origin[1] * mm)
        canvas.scale(scale, scale)
        canvas.translate(-left * mm, -front * mm)
        canvas.setStrokeColor(page.INK)
        canvas.setLineWidth(0.5 * mm / scale)
        draw_entity(canvas, Entity("", shapes.plate.path, shapes.plate.round))
        for op in made:
            if op.part.name == "LID" and op.side == "through":
                continue  # the same place as in the body, or the lid screw's: it would lie on top
            hidden = op.side == "below" and document.plate.lid_face == "bottom"
            canvas.setLineWidth((0.18 if hidden else 0.3) * mm / scale)
            canvas.setDash([2.0 * mm / scale, 0.8 * mm / scale] if hidden else [])
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
        _ids(canvas, shapes, on_page, scale)
        _cut_lines(canvas, shapes, cuts, on_page)
        corner = on_page((left, front))
        canvas.setLineWidth(0.25 * mm)
        canvas.circle(corner[0] * mm, corner[1] * mm, 2 * mm)
        page.text(canvas, (corner[0] - 12, corner[1] - 6), f"{DATUM} (0, 0)", 7, bold=True)
        page.dimension(canvas, corner, on_page((right, front)), _CLEAR, millimetres(right - left))
        page.dimension(canvas, on_page((left, rear)), corner, _CLEAR, millimetres(rear - front))
        page.text(canvas, (_LEFT, page.FRAME_MM + 4), "Body from above; what is milled from below is dashed", 8)
        columns = (("revision", 40.0), ("date", 24.0), ("reason", 100.0))
        row = tuple(word or "—" for word in revision)
        page.table(canvas, (page.FRAME_MM + 6, page.FRAME_MM + 28), page.Table("Revisions", columns, (row,)))
        arrow = (_LEFT + _ROOM[0] - 6, _TOP + 2)
        canvas.setLineWidth(0.3 * mm)
        for a, b in (((0, 0), (0, 8)), ((-2, 5), (0, 8)), ((2, 5), (0, 8))):
            canvas.line(*(v * mm for v in (arrow[0] + a[0], arrow[1] + a[1], arrow[0] + b[0], arrow[1] + b[1])))
        page.text(canvas, (arrow[0] + 3, arrow[1]), "rear", 7)

    return _Page("Plan", scale, draw)


def _ids(canvas: Canvas, shapes: Shapes, on_page: Callable[[Point], Point], scale: float) -> None:
    """The ids, each beside its hole on a white ground; lid screws, of which there are many, small."""
    for id_, hole in shapes.holes.items():
        x, y = on_page((hole.item.x_mm, hole.item.y_mm))
        away = hole.diameter / 2 * scale * _SLANT + 0.4
        page.tag(canvas, (x + away, y + away), id_, 4.5, grey=hole.item.use == "lid")
    for group in (shapes.cutouts, shapes.pockets):
        for id_, area in group.items():
            middle = area.polygon.buffer(0).representative_point()
            x, y = on_page((middle.x, middle.y))
            page.tag(canvas, (x - 2, y - 1), id_, 6.5)
    for id_, port in shapes.ports.items():
        x, y = on_page(port.root)
        away = (port.thread_diameter / 2 * scale * _SLANT if port.heading is None else 1.5) + 0.8
        page.tag(canvas, (x + away, y + away), f"{id_} {port.item.thread or 'marker'}", 6.5, bold=True)


def _cut_lines(
    canvas: Canvas, shapes: Shapes, cuts: tuple[tuple[str, Cut], ...], on_page: Callable[[Point], Point]
) -> None:
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
            page.text(canvas, (ex + (1 if cut.along == "x" else 1.5), ey + (-3 if s < 0 else 1)), name, 8, bold=True)


def _sections(document: Document, shapes: Shapes, seal: SealDesign, cuts: tuple[tuple[str, Cut], ...]) -> _Page:
    left, front, right, rear = (float(value) for value in shapes.plate_polygon.bounds)
    scale = page.scale_for(max(right - left, rear - front), shapes.thickness * 2, _ROOM[0], _ROOM[1] * 0.4)

    def draw(canvas: Canvas) -> None:
        foot = _TOP - 12
        for name, cut in cuts:
            (x0, y0), (x1, y1) = cut.line(shapes).coords
            foot -= shapes.thickness * scale + 16
            where = (
                f"{'y' if cut.along == 'x' else 'x'} = {millimetres(cut.at - (front if cut.along == 'x' else left))}"
            )
            looks = "looking to the rear" if cut.along == "x" else "looking to the left"
            page.text(canvas, (_LEFT, foot + shapes.thickness * scale + 5), f"{name}–{name}", 10, bold=True)
            words = f"{where} from {DATUM}, {looks}"
            page.text(canvas, (_LEFT + 14, foot + shapes.thickness * scale + 5), words, 8)
            for piece in sorted(pieces(shapes, (x0, y0), (x1, y1), seal), key=lambda piece: piece.part == "bore"):
                port = shapes.ports.get(piece.id)
                across = 1 if cut.along == "x" else 0
                lying = port is not None and port.heading is not None and abs(port.heading[across]) > 0.3
                _piece(canvas, piece, (_LEFT, foot), scale, lying)
            page.dimension(canvas, (_LEFT, foot + shapes.thickness * scale), (_LEFT, foot), 10,
                           short(shapes.thickness))  # fmt: skip
            foot -= 10
        sizes = ", ".join(f"{part.name.lower()} {short(part.thickness)} mm" for part in parts_of(document))
        legend = f"{sizes}. Blue: coolant; dark blue: thread; sand: seal groove; white: dry."
        page.text(canvas, (_LEFT, foot - 4), legend, 8)

    return _Page("Sections", scale, draw)


def _piece(canvas: Canvas, piece: CutPart, origin: Point, scale: float, lying: bool) -> None:
    """A box of the section; a bore that lies across the cut is round in it."""
    canvas.setFillColor(HexColor(_FILLS[piece.part]))
    canvas.setStrokeColor(page.INK)
    canvas.setLineWidth(0.18 * mm)
    left, low = (origin[0] + (piece.start - BEYOND_MM) * scale) * mm, (origin[1] + piece.low * scale) * mm
    width, height = (piece.end - piece.start) * scale * mm, (piece.high - piece.low) * scale * mm
    if lying:
        canvas.ellipse(left, low, left + width, low + height, stroke=1, fill=1)
    else:
        canvas.rect(left, low, width, height, stroke=1, fill=1)


def _tables(document: Document, shapes: Shapes, seal: SealDesign) -> list[_Page]:
    """Pages of tables: the holes first, then as many of the others on a page as there is room for."""
    sheets = [[piece] for piece in hole_table(document, shapes, seal).chunk(_ROWS)]
    room = 0
    for piece in (piece for shown in other_tables(shapes, seal) for piece in shown.chunk(_ROWS)):
        if len(piece.rows) + 3 > room:
            sheets.append([])
            room = _ROWS + 3
        sheets[-1].append(piece)
        room -= len(piece.rows) + 3
    return [_table_page(tables) for tables in sheets]


def _table_page(tables: list[page.Table]) -> _Page:
    def draw(canvas: Canvas) -> None:
        y = page.HEIGHT_MM - page.FRAME_MM - 4
        for shown in tables:
            y = page.table(canvas, (page.FRAME_MM + 8, y), shown) - 6

    return _Page("Tables", None, draw)


def _notes(document: Document, shapes: Shapes, revision: str, reason: str) -> list[_Page]:
    words = [f"{n}. {note}" for n, note in enumerate(_sentences(document, shapes, revision, reason), start=1)]
    mind = [f"{c.title}. {c.text} {c.defer}" for c in cautions_of("final")]

    def draw(canvas: Canvas) -> None:
        wide = (page.WIDTH_MM - 2 * page.FRAME_MM - 30) / 2
        top = page.HEIGHT_MM - page.FRAME_MM - 8
        page.text(canvas, (page.FRAME_MM + 8, top), "Notes", 10, bold=True)
        page.paragraphs(canvas, (page.FRAME_MM + 8, top - 6), wide, words)
        page.text(canvas, (page.FRAME_MM + 22 + wide, top), "Cautions", 10, bold=True)
        page.paragraphs(canvas, (page.FRAME_MM + 22 + wide, top - 6), wide, mind)

    return [_Page("Notes and cautions", None, draw)]


def _sentences(document: Document, shapes: Shapes, revision: str, reason: str) -> list[str]:
    found = [*final_sheet(document, shapes, revision).notes, *hold_notes.sentences(document, shapes)]
    found += views.standard_notes(document)
    found += [
        "Ports: ISO 228-1 parallel threads, square to the face; the fitting seals on the face with an O-ring:"
        " flat and Ra 1.6 µm or better around the thread; break no edge into the sealing face.",
        "Seal groove and the lid's face over it: Ra 1.6 µm or better, no marks across the groove.",
        "Inside corners are as the cutter leaves them; outer edges broken 0.3 mm. Remove all swarf from the channels.",
        "Where the drawing and the DXF differ, ask.",
    ]
    if reason:
        found.append(f"Reason of this revision: {reason}")
    if document.note:
        found.append(document.note[:600])
    return found
