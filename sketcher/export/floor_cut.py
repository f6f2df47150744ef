"""What must be cut and drilled in the case floor, with drill sizes."""

from __future__ import annotations

import shapely

from sketcher.document import Document
from sketcher.export.dimension_lines import LAYER as DIMENSIONS
from sketcher.export.dimension_lines import of_floor, on_sheet
from sketcher.export.registry import sheet
from sketcher.export.sheet import Draft, Layer, Sheet
from sketcher.export.strokes import text_width
from sketcher.geometry import Shapes

MARK = Layer("MARK", "mark", "The floor's walls, the plate, sizes: for orientation", colour=8)
DRILL = Layer("FLOOR_DRILL", "inner", "Holes to be drilled in the floor; the size stands beside each", colour=4)
CUT = Layer("FLOOR_CUT", "inner", "Holes to be cut in the floor for what hangs below the plate", colour=5)
OPENING = Layer("FLOOR_OPENING", "inner", "Openings the floor has: cut those that are not there yet", colour=5)
#: Room around a fitting that hangs through the floor, mm. Common practice, no source.
ROUND_FITTING_MM = 2.0
TEXT_MM, CHECK_MM = 3.5, 100.0


@sheet(
    "floor-cut",
    title="Case floor",
    about="What is cut and drilled in the case floor, with drill sizes.",
    cautions=("eyes", "swarf"),
    paper="A4",
    packs=("builder",),
)
def floor_sheet(document: Document, shapes: Shapes, label: str) -> Sheet:
    """The sheet for the case floor, in the floor's own coordinates."""
    draft, notes = Draft(), list[str]()
    openings = shapely.union_all([area.polygon.buffer(0) for area in shapes.openings.values()])
    standoffs = shapely.union_all([area.polygon.buffer(0) for area in shapes.obstacles.values()])
    for id_, opening in shapes.openings.items():
        if opening.contour is not None:
            draft.contour(OPENING.name, opening.contour, id_)
            left, _, _, rear = opening.polygon.bounds
            draft.text(MARK.name, (left, rear + 2), id_, TEXT_MM, id_)
    for id_, port in shapes.ports.items():
        if port.item.face != "bottom" or openings.contains(port.fitting):
            continue
        size = port.item.fitting_diameter_mm + 2 * ROUND_FITTING_MM
        draft.round(CUT.name, port.at, size, id_)
        draft.cross_outside(MARK.name, port.at, size / 2 + 1, 3.0, id_)
        draft.text(MARK.name, (port.at[0] + size / 2 + 2, port.at[1] + 2), f"{id_} CUT {size:g}", TEXT_MM, id_)
    for id_, hole in shapes.holes.items():
        if hole.item.use != "mount":
            continue
        at = shapely.Point(hole.item.x_mm, hole.item.y_mm)
        if openings.contains(at) or standoffs.contains(at):
            where = "an opening" if openings.contains(at) else "something that stands on the floor"
            notes.append(f"{id_} is over {where} and is not drilled here")
            continue
        # The screw stands in the floor without much play: the play is in the plate.
        size = hole.screw.clearance_mm if hole.screw is not None else hole.diameter
        draft.round(DRILL.name, (at.x, at.y), size, id_)
        draft.cross(MARK.name, (at.x, at.y), size, id_)
        draft.text(MARK.name, (at.x + size + 1, at.y + 1), f"{id_} DRILL {size:g}", TEXT_MM, id_)
    draft.contour(MARK.name, shapes.floor, "floor")
    draft.contour(MARK.name, shapes.plate, "plate")
    _frame(draft, shapes, label)
    on_sheet(draft, of_floor(shapes))
    if not any(entity.layer not in (MARK.name, DIMENSIONS.name) for entity in draft.entities):
        notes.append("Nothing has to be cut or drilled in the floor")
    notes += [
        f"The floor is {document.floor.thickness_mm:g} mm {document.floor.material}; it is seen from above.",
        "Prick each cross, drill small first, then the size that stands beside it, and break the edges.",
        "Where the floor is to be threaded, drill the tap drill's size instead.",
    ]
    return draft.sheet(
        "floor-cut", f"{document.name or 'Plate'}: case floor", (MARK, DRILL, CUT, OPENING, DIMENSIONS), notes
    )


def _frame(draft: Draft, shapes: Shapes, label: str) -> None:
    mark = MARK.name
    left, front, right, rear = shapes.floor_polygon.bounds
    for x in (left, left + CHECK_MM):
        draft.line(mark, (x, front - 11.5), (x, front - 8.5))
    draft.line(mark, (left, front - 10), (left + CHECK_MM, front - 10))
    draft.text(mark, (left + CHECK_MM + 3, front - 12), f"{CHECK_MM:g} MM", TEXT_MM)
    middle = (left + right) / 2
    draft.line(mark, (middle - 10, rear + 3), (middle - 10, rear + 11))
    draft.line(mark, (middle - 12, rear + 8), (middle - 10, rear + 11), (middle - 8, rear + 8))
    draft.text(mark, (middle - 6, rear + 4), "REAR", TEXT_MM)
    if label:
        draft.text(mark, (right - text_width(label, TEXT_MM), front - 12), label, TEXT_MM)
