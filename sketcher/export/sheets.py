"""Which sheet, in which kind of file."""

from __future__ import annotations

from sketcher.document import Document
from sketcher.export.dxf import dxf
from sketcher.export.final import final_sheet
from sketcher.export.floor_cut import floor_sheet
from sketcher.export.paper import paper_sheet
from sketcher.export.pdf import pdf
from sketcher.export.sheet import SHEETS, ExportError, Sheet
from sketcher.export.svg import svg
from sketcher.export.test_piece import trial_sheet
from sketcher.geometry import Shapes

_MAKERS = {"test-piece": trial_sheet, "final": final_sheet, "floor-cut": floor_sheet, "paper": paper_sheet}
KINDS = ("dxf", "svg", "pdf")


def make_sheet(document: Document, shapes: Shapes, sheet: str, label: str = "") -> Sheet:
    """A sheet of a document.

    Raises:
        ExportError: there is no such sheet, or it cannot be made of this document.
    """
    if not shapes.plate_polygon.is_valid:
        raise ExportError("the plate's outline crosses itself; move its corners so that it goes round once")
    if sheet not in _MAKERS:
        raise ExportError(f"there is no sheet {sheet!r}; there are {', '.join(SHEETS)}")
    return _MAKERS[sheet](document, shapes, label)


def export_sheet(
    document: Document, shapes: Shapes, sheet: str, suffix: str, *, label: str = "", paper: str = "A4"
) -> bytes:
    """A sheet as the bytes of a file of kind ``suffix``: dxf, svg or pdf.

    Raises:
        ExportError: no such sheet, kind of file or paper, or a sheet that cannot be made of this document.
    """
    if suffix not in KINDS:
        raise ExportError(f"no file of kind {suffix!r} can be written; end the name in .dxf, .svg or .pdf")
    made = make_sheet(document, shapes, sheet, label)
    match suffix:
        case "dxf":
            return dxf(made)
        case "svg":
            return svg(made)
        case _:
            return pdf(made, paper)
