"""The gasket as it is cut from the sheet: its contour, its openings and the lid screws' holes, true lines and arcs."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.export.registry import sheet
from sketcher.export.sheet import Draft, ExportError, Layer, Sheet
from sketcher.geometry import Shapes
from sketcher.geometry.path import Point
from sketcher.reference import screws as screw_table
from sketcher.strength.bends import rings
from sketcher.strength.gasket_band import gasket_contours
from sketcher.strength.groove_path import fit_path
from sketcher.strength.seal import design_seal

OUTER = Layer("GASKET", "outer", "The gasket's outer contour: cut", colour=1)
INNER = Layer("GASKET_OPENING", "inner", "Its openings and screw holes: cut first", colour=5)
MARK = Layer("MARK", "mark", "The plate's outline, ids: for orientation", colour=8)
TEXT_MM = 3.5


@sheet(
    "gasket",
    title="Gasket",
    about="The cut gasket between body and lid: contour, openings and screw holes.",
    cautions=("eyes",),
    paper="A4",
    packs=("builder",),
)
def gasket_sheet(document: Document, shapes: Shapes, label: str) -> Sheet:
    """The gasket, seen from above in the plate's own coordinates. Raises ``ExportError`` for any other seal."""
    if document.seal.kind != "gasket":
        raise ExportError(f"the lid is sealed with a {document.seal.kind}; choose a gasket as its seal first")
    seal = design_seal(document, shapes)
    pieces = gasket_contours(document, shapes, seal)
    if not pieces:
        raise ExportError("there is no gasket yet: draw channels first")
    draft = Draft()
    name = document.seal.screw
    wide = screw_table.screw(name).clearance_mm if name in screw_table.names() else 4.5
    screws = {hole.id: (hole.x_mm, hole.y_mm) for hole in document.holes if hole.use == "lid"}
    for number, piece in enumerate(pieces, 1):
        for k, ring in enumerate(rings(piece)):
            layer = OUTER if k == 0 else INNER
            hole = _screw_hole(ring, screws, wide) if k else None
            if hole is not None:
                draft.round(layer.name, screws[hole], wide, hole)
            else:
                draft.path(layer.name, fit_path(ring), f"gasket {number}")
        left, _, _, rear = piece.bounds
        draft.text(MARK.name, (left, rear + 2), f"GASKET {number} {label}".strip(), TEXT_MM)
    draft.contour(MARK.name, shapes.plate, "plate")
    notes = (
        f"Seen from above. Sheet: {document.seal.gasket}, {document.seal.gasket_mm:g} mm thick.",
        "Cut the openings and screw holes first, the outer contour last; lay it dry on the joint face and look through "
        "every hole before the lid goes on.",
        "Do not cut gasket sheet with a laser unless its maker says so: rubber with chlorine or sulphur gives off "
        "poisonous fumes. A knife on a printed copy at true size serves.",
    )
    return draft.sheet("gasket", f"{document.name or 'Plate'}: gasket", (INNER, OUTER, MARK), notes)


def _screw_hole(ring: NDArray[np.float64], screws: dict[str, Point], wide: float) -> str | None:
    """The screw whose whole hole a ring is, or none: then a circle is drawn as one."""
    middle = ring.mean(axis=0)
    for id_, at in screws.items():
        if np.hypot(*(middle - at)) < 0.05 and abs(np.hypot(*(ring - at).T) - wide / 2).max() < 0.05:
            return id_
    return None
