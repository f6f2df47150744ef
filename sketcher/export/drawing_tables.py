"""The tables of a shop drawing: holes, outline, cutouts and pockets, channels and the seal groove, from datum A."""

from __future__ import annotations

from collections.abc import Mapping

from sketcher.document import Document
from sketcher.export.drawing_page import Table
from sketcher.export.hole_table import COLUMNS, DATUM, datum, holes
from sketcher.export.tables import millimetres
from sketcher.geometry import Shapes
from sketcher.geometry.path import Segment
from sketcher.geometry.shapes import AreaShape
from sketcher.strength.seal import SealDesign

_WIDTHS = (14.0, 12.0, 36.0, 18.0, 18.0, 20.0, 17.0, 14.0, 22.0, 14.0, 16.0, 20.0, 28.0)
#: An outline of more edges is one that nobody measures by hand: it is in the DXF.
_MOST_EDGES = 80


def hole_table(document: Document, shapes: Shapes, seal: SealDesign) -> Table:
    """Every round hole of body and lid."""
    names = tuple(column.replace("_mm", "").replace("_", " ") for column in COLUMNS)
    return Table(
        f"Holes, mm from datum {DATUM}: the front left corner of the bounding box; x right, y to the rear",
        tuple(zip(names, _WIDTHS, strict=True)),
        tuple(row.cells() for row in holes(document, shapes, seal)),
    )


def other_tables(shapes: Shapes, seal: SealDesign) -> list[Table]:
    """Outline, cutouts and pockets, channels, seal groove; those with nothing in them are left out."""
    areas = [*_areas("cutout", shapes.cutouts, shapes), *_areas("pocket", shapes.pockets, shapes)]
    channels = [
        (id_, millimetres(c.item.width_mm), millimetres(c.item.depth_mm), millimetres(c.length_mm),
         ", ".join(dict.fromkeys(millimetres(bend.radius) for bend in c.bends)) or "straight")
        for id_, c in shapes.channels.items()
    ]  # fmt: skip
    found = [
        Table(
            f"Outline of body and lid, counter-clockwise, mm from datum {DATUM}: each edge from where it begins",
            (("edge", 14), ("from x", 20), ("from y", 20), ("is", 60)),
            tuple(_edges(shapes)),
        ),
        Table(
            "Cutouts and pockets: centre and size of the bounding box; their true shape is in the DXF",
            (("id", 14), ("what", 18), ("x", 20), ("y", 20), ("size", 40), ("depth", 20)),
            tuple(areas),
        ),
        Table(
            "Channels, milled from the lid's side",
            (("id", 14), ("width", 18), ("depth", 18), ("centreline length", 30), ("bend radii, centreline", 50)),
            tuple(channels),
        ),
        Table(
            "Seal groove, milled into the body from the lid's side: its own tolerances override the general one",
            (("width", 30), ("depth", 30), ("minimum inside radius", 30), ("cord", 30), ("closed grooves", 24)),
            tuple(_groove(seal)),
        ),
    ]
    return [table for table in found if table.rows]


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
    for id_, area in group.items():
        left, front, right, rear = area.polygon.bounds
        depth = "through" if kind == "cutout" else millimetres(area.high - area.low)
        middle = (millimetres((left + right) / 2 - ox), millimetres((front + rear) / 2 - oy))
        rows.append((id_, kind, *middle, f"{millimetres(right - left)} × {millimetres(rear - front)}", depth))
    return rows


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
