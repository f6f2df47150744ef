"""The drawing for the shop, read back with poppler and pypdf: what a machinist must find on it, where it must be.

Expected places are the document's own numbers, counted by hand from the plate's front left corner at (50, 50).
"""

from __future__ import annotations

import html
import io
import math
import re
import subprocess
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from pypdf import PdfReader
from reportlab.pdfgen.canvas import Canvas

from sketcher.document import Document, read
from sketcher.export.registry import cautions_of
from sketcher.export.shop_drawing import shop_drawing_pdf
from sketcher.geometry import build
from tests.checks.plates import channel, circle, plate, rectangle
from tests.export import outside
from tests.export.test_final import machined
from tests.export.test_test_piece import EXAMPLES


def drawing(document: Document, **options: Any) -> bytes:
    return shop_drawing_pdf(document, build(document), **options)


Cell = tuple[float, str]

#: Of capitals and figures to the font's size: "CapHeight 718" in the published metrics of Helvetica (core fonts).
CAPITALS = 0.718
#: The smallest nominal height of lettering, mm: ISO 3098-1, whose series is 1.8, 2.5, 3.5, 5 (from memory).
LOWEST_MM = 1.8


def lettering_mm(data: bytes) -> dict[float, str]:
    """The heights of the capitals in a drawing, each with one of its texts, as pypdf finds them."""
    found: dict[float, str] = {}

    def hear(text: str, cm: list[float], tm: list[float], _: Any, size: float) -> None:
        if text.strip():
            scale = math.hypot(tm[2], tm[3]) * math.hypot(cm[2], cm[3])
            found.setdefault(round(size * scale * CAPITALS * 25.4 / 72, 3), text.strip())

    for page in PdfReader(io.BytesIO(data)).pages:
        page.extract_text(visitor_text=hear)
    return found


def words_of(data: bytes, folder: Path) -> list[list[tuple[float, float, float, float, str]]]:
    """For each page every word with its box as poppler measures it, mm from the top left: left, top, right, foot."""
    program = outside.tool("pdftotext", "poppler-utils")
    source = folder / "drawing.pdf"
    source.write_bytes(data)
    done = subprocess.run([program, "-bbox", "-enc", "UTF-8", str(source), "-"], check=True, capture_output=True)
    pages = done.stdout.decode("utf-8").split("<page ")[1:]
    pattern = r'<word xMin="([\d.-]+)" yMin="([\d.-]+)" xMax="([\d.-]+)" yMax="([\d.-]+)">(.*?)</word>'
    return [
        [(*(float(v) * 25.4 / 72 for v in found[:4]), html.unescape(found[4])) for found in re.findall(pattern, page)]
        for page in pages
    ]


def rows(data: bytes, folder: Path) -> list[list[Cell]]:
    """The cells of each line on each page, with where they begin; words of one cell are less than 1.2 mm apart."""
    found: list[list[Cell]] = []
    for page in words_of(data, folder):
        by_line: dict[float, list[tuple[float, float, float, float, str]]] = {}
        for word in page:
            by_line.setdefault(round(word[3], 1), []).append(word)
        for _, line in sorted(by_line.items()):
            cells: list[Cell] = []
            end = -1e9
            for left, _, right, _, text in sorted(line):
                if left - end < 1.2 and cells:
                    cells[-1] = (cells[-1][0], f"{cells[-1][1]} {text}")
                else:
                    cells.append((left, text))
                end = right
            found.append(cells)
    return found


def lines(data: bytes, folder: Path) -> list[list[str]]:
    """The same without places. Tables stand beside each other: a line may hold rows of several."""
    return [[text for _, text in row] for row in rows(data, folder)]


def holds(found: list[list[str]], row: list[str]) -> bool:
    """Whether a row of cells stands in one of the lines."""
    return any(line[i : i + len(row)] == row for line in found for i in range(len(line)))


def below(found: list[list[Cell]], heading: str) -> list[list[str]]:
    """The rows of the table under a heading, without its column names: what begins where the heading does."""
    start = next(n for n, row in enumerate(found) for _, text in row if text.startswith(heading))
    left = next(x for x, text in found[start] if text.startswith(heading))
    table, others = [], 0
    for row in found[start + 1 :]:
        here = [n for n, (x, _) in enumerate(row) if abs(x - left) < 1.0]
        # Between two rows there may be lines of the title block and of the frame.
        others = 0 if here else others + 1
        if table and others > 8:
            break
        if here:
            table.append([text for _, text in row[here[0] :]])
    return table[1:]


def test_every_hole_has_its_row_from_the_datum(tmp_path: Path) -> None:
    found = lines(drawing(machined()), tmp_path)
    for row in (
        ["P1", "body", "port", "50", "50", "11.8", "12.5", "G1/4", "10", "above"],
        ["P2", "body", "port", "150", "50", "8.8", "12.5", "G1/8", "9", "above"],
        ["P3", "body", "edge port", "300", "130", "11.8", "16", "G1/4", "10", "edge", "16", "10", "point 118°"],
        ["H1", "body", "hole", "10", "10", "4.5", "through", "either"],
        ["H2", "body", "counterbore", "290", "10", "7", "4", "above"],
        ["S1", "body", "tapped hole", "50", "80", "3.3", "8.7", "M4", "4.9", "below", "8.7", "point 118°"],
    ):
        assert holds(found, row), row


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_no_hole_of_an_example_is_left_out(path: Path, tmp_path: Path) -> None:
    document = read(path)
    left, front, _, _ = build(document).plate_polygon.bounds
    found = lines(drawing(document), tmp_path)
    told = [line[i:] for line in found for i in range(len(line) - 5) if line[i + 1] in ("body", "lid")]
    for item in (*document.ports, *document.holes):
        own = [row for row in told if row[0] == item.id]
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
    width, depth = below(rows(data, tmp_path), "Seal groove")[0][:2]
    assert re.fullmatch(r"[\d.]+ ± 0\.[\d]+", width)
    assert re.fullmatch(r"[\d.]+ ± 0\.[\d]+", depth)


def test_the_revisions_before_are_listed(tmp_path: Path) -> None:
    earlier = [(f"R{n}", f"2031-0{n}-01", f"why {n}") for n in range(1, 6)]
    data = drawing(plate(), revision="R6", dated="2031-06-01", reason="now", earlier=earlier)
    shown = [row[:3] for row in below(rows(data, tmp_path), "Revisions")[:4]]
    assert shown == [["R3", "2031-03-01", "why 3"], ["R4", "2031-04-01", "why 4"], ["R5", "2031-05-01", "why 5"],
                     ["R6", "2031-06-01", "now"]]  # fmt: skip


def test_the_outline_is_told_edge_by_edge(tmp_path: Path) -> None:
    corners = [(50, 50, 0), (350, 50, 0), (350, 150, 10), (200, 150, 5), (200, 250, 0), (50, 250, 0)]
    outline = {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y, "corner_radius_mm": r} for x, y, r in corners]}
    told = [row[1:4] for row in below(rows(drawing(plate(plate={"outline": outline})), tmp_path), "Outline of body")]
    first = next(n for n, row in enumerate(told) if row[:2] == ["0", "0"])
    assert [*told[:8], *told[:8]][first : first + 8] == [
        ["0", "0", "straight, 300"], ["300", "0", "straight, 90"], ["300", "90", "R 10, outward"],
        ["290", "100", "straight, 135"], ["155", "100", "R 5, inward"], ["150", "105", "straight, 95"],
        ["150", "200", "straight, 150"], ["0", "200", "straight, 200"],
    ]  # fmt: skip


@pytest.mark.parametrize(("width", "depth", "scale"), [(300, 200, 1.0), (60, 35, 5.0), (340, 310, 0.5)])
def test_the_plan_is_at_the_scale_it_says(width: float, depth: float, scale: float, tmp_path: Path) -> None:
    """Measured on poppler's picture: long upright lines are border, frame, dimension, the plate's sides, frame, border.

    ISO 5457: the frame of A3 is 20 mm from the left edge and 10 from the right, the border of the zones 5 mm outside.
    """
    document = plate(plate={"outline": rectangle(200, 160, width, depth)})
    data = drawing(document)
    words = PdfReader(io.BytesIO(data)).pages[0].extract_text()
    assert (f"{scale:g}:1" if scale >= 1 else f"1:{1 / scale:g}") in words
    dpi = 400
    dark = outside.rendered(data, tmp_path, 1, dpi) < 128
    tall = np.flatnonzero(dark.sum(axis=0) > 0.97 * depth * scale / 25.4 * dpi)
    groups = np.split(tall, np.flatnonzero(np.diff(tall) > 1) + 1)
    middles = [float(group.mean()) * 25.4 / dpi for group in groups]
    assert len(middles) == 7
    assert middles[4] - middles[3] == pytest.approx(width * scale, abs=0.1)
    assert [middles[n] for n in (0, 1, 5, 6)] == pytest.approx([15, 20, 410, 415], abs=0.2)


@pytest.mark.parametrize(
    "outline",
    [rectangle(750, 450, 1500, 900, 12), rectangle(50, 50, 24, 16), circle(200, 150, 200), rectangle(60, 500, 40, 980)],
    ids=["large", "tiny", "round", "narrow"],
)
def test_nothing_runs_out_of_the_frame(outline: dict, tmp_path: Path) -> None:
    """A3 across by ISO 216, 420 x 297 mm; outside the border of the zones, 5 mm from the edge, every page is blank."""
    document = plate(plate={"outline": outline}, name="A name far too long for any title block " * 3)
    data = drawing(document, revision="a label of forty letters, as many as fit", reason="because " * 60)
    assert min(lettering_mm(data)) >= LOWEST_MM, lettering_mm(data)
    pages = PdfReader(io.BytesIO(data)).pages
    for number, page in enumerate(pages, start=1):
        assert (float(page.mediabox.width), float(page.mediabox.height)) == pytest.approx(
            (420 / 25.4 * 72, 297 / 25.4 * 72), abs=0.01
        )
        grey = outside.rendered(data, tmp_path, number, 100)
        edge = round(4.5 / 25.4 * 100)
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
    for view in ("Body from above", "Body from below", "Lid from below", "Edges", "details"):
        assert any(view in page.extract_text() for page in pages), view
    assert "seal groove in section, 10:1" in words


def test_a_port_shallower_than_its_standard_says_so() -> None:
    """ISO 1179-1, G1/4 (a fitting maker's table): 18.5 mm drilled, 12 of full thread; this body of 20 has 12.5."""
    words = " ".join(page.extract_text() for page in PdfReader(io.BytesIO(drawing(machined()))).pages)
    assert "Shallower than a port to ISO 1179-1" in " ".join(words.split())


def test_the_zones_are_those_of_iso_5457(tmp_path: Path) -> None:
    """A3: eight fields along, six up, of 50 mm from the middle; letters from the top, without I and O."""
    page = words_of(drawing(plate()), tmp_path)[0]
    border = [(w[4], (w[0] + w[2]) / 2, (w[1] + w[3]) / 2) for w in page
              if w[3] < 10.5 or w[1] > 286.5 or w[2] < 20.5 or w[0] > 409.5]  # fmt: skip
    across, up = {}, {}
    for text, x, y in border:
        (across if text.isdigit() else up).setdefault(text, []).append((x, y))
    assert sorted(across) == list("12345678")
    assert sorted(up) == list("ABCDEF")
    assert all(len(places) == 2 for places in (*across.values(), *up.values()))
    for n in range(1, 7):  # whole fields: their middles are 50 apart about the sheet's middle
        assert across[str(n + 1)][0][0] == pytest.approx(210 + 50 * (n - 3.5), abs=0.6)
    for n, letter in enumerate("BCDE"):
        assert up[letter][0][1] == pytest.approx(148.5 + 50 * (n - 1.5), abs=0.8)


def test_size_projection_and_names_are_as_asked(tmp_path: Path) -> None:
    """B is 17 by 11 inches (ASME Y14.1)."""
    said = {"owner": "Yard and Bench", "creator": "A. Weaver", "approver": "B. Mason", "number": "PL-0042",
            "quantity": 3, "finish": "vapour free", "colour": "smoke grey", "paper": "B",
            "projection": "third-angle"}  # fmt: skip
    data = drawing(machined(drawing=said))
    pages = PdfReader(io.BytesIO(data)).pages
    assert (float(pages[0].mediabox.width), float(pages[0].mediabox.height)) == pytest.approx((17 * 72, 11 * 72))
    for number, page in enumerate(pages):
        text = page.extract_text()
        assert all(said[key] in text for key in ("owner", "creator", "approver", "number")), number
    everything = " ".join(" ".join(page.extract_text() for page in pages).split())
    for words in ("third-angle", "3 body, 3 lid", "smoke grey", "vapour free", "B (ASME Y14.1)"):
        assert words in everything, words


def test_courses_slots_pockets_and_drill_ends_are_told(tmp_path: Path) -> None:
    """Corners are the document's own, 50 less: the datum is at (50, 50)."""
    slot = {"shape": "slot", "x_mm": 250, "y_mm": 210, "length_mm": 40, "width_mm": 12, "turn_deg": 30}
    document = machined(
        channels=[channel("C1", (150, 100), (150, 140), start="P1", end="P2", bend_radius_mm=12)],
        pockets=[{"id": "R1", "outline": {**rectangle(300, 80, 30, 10, 3), "turn_deg": 15}, "depth_mm": 4},
                 {"id": "R2", "outline": slot, "depth_mm": 3}],
        holes=[{"id": "H1", "x_mm": 60, "y_mm": 60, "kind": "countersunk"},
               {"id": "H2", "x_mm": 70, "y_mm": 230, "slot_length_mm": 9, "turn_deg": 25},
               {"id": "H3", "x_mm": 90, "y_mm": 60, "kind": "tapped", "depth_mm": 9, "drill_end": "flat"}],
    )  # fmt: skip
    found = lines(drawing(document), tmp_path)
    for row in (
        ["C1", "1", "50", "50", "—"], ["C1", "2", "100", "50", "R 12"], ["C1", "3", "100", "90", "R 12"],
        ["C1", "4", "150", "50", "—"],
        ["R1", "pocket", "250", "30", "30 × 10", "15°", "R 3", "4", "above"],
        ["R2", "pocket", "200", "160", "slot 40 × 12", "30°", "—", "3", "above"],
        ["either", "turned 25°"], ["90°"], ["above", "11", "flat bottom"],
    ):  # fmt: skip
        assert holds(found, row), row


def _case(case: str) -> Document:
    if case == "machined":
        return machined(drawing={"paper": "B"})
    if case == "tiny":
        return plate(plate={"outline": rectangle(50, 50, 24, 16)})
    if case == "crowded":  # more ids than there is room for: rather none than two on one another
        holes = [{"id": f"H{n}", "x_mm": 60 + 14 * (n % 21), "y_mm": 60 + 14 * (n // 21)} for n in range(126)]
        return plate(plate={"outline": rectangle(200, 150, 310, 210)}, holes=holes)
    return read(next(path for path in EXAMPLES if path.stem == case))


@pytest.mark.parametrize("case", ["machined", "riser-bench", "tiny", "crowded"])
def test_no_words_lie_on_other_words_or_on_a_line(case: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Boxes of the words by poppler; the lines by poppler's picture of the same drawing without its words."""
    document = _case(case)
    data = drawing(document, revision="R4", dated="2031-05-06", reason="the card touched")
    assert min(lettering_mm(data)) >= LOWEST_MM, lettering_mm(data)
    pages = words_of(data, tmp_path)
    for name in ("drawString", "drawCentredString"):
        monkeypatch.setattr(Canvas, name, lambda *_, **__: None)
    bare = drawing(document, revision="R4", dated="2031-05-06", reason="the card touched")
    dpi = 150
    for number, words in enumerate(pages, start=1):
        dark = outside.rendered(bare, tmp_path, number, dpi) < 128
        boxes = []
        for left, top, right, foot, text in words:
            # Between the feet and the heads of capitals; a word on edge is taller than wide.
            across, down = (0.05, 0.25 * (foot - top)) if right - left > foot - top or len(text) < 3 else (
                0.25 * (right - left), 0.05)  # fmt: skip
            box = (left + across, top + down, right - across, foot - down)
            boxes.append((box, text))
            x0, y0, x1, y1 = (round(v / 25.4 * dpi) for v in box)
            assert not dark[y0 : y1 + 1, x0 : x1 + 1].any(), (number, text, box)
        areas = [shapely.box(*box) for box, _ in boxes]
        for i, j in shapely.STRtree(areas).query(areas, predicate="overlaps").T:
            raise AssertionError((number, boxes[i], boxes[j]))
