"""Loose lines and arcs of a drawing joined into closed outlines, sorted by size and by what lies within what."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from sketcher.document.outlines import Circle, Outline, Polygon, Vertex
from sketcher.geometry.path import Path, Point, Segment

#: Ends closer than this are one place, mm: what drawing programs round to.
JOIN_MM = 0.05
#: Smaller outlines are dust, mm².
LEAST_AREA_MM2 = 0.5
MOST_PIECES = 50_000
MOST_CORNERS = 2_000
#: Where more ends than this meet, every way on would have to be tried.
MOST_MEETING = 200
DECIMALS = 4


class DrawingError(ValueError):
    """A drawing that cannot become a floor; the message names the place and the fix."""


def too_many() -> DrawingError:
    """The error for a drawing that is no floor by its size alone."""
    return DrawingError(f"the drawing has more than {MOST_PIECES} lines; take out what is not the floor")


@dataclass(frozen=True)
class Piece(Segment):
    """A line or an arc of a drawing, with the layer that it is drawn on, where the file has layers."""

    layer: str = field(default="", compare=False)


@dataclass(frozen=True)
class Loop:
    """A closed outline, counter-clockwise; ``circle`` when it is a whole circle: x, y, diameter."""

    pieces: tuple[Piece, ...]
    circle: tuple[float, float, float] | None = None

    @property
    def area(self) -> float:
        """Area enclosed, mm², positive when counter-clockwise."""
        if self.circle is not None:
            return math.pi / 4 * self.circle[2] ** 2
        return Path(self.pieces, closed=True).area

    def outline(self, shift: Point = (0.0, 0.0)) -> Outline:
        """The loop as a document has it, moved."""
        dx, dy = shift
        if self.circle is not None:
            x, y, diameter = self.circle
            return Circle(x_mm=_round(x + dx), y_mm=_round(y + dy), diameter_mm=_round(diameter))
        return Polygon(
            vertices=[
                Vertex(x_mm=_round(p.start[0] + dx), y_mm=_round(p.start[1] + dy), bulge=round(p.bulge, 9) + 0.0)
                for p in self.pieces
            ]
        )

    def points(self) -> list[Point]:
        """Points along the loop, arcs at every 5 degrees."""
        if self.circle is not None:
            x, y, diameter = self.circle
            return [
                (x + diameter / 2 * math.cos(math.tau * k / 72), y + diameter / 2 * math.sin(math.tau * k / 72))
                for k in range(72)
            ]
        return [point for piece in self.pieces for point in along(piece)]


def closed_loops(pieces: Iterable[Piece], circles: Iterable[tuple[float, float, float]] = ()) -> list[Loop]:
    """Every closed outline that the pieces and whole circles make, the largest first.

    Pieces drawn twice count once. Where more than two pieces meet, the next one is taken that continues most to
    the left.

    Raises:
        DrawingError: nothing is closed (names the smallest gap), or there is too much of it.
    """
    rows = _once(pieces)
    if len(rows) > MOST_PIECES:
        raise too_many()
    loops, left_open = _chains(rows)
    loops += [Loop((), circle) for circle in dict.fromkeys(circles)]
    loops = [loop for loop in loops if loop.area >= LEAST_AREA_MM2]
    if not loops:
        raise DrawingError(_nothing_closed(left_open))
    for loop in loops:
        if len(loop.pieces) > MOST_CORNERS:
            raise DrawingError(
                f"an outline has {len(loop.pieces)} corners; at most {MOST_CORNERS} are possible, simplify it"
            )
    return sorted(loops, key=lambda loop: -loop.area)


def within(loops: Sequence[Loop], outer: Loop) -> list[bool]:
    """Which of the loops lie inside another one (their first point does; outlines of a floor do not cross)."""
    firsts = np.array([loop.points()[0] for loop in loops], dtype=float).reshape(-1, 2)
    smaller = [loop.area < outer.area for loop in loops]
    return [bool(a and b) for a, b in zip(smaller, inside(firsts, outer.points()), strict=True)]


def inside(points: NDArray[np.float64], polygon: Sequence[Point]) -> NDArray[np.bool_]:
    """Whether points (n, 2) lie within a polygon (even number of crossings to the right: outside)."""
    x, y = points[:, 0], points[:, 1]
    odd = np.zeros(len(points), dtype=bool)
    for (x1, y1), (x2, y2) in zip(polygon, [*polygon[1:], polygon[0]], strict=True):
        if y1 != y2:
            odd ^= ((y1 > y) != (y2 > y)) & (x < (x2 - x1) * (y - y1) / (y2 - y1) + x1)
    return odd


def box(loop: Loop) -> tuple[float, float, float, float]:
    """Least x, least y, largest x, largest y of a loop's points, mm."""
    xs, ys = zip(*loop.points(), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def along(piece: Piece) -> list[Point]:
    """Points along a piece from its start, without its end; an arc at every 5 degrees."""
    steps = 1 if piece.straight else max(2, math.ceil(abs(piece.included_angle) / math.radians(5)))
    return [piece.at(piece.length * number / steps) for number in range(steps)]


def _once(pieces: Iterable[Piece]) -> list[Piece]:
    seen: dict[object, Piece] = {}
    for piece in pieces:
        if math.dist(piece.start, piece.end) <= JOIN_MM / 10 and abs(piece.bulge) < 1e-6:
            continue
        ends = (_cell(piece.start), _cell(piece.end), round(piece.bulge, 4) + 0.0)
        back = (ends[1], ends[0], -ends[2] + 0.0)
        if back not in seen:
            seen.setdefault(ends, piece)
    return list(seen.values())


def _cell(point: Point) -> tuple[int, int]:
    return (round(point[0] / JOIN_MM), round(point[1] / JOIN_MM))


def _chains(pieces: list[Piece]) -> tuple[list[Loop], list[Point]]:
    """Loops, and the ends that nothing meets."""
    cells: dict[tuple[int, int], list[int]] = {}
    for number, piece in enumerate(pieces):
        for end in (piece.start, piece.end):
            here = cells.setdefault(_cell(end), [])
            here.append(number)
            if len(here) > MOST_MEETING:
                raise DrawingError(
                    f"more than {MOST_MEETING} lines meet at {end[0]:.1f}, {end[1]:.1f} mm; "
                    "take out what is not the floor"
                )

    def meeting(point: Point, unused: set[int]) -> list[int]:
        cx, cy = _cell(point)
        near = {n for dx in (-1, 0, 1) for dy in (-1, 0, 1) for n in cells.get((cx + dx, cy + dy), ())}
        return sorted(
            n
            for n in near & unused
            if min(math.dist(point, pieces[n].start), math.dist(point, pieces[n].end)) <= JOIN_MM
        )

    unused = set(range(len(pieces)))
    loops: list[Loop] = []
    left_open: list[Point] = []
    for first in range(len(pieces)):
        if first not in unused:
            continue
        unused.discard(first)
        chain = _Chain(pieces[first])
        while True:
            end = chain[-1].end
            if len(chain) > 1 or chain[0].bulge:
                closing = chain.begun_at(end)
                if closing is not None and (len(chain) - closing > 1):
                    loops.append(_loop(chain.cut(closing)))
                    if not len(chain):
                        break
                    continue
            choices = meeting(end, unused)
            if not choices:
                left_open += [chain[0].start, end]
                break
            onward = [
                pieces[n] if math.dist(end, pieces[n].start) <= JOIN_MM else pieces[n].reversed() for n in choices
            ]
            best = max(range(len(onward)), key=lambda k: _left_turn(chain[-1], onward[k]))
            unused.discard(choices[best])
            chain.append(replace(onward[best], start=end))
    return loops, left_open


class _Chain:
    """Pieces end to end, which know where each of them begins."""

    def __init__(self, first: Piece) -> None:
        self._pieces: list[Piece] = []
        self._starts: dict[tuple[int, int], list[int]] = {}
        self.append(first)

    def __len__(self) -> int:
        return len(self._pieces)

    def __getitem__(self, index: int) -> Piece:
        return self._pieces[index]

    def append(self, piece: Piece) -> None:
        """One piece more."""
        self._starts.setdefault(_cell(piece.start), []).append(len(self._pieces))
        self._pieces.append(piece)

    def begun_at(self, place: Point) -> int | None:
        """The first piece that begins at a place."""
        cx, cy = _cell(place)
        near = [k for dx in (-1, 0, 1) for dy in (-1, 0, 1) for k in self._starts.get((cx + dx, cy + dy), ())]
        return min((k for k in near if math.dist(self._pieces[k].start, place) <= JOIN_MM), default=None)

    def cut(self, at: int) -> list[Piece]:
        """Takes the pieces from one on away, and gives them."""
        taken = self._pieces[at:]
        for piece in reversed(taken):
            self._starts[_cell(piece.start)].pop()
        del self._pieces[at:]
        return taken


def _loop(chain: list[Piece]) -> Loop:
    closed = [*chain[:-1], replace(chain[-1], end=chain[0].start)]
    loop = Loop(tuple(closed))
    if loop.area < 0:
        loop = Loop(tuple(piece.reversed() for piece in reversed(closed)))
    return _as_circle(loop)


def _as_circle(loop: Loop) -> Loop:
    """Arcs of one centre and radius all the way round are a circle."""
    if not loop.pieces or any(piece.bulge <= 0 for piece in loop.pieces):
        return loop
    circles = [(*piece.centre, 2 * piece.radius) for piece in loop.pieces]
    x, y, diameter = (sum(values) / len(circles) for values in zip(*circles, strict=True))
    if all(math.dist(c, (x, y, diameter)) < JOIN_MM for c in circles):
        return Loop((), (x, y, diameter))
    return loop


def _left_turn(before: Piece, after: Piece) -> float:
    """Angle from one piece's direction at its end to the next one's at its start, -pi to pi."""
    return (after.direction() - before.direction(at_end=True) + math.pi) % math.tau - math.pi


def _nothing_closed(ends: list[Point]) -> str:
    if not ends:
        return "the drawing has no closed outline; draw the floor as one closed line"
    gaps = [
        (math.dist(one, other), one)
        for k, one in enumerate(ends[:400])
        for other in ends[k + 1 : 400]
        if math.dist(one, other) > JOIN_MM
    ]
    if not gaps:
        return "the drawing has no closed outline; draw the floor as one closed line"
    gap, (x, y) = min(gaps)
    return (
        f"the drawing has no closed outline; the smallest gap is {gap:.2f} mm at {x:.1f}, {y:.1f} mm: "
        "close it in the drawing"
    )


def _round(value: float) -> float:
    return round(value, DECIMALS) + 0.0
