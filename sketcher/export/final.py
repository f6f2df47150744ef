"""The final sheet, for milling: one layer for each operation and depth, named so that a machinist reads it.

The body stands where it stands on the floor; the lid is drawn beside it to the right, edge ports below it, each seen
square to its edge. Everything is seen from above, whichever side it is milled from: the layer's name says the side.
"""

from __future__ import annotations

import math

from sketcher.document import Document
from sketcher.export.dimension_lines import LAYER as DIMENSIONS
from sketcher.export.dimension_lines import of_plate, on_sheet
from sketcher.export.layers import Layers
from sketcher.export.operations import Operation, Part, operations, parts_of, short
from sketcher.export.registry import sheet
from sketcher.export.setups import DATUM
from sketcher.export.sheet import Draft, Layer, Sheet
from sketcher.geometry import Shapes
from sketcher.geometry.outline_contours import Contour
from sketcher.geometry.path import Path, Point, Segment
from sketcher.geometry.shapes import PortShape
from sketcher.strength.seal import SealDesign, design_seal

#: Between the body and what is drawn beside it, mm.
APART_MM = 40.0
TEXT_MM = 3.0
#: Width of an edge port's side view, mm.
VIEW_MM = 70.0
NOTES = Layer("NOTES", "mark", "Words and views for the reader: not cut", colour=8)
CENTRELINE = Layer(
    "GROOVE_CENTRELINE", "mark", "Centreline of the seal groove, with a cross at the cord's joint", colour=8
)
#: Colours by DXF number and words for each kind of operation.
COLOURS = {
    "channel": 4, "groove": 2, "pocket": 6, "bore": 4, "thread": 3, "tap": 3, "hole": 5, "cutout": 5,
    "counterbore": 6, "countersink": 6,
}  # fmt: skip
WORDS = {
    "channel": "Channel", "groove": "Seal groove", "pocket": "Dry pocket", "bore": "Port bore", "thread": "Port thread",
    "tap": "Tapped hole", "hole": "Hole", "cutout": "Cutout", "counterbore": "Counterbore",
    "countersink": "Countersink",
}  # fmt: skip


_WITHOUT_GROOVE = {
    "gasket": "The lid lies on a cut gasket: there is no groove.",
    "bonded": "The lid is bonded on: there is no groove.",
}


def _layer(layers: Layers, operation: Operation) -> str:
    """The layer of an operation: part, kind, size, side and depth."""
    part, kind, size = operation.part, operation.kind, operation.size
    about = f"{WORDS[kind]}{' ' + size.replace('_', ' ') if size else ''}, {part.name.lower()}"
    if operation.side == "through":
        return layers.name("inner", f"{about}, through {short(part.thickness)} mm", part.name, kind, size, "THROUGH",
                     short(part.thickness), colour=COLOURS[kind])  # fmt: skip
    return layers.name("pocket", f"{about}, {short(operation.depth)} mm deep from {operation.side}", part.name, kind,
                     size, "FROM", operation.side, "DEPTH", short(operation.depth), depth=operation.depth,
                     colour=COLOURS[kind])  # fmt: skip


@sheet(
    "final",
    title="All operations",
    about="Every operation on body and lid on one sheet, a layer for each, seen from above: to read and to compare.",
    cautions=("eyes", "solvent", "alcohol", "tightening", "pressure", "leak", "glycol", "mains", "limits"),
    solid="assembly",
)
def final_sheet(document: Document, shapes: Shapes, label: str) -> Sheet:
    """The sheet for milling."""
    draft, layers, notes = Draft(), Layers(), list[str]()
    seal = design_seal(document, shapes)
    body, lid = parts_of(document)
    left, front, right, rear = shapes.plate_polygon.bounds
    shifts = {"BODY": 0.0, "LID": float(right - left) + APART_MM}
    for operation in operations(document, shapes, seal):
        for contour in operation.contours():
            draft.contour(_layer(layers, operation), shifted(contour, shifts[operation.part.name]), operation.item)
    for part in (body, lid):
        words = f"Outline of the {part.name.lower()}, {short(part.thickness)} mm"
        outline = layers.name("outer", words, part.name, "OUTLINE", "THROUGH", short(part.thickness), colour=1)
        draft.contour(outline, shifted(shapes.plate, shifts[part.name]), "plate")
        draft.text(NOTES.name, (left + shifts[part.name], rear + 6), f"{part.name}, SEEN FROM ABOVE", TEXT_MM)
    _centrelines(draft, seal, notes)
    _names(draft, shapes)
    _edge_views(draft, layers, document, shapes, body)
    _datum(draft, (float(left), float(front)))
    on_sheet(draft, of_plate(shapes))
    if label:
        draft.text(NOTES.name, (left, front - 18), label, TEXT_MM)
    notes += _notes(document, shifts["LID"])
    return draft.sheet("final", document.name or "Plate", layers.ranked(NOTES, CENTRELINE, DIMENSIONS), notes)


def shifted(outline: Contour, shift: float) -> Contour:
    """A contour moved to the right, mm."""
    if shift == 0.0:
        return outline

    def move(point: Point) -> Point:
        return (point[0] + shift, point[1])

    segments = tuple(Segment(move(s.start), move(s.end), s.bulge) for s in outline.path.segments)
    return Contour(Path(segments, outline.path.closed), outline.round and (move(outline.round[0]), outline.round[1]))


def _notes(document: Document, shift: float) -> list[str]:
    plate = document.plate
    return [
        f"Body {plate.body_thickness_mm:g} mm, lid {plate.lid_thickness_mm:g} mm, {plate.material};"
        f" the lid closes the {plate.lid_face}. Units are millimetres.",
        "All is seen from above. To mill, take the file of the set-up: what is milled from below is mirrored there.",
        f"Lid shown offset +{shift:.3f} mm in X. The cross-hair is the datum of the hole table.",
        f"Tolerance ±{document.shop.tolerance_mm:g} mm. A layer's name gives part, operation, size, side and depth.",
    ]


def _centrelines(draft: Draft, seal: SealDesign, notes: list[str]) -> None:
    if seal.problem:
        notes.append(f"There is no seal groove: {seal.problem}.")
        return
    if seal.kind != "cord" or seal.gland is None:
        notes.append(_WITHOUT_GROOVE[seal.kind])
        return
    for loop in seal.loops:
        draft.path(CENTRELINE.name, loop.path, "+".join(loop.items))
        draft.cross(CENTRELINE.name, loop.joint.at, 2.0, "+".join(loop.items))
    notes.append(
        f"Cord {seal.gland.cord_mm:g} mm, {seal.cord_length_mm:.0f} mm in total; each joint is at the groove's cross."
    )


def _names(draft: Draft, shapes: Shapes) -> None:
    """Ids beside ports and screw holes; lid screws go without, there are many and they are alike."""
    for id_, port in shapes.ports.items():
        place = (port.root[0] + port.thread_diameter / 2 + 2, port.root[1] + 2)
        draft.text(NOTES.name, place, f"{id_} {port.item.thread or 'MARKER'}", TEXT_MM, id_)
    for id_, hole in shapes.holes.items():
        if hole.item.use != "lid":
            place = (hole.item.x_mm + hole.diameter / 2 + 2, hole.item.y_mm + 2)
            draft.text(NOTES.name, place, f"{id_} {hole.item.screw}", TEXT_MM, id_)


def _datum(draft: Draft, at: Point) -> None:
    draft.cross(NOTES.name, at, 6.0, "datum")
    draft.text(NOTES.name, (at[0] - 8, at[1] - 8), DATUM, TEXT_MM, "datum")


def _edge_views(draft: Draft, layers: Layers, document: Document, shapes: Shapes, body: Part) -> None:
    """Each edge port as one sees it when looking at the edge: its height, its thread and its bore."""
    left, front, _, _ = shapes.plate_polygon.bounds
    foot, joint = front - APART_MM - shapes.thickness, body.low if body.low > 0 else body.high
    for n, port in enumerate(port for port in shapes.ports.values() if port.heading is not None):
        item, view = port.item, NOTES.name
        start = left + (VIEW_MM + 20) * n
        end, middle = start + VIEW_MM, start + VIEW_MM / 2
        top = foot + shapes.thickness
        draft.line(view, (start, foot), (end, foot), (end, top), (start, top), (start, foot), item=item.id)
        draft.line(view, (start, foot + joint), (end, foot + joint), item=item.id)
        for kind, size, depth, diameter in edge_bores(port):
            about = f"{WORDS[kind]} {size} in an edge, {short(depth)} mm deep, seen square to it"
            words = ("EDGE", kind, size, "DEPTH", short(depth))
            layer = layers.name("pocket", about, *words, depth=depth, colour=COLOURS[kind])
            draft.round(layer, (middle, foot + port.rise), diameter, item.id)
        assert port.heading is not None
        heading = math.degrees(math.atan2(port.heading[1], port.heading[0]))
        lines = (
            f"{item.id} AT {short(port.at[0])}, {short(port.at[1])}",
            f"AXIS {short(port.rise)} ABOVE THE UNDERSIDE, HEADING {short(heading)} DEG",
        )
        for row, line in enumerate(lines):
            draft.text(view, (start, foot - 6 - 5 * row), line, TEXT_MM * 0.8, item.id)
        draft.line(view, port.at, port.root, item=item.id)


def edge_bores(port: PortShape) -> list[tuple[str, str, float, float]]:
    """Kind, size, depth from the edge and diameter of an edge port's bore and thread, mm."""
    found = [("bore", f"D{short(port.bore_diameter)}", math.dist(port.at, port.root), port.bore_diameter)]
    if port.thread is not None:
        found.append(("thread", port.item.thread or "", port.item.thread_depth_mm, port.thread_diameter))
    return found
