"""The test piece: what is cut from cheap sheet to be tried in the case.

Contours are moved by half the kerf, so that the cut part measures what is drawn: outwards for the outline, inwards for
holes. Channels are marks, since the piece is there to show where they would run. Marks come first, while the piece
still lies fast in its sheet, then the holes, then the outline.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

import shapely

from sketcher.document import Document
from sketcher.export import dimension_lines
from sketcher.export.cuts import Cuts, Hole, arrange, moved
from sketcher.export.dimension_lines import of_plate, on_sheet
from sketcher.export.registry import sheet
from sketcher.export.sheet import Draft, ExportError, Layer, Sheet
from sketcher.export.strokes import text_width
from sketcher.export.word_places import Places
from sketcher.geometry import Shapes
from sketcher.geometry.combining import CombiningError, combined
from sketcher.geometry.outline_contours import Contour, round_contour
from sketcher.geometry.path import Path, Point, part
from sketcher.geometry.shapes import polygon_of
from sketcher.geometry.sweep import swept

MARK = Layer("MARK", "mark", "Marks and labels: score first, do not cut", colour=3)
INNER = Layer("CUT_INNER", "inner", "Holes and cutouts: cut before the outline", colour=5)
OUTER = Layer("CUT_OUTER", "outer", "The outline: cut last", colour=1)
#: A beam follows whatever it is given: here dimension lines are in the file and hidden; on paper they are drawn.
DIMENSIONS = replace(dimension_lines.LAYER, shown=False)
LABEL_MM, NAME_MM = 4.0, 3.0
CHECK_MM = 100.0
#: Arms of cross-hairs, mm, and how far marks keep from what is cut.
ARM_MM, CLEAR_MM = 3.0, 1.0


@sheet(
    "test-piece",
    title="Test piece",
    about="The plate's outline and holes for a cheap cut, allowed for the kerf; channels and words are scored.",
    cautions=("laser", "chlorine", "eyes", "alcohol"),
    copies=True,
)
def trial_sheet(document: Document, shapes: Shapes, label: str) -> Sheet:
    """The test piece's sheet; ``label`` (a revision's) is scored into the piece beside the plate's name.

    Raises:
        ExportError: the tabs asked for find no room on the outline.
    """
    draft, notes = Draft(), list[str]()
    half = document.test_piece.kerf_mm / 2
    holes = list(_holes(draft, document, shapes, notes))
    cuts = arrange(shapes.plate, holes)
    notes += [f"{item} {remark}" for item, remark in cuts.remarks]
    for hole in cuts.inner:
        contours = moved(hole.contour, -half)
        if not contours:
            draft.cross(MARK.name, _middle(hole.contour), ARM_MM, hole.item)
            notes.append(f"{hole.item} is narrower than the kerf: it is marked with a cross, not cut")
        for contour in contours:
            draft.contour(INNER.name, contour, hole.item)
    _outline(draft, document, cuts.outer, half, notes)
    _marks(draft, document, shapes, cuts, label)
    on_sheet(draft, of_plate(shapes))
    return draft.sheet("test-piece", document.name or "Test piece", (MARK, INNER, OUTER, DIMENSIONS), notes)


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


def _holes(draft: Draft, document: Document, shapes: Shapes, notes: list[str]) -> Iterator[Hole]:
    """Every hole that can be cut; the others are marked, and said in the notes."""
    least = document.test_piece.thickness_mm / 2
    found: list[tuple[str, Contour, float]] = []
    for id_, port in shapes.ports.items():
        if port.heading is None:
            diameter = port_hole_mm(document, shapes, id_)
            found.append((id_, round_contour(port.at, diameter / 2), diameter))
    found += [(id_, hole.contour, hole.diameter) for id_, hole in shapes.holes.items()]
    found += [
        (id_, area.contour, _narrowest(area.contour))
        for id_, area in shapes.cutouts.items()
        if area.contour is not None
    ]
    for id_, outline, size in found:
        if size < least - 1e-9:
            why = f"is {size:g} mm across, less than half the sheet's {2 * least:g} mm"
        elif not polygon_of(outline).is_valid:
            why = "has an outline that crosses itself"
        else:
            yield Hole(id_, outline)
            continue
        draft.cross(MARK.name, _middle(outline), ARM_MM, id_)
        notes.append(f"{id_} {why}: it is marked with a cross, not cut")


def _narrowest(outline: Contour) -> float:
    """The smaller side of the box around an outline, mm: a small hole by any measure is small by this one."""
    polygon = polygon_of(outline)
    if not polygon.is_valid or polygon.is_empty:
        return float("inf")
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(polygon)).tolist()
    edges = [math.dist(corners[i], corners[i + 1]) for i in range(2)]
    return min(edges)


def _middle(outline: Contour) -> Point:
    if outline.round is not None:
        return outline.round[0]
    left, front, right, rear = polygon_of(outline).bounds
    return ((left + right) / 2, (front + rear) / 2)


def _outline(draft: Draft, document: Document, outer: Contour, half: float, notes: list[str]) -> None:
    outline, *closed = moved(outer, half)
    for contour in closed:
        draft.contour(INNER.name, contour, "plate")
        notes.append("a bay in the outline has a mouth narrower than the kerf: it is cut as a hole")
    tabs, width = document.test_piece.tabs, document.test_piece.tab_width_mm
    if not tabs:
        draft.contour(OUTER.name, outline, "plate")
        return
    for run in _between_tabs(outline.path.counter_clockwise(), tabs, width + 2 * half):
        draft.path(OUTER.name, run, "plate")
    notes.append(f"{tabs} tabs of {width:g} mm hold the piece in the sheet: break them and file them flat")


def _between_tabs(path: Path, tabs: int, gap: float) -> list[Path]:
    """The runs of an outline between its tabs, which lie evenly around it, on straight edges where there are any.

    A gap is wider than its tab by a kerf: the beam takes half a kerf from either end. Raises ``ExportError``.
    """
    pitch = path.length / tabs
    middles = sorted(_straight_near(path, (n + 0.5) * pitch, gap, pitch / 2) for n in range(tabs))
    ends = [*middles[1:], middles[0] + path.length]
    if any(after - before < 2 * gap for before, after in zip(middles, ends, strict=True)):
        raise ExportError(f"{tabs} tabs do not fit on the outline; ask for fewer or narrower ones")
    twice = Path(path.segments * 2)
    return [part(twice, before + gap / 2, after - gap / 2) for before, after in zip(middles, ends, strict=True)]


def _straight_near(path: Path, wanted: float, gap: float, reach: float) -> float:
    """The distance along the path nearest to the wanted one where a tab lies on a straight edge, or the wanted one."""
    best, passed = wanted, 0.0
    found = reach
    for segment in path.segments:
        low, high = passed + 2 * gap, passed + segment.length - 2 * gap
        if segment.straight and low < high:
            place = min(max(wanted, low), high)
            if abs(place - wanted) < found:
                best, found = place, abs(place - wanted)
        passed += segment.length
    return best


def _marks(draft: Draft, document: Document, shapes: Shapes, cuts: Cuts, label: str) -> None:
    mark = MARK.name
    for id_, channel in shapes.channels.items():
        if channel.path.segments:
            draft.path(mark, channel.path, id_)
            for region in swept(channel.path, channel.item.width_mm):
                for edge in region.rings():
                    draft.path(mark, edge, id_)
    for id_, pocket in shapes.pockets.items():
        if pocket.contour is not None:
            for contour in _on_the_piece(shapes, id_, pocket.contour):
                draft.contour(mark, contour, id_)
    for id_, port in shapes.ports.items():
        if port.heading is None:
            radius = port_hole_mm(document, shapes, id_) / 2 + CLEAR_MM
            draft.cross_outside(mark, port.at, radius, ARM_MM, id_)
        else:
            draft.line(mark, port.at, port.root, item=id_)
            draft.cross(mark, port.root, ARM_MM, id_)
    holes = [polygon_of(hole.contour) for hole in cuts.inner]
    places = Places(polygon_of(cuts.outer), holes, CLEAR_MM)
    _frame(draft, document, shapes, places, label)
    _labels(draft, document, shapes, places)


def _on_the_piece(shapes: Shapes, id_: str, outline: Contour) -> list[Contour]:
    """A pocket's outline; of a cable slot only what lies on the piece, not what runs over the edge or into a cutout."""
    cable = next((pocket.cable for pocket in shapes.document.pockets if pocket.id == id_), None)
    if cable is None:
        return [outline]
    end = shapes.cutouts.get(cable.end or "")
    paths = [outline.path]
    try:
        if cable.end is None:
            paths = [region.outer for region in combined(outline.path, shapes.plate.path, "common")]
        elif end is not None and end.contour is not None:
            paths = [region.outer for region in combined(outline.path, end.contour.path, "minus")]
    except CombiningError:
        return [outline]
    return [Contour(path) for path in paths]


def _frame(draft: Draft, document: Document, shapes: Shapes, places: Places, label: str) -> None:
    """Check line, arrow to the rear, and which plate and revision this is: on the piece where it finds room."""
    mark, high = MARK.name, LABEL_MM
    channels = shapely.STRtree([channel.polygon for channel in shapes.channels.values()])
    left, front, _, _ = shapes.plate_polygon.bounds
    beside = front - 8.0

    def put(sign: Draft, width: float, height: float, may_turn: bool = True) -> None:
        """Sets a sign drawn from the origin on the piece, lying or upright, or beside it in the sheet."""
        nonlocal beside
        at = places.anywhere(width, height, spare=channels)
        upright = places.anywhere(height, width, spare=channels) if at is None and may_turn else None
        if at is None and upright is None:
            beside -= height + 2.0
            at = (left, beside)
        x, y = at or (upright[0] + height, upright[1])  # type: ignore[index]
        draft.entities += [entity.placed(x, y, quarter=at is None) for entity in sign.entities]

    check, words = Draft(), f"{CHECK_MM:g} MM"
    for end in (0.0, CHECK_MM):
        check.line(mark, (end, 0.0), (end, high))
    check.line(mark, (0.0, high / 2), (CHECK_MM, high / 2))
    check.text(mark, ((CHECK_MM - text_width(words, high)) / 2, high + 1), words, high)
    put(check, CHECK_MM, 2 * high + 1)
    arrow = Draft()
    arrow.line(mark, (2, 0), (2, 10))
    arrow.line(mark, (0, 7), (2, 10), (4, 7))
    arrow.text(mark, (8, 3), "REAR", high)
    put(arrow, 8 + text_width("REAR", high), 10.0, may_turn=False)
    # The revision comes before the plate's name: it is what tells one tried piece from the next.
    for line, size in ((label, high), (document.name[:40], NAME_MM)):
        if line:
            sign = Draft()
            sign.text(mark, (0.0, 0.0), line, size)
            put(sign, text_width(line, size), size)


def _labels(draft: Draft, document: Document, shapes: Shapes, places: Places) -> None:
    """The ids of ports, cutouts, pockets and mounting holes, each beside its item; left out where there is no room."""
    spots: list[tuple[str, Point, float]] = []
    for id_, port in shapes.ports.items():
        edge = port.heading is not None
        spots.append((id_, port.root if edge else port.at, 2.0 if edge else port_hole_mm(document, shapes, id_) / 2))
    for id_, hole in shapes.holes.items():
        if hole.item.use != "lid":
            spots.append((id_, (hole.item.x_mm, hole.item.y_mm), hole.diameter / 2))
    for id_, (x, y), radius in spots:
        width, away = text_width(id_, LABEL_MM), radius + CLEAR_MM + 1.0
        beside = [
            (x + away, y + 1.5), (x + away, y - LABEL_MM - 1.5), (x - away - width, y + 1.5),
            (x - away - width, y - LABEL_MM - 1.5), (x - width / 2, y + away + ARM_MM),
            (x - width / 2, y - away - ARM_MM - LABEL_MM),
        ]  # fmt: skip
        at = places.first(beside, width, LABEL_MM)
        if at is not None:
            draft.text(MARK.name, at, id_, LABEL_MM, id_)
    for id_, area in (*shapes.cutouts.items(), *shapes.pockets.items()):
        left, front, right, rear = area.polygon.bounds
        width = text_width(id_, LABEL_MM)
        beside = [
            (left, rear + 2), (left, front - 2 - LABEL_MM), (right + 2, front), (left - 2 - width, front),
            ((left + right - width) / 2, (front + rear - LABEL_MM) / 2),
        ]  # fmt: skip
        at = places.first(beside, width, LABEL_MM)
        if at is not None:
            draft.text(MARK.name, at, id_, LABEL_MM, id_)
