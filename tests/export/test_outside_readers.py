"""Every kind of file read by a program that did not write it: GDAL/OGR and poppler, pypdf, Chromium, ezdxf's audit.

Places and sizes are held against the document's own numbers: within 0.001 mm in DXF, 0.1 mm on paper.
"""

from __future__ import annotations

import io
import math
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from playwright.sync_api import Browser
from pypdf import PdfReader

from sketcher.document import read
from sketcher.export import ExportError, export_sheet, make_sheet, names
from sketcher.export.tiles import PAPERS, joints, tiling
from sketcher.geometry import build
from tests.export import outside
from tests.export.test_test_piece import EXAMPLES, simple

MM_PER_POINT = 25.4 / 72
SETUPS = ("body-above", "body-below", "lid")
#: The set-ups of a plate with an outline that crosses itself are refused; no example has a gasket.
BOTH = [(path, sheet) for path in EXAMPLES for sheet in names(flat=True)
        if sheet != "gasket" and (path.stem != "wrong-on-purpose" or sheet not in SETUPS)]  # fmt: skip
NAMES = [f"{path.stem}-{sheet}" for path, sheet in BOTH]


@pytest.mark.parametrize(("path", "sheet"), BOTH, ids=NAMES)
def test_ezdxf_finds_nothing_to_mend(path: Path, sheet: str) -> None:
    document = read(path)
    data = export_sheet(document, build(document), sheet, "dxf")
    drawing = ezdxf.read(io.StringIO(data.decode("utf-8")))
    audit = drawing.audit()
    assert not audit.errors
    assert not audit.fixes
    assert drawing.dxfversion == "AC1024"
    assert drawing.header["$INSUNITS"] == 4


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_ogr_reads_ports_where_the_document_has_them(path: Path, tmp_path: Path) -> None:
    """GDAL/OGR reads DXF with code of its own; circles come as rings of chords, a vertex at each degree."""
    document = read(path)
    file = tmp_path / "piece.dxf"
    file.write_bytes(export_sheet(document, build(document), "test-piece", "dxf"))
    features = outside.ogr(file)
    cuts = [f for f in features if f["properties"]["Layer"].startswith("CUT")]
    found = []
    for feature in cuts:
        ring = np.array(feature["geometry"]["coordinates"])[:, :2]
        assert np.allclose(ring[0], ring[-1], atol=1e-6), "a cut contour is open"
        low, high = ring.min(axis=0), ring.max(axis=0)
        found.append((*(low + high) / 2, *(high - low)))
    for port in document.ports:
        if port.face == "edge":
            continue
        near = min(found, key=lambda row: math.hypot(row[0] - port.x_mm, row[1] - port.y_mm))
        assert near[:2] == pytest.approx((port.x_mm, port.y_mm), abs=0.001)
        bore = port.bore_diameter_mm or (11.8 if port.thread == "G1/4" else 10.0)
        assert near[2:] == pytest.approx((bore - document.test_piece.kerf_mm,) * 2, abs=0.001)


def test_ogr_reads_arcs_as_they_are_drawn(tmp_path: Path) -> None:
    """The cutout's corners, 4 mm, come through the bulges: every vertex OGR makes lies on the true outline."""
    document = simple(test_piece={"kerf_mm": 0})
    file = tmp_path / "piece.dxf"
    file.write_bytes(export_sheet(document, build(document), "test-piece", "dxf"))
    rings = [np.array(f["geometry"]["coordinates"])[:, :2] for f in outside.ogr(file)
             if f["properties"]["Layer"] == "CUT_INNER"]  # fmt: skip
    ring = next(r for r in rings if np.ptp(r[:, 0]) == pytest.approx(60, abs=1e-6))
    assert len(ring) > 300  # a vertex at each degree of the four corners
    # Distance to a rectangle of 60 x 20 about (250, 100) with corners of 4 mm, by its signed distance function.
    q = np.abs(ring - [250, 100]) - [30 - 4, 10 - 4]
    distance = np.hypot(*np.maximum(q, 0).T) + np.minimum(q.max(axis=1), 0) - 4
    assert np.abs(distance).max() < 0.001


def test_ogr_reads_the_final_sheet(tmp_path: Path) -> None:
    document = read(EXAMPLES[0])
    file = tmp_path / "final.dxf"
    file.write_bytes(export_sheet(document, build(document), "final", "dxf"))
    features = outside.ogr(file)
    bores = [f for f in features if f["properties"]["Layer"].startswith("BODY_BORE_D11.8_FROM_ABOVE")]
    centres = {tuple(np.round((np.min(c, axis=0) + np.max(c, axis=0))[:2] / 2, 6)) for f in bores
               for c in [np.array(f["geometry"]["coordinates"])]}  # fmt: skip
    assert centres == {(p.x_mm, p.y_mm) for p in document.ports if p.face == "top"}


@pytest.mark.parametrize("paper", ["A4", "A3", "Letter"])
def test_pdf_pages_are_the_papers_size(paper: str) -> None:
    """ISO 216: A4 is 210 x 297, A3 297 x 420 mm; ANSI/ASME Y14.1: Letter is 8.5 x 11 inches."""
    sizes = {"A4": (210.0, 297.0), "A3": (297.0, 420.0), "Letter": (8.5 * 25.4, 11 * 25.4)}
    document = read(EXAMPLES[0])
    reader = PdfReader(io.BytesIO(export_sheet(document, build(document), "paper", "pdf", paper=paper)))
    for page in reader.pages:
        size = sorted((float(page.mediabox.width) * MM_PER_POINT, float(page.mediabox.height) * MM_PER_POINT))
        assert size == pytest.approx(sorted(sizes[paper]), abs=0.01)
        assert page.get("/UserUnit", 1) == 1
        assert "100 mm long" in page.extract_text()


def test_the_check_line_measures_100_mm_on_every_rendered_page(tmp_path: Path) -> None:
    document = read(EXAMPLES[0])
    data = export_sheet(document, build(document), "paper", "pdf")
    dpi, border, foot = 300, 10.0, 12.0
    for number in range(1, len(PdfReader(io.BytesIO(data)).pages) + 1):
        grey = outside.rendered(data, tmp_path, number, dpi)
        row = grey.shape[0] - round((border + foot) / 25.4 * dpi)
        dark = np.flatnonzero((grey[row - 3 : row + 4] < 128).any(axis=0))
        runs = np.split(dark, np.flatnonzero(np.diff(dark) > 1) + 1)
        length = max((run[-1] - run[0] + 1) for run in runs) * 25.4 / dpi
        # The ticks at the ends are 0.2 mm wide and stand half outside; a pixel is 0.085 mm.
        assert length == pytest.approx(100.2, abs=0.1)


def test_ports_are_in_place_on_the_rendered_page(tmp_path: Path) -> None:
    """Poppler's picture of the page: the middle of each port's circle is measured in pixels, 0.042 mm each."""
    document = simple(test_piece={"kerf_mm": 0.2}, channels=[])
    data = export_sheet(document, build(document), "test-piece", "pdf")
    dpi = 600
    grey = outside.rendered(data, tmp_path, 1, dpi)
    left, front, _, _ = make_sheet(document, build(document), "test-piece").box()
    per_mm = dpi / 25.4
    for x, y, diameter in ((100.0, 100.0, 11.6), (180.25, 100.125, 11.6), (70.0, 70.0, 4.3)):
        column, row = (x - left + 5) * per_mm, grey.shape[0] - (y - front + 5) * per_mm
        reach = round((diameter / 2 + 0.4) * per_mm)
        box = grey[round(row) - reach : round(row) + reach + 1, round(column) - reach : round(column) + reach + 1] < 160
        rows, columns = np.nonzero(box)
        middle = ((columns.min() + columns.max()) / 2, (rows.min() + rows.max()) / 2)
        assert (middle[0] - reach + round(column) + 0.5 - column) / per_mm == pytest.approx(0, abs=0.1)
        assert (middle[1] - reach + round(row) + 0.5 - row) / per_mm == pytest.approx(0, abs=0.1)
        # The line is 0.15 mm wide: half of it lies outside.
        assert (columns.max() - columns.min() + 1) / per_mm == pytest.approx(diameter + 0.15, abs=0.1)


def test_joining_marks_of_two_pages_are_the_same_place() -> None:
    document = read(EXAMPLES[0])
    tiles = tiling(make_sheet(document, build(document), "paper").box(), "A4")
    assert tiles.columns * tiles.rows > 1
    places: dict[str, set[tuple[float, float]]] = {}
    pages = list(tiles.pages())
    for page in pages:
        for x, y, pair in joints(tiles, page):
            assert page.name in pair.split("+")
            on_sheet = (round(page.left + x - 10, 6), round(page.front + y - 28, 6))
            places.setdefault(f"{pair}", set()).add(on_sheet)
    # Two marks for each pair of neighbours, and both pages have the same two.
    assert all(len(found) == 2 for found in places.values())
    neighbours = tiles.rows * (tiles.columns - 1) + tiles.columns * (tiles.rows - 1)
    assert len(places) == neighbours


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_tiles_cover_the_whole_sheet(paper: str) -> None:
    box = (-20.0, 30.0, 1205.5, 903.25)
    tiles = tiling(box, paper)
    pages = list(tiles.pages())
    assert min(page.left for page in pages) <= box[0]
    assert min(page.front for page in pages) <= box[1]
    assert max(page.left for page in pages) + tiles.window_width >= box[2]
    assert max(page.front for page in pages) + tiles.window_height >= box[3]
    names = [page.name for page in pages]
    assert len(set(names)) == len(names) == tiles.columns * tiles.rows


@pytest.mark.parametrize(
    ("paper", "words"),
    [("B7", "A4, A3 and Letter"), ("", "A4, A3 and Letter"), ("20x30", "too small"), ("0x0", "too small"),
     ("A4; rm", "A4, A3 and Letter")],
)  # fmt: skip
def test_impossible_paper_is_refused(paper: str, words: str) -> None:
    document = simple()
    with pytest.raises(ExportError, match=words):
        export_sheet(document, build(document), "paper", "pdf", paper=paper or " ")


def test_a_page_as_large_as_the_piece() -> None:
    document = simple()
    reader = PdfReader(io.BytesIO(export_sheet(document, build(document), "test-piece", "pdf")))
    assert len(reader.pages) == 1
    box = reader.pages[0].mediabox
    # 300 x 200 mm and the kerf of 0.2, with a margin of 5 mm all round.
    assert float(box.width) * MM_PER_POINT == pytest.approx(310.2, abs=0.01)
    assert float(box.height) * MM_PER_POINT == pytest.approx(210.2, abs=0.01)


@pytest.mark.browser
def test_chromium_draws_the_svg_at_true_size(tmp_path: Path, browser: Browser) -> None:
    """In CSS an inch is 96 px (CSS Values and Units 3, 5.2): the drawing's boxes on the page give its millimetres."""
    document = simple()
    file = tmp_path / "piece.svg"
    file.write_bytes(export_sheet(document, build(document), "test-piece", "svg"))
    page = browser.new_page(viewport={"width": 1600, "height": 1200})
    page.goto(file.as_uri())
    boxes = page.evaluate(
        """() => Object.fromEntries(['P1', 'P2', 'H1', 'K1', 'plate'].map((id) => {
            const box = document.querySelector(`#CUT_INNER [data-item="${id}"], #CUT_OUTER [data-item="${id}"]`)
              .getBBox({stroke: false});
            const on = document.querySelector(`#CUT_INNER [data-item="${id}"], #CUT_OUTER [data-item="${id}"]`)
              .getBoundingClientRect();
            return [id, [box.x, box.y, box.width, box.height, on.width, on.height]]; }))"""
    )
    page.close()
    for id_, x, y, size in (("P1", 100, 100, 11.6), ("P2", 180.25, 100.125, 11.6), ("H1", 70, 70, 4.3)):
        left, low, width, height, _, _ = boxes[id_]
        assert (left + width / 2, low + height / 2) == pytest.approx((x, y), abs=0.001)
        assert (width, height) == pytest.approx((size, size), abs=0.001)
    assert boxes["K1"][2:4] == pytest.approx((59.8, 19.8), abs=0.001)
    assert boxes["plate"][4:] == pytest.approx((300.2 * 96 / 25.4, 200.2 * 96 / 25.4), abs=0.6)  # the line's width
