"""Pieces on one sheet of material: all of them, none on another, none over the edge."""

from __future__ import annotations

import itertools

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon

from sketcher.export import ExportError, export_sheet, make_sheet
from sketcher.export.nest import lay, nest
from sketcher.geometry import build
from tests.export import outside
from tests.export.test_test_piece import simple


@given(
    sizes=st.lists(st.tuples(st.floats(5, 300), st.floats(5, 300)), min_size=1, max_size=12),
    width=st.floats(100, 1200), depth=st.floats(100, 900),
)  # fmt: skip
def test_boxes_lie_apart_and_on_the_sheet(sizes: list[tuple[float, float]], width: float, depth: float) -> None:
    try:
        laid = lay(sizes, width, depth)
    except ExportError:
        return  # whether all could have fitted is a hard question; that none is lost unsaid is what counts
    assert [place.piece for place in laid] == list(range(len(sizes)))
    boxes = []
    for place in laid:
        w, d = sizes[place.piece][::-1] if place.turned else sizes[place.piece]
        boxes.append(shapely.box(place.x, place.y, place.x + w, place.y + d))
    sheet = shapely.box(5, 5, width - 5, depth - 5).buffer(1e-6)
    assert all(sheet.contains(box) for box in boxes)
    assert all(one.distance(other) >= 5 - 1e-6 for one, other in itertools.combinations(boxes, 2))


def test_one_box_that_fits_is_never_refused() -> None:
    assert lay([(300, 100)], 115, 310)[0].turned
    with pytest.raises(ExportError, match="0 of 1 pieces fit"):
        lay([(300, 100)], 109, 310)


def test_nested_pieces_are_whole_pieces() -> None:
    document = simple(plate={"outline": {"shape": "rectangle", "x_mm": 125, "y_mm": 100, "width_mm": 150,
                                         "depth_mm": 100}},
                      ports=[{"id": "P1", "x_mm": 90, "y_mm": 80}], channels=[], cutouts=[],
                      holes=[{"id": "H1", "x_mm": 180, "y_mm": 130}],
                      test_piece={"sheet_width_mm": 500, "sheet_depth_mm": 330})  # fmt: skip
    shapes = build(document)
    single = outside.entities(export_sheet(document, shapes, "test-piece", "dxf"))
    found = outside.entities(export_sheet(document, shapes, "test-piece", "dxf", copies=6))
    assert len(found) == 6 * len(single)
    outlines = [Polygon(e.ring()) for e in found if e.layer == "CUT_OUTER"]
    inner = [Polygon(e.ring()) for e in found if e.layer == "CUT_INNER"]
    assert len(outlines) == 6
    for outline in outlines:
        # 150 x 100 mm and the kerf of 0.2, turned or not; each with its port and its hole.
        assert outline.area == pytest.approx(150.2 * 100.2, abs=0.01)
        assert sum(outline.contains(hole) for hole in inner) == 2
    assert all(one.disjoint(other) for one, other in itertools.combinations(outlines, 2))
    layers = [e.layer for e in found]
    assert [layer for layer, _ in itertools.groupby(layers)] == ["MARK", "CUT_INNER", "CUT_OUTER"]
    with pytest.raises(ExportError, match="of 60 pieces fit on a sheet of 500 by 330 mm"):
        export_sheet(document, shapes, "test-piece", "dxf", copies=60)


def test_pieces_of_two_revisions_share_a_sheet() -> None:
    document = simple()
    shapes = build(document)
    both = nest([make_sheet(document, shapes, "test-piece", label) for label in ("R1", "R2")], 700, 500)
    assert sum(1 for _ in both.cuts()) == 2 * sum(1 for _ in make_sheet(document, shapes, "test-piece").cuts())
    assert {entity.item.split("/")[0] for entity in both.entities} == {"1", "2"}


@pytest.mark.parametrize("copies", [0, -1, 100_000])
def test_numbers_of_copies_that_cannot_be(copies: int) -> None:
    document = simple()
    with pytest.raises(ExportError, match="pieces"):
        make_sheet(document, build(document), "test-piece", copies=copies)
