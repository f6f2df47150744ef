"""A section: the plate cut along a line, seen square to it, because mistakes of depth hide in a view from above.

Lengths run along the line from its first end, heights from the plate's underside, both in mm and at one scale.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import shapely
import svgwrite
from shapely import LineString

from sketcher.drawing import marks
from sketcher.drawing.palette import style_sheet
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.strength.seal import SealDesign

#: Pieces shorter than this are a line that only touches something, mm.
TOUCH_MM = 1e-6
MARGIN_MM = 14.0
#: Names nearer to each other than this are written together, mm.
NAME_MM = 4.0
#: What is cut last is drawn last: threads over their bores, bores over channels.
_ORDER = ("cutout", "hole", "head", "pocket", "channel", "bore", "thread", "groove")
_CLASSES = {
    "cutout": "air", "hole": "air", "head": "air", "pocket": "air", "channel": "water", "bore": "water",
    "thread": "thread-cut", "groove": "groove-cut", "body": "body", "lid": "lid",
}  # fmt: skip


@dataclass(frozen=True)
class CutPart:
    """A rectangle of the section: what is cut, from where to where along the line, and between which heights, mm."""

    id: str
    part: str
    start: float
    end: float
    low: float
    high: float


class SectionError(ValueError):
    """The line cuts nothing; the message says what would."""


def pieces(shapes: Shapes, start: Point, end: Point, seal: SealDesign | None = None) -> list[CutPart]:
    """Everything that the line cuts, the solid first and what is cut out of it after.

    Raises:
        SectionError: the line has no length, or does not cross the plate.
    """
    if math.dist(start, end) < 1.0:
        raise SectionError("the line is shorter than a millimetre; put its ends farther apart")
    line = LineString([start, end])
    plate = shapes.document.plate
    solid = list(_spans(line, shapely.make_valid(shapes.plate_polygon)))
    if not solid:
        raise SectionError("the line does not cross the plate; put its ends on both sides of it")
    lid_first = plate.lid_face == "bottom"
    joint = plate.lid_thickness_mm if lid_first else plate.body_thickness_mm
    lower, upper = ("lid", "body") if lid_first else ("body", "lid")
    found = [
        CutPart("", part, a, b, low, high)
        for a, b in solid
        for part, low, high in ((lower, 0.0, joint), (upper, joint, shapes.thickness))
    ]
    cut = [
        CutPart(prism.id, prism.part, a, b, max(prism.low, 0.0), min(prism.high, shapes.thickness))
        for prism in shapes.prisms
        for a, b in _spans(line, shapely.make_valid(prism.polygon))
    ]
    if seal is not None and seal.gland is not None:
        for loop in seal.loops:
            ring = LineString([*loop.path.points(), loop.path.start]).buffer(seal.gland.width_mm / 2)
            cut += [CutPart("", "groove", a, b, seal.low_mm, seal.high_mm) for a, b in _spans(line, ring)]
    return found + sorted(cut, key=lambda piece: _ORDER.index(piece.part))


def _spans(line: LineString, area: shapely.Geometry) -> Iterator[tuple[float, float]]:
    """Where a line is within an area, as distances along the line."""
    inside = shapely.intersection(line, area)
    for part in getattr(inside, "geoms", [inside]):
        if part.geom_type == "LineString" and part.length > TOUCH_MM:
            a, b = (line.project(shapely.Point(place)) for place in (part.coords[0], part.coords[-1]))
            yield min(a, b), max(a, b)


def section_svg(found: Sequence[CutPart], thickness: float, length: float, alone: bool = True) -> str:
    """The section as SVG in mm; one that stands alone carries its own colours."""
    left, right = -MARGIN_MM, length + MARGIN_MM
    top, foot = thickness + MARGIN_MM, -MARGIN_MM
    drawing = svgwrite.Drawing(
        debug=False,
        size=(f"{marks.number(right - left)}mm", f"{marks.number(top - foot)}mm"),
        viewBox=f"{marks.number(left)} {marks.number(-top)} {marks.number(right - left)} {marks.number(top - foot)}",
    )
    if alone:
        drawing.defs.add(drawing.style(style_sheet()))
    root = marks.SVG.g(class_="plan section", transform="scale(1 -1)")
    for piece in found:
        root.add(_drawn(piece))
    for words, at in (("X", 0.0), ("X′", length)):
        root.add(marks.text(words, (at, thickness + 4), "tag middle"))
    for words, at in _names(found):
        root.add(marks.text(words, (at, -5.0), "tag middle"))
    for height in sorted({0.0, thickness, *(p.high for p in found if p.part in ("lid", "body"))}):
        root.add(marks.line((left + 8, height), (left + 11, height), "scale"))
        root.add(marks.text(f"{height:g}", (left + 1, height - 1.5), "scale-word"))
    drawing.add(root)
    return str(drawing.tostring())


def _names(found: Sequence[CutPart]) -> Iterator[tuple[str, float]]:
    """The items' names and where each is written: under its widest piece; those of one place stand together."""
    widest: dict[str, CutPart] = {}
    for piece in found:
        if piece.id and (
            piece.id not in widest or piece.end - piece.start > widest[piece.id].end - widest[piece.id].start
        ):
            widest[piece.id] = piece
    together: list[tuple[list[str], float]] = []
    for piece in sorted(widest.values(), key=lambda piece: piece.start + piece.end):
        at = (piece.start + piece.end) / 2
        if together and at - together[-1][1] < NAME_MM:
            together[-1][0].append(piece.id)
        else:
            together.append(([piece.id], at))
    for ids, at in together:
        yield " ".join(ids), at


def _drawn(piece: CutPart) -> svgwrite.base.BaseElement:
    corners = [(piece.start, piece.low), (piece.end, piece.low), (piece.end, piece.high), (piece.start, piece.high)]
    data = "M" + "L".join(f"{marks.number(x)} {marks.number(y)}" for x, y in corners) + "Z"
    path = marks.SVG.path(d=data, class_=_CLASSES[piece.part])
    path.set_desc(title=f"{piece.id} {piece.part}".strip())
    return path
