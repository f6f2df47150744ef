"""Channels beside each other keep their spacing round the corner: measured between centrelines, by plane geometry."""

import itertools
import math

import pytest
import shapely
from shapely import LineString

from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.proposing.attempt import Table
from sketcher.proposing.courses import Course, Style
from sketcher.proposing.judging import judge, numbers
from sketcher.proposing.negotiation import Prices
from sketcher.proposing.nesting import concentric
from tests.checks.plates import channel, plate
from tests.proposing.test_looks import SECTION, made
from tests.proposing.test_proposals import OPEN

GROUND = shapely.box(0, 0, 300, 300)


def spacing(one: LineString, other: LineString) -> tuple[float, float]:
    """The least and the largest distance of places on one line from another, ends left out, mm."""
    places = [one.interpolate(share, normalized=True) for share in (k / 400 for k in range(20, 381))]
    apart = [other.distance(place) for place in places]
    return min(apart), max(apart)


@pytest.mark.parametrize("style", ["square", "diagonal"])
def test_three_from_row_to_row_stay_as_far_apart_in_their_bends(style: Style) -> None:
    """Ports 24 mm apart on the left and in the rear on the right: 24 mm all along, in the bends too."""
    left = [(80.0, 100.0 + 24 * k) for k in range(3)]
    right = [(236.0 + 24 * k, 225.0) for k in range(3)]
    document = made([*left, *right], [["P1", "P6"], ["P2", "P5"], ["P3", "P4"]])
    done = Table(document, limits_of(document), SECTION, style, "parallel").attempt(Prices(), seed=0).document
    assert judge(done, quick=True).errors == ()
    shapes = build(done)
    lines = [LineString(c.path.points(0.005)) for c in shapes.channels.values()]
    lines.sort(key=lambda line: line.length, reverse=True)
    for outer, inner in itertools.pairwise(lines):
        least, most = spacing(inner, outer)
        assert least == pytest.approx(24.0, abs=0.15)
        assert most == pytest.approx(24.0, abs=0.15)
    assert numbers(done, shapes).tidiness.parallel > 0.9


def lines_of(*courses: Course, ground: shapely.Polygon = GROUND, reach: float = 30.0) -> list[LineString]:
    found = concentric(courses, lambda number, beside, all_: ground, 8.0, reach)
    return [course.line() for course in found]


def test_bends_to_either_side_and_travelled_either_way_nest() -> None:
    """A U inside a U, one drawn from its other end: the turn of the outer one has 15 mm more of radius."""
    inner = Course(((60, 200), (60, 80), (160, 80), (160, 200)), (24.0, 24.0))
    outer = Course(((175, 200), (175, 65), (45, 65), (45, 200)), (24.0, 24.0))
    one, other = lines_of(inner, outer)
    least, most = spacing(one, other)
    assert (least, most) == (pytest.approx(15.0, abs=0.02), pytest.approx(15.0, abs=0.02))


def test_an_outer_bend_without_room_makes_the_inner_one_smaller_and_one_too_cramped_stays() -> None:
    inner = Course(((60, 200), (60, 80), (160, 80)), (24.0,))
    # The outer leg is 30 mm long: its bend has 30 mm at most, the inner one then 15 less.
    outer = Course(((45, 95), (45, 65), (160, 65)), (24.0,))
    one, other = lines_of(inner, outer)
    assert spacing(LineString(one.coords), other)[1] <= 105.0  # the inner one runs on alone
    bend = [shapely.Point(60 + 14 - 14 * math.cos(a), 80 + 14 - 14 * math.sin(a)) for a in (0.2, 0.8, 1.4)]
    assert all(one.distance(place) < 0.05 for place in bend)
    assert all(other.distance(place) == pytest.approx(15.0, abs=0.05) for place in bend)
    cramped = Course(((45, 80), (45, 65), (160, 65)), (15.0,))
    assert lines_of(inner, cramped)[0].equals(inner.line())


def test_two_that_are_not_as_far_apart_on_both_legs_or_too_far_have_centres_of_their_own() -> None:
    inner = Course(((60, 200), (60, 80), (160, 80)), (24.0,))
    uneven = Course(((40, 200), (40, 65), (160, 65)), (24.0,))
    assert [line.equals(c.line()) for line, c in zip(lines_of(inner, uneven), (inner, uneven), strict=True)] == [
        True
    ] * 2
    far = Course(((25, 200), (25, 45), (160, 45)), (24.0,))
    assert lines_of(inner, far)[1].equals(far.line())


def test_tidiness_counts_bends_about_one_centre() -> None:
    """Two quarter bends of 24 and 39 mm about one centre are parallel all along; with 24 mm each they are not."""

    def share(radius: float) -> float:
        rows = [
            channel("C1", (150, 100), (250, 100), (250, 200), bend_radius_mm=24),
            channel("C2", (150, 85), (265, 85), (265, 200), bend_radius_mm=radius),
        ]
        return numbers(plate(plate=OPEN, channels=rows)).tidiness.parallel

    assert share(39.0) == pytest.approx(1.0, abs=0.02)
    assert share(24.0) < 0.9
