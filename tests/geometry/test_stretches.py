"""Stretches, corners and hard cases of paths: by closed forms, by shapely at fine chords, by what must not matter."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from sketcher.document.outlines import Polygon, Vertex
from sketcher.geometry.offset import OffsetError, offset
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.path import Path, Segment, fillet, from_vertices, part

#: A course with two rounded corners: 100 long, then 60, then 80, with radii of 10 and 6.
COURSE, _ = fillet([(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (20.0, 60.0)], [0, 10, 6, 0])
shares = st.floats(min_value=0, max_value=1)


@given(shares, shares)
def test_a_stretch_of_a_course_is_what_shapely_cuts_from_its_chords(one: float, other: float) -> None:
    start, end = sorted((one * COURSE.length, other * COURSE.length))
    if end - start < 0.01:
        return
    found = part(COURSE, start, end)
    assert found.length == pytest.approx(end - start, abs=1e-6)
    chords = shapely.LineString(COURSE.points(1e-5))
    for way in (0.0, 0.25, 0.5, 1.0):
        at = shapely.Point(found.at(way * found.length))
        wanted = shapely.line_interpolate_point(chords, start + way * (end - start))
        assert at.distance(wanted) < 1e-2
    assert not found.closed


def test_the_whole_course_is_a_stretch_of_it_and_more_is_not() -> None:
    assert part(COURSE, 0, COURSE.length).length == pytest.approx(COURSE.length)
    for start, end in ((-0.1, 10), (10, COURSE.length + 0.1), (30, 30), (30, 20)):
        with pytest.raises(ValueError, match="no stretch"):
            part(COURSE, start, end)


def test_an_open_polyline_has_one_vertex_more_than_segments_and_a_closed_one_as_many() -> None:
    """DXF reference, LWPOLYLINE: vertices with bulges (group 42); the last is unused unless flag 70 closes it."""
    rows = [(0.0, 0.0, 0.5), (10.0, 0.0, 0.0), (10.0, 8.0, 0.0)]
    assert from_vertices(rows, closed=False).vertices() == rows
    assert from_vertices(rows, closed=True).vertices() == rows
    assert not Path((Segment((0.0, 0.0), (1.0, 0.0)),)).closed


def test_a_ring_may_name_its_first_corner_again_at_its_end() -> None:
    corners = [(0.0, 0.0), (50.0, 0.0), (50.0, 40.0), (0.0, 40.0)]
    once, bends = fillet(corners, [5.0] * 4, closed=True)
    again, more = fillet([*corners, corners[0]], [5.0] * 5, closed=True)
    assert (again, more) == (once, bends)
    # The closed form of a rounded rectangle.
    assert once.length == pytest.approx(2 * (50 + 40) - 8 * 5 + 2 * math.pi * 5)


def test_a_bend_with_room_has_the_radius_it_was_asked_for() -> None:
    _, bends = fillet([(0, 0), (50, 0), (50, 50)], [0, 12, 0])
    assert [(bend.radius, bend.fits) for bend in bends] == [(12, True)]


def test_no_distance_is_no_offset() -> None:
    clockwise = from_vertices([(0, 0, 0), (0, 10, 0), (10, 10, 0), (10, 0, 0)], closed=True)
    assert offset(clockwise, 0.0) is clockwise


#: Outlines with a short edge that vanishes inwards while the rest stays, and with an arc that does.
VANISHING = {
    "a chamfer of 2 mm": [(0, 0, 0), (40, 0, 0), (40, 28, 0), (38, 30, 0), (0, 30, 0)],
    "a rounded corner of 2 mm": [(0, 0, 0), (40, 0, 0), (40, 28, math.tan(math.pi / 8)), (38, 30, 0), (0, 30, 0)],
    "a flat arc of 3 mm": [(0, 0, 0), (40, 0, 0), (40, 28, 0.05), (38, 30, 0), (0, 30, 0)],
}


@pytest.mark.parametrize("name", VANISHING)
def test_an_edge_that_would_turn_round_is_refused(name: str) -> None:
    rows = VANISHING[name]
    path = contour(Polygon(vertices=[Vertex(x_mm=x, y_mm=y, bulge=bulge) for x, y, bulge in rows])).path
    # The edge between two sides at right angles, cut off at 45 degrees, is gone when d = 2 / (2 - sqrt 2) = 3.41 mm.
    assert offset(path, -1.5).area < path.area
    with pytest.raises(OffsetError):
        offset(path, -5)


def test_an_outline_smaller_than_its_offset_is_refused() -> None:
    square = from_vertices([(0, 0, 0), (10, 0, 0), (10, 10, 0), (0, 10, 0)], closed=True)
    with pytest.raises(OffsetError):
        offset(square, -6)


@given(st.floats(min_value=-900, max_value=900), st.floats(min_value=-900, max_value=900))
def test_where_an_outline_lies_does_not_matter_to_its_offset(dx: float, dy: float) -> None:
    # Edges of arcs that meet twice when they are lengthened: the meeting by the corner is meant.
    rows = [(0.0, 0.0, 0.9), (10.0, 0.0, 0.9), (20.0, 0.0, 0.0), (20.0, 9.0, 0.0), (0.0, 9.0, 0.0)]
    here = offset(from_vertices(rows, closed=True), 1)
    there = offset(from_vertices([(x + dx, y + dy, bulge) for x, y, bulge in rows], closed=True), 1)
    for (x, y, bulge), (u, v, other) in zip(here.vertices(), there.vertices(), strict=True):
        assert (u - dx, v - dy, other) == pytest.approx((x, y, bulge), abs=1e-6)
