"""What has to land where: every tube that drops to a port of the plate, and what it forgives."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.geometry.levels import above_floor_mm
from sketcher.geometry.path import Point


@dataclass(frozen=True)
class Drop:
    """A tube from a device's port down to a port of the plate.

    ``offset`` is from the plate's port to the device's, as drawn, mm; ``allowed_mm`` the radius within which it lands.
    """

    port: str
    serves: str
    device: str
    at: Point
    above: Point
    offset: Point
    height_mm: float
    allowed_mm: float


def drops(document: Document, shapes: Shapes) -> list[Drop]:
    """Every drop of the document, in the order of its ports.

    A rigid tube lands when the two ports are no farther out of line than the fittings forgive: an offset at either end,
    and along its length the angle at which they still hold it.
    """
    spreads = document.spreads
    top = above_floor_mm(document, shapes.thickness)
    found = []
    for port in document.ports:
        place = shapes.device_ports.get(port.serves) if port.serves else None
        if place is None or port.face != "top":
            continue
        height = max(place.z - top, 0.0)
        found.append(
            Drop(
                port=port.id,
                serves=place.ref,
                device=place.device,
                at=(port.x_mm, port.y_mm),
                above=(place.x, place.y),
                offset=(place.x - port.x_mm, place.y - port.y_mm),
                height_mm=height,
                allowed_mm=spreads.landing_offset_mm + height * math.tan(math.radians(spreads.landing_angle_deg)),
            )
        )
    return found
