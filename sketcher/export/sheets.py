"""Which sheet, in which kind of file.

The modules that make sheets are imported here: that is what puts their sheets into the registry.
"""

from __future__ import annotations

from collections.abc import Sequence

from sketcher.document import Document
from sketcher.document.collector import without_collection
from sketcher.export import final, floor_cut, gasket, setup_sheets, test_piece, tube_sheets
from sketcher.export import paper as paper_template
from sketcher.export.nest import nest
from sketcher.export.pdf import pdf
from sketcher.export.registry import FLAT, SOLID, SheetKind, arrange, kind, kinds, names, register
from sketcher.export.sheet import ExportError, Sheet
from sketcher.export.solid import solid_bytes
from sketcher.export.svg import svg
from sketcher.geometry import Shapes

#: The modules with sheets in them, in the order in which they are listed, whichever is imported first.
MAKERS = (final, setup_sheets, floor_cut, gasket, test_piece, tube_sheets, paper_template)
arrange([module.__name__ for module in MAKERS])
register(
    SheetKind("body", "Body", "The body as a solid; flat, it is in body-above and body-below.", None, solid="body")
)
#: More pieces than this on one sheet are a slip of the pen.
MOST_COPIES = 200


def make_sheet(document: Document, shapes: Shapes, sheet: str, label: str = "", copies: int = 1) -> Sheet:
    """A sheet of a document.

    Args:
        document: the plate.
        shapes: its shapes.
        sheet: a name in the registry (``export.registry``).
        label: the revision's; it is scored into the piece.
        copies: of a test piece, nested on the sheet of material that the document names.

    Raises:
        ExportError: there is no such sheet, or it cannot be made of this document.
    """
    if not shapes.plate_polygon.is_valid:
        raise ExportError("the plate's outline crosses itself; move its corners so that it goes round once")
    asked = kind(sheet)
    if asked.make is None:
        raise ExportError(f"the sheet {sheet!r} is a solid and nothing flat; end the name in {endings(asked.formats)}")
    if not 1 <= copies <= MOST_COPIES:
        raise ExportError(f"{copies} pieces cannot be laid on one sheet; ask for 1 to {MOST_COPIES}")
    with without_collection():
        made = asked.make(document, shapes, label)
    if copies == 1:
        return made
    if not asked.copies:
        several = ", ".join(one.name for one in kinds() if one.copies)
        raise ExportError(f"copies of {sheet!r} cannot be nested on one sheet; ask for one (several: {several})")
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
    dxf_version: str = "R2010",
) -> bytes:
    """A sheet as the bytes of a file of kind ``suffix``.

    Args:
        document: the plate.
        shapes: its shapes.
        sheet: a name in the registry (``export.registry``).
        suffix: the kind of file.
        label: the revision's; it is scored into the piece.
        paper: for a PDF, A4, A3 or Letter. Without one, what is printed at home comes on the registry's paper, the
            others on one page as large as they are.
        copies: of a test piece, nested on the sheet of material that the document names.
        dxf_version: R2010, or R12 for old controls.

    Raises:
        ExportError: no such sheet, kind of file or paper, or a sheet that cannot be made of this document.
    """
    formats = kind(sheet).formats
    if suffix not in formats:
        raise ExportError(f"{sheet!r} cannot be written as {suffix or 'this'!r}; end the name in {endings(formats)}")
    solid = kind(sheet).solid
    if suffix in SOLID and solid is not None:
        return solid_bytes(document, shapes, solid, suffix, label)
    return write_sheet(make_sheet(document, shapes, sheet, label, copies), suffix, paper, dxf_version)


def write_sheet(sheet: Sheet, suffix: str, paper: str | None = None, dxf_version: str = "R2010") -> bytes:
    """A sheet that is made already as the bytes of a file. Arguments and errors as ``export_sheet``."""
    match suffix:
        case "dxf":
            from sketcher.export.dxf import dxf  # ezdxf takes long to import, and few requests need it

            return dxf(sheet, dxf_version)
        case "svg":
            return svg(sheet)
        case "pdf":
            return pdf(sheet, paper or kind(sheet.name).paper)
    raise ExportError(f"{sheet.name!r} cannot be written as {suffix or 'this'!r}; end the name in {endings(FLAT)}")


def endings(formats: Sequence[str]) -> str:
    """``.dxf, .svg or .pdf``."""
    words = [f".{suffix}" for suffix in formats]
    return " or ".join([", ".join(words[:-1]), words[-1]] if len(words) > 1 else words)


__all__ = ["MAKERS", "MOST_COPIES", "export_sheet", "kinds", "make_sheet", "names", "write_sheet"]
