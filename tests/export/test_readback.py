"""A drawing comes back from the shop: changed here with ezdxf or as text, as another program would."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Callable
from pathlib import Path

import ezdxf
import pytest
from ezdxf.document import Drawing
from ezdxf.math import rational_bspline_from_arc
from ezdxf.path import make_path
from hypothesis import given, settings
from hypothesis import strategies as st

from sketcher.document import read
from sketcher.export import ExportError, ReadBack, export_sheet, read_back
from sketcher.geometry import build
from tests.checks.plates import circle, plate
from tests.export.test_final import machined
from tests.export.test_test_piece import EXAMPLES


def returned(change: Callable[[Drawing], None], sheet: str = "final") -> ReadBack:
    document = machined()
    shapes = build(document)
    drawing = ezdxf.read(io.StringIO(export_sheet(document, shapes, sheet, "dxf").decode()))
    change(drawing)
    stream = io.StringIO()
    drawing.write(stream)
    return read_back(document, shapes, stream.getvalue().encode(), "dxf")


def bore(drawing: Drawing):
    return next(e for e in drawing.modelspace() if "BORE_D8.8" in e.dxf.layer)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda path: path.stem)
@pytest.mark.parametrize("kind", ["dxf", "svg"])
@pytest.mark.parametrize("sheet", ["final", "test-piece"])
def test_our_own_drawing_comes_back_the_same(path: Path, kind: str, sheet: str) -> None:
    document = read(path)
    shapes = build(document)
    answer = read_back(document, shapes, export_sheet(document, shapes, sheet, kind), kind)  # type: ignore[arg-type]
    assert answer.sheet == sheet
    assert answer.rows
    assert {row.what for row in answer.rows} == {"same"}
    assert answer.shift == (0.0, 0.0)


def test_saved_again_by_another_program_it_is_the_same() -> None:
    answer = returned(lambda drawing: None)
    assert {row.what for row in answer.rows} == {"same"}


def test_a_moved_port_is_named_with_its_move() -> None:
    answer = returned(lambda drawing: bore(drawing).translate(0.5, -0.02, 0))
    (row,) = answer.of("moved")
    assert (row.item, row.layer) == ("P2", "BODY_BORE_D8.8_FROM_ABOVE_DEPTH_12.5")
    assert row.shift == pytest.approx((0.5, -0.02), abs=1e-6)
    assert len(answer.of("same")) == len(answer.rows) - 1


@pytest.mark.parametrize(("by", "what"), [(0.009, "same"), (0.012, "moved")])
def test_a_hundredth_is_the_limit(by: float, what: str) -> None:
    answer = returned(lambda drawing: bore(drawing).translate(by, 0, 0))
    assert {row.what for row in answer.rows if row.item == "P2" and "BORE" in row.layer} == {what}


def test_resized_missing_and_added() -> None:
    def change(drawing: Drawing) -> None:
        bore(drawing).dxf.radius = 4.5
        space = drawing.modelspace()
        space.delete_entity(next(e for e in space if "TAP" in e.dxf.layer))
        space.add_circle((77, 88), 2.0)
        space.add_lwpolyline([(200, 200), (230, 200), (230, 220), (200, 220)], close=True)

    answer = returned(change)
    (resized,) = answer.of("resized")
    assert (resized.item, resized.size, resized.size_now) == ("P2", pytest.approx(8.8), pytest.approx(9.0))
    assert [row.item for row in answer.of("missing")] == ["S1"]
    assert sorted(row.at for row in answer.of("added")) == [
        pytest.approx((77, 88), abs=1e-6), pytest.approx((215, 210), abs=1e-6)
    ]  # fmt: skip
    assert answer.as_json()["counts"]["added"] == 2


def test_a_drawing_that_sits_elsewhere_is_compared_all_the_same() -> None:
    def change(drawing: Drawing) -> None:
        for entity in drawing.modelspace():
            entity.translate(-50, 12.5, 0)
        bore(drawing).translate(1, 0, 0)

    answer = returned(change)
    assert answer.shift == pytest.approx((-50, 12.5), abs=1e-6)
    assert "The whole drawing sits 50.000 mm left and 12.500 mm rear of ours." in answer.messages
    assert [row.item for row in answer.of("moved")] == ["P2"]
    assert not answer.of("added")


@pytest.mark.parametrize("by", [(-272.0, 0.0), (-340.0, 0.0), (340.0, 0.0), (1234.5, -987.25), (0.0, 0.03125)])
def test_a_body_that_lies_where_the_lid_was_is_not_taken_for_it(by: tuple[float, float]) -> None:
    """Body and lid have the same outline, 340 mm apart: the place at which most is found tells which is which."""
    answer = returned(lambda drawing: [entity.translate(*by, 0) for entity in drawing.modelspace()])
    assert answer.shift == pytest.approx(by, abs=1e-6)
    assert {row.what for row in answer.rows} == {"same"}


def test_a_round_plate_that_sits_elsewhere() -> None:
    document = plate(plate={"outline": circle(200, 150, 200)}, ports=[{"id": "P1", "x_mm": 180, "y_mm": 150}])
    shapes = build(document)
    drawing = ezdxf.read(io.StringIO(export_sheet(document, shapes, "test-piece", "dxf").decode()))
    for entity in drawing.modelspace():
        entity.translate(-100, -50, 0)
    stream = io.StringIO()
    drawing.write(stream)
    answer = read_back(document, shapes, stream.getvalue().encode(), "dxf")
    assert (answer.sheet, answer.shift) == ("test-piece", pytest.approx((-100, -50), abs=1e-6))
    assert len(answer.of("same")) == len(answer.rows) == 2


def outline(drawing: Drawing):
    return next(e for e in drawing.modelspace() if e.dxf.layer.startswith("BODY_OUTLINE"))


def test_an_outline_that_moved_alone_is_all_that_moved() -> None:
    answer = returned(lambda drawing: outline(drawing).translate(2, 0, 0))
    (row,) = answer.of("moved")
    assert (row.item, row.shift, row.words()) == ("plate", pytest.approx((2, 0), abs=1e-6), "2.000 mm to the right")
    assert answer.shift == (0.0, 0.0)
    assert len(answer.of("same")) == len(answer.rows) - 1


@pytest.mark.parametrize(("wider", "what"), [(0.018, "same"), (0.1, "resized")])
def test_an_outline_a_tenth_wider_is_not_the_same(wider: float, what: str) -> None:
    """300 mm become 300.1 about the same middle: an area only a 3000th larger, but edges that stray by 0.05 mm."""

    def change(drawing: Drawing) -> None:
        entity = outline(drawing)
        entity.set_points([(200 + (x - 200) * (300 + wider) / 300, y, b) for x, y, b in entity.get_points("xyb")],
                          format="xyb")  # fmt: skip

    (row,) = [row for row in returned(change).rows if row.layer.startswith("BODY_OUTLINE")]
    assert row.what == what
    assert row.strays == pytest.approx(wider / 2, abs=1e-6)


def test_a_notch_in_the_outline_is_seen() -> None:
    def change(drawing: Drawing) -> None:
        points = [(50, 50), (350, 50), (350, 250), (210, 250), (210, 240), (200, 240), (200, 250), (50, 250)]
        outline(drawing).set_points(points, format="xy")

    (row,) = [row for row in returned(change).rows if row.layer.startswith("BODY_OUTLINE")]
    assert row.what == "resized"
    assert row.strays == pytest.approx(10, abs=0.5)
    assert "strays" in row.words()


def test_a_hole_that_is_moved_and_larger_is_still_the_hole() -> None:
    def change(drawing: Drawing) -> None:
        bore(drawing).translate(0.5, 0, 0)
        bore(drawing).dxf.radius = 4.5

    (row,) = [row for row in returned(change).rows if row.item == "P2" and "BORE" in row.layer]
    assert (row.what, row.size_now) == ("resized", pytest.approx(9.0))
    assert row.words() == "0.500 mm to the right, 9.000 mm across instead of 8.800"


def test_each_port_says_how_far_it_is_off() -> None:
    def change(drawing: Drawing) -> None:
        bore(drawing).translate(0.3, 0.4, 0)
        space = drawing.modelspace()
        space.delete_entity(next(e for e in space if e.dxf.layer.startswith("EDGE_BORE")))

    ports = {row["id"]: row for row in returned(change).as_json()["ports"]}
    assert set(ports) == {"P1", "P2", "P3", "P4"}
    assert ports["P1"] == {"id": "P1", "same": True, "off_mm": 0.0}
    assert ports["P2"] == {"id": "P2", "same": False, "off_mm": pytest.approx(0.5, abs=1e-6)}
    assert ports["P3"] == {"id": "P3", "same": False, "off_mm": None}


@settings(max_examples=10, deadline=None)
@given(
    whole=st.tuples(st.floats(-900, 900), st.floats(-900, 900)),
    moves=st.dictionaries(st.integers(0, 7), st.tuples(st.floats(0.02, 3), st.floats(-3, 3)), max_size=4),
)
def test_any_moves_in_a_drawing_that_sits_anywhere_are_recovered(
    whole: tuple[float, float], moves: dict[int, tuple[float, float]]
) -> None:
    """The moves are made here: what is found is what was done, whichever contours moved and wherever all of it lies."""
    names: dict[int, tuple[str, str]] = {}

    def change(drawing: Drawing) -> None:
        holes = [e for e in drawing.modelspace() if "BORE" in e.dxf.layer
                 or "HOLE" in e.dxf.layer or "CUTOUT" in e.dxf.layer]  # fmt: skip
        for number, entity in enumerate(holes[:8]):
            dx, dy = moves.get(number, (0.0, 0.0))
            names[number] = (entity.dxf.layer, entity.dxf.handle)
            entity.translate(dx, dy, 0)
        for entity in drawing.modelspace():
            entity.translate(*whole, 0)

    answer = returned(change)
    expected = whole if math.hypot(*whole) > 0.01 else (0.0, 0.0)
    assert answer.shift == pytest.approx(expected, abs=0.01)
    done = sorted(names[n][0] for n in moves)
    assert sorted(row.layer for row in answer.of("moved")) == done
    found = sorted(tuple(round(v, 3) for v in row.shift or ()) for row in answer.of("moved"))
    assert found == [pytest.approx(move, abs=0.011) for move in sorted(moves.values())]
    assert not answer.of("added")
    assert not answer.of("missing")


def test_a_drawing_in_inches_is_read_in_inches() -> None:
    def change(drawing: Drawing) -> None:
        for entity in drawing.modelspace():
            entity.scale_uniform(1 / 25.4)
        drawing.header["$INSUNITS"] = 1

    answer = returned(change)
    assert answer.unit == "in"
    assert {row.what for row in answer.rows} == {"same"}


@pytest.mark.parametrize(
    ("scale", "turn", "words"),
    [((-1, 1), 0, "mirrored left to right"), ((1, -1), 0, "mirrored front to rear"), ((1, 1), 180, "turned by half"),
     ((1, 1), 90, "turned a quarter to the left"), ((1, 1), -90, "turned a quarter to the right"),
     ((-1, 1), 90, "mirrored and turned a quarter the other way")],
)  # fmt: skip
def test_a_turned_or_mirrored_drawing_is_said_to_be(scale: tuple[int, int], turn: int, words: str) -> None:
    def change(drawing: Drawing) -> None:
        for entity in drawing.modelspace():
            entity.scale(*scale, 1)
            entity.rotate_z(math.radians(turn))
            entity.translate(900, 137, 0)

    answer = returned(change)
    assert {row.what for row in answer.rows} == {"same"}
    assert any(f"The drawing is ours {words};" in message for message in answer.messages)


def relayered(part: str, new: str) -> ReadBack:
    """The first contour on a layer with this in its name, put on another layer: only the layer carries the change."""

    def change(drawing: Drawing) -> None:
        entity = next(e for e in drawing.modelspace() if part in e.dxf.layer)
        entity.dxf.layer = new

    return returned(change)


@pytest.mark.parametrize(
    ("part", "new", "words"),
    [
        ("BODY_BORE_D8.8_FROM_ABOVE", "BODY_BORE_D8.8_FROM_ABOVE_DEPTH_9", "9 mm deep instead of 12.5 mm deep"),
        ("BODY_BORE_D8.8_FROM_ABOVE", "BODY_BORE_D8.8_FROM_BELOW_DEPTH_12.5", "from below instead of from above"),
        ("BODY_BORE_D8.8_FROM_ABOVE", "BODY_BORE_D8.8_THROUGH_20", "through 20 mm instead of 12.5 mm deep"),
        ("BODY_THREAD_G1-8", "BODY_THREAD_G1-4_FROM_ABOVE_DEPTH_9", "thread G1/4 instead of thread G1/8"),
        ("BODY_TAP_M4", "BODY_HOLE_D3.3_FROM_BELOW_DEPTH_8.7", "a hole instead of a tapped hole"),
        ("BODY_OUTLINE", "BODY_OUTLINE_THROUGH_18", "through 18 mm instead of through 20 mm"),
    ],
)
def test_what_the_layer_says_is_a_difference_and_comes_first(part: str, new: str, words: str) -> None:
    answer = relayered(part, new)
    assert [row.what for row in answer.rows if row.what != "same"] == ["changed"]
    assert answer.rows[0].words() == words
    assert answer.as_json()["rows"][0]["work"] == [words]


def test_a_change_of_depth_comes_before_a_move() -> None:
    def change(drawing: Drawing) -> None:
        bore(drawing).translate(1.0, 0, 0)
        bore(drawing).dxf.layer = "BODY_BORE_D8.8_FROM_ABOVE_DEPTH_9"
        outline(drawing).translate(2, 0, 0)

    answer = returned(change)
    assert [row.what for row in answer.rows[:2]] == ["changed", "moved"]
    assert answer.rows[0].words() == "9 mm deep instead of 12.5 mm deep, 1.000 mm to the right"


def test_layers_that_are_not_ours_are_said_to_be() -> None:
    answer = returned(lambda drawing: [e.dxf.set("layer", "0") for e in drawing.modelspace()])
    assert {row.what for row in answer.rows if row.layer} == {"same"}
    assert any("could not be compared" in message for message in answer.messages)


@pytest.mark.parametrize("kind", ["turned", "mirrored", "in inches", "97 %"])
def test_however_it_lies_the_rest_is_compared(kind: str) -> None:
    """A port moved by 0.5 mm and a depth changed are found in a drawing that is turned, mirrored or of another size."""

    def change(drawing: Drawing) -> None:
        bore(drawing).translate(0.5, 0, 0)
        next(e for e in drawing.modelspace() if "TAP" in e.dxf.layer).dxf.layer = "BODY_TAP_M4_D3.3_FROM_BELOW_DEPTH_5"
        for entity in drawing.modelspace():
            if kind == "turned":
                entity.rotate_z(math.radians(-23.4))
            elif kind == "mirrored":
                entity.scale(1, -1, 1)
                entity.rotate_z(math.radians(12))
            else:
                entity.scale_uniform(1 / 25.4 if kind == "in inches" else 0.97)
            entity.translate(31, -17, 0)

    answer = returned(change)
    assert [row.what for row in answer.rows if row.what != "same"] == ["changed", "moved"]
    assert answer.rows[1].item == "P2"
    assert answer.rows[1].shift == pytest.approx((0.5, 0.0), abs=0.005)
    assert answer.pose.mirrored is (kind == "mirrored")
    assert answer.pose.turn_deg == pytest.approx({"turned": -23.4, "mirrored": 12.0}.get(kind, 0.0), abs=1e-3)
    assert answer.pose.scale == pytest.approx({"in inches": 1 / 25.4, "97 %": 0.97}.get(kind, 1.0), rel=1e-5)
    assert any({"turned": "turned 23.40° to the right", "mirrored": "does not fit", "in inches": "numbers are inches",
                "97 %": "97.000 % of its true size"}[kind] in message for message in answer.messages)  # fmt: skip


@pytest.mark.parametrize("turn", [0, 90])
def test_a_lid_that_was_nested_elsewhere(turn: int) -> None:
    def change(drawing: Drawing) -> None:
        for entity in drawing.modelspace():
            if entity.dxf.layer.startswith("LID"):
                entity.rotate_z(math.radians(turn))
                entity.translate(-123.5, 456.25, 0)
        bore(drawing).translate(0.5, 0, 0)

    answer = returned(change)
    assert [row.item for row in answer.rows if row.what != "same"] == ["P2"]
    (part,) = answer.parts
    assert part.part == "LID"
    assert part.pose.shift == pytest.approx((-123.5, 456.25), abs=0.01)
    assert part.pose.turn_deg == pytest.approx(turn, abs=1e-3)
    assert any(message.startswith("The lid lies elsewhere") for message in answer.messages)


@pytest.mark.parametrize("sides", [12, 17, 32, 90])
def test_circles_drawn_as_polygons_are_circles(sides: int) -> None:
    def change(drawing: Drawing) -> None:
        space = drawing.modelspace()
        for circle_ in list(space.query("CIRCLE")):
            (x, y, _), r, layer = circle_.dxf.center, circle_.dxf.radius, circle_.dxf.layer
            points = [(x + r * math.cos(math.tau * k / sides), y + r * math.sin(math.tau * k / sides))
                      for k in range(sides)]  # fmt: skip
            space.add_lwpolyline(points, close=True, dxfattribs={"layer": layer})
            space.delete_entity(circle_)

    answer = returned(change)
    assert {row.what for row in answer.rows} == {"same"}
    # the sagitta of the largest circle: r (1 - cos(pi / n))
    largest = max(row.size for row in answer.rows if row.round and row.size)
    flat = largest / 2 * (1 - math.cos(math.pi / sides))
    if flat > 0.01:
        assert any(f"up to {flat:.3f} mm inside" in message for message in answer.messages)


def test_a_hexagon_stays_one() -> None:
    def change(drawing: Drawing) -> None:
        points = [(77 + 4 * math.cos(math.tau * k / 6), 88 + 4 * math.sin(math.tau * k / 6)) for k in range(6)]
        drawing.modelspace().add_lwpolyline(points, close=True)

    (row,) = returned(change).of("added")
    assert not row.round


def test_words_never_say_a_negative_length() -> None:
    answer = returned(lambda drawing: [e.translate(-67, -3, 0) for e in drawing.modelspace()])
    assert "The whole drawing sits 67.000 mm left and 3.000 mm front of ours." in answer.messages
    assert "-67" not in " ".join(answer.messages)


def test_what_is_no_drawing_is_refused() -> None:
    document = machined()
    shapes = build(document)
    for data, kind in ((b"", "dxf"), (b"hello", "dxf"), (b"<svg", "svg"), (b"<html/>", "svg")):
        with pytest.raises(ExportError):
            read_back(document, shapes, data, kind)  # type: ignore[arg-type]
    with pytest.raises(ExportError, match="larger than"):
        read_back(document, shapes, b"0" * 20_000_001, "dxf")


def _in_pieces(drawing: Drawing) -> None:
    """Polylines as loose lines and arcs, circles as arcs of a third, as a program without closed contours writes."""
    space = drawing.modelspace()
    for line in list(space.query("LWPOLYLINE")):
        line.explode()
    for whole in list(space.query("CIRCLE")):
        for k in range(3):
            space.add_arc(whole.dxf.center, whole.dxf.radius, 120 * k + 7, 120 * k + 127, dxfattribs=_layer(whole))
        space.delete_entity(whole)


def _as_splines(drawing: Drawing) -> None:
    """Every arc and circle as the rational spline that is the same curve."""
    _in_pieces(drawing)
    space = drawing.modelspace()
    for arc in list(space.query("ARC")):
        tool = arc.construction_tool()
        span = (tool.end_angle - tool.start_angle) % 360
        curve = rational_bspline_from_arc(
            center=tool.center, radius=tool.radius, start_angle=tool.start_angle, end_angle=tool.start_angle + span
        )
        space.add_spline(dxfattribs=_layer(arc)).apply_construction_tool(curve)
        space.delete_entity(arc)


def _as_ellipses(drawing: Drawing) -> None:
    space = drawing.modelspace()
    for whole in list(space.query("CIRCLE")):
        space.add_ellipse(whole.dxf.center, (whole.dxf.radius, 0), ratio=1.0, dxfattribs=_layer(whole))
        space.delete_entity(whole)


def _in_a_block(drawing: Drawing) -> None:
    """All in one block, inserted at half size and doubled again by a second block round it."""
    space = drawing.modelspace()
    inner, outer = drawing.blocks.new("INNER"), drawing.blocks.new("OUTER")
    for entity in list(space):
        inner.add_entity(entity.copy())
        space.delete_entity(entity)
    outer.add_blockref("INNER", (5, 7), dxfattribs={"xscale": 0.5, "yscale": 0.5})
    space.add_blockref("OUTER", (-10, -14), dxfattribs={"xscale": 2.0, "yscale": 2.0})


def _layer(entity) -> dict[str, str]:
    return {"layer": entity.dxf.layer}


def _small_letters(drawing: Drawing) -> None:
    for entity in drawing.modelspace():
        entity.dxf.layer = entity.dxf.layer.lower()


WRITTEN = [_in_pieces, _as_splines, _as_ellipses, _in_a_block, _small_letters]


@pytest.mark.parametrize("write", WRITTEN, ids=lambda one: one.__name__.strip("_"))
def test_however_another_program_writes_it_the_same_is_the_same(write: Callable[[Drawing], None]) -> None:
    """The same curves by other entities; and one bore moved by half a millimetre is all that is named."""
    assert {row.what for row in returned(write).rows} == {"same"}

    def moved(drawing: Drawing) -> None:
        bore(drawing).translate(0.5, 0, 0)
        write(drawing)

    rows = [row for row in returned(moved).rows if row.what != "same"]
    assert [(row.item, row.what) for row in rows] == [("P2", "moved")]


def _polygons(drawing: Drawing, sides: int, *, outside: bool = False) -> None:
    """Every circle as a polygon, its corners on the circle or (``outside``) its sides touching it."""
    space = drawing.modelspace()
    for whole in list(space.query("CIRCLE")):
        (x, y, _), r = whole.dxf.center, whole.dxf.radius / (math.cos(math.pi / sides) if outside else 1.0)
        corners = [(x + r * math.cos(math.tau * k / sides), y + r * math.sin(math.tau * k / sides))
                   for k in range(sides)]  # fmt: skip
        space.add_lwpolyline(corners, close=True, dxfattribs=_layer(whole))
        space.delete_entity(whole)


def _straightened(drawing: Drawing, within: float) -> None:
    """Every polyline with its arcs as straight lines, ``within`` mm of them."""
    space = drawing.modelspace()
    for line in list(space.query("LWPOLYLINE")):
        corners = [(v.x, v.y) for v in make_path(line).flattening(within)]
        if line.closed and math.dist(corners[0], corners[-1]) < 1e-9:
            corners.pop()
        space.add_lwpolyline(corners, close=line.closed, dxfattribs=_layer(line))
        space.delete_entity(line)


def test_circles_as_polygons_about_them_are_circles_too() -> None:
    answer = returned(lambda drawing: _polygons(drawing, 24, outside=True))
    assert (answer.sheet, {row.what for row in answer.rows}) == ("final", {"same"})


def test_arcs_as_coarse_lines_are_each_held_against_their_own() -> None:
    """The two edges of a groove have one middle: neither is taken for the other, and nothing is added."""
    answer = returned(lambda drawing: _straightened(drawing, 0.05))
    assert {row.what for row in answer.rows} == {"same", "resized"}
    assert max(row.strays or 0.0 for row in answer.rows) <= 0.06  # the tolerance, and a hundredth of our own chords


@pytest.mark.parametrize(
    ("mirrored", "size", "words"), [(True, 25.4, "25.4 times as large"), (False, 1 / 25.4, "25.4 times smaller")]
)
def test_everything_at_once(mirrored: bool, size: float, words: str) -> None:
    """A port moved and a depth changed, in a drawing with the lid elsewhere, circles as polygons and arcs as lines, all
    turned by 7.3 degrees, mirrored, of another unit and elsewhere: these two differences and no other."""

    def change(drawing: Drawing) -> None:
        bore(drawing).translate(0.5, 0, 0)
        next(e for e in drawing.modelspace() if "TAP" in e.dxf.layer).dxf.layer = "BODY_TAP_M4_D3.3_FROM_BELOW_DEPTH_5"
        for entity in drawing.modelspace():
            if entity.dxf.layer.startswith("LID"):
                entity.rotate_z(math.radians(90))
                entity.translate(-300, 350, 0)
        _polygons(drawing, 24)
        _straightened(drawing, 0.01)
        for entity in drawing.modelspace():
            if mirrored:
                entity.scale(1, -1, 1)
            entity.rotate_z(math.radians(7.3))
            entity.scale_uniform(size)
            entity.translate(111, -57, 0)

    answer = returned(change)
    assert [(row.what, row.item) for row in answer.rows if row.what != "same"][1:] == [("moved", "P2")]
    assert answer.rows[0].words().startswith("5 mm deep instead of 8.7 mm deep")
    assert [part.part for part in answer.parts] == ["LID"]
    assert (answer.pose.mirrored, answer.pose.scale) == (mirrored, pytest.approx(size))
    assert any(words in message for message in answer.messages)
    # the flats as they are at true size: r (1 - cos(pi / 24)) of the largest circle
    largest = max(row.size for row in answer.rows if row.round and row.size)
    flat = float(re.search(r"up to ([\d.]+) mm inside", " ".join(answer.messages))[1])  # type: ignore[index]
    assert flat == pytest.approx(largest / 2 * (1 - math.cos(math.pi / 24)), abs=0.002)
