"""Time and stock, estimated: how long the mill and the laser run, which sheets are cut up, what the parts weigh.

An estimate for a first talk with a shop, with its formula beside each figure; clamping, setting and tool changes take
longer than many a cut and are counted as plain allowances.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sketcher.document import Document
from sketcher.export.operations import Operation, parts_of
from sketcher.export.recesses import recessed, volume_mm3
from sketcher.export.setups import edge_set_ups, set_ups
from sketcher.geometry import Shapes
from sketcher.strength.seal import SealDesign

#: A single-flute cutter in acrylic: 18,000 rpm and 0.06 mm a tooth. Common practice, no source.
FEED_MM_MIN = 1_080.0
#: Of the cutter's diameter: depth of a pass, and width of a track in a pocket. Common practice, no source.
STEP_DOWN, STEP_OVER = 0.5, 0.45
#: Drilling: feed along the axis; a peck's way back and forth doubles it. Common practice, no source.
DRILL_MM_MIN, PECKS = 150.0, 2.0
#: Tapping or thread milling one hole, clamping a part, changing a tool: minutes. Common practice, no source.
THREAD_MIN, CLAMP_MIN, TOOL_MIN = 0.7, 15.0, 1.5
#: Laser speed through 3 mm of acrylic at 60 W, mm/s (makers' cutting tables); it falls in proportion to thickness.
LASER_MM_S, LASER_AT_MM = 12.0, 3.0
#: Stock left around a part for clamps and the cutter, mm on each side. Common practice, no source.
MARGIN_MM = 15.0
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
    total = 0.0
    setups = set_ups(document, shapes, seal)
    for setup in setups.values():
        minutes = CLAMP_MIN
        tools = {op.size for op in setup.operations} | ({"pocket"} if setup.pockets else set())
        minutes += TOOL_MIN * len(tools)
        minutes += sum(pocket_minutes(p.region.area, p.depth, _cutter(document, p.region.area)) for p in setup.pockets)
        minutes += sum(operation_minutes(op, document) for op in setup.operations)
        if setup.cuts_through:
            minutes += contour_minutes(shapes.plate.path.length, setup.part.thickness, max(_cutters(document)))
        total += minutes
        found.append(Line(f"{setup.title}, about", f"{minutes:.0f} min", "clamping, tools, pockets, contours, holes"))
    edges = edge_set_ups(document, shapes)
    for edge in edges:
        minutes = CLAMP_MIN + TOOL_MIN * 2
        minutes += sum(drill_minutes(math.dist(p.at, p.root)) + THREAD_MIN for p in edge.ports)
        total += minutes
        found.append(
            Line(f"{edge.name.replace('-', ' ').capitalize()}, about", f"{minutes:.0f} min", "drill and thread")
        )
    found.append(
        Line(
            "Milling together, about", f"{total / 60:.1f} h",
            f"pockets: area × passes / ({STEP_OVER:g} D × {FEED_MM_MIN:g} mm/min); contours: length × passes /"
            f" {FEED_MM_MIN:g} mm/min; passes: depth / {STEP_DOWN:g} D;"
            f" drilling {PECKS:g} × depth / {DRILL_MM_MIN:g} mm/min;"
            f" {THREAD_MIN:g} min a thread, {CLAMP_MIN:g} min a set-up, {TOOL_MIN:g} min a tool",
        )
    )  # fmt: skip
    thick = document.test_piece.thickness_mm
    speed = LASER_MM_S * LASER_AT_MM / thick
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


def pocket_minutes(area_mm2: float, depth_mm: float, cutter_mm: float) -> float:
    """Minutes to clear a pocket: the area in tracks, as often as there are passes."""
    passes = math.ceil(depth_mm / (STEP_DOWN * cutter_mm) - 1e-9)
    return area_mm2 * passes / (STEP_OVER * cutter_mm * FEED_MM_MIN)


def contour_minutes(length_mm: float, depth_mm: float, cutter_mm: float) -> float:
    """Minutes to go round a contour, as often as there are passes."""
    return length_mm * math.ceil(depth_mm / (STEP_DOWN * cutter_mm) - 1e-9) / FEED_MM_MIN


def drill_minutes(depth_mm: float) -> float:
    """Minutes to drill a hole with pecks."""
    return PECKS * depth_mm / DRILL_MM_MIN


def operation_minutes(op: Operation, document: Document) -> float:
    """Minutes of one operation."""
    if op.kind in ("thread", "tap"):
        return THREAD_MIN + (drill_minutes(op.depth) if op.kind == "tap" else 0.0)
    if op.kind in ("bore", "hole", "countersink", "counterbore") and op.contour.round is not None:
        return drill_minutes(op.depth)
    cutters = _cutters(document)
    length = math.fsum(contour.path.length for contour in op.contours())
    if op.kind == "groove":
        width = float(op.size[1:])
        cutter = max((c for c in cutters if c <= width), default=min(cutters))
        return contour_minutes(length, op.depth, cutter)
    return contour_minutes(length, op.depth, max(cutters))


def _cutters(document: Document) -> Sequence[float]:
    return [float(cutter) for cutter in document.shop.cutter_diameters_mm]


def _cutter(document: Document, area_mm2: float) -> float:
    """The largest cutter that a pocket's narrowest channel takes; half of it where nothing is known."""
    narrow = min((channel.width_mm for channel in document.channels), default=math.sqrt(area_mm2))
    return max((c for c in _cutters(document) if c <= narrow), default=min(_cutters(document)))


def _stock(document: Document, shapes: Shapes) -> list[Line]:
    left, front, right, rear = shapes.plate_polygon.bounds
    size = f"{right - left + 2 * MARGIN_MM:.0f} × {rear - front + 2 * MARGIN_MM:.0f}"
    found = []
    for part in parts_of(document):
        # ISO 7823-1: cast sheet is ±(0.4 + 0.1 t) mm thick.
        allowed = 0.4 + 0.1 * part.thickness
        found.append(
            Line(
                f"Stock for the {part.name.lower()}", f"{size} × {part.thickness:g} mm",
                f"the plate and {MARGIN_MM:g} mm on each side; {document.plate.material}, thickness"
                f" ±{allowed:.1f} mm as bought (ISO 7823-1, cast): measure it, or have it faced",
            )
        )  # fmt: skip
    return found
