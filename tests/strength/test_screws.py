"""Lid screws: placing on random plates, forces, clear errors."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPolygon, Point, box

from sketcher.strength.clamping import Lid, clamp
from sketcher.strength.gland import design_gland
from sketcher.strength.groove import plan_grooves
from sketcher.strength.groove_room import Obstacle, Room
from sketcher.strength.screw_pattern import Blocked, PatternError, ScrewRoom, place_screws

GLAND = design_gland(2.0)
ROOM = Room(GLAND.width_mm, GLAND.centreline_radius_mm, wall_mm=2.0, edge_wall_mm=3.0, between_mm=2.0)
SCREW = ScrewRoom(hole_mm=4.5, head_mm=8.0, wall_mm=2.0, edge_mm=4.0, pitch_mm=35.0)
PLATE = box(0, 0, 260, 160)


@st.composite
def cases(draw):
    wet = {}
    for index in range(draw(st.integers(1, 3))):
        points = draw(st.lists(st.tuples(st.integers(3, 22), st.integers(3, 12)), min_size=2, max_size=4, unique=True))
        wet[f"C{index}"] = LineString([(10 * x, 10 * y) for x, y in points]).buffer(5.0)
    dry = [
        Obstacle(f"H{i}", "hole", Point(draw(st.floats(10, 250)), draw(st.floats(10, 150))).buffer(3.0), 2.0)
        for i in range(draw(st.integers(0, 4)))
    ]
    return wet, dry


@settings(max_examples=80, deadline=None)
@given(cases())
def test_screws_keep_clear_of_everything(case):
    wet, dry = case
    plan = plan_grooves(wet, dry, PLATE, ROOM, screw_room_mm=SCREW.head_mm)
    blocked = [Blocked(item.shape, 6.0) for item in dry]
    places = place_screws(plan.sealed, PLATE, ROOM.width_mm, SCREW, blocked)
    for place in places:
        axis = Point(place)
        assert not plan.sealed.contains(axis)
        # To the groove's edge: the wall, at least.
        assert plan.sealed.boundary.distance(axis) - ROOM.width_mm / 2 - SCREW.hole_mm / 2 >= SCREW.wall_mm - 0.02
        assert PLATE.exterior.distance(axis) - SCREW.hole_mm / 2 >= SCREW.edge_mm - 1e-6
        for item in blocked:
            assert item.shape.distance(axis) >= item.distance_mm - 0.05  # the chords of the buffer
    apart = [math.dist(a, b) for i, a in enumerate(places) for b in places[i + 1 :]]
    assert min(apart, default=math.inf) >= SCREW.head_mm


def test_pitch_is_held_where_there_is_room():
    plan = plan_grooves({"C1": LineString([(60, 80), (200, 80)]).buffer(6.0)}, [], PLATE, ROOM)
    places = place_screws(plan.sealed, PLATE, ROOM.width_mm, SCREW)
    ring = plan.sealed.geoms[0].exterior
    along = sorted(shapely.line_locate_point(ring, shapely.points(np.array(places))))
    gaps = np.diff([*along, along[0] + ring.length])
    assert gaps.max() <= SCREW.pitch_mm
    line = plan.sealed.geoms[0].buffer(SCREW.from_centreline_mm(ROOM.width_mm)).exterior.length
    assert len(places) == math.ceil(line / SCREW.pitch_mm)


def test_kept_screws_stay_and_are_filled_up():
    plan = plan_grooves({"C1": LineString([(60, 80), (200, 80)]).buffer(6.0)}, [], PLATE, ROOM)
    first = place_screws(plan.sealed, PLATE, ROOM.width_mm, SCREW)
    kept, lost = first[:-2], first[-2:]
    again = place_screws(plan.sealed, PLATE, ROOM.width_mm, SCREW, kept=kept)
    assert 1 <= len(again) <= 4
    for place in lost:
        assert min(math.dist(place, other) for other in again) < SCREW.pitch_mm
    assert place_screws(plan.sealed, PLATE, ROOM.width_mm, SCREW, kept=first) == []


def test_no_groove_no_screws():
    assert place_screws(MultiPolygon(), PLATE, 2.8, SCREW) == []


@pytest.mark.parametrize(
    ("change", "words"), [({"pitch_mm": 0.0}, "spacing"), ({"pitch_mm": 5.0}, "spacing"), ({"hole_mm": 0.0}, "hole")]
)
def test_impossible_patterns(change, words):
    with pytest.raises(PatternError, match=words):
        ScrewRoom(**{"hole_mm": 4.5, "head_mm": 8.0, "wall_mm": 2.0, "edge_mm": 4.0, "pitch_mm": 35.0, **change})


@settings(max_examples=60, deadline=None)
@given(st.floats(10, 80), st.floats(10, 80), st.integers(2, 6), st.floats(0, 5), st.floats(0, 100))
def test_the_screws_carry_the_whole_load(width, depth, number, line_load, pressure):
    part = box(0, 0, width, depth)
    ring = part.buffer(6.0).exterior
    screws = {f"S{i}": ring.interpolate(i / number, normalized=True).coords[0] for i in range(number)}
    result = clamp(part, screws, lid=Lid(5.0, 2800.0), line_load_n_mm=line_load, pressure_kpa=pressure, reach_mm=10.0)
    assert sum(load.cord_n for load in result.loads) == pytest.approx(line_load * part.length)
    assert sum(load.pressure_n for load in result.loads) == pytest.approx(pressure / 1000 * part.area)
    assert sum(gap.along_mm for gap in result.gaps) == pytest.approx(part.length)
    assert all(gap.opening_mm >= 0 and math.isfinite(gap.opening_mm) for gap in result.gaps)


def test_a_groove_without_screws_is_told():
    part = box(0, 0, 40, 40)
    for screws in ({}, {"S1": (200.0, 200.0)}):
        result = clamp(part, screws, lid=Lid(5.0, 2800.0), line_load_n_mm=1.0, pressure_kpa=50.0, reach_mm=10.0)
        assert result.loads == ()
        assert len(result.unheld) == 1


def test_rows_of_screws_line_up_on_tenths_of_a_millimetre() -> None:
    """A channel of odd width at an odd place: each screw of the long sides has its partner across, all on tenths."""
    plan = plan_grooves({"C1": LineString([(60.37, 80.21), (203.4, 80.21)]).buffer(6.03)}, [], PLATE, ROOM)
    room = ScrewRoom(hole_mm=4.5, head_mm=8.0, wall_mm=2.0, edge_mm=4.0, pitch_mm=38.0)
    places = place_screws(plan.sealed, PLATE, ROOM.width_mm, room)
    assert all(abs(round(10 * value) - 10 * value) < 1e-6 for place in places for value in place)
    upper = sorted(x for x, y in places if y > 92 and 70 < x < 195)
    lower = sorted(x for x, y in places if y < 68 and 70 < x < 195)
    assert len(upper) >= 3
    assert upper == lower


def test_axes_keep_their_distance_from_the_edge() -> None:
    """1.5 diameters at least, 2 where there is room: an M4 8 mm from the edge stays where it is, one at 5 does not."""
    room = ScrewRoom(4.5, 8.0, 2.0, 3.0, 35.0, axis_edge_mm=6.0, roomy_edge_mm=8.0)
    for gap, free in ((7.4, True), (5.0, False)):
        plan = plan_grooves({"C1": LineString([(60, 80), (200, 80)]).buffer(6.0)}, [], PLATE, ROOM)
        edge = 80 + 6 + ROOM.offset_mm + room.from_centreline_mm(ROOM.width_mm) + gap
        places = place_screws(plan.sealed, box(0, 0, 260, edge), ROOM.width_mm, room)
        assert any(y > 94 and 70 < x < 190 for x, y in places) == free
        assert all(edge - y >= 6.0 - 1e-6 for _, y in places)
