"""What certainly cannot be joined, against plane geometry; and work that is counted instead of the clock."""

import math
import random
import time

from shapely import LinearRing, LineString, Point

from sketcher.proposing.budget import Budget
from sketcher.proposing.certain import certainly_open
from sketcher.proposing.crossing import _alternate
from sketcher.proposing.rule_distances import Section
from tests.checks.plates import plate, rectangle

BODY = {"body_thickness_mm": 20, "lid_thickness_mm": 10, "z_mm": 10}
SECTION = Section(8.0, 8.0)


def on_edges(places: list[tuple[float, float]], connections: list[list[str]], **more: object) -> list[tuple[str, ...]]:
    ports = [{"id": f"P{k}", "x_mm": x, "y_mm": y, "face": "edge"} for k, (x, y) in enumerate(places, 1)]
    made = plate(plate=BODY, ports=ports, loop={"connections": connections}, seal={"kind": "bonded"}, **more)
    return [one.ports for one in certainly_open(made, SECTION)]


def test_ends_that_alternate_on_a_ring_are_those_whose_chords_cross() -> None:
    """Chords of a circle are crossed by plane geometry (shapely); ends near each other are not claimed either way."""
    chance, length = random.Random(4), 2 * math.pi * 100
    ring = LinearRing(Point(0, 0).buffer(100, quad_segs=256).exterior)
    told = 0
    for _ in range(400):
        at = [chance.uniform(0, length) for _ in range(4)]
        ends = [ring.interpolate(place / length, normalized=True) for place in at]
        cross = LineString(ends[:2]).crosses(LineString(ends[2:]))
        apart = min((a - b) % length for a in at for b in at if a is not b) > 12
        assert _alternate(*at, length) == (cross and apart)
        told += cross and apart
    assert told > 40


def test_connections_that_cross_are_named_and_no_others() -> None:
    middles = [(50.0, 150.0), (350.0, 150.0), (200.0, 50.0), (200.0, 250.0)]
    assert on_edges(middles, [["P1", "P2"], ["P3", "P4"]]) == [("P3", "P4")]
    assert on_edges(middles, [["P1", "P3"], ["P2", "P4"]]) == []
    # Three along the plate and one across all of them: the one across goes, not the three.
    rows = [(50.0, 100.0), (350.0, 100.0), (50.0, 150.0), (350.0, 150.0), (50.0, 200.0), (350.0, 200.0)]
    crossed = [["P7", "P8"], ["P1", "P2"], ["P3", "P4"], ["P5", "P6"]]
    assert on_edges([*rows, (200.0, 50.0), (200.0, 250.0)], crossed) == [("P7", "P8")]


def test_a_hole_between_does_not_undo_the_crossing_and_a_wall_parts_the_ground() -> None:
    middles = [(50.0, 150.0), (350.0, 150.0), (200.0, 50.0), (200.0, 250.0)]
    hole = [{"id": "K1", "outline": rectangle(200, 150, 60, 40)}]
    assert on_edges(middles, [["P1", "P2"], ["P3", "P4"]], cutouts=hole) == [("P3", "P4")]
    wall = [{"id": "Z1", "outline": rectangle(120, 150, 6, 240)}]
    assert on_edges(middles, [["P1", "P2"], ["P3", "P4"]], keep_outs=wall) == [("P1", "P2")]


def test_work_counts_and_the_clock_only_ends_what_is_far_too_slow() -> None:
    budget = Budget(10.0)
    assert budget.left(9.9)
    budget.spend(9.95)
    assert budget.left()
    assert not budget.left(0.1)
    budget.spend(0.1)
    assert not budget.left()
    assert not budget.late
    slow = Budget(10.0, begun=time.process_time() - 24.0)
    assert not slow.left()
    assert slow.late
    assert not Budget(10.0, stop=lambda: True).left()
