"""Sections through the plate: what a straight cut across it meets, as boxes of length and height.

A section is taken along x or along y. Heights count from the plate's underside; lengths along the cut are the floor's
own coordinates.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.export.operations import Operation, parts_of
from sketcher.geometry import Shapes
from sketcher.geometry.outlines import Contour
from sketcher.geometry.shapes import PortShape, polygon_of
from sketcher.strength.seal import SealDesign

Axis = Literal["x", "y"]
#: What a part of a section is drawn as.
Look = Literal["body", "lid", "water", "dry", "thread", "groove"]
_LOOKS: dict[str, Look] = {
    "channel": "water", "bore": "water", "thread": "thread", "tap": "thread", "hole": "dry", "counterbore": "dry",
    "countersink": "dry", "pocket": "dry", "cutout": "dry",
}  # fmt: skip


@dataclass(frozen=True)
class Cut:
    """A cut: ``Cut("x", 40.0)`` runs along x at y = 40 mm and looks to the rear; one along y looks to the left."""

    along: Axis
    at: float

    def line(self, shapes: Shapes) -> LineString:
        """The cut across the plate and a little beyond, mm."""
        left, front, right, rear = shapes.plate_polygon.bounds
        if self.along == "x":
            return LineString([(left - 1, self.at), (right + 1, self.at)])
        return LineString([(self.at, front - 1), (self.at, rear + 1)])


@dataclass(frozen=True)
class Slab:
    """Part of a section: from ``start`` to ``end`` along the cut, between two heights, mm; an ellipse when round."""

    look: Look
    start: float
    end: float
    low: float
    high: float
    item: str
    round: bool = False


def section(document: Document, shapes: Shapes, made: Sequence[Operation], seal: SealDesign, cut: Cut) -> list[Slab]:
    """What a cut meets: first the material, then what is taken out of it.

    Args:
        document: the plate.
        shapes: its shapes.
        made: its operations.
        seal: its seal, for the groove.
        cut: where.
    """
    line = cut.line(shapes)
    found = []
    for part in parts_of(document):
        look: Look = "body" if part.name == "BODY" else "lid"
        found += [
            Slab(look, a, b, part.low, part.high, "plate") for a, b in _runs(shapes.plate_polygon, line, cut.along)
        ]
    # A thread is drawn under its bore: what stands out beside the bore is the thread.
    rank = {"thread": 0, "bore": 2, "channel": 1}
    for op in sorted(made, key=lambda op: rank.get(op.kind, 1)):
        if op.kind in _LOOKS:
            look = _LOOKS[op.kind]
            found += [Slab(look, a, b, op.low, op.high, op.item) for a, b in _runs(_area(op.contour), line, cut.along)]
    if seal.gland is not None and seal.kind == "cord":
        for loop in seal.loops:
            ring = polygon_of(Contour(loop.path)).exterior.buffer(seal.gland.width_mm / 2)
            runs = _runs(ring, line, cut.along)
            found += [Slab("groove", a, b, seal.low_mm, seal.high_mm, "+".join(loop.items)) for a, b in runs]
    for port in shapes.ports.values():
        if port.heading is not None:
            found += _edge_port(port, line, cut)
    return found


def _area(contour: Contour) -> BaseGeometry:
    polygon = polygon_of(contour)
    return polygon if polygon.is_valid else polygon.buffer(0)


def _runs(area: BaseGeometry, line: LineString, along: Axis) -> Iterator[tuple[float, float]]:
    met = shapely.intersection(area if area.is_valid else area.buffer(0), line)
    for piece in shapely.get_parts(met).tolist():
        ends = sorted(point[0 if along == "x" else 1] for point in piece.coords)
        if ends and ends[-1] - ends[0] > 1e-6:
            yield float(ends[0]), float(ends[-1])


def _edge_port(port: PortShape, line: LineString, cut: Cut) -> Iterator[Slab]:
    """A lying bore: along its axis a box as high as the chord, across it a circle or an ellipse."""
    assert port.heading is not None
    direction = (1.0, 0.0) if cut.along == "x" else (0.0, 1.0)
    across = abs(port.heading[0] * direction[1] - port.heading[1] * direction[0])
    looks: list[tuple[Look, float, BaseGeometry]] = [
        ("thread", port.thread_diameter, port.thread_prism.polygon),
        ("water", port.bore_diameter, port.bore_prism.polygon),
    ]
    for look, diameter, polygon in looks:
        if look == "thread" and port.thread is None:
            continue
        half = diameter / 2
        for start, end in _runs(polygon, line, cut.along):
            if across > 0.3:
                yield Slab(look, start, end, port.rise - half, port.rise + half, port.item.id, round=True)
            else:
                away = line.distance(shapely.Point(port.at))
                chord = math.sqrt(max(half**2 - away**2, 0.0))
                yield Slab(look, start, end, port.rise - chord, port.rise + chord, port.item.id)


def telling_cut(shapes: Shapes, made: Sequence[Operation], along: Axis) -> Cut:
    """The first of the cuts that meet most items, through a port or the middle of a channel's straight run."""
    index = 1 if along == "x" else 0
    left, front, right, rear = shapes.plate_polygon.bounds
    places = [port.root[index] for port in shapes.ports.values()]
    for channel in shapes.channels.values():
        places += [segment.at(segment.length / 2)[index] for segment in channel.path.segments if segment.straight]
    low, high = (front, rear) if along == "x" else (left, right)
    places = [place for place in dict.fromkeys(places) if low < place < high] or [(low + high) / 2]
    areas = [(op.item, _area(op.contour)) for op in made if op.kind not in ("groove", "thread")]
    areas += [(id_, port.bore_prism.polygon) for id_, port in shapes.ports.items() if port.heading is not None]

    def met(place: float) -> int:
        line = Cut(along, place).line(shapes)
        return len({item for item, area in areas if area.intersects(line)})

    return Cut(along, float(max(places, key=met)))
