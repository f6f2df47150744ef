"""From holes as drawn to contours that can be cut, on cases whose areas and places are known from a sketch."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import Polygon

from sketcher.export.cuts import Cuts, Hole, _fitted, arrange, moved
from sketcher.export.sheet import ExportError
from sketcher.geometry.outline_contours import Contour, round_contour
from sketcher.geometry.path import from_vertices
from sketcher.geometry.shapes import polygon_of


def shape(*corners: tuple[float, float]) -> Contour:
    return Contour(from_vertices([(x, y, 0.0) for x, y in corners], closed=True))


def box(left: float, front: float, right: float, rear: float) -> Contour:
    return shape((left, front), (right, front), (right, rear), (left, rear))


PLATE = box(0, 0, 100, 60)


def cut(*holes: Contour) -> Cuts:
    return arrange(PLATE, [Hole(f"H{n}", contour) for n, contour in enumerate(holes, 1)])


def area(contour: Contour) -> float:
    return float(polygon_of(contour).area)


def test_a_hole_that_stands_alone_is_cut_as_it_is_and_nothing_is_said() -> None:
    round_hole = round_contour((20, 20), 5)
    cuts = cut(round_hole)
    assert cuts == Cuts((Hole("H1", round_hole),), PLATE, ())


def test_a_hole_outside_the_plate_is_left_out_and_said_once() -> None:
    assert cut(box(200, 0, 210, 10)) == Cuts((), PLATE, (("H1", "lies outside the plate"),))


def test_two_small_holes_that_overlap_are_cut_as_one() -> None:
    """Two squares of 0.6 mm, shifted by 0.3: 0.54 mm² in all."""
    cuts = cut(box(20, 20, 20.6, 20.6), box(20.3, 20, 20.9, 20.6))
    assert [area(hole.contour) for hole in cuts.inner] == [pytest.approx(0.54)]
    assert cuts.remarks == (("H1+H2", "run into each other and are cut as one hole"),)


def test_what_sticks_out_by_a_little_does_not_fall_out_with_the_larger_one() -> None:
    """A circle of radius 2 whose middle is 8.3 from that of a circle of 10 reaches 0.3 mm beyond it."""
    within, beyond = round_contour((58, 30), 2), round_contour((58.3, 30), 2)
    large = round_contour((50, 30), 10)
    assert cut(large, within).remarks == (("H2", "lies within H1 and falls out with it"),)
    assert cut(large, beyond).remarks == (("H1+H2", "run into each other and are cut as one hole"),)
    # 0.5 mm smaller all round is another hole, not the same.
    assert cut(large, round_contour((50, 30), 9.5)).remarks == (("H2", "lies within H1 and falls out with it"),)
    assert cut(large, round_contour((50, 30), 10)).remarks == (("H2", "is the same hole as H1, which is cut once"),)


def test_a_hole_over_the_edge_is_a_bay_and_the_plate_stays_one_piece() -> None:
    cuts = cut(box(40, -5, 60, 20))
    assert cuts.inner == ()
    assert area(cuts.outer) == pytest.approx(100 * 60 - 20 * 20)
    assert cuts.remarks == (("H1", "runs over the plate's edge and becomes a bay in the outline"),)


def test_a_hole_across_the_plate_leaves_the_larger_piece_and_says_so() -> None:
    cuts = cut(box(30, -5, 40, 65))
    assert area(cuts.outer) == pytest.approx(60 * 60)
    assert cuts.remarks[-1] == ("plate", "falls into several pieces; the largest is cut")


def test_holes_that_take_the_whole_plate_away_are_refused() -> None:
    with pytest.raises(ExportError, match="take the whole plate away"):
        cut(box(-5, -5, 105, 65))


def test_a_piece_with_three_corners_keeps_them() -> None:
    fitted = _fitted(Polygon([(0, 0), (10, 0), (0, 10)]))
    assert fitted.path.closed
    assert [segment.straight for segment in fitted.path.segments] == [True] * 3
    assert fitted.path.area == pytest.approx(50)
    assert fitted.path.length == pytest.approx(20 + math.sqrt(200))


def test_a_round_hole_as_narrow_as_the_kerf_is_none() -> None:
    assert moved(round_contour((20, 20), 0.1), -0.1) == []
    assert moved(round_contour((20, 20), 0.1), -0.2) == []
    assert [one.round for one in moved(round_contour((20, 20), 0.1), 0.2)] == [((20, 20), pytest.approx(0.3))]
    assert [one.round for one in moved(round_contour((20, 20), 1), -0.2)] == [((20, 20), pytest.approx(0.8))]


def test_a_long_spike_is_cut_off_at_five_offsets() -> None:
    """A point of 15 degrees would reach 7.66 offsets beyond its corner; beside it a slit closes, so that arcs do not
    stay arcs. What is nearer than the offset to the contour is inside in any case."""
    half = math.tan(math.radians(7.5)) * 40
    contour = shape(
        (0, 0), (40, -half), (80, -half), (80, -1), (60, -1), (60, -0.9), (80, -0.9), (80, half), (40, half)
    )
    grown = polygon_of(moved(contour, 1.0)[0])
    assert -5.1 < grown.bounds[0] < -1
    assert grown.buffer(1e-6).covers(polygon_of(contour).buffer(0.99))
    assert moved(contour, 0.0) == [contour]
    assert shapely.is_valid(grown)
