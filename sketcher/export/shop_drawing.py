"""The drawing for the shop: plan, sections and details, set-ups, tables from the datum, notes and cautions, as a PDF.

It is a drawing to be read, on A3 or B at scales that it says; what is cut is in the DXF, at true size.
"""

from __future__ import annotations

import hashlib
import io
from collections.abc import Sequence

from reportlab.pdfgen.canvas import Canvas

from sketcher.document import Document, dumps
from sketcher.export import drawing_page as page
from sketcher.export.drawing_notes import sentences
from sketcher.export.drawing_paper import BLOCK_MM, PAPERS, Paper, Title, draw_sheet
from sketcher.export.drawing_plan import plan_page
from sketcher.export.drawing_sections import section_pages
from sketcher.export.drawing_tables import hole_table, other_tables
from sketcher.export.drawing_views import set_up_views
from sketcher.export.operations import operations
from sketcher.export.pdf import new_canvas
from sketcher.export.registry import cautions_of
from sketcher.export.section_cuts import telling_cut
from sketcher.geometry import Shapes
from sketcher.strength.seal import SealDesign, design_seal

#: A revision's label, its date and why it was made.
Revision = tuple[str, str, str]


def shop_drawing_pdf(
    document: Document,
    shapes: Shapes,
    *,
    revision: str = "",
    dated: str = "",
    reason: str = "",
    earlier: Sequence[Revision] = (),
) -> bytes:
    """The drawing.

    Args:
        document: the plate.
        shapes: its shapes.
        revision: the revision's label.
        dated: the revision's own date; the drawing carries no other.
        reason: why the revision was made.
        earlier: the revisions before it, the oldest first; the last three are listed.
    """
    seal = design_seal(document, shapes)
    paper = PAPERS[document.drawing.paper]
    made = operations(document, shapes, seal)
    # Named by the axis that each runs along: B and C are letters of items.
    cuts = (("X", telling_cut(shapes, made, "x")), ("Y", telling_cut(shapes, made, "y")))
    pages = [plan_page(document, shapes, made, cuts, paper, _revisions(earlier, (revision, dated, reason)))]
    pages += section_pages(document, shapes, seal, cuts, paper)
    pages += set_up_views(document, shapes, paper)
    pages += _tables(document, shapes, seal, paper)
    pages.append(_notes(document, shapes, paper, revision, reason))
    title = _title(document, revision, dated)
    stream = io.BytesIO()
    canvas = new_canvas(stream, title.name, "Shop drawing")
    for number, drawn in enumerate(pages, start=1):
        draw_sheet(canvas, paper, title, number, len(pages), drawn.heading, drawn.scale)
        drawn.draw(canvas)
        canvas.showPage()
    canvas.save()
    return stream.getvalue()


def _title(document: Document, revision: str, dated: str) -> Title:
    plate, said = document.plate, document.drawing
    return Title(
        document.name or "Coolant distribution plate",
        (
            # ISO 7200: owner, number, date, sheet, title, approval, creator, type; what is not known is a dash.
            ("Owner", said.owner or "—"),
            ("Number", said.number or _number(document)),
            ("Type", "Part drawing"),
            ("Created by", said.creator or "—"),
            ("Approved by", said.approver or "—"),
            ("Material", plate.material),
            ("Body", f"{plate.body_thickness_mm:g} mm"),
            ("Lid", f"{plate.lid_thickness_mm:g} mm, {plate.lid_face}"),
            ("Tolerance", f"±{document.shop.tolerance_mm:g} mm"),
            ("Revision", revision or "—"),
            ("Dated", dated or "—"),
            ("Units", "mm; do not scale"),
        ),
        said.projection,
    )


def _number(document: Document) -> str:
    """The drawing's number: twelve letters of the document's fingerprint, another for each state."""
    return hashlib.sha256(dumps(document).encode()).hexdigest()[:12].upper()


def _revisions(earlier: Sequence[Revision], last: Revision) -> page.Table:
    rows = [tuple(word or "—" for word in row) for row in (*earlier[-3:], last)]
    return page.Table("Revisions", (("revision", 40.0), ("date", 24.0), ("reason", 120.0)), tuple(rows))


def _tables(document: Document, shapes: Shapes, seal: SealDesign, paper: Paper) -> list[page.Page]:
    """Pages of tables in columns, the holes first; each page keeps clear of the title block."""
    left, foot, right, top = paper.frame
    tables = [hole_table(document, shapes, seal), *other_tables(shapes, seal)]
    laid = page.in_columns(tables, (right - left - 14, top - foot - BLOCK_MM[1] - 12))

    def drawn(placed: Sequence[tuple[tuple[float, float], page.Table]]) -> page.Page:
        def draw(canvas: Canvas) -> None:
            for (x, y), shown in placed:
                page.table(canvas, (left + 7 + x, top - 7 - y), shown)

        return page.Page("Tables: mm from the datum, the front left corner of the bounding box", None, draw)

    return [drawn(placed) for placed in laid if placed]


def _notes(document: Document, shapes: Shapes, paper: Paper, revision: str, reason: str) -> page.Page:
    words = [f"{n}. {note}" for n, note in enumerate(sentences(document, shapes, revision, reason), start=1)]
    warned = [f"{c.title}. {c.text} {c.defer}" for c in cautions_of("final")]

    def draw(canvas: Canvas) -> None:
        left, foot, right, top = paper.frame
        wide = (right - left - 24) / 2
        for x, heading, paragraphs, floor in (
            (left + 6, "Notes", words, foot + 4), (left + 18 + wide, "Cautions", warned, foot + BLOCK_MM[1] + 4)
        ):  # fmt: skip
            page.text(canvas, (x, top - 8), heading, 10, bold=True)
            size = page.size_for(paragraphs, wide, top - 14 - floor)
            page.paragraphs(canvas, (x, top - 14), wide, paragraphs, size)

    return page.Page("Notes and cautions", None, draw)
