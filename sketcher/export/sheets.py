"""Which sheet, in which kind of file."""

from __future__ import annotations

from sketcher.document import Document
from sketcher.export.dxf import dxf
from sketcher.export.final import final_sheet
from sketcher.export.floor_cut import floor_sheet
from sketcher.export.nest import nest
from sketcher.export.paper import paper_sheet
from sketcher.export.pdf import pdf
from sketcher.export.sheet import SHEETS, ExportError, Sheet
from sketcher.export.svg import svg
from sketcher.export.test_piece import trial_sheet
from sketcher.geometry import Shapes

_MAKERS = {"test-piece": trial_sheet, "final": final_sheet, "floor-cut": floor_sheet, "paper": paper_sheet}
KINDS = ("dxf", "svg", "pdf")
#: More pieces than this on one sheet are a slip of the pen.
MOST_COPIES = 200
#: What people print at home comes on their paper; what a machine reads comes whole, unless a paper is asked for.
USUAL_PAPER = {"paper": "A4", "floor-cut": "A4"}


def make_sheet(document: Document, shapes: Shapes, sheet: str, label: str = "", copies: int = 1) -> Sheet:
    """A sheet of a document.

    Args:
        document: the plate.
        shapes: its shapes.
        sheet: one of ``SHEETS``.
        label: the revision's; it is scored into the piece.
        copies: of a test piece, nested on the sheet of material that the document names.

    Raises:
        ExportError: there is no such sheet, or it cannot be made of this document.
    """
    if not shapes.plate_polygon.is_valid:
        raise ExportError("the plate's outline crosses itself; move its corners so that it goes round once")
    if sheet not in _MAKERS:
        raise ExportError(f"there is no sheet {sheet!r}; there are {', '.join(SHEETS)}")
    if not 1 <= copies <= MOST_COPIES:
        raise ExportError(f"{copies} pieces cannot be laid on one sheet; ask for 1 to {MOST_COPIES}")
    made = _MAKERS[sheet](document, shapes, label)
    if copies == 1:
        return made
    if sheet != "test-piece":
        raise ExportError(f"only test pieces are laid on one sheet, not {sheet!r}; ask for one")
    return nest([made] * copies, document.test_piece.sheet_width_mm, document.test_piece.sheet_depth_mm)


def export_sheet(
    document: Document,
    shapes: Shapes,
    sheet: str,
    suffix: str,
    *,
    label: str = "",
    paper: str | None = None,
    copies: int = 1,
) -> bytes:
    """A sheet as the bytes of a file of kind ``suffix``: dxf, svg or pdf.

    Args:
        document: the plate.
        shapes: its shapes.
        sheet: one of ``SHEETS``.
        suffix: the kind of file.
        label: the revision's; it is scored into the piece.
        paper: for a PDF, A4, A3 or Letter. Without one, ``paper`` and ``floor-cut`` come on A4, the others on one page
            as large as they are.
        copies: of a test piece, nested on the sheet of material that the document names.

    Raises:
        ExportError: no such sheet, kind of file or paper, or a sheet that cannot be made of this document.
    """
    if suffix not in KINDS:
        raise ExportError(f"no file of kind {suffix!r} can be written; end the name in .dxf, .svg or .pdf")
    return write_sheet(make_sheet(document, shapes, sheet, label, copies), suffix, paper)


def write_sheet(sheet: Sheet, suffix: str, paper: str | None = None) -> bytes:
    """A sheet that is made already as the bytes of a file. Arguments and errors as ``export_sheet``."""
    match suffix:
        case "dxf":
            return dxf(sheet)
        case "svg":
            return svg(sheet)
        case "pdf":
            return pdf(sheet, paper or USUAL_PAPER.get(sheet.name))
    raise ExportError(f"no file of kind {suffix!r} can be written; end the name in .dxf, .svg or .pdf")
