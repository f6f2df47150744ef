"""Paths of lines and arcs against closed forms and against shapely, which knows nothing of our arcs."""

import math
from itertools import pairwise

import pytest
import shapely
from hypothesis import assume, given
from hypothesis import strategies as st

from sketcher.document.outlines import Circle, Polygon, Rectangle, Slot, Vertex
from sketcher.geometry.offset import OffsetError, offset, sides
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.path import TOLERANCE_MM, Segment, circle, fillet

sizes = st.floats(min_value=1, max_value=300)
places = st.floats(min_value=-200, max_value=200)
turns = st.floats(min_value=-180, max_value=180)


def test_an_arc_of_bulge_one_is_a_half_circle() -> None:
    arc = Segment((0.0, 0.0), (10.0, 0.0), 1.0)
    assert arc.radius == pytest.approx(5)
    assert arc.centre == pytest.approx((5, 0))
    assert arc.length == pytest.approx(5 * math.pi)
    # Counter-clockwise from (0, 0) to (10, 0) runs below the chord.
    assert arc.at(arc.length / 2) == pytest.approx((5, -5))


@given(places, places, places, places, st.floats(min_value=-3, max_value=3))
def test_every_point_of_an_arc_keeps_its_distance_from_the_centre(x0, y0, x1, y1, bulge) -> None:
    assume(math.hypot(x1 - x0, y1 - y0) > 0.1 and abs(bulge) > 0.01)
    arc = Segment((x0, y0), (x1, y1), bulge)
    for point in arc.points():
        assert math.dist(point, arc.centre) == pytest.approx(arc.radius, rel=1e-6)
    assert arc.at(0) == pytest.approx(arc.start, abs=1e-6)
    assert arc.at(arc.length) == pytest.approx(arc.end, abs=1e-6)


@given(st.floats(min_value=0.05, max_value=2000))
def test_polygons_stay_within_the_tolerance_of_the_circle(radius) -> None:
    ring = shapely.LinearRing(circle((0.0, 0.0), radius).points())
    nearest = min(shapely.Point(0, 0).distance(shapely.LineString(pair)) for pair in pairwise(ring.coords))
    assert radius - nearest <= TOLERANCE_MM * 1.001


@given(sizes, sizes, st.floats(min_value=0, max_value=0.5), turns)
def test_a_rounded_rectangle_has_the_area_of_the_closed_form(width, depth, share, turn) -> None:
    radius = share * min(width, depth)
    path = contour(
        Rectangle(x_mm=3, y_mm=4, width_mm=width, depth_mm=depth, corner_radius_mm=radius, turn_deg=turn)
    ).path
    assert path.area == pytest.approx(width * depth - (4 - math.pi) * radius**2, rel=1e-6)
    assert path.length == pytest.approx(2 * (width + depth) - (8 - 2 * math.pi) * radius, rel=1e-6)


def test_a_slot_and_a_circle_have_the_areas_of_the_closed_form() -> None:
    slot = contour(Slot(x_mm=0, y_mm=0, length_mm=30, width_mm=10, turn_deg=30)).path
    assert slot.area == pytest.approx(20 * 10 + math.pi * 25)
    assert contour(Circle(x_mm=1, y_mm=2, diameter_mm=10)).path.area == pytest.approx(math.pi * 25)


@given(st.lists(st.tuples(places, places), min_size=3, max_size=8), st.floats(min_value=0, max_value=30))
def test_fillets_are_tangent_and_stay_on_the_corners_edges(corners, radius) -> None:
    assume(all(math.dist(a, b) > 1 for a, b in pairwise(corners)))
    path, bends = fillet(corners, [radius] * len(corners))
    assert path.start == pytest.approx(corners[0])
    assert path.end == pytest.approx(corners[-1])
    for before, after in pairwise(path.segments):
        assert before.end == after.start
        if not (before.straight and after.straight) and min(before.chord, after.chord) > 1e-3:
            turn = math.remainder(after.direction() - before.direction(at_end=True), 2 * math.pi)
            # Where travel turns straight back there is no rounding to be tangent to.
            assert abs(turn) < 1e-4 or abs(turn) > math.pi - 1e-4
    assert path.length <= sum(math.dist(a, b) for a, b in pairwise(corners)) + 1e-6
    assert all(bend.radius <= bend.wanted + 1e-9 for bend in bends)


def test_a_bend_without_room_says_so() -> None:
    _, bends = fillet([(0, 0), (10, 0), (10, 10)], [0, 40, 0])
    assert not bends[0].fits
    assert bends[0].radius == pytest.approx(10)
    assert bends[0].angle_deg == pytest.approx(90)


outlines = st.one_of(
    st.builds(Circle, x_mm=places, y_mm=places, diameter_mm=sizes),
    st.builds(
        lambda x, y, w, d, share, turn: Rectangle(
            x_mm=x, y_mm=y, width_mm=w, depth_mm=d, corner_radius_mm=share * min(w, d), turn_deg=turn
        ),
        places, places, sizes, sizes, st.floats(min_value=0, max_value=0.5), turns,
    ),
    st.builds(
        lambda x, y, w, extra, turn: Slot(x_mm=x, y_mm=y, width_mm=w, length_mm=w + extra, turn_deg=turn),
        places, places, sizes, sizes, turns,
    ),
)  # fmt: skip


#: Chords of an arc stay this near to it, mm.
FINE = 2e-4


@given(outlines, st.floats(min_value=-0.4, max_value=3))
def test_offsets_agree_with_shapelys_mitred_buffer(outline, distance) -> None:
    assume(abs(distance) > 1e-3)
    path = contour(outline).path
    # Shapely mitres every chord of an arc: its corners stand out by about FINE * (1 + distance / radius).
    assume(all(segment.straight or segment.radius > 0.1 for segment in path.segments))
    exact = shapely.Polygon(path.points(FINE))
    try:
        moved = offset(path, distance)
    except OffsetError:
        # Inwards, an edge or a corner's arc shorter than the offset goes; the caller is told.
        assert distance < 0
        return
    peer = exact.buffer(distance, join_style="mitre", mitre_limit=20)
    # Corner by corner, both ways round. Not shapely's symmetric difference: for two outlines whose edges lie within
    # rounding of each other GEOS may answer with both of them in whole.
    found = shapely.Polygon(moved.points(FINE))
    assert shapely.hausdorff_distance(found.exterior, peer.exterior) < 0.01
    assert found.area == pytest.approx(peer.area, abs=0.01 * exact.length)


def test_the_offset_of_a_square_turned_by_a_degree_is_the_larger_square() -> None:
    # Here shapely's symmetric difference of two equal squares is 18 mm²; their distance tells the truth.
    square = contour(Rectangle(x_mm=0, y_mm=1, width_mm=1, depth_mm=1, turn_deg=1)).path
    larger = contour(Rectangle(x_mm=0, y_mm=1, width_mm=3, depth_mm=3, turn_deg=1)).path
    moved, wanted = shapely.Polygon(offset(square, 1).points()), shapely.Polygon(larger.points())
    assert shapely.hausdorff_distance(moved.exterior, wanted.exterior) < 1e-9


def test_an_offset_keeps_arcs_arcs_and_corners_sharp() -> None:
    moved = offset(contour(Rectangle(x_mm=0, y_mm=0, width_mm=20, depth_mm=10)).path, 1)
    assert moved.area == pytest.approx(22 * 12)
    rounded = offset(contour(Rectangle(x_mm=0, y_mm=0, width_mm=20, depth_mm=10, corner_radius_mm=2)).path, 1)
    assert sorted(s.radius for s in rounded.segments if not s.straight) == pytest.approx([3] * 4)


def test_an_l_shaped_plate_is_offset_at_its_inner_corner_too() -> None:
    corners = [(0, 0), (40, 0), (40, 10), (10, 10), (10, 30), (0, 30)]
    path = contour(Polygon(vertices=[Vertex(x_mm=x, y_mm=y) for x, y in corners])).path
    assert offset(path, 1).area == pytest.approx(42 * 12 + 12 * 20)
    assert offset(path, -1).area == pytest.approx(38 * 8 + 8 * 20)


def test_a_polygon_with_an_arc_edge_has_the_segments_area() -> None:
    half_moon = Polygon(vertices=[Vertex(x_mm=0, y_mm=0, bulge=1), Vertex(x_mm=10, y_mm=0)])
    assert contour(half_moon).path.area == pytest.approx(math.pi * 25 / 2)


@given(st.floats(min_value=2, max_value=12), st.floats(min_value=6.5, max_value=20), turns)
def test_a_channels_two_sides_enclose_the_swept_disc(width, radius, turn) -> None:
    end = (60 + 60 * math.cos(math.radians(turn * 0.8)), 60 * math.sin(math.radians(turn * 0.8)))
    path, _ = fillet([(0.0, 0.0), (60.0, 0.0), end], [0, radius, 0])
    swept = shapely.LineString(path.points(0.0005)).buffer(width / 2, quad_segs=64)
    outline = sides(path, width)
    assert outline.closed
    assert shapely.Polygon(outline.points(0.0005)).symmetric_difference(swept).area < 0.01 * path.length + 0.05


def test_a_bend_tighter_than_the_cutter_leaves_a_sharp_inner_corner() -> None:
    path, _ = fillet([(0.0, 0.0), (40.0, 0.0), (40.0, 40.0)], [0, 2, 0])
    outline = sides(path, 10)
    swept = shapely.LineString(path.points(0.0005)).buffer(5, quad_segs=64)
    assert shapely.Polygon(outline.points(0.0005)).symmetric_difference(swept).area < 0.1


def edged(corners: list[tuple[float, float, float]]) -> Polygon:
    """A polygon of x, y and the bulge of the edge that begins there."""
    return Polygon(vertices=[Vertex(x_mm=x, y_mm=y, bulge=bulge) for x, y, bulge in corners])


#: Corners of a line with an arc, and of two arcs, where the offset's edges meet before they end: on the inner side of a
#: corner that stands out, on the outer side of one that stands in. There every kind of join gives the same corner.
CORNERS = {
    "a half disc": (edged([(0, 0, 0), (20, 0, 1)]), (-0.5, -2, -4)),
    "a lens": (edged([(0, 0, 0.4), (20, 0, 0.7)]), (-0.5, -2, -4)),
    "a lens of unlike arcs": (edged([(0, 0, 0.2), (9, 3, 1.2)]), (-0.3, -1.5)),
    "a bump on a side": (edged([(0, 0, 0), (10, 0, 0.8), (16, 0, 0), (26, 0, 0), (26, 12, 0), (0, 12, 0)]), (0.5, 1.5)),
    "a bay in a side": (
        edged([(0, 0, 0), (8, 0, -0.6), (18, 0, 0), (26, 0, 0), (26, 15, 0), (0, 15, 0)]),
        (-0.5, -1.5),
    ),
    "two bumps that meet": (edged([(0, 0, 0.9), (10, 0, 0.9), (20, 0, 0), (20, 9, 0), (0, 9, 0)]), (0.5, 2)),
}


@pytest.mark.parametrize("name", CORNERS)
def test_corners_of_arcs_agree_with_shapely_at_fine_chords(name: str) -> None:
    outline, distances = CORNERS[name]
    path = contour(outline).path
    exact = shapely.Polygon(path.points(1e-5))
    for distance in distances:
        found = shapely.Polygon(offset(path, distance).points(1e-5))
        # Round joins: where a chord's end bends by a hair they add nothing that a chord would not have.
        peer = exact.buffer(distance, quad_segs=256, join_style="round" if distance < 0 else "mitre")
        assert shapely.hausdorff_distance(found.exterior, peer.exterior) < 2e-3, distance
        assert found.area == pytest.approx(peer.area, abs=2e-3 * exact.length), distance


def test_a_radius_for_each_corner_is_asked_for() -> None:
    with pytest.raises(ValueError, match="shorter"):
        fillet([(0, 0), (10, 0), (10, 10)], [1.0, 1.0])
