"""Outlines combined and grown: against areas known from geometry, with arcs exact.

Sources: areas of circle, circular segment and lens by their closed formulas (any handbook of plane geometry); Steiner's
formula for the area of a convex body grown by r, A + P r + pi r²; area is additive: A ∪ B and A ∩ B together have the
area of A and B.
"""

from __future__ import annotations

import math
import random

import pytest
from shapely import Point as ShapelyPoint
from shapely import Polygon as ShapelyPolygon

from sketcher.document.outlines import Circle, Outline, Polygon, Rectangle, Slot, Vertex
from sketcher.geometry.combining import CombiningError, combined, grown, outline_of
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.path import Path, from_vertices

SQUARE = contour(Rectangle(x_mm=50, y_mm=50, width_mm=100, depth_mm=100)).path


def disc(x: float, y: float, diameter: float) -> Path:
    return contour(Circle(x_mm=x, y_mm=y, diameter_mm=diameter)).path


def area(path: Path) -> float:
    return abs(path.area)


def test_a_circle_on_an_edge_takes_half_of_itself_and_leaves_a_true_arc() -> None:
    (left,) = combined(SQUARE, disc(100, 50, 40), "minus")
    assert area(left.outer) == pytest.approx(100 * 100 - math.pi * 20**2 / 2, abs=1e-6)
    arcs = [segment for segment in left.outer.segments if not segment.straight]
    assert {round(segment.radius, 9) for segment in arcs} == {20.0}
    assert {(round(s.centre[0], 6), round(s.centre[1], 6)) for s in arcs} == {(100.0, 50.0)}
    # Where circle and edge meet is known: 20 mm to the front and the rear of the centre.
    assert any(math.dist(s.start, (100, 30)) < 1e-9 for s in left.outer.segments)


def test_two_circles_share_a_lens() -> None:
    # r = 20, centres 20 apart: 2 r² acos(d/2r) − d/2 √(4r² − d²).
    lens = 2 * 20**2 * math.acos(0.5) - 10 * math.sqrt(4 * 20**2 - 20**2)
    (shared,) = combined(disc(0, 0, 40), disc(20, 0, 40), "common")
    assert area(shared.outer) == pytest.approx(lens, abs=1e-6)
    (both,) = combined(disc(0, 0, 40), disc(20, 0, 40), "union")
    assert area(both.outer) == pytest.approx(2 * math.pi * 400 - lens, abs=1e-6)


def test_what_lies_inside_becomes_a_hole_and_what_cuts_through_leaves_two() -> None:
    (ring,) = combined(SQUARE, disc(50, 50, 40), "minus")
    assert [area(hole) for hole in ring.holes] == [pytest.approx(math.pi * 400, abs=1e-6)]
    bar = contour(Rectangle(x_mm=60, y_mm=50, width_mm=10, depth_mm=200)).path
    assert [area(part.outer) for part in combined(SQUARE, bar, "minus")] == [5500.0, 3500.0]
    with pytest.raises(CombiningError, match="nothing is left"):
        combined(disc(50, 50, 10), SQUARE, "minus")


def test_growing_keeps_to_steiner_and_rounds_the_corners_truly() -> None:
    (made,) = grown(SQUARE, 3.0)
    assert area(made.outer) == pytest.approx(100**2 + 400 * 3 + math.pi * 9, abs=1e-6)
    assert sum(not s.straight for s in made.outer.segments) == 4
    (sharp,) = grown(SQUARE, 3.0, "sharp")
    assert (area(sharp.outer), len(sharp.outer.segments)) == (pytest.approx(106**2), 4)
    (less,) = grown(SQUARE, -3.0, "sharp")
    assert (area(less.outer), len(less.outer.segments)) == (pytest.approx(94**2), 4)
    (wider,) = grown(disc(10, 10, 30), 2.5)
    assert outline_of(wider.outer) == Circle(x_mm=10, y_mm=10, diameter_mm=35)
    with pytest.raises(CombiningError, match="nothing is left"):
        grown(SQUARE, -51)


def test_an_edge_that_vanishes_is_left_out() -> None:
    """A notch 4 mm wide is closed by growing 3 mm sharp, where moving edge by edge would fail."""
    notched = contour(
        Polygon(
            vertices=tuple(
                Vertex(x_mm=x, y_mm=y)
                for x, y in [(0, 0), (50, 0), (50, 50), (27, 50), (27, 30), (23, 30), (23, 50), (0, 50)]
            )
        )
    ).path
    (made,) = grown(notched, 3.0, "sharp")
    assert area(made.outer) == pytest.approx(56**2)


def outlines(rng: random.Random) -> Outline:
    x, y = rng.uniform(-20, 20), rng.uniform(-20, 20)
    turn = rng.choice([0.0, 90.0, rng.uniform(0, 360)])
    kind = rng.randrange(4)
    if kind == 0:
        return Circle(x_mm=x, y_mm=y, diameter_mm=rng.uniform(5, 60))
    if kind == 1:
        width = rng.uniform(5, 30)
        return Slot(x_mm=x, y_mm=y, width_mm=width, length_mm=width + rng.uniform(1, 40), turn_deg=turn)
    if kind == 2:
        w, d = rng.uniform(10, 60), rng.uniform(10, 60)
        return Rectangle(
            x_mm=x, y_mm=y, width_mm=w, depth_mm=d, corner_radius_mm=rng.choice([0.0, min(w, d) / 3]), turn_deg=turn
        )
    # A star-shaped outline never crosses itself; slight arcs keep it so.
    count = rng.randint(3, 8)
    vertices = [
        Vertex(
            x_mm=x + rng.uniform(15, 35) * math.cos(2 * math.pi * i / count),
            y_mm=y + rng.uniform(15, 35) * math.sin(2 * math.pi * i / count),
            bulge=rng.choice([0.0, 0.0, rng.uniform(-0.1, 0.3)]),
        )
        for i in range(count)
    ]
    return Polygon(vertices=tuple(vertices))


def test_areas_add_up_for_any_two_outlines() -> None:
    """50 random pairs; also each result lies where a fine polygon says it does."""
    rng = random.Random(7)
    checked = 0
    for _ in range(50):
        one, other = contour(outlines(rng)).path, contour(outlines(rng)).path
        polygons = [ShapelyPolygon(path.points(0.0005)) for path in (one, other)]
        if not all(polygon.is_valid for polygon in polygons) or polygons[0].intersection(polygons[1]).area < 1:
            continue
        union = combined(one, other, "union")
        common = combined(one, other, "common")
        whole = sum(area(r.outer) - sum(map(area, r.holes)) for r in [*union, *common])
        assert whole == pytest.approx(area(one) + area(other), abs=0.02)
        minus = polygons[0].difference(polygons[1])
        if minus.area > 1:
            left = combined(one, other, "minus")
            assert sum(area(r.outer) - sum(map(area, r.holes)) for r in left) == pytest.approx(minus.area, abs=0.1)
            assert len(left[0].outer.segments) < 40  # arcs are arcs, not chords
        checked += 1
    assert checked > 25


def test_growing_then_every_place_is_so_far_away() -> None:
    """Places of the grown outline, arcs included, are as far from the first one as asked."""
    rng = random.Random(3)
    for _ in range(16):
        path = contour(outlines(rng)).path
        polygon = ShapelyPolygon(path.points(0.0005))
        if not polygon.is_valid:
            continue
        by = rng.choice([0.5, 2.0, 7.5])
        made = grown(path, by)[0].outer
        ring = polygon.exterior
        for point in made.points(0.2):
            assert ring.distance(ShapelyPoint(point)) == pytest.approx(by, abs=0.004)
        assert len(made.segments) < 60


def test_outlines_come_back_within_what_a_document_holds() -> None:
    made = outline_of(grown(SQUARE, 2.0)[0].outer)
    assert isinstance(made, Polygon)
    assert area(contour(made).path) == pytest.approx(100**2 + 400 * 2 + math.pi * 4, abs=1e-3)
    many = from_vertices(
        [(math.cos(i / 2500 * 2 * math.pi) * 300, math.sin(i / 2500 * 2 * math.pi) * 300, 0.0) for i in range(2500)],
        closed=True,
    )
    with pytest.raises(CombiningError, match="2000 at most"):
        outline_of(many)
