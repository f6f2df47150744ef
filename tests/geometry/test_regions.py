"""Unions that keep their arcs, held against shapely's unions of polygons at fine chords, and against areas by hand."""

from __future__ import annotations

import math
import random

import numpy as np
import pytest
import shapely
from shapely import Polygon

from sketcher.geometry.offset import OffsetError, sides
from sketcher.geometry.outline_contours import round_contour, slot_contour
from sketcher.geometry.path import Path, Point, circle, fillet, from_vertices
from sketcher.geometry.regions import as_contour, inside, union

CHORD_MM = 1e-4


def box(x: float, y: float, w: float, d: float) -> Path:
    return from_vertices([(x, y, 0), (x + w, y, 0), (x + w, y + d, 0), (x, y + d, 0)], closed=True)


def run(corners: list[Point], width: float, radius: float = 5.0) -> Path:
    return sides(fillet(corners, [radius] * len(corners))[0], width)


def rough(shapes: list[tuple[Path, ...]]) -> Polygon:
    """The second way: polygons with chords within a tenth of a micrometre."""
    found = []
    for outer, *holes in shapes:
        area = Polygon(outer.points(CHORD_MM))
        for hole in holes:
            area = area.difference(Polygon(hole.points(CHORD_MM)))
        found.append(area)
    return shapely.union_all(found)


def test_two_discs_that_overlap() -> None:
    """Two circles of radius r, d apart, share 2 r² acos(d / 2r) - d/2 √(4r² - d²) (any table of plane figures)."""
    r, d = 10.0, 12.0
    shared = 2 * r * r * math.acos(d / (2 * r)) - d / 2 * math.sqrt(4 * r * r - d * d)
    (region,) = union([(circle((0, 0), r),), (circle((d, 0), r),)])
    assert region.exact
    assert region.area == pytest.approx(2 * math.pi * r * r - shared, rel=1e-12)
    assert region.islands == ()


def test_a_frame_of_four_channels_leaves_one_island() -> None:
    """Four bars of 8 mm around 100 x 60 mm: outside 108 x 68 with round corners, inside 92 x 52."""
    corners = [(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)]
    bars = [(run([corners[i], corners[(i + 1) % 4]], 8.0),) for i in range(4)]
    (region,) = union(bars)
    assert region.exact
    (island,) = region.islands
    assert island.area == pytest.approx(-92 * 52, rel=1e-12)
    assert region.area == pytest.approx(108 * 68 - (4 - math.pi) * 16 - 92 * 52, rel=1e-12)
    assert sum(not segment.straight for segment in region.outer.segments) == 4


def test_the_same_shape_twice_and_shapes_that_share_edges() -> None:
    assert union([(circle((3, 4), 5),), (circle((3, 4), 5),)])[0].area == pytest.approx(25 * math.pi, rel=1e-12)
    (region,) = union([(box(0, 0, 10, 5),), (box(10, 0, 10, 5),), (box(5, 5, 10, 5),)])
    assert region.area == pytest.approx(150, rel=1e-12)
    # Two ports' channels that end at the same place with the same width share half a circle.
    (channels,) = union([(run([(0, 0), (50, 0)], 8),), (run([(50, 0), (90, 30)], 8),)])
    assert channels.exact
    polygons = rough([(run([(0, 0), (50, 0)], 8),), (run([(50, 0), (90, 30)], 8),)])
    assert channels.area == pytest.approx(polygons.area, abs=2 * CHORD_MM * 50)


def test_a_circle_within_a_pocket_is_no_ring_of_its_own_and_a_groove_keeps_its_island() -> None:
    assert len(union([(box(0, 0, 50, 50),), (circle((20, 20), 5),)])[0].rings()) == 1
    groove = (box(0, 0, 50, 50), box(3, 3, 44, 44))
    (region,) = union([groove, (circle((25, 25), 5),)])[:1]
    assert region.area == pytest.approx(2500 - 44 * 44)
    two = union([groove, (circle((25, 25), 5),)])
    assert [as_contour(one.outer).round for one in two[1:]] == [((25.0, 25.0), 5.0)]


@pytest.mark.parametrize("seed", range(12))
def test_random_plates_against_polygons(seed: int) -> None:
    """Channels, slots, discs and boxes, half of them on a grid, where edges fall on edges."""
    chance = random.Random(seed)

    def place() -> Point:
        grid = seed % 2 == 0
        x, y = chance.uniform(0, 120), chance.uniform(0, 80)
        return (float(round(x, -1)), float(round(y, -1))) if grid else (x, y)

    shapes: list[tuple[Path, ...]] = []
    while len(shapes) < 14:
        match chance.randrange(4):
            case 0:
                a, b, c = place(), place(), place()
                if min(math.dist(a, b), math.dist(b, c), math.dist(a, c)) < 12:
                    continue
                path, _ = fillet([a, b, c], [0, 6, 0])
                try:
                    ring = sides(path, 6.0)
                except OffsetError:
                    continue
            case 1:
                ring = slot_contour(place(), 20, 6, chance.choice([0, math.pi / 2, 0.4])).path
            case 2:
                ring = round_contour(place(), chance.choice([3, 5, 8])).path
            case _:
                x, y = place()
                ring = box(x, y, chance.choice([10, 20]), 10)
        if Polygon(ring.points(0.001)).is_valid:
            shapes.append((ring,))
    found = union(shapes)
    truth = rough(shapes)
    assert all(region.exact for region in found)
    # Chords lose at most their sagitta along every edge.
    lost = 2 * CHORD_MM * sum(ring.length for shape in shapes for ring in shape)
    assert sum(region.area for region in found) == pytest.approx(truth.area, abs=lost)
    parts = [part for part in shapely.get_parts(truth) if part.area > 1e-3]
    assert len(found) == len(parts)
    ours_islands = sorted(-ring.area for region in found for ring in region.islands)
    their_islands = sorted(Polygon(hole).area for part in parts for hole in part.interiors if Polygon(hole).area > 1e-4)
    assert ours_islands == pytest.approx(their_islands, abs=lost)
    points = np.array([(chance.uniform(-10, 140), chance.uniform(-10, 100)) for _ in range(400)])
    ours = inside(points, [s for region in found for ring in region.rings() for s in ring.segments])
    theirs = shapely.contains(truth, shapely.points(points))
    near = shapely.distance(truth.boundary, shapely.points(points)) < 0.001
    assert (ours == theirs)[~near].all()


def test_nothing_gives_nothing() -> None:
    assert union([]) == ()
