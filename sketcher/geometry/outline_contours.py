"""From an outline in the document to its true contour."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sketcher.document.outlines import Circle, Outline, Polygon, Rectangle, Slot
from sketcher.document.remembered import Remembered
from sketcher.geometry.path import Path, Point, circle, fillet, from_vertices


@dataclass(frozen=True)
class Contour:
    """A closed path; when it is a whole circle, its centre and radius (mm) too, since files keep circles whole."""

    path: Path
    round: tuple[Point, float] | None = None


_contours: Remembered[Contour] = Remembered()


def contour(outline: Outline) -> Contour:
    """The true, counter-clockwise contour of an outline. It may cross itself if a polygon in the document does."""
    return _contours.of((outline,), None, lambda: _contour(outline))


def _contour(outline: Outline) -> Contour:
    match outline:
        case Circle():
            return round_contour((outline.x_mm, outline.y_mm), outline.diameter_mm / 2)
        case Slot():
            return slot_contour(
                (outline.x_mm, outline.y_mm), outline.length_mm, outline.width_mm, math.radians(outline.turn_deg)
            )
        case Rectangle():
            return Contour(_rectangle(outline))
        case Polygon():
            return Contour(_polygon(outline))


def round_contour(centre: Point, radius: float) -> Contour:
    """A circle's contour."""
    return Contour(circle(centre, radius), (centre, radius))


def slot_contour(centre: Point, length: float, width: float, turn: float) -> Contour:
    """A slot's contour: ``length`` mm over all, ``turn`` radians from x."""
    half, straight = width / 2, (length - width) / 2
    if straight <= 0:
        return round_contour(centre, half)
    corners = [(-straight, -half, 0.0), (straight, -half, 1.0), (straight, half, 0.0), (-straight, half, 1.0)]
    return Contour(from_vertices(_placed(corners, centre, turn), closed=True))


def _rectangle(outline: Rectangle) -> Path:
    w, d, r = outline.width_mm / 2, outline.depth_mm / 2, outline.corner_radius_mm
    square = [(-w, -d), (w, -d), (w, d), (-w, d)]
    path, _ = fillet(square, [r] * 4, closed=True)
    rows = _placed(path.vertices(), (outline.x_mm, outline.y_mm), math.radians(outline.turn_deg))
    return from_vertices(rows, closed=True)


def _polygon(outline: Polygon) -> Path:
    vertices = outline.vertices
    if all(vertex.bulge == 0 for vertex in vertices):
        corners = [(vertex.x_mm, vertex.y_mm) for vertex in vertices]
        path, _ = fillet(corners, [vertex.corner_radius_mm for vertex in vertices], closed=True)
        return path.counter_clockwise()
    return _with_arcs(outline).counter_clockwise()


def _with_arcs(outline: Polygon) -> Path:
    """A polygon of straight and arc edges: the corners between two straight edges are rounded one by one."""
    vertices = outline.vertices
    count = len(vertices)
    rows: list[tuple[float, float, float]] = []
    for i, vertex in enumerate(vertices):
        before, after = vertices[i - 1], vertices[(i + 1) % count]
        place = (vertex.x_mm, vertex.y_mm)
        if vertex.corner_radius_mm and vertex.bulge == 0 and before.bulge == 0:
            # Half of each neighbouring edge belongs to this corner, so that roundings never overlap.
            ends = [((v.x_mm + vertex.x_mm) / 2, (v.y_mm + vertex.y_mm) / 2) for v in (before, after)]
            corner, _ = fillet([ends[0], place, ends[1]], [0.0, vertex.corner_radius_mm, 0.0])
            # By the arc itself: one that fills its half of an edge begins where the stretch does.
            arc = next((segment for segment in corner.segments if not segment.straight), None)
            rows += [(*place, 0.0)] if arc is None else [(*arc.start, arc.bulge), (*arc.end, 0.0)]
        else:
            rows.append((*place, vertex.bulge))
    return from_vertices(rows, closed=True)


def _placed(rows: list[tuple[float, float, float]], centre: Point, turn: float) -> list[tuple[float, float, float]]:
    c, s = math.cos(turn), math.sin(turn)
    return [(centre[0] + c * x - s * y, centre[1] + s * x + c * y, bulge) for x, y, bulge in rows]
