"""Sections of a shop drawing, hatched, and enlarged sections of the seal groove and the ports with all their sizes."""

from __future__ import annotations

from itertools import pairwise

import shapely
from reportlab.lib.colors import HexColor
from reportlab.lib.units import mm
from reportlab.pdfgen.canvas import Canvas
from shapely import Geometry

from sketcher.document import Document
from sketcher.drawing.section import CutPart, pieces
from sketcher.export import drawing_page as page
from sketcher.export.drawing_paper import BLOCK_MM, Paper
from sketcher.export.drawing_plan import LARGE, SMALL, Cuts
from sketcher.export.label_placement import Placer
from sketcher.export.operations import parts_of, short
from sketcher.export.section_cuts import BEYOND_MM, Cut
from sketcher.export.table_files import millimetres
from sketcher.geometry import Shapes
from sketcher.geometry.levels import gasket_mm, joint_mm
from sketcher.geometry.path import Point
from sketcher.geometry.prisms import HALF_POINT_DEG, point_mm
from sketcher.geometry.shapes import PortShape
from sketcher.strength.gland import Gland
from sketcher.strength.seal import SealDesign

#: Flatness of each joint face, mm: the bow between screws is to stay below a tenth of a cord's squeeze.
FLAT_MM = 0.05
_COOLANT, _BARE = HexColor("#cfe3f1"), HexColor("#ffffff")
_WET = frozenset({"channel", "bore", "thread"})
_GAP = 34.0


def section_pages(document: Document, shapes: Shapes, seal: SealDesign, cuts: Cuts, paper: Paper) -> list[page.Page]:
    """The two sections, and the details below them or on a page of their own."""
    left, front, right, rear = (float(value) for value in shapes.plate_polygon.bounds)
    frame_left, foot, frame_right, top = paper.frame
    longest = max(right - left, rear - front)
    scale = page.scale_for(longest, 2 * shapes.thickness, frame_right - frame_left - 70, 110.0)
    deep = shapes.thickness * scale

    def sections(canvas: Canvas) -> None:
        y = top - 26 - deep
        for name, cut in cuts:
            _section(canvas, (document, shapes, seal), name, cut, (frame_left + 22, y), scale)
            y -= deep + _GAP

    below = top - 26 - 2 * deep - _GAP - 22
    if below - foot - BLOCK_MM[1] > 106 or (below - foot > 106 and _count(shapes, seal) <= 2):

        def both(canvas: Canvas) -> None:
            sections(canvas)
            _details(canvas, shapes, seal, (frame_left + 14, below), frame_right)

        return [page.Page("Sections and details", scale, both)]
    return [
        page.Page("Sections", scale, sections),
        page.Page("Details", None, lambda c: _details(c, shapes, seal, (frame_left + 14, top - 10), frame_right)),
    ]


def _section(
    canvas: Canvas, what: tuple[Document, Shapes, SealDesign], name: str, cut: Cut, at: Point, scale: float
) -> None:
    document, shapes, seal = what
    left, front, _, _ = (float(value) for value in shapes.plate_polygon.bounds)
    (x0, y0), (x1, y1) = cut.line(shapes).coords
    deep = shapes.thickness * scale
    where = f"{'y' if cut.along == 'x' else 'x'} = {millimetres(cut.at - (front if cut.along == 'x' else left))}"
    looks = "looking to the rear" if cut.along == "x" else "looking to the left"
    page.text(canvas, (at[0], at[1] + deep + 16), f"{name}–{name}", LARGE, bold=True)
    page.text(canvas, (at[0] + 14, at[1] + deep + 16), f"{where} from the datum, {looks}", SMALL)
    found = sorted(pieces(shapes, (x0, y0), (x1, y1), seal), key=lambda piece: piece.part == "bore")
    areas = [(piece, _area(piece, cut, shapes, at, scale)) for piece in found]
    gone = shapely.union_all([area for piece, area in areas if piece.part not in ("body", "lid")])
    for piece, area in areas:
        if piece.part in ("body", "lid"):
            page.hatch(canvas, shapely.difference(area, gone), 2.5, falling=piece.part == "lid")
    for piece, area in areas:
        solid = piece.part in ("body", "lid")
        _outlined(canvas, area, None if solid else _COOLANT if piece.part in _WET else _BARE, 0.5 if solid else 0.25)
    _ids(canvas, [(p, a) for p, a in areas if p.id], (at[0], at[1] + deep, at[0] + 350, at[1] + deep + 14.5))
    _heights(canvas, document, shapes, at, max(_sides(a)[1] for _, a in areas), scale)


def _area(piece: CutPart, cut: Cut, shapes: Shapes, at: Point, scale: float) -> Geometry:
    """A piece on the page; a bore that lies across the cut is round in it."""
    left, right = at[0] + (piece.start - BEYOND_MM) * scale, at[0] + (piece.end - BEYOND_MM) * scale
    low, high = at[1] + piece.low * scale, at[1] + piece.high * scale
    port = shapes.ports.get(piece.id)
    across = 1 if cut.along == "x" else 0
    if port is not None and port.heading is not None and abs(port.heading[across]) > 0.3:
        unit = shapely.Point(0.0, 0.0).buffer(1.0, quad_segs=24)
        wide, tall = (right - left) / 2, (high - low) / 2
        return shapely.transform(unit, lambda p: p * [wide, tall] + [(left + right) / 2, (low + high) / 2])
    return shapely.box(left, low, right, high)


def _outlined(canvas: Canvas, area: Geometry, fill: HexColor | None, width: float) -> None:
    points = shapely.get_coordinates(area)
    path = canvas.beginPath()
    path.moveTo(points[0][0] * mm, points[0][1] * mm)
    for x, y in points[1:]:
        path.lineTo(x * mm, y * mm)
    path.close()
    canvas.setStrokeColor(page.INK)
    canvas.setLineWidth(width * mm)
    if fill is not None:
        canvas.setFillColor(fill)
    canvas.drawPath(path, stroke=1, fill=0 if fill is None else 1)


def _ids(canvas: Canvas, areas: list[tuple[CutPart, Geometry]], room: tuple[float, float, float, float]) -> None:
    """The items' ids above the section, each over its widest piece."""
    widest: dict[str, Geometry] = {}
    for piece, area in areas:
        known = widest.get(piece.id)
        if known is None or _width(area) > _width(known):
            widest[piece.id] = area
    placer = Placer((room[0] - 6, room[1] + 0.2, room[2], room[3]))
    asked = [(id_, (sum(_sides(a)) / 2, room[1]), 0.0, SMALL, False) for id_, a in widest.items()]
    page.labels(canvas, placer, sorted(asked, key=lambda row: row[1][0]))


def _sides(area: Geometry) -> tuple[float, float]:
    left, _, right, _ = shapely.bounds(area)
    return float(left), float(right)


def _width(area: Geometry) -> float:
    left, right = _sides(area)
    return right - left


def _heights(canvas: Canvas, document: Document, shapes: Shapes, at: Point, right: float, scale: float) -> None:
    """Thicknesses at the left, the joint faces' flatness at the right."""
    x, foot = at
    joint, top = foot + joint_mm(document) * scale, foot + shapes.thickness * scale
    page.dimension(canvas, (x, top), (x, foot), 14, short(shapes.thickness))
    for part in parts_of(document):
        low, high = foot + part.low * scale, foot + part.high * scale
        if high - low > 7:
            page.dimension(canvas, (x, high), (x, low), 7, short(part.thickness))
    page.tolerance_frame(canvas, (right + 8, joint), f"{FLAT_MM:g}", (right, joint))
    gasket = gasket_mm(document)
    between = f"; gasket {short(gasket)}, not drawn" if gasket else ""
    page.text(canvas, (right + 8, joint + 4), f"each joint face{between}", SMALL)


def _ports_of(shapes: Shapes) -> dict[tuple[str, float, float, float, str], PortShape]:
    """One port of each kind: thread, its depth, bore, the bore's depth, how it ends."""
    found: dict[tuple[str, float, float, float, str], PortShape] = {}
    for port in shapes.ports.values():
        if port.heading is None and port.thread is not None:
            deep = round(port.bore_prism.high - port.bore_prism.low, 3)
            ends = "point" if port.point is not None else "flat"
            key = (port.item.thread or "", port.item.thread_depth_mm, port.bore_diameter, deep, ends)
            found.setdefault(key, port)
    return found


def _count(shapes: Shapes, seal: SealDesign) -> int:
    return len(_ports_of(shapes)) + (seal.gland is not None)


def _details(canvas: Canvas, shapes: Shapes, seal: SealDesign, at: Point, right: float) -> None:
    """Side by side, as many as there is room for; kinds beyond that are in the hole table."""
    x, y = at
    if seal.kind == "cord" and seal.gland is not None and seal.loops:
        _groove(canvas, (x, y), seal.gland)
        x += 116.0
    ports = list(_ports_of(shapes).items())
    for (thread, deep, bore, depth, ends), port in ports:
        if x + 90 > right:
            page.text(canvas, (at[0], y - 100), "Further kinds of port: see the hole table.", SMALL)
            break
        _port(canvas, (x + 44, y), port, thread, (deep, bore, depth), ends)
        x += 92.0


def _groove(canvas: Canvas, at: Point, gland: Gland) -> None:
    """The groove's section ten times enlarged."""
    s, x, y = 10.0, at[0] + 22, at[1] - 24
    w, d = gland.width_mm * s, gland.depth_mm * s
    page.text(canvas, (at[0], at[1]), "Detail: seal groove in section, 10:1", LARGE, bold=True)
    corners = ((x, y), (x + 15, y), (x + 15, y - d), (x + 15 + w, y - d), (x + 15 + w, y), (x + 30 + w, y))
    solid = shapely.Polygon([*corners, (x + 30 + w, y - d - 8), (x, y - d - 8)])
    page.hatch(canvas, solid, 3.0, falling=False)
    canvas.setStrokeColor(page.INK)
    canvas.setLineWidth(0.5 * mm)
    for a, b in pairwise(corners):
        canvas.line(a[0] * mm, a[1] * mm, b[0] * mm, b[1] * mm)
    width = f"{short(gland.width_mm)} ± {short(gland.width_tolerance_mm)}"
    depth = f"{short(gland.depth_mm)} ± {short(gland.depth_tolerance_mm)}"
    page.dimension(canvas, (x + 15 + w, y), (x + 15, y), 8, width)
    page.dimension(canvas, (x, y), (x, y - d), 8, depth)
    page.tolerance_frame(canvas, (x + 36 + w, y + 6), f"{FLAT_MM:g}", (x + 26 + w, y))
    words = [
        f"Cord {short(gland.cord_mm)} ± {short(gland.cord_tolerance_mm)}; inside radius in plan at least"
        f" {short(gland.inside_radius_mm)}.",
        "Bottom corners R 0.2 to 0.3, flanks 0 to 5°, edges broken 0.1.",
        "Floor, flanks and the lid's face: Ra 1.6 (ISO 21920-1).",
        f"Flatness of the body's joint face {FLAT_MM:g} and of the lid's {FLAT_MM:g}, each by itself (ISO 1101).",
    ]
    page.paragraphs(canvas, (at[0], y - d - 16), 108, words, SMALL)


def _port(
    canvas: Canvas, at: Point, port: PortShape, thread: str, sizes: tuple[float, float, float], ends: str
) -> None:
    """A port's section twice enlarged: thick lines for the drilled bore, thin ones for the thread (ISO 6410-1)."""
    deep, bore, depth = sizes
    s, x, y = 2.0, at[0], at[1] - 24
    page.text(canvas, (x - 44, at[1]), f"Detail: port {thread} in section, 2:1", LARGE, bold=True)
    major, half = port.thread_diameter * s / 2, bore * s / 2
    face = max(port.item.fitting_diameter_mm * s / 2, major) + 4
    tip = point_mm(bore) * s if ends == "point" else 0.0
    chamfer = max(major - half, 0.0)
    bottom = -depth * s
    hole = [(-major, 0.0), (-half, -chamfer), (-half, bottom), (0.0, bottom - tip), (half, bottom), (half, -chamfer),
            (major, 0.0)]  # fmt: skip
    outline = [(-face, 0.0), *hole, (face, 0.0), (face, bottom - tip - 6), (-face, bottom - tip - 6)]
    page.hatch(canvas, shapely.Polygon([(x + u, y + v) for u, v in outline]), 3.0, falling=False)
    canvas.setStrokeColor(page.INK)
    canvas.setLineWidth(0.5 * mm)
    rows = [*pairwise([(-face, 0.0), *hole, (face, 0.0)]), ((-half, bottom), (half, bottom)),
            ((-major, -deep * s), (major, -deep * s))]  # fmt: skip
    for (a, b), (c, d) in rows:
        canvas.line((x + a) * mm, (y + b) * mm, (x + c) * mm, (y + d) * mm)
    canvas.setLineWidth(0.25 * mm)
    for side in (-major, major):
        canvas.line((x + side) * mm, y * mm, (x + side) * mm, (y - deep * s) * mm)
    page.dimension(canvas, (x + half, y), (x - half, y), 7, f"Ø {short(bore)}")
    page.dimension(canvas, (x - face, y), (x - face, y + bottom), 5, short(depth))
    page.dimension(canvas, (x + face, y - deep * s), (x + face, y), 5, short(deep))
    ending = f"drill point {2 * HALF_POINT_DEG:g}°, {short(point_mm(bore))} beyond the depth" if tip else "flat bottom"
    words = [
        f"{thread} ISO 228-1, {short(deep)} deep (an internal thread of one class); chamfer 90° to Ø"
        f" {short(port.thread_diameter)} to {short(port.thread_diameter + 0.4)}; {ending}.",
        f"Face Ø {short(port.item.fitting_diameter_mm)} square to the thread 0.1 (ISO 1101), Ra 1.6: it seals.",
        _standard(thread, depth),
    ]
    page.paragraphs(canvas, (x - 44, y + bottom - tip - 12), 86, [word for word in words if word], SMALL)


def _standard(thread: str, depth: float) -> str:
    """DIN 3852-2 and ISO 1179-1 ask for 18.5 mm of drilling and 12 mm of full thread for G1/4 (a maker's table)."""
    if thread == "G1/4" and depth < 18.5:
        return "Shallower than a port to ISO 1179-1 (18.5 drilled, 12 of full thread): short fittings only."
    return ""
