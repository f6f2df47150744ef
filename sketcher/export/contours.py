"""Closed contours: those of a sheet of ours, and those that a drawing of any origin makes."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from shapely import LinearRing, affinity

from sketcher.export.sheet import Sheet
from sketcher.geometry.path import Path, Point, Segment
from sketcher.importing.outline_joining import LEAST_AREA_MM2, DrawingError, Loop, Piece, closed_loops
from sketcher.importing.units import Drawing

#: Ends nearer than this follow one another in a contour that is drawn in one go, mm.
_FOLLOWS_MM = 0.005
#: Contours are known as polygons within this, mm.
CHORD_MM = 0.0005


@dataclass(frozen=True)
class Feature:
    """A closed contour: its middle (a circle's centre, else its centroid), its size, and whose it is.

    ``size`` is a circle's diameter (mm); of other contours, that of a circle of the same area. ``ring`` is the contour
    itself where it is no circle.
    """

    round: bool
    at: Point
    size: float
    item: str = ""
    layer: str = ""
    ring: LinearRing | None = field(default=None, compare=False, repr=False)

    def moved(self, dx: float, dy: float) -> Feature:
        """The contour shifted, mm."""
        ring = self.ring and affinity.translate(self.ring, dx, dy)
        return replace(self, at=(self.at[0] + dx, self.at[1] + dy), ring=ring)


def ours_of(sheet: Sheet) -> Iterator[Feature]:
    """What is cut or milled on a sheet, as a reader of its file sees it."""
    roles = {layer.name: layer.role for layer in sheet.layers}
    for entity in sheet.entities:
        if roles[entity.layer] == "mark":
            continue
        if entity.round is not None:
            yield Feature(True, entity.round[0], 2 * entity.round[1], entity.item, entity.layer)
        elif entity.path.closed and abs(entity.path.area) > LEAST_AREA_MM2:
            # Arcs of one circle all the way round are a circle.
            for loop in closed_loops([Piece(s.start, s.end, s.bulge) for s in entity.path.segments]):
                yield _feature(loop, entity.item, entity.layer)


def marks_of(sheet: Sheet) -> Drawing:
    """Our own marks as a drawing: the loops of letters and views are no contours of the shop's."""
    marks = {layer.name for layer in sheet.layers if layer.role == "mark"}
    shown = [entity for entity in sheet.entities if entity.layer in marks]
    pieces = [Piece(s.start, s.end, s.bulge) for e in shown if e.round is None for s in e.path.segments]
    return Drawing(tuple(pieces), tuple((*e.round[0], 2 * e.round[1]) for e in shown if e.round is not None), "mm")


def contours_of(drawing: Drawing) -> Iterator[Feature]:
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
        if math.dist(run[-1].end, first.start) <= _FOLLOWS_MM and (len(run) > 1):
            break
        if math.dist(piece.start, run[-1].end) <= _FOLLOWS_MM:
            run.append(piece)
        elif math.dist(piece.end, run[-1].end) <= _FOLLOWS_MM:
            run.append(piece.turned_round())
        else:
            return None
    return run if len(run) > 1 and math.dist(run[-1].end, first.start) <= _FOLLOWS_MM else None


def _encloses(run: Sequence[Piece]) -> bool:
    path = Path(tuple(Segment(p.start, p.end, p.bulge) for p in run), closed=True)
    return abs(path.area) > LEAST_AREA_MM2


def _outline(path: Path, item: str = "", layer: str = "") -> Feature:
    points = path.points(CHORD_MM)
    # The shoelace centroid about the first point, so that far-off places lose no digits.
    ox, oy = points[0]
    total = cx = cy = 0.0
    for (x0, y0), (x1, y1) in zip(points, [*points[1:], points[0]], strict=True):
        cross = (x0 - ox) * (y1 - oy) - (x1 - ox) * (y0 - oy)
        total += cross
        cx += cross * (x0 + x1 - 2 * ox)
        cy += cross * (y0 + y1 - 2 * oy)
    at = (ox + cx / (3 * total), oy + cy / (3 * total)) if total else (ox, oy)
    return Feature(False, at, 2 * math.sqrt(abs(path.area) / math.pi), item, layer, LinearRing(points))
