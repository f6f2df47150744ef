"""The test piece: what is cut from cheap sheet to be tried in the case.

Contours are moved by half the kerf, so that the cut part measures what is drawn: outwards for the outline, inwards for
holes. Channels are marks, since the piece is there to show where they would run.
"""

from __future__ import annotations

from sketcher.document import Document
from sketcher.export.sheet import Draft, ExportError, Layer, Sheet
from sketcher.export.strokes import text_width
from sketcher.geometry import Shapes
from sketcher.geometry.offset import OffsetError, offset, sides
from sketcher.geometry.outlines import Contour, round_contour
from sketcher.geometry.path import Path, Point, part
from sketcher.geometry.shapes import polygon_of

INNER = Layer("CUT_INNER", "inner", "Holes and cutouts: cut first", colour=5)
OUTER = Layer("CUT_OUTER", "outer", "The outline: cut last", colour=1)
MARK = Layer("MARK", "mark", "Marks and labels: score, do not cut", colour=3)
LABEL_MM = 4.0
CHECK_MM = 100.0


def trial_sheet(document: Document, shapes: Shapes, label: str) -> Sheet:
    """The test piece's sheet; ``label`` (a revision's) is scored beside the plate's name.

    Raises:
        ExportError: a contour is too small for the kerf.
    """
    draft, notes = Draft(), list[str]()
    half = document.test_piece.kerf_mm / 2
    _holes(draft, document, shapes, half, notes)
    _outline(draft, document, shapes, half, notes)
    _marks(draft, document, shapes, label)
    return draft.sheet("test-piece", document.name or "Test piece", (INNER, OUTER, MARK), notes)


def moved(outline: Contour, distance: float, what: str) -> Contour:
    """A contour moved outwards (inwards when negative). Raises ``ExportError``."""
    if distance == 0.0:
        return outline
    if outline.round is not None:
        centre, radius = outline.round
        if radius + distance <= 0:
            raise ExportError(f"{what} is smaller than the kerf; make it larger or the kerf smaller")
        return round_contour(centre, radius + distance)
    try:
        return Contour(offset(outline.path, distance))
    except OffsetError as error:
        raise ExportError(f"{what}: {error}; round its corners less, or make the kerf smaller") from None


def port_hole_mm(document: Document, shapes: Shapes, id_: str) -> float:
    """Diameter of a port's hole in the test piece, mm, as the document chooses."""
    port = shapes.ports[id_]
    match document.test_piece.port_holes:
        case "tube":
            return document.loop.tube_outer_diameter_mm
        case "fitting":
            return port.item.fitting_diameter_mm
        case "bore":
            return port.bore_diameter


def _holes(draft: Draft, document: Document, shapes: Shapes, half: float, notes: list[str]) -> None:
    least = document.test_piece.thickness_mm / 2
    contours: list[tuple[str, Contour, float]] = []
    for id_, port in shapes.ports.items():
        if port.heading is None:
            diameter = port_hole_mm(document, shapes, id_)
            contours.append((id_, round_contour(port.at, diameter / 2), diameter))
    contours += [(id_, hole.contour, hole.diameter) for id_, hole in shapes.holes.items()]
    contours += [(id_, area.contour, least) for id_, area in shapes.cutouts.items() if area.contour is not None]
    for id_, outline, size in contours:
        reason = _why_not_cut(id_, outline, size, least, half)
        if reason:
            draft.cross(MARK.name, _middle(outline), 3.0, id_)
            notes.append(f"{id_} {reason}: it is marked with a cross, not cut")
        else:
            draft.contour(INNER.name, moved(outline, -half, id_), id_)


def _why_not_cut(id_: str, outline: Contour, size: float, least: float, half: float) -> str:
    """Why a hole cannot be cut in this sheet; empty when it can."""
    if size < least - 1e-9:
        return f"is {size:g} mm across, less than half the sheet's {2 * least:g} mm"
    if not polygon_of(outline).is_valid:
        return "has an outline that crosses itself"
    try:
        moved(outline, -half, id_)
    except ExportError:
        return "has corners too tight for the kerf"
    return ""


def _middle(outline: Contour) -> Point:
    if outline.round is not None:
        return outline.round[0]
    points = outline.path.points(0.1)
    return (sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points))


def _outline(draft: Draft, document: Document, shapes: Shapes, half: float, notes: list[str]) -> None:
    outline = moved(shapes.plate, half, "the plate's outline")
    tabs, width = document.test_piece.tabs, document.test_piece.tab_width_mm
    if not tabs:
        draft.contour(OUTER.name, outline, "plate")
        return
    path = outline.path.counter_clockwise()
    pitch = path.length / tabs
    if pitch <= 2 * width:
        raise ExportError(f"{tabs} tabs of {width:g} mm do not fit on the outline; ask for fewer or narrower ones")
    for n in range(tabs):
        # The gap that is left is the tab: the beam takes half a kerf from each of its ends.
        start = n * pitch + width / 2 + half
        draft.path(OUTER.name, part(path, start, (n + 1) * pitch - width / 2 - half), "plate")
    notes.append(f"{tabs} tabs of {width:g} mm hold the piece in the sheet: break them and file them flat")


def _marks(draft: Draft, document: Document, shapes: Shapes, label: str) -> None:
    mark = MARK.name
    for id_, channel in shapes.channels.items():
        if channel.path.segments:
            draft.path(mark, channel.path, id_)
            draft.path(mark, _edges(channel.path, channel.item.width_mm), id_)
    for id_, pocket in shapes.pockets.items():
        if pocket.contour is not None:
            draft.contour(mark, pocket.contour, id_)
    for id_, port in shapes.ports.items():
        if port.heading is None:
            reach = port_hole_mm(document, shapes, id_) / 2 + 2.0
            for dx, dy in ((1, 0), (-1, 0), (0, 1), (0, -1)):
                start = (port.at[0] + dx * reach, port.at[1] + dy * reach)
                draft.line(mark, start, (start[0] + 3 * dx, start[1] + 3 * dy), item=id_)
            draft.text(mark, (port.at[0] + reach + 1, port.at[1] + 1.5), id_, LABEL_MM, id_)
        else:
            draft.line(mark, port.at, port.root, item=id_)
            draft.text(mark, (port.root[0] + 1, port.root[1] + 1), id_, LABEL_MM, id_)
    for id_, area in shapes.cutouts.items():
        if area.contour is not None:
            left, _, _, rear = area.polygon.bounds
            draft.text(mark, (left, rear + 1.5), id_, LABEL_MM, id_)
    _frame(draft, document, shapes, label)


def _edges(path: Path, width: float) -> Path:
    """A channel's two sides and round ends; its centreline alone where the sides fold over each other."""
    try:
        return sides(path, width)
    except OffsetError:
        return path


def _frame(draft: Draft, document: Document, shapes: Shapes, label: str) -> None:
    """The arrow to the rear, the check line, and which plate and revision this is, beside the piece."""
    left, front, right, _ = shapes.plate_polygon.bounds
    foot = front - 12.0
    draft.line(MARK.name, (left, foot - 1.5), (left, foot + 1.5))
    draft.line(MARK.name, (left, foot), (left + CHECK_MM, foot))
    draft.line(MARK.name, (left + CHECK_MM, foot - 1.5), (left + CHECK_MM, foot + 1.5))
    draft.text(MARK.name, (left + CHECK_MM + 3, foot - 2), "100 MM", LABEL_MM)
    x = max(right - 6.0, left + CHECK_MM + 40)
    draft.line(MARK.name, (x, foot - 4), (x, foot + 6))
    draft.line(MARK.name, (x - 2, foot + 3), (x, foot + 6), (x + 2, foot + 3))
    draft.text(MARK.name, (x - 6 - text_width("REAR", LABEL_MM), foot - 2), "REAR", LABEL_MM)
    inside = shapes.plate_polygon.representative_point()
    words = " ".join(word for word in (document.name[:40], label) if word)
    if words:
        draft.text(MARK.name, (left, foot - 9), words, LABEL_MM)
    if label:
        # On the piece itself too: the frame stays in the sheet when the piece is broken out.
        draft.text(MARK.name, (inside.x - text_width(label, LABEL_MM) / 2, inside.y), label, LABEL_MM)
