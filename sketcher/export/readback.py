"""In again: a DXF or SVG that came back from the shop, held against ours.

Every closed contour and whole circle of ours is looked for in theirs: in its place, moved, or of another size. What
theirs has beyond that was added. A drawing that sits elsewhere as a whole is said to, and compared as if it did not.
"""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any, Literal

from sketcher.document import Document
from sketcher.export.sheet import ExportError, Sheet
from sketcher.export.sheets import make_sheet
from sketcher.fit import drawing_dxf, drawing_svg
from sketcher.fit.loops import LEAST_AREA_MM2, DrawingError, Loop, Piece, closed_loops
from sketcher.fit.units import Drawing
from sketcher.geometry import Shapes
from sketcher.geometry.path import Path, Point, Segment

#: Places and diameters nearer than this are the same, mm.
SAME_MM = 0.01
#: Areas that differ by less than this share are those of the same outline.
SAME_AREA = 1e-3
#: What lies farther from its place than this was not moved: it is missing here and added there, mm.
FARTHEST_MM = 100.0
LARGEST_BYTES = 20_000_000

What = Literal["same", "moved", "resized", "missing", "added"]


@dataclass(frozen=True)
class Feature:
    """A closed contour: its middle (a circle's centre, else its centroid), its size, and whose it is.

    ``size`` is a circle's diameter (mm); of other contours, that of a circle of the same area.
    """

    round: bool
    at: Point
    size: float
    item: str = ""
    layer: str = ""


@dataclass(frozen=True)
class Row:
    """One contour of ours or theirs. ``shift`` is how far it moved (mm); sizes are as ``Feature`` has them."""

    what: What
    item: str
    layer: str
    round: bool
    at: Point
    shift: Point | None = None
    size: float | None = None
    size_now: float | None = None

    def as_json(self) -> dict[str, Any]:
        """The row with the keys of the interface."""
        dx, dy = self.shift or (0.0, 0.0)
        return {
            "what": self.what,
            "item": self.item,
            "layer": self.layer,
            "round": self.round,
            "at": [round(self.at[0], 4), round(self.at[1], 4)],
            "dx_mm": round(dx, 4) + 0.0,
            "dy_mm": round(dy, 4) + 0.0,
            "diameter_mm": self.size and round(self.size, 4),
            "diameter_now_mm": self.size_now and round(self.size_now, 4),
        }


@dataclass(frozen=True)
class ReadBack:
    """What the returned drawing shows: which sheet it is, how it sits as a whole (mm), and every contour."""

    sheet: str
    unit: str
    shift: Point
    rows: tuple[Row, ...]
    messages: tuple[str, ...]

    def of(self, what: What) -> list[Row]:
        """The rows of one kind."""
        return [row for row in self.rows if row.what == what]

    def as_json(self) -> dict[str, Any]:
        """The comparison as plain values."""
        return {
            "sheet": self.sheet,
            "unit": self.unit,
            "shift_mm": [round(value, 4) + 0.0 for value in self.shift],
            "counts": {what: len(self.of(what)) for what in ("same", "moved", "resized", "missing", "added")},
            "rows": [row.as_json() for row in self.rows if row.what != "same"],
            "messages": list(self.messages),
        }


def read_back(
    document: Document,
    shapes: Shapes,
    data: bytes,
    kind: Literal["dxf", "svg"],
    *,
    sheet: str | None = None,
    unit: str | None = None,
) -> ReadBack:
    """A returned drawing against the document's own sheet.

    Args:
        document: the plate that was handed off.
        shapes: its shapes.
        data: the file.
        kind: which kind of file.
        sheet: the sheet it is held against; the one of final and test piece that it is more like, when not given.
        unit: the drawing's, when the file does not say.

    Raises:
        ExportError: the file is too large, is no drawing, or does not say its unit.
    """
    if len(data) > LARGEST_BYTES:
        raise ExportError(f"the file is larger than {LARGEST_BYTES // 1_000_000} MB; take out what is not the plate")
    try:
        drawing = drawing_dxf.pieces(data, unit) if kind == "dxf" else drawing_svg.pieces(data, unit)
        theirs = list(_theirs(drawing))
    except DrawingError as error:
        raise ExportError(str(error)) from None
    answers = []
    for name in (sheet,) if sheet else ("final", "test-piece"):
        made = make_sheet(document, shapes, name)
        shift, rows = _match(list(_ours(made)), list(_theirs(_marks(made))), theirs)
        answers.append((sum(row.what == "same" for row in rows), name, shift, rows))
    same, name, shift, rows = max(answers, key=lambda answer: answer[0])
    messages = list(drawing.messages)
    if math.hypot(*shift) > SAME_MM:
        messages.append(f"The whole drawing sits {shift[0]:.3f} mm right and {shift[1]:.3f} mm rear of ours.")
    if not same:
        messages.append("Nothing lies where ours does: is the drawing turned, mirrored, or of another plate?")
    return ReadBack(name, drawing.unit, shift, tuple(rows), tuple(messages))


def _ours(sheet: Sheet) -> Iterator[Feature]:
    roles = {layer.name: layer.role for layer in sheet.layers}
    for entity in sheet.entities:
        if roles[entity.layer] == "mark":
            continue
        if entity.round is not None:
            yield Feature(True, entity.round[0], 2 * entity.round[1], entity.item, entity.layer)
        elif entity.path.closed and abs(entity.path.area) > LEAST_AREA_MM2:
            # As a reader sees it: arcs of one circle all the way round are a circle.
            for loop in closed_loops([Piece(s.start, s.end, s.bulge) for s in entity.path.segments]):
                yield _feature(loop, entity.item, entity.layer)


def _marks(sheet: Sheet) -> Drawing:
    """Our own marks as a drawing: the loops of letters and views are no contours of the shop's."""
    marks = {layer.name for layer in sheet.layers if layer.role == "mark"}
    shown = [entity for entity in sheet.entities if entity.layer in marks]
    pieces = [Piece(s.start, s.end, s.bulge) for e in shown if e.round is None for s in e.path.segments]
    return Drawing(tuple(pieces), tuple((*e.round[0], 2 * e.round[1]) for e in shown if e.round is not None), "mm")


def _theirs(drawing: Drawing) -> Iterator[Feature]:
    """Closed contours, first those drawn in one go, then those that loose lines make."""
    yield from (Feature(True, (x, y), diameter) for x, y, diameter in drawing.circles)
    loops, loose = _in_one_go(drawing.pieces)
    if loose:
        with contextlib.suppress(DrawingError):  # marks and words are not closed; there may be nothing else
            loops += closed_loops(loose)
    yield from (_feature(loop) for loop in loops)


def _feature(loop: Loop, item: str = "", layer: str = "") -> Feature:
    if loop.circle is not None:
        return Feature(True, loop.circle[:2], loop.circle[2], item, layer)
    return _outline(Path(tuple(Segment(p.start, p.end, p.bulge) for p in loop.pieces), closed=True), item, layer)


def _in_one_go(pieces: Sequence[Piece]) -> tuple[list[Loop], list[Piece]]:
    """Runs of pieces that follow each other and come back to where they began, and the pieces in no such run."""
    loops: list[Loop] = []
    loose: list[Piece] = []
    at = 0
    while at < len(pieces):
        run = _run(pieces, at, pieces[at]) or _run(pieces, at, pieces[at].turned_round())
        if run is None:
            loose.append(pieces[at])
            at += 1
        else:
            loops += closed_loops(run) if _encloses(run) else []
            at += len(run)
    return loops, loose


def _run(pieces: Sequence[Piece], at: int, first: Piece) -> list[Piece] | None:
    """The closed run that begins with ``first``; none when it ends before it has come back."""
    run = [first]
    for piece in pieces[at + 1 :]:
        if math.dist(run[-1].end, first.start) <= SAME_MM / 2 and (len(run) > 1):
            break
        if math.dist(piece.start, run[-1].end) <= SAME_MM / 2:
            run.append(piece)
        elif math.dist(piece.end, run[-1].end) <= SAME_MM / 2:
            run.append(piece.turned_round())
        else:
            return None
    return run if len(run) > 1 and math.dist(run[-1].end, first.start) <= SAME_MM / 2 else None


def _encloses(run: Sequence[Piece]) -> bool:
    path = Path(tuple(Segment(p.start, p.end, p.bulge) for p in run), closed=True)
    return abs(path.area) > LEAST_AREA_MM2


def _outline(path: Path, item: str = "", layer: str = "") -> Feature:
    points = path.points(0.001)
    # The shoelace centroid about the first point, so that far-off places lose no digits.
    ox, oy = points[0]
    total = cx = cy = 0.0
    for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]], strict=True):
        cross = (x0 - ox) * (y1 - oy) - (x1 - ox) * (y0 - oy)
        total += cross
        cx += cross * (x0 + x1 - 2 * ox)
        cy += cross * (y0 + y1 - 2 * oy)
    at = (ox + cx / (3 * total), oy + cy / (3 * total)) if total else (ox, oy)
    return Feature(False, at, 2 * math.sqrt(abs(path.area) / math.pi), item, layer)


def _match(ours: list[Feature], marks: list[Feature], theirs: list[Feature]) -> tuple[Point, list[Row]]:
    shift = _whole_shift(ours, theirs)
    there = [Feature(t.round, (t.at[0] - shift[0], t.at[1] - shift[1]), t.size) for t in theirs]
    there = [their for their in there if not any(_same(mark, their) for mark in marks)]
    rows: dict[int, Row] = {}
    taken: set[int] = set()

    def pair(what: What, near: float, same_size: bool) -> None:
        pairs = sorted(
            (math.dist(our.at, their.at), abs(our.size - their.size), i, j)
            for i, our in enumerate(ours) if i not in rows
            for j, their in enumerate(there) if j not in taken
            if our.round == their.round and math.dist(our.at, their.at) <= near
            and (not same_size or _sizes_agree(our, their))
        )  # fmt: skip
        for _, _, i, j in pairs:
            if i in rows or j in taken:
                continue
            our, their = ours[i], there[j]
            moved = (their.at[0] - our.at[0], their.at[1] - our.at[1]) if what != "same" else None
            rows[i] = Row(what, our.item, our.layer, our.round, our.at, moved, our.size, their.size)
            taken.add(j)

    pair("same", SAME_MM, same_size=True)
    pair("resized", SAME_MM, same_size=False)
    pair("moved", FARTHEST_MM, same_size=True)
    found = [
        rows.get(i) or Row("missing", our.item, our.layer, our.round, our.at, size=our.size)
        for i, our in enumerate(ours)
    ]
    found += [
        Row("added", "", "", their.round, their.at, size_now=their.size)
        for j, their in enumerate(there)
        if j not in taken
    ]
    return shift, found


def _same(our: Feature, their: Feature) -> bool:
    return our.round == their.round and math.dist(our.at, their.at) <= SAME_MM and _sizes_agree(our, their)


def _sizes_agree(our: Feature, their: Feature) -> bool:
    if our.round:
        return abs(our.size - their.size) <= SAME_MM
    return abs((their.size / our.size) ** 2 - 1) <= SAME_AREA


def _whole_shift(ours: list[Feature], theirs: list[Feature]) -> Point:
    """How far theirs sits from ours as a whole, from the largest outline both have."""
    for our in sorted((f for f in ours if not f.round), key=lambda f: -f.size)[:3]:
        alike = [their for their in theirs if not their.round and _sizes_agree(our, their)]
        if alike:
            their = min(alike, key=lambda t: math.dist(our.at, t.at))
            shift = (their.at[0] - our.at[0], their.at[1] - our.at[1])
            return shift if math.hypot(*shift) > SAME_MM else (0.0, 0.0)
    return (0.0, 0.0)
