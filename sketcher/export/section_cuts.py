"""Where a shop drawing cuts the plate: along x and along y, through what tells most."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely import LineString

from sketcher.export.operations import Operation
from sketcher.geometry import Shapes
from sketcher.geometry.shapes import polygon_of

Axis = Literal["x", "y"]
#: How far a cut begins and ends beyond the plate, mm.
BEYOND_MM = 1.0


@dataclass(frozen=True)
class Cut:
    """A cut: ``Cut("x", 40.0)`` runs along x at y = 40 mm and looks to the rear; one along y looks to the left."""

    along: Axis
    at: float

    def line(self, shapes: Shapes) -> LineString:
        """The cut across the plate and a little beyond, mm."""
        left, front, right, rear = shapes.plate_polygon.bounds
        if self.along == "x":
            return LineString([(left - BEYOND_MM, self.at), (right + BEYOND_MM, self.at)])
        return LineString([(self.at, front - BEYOND_MM), (self.at, rear + BEYOND_MM)])


def telling_cut(shapes: Shapes, made: Sequence[Operation], along: Axis) -> Cut:
    """The first of the cuts that meet most items, through a port or the middle of a channel's straight run."""
    index = 1 if along == "x" else 0
    left, front, right, rear = shapes.plate_polygon.bounds
    places = [port.root[index] for port in shapes.ports.values()]
    for channel in shapes.channels.values():
        places += [segment.at(segment.length / 2)[index] for segment in channel.path.segments if segment.straight]
    low, high = (front, rear) if along == "x" else (left, right)
    places = [place for place in dict.fromkeys(places) if low < place < high] or [(low + high) / 2]
    areas = [
        (op.item, shapely.make_valid(polygon_of(op.contour)))
        for op in made
        if op.kind in ("bore", "channel", "pocket", "cutout")
    ]
    areas += [(id_, port.bore_prism.polygon) for id_, port in shapes.ports.items() if port.heading is not None]

    def met(place: float) -> int:
        line = Cut(along, place).line(shapes)
        return len({item for item, area in areas if area.intersects(line)})

    return Cut(along, float(max(places, key=met)))
