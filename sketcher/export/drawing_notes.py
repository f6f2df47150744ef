"""The notes of a shop drawing, each with the standard it follows and its year where another year says otherwise."""

from __future__ import annotations

from sketcher.document import Document
from sketcher.export.drawing_sections import FLAT_MM
from sketcher.export.estimate import stock_size_mm, stock_tolerance
from sketcher.export.final import final_sheet
from sketcher.geometry import Shapes
from sketcher.strength import notes as hold_notes
from sketcher.strength.annealing import annealing_text


def sentences(document: Document, shapes: Shapes, revision: str, reason: str) -> list[str]:
    """Every note, in the order of the drawing."""
    found = [*final_sheet(document, shapes, revision).notes, *hold_notes.sentences(document, shapes)]
    found += standard_notes(document, shapes)
    found += [
        "Ports: ISO 228-1 parallel threads, square to the face; the fitting seals on the face with an O-ring:"
        " flat and Ra 1.6 µm or better around the thread; break no edge into the sealing face.",
        "Seal groove and the lid's face over it: Ra 1.6 µm or better, no marks across the groove.",
        "Inside corners are as the cutter leaves them; outer edges broken 0.3 mm. Remove all swarf from the channels.",
        "Where the drawing and the DXF differ, ask.",
    ]
    over = [pocket.id for pocket in document.pockets if pocket.cable is not None and pocket.cable.end is None]
    if over:
        found.append(f"Open at the plate's edge, milled out over it: {', '.join(over)}.")
    if reason:
        found.append(f"Reason of this revision: {reason}")
    if document.drawing.note:
        # The plate's own note is its builder's: only what is meant for the shop is printed.
        found.append(document.drawing.note)
    return found


def standard_notes(document: Document, shapes: Shapes) -> list[str]:
    """Standards, tolerances, stock, finish and heat treatment."""
    plate, made = document.plate, document.drawing
    sheets = dict.fromkeys((plate.body_thickness_mm, plate.lid_thickness_mm))
    width, depth = stock_size_mm(document, shapes)
    stock = "; ".join(f"{t:g} mm thick {stock_tolerance(document, t)}" for t in sheets)
    paper = "A3 (ISO 5457)" if made.paper == "A3" else "B (ASME Y14.1)"
    found = [
        f"Do not scale. Dimensions in mm (ISO 129-1), lines ISO 128-2, sections ISO 128-3, threads ISO 6410-1,"
        f" {made.projection} projection ISO 5456-2, sheet {paper}, scales ISO 5455.",
        f"Quantity: {made.quantity} body, {made.quantity} lid. Colour: {made.colour or '—'}."
        f" Finish: {made.finish or '—'}.",
        f"General tolerances ISO 2768-1:1989 m, holes ±{document.shop.tolerance_mm:g} from the datum. Flatness of the"
        f" joint faces {FLAT_MM:g} each, one by one: ISO 2768-2:1989 H would allow 0.2, most of a cord's squeeze.",
        f"Stock: {plate.material}, {width:.0f} × {depth:.0f} mm, {stock} as bought; the drawing's thickness is the"
        " finished one.",
        "Depths are of the full diameter, or to a flat bottom; a drill's point goes beyond them only where the hole"
        " table gives it. Metric threads 6H, lid screw holes chamfered 90° to the thread's diameter + 0.5."
        " Countersinks 90°.",
        "Channels: straight runs and bends by the table of their courses, end radius half the width."
        " No flame polishing.",
    ]  # fmt: skip
    if "acrylic" in plate.material.lower() and not plate.annealed:
        # Asked for, it is among the notes already.
        thick = max(plate.body_thickness_mm, plate.lid_thickness_mm)
        found.append(f"Annealing only if ordered: {annealing_text(thick)}")
    found.append("Ovens and hot parts burn: gloves, and no food in an oven that anneals plastics.")
    return found
