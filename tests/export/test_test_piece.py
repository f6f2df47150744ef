"""The test piece, read back by a group-code reader that shares nothing with the writer.

Expected places and sizes are the document's own numbers; rules are those of cutting [common practice, no source]:
closed contours, none twice, inner before outer, units said, no hole smaller than half the sheet.
"""

from __future__ import annotations

import itertools
import math
from pathlib import Path

import pytest
import shapely
from hypothesis import example, given, settings
from hypothesis import strategies as st
from shapely import Polygon

from sketcher.document import Document, from_plain, read, to_plain
from sketcher.export import ExportError, export_sheet, make_sheet
from sketcher.geometry import build
from tests.checks.plates import channel, circle, plate, rectangle
from tests.export import outside
from tests.export.outside import Read

EXAMPLES = sorted(Path(outside.ROOT, "examples").glob("*.json"))


def cut(document: Document, **options: object) -> list[Read]:
    return outside.entities(export_sheet(document, build(document), "test-piece", "dxf", **options))  # type: ignore[arg-type]


def on(found: list[Read], layer: str) -> list[Read]:
    return [entity for entity in found if entity.layer == layer]


def contours(found: list[Read]) -> list[Polygon]:
    return [Polygon(entity.ring()) for entity in found if entity.layer.startswith("CUT")]


def simple(**parts: object) -> Document:
    """300 x 200 mm with two joined ports, a screw hole, a slot and a cutout."""
    return plate(
        **{
            "ports": [{"id": "P1", "x_mm": 100, "y_mm": 100}, {"id": "P2", "x_mm": 180.25, "y_mm": 100.125}],
            "channels": [channel("C1", start="P1", end="P2")],
            "holes": [
                {"id": "H1", "x_mm": 70, "y_mm": 70, "diameter_mm": 4.5},
                {"id": "H2", "x_mm": 300, "y_mm": 200, "diameter_mm": 5, "slot_length_mm": 12, "turn_deg": 30},
            ],
            "cutouts": [{"id": "K1", "outline": rectangle(250, 100, 60, 20, 4)}],
            **parts,
        }
    )


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
def test_rules_of_cutting_hold_on_every_example(path: Path) -> None:
    document = read(path)
    data = export_sheet(document, build(document), "test-piece", "dxf")
    found = outside.entities(data)
    assert outside.header(data)["$INSUNITS"] == "4"
    assert outside.header(data)["$ACADVER"] == "AC1024"  # R2010
    cuts = [entity for entity in found if entity.layer.startswith("CUT")]
    assert cuts
    assert all(entity.kind == "CIRCLE" or (entity.kind == "LWPOLYLINE" and entity.closed) for entity in cuts)
    layers = [entity.layer for entity in found]
    assert [layer for layer, _ in itertools.groupby(layers)] == ["MARK", "CUT_INNER", "CUT_OUTER"]
    assert layers.count("CUT_OUTER") == 1
    polygons = contours(found)
    assert all(polygon.is_valid for polygon in polygons)
    for one, other in itertools.combinations(polygons[:-1], 2):
        assert one.disjoint(other), "two cuts meet"
    assert all(polygons[-1].contains(polygon) for polygon in polygons[:-1])
    handles = [entity.handle for entity in found]
    assert len(set(handles)) == len(handles)


def test_places_and_sizes_are_the_documents() -> None:
    found = cut(simple())
    kerf = 0.2  # the default
    circles = {entity.centre: 2 * entity.radius for entity in on(found, "CUT_INNER") if entity.kind == "CIRCLE"}
    # A G1/4 port is cut at the tap drill's size, 11.8 mm; every hole is smaller by the kerf.
    assert circles == {
        (100.0, 100.0): pytest.approx(11.8 - kerf, abs=1e-6),
        (180.25, 100.125): pytest.approx(11.8 - kerf, abs=1e-6),
        (70.0, 70.0): pytest.approx(4.5 - kerf, abs=1e-6),
    }
    (outline,) = on(found, "CUT_OUTER")
    xs, ys = zip(*[(x, y) for x, y, _ in outline.points], strict=True)
    assert (min(xs), min(ys), max(xs), max(ys)) == pytest.approx((49.9, 49.9, 350.1, 250.1), abs=1e-6)


@pytest.mark.parametrize(("holes", "diameter"), [("tube", 16.0), ("bore", 11.8), ("fitting", 22.0)])
def test_port_holes_as_chosen(holes: str, diameter: float) -> None:
    document = simple(
        ports=[{"id": "P1", "x_mm": 100, "y_mm": 100, "fitting_diameter_mm": 22},
               {"id": "P2", "x_mm": 180, "y_mm": 100}],
        loop={"tube_outer_diameter_mm": 16, "tube_inner_diameter_mm": 10},
        test_piece={"port_holes": holes, "kerf_mm": 0},
    )  # fmt: skip
    first = next(entity for entity in on(cut(document), "CUT_INNER") if entity.centre == (100.0, 100.0))
    assert 2 * first.radius == pytest.approx(diameter, abs=1e-6)


@pytest.mark.parametrize("kerf", [0.0, 0.1, 0.3, 1.0])
def test_what_the_beam_leaves_measures_right(kerf: float) -> None:
    """A beam as wide as the kerf follows every contour: the piece that is left is the drawn one."""
    document = simple(test_piece={"kerf_mm": kerf})
    rings = [shapely.LinearRing(entity.ring()) for entity in cut(document) if entity.layer.startswith("CUT")]
    sheet = shapely.box(0, 0, 400, 300)
    slit = shapely.union_all([ring.buffer(kerf / 2, quad_segs=64) if kerf else ring.buffer(1e-6) for ring in rings])
    pieces = shapely.get_parts(sheet.difference(slit)).tolist()
    piece = next(part for part in pieces if part.contains(shapely.Point(60, 240)) and part.area < 70_000)
    left, front, right, rear = piece.bounds
    assert (right - left, rear - front) == pytest.approx((300.0, 200.0), abs=0.002)
    holes = sorted(Polygon(ring).area for ring in piece.interiors)
    slot = 7 * 5 + math.pi / 4 * 5**2
    expected = sorted(
        [math.pi / 4 * 11.8**2] * 2 + [math.pi / 4 * 4.5**2, slot, 60 * 20 - (4 - math.pi) * 4**2]
    )  # fmt: skip
    # 0.01 mm on the size of each.
    assert [math.sqrt(area) for area in holes] == pytest.approx([math.sqrt(area) for area in expected], abs=0.01)


def test_moving_a_marker_changes_only_its_own_lines() -> None:
    before = simple()
    plain = to_plain(before)
    plain["holes"][0]["x_mm"] += 2.5
    after = from_plain(plain)
    one, other = cut(before), cut(after)
    assert [entity.handle for entity in one] == [entity.handle for entity in other]
    moved = [(a, b) for a, b in zip(one, other, strict=True) if a.tags != b.tags]
    # The hole's circle, and the strokes of its label.
    assert [a.layer for a, _ in moved].count("CUT_INNER") == 1
    assert all(abs(b.points[0][0] - a.points[0][0] - 2.5) < 1e-6 for a, b in moved)
    assert len(moved) < 8
    data = [export_sheet(d, build(d), "test-piece", "dxf").splitlines() for d in (before, after)]
    assert len(data[0]) == len(data[1])


def test_a_bay_with_a_mouth_narrower_than_the_kerf_is_cut_as_a_hole() -> None:
    """A square on its corner reaches 0.04 mm over the front edge: its mouth, 0.08 mm, is less than the kerf of 0.2."""
    square = {**rectangle(200, 49.96 + 10 * math.sqrt(2), 20, 20), "turn_deg": 45}
    document = simple(cutouts=[{"id": "K1", "outline": square}], test_piece={"kerf_mm": 0.2})
    found = cut(document)
    (outline,) = on(found, "CUT_OUTER")
    assert Polygon(outline.ring()).area == pytest.approx(300.2 * 200.2, abs=0.1)
    hole = next(p for p in (Polygon(e.ring()) for e in on(found, "CUT_INNER")) if p.contains(shapely.Point(200, 64)))
    # Smaller by the kerf all round, and by the corner that the front edge cuts off.
    assert hole.area == pytest.approx(19.8**2, abs=0.1)
    assert any("mouth" in note for note in make_sheet(document, build(document), "test-piece").notes)


def test_small_holes_are_marked_not_cut() -> None:
    document = simple(
        test_piece={"thickness_mm": 6},
        holes=[{"id": "H1", "x_mm": 70, "y_mm": 70, "diameter_mm": 2.9}, {"id": "H2", "x_mm": 70, "y_mm": 90,
               "diameter_mm": 3.0}],
        cutouts=[{"id": "K1", "outline": rectangle(250, 100, 60, 2.5)}],
    )  # fmt: skip
    found = cut(document)
    places = [entity.centre for entity in on(found, "CUT_INNER") if entity.kind == "CIRCLE"]
    assert (70.0, 90.0) in places  # just half the thickness
    assert (70.0, 70.0) not in places
    assert len(on(found, "CUT_INNER")) == 3  # two ports and H2
    notes = make_sheet(document, build(document), "test-piece").notes
    assert any(note.startswith("H1 is 2.9 mm across, less than half the sheet's 6 mm") for note in notes)
    assert any(note.startswith("K1 is 2.5 mm across") for note in notes)


def test_holes_that_meet_become_one_and_doubles_are_cut_once() -> None:
    document = simple(
        holes=[{"id": "H1", "x_mm": 70, "y_mm": 70}, {"id": "H2", "x_mm": 70, "y_mm": 70},
               {"id": "H3", "x_mm": 120, "y_mm": 200}, {"id": "H4", "x_mm": 350, "y_mm": 150},
               {"id": "H5", "x_mm": 390, "y_mm": 150}, {"id": "H6", "x_mm": 280, "y_mm": 110}],
        cutouts=[{"id": "K1", "outline": rectangle(250, 100, 60, 20, 4)},
                 {"id": "K2", "outline": circle(120, 200, 20)}],
        test_piece={"kerf_mm": 0},
    )  # fmt: skip
    found = cut(document)
    polygons = [Polygon(entity.ring()) for entity in on(found, "CUT_INNER")]
    assert len(polygons) == 5  # two ports, H1, K2 with H3 in it, and K1 with H6 in its corner
    (outline,) = on(found, "CUT_OUTER")
    # Half of H4, 4.5 mm, is bitten out of the right edge.
    assert 300 * 200 - Polygon(outline.ring()).area == pytest.approx(math.pi / 8 * 4.5**2, abs=0.02)
    disc = shapely.Point(280, 110).buffer(2.25, quad_segs=256)
    joined = next(p for p in polygons if p.contains(shapely.Point(250, 100)))
    cutout = shapely.box(220, 90, 280, 110).buffer(-4).buffer(4, quad_segs=256)
    assert joined.area == pytest.approx(cutout.union(disc).area, abs=0.2)
    said = " ".join(make_sheet(document, build(document), "test-piece").notes)
    for words in (
        "H2 is the same hole as H1",
        "H3 lies within K2",
        "H6+K1 run into each other",
        "H4 runs over",
        "H5 lies outside",
    ):
        assert words in said


@pytest.mark.parametrize("tabs", [1, 3, 8])
def test_tabs_hold_and_measure_right(tabs: int) -> None:
    width, kerf = 1.5, 0.3
    document = simple(test_piece={"tabs": tabs, "tab_width_mm": width, "kerf_mm": kerf})
    runs = [entity for entity in cut(document) if entity.layer == "CUT_OUTER"]
    assert len(runs) == tabs
    assert not any(entity.closed for entity in runs)
    # The beam leaves a bridge of the asked width: the gap between two runs is a kerf wider.
    ends = [entity.ring()[-1] for entity in runs]
    starts = [entity.ring()[0] for entity in runs]
    for n in range(tabs):
        assert math.dist(ends[n], starts[(n + 1) % tabs]) == pytest.approx(width + kerf, abs=1e-6)
    # All on straight edges, away from the corners.
    corners = [(49.85, 49.85), (350.15, 49.85), (350.15, 250.15), (49.85, 250.15)]
    assert all(math.dist(end, corner) > width for end in (*ends, *starts) for corner in corners)


def test_too_many_tabs_are_refused() -> None:
    document = simple(test_piece={"tabs": 40, "tab_width_mm": 20})
    with pytest.raises(ExportError, match="40 tabs do not fit"):
        cut(document)


def test_marks_say_which_piece_this_is() -> None:
    document = simple()
    with_label, without = cut(document, label="R7"), cut(document)
    outline = Polygon(on(with_label, "CUT_OUTER")[0].ring())
    marks = [shapely.LineString(entity.ring() if entity.kind != "LINE" else [p[:2] for p in entity.points])
             for entity in on(with_label, "MARK")]  # fmt: skip
    assert all(outline.contains(mark) for mark in marks), "every mark is on the piece"
    strokes = len(on(with_label, "MARK")) - len(on(without, "MARK"))
    assert strokes >= 3  # R is two strokes, 7 is one
    lengths = [math.dist(*[p[:2] for p in e.points]) for e in on(with_label, "MARK") if e.kind == "LINE"]
    assert any(abs(length - 100.0) < 1e-9 for length in lengths), "the check line"


def test_the_arrow_points_to_the_rear() -> None:
    marks = [entity for entity in on(cut(simple()), "MARK") if entity.kind in ("LINE", "LWPOLYLINE")]
    shafts = [e for e in marks if e.kind == "LINE" and e.points[0][0] == e.points[1][0]
              and abs(e.points[1][1] - e.points[0][1] - 10) < 1e-9]  # fmt: skip
    heads = [e for e in marks if e.kind == "LWPOLYLINE" and len(e.points) == 3]
    assert any(head.points[1][:2] == shaft.points[1][:2] and head.points[0][1] < head.points[1][1] for shaft in shafts
               for head in heads)  # fmt: skip


def test_an_outline_that_crosses_itself_is_refused() -> None:
    bow = {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in ((0, 0), (90, 90), (90, 0), (0, 90))]}
    document = plate(plate={"outline": bow})
    with pytest.raises(ExportError, match="crosses itself"):
        cut(document)


@settings(max_examples=40, deadline=None)
@example(holes=[(70.0, 71.0, 40.0)], kerf=0.0)  # touches the edge at one point
@given(
    holes=st.lists(st.tuples(st.floats(55, 345), st.floats(55, 245), st.floats(3, 40)), min_size=1, max_size=8),
    kerf=st.floats(0, 0.5),
)
def test_any_holes_can_be_cut(holes: list[tuple[float, float, float]], kerf: float) -> None:
    """However holes fall, the contours are closed, valid, apart, and leave the material that the drawing leaves."""
    document = plate(
        cutouts=[{"id": f"K{n}", "outline": circle(x, y, d)} for n, (x, y, d) in enumerate(holes)],
        test_piece={"kerf_mm": round(kerf, 2)},
    )
    found = cut(document)
    polygons = contours(found)
    assert all(polygon.is_valid for polygon in polygons)
    for one, other in itertools.combinations(polygons[:-1], 2):
        assert not one.overlaps(other)
    half = round(kerf, 2) / 2
    piece = polygons[-1].difference(shapely.union_all(polygons[:-1])).buffer(-half, join_style="mitre")
    discs = [shapely.Point(x, y).buffer(d / 2, quad_segs=64) for x, y, d in holes]
    wanted = shapely.box(50, 50, 350, 250).difference(shapely.union_all(discs))
    largest = max(shapely.get_parts(wanted).tolist(), key=lambda part: part.area)
    if shapely.get_num_geometries(wanted) == 1:
        # Slivers between holes narrower than the kerf burn away; all else is there to a hundredth along every edge.
        missing = largest.difference(piece.buffer(0.02)).buffer(-half - 0.02)
        surplus = piece.difference(largest.buffer(0.02)).buffer(-0.02)
        assert missing.area < 0.05
        assert surplus.area < 0.05


def test_same_bytes_twice() -> None:
    document = read(EXAMPLES[0])
    one, other = (export_sheet(document, build(document), "test-piece", "dxf", label="R2") for _ in range(2))
    assert one == other
