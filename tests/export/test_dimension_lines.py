"""Dimension lines in files: read back by ezdxf and poppler, never among what is cut or scored."""

from __future__ import annotations

import io
import re
import shutil
import subprocess

import ezdxf
import pytest

from sketcher.document import from_plain
from sketcher.drawing.plan import plan
from sketcher.export.nest import nest
from sketcher.export.sheets import export_sheet, make_sheet
from sketcher.export.shop_drawing import shop_drawing_pdf
from sketcher.geometry import build
from tests.geometry.test_measured_spans import PLATE, end

LINES = [
    {
        "id": "N1",
        "first": end("plate edge 3"),
        "second": end("K1 edge 3"),
        "direction": "horizontal",
        "offset_mm": 42.5,
    },
    {"id": "N2", "first": end("P1"), "second": end("P2"), "direction": "vertical", "offset_mm": -15},
    {"id": "N3", "first": end("P1"), "second": end("K2 edge 0"), "offset_mm": 5},
    {"id": "N4", "first": end("floor edge 3"), "second": end("O1"), "direction": "horizontal"},
    {"id": "N5", "first": end("gone"), "second": end("P1")},
]


@pytest.fixture(scope="module")
def pair():
    document = from_plain({**PLATE, "dimensions": LINES})
    return document, build(document)


def lines_of(content: bytes) -> dict[str, list]:
    """The lines of a DXF by layer."""
    found: dict[str, list] = {}
    for entity in ezdxf.read(io.StringIO(content.decode())).modelspace():
        found.setdefault(entity.dxf.layer, []).append(entity)
    return found


def test_a_dxf_has_them_on_a_layer_that_is_not_plotted_and_cuts_are_the_same_without_them(pair) -> None:
    document, shapes = pair
    bare = document.model_copy(update={"dimensions": ()})
    for name in ("test-piece", "final"):
        content = export_sheet(document, shapes, name, "dxf")
        drawing = ezdxf.read(io.StringIO(content.decode()))
        layer = drawing.layers.get("DIMENSIONS")
        assert layer.dxf.plot == 0
        assert "neither cut nor scored" in layer.description
        found, plain = lines_of(content), lines_of(export_sheet(bare, build(bare), name, "dxf"))
        # N1: from 50 to 80, so 30 long, 42.5 to the rear of the middle of where the edges face each other (y = 200).
        assert any(
            e.dxftype() == "LINE" and sorted((e.dxf.start.x, e.dxf.end.x)) == pytest.approx([50, 80])
            and e.dxf.start.y == pytest.approx(242.5)
            for e in found.pop("DIMENSIONS")
        )  # fmt: skip
        assert {key: len(value) for key, value in found.items()} == {key: len(value) for key, value in plain.items()}
    for name in ("body-above", "body-below", "lid"):
        assert "DIMENSIONS" not in lines_of(export_sheet(document, shapes, name, "dxf"))
    piece = make_sheet(document, shapes, "test-piece")
    assert piece.box() == make_sheet(bare, build(bare), "test-piece").box()
    assert all(layer.role != "note" for layer in nest([piece, piece], 800, 600).layers)
    assert export_sheet(document, shapes, "test-piece", "dxf", dxf_version="R12")


def test_what_a_beam_follows_hides_them_and_what_is_read_shows_them(pair) -> None:
    document, shapes = pair
    group = re.compile(r'<g [^>]*id="DIMENSIONS"[^>]*>')
    hidden = group.search(export_sheet(document, shapes, "test-piece", "svg").decode())
    assert hidden is not None
    assert 'display="none"' in hidden[0]
    for name in ("paper", "final", "floor-cut"):
        shown = group.search(export_sheet(document, shapes, name, "svg").decode())
        assert shown is not None, name
        assert "display" not in shown[0]
    # The floor's are on the floor's sheet alone.
    items = {
        name: {e.item for e in make_sheet(document, shapes, name).on("DIMENSIONS")} for name in ("final", "floor-cut")
    }
    assert items == {"final": {"N1", "N2", "N3"}, "floor-cut": {"N4"}}
    bare = document.model_copy(update={"dimensions": ()})
    assert export_sheet(document, shapes, "test-piece", "pdf") == export_sheet(bare, build(bare), "test-piece", "pdf")
    svg = plan(shapes).svg()
    assert re.findall(r'class="value middle"[^>]*>([^<]+)<', svg) == ["30", "40", "185", "30"]


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="poppler is not installed")
def test_the_shop_drawing_prints_the_plates_own(pair, tmp_path) -> None:
    document, shapes = pair
    path = tmp_path / "drawing.pdf"
    path.write_bytes(shop_drawing_pdf(document, shapes))
    words = subprocess.run(
        ["pdftotext", "-f", "1", "-l", "1", "-layout", path, "-"], capture_output=True, text=True, check=True
    )
    bare = document.model_copy(update={"dimensions": ()})
    path.write_bytes(shop_drawing_pdf(bare, build(bare)))
    before = subprocess.run(
        ["pdftotext", "-f", "1", "-l", "1", "-layout", path, "-"], capture_output=True, text=True, check=True
    )
    count = lambda text, value: len(re.findall(rf"(?<![\d.]){value}(?![\d.])", text.stdout))  # noqa: E731
    assert count(words, "30") == count(before, "30") + 1
    assert count(words, "185") == count(before, "185") + 1
