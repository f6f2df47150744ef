"""Lines, arcs and circles of an SVG file, mm.

Understood: path, rect, circle, ellipse, line, polyline, polygon, in groups, clones and nested drawings, with
transforms (SVG 1.1, chapters 5 and 7 to 9). The unit is that of the root's width and height against its viewBox; pixels
and bare numbers do not say one. y is turned over here, in this one place. A file with scripts, event handlers, foreign
content or entities of its own is refused, not cleaned.
"""

from __future__ import annotations

import math
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any
from xml.parsers import expat

from sketcher.importing.outline_joining import MOST_PIECES, DrawingError, Piece, too_many
from sketcher.importing.progress import Progress, unheard
from sketcher.importing.svg_path import NUMBER, Matrix, apply, circle_pieces, ellipse_pieces, parse_path, polyline
from sketcher.importing.svg_tree import SVG, local, shapes
from sketcher.importing.units import Drawing, UnitUnknown, scale_of

#: Millimetres in the absolute units of CSS; the pixel is left out, it does not say a size in practice.
CSS_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4, "pt": 25.4 / 72, "pc": 25.4 / 6}
REFUSED = {"script", "foreignObject", "iframe", "handler", "set", "animate", "animateTransform", "animateMotion"}
_NUMBER = re.compile(NUMBER)
_LENGTH = re.compile(rf"\s*+({NUMBER})\s*+([a-zA-Z%]*+)\s*+$")
_SPACE = re.compile(r"\s")


def pieces(data: bytes, unit: str | None = None, progress: Progress = unheard) -> Drawing:
    """What is drawn in the file.

    Args:
        data: the file.
        progress: hears how much of the largest possible drawing has been read.
        unit: what one user unit (a number of the viewBox) is, where the file does not say.

    Raises:
        UnitUnknown: the file does not say its unit and none is given.
        DrawingError: no SVG, scripts, or something it cannot follow.
    """
    root = _parse(data)
    _refuse_active(root)
    scale, name = _scale(root, unit)
    flip: Matrix = (scale, 0.0, 0.0, -scale, 0.0, 0.0)
    found: list[Piece] = []
    skipped: dict[str, int] = {}
    for element, matrix, layer in shapes(root, flip, skipped):
        found.extend(replace(piece, layer=layer) for piece in _pieces_of(element, matrix))
        if len(found) > MOST_PIECES:
            raise too_many()
        progress(len(found) / MOST_PIECES)
    if not all(math.isfinite(value) for piece in found for value in (*piece.start, *piece.end, piece.bulge)):
        raise DrawingError("the drawing has places that are no numbers; save it again")
    messages = tuple(f"Left out: {count} <{kind}>." for kind, count in sorted(skipped.items()))
    return Drawing(tuple(found), (), name, messages)


def _parse(data: bytes) -> ET.Element:
    """The root element; entities are refused before they can be expanded."""
    checker = expat.ParserCreate()

    def refuse(*_: object) -> Any:
        raise DrawingError("the SVG file declares entities of its own; save it as plain SVG")

    checker.EntityDeclHandler = refuse
    checker.ExternalEntityRefHandler = refuse
    checker.SetParamEntityParsing(expat.XML_PARAM_ENTITY_PARSING_NEVER)
    try:
        checker.Parse(data, True)
        root = ET.fromstring(data)
    except expat.ExpatError as error:
        raise DrawingError(f"this is no SVG file: line {error.lineno} is no XML; save it again as plain SVG") from None
    except DrawingError:
        raise
    except (ET.ParseError, ValueError, LookupError):
        raise DrawingError("this is no SVG file, or its encoding is not known; save it again in UTF-8") from None
    if root.tag not in (f"{SVG}svg", "svg"):
        raise DrawingError("this is no SVG file: its root is not <svg>")
    return root


def _refuse_active(root: ET.Element) -> None:
    for element in root.iter():
        tag = local(element)
        if tag in REFUSED:
            raise DrawingError(f"the SVG file has <{tag}>, which a floor does not need; save it as plain SVG")
        for key, value in element.attrib.items():
            name = key.rsplit("}", 1)[-1].lower()
            link = _SPACE.sub("", value[:200]).lower()
            if name.startswith("on") or link.startswith("javascript:"):
                raise DrawingError(f"the SVG file has a script ({name} on <{tag}>); save it as plain SVG")
        if tag == "style" and element.text and ("@import" in element.text or "url(http" in element.text.lower()):
            raise DrawingError("the SVG file loads styles from elsewhere; save it as plain SVG")


def _scale(root: ET.Element, unit: str | None) -> tuple[float, str]:
    """Millimetres in a user unit, and the unit's name."""
    if unit is not None:
        return scale_of(unit), unit
    view = [float(v) for v in _NUMBER.findall(root.get("viewBox", "")[:200])]
    length = _LENGTH.match(root.get("width", "")) or _LENGTH.match(root.get("height", ""))
    if length is None or length.group(2) not in CSS_MM:
        raise UnitUnknown("the SVG file does not say its unit (its size is in pixels, or not given)")
    factor = CSS_MM[length.group(2)]
    if len(view) != 4:
        # without a viewBox a user unit is a CSS pixel, 1/96 inch (CSS Values and Units, section 6.2)
        return 25.4 / 96, length.group(2)
    side = view[2] if _LENGTH.match(root.get("width", "")) else view[3]
    size = float(length.group(1)) * factor
    if side <= 0 or size <= 0:
        raise DrawingError("the SVG file's size or viewBox is zero; save it again")
    other = _LENGTH.match(root.get("height", ""))
    if root.get("width") and other and other.group(2) in CSS_MM and view[3] > 0:
        across = float(other.group(1)) * CSS_MM[other.group(2)] / view[3]
        if abs(across / (size / side) - 1) > 0.01 and root.get("preserveAspectRatio", "").startswith("none"):
            raise DrawingError("the SVG file is stretched more one way than the other; save it at its true scale")
        return min(size / side, across), length.group(2)
    return size / side, length.group(2)


def _pieces_of(element: ET.Element, matrix: Matrix) -> list[Piece]:
    tag = local(element)
    if tag == "path":
        return parse_path(element.get("d", ""), matrix)
    if tag == "circle":
        return circle_pieces(_len(element, "cx"), _len(element, "cy"), _len(element, "r"), matrix)
    if tag == "ellipse":
        rx, ry = _len(element, "rx"), _len(element, "ry")
        return ellipse_pieces(_len(element, "cx"), _len(element, "cy"), rx, ry, matrix)
    if tag == "line":
        ends = [(_len(element, "x1"), _len(element, "y1")), (_len(element, "x2"), _len(element, "y2"))]
        return polyline([apply(matrix, end) for end in ends], closed=False)
    if tag == "rect":
        return _rectangle(element, matrix)
    numbers = [float(v) for v in _NUMBER.findall(element.get("points", ""))]
    points = [apply(matrix, (x, y)) for x, y in zip(numbers[::2], numbers[1::2], strict=False)]
    return polyline(points, closed=tag == "polygon")


def _rectangle(element: ET.Element, matrix: Matrix) -> list[Piece]:
    x, y, w, h = (_len(element, key) for key in ("x", "y", "width", "height"))
    if w <= 0 or h <= 0:
        return []
    rx = _len(element, "rx") if element.get("rx") is not None else _len(element, "ry")
    ry = _len(element, "ry") if element.get("ry") is not None else rx
    rx, ry = min(max(rx, 0.0), w / 2), min(max(ry, 0.0), h / 2)
    if rx == 0.0 or ry == 0.0:
        corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)]
        return polyline([apply(matrix, corner) for corner in corners], closed=True)
    path = (
        f"M{x + rx} {y}H{x + w - rx}A{rx} {ry} 0 0 1 {x + w} {y + ry}V{y + h - ry}A{rx} {ry} 0 0 1 {x + w - rx} {y + h}"
        f"H{x + rx}A{rx} {ry} 0 0 1 {x} {y + h - ry}V{y + ry}A{rx} {ry} 0 0 1 {x + rx} {y}Z"
    )
    return parse_path(path, matrix)


def _len(element: ET.Element, key: str) -> float:
    """A length in user units. Absolute units within a drawing are refused: they would need the CSS pixel."""
    text = element.get(key)
    if text is None:
        return 0.0
    match = _LENGTH.match(text)
    if match is None or match.group(2) not in ("", "px"):
        raise DrawingError(f"{key}='{text[:30]}' on <{local(element)}> is no plain number; save the file as plain SVG")
    return float(match.group(1))
