"""The final sheet, for milling: one layer for each operation and depth, named so that a machinist reads it.

The body stands where it stands on the floor, seen from above, whichever side an operation is milled from; the layer's
name says the side. The lid is drawn beside it to the right, edge ports below it, each seen square to its edge.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass

from shapely import Polygon

from sketcher.document import Document
from sketcher.export.sheet import Draft, ExportError, Layer, Role, Sheet
from sketcher.geometry import Shapes
from sketcher.geometry.offset import OffsetError, offset, sides
from sketcher.geometry.outlines import Contour, round_contour, slot_contour
from sketcher.geometry.path import Path, Point, from_vertices
from sketcher.geometry.shapes import HoleShape, PortShape
from sketcher.strength.seal import SealDesign, design_seal

#: Between the body and what is drawn beside it, mm.
APART_MM = 40.0
TEXT_MM = 3.0


@dataclass
class _Layers:
    """The layers in the making, by name, in the order of first use."""

    found: dict[str, Layer]

    def name(self, role: Role, about: str, *words: str, depth: float | None = None, colour: int = 7) -> str:
        """The name of the layer for an operation, made when it is new."""
        parts = [*words, *([f"DEEP_{_number(depth)}"] if depth is not None else [])]
        name = re.sub(r"[^A-Z0-9_.-]", "-", "_".join(parts).upper())
        self.found.setdefault(name, Layer(name, role, about, depth, colour))
        return name


def _number(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def final_sheet(document: Document, shapes: Shapes, label: str) -> Sheet:
    """The sheet for milling."""
    draft, layers, notes = Draft(), _Layers({}), list[str]()
    seal = design_seal(document, shapes)
    for id_, channel in shapes.channels.items():
        layer = layers.name("pocket", "Channel, milled from the lid's side", "BODY", "LID-SIDE", "CHANNEL",
                            depth=channel.item.depth_mm, colour=4)  # fmt: skip
        draft.path(layer, _swept(channel.path, channel.item.width_mm, channel.polygon), id_)
    _grooves(draft, layers, seal, notes)
    for id_, pocket in shapes.pockets.items():
        side = "TOP" if pocket.high >= shapes.thickness - 1e-9 else "BOTTOM"
        layer = layers.name("pocket", f"Dry pocket from the {side.lower()}", _part(document, side), side, "POCKET",
                            depth=pocket.high - pocket.low, colour=6)  # fmt: skip
        draft.contour(layer, _contour(pocket.contour, pocket.polygon), id_)
    for id_, port in shapes.ports.items():
        if port.heading is None:
            _port(draft, layers, document, shapes, port)
        draft.text(_notes(layers), (port.root[0] + 8, port.root[1] + 8), _port_words(port), TEXT_MM, id_)
    for id_, hole in shapes.holes.items():
        _hole(draft, layers, document, hole)
        if hole.item.use != "lid":
            place = (hole.item.x_mm + 5, hole.item.y_mm + 4)
            draft.text(_notes(layers), place, f"{id_} {hole.item.screw}", TEXT_MM, id_)
    for id_, area in shapes.cutouts.items():
        layer = layers.name("inner", "Cutout through the body", "BODY", "THROUGH", "CUTOUT", colour=5)
        draft.contour(layer, _contour(area.contour, area.polygon), id_)
    outline = layers.name("outer", "The body's outline", "BODY", "OUTLINE", colour=1)
    draft.contour(outline, shapes.plate, "plate")
    _lid(draft, layers, document, shapes)
    _edge_views(draft, layers, document, shapes)
    plate = document.plate
    notes += [
        f"Body {plate.body_thickness_mm:g} mm, lid {plate.lid_thickness_mm:g} mm, {plate.material}; "
        f"the lid closes the {plate.lid_face}. Units are millimetres.",
        "All views are seen from above, whichever side is milled: mirror what is milled from below.",
        f"Tolerance ±{document.shop.tolerance_mm:g} mm. Polish or machine the sealing faces; no sharp inside corners.",
    ]
    if label:
        left, front, _, _ = shapes.plate_polygon.bounds
        draft.text(_notes(layers), (left, front - 8), label, TEXT_MM)
    order = {"pocket": 0, "inner": 1, "outer": 2, "mark": 3}
    ranked = sorted(layers.found.values(), key=lambda layer: order[layer.role])
    return draft.sheet("final", document.name or "Plate", ranked, notes)


def _notes(layers: _Layers) -> str:
    return layers.name("mark", "Words for the reader: not cut", "NOTES", colour=8)


def _part(document: Document, side: str) -> str:
    return "LID" if side.lower() == document.plate.lid_face else "BODY"


def _contour(outline: Contour | None, polygon: Polygon) -> Contour:
    return outline if outline is not None else Contour(_ring(polygon))


def _ring(polygon: Polygon) -> Path:
    return from_vertices([(x, y, 0.0) for x, y in polygon.exterior.coords[:-1]], closed=True)


def _swept(path: Path, width: float, polygon: Polygon) -> Path:
    """The channel's contour in lines and arcs; its polygon where the sides fold over each other."""
    try:
        return sides(path, width)
    except OffsetError:
        return _ring(polygon)


def _grooves(draft: Draft, layers: _Layers, seal: SealDesign, notes: list[str]) -> None:
    if seal.kind != "cord" or seal.gland is None or not seal.loops:
        return
    width, depth = seal.gland.width_mm, seal.gland.depth_mm
    layer = layers.name("pocket", f"Seal groove {_number(width)} mm wide", "BODY", "LID-SIDE", "GROOVE",
                        f"W{_number(width)}", depth=depth, colour=2)  # fmt: skip
    centre = layers.name("mark", "Middle of the seal groove", "BODY", "LID-SIDE", "GROOVE-MIDDLE", colour=8)
    for loop in seal.loops:
        items = " ".join(loop.items)
        draft.path(centre, loop.path, items)
        try:
            for side in (width / 2, -width / 2):
                draft.path(layer, offset(loop.path, side), items)
        except OffsetError:
            raise ExportError(
                f"the groove around {items} has a corner too tight for its width; round the channels there"
            ) from None
        draft.cross(centre, loop.joint.at, 2.0, items)
    notes.append(
        f"Cord {seal.gland.cord_mm:g} mm, {seal.cord_length_mm:.0f} mm in all; each joint is at the groove's cross."
    )


def _port(draft: Draft, layers: _Layers, document: Document, shapes: Shapes, port: PortShape) -> None:
    item = port.item
    side = item.face.upper()
    part = _part(document, side)
    reach = shapes.thickness - port.rise if item.face == "top" else port.rise
    bore = layers.name("pocket", f"Port bore {_number(port.bore_diameter)} mm from the {item.face}", part, side, "BORE",
                       f"D{_number(port.bore_diameter)}", depth=reach, colour=4)  # fmt: skip
    draft.round(bore, port.at, port.bore_diameter, item.id)
    if port.thread is not None:
        thread = layers.name("pocket", f"Thread {item.thread} from the {item.face}", part, side, "THREAD",
                             (item.thread or "").replace("/", "-"), depth=item.thread_depth_mm, colour=3)  # fmt: skip
        draft.round(thread, port.at, port.thread_diameter, item.id)


def _port_words(port: PortShape) -> str:
    return f"{port.item.id} {port.item.thread or 'MARKER'}"


def _hole(draft: Draft, layers: _Layers, document: Document, hole: HoleShape) -> None:
    item = hole.item
    side = item.face.upper()
    size = f"D{_number(hole.diameter)}"
    if item.kind == "tapped":
        depth = None
        if item.depth_mm is not None:
            lid = document.plate.lid_thickness_mm if item.use == "lid" else 0.0
            depth = max(item.depth_mm - lid, 0.1)
        part = "BODY" if item.use == "lid" else _part(document, side)
        where = "LID-SIDE" if item.use == "lid" else side
        layer = layers.name("pocket", f"Tapped hole {item.screw}", part, where, "TAP", item.screw, size, depth=depth,
                            colour=3)  # fmt: skip
    else:
        layer = layers.name("inner", f"Through hole for {item.screw}", "BODY", "THROUGH", "HOLE", size, colour=5)
    draft.contour(layer, hole.contour, item.id)
    if hole.head is not None:
        kind = "COUNTERSINK" if item.kind == "countersunk" else "COUNTERBORE"
        head = layers.name("pocket", f"{kind.title()} for {item.screw}", _part(document, side), side, kind,
                           depth=hole.head.high - hole.head.low, colour=6)  # fmt: skip
        draft.round(head, (item.x_mm, item.y_mm), 2 * _radius(hole.head.polygon), item.id)


def _radius(polygon: Polygon) -> float:
    left, _, right, _ = polygon.bounds
    return float(right - left) / 2


def _lid(draft: Draft, layers: _Layers, document: Document, shapes: Shapes) -> None:
    """The lid beside the body: outline, screws' clearance, and what goes through both."""
    left, _, right, rear = shapes.plate_polygon.bounds
    shift = right - left + APART_MM
    hole_layer = layers.name("inner", "Through hole in the lid", "LID", "THROUGH", "HOLE", colour=5)
    for id_, hole in shapes.holes.items():
        item = hole.item
        diameter = hole.screw.clearance_mm if item.use == "lid" and hole.screw is not None else hole.diameter
        if item.use != "lid" and item.kind == "tapped" and item.face != document.plate.lid_face and item.depth_mm:
            continue  # a blind hole from the other side does not reach the lid
        centre = (item.x_mm + shift, item.y_mm)
        length = item.slot_length_mm or 0.0
        if length > diameter:
            draft.contour(hole_layer, slot_contour(centre, length, diameter, math.radians(item.turn_deg)), id_)
        else:
            draft.contour(hole_layer, round_contour(centre, diameter / 2), id_)
    cutout = layers.name("inner", "Cutout through the lid", "LID", "THROUGH", "CUTOUT", colour=5)
    for id_, area in shapes.cutouts.items():
        outline = _contour(area.contour, area.polygon)
        draft.contour(cutout, _shifted(outline, shift), id_)
    outer = layers.name("outer", "The lid's outline", "LID", "OUTLINE", colour=1)
    draft.contour(outer, _shifted(shapes.plate, shift), "lid")
    draft.text(_notes(layers), (left + shift, rear + 4), "LID, SEEN FROM ABOVE", TEXT_MM)


def _shifted(outline: Contour, shift: float) -> Contour:
    path = from_vertices([(x + shift, y, bulge) for x, y, bulge in outline.path.vertices()], closed=True)
    if outline.round is None:
        return Contour(path)
    (x, y), radius = outline.round
    return Contour(path, ((x + shift, y), radius))


def _edge_views(draft: Draft, layers: _Layers, document: Document, shapes: Shapes) -> None:
    """Each edge port as one sees it when looking at the edge: its height, its thread and its bore."""
    left, front, _, _ = shapes.plate_polygon.bounds
    foot = front - APART_MM - shapes.thickness
    body = document.plate.lid_thickness_mm if document.plate.lid_face == "bottom" else document.plate.body_thickness_mm
    for n, port in enumerate(port for port in shapes.ports.values() if port.heading is not None):
        middle = left + 40 + 90 * n
        view = _notes(layers)
        corners: list[Point] = [
            (middle - 35, foot), (middle + 35, foot), (middle + 35, foot + shapes.thickness),
            (middle - 35, foot + shapes.thickness),
        ]  # fmt: skip
        draft.line(view, *corners, corners[0])
        draft.line(view, (middle - 35, foot + body), (middle + 35, foot + body))
        at = (middle, foot + port.rise)
        depth = port.item.bore_depth_mm or abs(port.root[0] - port.at[0]) + abs(port.root[1] - port.at[1])
        bore = layers.name("pocket", "Edge port's bore, seen square to its edge", "EDGE", "BORE",
                           f"D{_number(port.bore_diameter)}", depth=depth, colour=4)  # fmt: skip
        draft.round(bore, at, port.bore_diameter, port.item.id)
        if port.thread is not None:
            thread = layers.name("pocket", f"Edge port's thread {port.item.thread}", "EDGE", "THREAD",
                                 (port.item.thread or "").replace("/", "-"), depth=port.item.thread_depth_mm,
                                 colour=3)  # fmt: skip
            draft.round(thread, at, port.thread_diameter, port.item.id)
        words = f"{port.item.id} AT {_number(port.at[0])}, {_number(port.at[1])}"
        draft.text(view, (middle - 35, foot - 6), words, TEXT_MM, port.item.id)
        draft.line(view, port.at, port.root, item=port.item.id)
