"""Gaps and extents in plan: plane geometry by hand beside each, and brute force against shapely at fine chords."""

from __future__ import annotations

import math
import random

import pytest
from shapely import LineString, Polygon

from sketcher.document.files import from_plain
from sketcher.geometry import build
from sketcher.geometry.gaps import Footprint, between, extent, footprint, gap
from sketcher.geometry.path import Path, from_vertices
from sketcher.geometry.shapes import Shapes

FLOOR = {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 400, "depth_mm": 300}
PLATE = {"outline": {**FLOOR, "width_mm": 380, "depth_mm": 280}, "body_thickness_mm": 20, "lid_thickness_mm": 8}


def shapes_of(**parts: object) -> Shapes:
    return build(from_plain({"version": 1, "floor": {"outline": FLOOR}, "plate": PLATE, **parts}))


def hole(id_: str, x: float, y: float, **more: object) -> dict[str, object]:
    return {"id": id_, "x_mm": x, "y_mm": y, **more}


def test_two_m6_clearance_holes() -> None:
    """ISO 273, medium series: 6.6 mm for M6; centres 20 mm apart leave 13.4."""
    shapes = shapes_of(holes=[hole("H1", 100, 100, screw="M6"), hole("H2", 120, 100, screw="M6")])
    assert between(shapes, "H1", "H2") == pytest.approx(13.4, abs=1e-9)


def test_two_slots_end_to_end() -> None:
    """Slots of 20 mm over all, 50 mm between their middles in one line: 30 mm."""
    slot = {"diameter_mm": 6, "slot_length_mm": 20}
    shapes = shapes_of(holes=[hole("H1", 100, 100, **slot), hole("H2", 150, 100, **slot)])
    assert between(shapes, "H1", "H2") == pytest.approx(30, abs=1e-9)


def test_a_rounded_corner_and_a_disc() -> None:
    """The corner's arc of 5 mm is about (5, 5) from the square's middle; the disc of 4 mm at (20, 20) from it."""
    square = {"shape": "rectangle", "x_mm": 100, "y_mm": 100, "width_mm": 20, "depth_mm": 20, "corner_radius_mm": 5}
    disc = {"shape": "circle", "x_mm": 120, "y_mm": 120, "diameter_mm": 4}
    shapes = shapes_of(cutouts=[{"id": "K1", "outline": square}, {"id": "K2", "outline": disc}])
    assert between(shapes, "K1", "K2") == pytest.approx(15 * math.sqrt(2) - 7, abs=1e-9)


def test_a_bend_of_a_channel_and_a_hole() -> None:
    """A square corner at (100, 100) with R 20 bends about (80, 80); the hole's middle is on the bisector, 30 mm out."""
    centre = 80 + 30 / math.sqrt(2)
    channel = {
        "id": "C1",
        "points": [{"x_mm": 50, "y_mm": 100}, {"x_mm": 100, "y_mm": 100}, {"x_mm": 100, "y_mm": 50}],
        "width_mm": 6,
        "depth_mm": 6,
        "bend_radius_mm": 20,
    }
    shapes = shapes_of(channels=[channel], holes=[hole("H1", centre, centre, diameter_mm=4)])
    assert between(shapes, "C1", "H1") == pytest.approx(30 - 20 - 3 - 2, abs=1e-9)


def test_what_overlaps_touches_or_lies_within_is_0_apart() -> None:
    big = {"shape": "rectangle", "x_mm": 100, "y_mm": 100, "width_mm": 100, "depth_mm": 100}
    across = {"shape": "rectangle", "x_mm": 100, "y_mm": 100, "width_mm": 200, "depth_mm": 10}
    beside = {"shape": "rectangle", "x_mm": 160, "y_mm": 100, "width_mm": 20, "depth_mm": 20}
    small = {"shape": "circle", "x_mm": 110, "y_mm": 110, "diameter_mm": 4}
    cutouts = [{"id": f"K{i}", "outline": o} for i, o in enumerate([big, across, beside, small])]
    shapes = shapes_of(cutouts=cutouts)
    assert [between(shapes, "K0", other) for other in ("K1", "K2", "K3")] == [0, 0, 0]


def test_what_covers_nothing_has_no_gap() -> None:
    shapes = shapes_of(branches=[{"id": "J1", "x_mm": 50, "y_mm": 50}], holes=[hole("H1", 100, 100)])
    assert footprint(shapes, "J1") is None
    assert between(shapes, "J1", "H1") is None


def test_a_turned_board_reaches_as_far_as_its_corners() -> None:
    """A board of 100 by 60 about its own corner at (200, 150), turned by 30 degrees: corners by hand."""
    board = {"id": "B1", "x_mm": 200, "y_mm": 150, "turn_deg": 30, "width_mm": 100, "depth_mm": 60}
    found = footprint(shapes_of(boards=[board]), "B1")
    assert found is not None
    c, s = math.cos(math.radians(30)), math.sin(math.radians(30))
    assert extent(found) == pytest.approx((200 - 60 * s, 150, 200 + 100 * c, 150 + 100 * s + 60 * c), abs=1e-9)


def test_an_arc_reaches_beyond_its_chord() -> None:
    """A half circle of 20 mm on the right end of a 20 mm square: the right side is 10 mm farther out."""
    vertices = [
        {"x_mm": 100, "y_mm": 100},
        {"x_mm": 120, "y_mm": 100, "bulge": 1},
        {"x_mm": 120, "y_mm": 120},
        {"x_mm": 100, "y_mm": 120},
    ]
    found = footprint(shapes_of(cutouts=[{"id": "K1", "outline": {"shape": "polygon", "vertices": vertices}}]), "K1")
    assert found is not None
    assert extent(found) == pytest.approx((100, 100, 130, 120), abs=1e-9)


def blob(rng: random.Random, x: float, y: float) -> Footprint:
    """A star-shaped outline of lines and arcs about a place, or an open line of them with a width."""
    count = rng.randint(3, 6)
    closed = rng.random() < 0.7
    rows = []
    for i in range(count):
        angle = 2 * math.pi * (i + rng.uniform(0.1, 0.9) * 0.5) / count
        reach = rng.uniform(8, 15)
        rows.append((x + reach * math.cos(angle), y + reach * math.sin(angle), rng.choice([0, 0.2, 0.35, -0.15])))
    path = from_vertices(rows, closed=closed)
    radius = 0.0 if closed else rng.uniform(1, 4)
    return Footprint(path, radius, fine(path, radius), 0, 1)


def fine(path: Path, radius: float) -> Polygon:
    points = path.points(1e-5)
    return Polygon(points) if path.closed else LineString(points).buffer(radius, quad_segs=400)


def test_against_shapely_at_fine_chords() -> None:
    """Second method: shapely's distance of polygons within 1e-5 mm of the arcs."""
    rng = random.Random(11)
    zeros = 0
    for _ in range(200):
        one, other = blob(rng, 0, 0), blob(rng, rng.uniform(-32, 32), rng.uniform(-32, 32))
        if not (one.polygon.is_valid and other.polygon.is_valid):
            continue
        expected = one.polygon.distance(other.polygon)
        assert gap(one, other) == pytest.approx(expected, abs=2e-4)
        zeros += expected == 0
    assert 20 < zeros < 150  # both cases have been met


def test_extents_against_shapely_at_fine_chords() -> None:
    rng = random.Random(12)
    for _ in range(200):
        one = blob(rng, rng.uniform(-50, 50), 0)
        assert extent(one) == pytest.approx(one.polygon.bounds, abs=2e-4)
