"""Floors from DXF and SVG: shapes at true size, units asked for, and what is refused."""

import io
import math

import ezdxf
import pytest
from ezdxf.enums import InsertUnits
from hypothesis import given, settings
from hypothesis import strategies as st
from svgwrite import Drawing as SvgDrawing

from sketcher.importing import floor_import
from sketcher.importing.floor_import import DrawingError, UnitUnknown
from sketcher.importing.outline_joining import Piece, closed_loops
from tests.survey.surveys import document


def dxf(draw, units=InsertUnits.Millimeters, version="R2010"):
    doc = ezdxf.new(version)
    doc.header["$INSUNITS"] = int(units)
    draw(doc.modelspace(), doc)
    stream = io.StringIO()
    doc.write(stream)
    return stream.getvalue().encode(doc.output_encoding)


def svg(body, size='width="300mm" height="200mm" viewBox="0 0 300 200"', head=""):
    return f'{head}<svg xmlns="http://www.w3.org/2000/svg" {size}>{body}</svg>'.encode()


def corners(outline):
    return {(round(v.x_mm, 3), round(v.y_mm, 3)) for v in outline.vertices}


SQUARE = {(0, 0), (300, 0), (300, 200), (0, 200)}


def test_a_dxf_floor_with_holes():
    def draw(space, _):
        space.add_lwpolyline([(10, 20), (310, 20), (310, 220), (10, 220)], close=True)
        space.add_circle((60, 70), 4)
        space.add_circle((900, 70), 4)

    found = floor_import.from_bytes(dxf(draw), "dxf")
    assert corners(found.outline) == SQUARE
    (hole,) = found.inner
    assert (hole.x_mm, hole.y_mm, hole.diameter_mm) == (50, 50, 8)
    assert len(found.outer) == 1
    assert found.unit == "mm"


@pytest.mark.parametrize("version", ["R12", "R2000", "R2010", "R2013", "R2018"])
def test_versions(version):
    def draw(space, _):
        points = [(0, 0), (300, 0), (300, 200), (0, 200)]
        for one, other in zip(points, [*points[1:], points[0]], strict=True):
            space.add_line(one, other)

    assert corners(floor_import.from_bytes(dxf(draw, version=version), "dxf", "mm").outline) == SQUARE


@pytest.mark.parametrize(
    ("units", "size", "name"),
    [(InsertUnits.Inches, 10, "in"), (InsertUnits.Centimeters, 25.4, "cm"), (InsertUnits.Meters, 0.254, "m")],
)
def test_the_headers_unit_is_kept(units, size, name):
    found = floor_import.from_bytes(dxf(lambda s, _: s.add_circle((0, 0), size / 2), units), "dxf")
    assert found.outline.diameter_mm == pytest.approx(254.0)
    assert found.unit == name


def test_a_dxf_that_does_not_say_its_unit_is_asked_about():
    data = dxf(lambda s, _: s.add_circle((0, 0), 5), InsertUnits.Unitless)
    with pytest.raises(UnitUnknown) as caught:
        floor_import.from_bytes(data, "dxf")
    assert caught.value.options == ("mm", "cm", "m", "in")
    assert "say which: mm, cm, m, in" in str(caught.value)
    assert floor_import.from_bytes(data, "dxf", "in").outline.diameter_mm == 254.0
    with pytest.raises(DrawingError, match="'ell' is not known"):
        floor_import.from_bytes(data, "dxf", "ell")


def test_arcs_stay_arcs():
    """A slot of two lines and two arcs, drawn in any order and direction; its area by the textbook."""

    def draw(space, _):
        space.add_arc((90, 10), 10, -90, 90)
        space.add_line((90, 20), (10, 20))
        space.add_line((90, 0), (10, 0))
        space.add_arc((10, 10), 10, 90, 270)

    found = floor_import.from_bytes(dxf(draw), "dxf")
    assert sorted(round(v.bulge, 6) for v in found.outline.vertices) == [0, 0, 1, 1]
    # the same by hand
    loops = closed_loops([Piece((0, 0), (80, 0)), Piece((80, 0), (80, 20), 1.0), Piece((80, 20), (0, 20)),
                          Piece((0, 20), (0, 0), 1.0)])  # fmt: skip
    assert loops[0].area == pytest.approx(80 * 20 + math.pi * 10**2)


def test_bulges_blocks_and_mirrored_planes():
    def draw(space, doc):
        block = doc.blocks.new("FLOOR")
        block.add_lwpolyline([(0, 0, 0, 0, 0), (100, 0, 0, 0, 1), (100, 40, 0, 0, 0), (0, 40, 0, 0, 0)], close=True)
        space.add_blockref("FLOOR", (5, 5), dxfattribs={"rotation": 90, "xscale": 2, "yscale": 2})
        mirrored = space.add_circle((-50, 60), 3)
        mirrored.dxf.extrusion = (0, 0, -1)  # seen from below: x = 50

    found = floor_import.from_bytes(dxf(draw), "dxf")
    # turned by 90 degrees and doubled: 80 wide, 200 and a half circle of radius 40 deep
    xs = [v.x_mm for v in found.outline.vertices]
    assert max(xs) - min(xs) == pytest.approx(80)
    assert [v.bulge for v in found.outline.vertices if v.bulge] == [pytest.approx(1.0)]
    assert found.outer[0].diameter_mm == 6 or found.inner[0].diameter_mm == 6


def test_curves_become_short_lines():
    found = floor_import.from_bytes(dxf(lambda s, _: s.add_ellipse((0, 0), major_axis=(100, 0), ratio=0.5)), "dxf")
    points = [(v.x_mm - 100, v.y_mm - 50) for v in found.outline.vertices]
    assert len(points) > 20
    for x, y in points:
        assert (x / 100) ** 2 + (y / 50) ** 2 == pytest.approx(1.0, abs=0.002)


def test_layers_that_are_off_and_texts_are_left_out():
    def draw(space, doc):
        doc.layers.add("OFF").off()
        space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
        space.add_lwpolyline([(-50, -50), (400, -50), (400, 400), (-50, 400)], close=True, dxfattribs={"layer": "OFF"})
        space.add_text("floor")

    found = floor_import.from_bytes(dxf(draw), "dxf")
    assert corners(found.outline) == SQUARE
    assert found.messages == ("Left out: 1 TEXT.",)


def test_an_open_outline_names_its_gap():
    def draw(space, _):
        space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200), (0, 0.8)])

    with pytest.raises(DrawingError, match=r"no closed outline; the smallest gap is 0\.80 mm at 0\.0, 0\.0 mm"):
        floor_import.from_bytes(dxf(draw), "dxf")


def test_lines_drawn_twice_count_once():
    def draw(space, _):
        for _ in range(2):
            space.add_lwpolyline([(0, 0), (300, 0), (300, 200), (0, 200)], close=True)
        space.add_lwpolyline([(0, 0), (0, 200), (300, 200), (300, 0)], close=True)

    found = floor_import.from_bytes(dxf(draw), "dxf")
    assert corners(found.outline) == SQUARE
    assert found.inner == ()


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "no DXF file"),
        (b"hello", "no DXF file"),
        (b"\x00\x01\x02" * 50, "no DXF file"),
        (dxf(lambda s, _: None), "no closed outline"),
        (dxf(lambda s, _: s.add_circle((0, 0), 9000)), "no case floor is"),
    ],
)
def test_bad_dxf(data, says):
    with pytest.raises(DrawingError, match=says):
        floor_import.from_bytes(data, "dxf", "mm")


# SVG


@pytest.mark.parametrize(
    "body",
    [
        '<rect x="0" y="0" width="300" height="200"/>',
        '<path d="M0 0h300v200H0z"/>',
        '<path d="m0,0 300,0 0,200 -300,0z"/>',
        '<polygon points="0,0 300,0 300,200 0,200"/>',
        '<line x1="0" y1="0" x2="300" y2="0"/><polyline points="300,0 300,200 0,200 0,0"/>',
        '<g transform="translate(-10 -10)"><rect x="10" y="10" width="300" height="200"/></g>',
        '<g transform="scale(2)"><rect width="150" height="100"/></g>',
        '<rect width="200" height="300" transform="rotate(90) translate(0 -300)"/>',
        '<rect width="300" height="200" transform="matrix(-1 0 0 1 300 0)"/>',
    ],
)
def test_one_floor_drawn_in_many_ways(body):
    assert corners(floor_import.from_bytes(svg(body), "svg").outline) == SQUARE


def test_y_is_turned_over_once():
    body = '<rect width="300" height="200"/><circle cx="50" cy="20" r="4"/>'
    (hole,) = floor_import.from_bytes(svg(body), "svg").inner
    assert (hole.x_mm, hole.y_mm, hole.diameter_mm) == (50, 180, 8)


@pytest.mark.parametrize(
    ("size", "width"),
    [
        ('width="300mm" height="200mm" viewBox="0 0 300 200"', 300.0),
        ('width="30cm" viewBox="0 0 3000 2000"', 30.0),
        ('width="10in" height="5in" viewBox="0 0 1000 500"', 76.2),
        ('width="72pt" height="72pt" viewBox="0 0 300 300"', 25.4),
    ],
)
def test_the_size_says_the_unit(size, width):
    found = floor_import.from_bytes(svg('<rect width="300" height="200"/>', size), "svg")
    assert max(v.x_mm for v in found.outline.vertices) == pytest.approx(width, abs=1e-4)


@pytest.mark.parametrize(
    "size", ["", 'width="300" height="200"', 'width="100%" viewBox="0 0 300 200"', 'width="300px" height="200px"']
)
def test_an_svg_that_does_not_say_its_unit_is_asked_about(size):
    with pytest.raises(UnitUnknown, match="say which"):
        floor_import.from_bytes(svg('<rect width="300" height="200"/>', size), "svg")
    found = floor_import.from_bytes(svg('<rect width="30" height="20"/>', size), "svg", "cm")
    assert corners(found.outline) == SQUARE


def test_rounded_corners_and_circles_stay_arcs():
    body = '<rect width="300" height="200" rx="10"/><circle cx="40" cy="40" r="5" transform="rotate(30)"/>'
    found = floor_import.from_bytes(svg(body), "svg")
    assert sorted(round(v.bulge, 5) for v in found.outline.vertices) == [0] * 4 + [round(math.tan(math.pi / 8), 5)] * 4
    assert found.inner[0].diameter_mm == 10


def test_arc_flags_without_separators_and_large_arcs():
    """The same circle of diameter 10, once by a large arc and once with run-together flags (SVG 1.1, 8.3.9 grammar)."""
    body = '<path d="M0 0h300v200h-300z"/><path d="M20,20a5 5 0 1110 0a5 5 0 01-10 0z"/>'
    found = floor_import.from_bytes(svg(body), "svg")
    assert found.inner[0].shape in ("circle", "polygon")
    loops = [o for o in found.inner if o.shape == "circle"]
    assert [round(o.diameter_mm, 3) for o in loops] == [10.0]


def test_beziers_keep_to_their_curve():
    """Four cubic arcs with the usual 0.5522847 handles stray from the circle by at most 2.7 in ten thousand."""
    k = 0.5522847 * 50
    d = f"M50 0c{k} 0 50 {50 - k} 50 50 s{-(50 - k)} 50 -50 50 S0 {50 + k} 0 50C0 {50 - k} {50 - k} 0 50 0z"
    found = floor_import.from_bytes(svg(f'<path d="{d}"/>'), "svg")
    for vertex in found.outline.vertices:
        assert math.hypot(vertex.x_mm - 50, vertex.y_mm - 50) == pytest.approx(50, abs=0.03)


def test_what_another_writer_makes_is_read():
    """svgwrite, a general-purpose writer."""
    drawing = SvgDrawing(size=("300mm", "200mm"), viewBox="0 0 300 200")
    drawing.add(drawing.rect((0, 0), (300, 200)))
    group = drawing.add(drawing.g(transform="translate(100,100)"))
    group.add(drawing.circle((0, 0), 6))
    found = floor_import.from_bytes(drawing.tostring().encode(), "svg")
    assert corners(found.outline) == SQUARE
    assert found.inner[0].diameter_mm == 12


BOMB = '<!DOCTYPE svg [<!ENTITY a "aaaaaaaaaa"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
OUTSIDE = '<!DOCTYPE svg [<!ENTITY x SYSTEM "file:///etc/hostname">]>'


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "no SVG file"),
        (b"<svg", "line 1 is no XML"),
        (b'<?xml version="1.0" encoding="utf-7"?><svg/>', "save it again in UTF-8"),
        (b'<?xml version="1.0" encoding="idna"?><svg/>', "save it again in UTF-8"),
        (b"<html></html>", "root is not <svg>"),
        (svg("<script>alert(1)</script>"), "<script>"),
        (svg('<rect width="9" height="9" onclick="x()"/>'), "script"),
        (svg('<a href="java&#10;script:x()"><rect width="9" height="9"/></a>'), "script"),
        (svg("<foreignObject/>"), "foreignObject"),
        (svg("&b;", head=BOMB), "entities"),
        (svg("&x;", head=OUTSIDE), "entities"),
        (svg("<style>@import url(http://x)</style>"), "styles from elsewhere"),
        (svg('<g id="a"><use href="#a"/></g>'), "contains itself"),
        (svg('<use href="#a"/>'), "no closed outline"),
        (svg("<svg/>"), "no closed outline"),
        (svg('<path d="M0 0 L5"/>'), "breaks off after 'L'"),
        (svg('<path d="L5 5"/>'), "does not begin with a move"),
        (svg('<path d="M0 0 ? 5"/>'), "means nothing in a path"),
        (svg('<rect width="5em" height="5"/>'), "no plain number"),
        (svg('<g transform="spin(3)"/>'), "cannot be read"),
        (svg('<path d="M0 0h5v5"/>'), "no closed outline; the smallest gap"),
        (svg("<text>floor</text>"), "no closed outline"),
        (svg("<g>" * 300 + "</g>" * 300), "too deep"),
    ],
)
def test_bad_svg(data, says):
    with pytest.raises(DrawingError) as caught:
        floor_import.from_bytes(data, "svg")
    assert says in str(caught.value)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="MmLlHhVvCcSsQqTtAaZz0123456789.,-+e ", max_size=60))
def test_any_path_is_read_or_refused(data):
    try:
        found = floor_import.from_bytes(svg(f'<path d="{data}"/><rect width="300" height="200"/>'), "svg")
    except DrawingError as error:
        message = str(error)
        assert message
    else:
        assert found.outline is not None


def test_files_and_documents(tmp_path):
    path = tmp_path / "floor.svg"
    path.write_bytes(svg('<rect width="300" height="200"/><circle cx="50" cy="50" r="4"/>'))
    found = floor_import.read(path)
    before = document([])
    new = floor_import.use(before, found)
    assert corners(new.floor.outline) == SQUARE
    assert [o.id for o in new.floor.openings] == ["W1"]
    assert floor_import.use(new, found).floor.openings[-1].id == "W2"
    assert floor_import.use(before, found, inner="obstacles", height_mm=7).floor.obstacles[0].height_mm == 7
    assert floor_import.use(before, found, inner="nothing").floor.openings == ()
    assert new.plate == before.plate
    other = tmp_path / "floor.dwg"
    other.write_bytes(b"x")
    with pytest.raises(DrawingError, match=r"\.dxf or an \.svg"):
        floor_import.read(other)
    path.write_bytes(b" " * 20_000_001)
    with pytest.raises(DrawingError, match="larger than 20 MB"):
        floor_import.read(path)
