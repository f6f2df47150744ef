"""What must hold for any plate: rules of cutting, one drawing whichever kind of file, and changes that stay local.

The readers are the tests' own group-code reader and Chromium; the writers have no part in them.
"""

from __future__ import annotations

import itertools
import math
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from playwright.sync_api import Browser
from shapely import LinearRing, LineString, Polygon

from sketcher.document import Document, read
from sketcher.export import export_sheet, names
from sketcher.geometry import build
from tests.checks.plates import channel, circle, made, plate, rectangle
from tests.export import outside
from tests.export.outside import Read
from tests.export.test_test_piece import EXAMPLES

#: What is drawn from above on every example; the set-ups, which are drawn by the same writer, on one.
FLAT = [name for name in names(flat=True) if name != "gasket"]  # no example has one
DRAWN = [(path, sheet) for sheet in FLAT for path in EXAMPLES
         if sheet in ("test-piece", "final", "floor-cut", "paper") or path == EXAMPLES[0]]  # fmt: skip

BOXES = """() => Object.fromEntries([...document.querySelectorAll('g[id]')].map((layer) => [
    layer.id, [...layer.children].map((part) => part.getBBox()).map((b) => [b.x, b.y, b.x + b.width, b.y + b.height])
]))"""


def line_of(entity: Read, step: float = 0.004) -> LineString:
    if entity.kind == "LINE":
        return LineString([point[:2] for point in entity.points])
    ring = entity.ring(step)
    return LinearRing(ring) if entity.kind == "CIRCLE" or entity.closed else LineString(ring)


@pytest.mark.browser
@pytest.mark.parametrize(("path", "sheet"), DRAWN, ids=[f"{sheet}-{path.stem}" for path, sheet in DRAWN])
def test_chromium_draws_in_the_svg_what_is_in_the_dxf(path: Path, sheet: str, browser: Browser, tmp_path: Path) -> None:
    """Layer by layer, each contour in the same box: two readers, two kinds of file."""
    document = read(path)
    shapes = build(document)
    file = tmp_path / "sheet.svg"
    file.write_bytes(export_sheet(document, shapes, sheet, "svg"))
    page = browser.new_page()
    page.goto(file.as_uri())
    drawn = page.evaluate(BOXES)
    page.close()
    layers: dict[str, list[Read]] = {}
    for entity in outside.entities(export_sheet(document, shapes, sheet, "dxf")):
        layers.setdefault(entity.layer, []).append(entity)
    assert set(drawn) == set(layers)
    for name, entities in layers.items():
        boxes = [line_of(entity).bounds for entity in entities]
        # Chromium measures in single precision.
        assert np.array(drawn[name]) == pytest.approx(np.array(boxes), abs=0.001), name


def corners(x: float, y: float, size: float, turn: float) -> dict[str, Any]:
    """A five-cornered outline with an arc edge and a rounded corner."""
    places = [(1, 0), (0.3, 0.9), (-0.8, 0.6), (-0.8, -0.6), (0.3, -0.9)]
    c, s = math.cos(turn) * size / 2, math.sin(turn) * size / 2
    vertices: list[dict[str, Any]] = [{"x_mm": x + c * a - s * b, "y_mm": y + s * a + c * b} for a, b in places]
    vertices[2]["bulge"] = 0.4
    vertices[0]["corner_radius_mm"] = size / 20
    return {"shape": "polygon", "vertices": vertices}


PLACES = st.tuples(st.floats(55, 345), st.floats(55, 245), st.floats(4, 45), st.floats(0, 360), st.integers(0, 3))


@st.composite
def plates(draw: st.DrawFn) -> Document:
    """Plates with cutouts of every shape, slots, ports and a channel wherever they fall."""
    cutouts, holes, ports = [], [], []
    for n, (x, y, size, turn, kind) in enumerate(draw(st.lists(PLACES, min_size=1, max_size=6))):
        if kind == 0:
            cutouts.append({"id": f"K{n}", "outline": circle(x, y, size)})
        elif kind == 1:
            outline = {**rectangle(x, y, size, size * 0.6, size * 0.1), "turn_deg": turn}
            cutouts.append({"id": f"K{n}", "outline": outline})
        elif kind == 2:
            cutouts.append({"id": f"K{n}", "outline": corners(x, y, size, math.radians(turn))})
        else:
            holes.append({"id": f"H{n}", "x_mm": x, "y_mm": y, "diameter_mm": min(size, 20) / 2,
                          "slot_length_mm": size, "turn_deg": turn})  # fmt: skip
    for n, (x, y, _, _, _) in enumerate(draw(st.lists(PLACES, min_size=2, max_size=4))):
        ports.append({"id": f"P{n}", "x_mm": x, "y_mm": y})
    piece = {"kerf_mm": draw(st.sampled_from([0, 0.1, 0.2, 0.35])), "thickness_mm": draw(st.sampled_from([3, 6, 12])),
             "port_holes": draw(st.sampled_from(["bore", "tube", "fitting"]))}  # fmt: skip
    return plate(cutouts=cutouts, holes=holes, ports=ports, test_piece=piece,
                 channels=[channel("C1", start="P0", end="P1")])  # fmt: skip


@settings(max_examples=40, deadline=None)
@given(document=plates())
def test_rules_of_cutting_hold_on_any_plate(document: Document) -> None:
    data = export_sheet(document, build(document), "test-piece", "dxf")
    found = outside.entities(data)
    cuts = [entity for entity in found if entity.layer.startswith("CUT")]
    assert all(entity.kind == "CIRCLE" or entity.closed for entity in cuts)
    layers = [entity.layer for entity in found]
    order = [layer for layer, _ in itertools.groupby(layers)]
    assert order == [layer for layer in ("MARK", "CUT_INNER", "CUT_OUTER") if layer in order]
    assert layers.count("CUT_OUTER") == 1
    polygons = [Polygon(entity.ring()) for entity in cuts]
    assert all(polygon.is_valid for polygon in polygons)
    for one, other in itertools.combinations(polygons[:-1], 2):
        assert one.disjoint(other), "two cuts meet"
    assert all(polygons[-1].contains(polygon) for polygon in polygons[:-1])
    # The half-thickness rule: no cut hole is narrower, but for the kerf.
    least = document.test_piece.thickness_mm / 2 - document.test_piece.kerf_mm
    for polygon in polygons[:-1]:
        box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(polygon))
        assert min(math.dist(box[0], box[1]), math.dist(box[1], box[2])) >= least - 0.03


@settings(max_examples=15, deadline=None)
@given(document=plates())
def test_what_is_milled_is_closed_on_any_plate(document: Document) -> None:
    found = outside.entities(export_sheet(document, build(document), "final", "dxf"))
    milled = [entity for entity in found if entity.layer not in ("NOTES", "GROOVE_CENTRELINE")]
    assert all(entity.kind == "CIRCLE" or entity.closed for entity in milled)
    rings = [(entity.layer, shapely.normalize(shapely.set_precision(Polygon(entity.ring()), 1e-4)).wkb)
             for entity in milled if Polygon(entity.ring()).is_valid]  # fmt: skip
    assert len(set(rings)) == len(rings), "nothing is milled twice on a layer"


@pytest.mark.parametrize("count", [5, 60, 300])
@pytest.mark.parametrize("sheet", ["test-piece", "final", "floor-cut", "paper"])
def test_small_and_large_plates_have_every_hole(count: int, sheet: str) -> None:
    document = made(count)
    found = outside.entities(export_sheet(document, build(document), sheet, "dxf"))
    places = {(round(e.centre[0], 3), round(e.centre[1], 3)) for e in found if e.kind == "CIRCLE"}
    wanted = document.holes if sheet == "floor-cut" else (*document.ports, *document.holes)
    assert {(round(item.x_mm, 3), round(item.y_mm, 3)) for item in wanted} <= places
