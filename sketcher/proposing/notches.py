"""Corners cut away from a rectangular plate: outlines like an L, a T or a cross, with rounded corners."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.document.outlines import Outline, Polygon, Rectangle, Vertex

Corner = Literal["left-front", "right-front", "right-rear", "left-rear"]
CORNERS: tuple[Corner, ...] = ("left-front", "right-front", "right-rear", "left-rear")
#: A notch is cut only where it is so wide and deep at least, mm, and takes away so much, mm²: less is not worth two
#: more corners. Common practice, no source.
LEAST_MM, LEAST_MM2 = 15.0, 600.0
#: Between two notches of one side so much stays, mm.
_BETWEEN_MM = 20.0


@dataclass(frozen=True)
class Box:
    """A rectangle by its sides, mm."""

    left: float
    front: float
    right: float
    rear: float

    @property
    def area_mm2(self) -> float:
        """What it covers."""
        return max(self.right - self.left, 0.0) * max(self.rear - self.front, 0.0)


@dataclass(frozen=True)
class Notch:
    """A corner cut away: so far along x and along y, mm."""

    x_mm: float
    y_mm: float


Notches = Mapping[Corner, Notch]


def outline(box: Box, notches: Notches, radius_mm: float, inner_radius_mm: float) -> Outline:
    """The rectangle without its notches.

    Args:
        box: the rectangle.
        notches: by corner.
        radius_mm: of the corners that stand out; smaller where an edge is too short for it.
        inner_radius_mm: of the corners that a cutter has to go into.
    """
    width, depth = max(box.right - box.left, 1.0), max(box.rear - box.front, 1.0)
    if not notches:
        return Rectangle(
            x_mm=(box.left + box.right) / 2,
            y_mm=(box.front + box.rear) / 2,
            width_mm=width,
            depth_mm=depth,
            corner_radius_mm=min(radius_mm, width / 2, depth / 2),
        )
    vertices = [
        Vertex(x_mm=round(x, 3), y_mm=round(y, 3), corner_radius_mm=radius)
        for corner in CORNERS
        for x, y, radius in _at(box, corner, notches.get(corner), radius_mm, inner_radius_mm)
    ]
    return Polygon(vertices=tuple(vertices))


def _at(
    box: Box, corner: Corner, notch: Notch | None, radius: float, inner: float
) -> Sequence[tuple[float, float, float]]:
    """The vertices at a corner, counter-clockwise round the plate, each with its radius."""
    x = box.left if "left" in corner else box.right
    y = box.front if "front" in corner else box.rear
    if notch is None:
        return [(x, y, radius)]
    far_x = x + notch.x_mm if "left" in corner else x - notch.x_mm
    far_y = y + notch.y_mm if "front" in corner else y - notch.y_mm
    # Two rounded corners share each edge of the notch.
    outer = min(radius, notch.x_mm / 2, notch.y_mm / 2)
    middle = min(inner, notch.x_mm - outer, notch.y_mm - outer)
    along_x, along_y, within = (far_x, y, outer), (x, far_y, outer), (far_x, far_y, middle)
    if corner in ("left-front", "right-rear"):
        return [along_y, within, along_x]
    return [along_x, within, along_y]


def room_at(box: Box, corner: Corner, content: Sequence[BaseGeometry], margin_mm: float, others: Notches) -> Notch:
    """The largest notch at a corner that keeps a margin from everything, mm; on whole millimetres.

    What lies in the plate counts by the rectangle about it, so that notches come out a little smaller than they might.
    """
    width, depth = box.right - box.left, box.rear - box.front
    # Each item's rectangle as seen from the corner: how far it is along x and along y.
    steps = []
    for area in content:
        left, front, right, rear = area.bounds
        far_x = left - box.left if "left" in corner else box.right - right
        far_y = front - box.front if "front" in corner else box.rear - rear
        steps.append((far_x - margin_mm, far_y - margin_mm))
    most_x = width - _taken(others, corner, "x") - _BETWEEN_MM
    most_y = depth - _taken(others, corner, "y") - _BETWEEN_MM
    best = Notch(0.0, 0.0)
    for x in sorted({most_x, *(min(step[0], most_x) for step in steps)}):
        # What begins before x along x must begin behind y along y.
        y = min([most_y, *(step[1] for step in steps if step[0] < x - 1e-9)])
        if min(x, y) > 0 and x * y > best.x_mm * best.y_mm:
            best = Notch(math.floor(x), math.floor(y))
    return best


def _taken(others: Notches, corner: Corner, axis: Literal["x", "y"]) -> float:
    """How much of a corner's side the notch at the side's other end takes, mm."""
    end = ("left", "right") if axis == "x" else ("front", "rear")
    same = corner.replace(*end) if end[0] in corner else corner.replace(end[1], end[0])
    other = next((notch for name, notch in others.items() if name == same), None)
    return 0.0 if other is None else (other.x_mm if axis == "x" else other.y_mm)


def beyond(box: Box, floor: BaseGeometry, more_mm: float) -> dict[Corner, Notch]:
    """The notches that a rectangle needs to lie within the floor: where a corner of it is outside, and so much more."""
    found: dict[Corner, Notch] = {}
    outside = shapely.difference(shapely.box(box.left, box.front, box.right, box.rear), floor)
    for part in shapely.get_parts(outside).tolist():
        left, front, right, rear = part.bounds
        for corner in CORNERS:
            x = box.left if "left" in corner else box.right
            y = box.front if "front" in corner else box.rear
            if shapely.dwithin(part, shapely.Point(x, y), 1e-6):
                across = right - box.left if "left" in corner else box.right - left
                along = rear - box.front if "front" in corner else box.rear - front
                found[corner] = Notch(math.ceil(across - 1e-6) + more_mm, math.ceil(along - 1e-6) + more_mm)
    return found


def worth_cutting(notch: Notch) -> bool:
    """Whether a notch takes away enough."""
    return min(notch.x_mm, notch.y_mm) >= LEAST_MM and notch.x_mm * notch.y_mm >= LEAST_MM2
