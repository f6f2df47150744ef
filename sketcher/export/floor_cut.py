"""What must be cut and drilled in the case floor, with drill sizes."""

from __future__ import annotations

from sketcher.document import Document
from sketcher.export.sheet import Draft, Layer, Sheet
from sketcher.export.strokes import text_width
from sketcher.geometry import Shapes

CUT = Layer("FLOOR_CUT", "inner", "Openings to be cut in the floor", colour=5)
DRILL = Layer("FLOOR_DRILL", "inner", "Holes to be drilled in the floor; the size stands beside each", colour=4)
MARK = Layer("MARK", "mark", "The floor's walls and the plate: for orientation", colour=8)
#: Room around a fitting that hangs through the floor, mm.
ROUND_FITTING_MM = 2.0
TEXT_MM = 3.5


def floor_sheet(document: Document, shapes: Shapes, label: str) -> Sheet:
    """The sheet for the case floor, in the floor's own coordinates."""
    draft = Draft()
    for id_, opening in shapes.openings.items():
        if opening.contour is not None:
            draft.contour(CUT.name, opening.contour, id_)
            left, _, _, rear = opening.polygon.bounds
            draft.text(MARK.name, (left, rear + 2), id_, TEXT_MM, id_)
    for id_, port in shapes.ports.items():
        if port.item.face == "bottom":
            size = port.item.fitting_diameter_mm + 2 * ROUND_FITTING_MM
            draft.round(CUT.name, port.at, size, id_)
            draft.text(MARK.name, (port.at[0] + size / 2 + 1, port.at[1]), f"{id_} {size:g}", TEXT_MM, id_)
    for id_, hole in shapes.holes.items():
        if hole.item.use == "mount":
            # The screw stands in the floor without play: the play is in the plate.
            size = hole.screw.clearance_mm if hole.screw is not None else hole.diameter
            place = (hole.item.x_mm, hole.item.y_mm)
            draft.round(DRILL.name, place, size, id_)
            draft.cross(MARK.name, place, size, id_)
            draft.text(MARK.name, (place[0] + size + 1, place[1] + 1), f"{id_} DRILL {size:g}", TEXT_MM, id_)
    draft.contour(MARK.name, shapes.floor, "floor")
    draft.contour(MARK.name, shapes.plate, "plate")
    left, front, right, rear = shapes.floor_polygon.bounds
    draft.line(MARK.name, (left, front - 10), (left + 100, front - 10))
    draft.text(MARK.name, (left + 103, front - 12), "100 MM", TEXT_MM)
    draft.text(MARK.name, ((left + right - text_width("REAR", TEXT_MM)) / 2, rear + 4), "REAR", TEXT_MM)
    if label:
        draft.text(MARK.name, (left, front - 18), label, TEXT_MM)
    notes = (
        f"The floor is {document.floor.thickness_mm:g} mm {document.floor.material}. Seen from above.",
        "Take every part out of the case before drilling: swarf on a board is a short circuit. Wear eye protection.",
        "A mounting hole's size is the screw's clearance; drill the tap size instead where the floor is threaded.",
    )
    return draft.sheet("floor-cut", f"{document.name or 'Plate'}: case floor", (CUT, DRILL, MARK), notes)
