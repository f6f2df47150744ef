"""The drawing for the shop, read back with poppler and pypdf: what a machinist must find on it, where it must be.

Expected places are the document's own numbers, counted by hand from the plate's front left corner at (50, 50).
"""

from __future__ import annotations

import io
import re
import subprocess
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader

from sketcher.document import Document, read
from sketcher.export.registry import cautions_of
from sketcher.export.shop_drawing import shop_drawing_pdf
from sketcher.geometry import build
from tests.checks.plates import circle, plate, rectangle
from tests.export import outside
from tests.export.test_final import machined
from tests.export.test_test_piece import EXAMPLES


def drawing(document: Document, **options: str) -> bytes:
    return shop_drawing_pdf(document, build(document), **options)


def lines(data: bytes, folder: Path) -> list[list[str]]:
    """The words of each line as poppler lays them out; cells are two blanks apart."""
    program = outside.tool("pdftotext", "poppler-utils")
    source = folder / "drawing.pdf"
    source.write_bytes(data)
    done = subprocess.run([program, "-layout", "-enc", "UTF-8", str(source), "-"], check=True, capture_output=True)
    text = done.stdout.decode("utf-8")
    return [re.split(r"\s{2,}", line.strip()) for line in text.splitlines() if line.strip()]


def test_every_hole_has_its_row_from_the_datum(tmp_path: Path) -> None:
    found = lines(drawing(machined()), tmp_path)
    for row in (
        ["P1", "body", "port", "50", "50", "11.8", "12.5", "G1/4", "10", "above"],
        ["P2", "body", "port", "150", "50", "8.8", "12.5", "G1/8", "9", "above"],
        ["P3", "body", "edge port", "300", "130", "11.8", "16", "G1/4", "10", "edge", "16"],
        ["H1", "body", "hole", "10", "10", "4.5", "through", "either"],
        ["H2", "body", "counterbore", "290", "10", "7", "4", "above"],
        ["S1", "body", "tapped hole", "50", "80", "3.3", "8.7", "M4", "4.9", "below"],
    ):
        assert row in found, row


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_no_hole_of_an_example_is_left_out(path: Path, tmp_path: Path) -> None:
    document = read(path)
    left, front, _, _ = build(document).plate_polygon.bounds
    rows = [row for row in lines(drawing(document), tmp_path) if len(row) > 5 and row[1] in ("body", "lid")]
    for item in (*document.ports, *document.holes):
        own = [row for row in rows if row[0] == item.id]
        assert own, item.id
        for row in own:
            assert float(row[3]) == pytest.approx(item.x_mm - left, abs=0.001)
            assert float(row[4]) == pytest.approx(item.y_mm - front, abs=0.001)


def test_title_block_cautions_and_groove_are_on_it(tmp_path: Path) -> None:
    document = machined(name="Test bench", shop={"tolerance_mm": 0.15})
    data = drawing(document, revision="R4", dated="2031-05-06", reason="the card touched")
    pages = PdfReader(io.BytesIO(data)).pages
    for number, page in enumerate(pages, start=1):
        text = page.extract_text()
        for words in ("Test bench", "R4", "2031-05-06", "±0.15 mm", document.plate.material,
                      f"{number} of {len(pages)}"):  # fmt: skip
            assert words in text, (number, words)
    everything = " ".join(" ".join(page.extract_text() for page in pages).split())
    for caution in cautions_of("final"):
        assert caution.title in everything
    assert "the card touched" in everything
    # A seal leaks when its groove is too deep: the groove's own tolerances are on the drawing.
    table = lines(data, tmp_path)
    head = next(n for n, row in enumerate(table) if row[0].startswith("Seal groove"))
    width, depth = table[head + 2][:2]
    assert re.fullmatch(r"[\d.]+ ± 0\.[\d]+", width)
    assert re.fullmatch(r"[\d.]+ ± 0\.[\d]+", depth)


def test_the_outline_is_told_edge_by_edge(tmp_path: Path) -> None:
    corners = [(50, 50, 0), (350, 50, 0), (350, 150, 10), (200, 150, 5), (200, 250, 0), (50, 250, 0)]
    outline = {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y, "corner_radius_mm": r} for x, y, r in corners]}
    found = lines(drawing(plate(plate={"outline": outline})), tmp_path)
    head = next(n for n, row in enumerate(found) if row[0].startswith("Outline of body"))
    rows = [row[1:] for row in found[head + 2 : head + 10]]
    assert [*rows, *rows][next(n for n, row in enumerate(rows) if row[:2] == ["0", "0"]) :][:8] == [
        ["0", "0", "straight, 300"], ["300", "0", "straight, 90"], ["300", "90", "R 10, outward"],
        ["290", "100", "straight, 135"], ["155", "100", "R 5, inward"], ["150", "105", "straight, 95"],
        ["150", "200", "straight, 150"], ["0", "200", "straight, 200"],
    ]  # fmt: skip


@pytest.mark.parametrize(("width", "depth", "scale"), [(300, 200, 1.0), (60, 35, 5.0), (340, 310, 0.5)])
def test_the_plan_is_at_the_scale_it_says(width: float, depth: float, scale: float, tmp_path: Path) -> None:
    """Measured on poppler's picture: the long upright lines are frame, dimension, the plate's sides, frame."""
    document = plate(plate={"outline": rectangle(200, 160, width, depth)})
    data = drawing(document)
    words = PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert (f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}") in words
    dpi = 200
    dark = outside.rendered(data, tmp_path, 1, dpi) < 128
    tall = np.flatnonzero(dark.sum(axis=0) > 0.97 * depth * scale / 25.4 * dpi)
    groups = np.split(tall, np.flatnonzero(np.diff(tall) > 1) + 1)
    middles = [float(group.mean()) * 25.4 / dpi for group in groups]
    assert len(middles) == 5
    assert middles[3] - middles[2] == pytest.approx(width * scale, abs=0.1)
    assert middles[0] == pytest.approx(10, abs=0.2)
    assert middles[4] == pytest.approx(410, abs=0.2)


@pytest.mark.parametrize(
    "outline",
    [rectangle(750, 450, 1500, 900, 12), rectangle(50, 50, 24, 16), circle(200, 150, 200), rectangle(60, 500, 40, 980)],
    ids=["large", "tiny", "round", "narrow"],
)
def test_nothing_runs_out_of_the_frame(outline: dict, tmp_path: Path) -> None:
    """A3 across by ISO 216, 420 x 297 mm; outside the frame at 10 mm every page is blank."""
    document = plate(plate={"outline": outline}, name="A name far too long for any title block " * 3)
    data = drawing(document, revision="a label of forty letters, as many as fit", reason="because " * 60)
    pages = PdfReader(io.BytesIO(data)).pages
    for number, page in enumerate(pages, start=1):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            (420 / 25.4 * 72, 297 / 25.4 * 72), abs=0.01
        )
        grey = outside.rendered(data, tmp_path, number, 100)
        edge = round(9.5 / 25.4 * 100)
        inner = grey.copy()
        inner[edge:-edge, edge:-edge] = 255
        assert inner.min() == 255, f"page {number}"


def test_the_same_plate_gives_the_same_bytes_and_no_day_of_its_own() -> None:
    document = machined()
    one, other = drawing(document), drawing(document)
    assert one == other
    information = PdfReader(io.BytesIO(one)).metadata
    assert information is not None
    # Without a clock of its own the writer says the year 2000.
    assert "2000" in str(information.get("/CreationDate", "2000"))


def test_the_title_block_and_notes_follow_the_standards(tmp_path: Path) -> None:
    """ISO 7200: owner, number, date, sheet, title, approval, creator, document type; ISO 2768 with its years."""
    data = drawing(machined(), revision="R4", dated="2031-05-06", reason="the card touched")
    pages = PdfReader(io.BytesIO(data)).pages
    for page in pages:
        text = page.extract_text()
        for word in ("Owner:", "Number:", "Type:", "Created by:", "Approved by:", "Sheet:", "do not scale"):
            assert word in text, word
    words = " ".join(" ".join(page.extract_text() for page in pages).split())
    for said in ("ISO 2768-1:1989 m", "ISO 2768-2:1989", "ISO 5456-2", "ISO 6410-1", "ISO 7823-1", "Anneal",
                 "Quantity: 1", "6H", "flat bottom", "the card touched"):  # fmt: skip
        assert said in words, said
    for view in ("Body from above", "Body from below", "Lid from below", "Edges", "Details"):
        assert any(view in page.extract_text() for page in pages), view
    assert "seal groove in section, 10:1" in words


def test_a_port_shallower_than_its_standard_says_so() -> None:
    """ISO 1179-1, G1/4 (a fitting maker's table): 18.5 mm drilled, 12 of full thread; this body of 20 has 12.5."""
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(drawing(machined()))).pages)
    assert "Shallower than a port to ISO 1179-1" in " ".join(words.split())
