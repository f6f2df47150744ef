"""SVG path data as lines and arcs (SVG 1.1, section 8.3 and appendix F.6), through an affine map.

Circular arcs stay arcs where the map keeps circles round; all other curves become short lines.
"""

from __future__ import annotations

import cmath
import math
import re
from collections.abc import Callable
from itertools import pairwise

from sketcher.geometry.path import Point
from sketcher.importing.outline_joining import MOST_PIECES, DrawingError, Piece, too_many

Matrix = tuple[float, float, float, float, float, float]

#: Curves become lines that stray no farther than this, mm.
CHORD_MM = 0.02
MOST_STEPS = 400
#: A number (SVG 1.1, section 4.2). Nothing in it can be read two ways, so that reading takes as long as the text is.
NUMBER = r"[-+]?(?:\d++(?:\.\d*+)?|\.\d++)(?:[eE][-+]?\d++)?"
#: A path with more commands and numbers than this is no floor.
MOST_TOKENS = 8 * MOST_PIECES
_TOKEN = re.compile(rf"([MmLlHhVvCcSsQqTtAaZz])|({NUMBER})|([^\s,])")
_FLAG = re.compile(r"[\s,]*+([01])")
_COUNT = {"M": 2, "L": 2, "H": 1, "V": 1, "C": 6, "S": 4, "Q": 4, "T": 2, "A": 7, "Z": 0}


def apply(matrix: Matrix, point: Point) -> Point:
    """A point through an SVG matrix (a, b, c, d, e, f)."""
    a, b, c, d, e, f = matrix
    return (a * point[0] + c * point[1] + e, b * point[0] + d * point[1] + f)


def product(one: Matrix, other: Matrix) -> Matrix:
    """The map that does ``other`` first and then ``one``."""
    a, b, c, d, _, _ = one
    e, f = apply(one, (other[4], other[5]))
    return (
        a * other[0] + c * other[1],
        b * other[0] + d * other[1],
        a * other[2] + c * other[3],
        b * other[2] + d * other[3],
        e,
        f,
    )


def polyline(points: list[Point], *, closed: bool) -> list[Piece]:
    """Lines through points."""
    rows = [*points, points[0]] if closed and len(points) > 1 else points
    return [Piece(one, other) for one, other in pairwise(rows) if one != other]


def circle_pieces(x: float, y: float, r: float, matrix: Matrix) -> list[Piece]:
    """A circle, as two halves."""
    return ellipse_pieces(x, y, r, r, matrix)


def ellipse_pieces(x: float, y: float, rx: float, ry: float, matrix: Matrix) -> list[Piece]:
    """An ellipse, as two halves."""
    if rx <= 0 or ry <= 0:
        return []
    left, right = (x - rx, y), (x + rx, y)
    return [
        *_arc(left, right, rx, ry, 0.0, large=False, sweep=True, matrix=matrix),
        *_arc(right, left, rx, ry, 0.0, large=False, sweep=True, matrix=matrix),
    ]


def parse_path(data: str, matrix: Matrix) -> list[Piece]:
    """The pieces of a path's data. Raises DrawingError with the place in the data."""
    found: list[Piece] = []
    here: Point = (0.0, 0.0)
    start: Point = here
    control: Point | None = None
    last = ""
    for command, v in _commands(data):
        if len(found) > MOST_PIECES:
            raise too_many()
        kind, relative = command.upper(), command.islower()
        base = here if relative else (0.0, 0.0)
        following: Point | None = None
        if kind == "M":
            here = start = _off(base, v[0], v[1])
        elif kind == "Z":
            found += polyline([apply(matrix, here), apply(matrix, start)], closed=False)
            here = start
        elif kind in "LHV":
            x, y = (v[0], v[1]) if kind == "L" else (v[0], 0.0) if kind == "H" else (0.0, v[0])
            to = _off(base, x, y)
            if kind == "H":
                to = (to[0], here[1])
            elif kind == "V":
                to = (here[0], to[1])
            found += polyline([apply(matrix, here), apply(matrix, to)], closed=False)
            here = to
        elif kind == "A":
            to = _off(base, v[5], v[6])
            found += _arc(here, to, v[0], v[1], v[2], large=v[3] != 0, sweep=v[4] != 0, matrix=matrix)
            here = to
        else:
            mirrored = control if control is not None and last in ("CS" if kind in "CS" else "QT") else here
            reflected = (2 * here[0] - mirrored[0], 2 * here[1] - mirrored[1])
            if kind in "CS":
                one = _off(base, v[0], v[1]) if kind == "C" else reflected
                two, to = _off(base, v[-4], v[-3]), _off(base, v[-2], v[-1])
                following = two
                points = [here, one, two, to]
            else:
                mid = _off(base, v[0], v[1]) if kind == "Q" else reflected
                to = _off(base, v[-2], v[-1])
                following = mid
                points = [here, mid, to]
            found += _bezier([apply(matrix, p) for p in points])
            here = to
        control, last = following, kind
    return found


def _off(base: Point, x: float, y: float) -> Point:
    return (base[0] + x, base[1] + y)


def _commands(data: str) -> list[tuple[str, list[float]]]:
    rows: list[tuple[str, list[float]]] = []
    command, numbers = "", []
    tokens = list(_tokens(data))
    index = 0
    while index < len(tokens):
        token = tokens[index]
        if isinstance(token, str):
            command, index = token, index + 1
            if command in "Zz":
                rows.append((command, []))
            continue
        if not command or command in "Zz":
            raise DrawingError(f"the path '{data[:40]}' has a number where a command belongs; save the file again")
        if not rows and command not in "Mm":
            raise DrawingError(f"the path '{data[:40]}' does not begin with a move; save the file again")
        count = _COUNT[command.upper()]
        numbers = tokens[index : index + count]
        if len(numbers) < count or any(isinstance(n, str) for n in numbers):
            raise DrawingError(f"the path '{data[:40]}' breaks off after '{command}'; save the file again")
        rows.append((command, [float(n) for n in numbers]))
        index += count
        if command in "Mm":  # further pairs after a move are lines
            command = "l" if command == "m" else "L"
    return rows


def _tokens(data: str) -> list[str | float]:
    tokens: list[str | float] = []
    position = 0
    text = data
    arc = 0  # an arc's flags may be written without separators: "a1 1 0 0110 5"
    while position < len(text):
        if arc in (4, 5) and (flag := _FLAG.match(text, position)):
            tokens.append(float(flag.group(1)))
            position = flag.end()
            arc += 1
            continue
        match = _TOKEN.search(text, position)
        if match is None:
            break
        if len(tokens) >= MOST_TOKENS:
            raise too_many()
        if match.group(3):
            raise DrawingError(f"the path '{data[:40]}' has '{match.group(3)}', which means nothing in a path")
        if match.group(1):
            tokens.append(match.group(1))
            arc = 1 if match.group(1) in "Aa" else 0
        else:
            tokens.append(float(match.group(2)))
            if arc:
                arc = 1 if arc == 7 else arc + 1
        position = match.end()
    return tokens


def _round_factor(matrix: Matrix) -> float | None:
    """How much a map that keeps circles round enlarges; None when it does not. Negative when it mirrors."""
    a, b, c, d, _, _ = matrix
    size = math.hypot(a, b)
    if size == 0.0:
        return None
    if math.hypot(a - d, b + c) < 1e-9 * size:
        return size
    if math.hypot(a + d, b - c) < 1e-9 * size:
        return -size
    return None


def _arc(
    here: Point, to: Point, rx: float, ry: float, tilt_deg: float, *, large: bool, sweep: bool, matrix: Matrix
) -> list[Piece]:
    """An elliptical arc by its ends (SVG 1.1, appendix F.6.5)."""
    rx, ry = abs(rx), abs(ry)
    if here == to:
        return []
    if rx == 0.0 or ry == 0.0:
        return polyline([apply(matrix, here), apply(matrix, to)], closed=False)
    tilt = cmath.exp(1j * math.radians(tilt_deg))
    half = (complex(*here) - complex(*to)) / 2 / tilt
    spread = (half.real / rx) ** 2 + (half.imag / ry) ** 2
    if spread > 1.0:  # radii too small to reach are enlarged until they do
        rx, ry = rx * math.sqrt(spread), ry * math.sqrt(spread)
        spread = 1.0
    root = math.sqrt(max(1.0 / spread - 1.0, 0.0)) * (1.0 if large != sweep else -1.0)
    offset = complex(root * rx * half.imag / ry, -root * ry * half.real / rx)
    centre = tilt * offset + (complex(*here) + complex(*to)) / 2
    begin = math.atan2((half.imag - offset.imag) / ry, (half.real - offset.real) / rx)
    end = math.atan2((-half.imag - offset.imag) / ry, (-half.real - offset.real) / rx)
    angle = (end - begin) % math.tau if sweep else -((begin - end) % math.tau)

    def place(t: float) -> Point:
        z = centre + tilt * complex(rx * math.cos(begin + t * angle), ry * math.sin(begin + t * angle))
        return apply(matrix, (z.real, z.imag))

    factor = _round_factor(matrix)
    if factor is not None and abs(rx - ry) < 1e-9 * rx:
        parts = 2 if abs(angle) > math.pi + 1e-6 else 1
        bulge = math.tan(angle / parts / 4) * math.copysign(1.0, factor)
        stops = [apply(matrix, here), *(place(k / parts) for k in range(1, parts)), apply(matrix, to)]
        return [Piece(one, other, bulge) for one, other in pairwise(stops)]
    return _lines(
        place, apply(matrix, here), apply(matrix, to), max(abs(v) for v in matrix[:4]) * max(rx, ry) * abs(angle)
    )


def _bezier(points: list[Point]) -> list[Piece]:
    def place(t: float) -> Point:
        rows = points
        while len(rows) > 1:
            rows = [(a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])) for a, b in pairwise(rows)]
        return rows[0]

    return _lines(place, points[0], points[-1], sum(math.dist(a, b) for a, b in pairwise(points)))


def _lines(place: Callable[[float], Point], start: Point, end: Point, length: float) -> list[Piece]:
    """Short lines along a curve: twice as many until their middles lie close enough to it."""
    if length <= CHORD_MM:
        return polyline([start, end], closed=False)
    steps = 8
    while True:
        stops = [start, *(place(k / steps) for k in range(1, steps)), end]
        stray = max(
            math.dist(place((k + 0.5) / steps), ((a[0] + b[0]) / 2, (a[1] + b[1]) / 2))
            for k, (a, b) in enumerate(pairwise(stops))
        )
        if not stray > CHORD_MM or steps >= MOST_STEPS:
            return [Piece(a, b) for a, b in pairwise(stops) if a != b]
        steps *= 2
