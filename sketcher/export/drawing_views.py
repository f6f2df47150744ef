"""More views of a shop drawing: both sides of the body, the lid, the edges as they lie on the machine, details."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import pairwise

from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas

from sketcher.document import Document
from sketcher.export import drawing_page as page
from sketcher.export.operations import short
from sketcher.export.pdf import draw_entity
from sketcher.export.setup_sheets import body_above, body_below, edges, lid
from sketcher.export.setups import edge_set_ups
from sketcher.export.sheet import ExportError, Sheet
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.geometry.shapes import PortShape
from sketcher.strength.gland import Gland
from sketcher.strength.seal import SealDesign

Draw = Callable[[Canvas], None]
View = tuple[str, float | None, Draw]

_ROOM = (page.WIDTH_MM - 2 * page.FRAME_MM - 16.0, page.HEIGHT_MM - 2 * page.FRAME_MM - page.BLOCK_MM[1] - 20.0)
#: Line widths by what is done, mm: visible edges 0.5 and 0.35, all else thin (ISO 128-2).
_WIDTHS = {"outer": 0.5, "inner": 0.35, "pocket": 0.35, "mark": 0.13}


def set_up_views(document: Document, shapes: Shapes) -> Iterator[View]:
    """A page for each set-up, drawn as it lies on the machine; none where an outline crosses itself."""
    try:
        sheets = [make(document, shapes, "") for make in (body_above, body_below, lid)]
    except ExportError:
        return
    if edge_set_ups(document, shapes):
        sheets.append(edges(document, shapes, ""))
    for sheet in sheets:
        words = sheet.title.removeprefix(document.name or "Plate").strip(", ")
        yield f"View: {words}", *_view(sheet)


def _view(sheet: Sheet) -> tuple[float, Draw]:
    left, front, right, rear = sheet.box()
    scale = page.scale_for(right - left, rear - front, *_ROOM)
    x, y = page.FRAME_MM + 8.0, page.HEIGHT_MM - page.FRAME_MM - 8.0 - (rear - front) * scale

    def draw(canvas: Canvas) -> None:
        canvas.saveState()
        canvas.translate(x * mm, y * mm)
        canvas.scale(scale, scale)
        canvas.translate(-left * mm, -front * mm)
        canvas.setStrokeColor(page.INK)
        for layer in sheet.layers:
            canvas.setLineWidth(_WIDTHS[layer.role] * mm / scale)
            for entity in sheet.on(layer.name):
                draw_entity(canvas, entity)
        canvas.restoreState()
        page.text(canvas, (page.FRAME_MM + 4, page.FRAME_MM + 4), " ".join(sheet.notes)[:150], 6)

    return scale, draw


def details(shapes: Shapes, seal: SealDesign) -> View:
    """Enlarged sections of the seal groove and of each kind of port, with all their sizes."""
    ports: dict[tuple[str, float, float, float], PortShape] = {}
    for port in shapes.ports.values():
        if port.heading is None and port.thread is not None:
            deep = port.bore_prism.high - port.bore_prism.low
            key = (port.item.thread or "", port.item.thread_depth_mm, port.bore_diameter, round(deep, 3))
            ports.setdefault(key, port)

    def draw(canvas: Canvas) -> None:
        x, y = page.FRAME_MM + 30.0, page.HEIGHT_MM - page.FRAME_MM - 40.0
        if seal.kind == "cord" and seal.gland is not None and seal.loops:
            _groove(canvas, (x, y), seal.gland)
            x += 120.0
        for n, ((thread, deep, bore, depth), port) in enumerate(list(ports.items())[:4]):
            at = (x + 40.0 + 95.0 * (n % 2), y - 105.0 * (n // 2))
            _port(canvas, at, port, thread, (deep, bore, depth))

    return "Details", None, draw


def _groove(canvas: Canvas, at: Point, gland: Gland) -> None:
    """The groove's section ten times enlarged."""
    s, (x, y) = 10.0, at
    w, d = gland.width_mm * s, gland.depth_mm * s
    page.text(canvas, (x, y + 26), "Detail: seal groove in section, 10:1", 9, bold=True)
    canvas.setStrokeColor(page.INK)
    canvas.setLineWidth(0.5 * mm)
    corners = ((x, y), (x + 15, y), (x + 15, y - d), (x + 15 + w, y - d), (x + 15 + w, y), (x + 30 + w, y))
    for a, b in pairwise(corners):
        canvas.line(a[0] * mm, a[1] * mm, b[0] * mm, b[1] * mm)
    width = f"{short(gland.width_mm)} ± {short(gland.width_tolerance_mm)}"
    depth = f"{short(gland.depth_mm)} ± {short(gland.depth_tolerance_mm)}"
    page.dimension(canvas, (x + 15 + w, y), (x + 15, y), 10, width)
    page.dimension(canvas, (x + 15, y), (x + 15, y - d), 22, depth)
    words = [
        f"Cord {short(gland.cord_mm)} ± {short(gland.cord_tolerance_mm)}; inside radius in plan at least"
        f" {short(gland.inside_radius_mm)}.",
        "Bottom corners R 0.2 to 0.3, flanks 0 to 5 degrees, edges broken 0.1.",
        "Floor, flanks and the lid's face: Ra 1.6 (ISO 21920-1); flatness of both joint faces 0.05 (ISO 1101).",
    ]
    page.paragraphs(canvas, (x, y - d - 10), 110, words, 7.5)


def _port(canvas: Canvas, at: Point, port: PortShape, thread: str, sizes: tuple[float, float, float]) -> None:
    """A port's section twice enlarged: thick lines for the drilled bore, thin ones for the thread (ISO 6410-1)."""
    deep, bore, depth = sizes
    s, (x, y) = 2.0, at
    page.text(canvas, (x - 25, y + 26), f"Detail: port {thread} in section, 2:1", 9, bold=True)
    major, half = port.thread_diameter * s / 2, bore * s / 2
    canvas.setStrokeColor(page.INK)
    canvas.setLineWidth(0.5 * mm)
    face = max(port.item.fitting_diameter_mm * s / 2, major) + 4
    rows = ((-face, 0, -major, 0), (major, 0, face, 0), (-half, -major + half, -half, -depth * s),
            (half, -major + half, half, -depth * s), (-half, -depth * s, half, -depth * s),
            (-major, 0, -half, -major + half), (major, 0, half, -major + half),
            (-major, -deep * s, major, -deep * s))  # fmt: skip
    for a, b, c, d in rows:
        canvas.line((x + a) * mm, (y + b) * mm, (x + c) * mm, (y + d) * mm)
    canvas.setLineWidth(0.25 * mm)
    for side in (-major, major):
        canvas.line((x + side) * mm, y * mm, (x + side) * mm, (y - deep * s) * mm)
    page.dimension(canvas, (x + half, y), (x - half, y), 10, f"Ø {short(bore)}")
    page.dimension(canvas, (x - face, y), (x - face, y - depth * s), 4, short(depth))
    words = [
        f"{thread} ISO 228-1, {short(deep)} deep; chamfer 90 degrees to Ø {short(port.thread_diameter)} to"
        f" {short(port.thread_diameter + 0.4)}; flat bottom.",
        f"Face Ø {short(port.item.fitting_diameter_mm)} square to the thread 0.1 (ISO 1101), Ra 1.6: it seals.",
        _standard(thread, depth),
    ]
    page.paragraphs(canvas, (x - 40, y - depth * s - 8), 85, [word for word in words if word], 7)


def _standard(thread: str, depth: float) -> str:
    """DIN 3852-2 and ISO 1179-1 ask for 18.5 mm of drilling and 12 mm of full thread for G1/4 (a maker's table)."""
    if thread == "G1/4" and depth < 18.5:
        return "Shallower than a port to ISO 1179-1 (18.5 drilled, 12 of full thread): short fittings only."
    return ""


def projection_symbol(canvas: Canvas, at: Point) -> None:
    """First-angle projection, ISO 5456-2: a truncated cone seen from the side, its two circles to the right of it."""
    x, y = at
    canvas.setStrokeColor(page.INK)
    canvas.setLineWidth(0.25 * mm)
    corners = ((x, y - 1.25), (x, y + 1.25), (x + 6, y + 2.5), (x + 6, y - 2.5), (x, y - 1.25))
    for a, b in pairwise(corners):
        canvas.line(a[0] * mm, a[1] * mm, b[0] * mm, b[1] * mm)
    for radius in (1.25, 2.5):
        canvas.circle((x + 11) * mm, y * mm, radius * mm, stroke=1, fill=0)
    canvas.setLineWidth(0.1 * mm)
    canvas.setDash([2, 1])
    canvas.line((x - 1) * mm, y * mm, (x + 14.5) * mm, y * mm)
    canvas.line((x + 11) * mm, (y - 3.3) * mm, (x + 11) * mm, (y + 3.3) * mm)
    canvas.setDash([])


def standard_notes(document: Document) -> list[str]:
    """Notes with the standards that they follow, each with its year where another year says something else."""
    plate = document.plate
    thick = max(plate.body_thickness_mm, plate.lid_thickness_mm)
    sheets = dict.fromkeys((plate.body_thickness_mm, plate.lid_thickness_mm))
    bought = ", ".join(f"{t:g} ±{0.4 + 0.1 * t:.1f}" for t in sheets)
    return [
        "Do not scale. Dimensions in mm (ISO 129-1), lines ISO 128-2, threads ISO 6410-1, first-angle projection"
        " ISO 5456-2, sheet A3 ISO 5457. Quantity: 1 body, 1 lid. Colour: clear, unless ordered otherwise.",
        f"General tolerances ISO 2768-1:1989 m, holes ±{document.shop.tolerance_mm:g} from datum A. Flatness of the"
        " joint faces 0.05 each, one by one: ISO 2768-2:1989 H would allow 0.2, most of a cord's squeeze.",
        f"Stock: {plate.material}, cast sheet {bought} (ISO 7823-1); the drawing's thickness is the finished one.",
        "Depths end in a flat bottom. A drill's point may not go deeper than the depth given, but for lid screw"
        " holes where the note gives the point. Metric threads 6H, lid screw holes chamfered 90 degrees to the thread's"
        " diameter + 0.5.",
        f"Anneal after machining: 80 °C, one hour for each mm, at least two ({max(thick, 2):g} h for {thick:g} mm),"
        f" cool in {max(thick / 4, 2):g} h at least, out of the oven below 50 °C (a sheet maker's brief). Ovens burn:"
        " gloves, and no food in them.",
        "Channels: straight runs and bends as in the table, end radius half the width. Visible walls as milled; no"
        " flame polishing.",
    ]  # fmt: skip
