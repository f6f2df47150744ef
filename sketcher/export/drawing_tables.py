"""The tables of a shop drawing: holes, outline, cutouts and pockets, channels and the seal groove, from the datum."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from sketcher.document import Document
from sketcher.document.outlines import Circle, Outline, Rectangle, Slot
from sketcher.document.plate import Cutout, Pocket
from sketcher.export.drawing_page import Table, sized
from sketcher.export.hole_table import COLUMNS, datum, holes
from sketcher.export.table_files import millimetres
from sketcher.geometry import Shapes
from sketcher.geometry.path import SAME_MM, Point, Segment
from sketcher.geometry.shapes import AreaShape
from sketcher.strength.seal import SealDesign

#: An outline of more edges is one that nobody measures by hand: it is in the DXF.
_MOST_EDGES = 80


def hole_table(document: Document, shapes: Shapes, seal: SealDesign) -> Table:
    """Every round hole of body and lid."""
    names = tuple(column.replace("_mm", "").replace("_", " ") for column in COLUMNS)
    rows = [row.cells() for row in holes(document, shapes, seal)]
    return sized("Holes, mm from the datum", names, rows, most=34.0)


def other_tables(shapes: Shapes, seal: SealDesign) -> list[Table]:
    """Outline, cutouts and pockets, channels with their courses, seal groove; empty ones are left out."""
    areas = [*_areas("cutout", shapes.cutouts, shapes), *_areas("pocket", shapes.pockets, shapes)]
    channels = [
        (id_, millimetres(c.item.width_mm), millimetres(c.item.depth_mm), millimetres(c.length_mm),
         c.item.start or "—", c.item.end or "—")
        for id_, c in shapes.channels.items()
    ]  # fmt: skip
    found = [
        sized("Outline of body and lid, counter-clockwise: each edge from where it begins",
              ("edge", "from x", "from y", "is"), list(_edges(shapes))),
        sized("Cutouts and pockets: centre, size, rotation, corner radius",
              ("id", "what", "x", "y", "size", "rotation", "corners", "depth", "from"), areas),
        sized("Channels, milled from the lid's side", ("id", "width", "depth", "centreline length", "from", "to"),
              channels),
        sized("Courses of the channels' centrelines: corners and bend radii", ("id", "corner", "x", "y", "radius"),
              list(_courses(shapes))),
        sized("Seal groove, milled from the lid's side: its own tolerances override the general one",
              ("width", "depth", "minimum inside radius", "cord", "closed grooves"), _groove(seal)),
    ]  # fmt: skip
    return [table for table in found if table.rows]


def _courses(shapes: Shapes) -> Iterator[tuple[str, ...]]:
    """Each channel's corners from its start to its end, and the radius of the bend at each."""
    ox, oy = datum(shapes)
    for id_, channel in shapes.channels.items():
        if not channel.path.segments:
            continue
        bends = {(round(bend.corner[0], 6), round(bend.corner[1], 6)): bend.radius for bend in channel.bends}
        corners = [channel.path.start, *((p.x_mm, p.y_mm) for p in channel.item.points), channel.path.end]
        corners = [c for n, c in enumerate(corners) if n == 0 or math.dist(c, corners[n - 1]) > SAME_MM]
        for n, (x, y) in enumerate(corners, start=1):
            radius = bends.get((round(x, 6), round(y, 6)))
            words = "—" if n in (1, len(corners)) else "sharp" if not radius else f"R {millimetres(radius)}"
            yield id_, str(n), millimetres(x - ox), millimetres(y - oy), words


def _edges(shapes: Shapes) -> list[tuple[str, ...]]:
    ox, oy = datum(shapes)
    if shapes.plate.round is not None:
        (x, y), radius = shapes.plate.round
        size = f"a circle, {millimetres(2 * radius)} across, about this place"
        return [("1", millimetres(x - ox), millimetres(y - oy), size)]
    segments = shapes.plate.path.segments
    if len(segments) > _MOST_EDGES:
        return []
    return [
        (str(n), millimetres(s.start[0] - ox), millimetres(s.start[1] - oy), _edge(s))
        for n, s in enumerate(segments, start=1)
    ]


def _edge(segment: Segment) -> str:
    if segment.straight:
        return f"straight, {millimetres(segment.length)}"
    return f"R {millimetres(segment.radius)}, {'outward' if segment.bulge > 0 else 'inward'}"


def _areas(kind: str, group: Mapping[str, AreaShape], shapes: Shapes) -> list[tuple[str, ...]]:
    ox, oy = datum(shapes)
    rows: list[tuple[str, ...]] = []
    items: dict[str, Cutout | Pocket] = {item.id: item for item in shapes.document.cutouts}
    items |= {item.id: item for item in shapes.document.pockets}
    for id_, area in group.items():
        item = items[id_]
        (x, y), size, turn, corners = _form(item.outline, area)
        depth = "through" if kind == "cutout" else millimetres(area.high - area.low)
        side = "either" if isinstance(item, Cutout) else "above" if item.face == "top" else "below"
        rows.append((id_, kind, millimetres(x - ox), millimetres(y - oy), size, turn, corners, depth, side))
    return rows


def _form(outline: Outline, area: AreaShape) -> tuple[Point, str, str, str]:
    """Centre, size, rotation and corner radii of an outline; of one with corners of its own, of the box around it."""
    if isinstance(outline, Rectangle):
        size = f"{millimetres(outline.width_mm)} × {millimetres(outline.depth_mm)}"
        radius = f"R {millimetres(outline.corner_radius_mm)}" if outline.corner_radius_mm else "sharp"
        return (outline.x_mm, outline.y_mm), size, f"{millimetres(outline.turn_deg)}°", radius
    if isinstance(outline, Circle):
        return (outline.x_mm, outline.y_mm), f"Ø {millimetres(outline.diameter_mm)}", "—", "—"
    if isinstance(outline, Slot):
        size = f"slot {millimetres(outline.length_mm)} × {millimetres(outline.width_mm)}"
        return (outline.x_mm, outline.y_mm), size, f"{millimetres(outline.turn_deg)}°", "—"
    left, front, right, rear = area.polygon.bounds
    size = f"box {millimetres(right - left)} × {millimetres(rear - front)}, shape in the DXF"
    radii = dict.fromkeys(f"R {millimetres(v.corner_radius_mm)}" for v in outline.vertices if v.corner_radius_mm)
    return ((left + right) / 2, (front + rear) / 2), size, "—", ", ".join(radii) or "sharp"


def _groove(seal: SealDesign) -> list[tuple[str, ...]]:
    gland = seal.gland
    if seal.kind != "cord" or gland is None or not seal.loops:
        return []
    return [
        (
            f"{millimetres(gland.width_mm)} ± {millimetres(gland.width_tolerance_mm)}",
            f"{millimetres(gland.depth_mm)} ± {millimetres(gland.depth_tolerance_mm)}",
            millimetres(gland.inside_radius_mm),
            f"{millimetres(gland.cord_mm)} ± {millimetres(gland.cord_tolerance_mm)}",
            str(len(seal.loops)),
        )
    ]
