"""Looks: what is laid is measured by plain plane geometry, and the measure of tidiness on plates drawn by hand."""

import itertools
import math
from typing import Any

import pytest
import shapely
from shapely import LineString

from sketcher.document import Document
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.proposing.attempt import Table
from sketcher.proposing.judging import judge, numbers
from sketcher.proposing.looks import Axis, Look, best_axis
from sketcher.proposing.negotiation import Prices
from sketcher.proposing.outcome import as_json
from sketcher.proposing.rule_distances import Section
from sketcher.proposing.search import propose
from sketcher.proposing.wishes import Wishes
from tests.checks.plates import channel, plate, rectangle
from tests.proposing.test_proposals import OPEN, errors

SECTION = Section(8.0, 8.0)
Place = tuple[float, float]


def made(places: list[Place], connections: list[list[str]], **more: Any) -> Document:
    ports = [{"id": f"P{k}", "x_mm": x, "y_mm": y} for k, (x, y) in enumerate(places, 1)]
    return plate(plate=OPEN, ports=ports, loop={"connections": connections}, seal={"kind": "bonded"}, **more)


def laid(document: Document, look: Look | None, axis: Axis | None = None) -> list[LineString]:
    """The centrelines of one attempt in a look, after the quick rules found nothing."""
    table = Table(document, limits_of(document), SECTION, "square", look, axis)
    done = table.attempt(Prices(), seed=0)
    assert done.complete
    judged = judge(done.document, quick=True)
    assert judged.errors == ()
    return [LineString(c.path.points(0.02)) for c in build(done.document).channels.values()]


def test_a_course_along_the_edges_is_near_them_where_the_short_one_is_not() -> None:
    """Straight across is 250 mm, 40 from the edge; along the edge it is 310 with two bends more."""
    document = made([(75, 90), (325, 90)], [["P1", "P2"]])
    edge = shapely.boundary(build(document).plate_polygon)
    (short,), (along,) = laid(document, None), laid(document, "edges")

    def near(line: LineString) -> float:
        places = shapely.line_interpolate_point(line, [k / 200 for k in range(201)], normalized=True)
        return sum(float(shapely.distance(edge, place)) < 16 for place in places) / 201

    assert near(short) == 0.0
    assert near(along) > 0.6


def test_courses_from_row_to_row_are_evenly_spaced() -> None:
    """Ports 24 mm apart on the left, rows in the rear on the right: the courses run at one distance from each other."""
    left = [(80.0, 100.0 + 24 * k) for k in range(3)]
    right = [(260.0 + 24 * k, 225.0) for k in range(3)]
    lines = laid(made([*left, *right], [["P1", "P6"], ["P2", "P5"], ["P3", "P4"]]), "parallel")
    crossings = [
        sorted(float(x) for line in lines for x in shapely.get_coordinates(line.intersection(cut))[:, 1])
        for cut in (LineString([(x, 0), (x, 300)]) for x in (120, 160, 200, 230))
    ]
    for ys in crossings:
        assert [b - a for a, b in itertools.pairwise(ys)] == pytest.approx([24.0, 24.0])


def test_courses_one_inside_the_other_along_an_edge_keep_one_spacing_all_the_way() -> None:
    """The ports on one side stand 23 mm apart; along the other edge 12 would do. Measured from line to line."""
    left = [(62.0, 220.0), (85.0, 220.0), (110.0, 220.0)]
    right = [(330.0, 70.0), (330.0, 100.0), (330.0, 130.0)]
    outer, inner, _ = laid(made([*left, *right], [["P1", "P4"], ["P2", "P5"], ["P3", "P6"]]), "edges")
    part = shapely.intersection(inner, shapely.box(80, 80, 280, 190))
    assert part.length > 260
    apart = [float(outer.distance(shapely.Point(place))) for place in shapely.segmentize(part, 5.0).coords]
    assert max(apart) - min(apart) < 0.1
    # As far as the ports' side makes it: the outer one lies at the edge, 60.1 by the rules, and the inner one at 85.
    assert min(apart) == pytest.approx(24.9, abs=0.1)


def test_mirrored_ports_get_mirrored_courses_past_what_stands_on_one_side_only() -> None:
    """A cutout on the left pushes the left course aside; the right one, free to be straight, follows its image."""
    document = made(
        [(90, 80), (90, 220), (310, 80), (310, 220)],
        [["P1", "P2"], ["P3", "P4"]],
        cutouts=[{"id": "K1", "outline": rectangle(90, 150, 30, 30, 3)}],
    )

    def apart(lines: list[LineString]) -> float:
        left, right = sorted(lines, key=lambda one: one.centroid.x)
        image = LineString([(400 - x, y) for x, y in right.coords])
        return float(shapely.hausdorff_distance(left, image, densify=0.02))

    assert apart(laid(document, None)) > 20
    assert apart(laid(document, "symmetry", Axis("x", 200.0))) < 0.5


def test_the_line_that_fits_best_is_found() -> None:
    """Ports mirrored about x = 180, which is not the plate's middle; then about y = 140."""
    about_x = [(100.0, 80.0), (260.0, 80.0), (120.0, 210.0), (240.0, 210.0)]
    area = shapely.box(50, 50, 350, 250)
    assert best_axis(area, about_x) == Axis("x", 180.0)
    assert (
        best_axis(area, [(x, 140 + (x - 180)) for x, _ in about_x[:2]] + [(300.0, 90.0), (300.0, 190.0)]).along == "y"
    )


def drawn(*channels: dict[str, Any]) -> Document:
    return plate(plate=OPEN, channels=list(channels))


@pytest.mark.parametrize(
    ("channels", "expected"),
    [
        # Two straight ones of 200 mm, 12 mm apart, far from the edges: parallel, and mirrored about the line between.
        ([channel("C1", (100, 144), (300, 144)), channel("C2", (100, 156), (300, 156))], (1.0, 0.0, 1.0)),
        # 12 mm apart, then 20 mm: the commoner spacing counts, 100 of 400 mm do not have it.
        (
            [
                channel("C1", (100, 144), (300, 144)),
                channel("C2", (150, 156), (300, 156)),
                channel("C3", (100, 176), (150, 176)),
            ],
            (300 / 400, 0.0, None),
        ),
        # 16 mm from the front edge all along.
        ([channel("C1", (100, 66), (300, 66))], (0.0, 1.0, None)),
        # One slanted line that nothing is like.
        ([channel("C1", (100, 100), (290, 171))], (0.0, 0.0, None)),
    ],
    ids=["pair", "uneven", "edge", "slanted"],
)
def test_tidiness_is_what_a_ruler_says(channels: list[dict[str, Any]], expected: tuple[float | None, ...]) -> None:
    found = numbers(drawn(*channels)).tidiness
    for value, wanted in zip((found.parallel, found.edges, found.mirrored), expected, strict=True):
        if wanted is not None:
            assert value == pytest.approx(wanted, abs=0.02)


def test_what_is_laid_again_close_to_what_is_drawn_changes_little() -> None:
    """C1 is drawn round by the front, out of its shortest way; a cutout was then put upon it."""
    document = made(
        [(80, 150), (320, 150)],
        [["P1", "P2"]],
        channels=[channel("C1", (80, 80), (320, 80), start="P1", end="P2", bend_radius_mm=10)],
        cutouts=[{"id": "K1", "outline": rectangle(200, 76, 20, 20, 3)}],
    )
    wishes = Wishes(anew=True, width_mm=8, depth_mm=8, seconds=60, style="square")
    answers = {
        look: as_json(propose(document, Wishes(**{**vars(wishes), "look": look})), document) for look in (None, "drawn")
    }
    assert answers["drawn"]["unconnected"] == []
    # Straight across is 240 mm of new course; round by the front only the way past the cutout is new.
    assert answers["drawn"]["changed_mm"] < 130
    assert math.isclose(answers[None]["length_mm"], 240, abs_tol=1)
    changes = [one["changed_mm"] for one in answers[None]["alternatives"]]
    # Without the wish it is among the alternatives, and said to be the least change.
    assert min(changes) < 130
    assert "least change" in answers[None]["alternatives"][changes.index(min(changes))]["best_at"]


def test_a_look_is_kept_under_every_rule() -> None:
    document = made([(90, 80), (90, 220), (310, 80), (310, 220)], [["P1", "P2"], ["P3", "P4"]])
    found = propose(document, Wishes(width_mm=8, seconds=60, look="symmetry", line_x_mm=200.0))
    assert found.best is not None
    assert found.best.look == "symmetry"
    assert errors(found.best.document) == []
    assert found.best.judged.numbers.tidiness.mirrored > 0.99
