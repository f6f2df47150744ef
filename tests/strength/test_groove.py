"""The groove's path: properties on random plates, and cases by hand."""

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPolygon, Point, Polygon, box
from shapely.ops import unary_union

from sketcher.strength.bends import rings, tight_bends
from sketcher.strength.gland import design_gland
from sketcher.strength.groove import plan_grooves
from sketcher.strength.groove_path import fit_path, place_joint
from sketcher.strength.groove_room import Obstacle, Room

GLAND = design_gland(2.0)
ROOM = Room(GLAND.width_mm, GLAND.centreline_radius_mm, wall_mm=2.0, edge_wall_mm=3.0, between_mm=2.0)
PLATE = box(0, 0, 260, 160)


def channel(points, width):
    return LineString(points).buffer(width / 2, quad_segs=16)


@st.composite
def plates(draw):
    """Random channels (polylines), pools, screw holes and cutouts on a plate, near each other or not."""
    grid = st.integers(3, 22)
    rows = st.integers(3, 12)
    wet = {}
    for index in range(draw(st.integers(1, 4))):
        points = draw(st.lists(st.tuples(grid, rows), min_size=2, max_size=4, unique=True))
        wet[f"C{index}"] = channel([(10 * x, 10 * y) for x, y in points], draw(st.sampled_from([5.0, 8.0, 12.0])))
    for index in range(draw(st.integers(0, 1))):
        x, y = draw(grid) * 10, draw(rows) * 10
        wet[f"W{index}"] = box(x, y, x + draw(st.integers(8, 40)), y + draw(st.integers(8, 40))).intersection(
            PLATE.buffer(-12)
        )
    obstacles = []
    for index in range(draw(st.integers(0, 5))):
        x, y = draw(st.floats(8, 250)), draw(st.floats(8, 150))
        radius = draw(st.floats(1.5, 8))
        obstacles.append(Obstacle(f"H{index}", "hole", Point(x, y).buffer(radius), draw(st.floats(1, 4))))
    return wet, obstacles


@settings(max_examples=150, deadline=None)
@given(plates())
def test_the_groove_on_random_plates(case):
    """It is closed, holds every wet point exactly once, and comes nearer to nothing than its limit, or says so."""
    wet, obstacles = case
    plan = plan_grooves(wet, obstacles, PLATE, ROOM, screw_room_mm=10.0)
    water = unary_union(list(wet.values()))
    half = ROOM.width_mm / 2
    lines = [ring for part in plan.sealed.geoms for ring in (part.exterior, *part.interiors)]

    assert plan.sealed.is_valid
    assert all(line.is_closed and line.is_simple for line in lines)

    # Winding number of all centrelines about wet points: exactly one.
    sample = shapely.get_coordinates(water.buffer(-0.5))[::5]
    for x, y in sample[:60]:
        inside = [part for part in plan.sealed.geoms if part.contains(Point(x, y))]
        assert len(inside) == 1
        around = sum(Polygon(part.exterior).contains(Point(x, y)) for part in plan.sealed.geoms) - sum(
            Polygon(hole).contains(Point(x, y)) for part in plan.sealed.geoms for hole in part.interiors
        )
        assert around == 1

    # The wall to the water.
    assert min(line.distance(water) for line in lines) - half >= ROOM.wall_mm - 1e-6

    # Grooves among each other.
    parts = list(plan.sealed.geoms)
    for i, one in enumerate(parts):
        for other in parts[i + 1 :]:
            assert one.exterior.distance(other.exterior) >= ROOM.width_mm + ROOM.between_mm - 0.05

    # Everything dry: at least its wall, or a finding that names it.
    named = {item for wall in plan.missing for item in wall.items}
    for obstacle in obstacles:
        gap = plan.sealed.distance(obstacle.shape) - half
        if obstacle.id not in named:
            assert gap >= obstacle.wall_mm - 1e-6
        else:
            assert gap < obstacle.wall_mm + 1e-6
    edge_gap = PLATE.exterior.distance(plan.sealed) - half if PLATE.contains(plan.sealed) else -1.0
    said = any(wall.kind == "edge" for wall in plan.missing)
    assert said == (edge_gap < ROOM.edge_wall_mm - 1e-9)


@settings(max_examples=60, deadline=None)
@given(plates())
def test_bends_are_what_the_cord_takes(case):
    """No bend of the centreline is tighter than three sections on the inside plus half the groove."""
    wet, _ = case
    plan = plan_grooves(wet, [], PLATE, ROOM)
    window = 4.0
    if any(wall.why == "cord" for wall in plan.missing):
        return  # the plan says itself that a bend is too tight
    for part in plan.sealed.geoms:
        for line in (part.exterior, *part.interiors):
            # An arc of radius R turns by L / R along a length L; the chords add up to two steps of 5.6 degrees.
            count = int(line.length / 0.25)
            places = shapely.get_coordinates(line.interpolate(np.linspace(0, line.length, count, endpoint=False)))
            along = np.roll(places, -1, axis=0) - places
            heading = np.unwrap(np.arctan2(along[:, 1], along[:, 0]))
            heading = np.concatenate([heading, heading + heading_gain(along)])
            steps = int(window / 0.25)
            turned = np.abs(heading[steps : count + steps] - heading[:count])
            assert turned.max() <= window / ROOM.bend_radius_mm + 0.22


def heading_gain(along):
    """How much the heading of a closed ring grows in one turn: plus or minus a full circle."""
    after = np.roll(along, -1, axis=0)
    cross = along[:, 0] * after[:, 1] - along[:, 1] * after[:, 0]
    return np.arctan2(cross, (along * after).sum(axis=1)).sum()


@settings(max_examples=60, deadline=None)
@given(plates())
def test_the_fitted_path_is_the_ring(case):
    """Lines and arcs follow the dense ring within 0.03 mm, and there are few of them."""
    wet, _ = case
    plan = plan_grooves(wet, [], PLATE, ROOM)
    for part in plan.sealed.geoms:
        for ring in rings(part):
            path = fit_path(ring)
            dense = LineString([*path.points(0.002), path.start])
            assert dense.hausdorff_distance(LineString([*ring, ring[0]])) < 0.5  # corners against chords
            assert LineString([*ring, ring[0]]).buffer(0.03).contains(dense)
            assert path.length == pytest.approx(LineString([*ring, ring[0]]).length, rel=2e-3)
            assert len(path.segments) <= len(ring)


def test_a_straight_channel_gets_an_oval_at_the_wall():
    plan = plan_grooves({"C1": channel([(60, 80), (160, 80)], 12.0)}, [], PLATE, ROOM)
    path = fit_path(rings(plan.sealed.geoms[0])[0])
    # By hand: offset 6 + 2 + 1.4 = 9.4 mm; two straights of 100 mm and a full circle.
    assert path.length == pytest.approx(200 + 2 * np.pi * 9.4, rel=0.003)
    assert len(path.segments) <= 8
    assert plan.items == (("C1",),)
    assert plan.missing == ()


def test_regions_too_near_are_joined_and_others_are_not():
    gap_joined = {"A": channel([(60, 60), (160, 60)], 8.0), "B": channel([(60, 78), (160, 78)], 8.0)}
    assert len(plan_grooves(gap_joined, [], PLATE, ROOM).sealed.geoms) == 1
    apart = {"A": channel([(60, 60), (160, 60)], 8.0), "B": channel([(60, 90), (160, 90)], 8.0)}
    assert len(plan_grooves(apart, [], PLATE, ROOM).sealed.geoms) == 2


def test_an_island_with_a_cutout_gets_its_own_groove():
    ring = {"C1": channel([(60, 40), (200, 40), (200, 120), (60, 120), (60, 40)], 10.0)}
    cutout = Obstacle("K1", "cutout", box(110, 65, 150, 95), 2.0)
    plan = plan_grooves(ring, [cutout], PLATE, ROOM)
    (part,) = plan.sealed.geoms
    assert len(part.interiors) == 1
    assert not part.intersects(cutout.shape)
    assert plan.missing == ()
    # Without anything dry in it, and without a screw to place, the island is sealed over.
    assert len(plan_grooves(ring, [], PLATE, ROOM).sealed.geoms[0].interiors) == 0
    assert len(plan_grooves(ring, [], PLATE, ROOM, screw_room_mm=10).sealed.geoms[0].interiors) == 1


def test_a_missing_wall_says_where_and_how_much():
    # Water's edge at y = 75; the hole's edge at y = 72: 3 mm of room, 2 + 2.8 + 2.5 needed.
    hole = Obstacle("H1", "hole", Point(110, 70).buffer(2.0, quad_segs=64), 2.5)
    plan = plan_grooves({"C1": channel([(60, 80), (160, 80)], 10.0)}, [hole], PLATE, ROOM)
    (missing,) = plan.missing
    assert missing.why == "wall"
    assert missing.items == ("C1", "H1")
    assert missing.value_mm == pytest.approx(3.0, abs=0.01)
    assert missing.limit_mm == pytest.approx(2.0 + 2.8 + 2.5)
    assert missing.at == pytest.approx((110, 73.5), abs=0.05)


def test_too_near_the_edge():
    plan = plan_grooves({"C1": channel([(20, 8), (120, 8)], 10.0)}, [], PLATE, ROOM)
    (missing,) = plan.missing
    assert missing.kind == "edge"
    assert missing.value_mm == pytest.approx(3.0, abs=0.01)
    assert missing.limit_mm == pytest.approx(2.0 + 2.8 + 3.0)


def test_no_water_no_groove():
    plan = plan_grooves({}, [], PLATE, ROOM)
    assert plan.sealed == MultiPolygon()
    assert plan.missing == ()


def test_joint_keeps_from_bends_and_screws():
    plan = plan_grooves({"C1": channel([(60, 80), (160, 80)], 12.0)}, [], PLATE, ROOM)
    path = fit_path(rings(plan.sealed.geoms[0])[0])
    screws = [(110.0, 95.0), (110.0, 65.0)]
    joint = place_joint(path, screws)
    assert 60 < joint.at[0] < 160
    assert joint.straight_mm >= 20
    assert joint.to_screw_mm >= 20


def test_radius_of_a_circle_is_found():
    ring = rings(Point(0, 0).buffer(9.0, quad_segs=16))[0]
    assert tight_bends(ring, 20.0)
    assert all(bend.radius == pytest.approx(9.0, rel=0.01) for bend in tight_bends(ring, 20.0))


def two_channels(gap: float) -> dict:
    """Two straight channels side by side, ``gap`` mm of plate between them."""
    return {
        "C1": LineString([(60, 60), (200, 60)]).buffer(5.0),
        "C2": LineString([(60, 70 + gap), (200, 70 + gap)]).buffer(5.0),
    }


@pytest.mark.parametrize(("join", "gap", "parts"), [(0.0, 14, 2), (11.5, 14, 1), (11.5, 30, 2), (1e9, 30, 1)])
def test_regions_share_a_groove_as_it_is_wished(join: float, gap: float, parts: int) -> None:
    """Two grooves 3.4 mm from the water each: 14 mm apart their centrelines are 7.2 from each other, 30 apart 23.2."""
    room = Room(2.8, 7.4, wall_mm=2.0, edge_wall_mm=2.0, between_mm=2.0, join_mm=join)
    plan = plan_grooves(two_channels(gap), [], box(0, 0, 300, 200), room)
    assert len(plan.sealed.geoms) == parts
    assert plan.missing == ()
    assert all(plan.sealed.buffer(1e-6).contains(shape.buffer(3.4)) for shape in two_channels(gap).values())


def test_a_wish_does_not_lead_the_groove_over_what_is_dry() -> None:
    """A cutout as long as the channels between them, and no plate beside it: one groove round both would go over it."""
    room = Room(2.8, 7.4, wall_mm=2.0, edge_wall_mm=2.0, between_mm=2.0, join_mm=1e9)
    dry = [Obstacle("K1", "cutout", box(50, 80, 210, 90), 2.0)]
    plan = plan_grooves(two_channels(34), dry, box(42, 0, 218, 200), room)
    assert len(plan.sealed.geoms) == 2
    assert plan.missing == ()


HALF = ROOM.width_mm / 2
#: Where the centreline runs beside a straight wet edge: the wall, half the groove, and the margin for chords of 0.02.
AWAY = ROOM.wall_mm + HALF + 0.02


def test_height_is_a_part_of_the_wall() -> None:
    """3, 4 and 5: a wall of 5 of which 3 lie in the height needs 4 in plan; more height than wall needs none."""
    assert Obstacle("H1", "hole", PLATE, 5.0, through=False, gap_mm=3.0).plan_wall_mm == pytest.approx(4.0)
    assert Obstacle("H1", "hole", PLATE, 5.0, through=False, gap_mm=6.0).plan_wall_mm == 0.0


def test_three_regions_too_near_for_grooves_of_their_own_share_one() -> None:
    wet = {f"W{n}": box(40 + 25 * n, 60, 60 + 25 * n, 80) for n in range(3)}
    plan = plan_grooves(wet, [], PLATE, ROOM)
    assert [set(items) for items in plan.items] == [set(wet)]
    assert all(plan.sealed.covers(water.buffer(ROOM.wall_mm)) for water in wet.values())


def test_a_wish_joins_the_two_that_are_near_and_leaves_the_third() -> None:
    room = Room(GLAND.width_mm, GLAND.centreline_radius_mm, 2.0, 3.0, 2.0, join_mm=25.0)
    wet = {"W0": box(30, 60, 50, 80), "W1": box(75, 60, 95, 80), "W2": box(180, 60, 200, 80)}
    plan = plan_grooves(wet, [], PLATE, room)
    assert sorted(sorted(items) for items in plan.items) == [["W0", "W1"], ["W2"]]
    assert all(plan.sealed.covers(water.buffer(room.wall_mm)) for water in wet.values())


def test_a_wish_does_not_lead_the_groove_over_a_notch_in_the_plate() -> None:
    room = Room(GLAND.width_mm, GLAND.centreline_radius_mm, 2.0, 3.0, 2.0, join_mm=40.0)
    wet = {"W0": box(20, 90, 40, 110), "W1": box(72, 90, 92, 110)}
    assert len(plan_grooves(wet, [], PLATE, room).items) == 1
    notched = PLATE.difference(box(52, 70, 60, 160))  # there is room to go round its end
    (part,) = plan_grooves(wet, [], notched, room).sealed.geoms
    assert part.distance(notched.exterior) >= 3.0 + GLAND.width_mm / 2
    deeper = PLATE.difference(box(52, 10, 60, 160))  # and here there is none
    assert len(plan_grooves(wet, [], deeper, room).items) == 2


def test_what_lies_under_the_groove_is_measured_from_its_edge() -> None:
    """1 mm beside the groove's edge and 1.5 mm below its floor: √(1 + 2.25) = 1.803 of 3 mm."""
    beside = 80 + AWAY + HALF + 1.0
    hole = Obstacle("R1", "pocket", box(beside, 50, beside + 10, 70), 3.0, through=False, gap_mm=1.5)
    (missing,) = plan_grooves({"W0": box(40, 40, 80, 80)}, [hole], PLATE, ROOM).missing
    assert (missing.why, missing.kind, missing.items) == ("under", "pocket", ("W0", "R1"))
    assert (missing.value_mm, missing.limit_mm) == (pytest.approx(1.803, abs=0.02), 3.0)


@pytest.mark.parametrize(("more", "said"), [(-0.1, True), (-2 * HALF, True), (0.1, False)])
def test_the_wall_to_the_plates_edge_counts_from_the_grooves_edge(more: float, said: bool) -> None:
    middle = ROOM.edge_wall_mm + HALF + AWAY + 20 + more
    plan = plan_grooves({"W0": Point(middle, 80).buffer(20, quad_segs=64)}, [], PLATE, ROOM)
    assert [wall.kind for wall in plan.missing] == (["edge"] if said else [])
