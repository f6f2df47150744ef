"""Closed contours: those of a sheet of ours, and those that a drawing of any origin makes."""

from __future__ import annotations

import contextlib
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from shapely import LinearRing, affinity

from sketcher.export.sheet import Sheet
from sketcher.geometry.path import Path, Point
from sketcher.importing.outline_joining import LEAST_AREA_MM2, DrawingError, Loop, Piece, closed_loops
from sketcher.importing.units import Drawing

#: Ends nearer than this follow one another in a contour that is drawn in one go, mm.
_FOLLOWS_MM = 0.005
#: Contours are known as polygons within this, mm.
CHORD_MM = 0.0005
#: A polygon with so many sides or more, and its corners this near to a circle (mm), is that circle.
LEAST_SIDES, ROUND_MM = 12, 0.01


@dataclass(frozen=True)
class Feature:
    """A closed contour: its middle (a circle's centre, else its centroid), its size, and whose it is.

    ``size`` is a circle's diameter (mm); of other contours, that of a circle of the same area. ``ring`` is the contour
    itself where it is no circle. ``flat`` is how far the sides of a circle drawn as a polygon lie inside it, mm.
    """

    round: bool
    at: Point
    size: float
    item: str = ""
    layer: str = ""
    ring: LinearRing | None = field(default=None, compare=False, repr=False)
    flat: float = 0.0

    def moved(self, dx: float, dy: float) -> Feature:
        """The contour shifted, mm."""
        ring = self.ring and affinity.translate(self.ring, dx, dy)
        return replace(self, at=(self.at[0] + dx, self.at[1] + dy), ring=ring)


def ours_of(sheet: Sheet) -> Iterator[Feature]:
    """What is cut or milled on a sheet, as a reader of its file sees it."""
    roles = {layer.name: layer.role for layer in sheet.layers}
    for entity in sheet.entities:
        if roles[entity.layer] in ("mark", "note"):
            continue
        if entity.round is not None:
            yield Feature(True, entity.round[0], 2 * entity.round[1], entity.item, entity.layer)
        elif entity.path.closed and abs(entity.path.area) > LEAST_AREA_MM2:
            # Arcs of one circle all the way round are a circle.
            for loop in closed_loops([Piece(s.start, s.end, s.bulge) for s in entity.path.segments]):
                yield _feature(loop, entity.item, entity.layer)


def marks_of(sheet: Sheet) -> Drawing:
    """Our own marks as a drawing: the loops of letters and views are no contours of the shop's."""
    marks = {layer.name for layer in sheet.layers if layer.role in ("mark", "note")}
    shown = [entity for entity in sheet.entities if entity.layer in marks]
    pieces = [Piece(s.start, s.end, s.bulge) for e in shown if e.round is None for s in e.path.segments]
    return Drawing(tuple(pieces), tuple((*e.round[0], 2 * e.round[1]) for e in shown if e.round is not None), "mm")


def contours_of(drawing: Drawing) -> Iterator[Feature]:
    """Closed contours, layer by layer: first those drawn in one go, then those that loose lines make.

    Lines of several layers make a contour together only where no layer's own do.
    """
    layers = drawing.circle_layers or ("",) * len(drawing.circles)
    for (x, y, diameter), layer in zip(drawing.circles, layers, strict=True):
        yield Feature(True, (x, y), diameter, layer=layer)
    by_layer: dict[str, list[Piece]] = {}
    for piece in drawing.pieces:
        by_layer.setdefault(piece.layer, []).append(piece)
    over: list[Piece] = []
    for layer, pieces in by_layer.items():
        loops, loose = _in_one_go(pieces)
        try:
            loops += closed_loops(loose) if loose else []
        except DrawingError:  # marks and words are not closed; there may be nothing else
            over += loose
        yield from (_feature(loop, layer=layer) for loop in loops)
    if over and len(by_layer) > 1:
        with contextlib.suppress(DrawingError):
            yield from (_feature(loop, layer=_layer_of(loop)) for loop in closed_loops(over))


def _layer_of(loop: Loop) -> str:
    return loop.pieces[0].layer if loop.pieces else ""


def _feature(loop: Loop, item: str = "", layer: str = "") -> Feature:
    if loop.circle is not None:
        return Feature(True, loop.circle[:2], loop.circle[2], item, layer)
    drawn = _circle_of_lines(loop.pieces)
    if drawn is not None:
        centre, diameter, flat = drawn
        return Feature(True, centre, diameter, item, layer, flat=flat)
    return _outline(Path(loop.pieces, closed=True), item, layer)


def _circle_of_lines(pieces: Sequence[Piece]) -> tuple[Point, float, float] | None:
    """Centre, diameter and flatness (mm) of a circle drawn as a polygon; None when it is none.

    Every corner lies on the circle (fitted after Kåsa 1976, from memory) within ``ROUND_MM``, and no side is longer
    than a twelfth of it: a hexagon or an octagon is meant as such.
    """
    if len(pieces) < LEAST_SIDES or any(piece.bulge for piece in pieces):
        return None
    corners = np.array([piece.start for piece in pieces])
    middle = corners.mean(axis=0)
    x, y = (corners - middle).T
    solved, *_ = np.linalg.lstsq(np.column_stack((x, y, np.ones(len(x)))), x * x + y * y, rcond=None)
    centre = solved[:2] / 2
    radius = math.sqrt(max(float(solved[2] + centre @ centre), 0.0))
    if radius == 0.0 or float(np.abs(np.hypot(x - centre[0], y - centre[1]) - radius).max()) > ROUND_MM:
        return None
    sides = [math.dist(piece.start, piece.end) for piece in pieces]
    longest = max(sides)
    if longest > 2 * radius * math.sin(math.pi / LEAST_SIDES) + 2 * ROUND_MM:
        return None
    # once around, and no more than once
    if abs(sum(2 * math.asin(min(side / 2 / radius, 1.0)) for side in sides) - math.tau) > 0.05:
        return None
    flat = radius - math.sqrt(max(radius**2 - (longest / 2) ** 2, 0.0))
    at = (float(middle[0] + centre[0]), float(middle[1] + centre[1]))
    return at, 2 * radius, flat


def _in_one_go(pieces: Sequence[Piece]) -> tuple[list[Loop], list[Piece]]:
    """Runs of pieces that follow each other and come back to where they began, and the pieces in no such run."""
    loops: list[Loop] = []
    loose: list[Piece] = []
    at = 0
    while at < len(pieces):
        run = _run(pieces, at, pieces[at]) or _run(pieces, at, pieces[at].reversed())
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
            run.append(piece.reversed())
        else:
            return None
    return run if len(run) > 1 and math.dist(run[-1].end, first.start) <= _FOLLOWS_MM else None


def _encloses(run: Sequence[Piece]) -> bool:
    path = Path(tuple(run), closed=True)
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
