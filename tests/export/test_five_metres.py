"""A plate of 5 by 5 m, the largest place that a document may name: every sheet is written, or says why it is not."""

from __future__ import annotations

import io

import pytest
from pypdf import PdfReader

from sketcher.document import Document, from_plain, to_plain
from sketcher.export import ExportError, export_sheet
from sketcher.export.registry import kinds
from sketcher.export.shop_drawing import shop_drawing_pdf
from sketcher.geometry import Shapes, build
from tests.checks.plates import made, rectangle
from tests.export import outside

SIDE_MM = 5000.0
SHEETS = [(kind.name, suffix) for kind in kinds() for suffix in kind.formats if suffix in ("dxf", "svg", "pdf")]
#: What the refusal speaks of: the paper, or what the plate has nothing of.
WHY = {"final": "name a paper", "floor-cut": "larger paper", "paper": "larger paper", "gasket": "sealed with a cord",
       "tubes": "no rigid tube"}  # fmt: skip


@pytest.fixture(scope="module")
def large() -> tuple[Document, Shapes]:
    area = rectangle(SIDE_MM / 2, SIDE_MM / 2, SIDE_MM, SIDE_MM)
    plain = to_plain(made(20))
    plain["floor"]["outline"] = plain["plate"]["outline"] = area
    document = from_plain(plain)
    return document, build(document)


def test_every_sheet_is_written_at_its_size_or_says_why_not(large: tuple[Document, Shapes]) -> None:
    document, shapes = large
    written, said = set(), dict[str, str]()
    for sheet, suffix in SHEETS:
        try:
            data = export_sheet(document, shapes, sheet, suffix)  # type: ignore[arg-type]
        except ExportError as error:
            said[sheet] = str(error)
            continue
        written.add((sheet, suffix))
        assert data
    assert all(WHY[sheet] in words for sheet, words in said.items()), said
    # What a shop cuts from is always there; so is a page for each set-up.
    assert {("test-piece", "dxf"), ("final", "dxf"), ("body-below", "dxf"), ("lid", "dxf")} <= written
    assert {("test-piece", "svg"), ("test-piece", "pdf"), ("body-below", "pdf"), ("lid", "pdf")} <= written
    outer = [e for e in outside.entities(export_sheet(document, shapes, "test-piece", "dxf")) if e.layer == "CUT_OUTER"]
    xs = [x for entity in outer for x, _, _ in entity.points]
    ys = [y for entity in outer for _, y, _ in entity.points]
    kerf = document.test_piece.kerf_mm
    assert max(xs) - min(xs) == pytest.approx(SIDE_MM + kerf, abs=1e-3)
    assert max(ys) - min(ys) == pytest.approx(SIDE_MM + kerf, abs=1e-3)


def test_the_drawing_names_its_size_and_scale(large: tuple[Document, Shapes]) -> None:
    pages = PdfReader(io.BytesIO(shop_drawing_pdf(*large))).pages
    text = "\n".join(page.extract_text() for page in pages)
    assert "5000" in text
    assert "1:" in text
