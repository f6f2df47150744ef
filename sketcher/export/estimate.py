"""Time and stock, estimated: how long the mill and the laser run, which sheets are cut up, what the parts weigh.

An estimate for a first talk with a shop, with its formula beside each figure; clamping, setting and tool changes take
longer than many a cut and are counted as plain allowances.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sketcher.document import Document
from sketcher.document.plate import Shop
from sketcher.export.operations import Operation, parts_of, short
from sketcher.export.recesses import recessed, volume_mm3
from sketcher.export.setups import edge_set_ups, set_ups
from sketcher.geometry import Shapes
from sketcher.geometry.levels import sheet_tolerance_mm
from sketcher.strength.seal import SealDesign

#: Thickness that the shop's laser speed is for, mm; a peck's way back and forth doubles the drilling. Common practice,
#: no source.
LASER_AT_MM, PECKS = 3.0, 2.0
#: Cast acrylic, g/cm³ (ISO 1183, makers' data sheets).
DENSITY_G_CM3 = 1.19


@dataclass(frozen=True)
class Line:
    """One figure: what it is, its value with its unit, and how it comes about."""

    what: str
    value: str
    how: str


def estimate(document: Document, shapes: Shapes, seal: SealDesign, laser_mm: float) -> list[Line]:
    """Milling time by set-up, laser time of the test piece, stock and weight.

    Args:
        document: the plate.
        shapes: its shapes.
        seal: its seal.
        laser_mm: length of all cuts of the test piece, mm.
    """
    found: list[Line] = []
    total, shop = 0.0, document.shop
    setups = set_ups(document, shapes, seal)
    for setup in setups.values():
        minutes = shop.clamp_minutes
        tools = {op.size for op in setup.operations} | ({"pocket"} if setup.pockets else set())
        minutes += shop.tool_minutes * len(tools)
        minutes += sum(
            pocket_minutes(p.region.area, p.depth, _cutter(document, p.region.area), shop) for p in setup.pockets
        )
        minutes += sum(operation_minutes(op, document) for op in setup.operations)
        if setup.cuts_through:
            minutes += contour_minutes(shapes.plate.path.length, setup.part.thickness, max(_cutters(document)), shop)
        total += minutes
        found.append(Line(f"{setup.title}, about", f"{minutes:.0f} min", "clamping, tools, pockets, contours, holes"))
    edges = edge_set_ups(document, shapes)
    for edge in edges:
        minutes = shop.clamp_minutes + shop.tool_minutes * 2
        minutes += sum(drill_minutes(math.dist(p.at, p.root), shop) + shop.thread_minutes for p in edge.ports)
        total += minutes
        found.append(
            Line(f"{edge.name.replace('-', ' ').capitalize()}, about", f"{minutes:.0f} min", "drill and thread")
        )
    found.append(
        Line(
            "Milling together, about", f"{total / 60:.1f} h",
            f"pockets: area × passes / ({shop.step_over_diameters:g} D × {shop.feed_mm_min:g} mm/min); contours: length"
            f" × passes / {shop.feed_mm_min:g} mm/min; passes: depth / {shop.step_down_diameters:g} D;"
            f" drilling {PECKS:g} × depth / {shop.drill_feed_mm_min:g} mm/min; {shop.thread_minutes:g} min a thread,"
            f" {shop.clamp_minutes:g} min a set-up, {shop.tool_minutes:g} min a tool",
        )
    )  # fmt: skip
    thick = document.test_piece.thickness_mm
    speed = shop.laser_mm_s * LASER_AT_MM / thick
    found.append(
        Line(
            "Laser for the test piece, about", f"{laser_mm / speed / 60:.1f} min",
            f"{laser_mm / 1000:.2f} m at {speed:.1f} mm/s in {thick:g} mm (60 W); without marks and set-up",
        )
    )  # fmt: skip
    found += _stock(document, shapes)
    for part in recessed(document, shapes, seal):
        volume_cm3 = volume_mm3(part) / 1000
        grams = volume_cm3 * DENSITY_G_CM3
        how = f"volume {volume_cm3:.1f} cm³ × {DENSITY_G_CM3:g} g/cm³"
        found.append(Line(f"Weight of the {part.part.name.lower()}", f"{grams / 1000:.2f} kg", how))
    return found


def pocket_minutes(area_mm2: float, depth_mm: float, cutter_mm: float, shop: Shop) -> float:
    """Minutes to clear a pocket: the area in tracks, as often as there are passes."""
    track = shop.step_over_diameters * cutter_mm
    return area_mm2 * _passes(depth_mm, cutter_mm, shop) / (track * shop.feed_mm_min)


def contour_minutes(length_mm: float, depth_mm: float, cutter_mm: float, shop: Shop) -> float:
    """Minutes to go round a contour, as often as there are passes."""
    return length_mm * _passes(depth_mm, cutter_mm, shop) / shop.feed_mm_min


def _passes(depth_mm: float, cutter_mm: float, shop: Shop) -> int:
    return math.ceil(depth_mm / (shop.step_down_diameters * cutter_mm) - 1e-9)


def drill_minutes(depth_mm: float, shop: Shop) -> float:
    """Minutes to drill a hole with pecks."""
    return PECKS * depth_mm / shop.drill_feed_mm_min


def operation_minutes(op: Operation, document: Document) -> float:
    """Minutes of one operation."""
    shop = document.shop
    if op.kind in ("thread", "tap"):
        return shop.thread_minutes + (drill_minutes(op.depth, shop) if op.kind == "tap" else 0.0)
    if op.kind in ("bore", "hole", "countersink", "counterbore") and op.contour.round is not None:
        return drill_minutes(op.depth, shop)
    cutters = _cutters(document)
    length = math.fsum(contour.path.length for contour in op.contours())
    if op.kind == "groove":
        width = float(op.size[1:])
        cutter = max((c for c in cutters if c <= width), default=min(cutters))
        return contour_minutes(length, op.depth, cutter, shop)
    return contour_minutes(length, op.depth, max(cutters), shop)


def _cutters(document: Document) -> Sequence[float]:
    return [float(cutter) for cutter in document.shop.cutter_diameters_mm]


def _cutter(document: Document, area_mm2: float) -> float:
    """The largest cutter that a pocket's narrowest channel takes; half of it where nothing is known."""
    narrow = min((channel.width_mm for channel in document.channels), default=math.sqrt(area_mm2))
    return max((c for c in _cutters(document) if c <= narrow), default=min(_cutters(document)))


def stock_size_mm(document: Document, shapes: Shapes) -> tuple[float, float]:
    """Width and depth of the blank that a part is cut from, mm."""
    left, front, right, rear = shapes.plate_polygon.bounds
    more = 2 * document.shop.stock_margin_mm
    return float(right - left) + more, float(rear - front) + more


def stock_tolerance(document: Document, thickness_mm: float) -> str:
    """The bought sheet's tolerance in thickness with its standard: ``±1.4 mm (ISO 7823-1, cast)``."""
    allowed = sheet_tolerance_mm(thickness_mm, document.plate.sheet)
    norm = "ISO 7823-2, extruded" if document.plate.sheet == "extruded" else "ISO 7823-1, cast"
    return f"±{short(allowed)} mm ({norm})"


def _stock(document: Document, shapes: Shapes) -> list[Line]:
    width, depth = stock_size_mm(document, shapes)
    found = []
    for part in parts_of(document):
        found.append(
            Line(
                f"Stock for the {part.name.lower()}", f"{width:.0f} × {depth:.0f} × {part.thickness:g} mm",
                f"the plate and {document.shop.stock_margin_mm:g} mm on each side; {document.plate.material}, thickness"
                f" {stock_tolerance(document, part.thickness)} as bought: measure it, or have it faced",
            )
        )  # fmt: skip
    return found
