"""What is scored into the test piece beside the cuts: signs, ids and crosses, held against where their items are.

Sizes are the document's; 3 mm of arm, a check line of 100 mm and a millimetre of room are the program's own, as
docs/files.md tells them. What a place for an id has to be is worked out from the item: clear of it, near it, and the
same on either side.
"""

from __future__ import annotations

import itertools
import math
from typing import Any

import numpy as np
import pytest
import shapely
from shapely.affinity import scale

from sketcher.document import Document
from sketcher.export import make_sheet
from sketcher.export.sheet import Draft, Sheet
from sketcher.export.strokes import text_width
from sketcher.export.test_piece import DIMENSIONS, INNER, MARK, OUTER, _labels, _middle, _straight_near
from sketcher.geometry import build
from sketcher.geometry.outline_contours import Contour
from sketcher.geometry.path import Path, from_vertices
from tests.checks.plates import channel, circle, plate, rectangle
from tests.export.test_test_piece import simple

HIGH = 4.0


def made(document: Document, label: str = "") -> Sheet:
    return make_sheet(document, build(document), "test-piece", label)


class Asked:
    """Stands in for the places: notes what is asked for, and finds room for the given choice."""

    def __init__(self, choice: int | None) -> None:
        self.choice, self.asked = choice, list[tuple[list[Any], float, float]]()

    def first(self, spots: list[Any], width: float, height: float) -> Any:
        self.asked.append((spots, width, height))
        return None if self.choice is None else spots[self.choice]


def spots_of(document: Document) -> list[list[shapely.Polygon]]:
    """The boxes that each item's id may stand in, in the order of the items."""
    places = Asked(None)
    draft = Draft()
    _labels(draft, document, build(document), places)  # type: ignore[arg-type]
    assert draft.entities == []
    return [[shapely.box(x, y, x + width, y + height) for x, y in spots] for spots, width, height in places.asked]


ITEMS = {
    "ports": [
        {"id": "P1", "x_mm": 100, "y_mm": 150},
        {"id": "P2", "x_mm": 350, "y_mm": 150, "face": "edge", "bore_depth_mm": 30, "thread": "G1/4"},
    ],
    "holes": [{"id": "H1", "x_mm": 150, "y_mm": 100, "diameter_mm": 20}],
}


def test_an_id_stands_clear_of_its_item_near_it_and_alike_on_every_side() -> None:
    document = plate(**ITEMS)
    shapes = build(document)
    discs = [
        (shapes.ports["P1"].at, shapes.ports["P1"].bore_diameter / 2),
        (shapes.ports["P2"].root, 2.0),
        ((150, 100), 10.0),
    ]
    for (middle, radius), boxes in zip(discs, spots_of(document), strict=True):
        disc = shapely.Point(middle).buffer(radius, quad_segs=64)
        assert len(boxes) == 6
        for one in boxes:
            # A millimetre of room, and no farther than the arm of the cross and what keeps clear of it.
            assert 1.0 <= one.distance(disc) <= 3.0 + 2 * 1.0 + 0.1
        # Turned over, left for right or front for rear, they are the same places.
        for mirror in ((-1, 1), (1, -1)):
            turned = [scale(one, *mirror, origin=middle) for one in boxes]
            assert all(any(a.symmetric_difference(b).area < 1e-9 for b in boxes) for a in turned)


def test_an_id_of_an_area_stands_2_mm_beside_it_or_in_its_middle() -> None:
    area = rectangle(200, 150, 30, 20)
    document = plate(cutouts=[{"id": "K1", "outline": area}], pockets=[{"id": "R1", "outline": area, "depth_mm": 3}])
    whole = shapely.box(185, 140, 215, 160)
    for boxes in spots_of(document):
        *around, inside = boxes
        assert [one.distance(whole) for one in around] == pytest.approx([2.0] * 4)
        assert inside.centroid.coords[0] == pytest.approx((200, 150))
        # Behind it, in front of it, to the right and to the left of it.
        sides = [np.sign(np.round(np.subtract(one.centroid.coords[0], (200, 150)), 6)) for one in around]
        assert [side[1] for side in sides[:2]] == [1, -1]
        assert [side[0] for side in sides[2:]] == [1, -1]


@pytest.mark.parametrize("choice", range(5))
def test_every_id_is_scored_once_where_there_is_room(choice: int) -> None:
    document = plate(**ITEMS, cutouts=[{"id": "K1", "outline": rectangle(200, 150, 30, 20)}])
    draft, places = Draft(), Asked(choice)
    _labels(draft, document, build(document), places)  # type: ignore[arg-type]
    words = {item: [e for e in draft.entities if e.item == item] for item in ("P1", "P2", "H1", "K1")}
    for (spots, width, height), entities in zip(places.asked, words.values(), strict=True):
        assert height == HIGH
        x, y = spots[choice]
        left, front, right, rear = shapely.total_bounds([shapely.box(*e.box()) for e in entities])
        assert (left, front) >= (x - 1e-9, y - 1e-9)
        assert (right, rear) <= (x + width + 1e-9, y + HIGH + 1e-9)
        assert rear - front == pytest.approx(HIGH, abs=0.3)


def test_crosses_have_arms_of_3_mm_and_keep_clear_by_1() -> None:
    document = simple()
    bore = build(document).ports["P1"].bore_diameter / 2
    arms = [e for e in made(document).on(MARK.name) if e.item == "P1" and e.path.length == pytest.approx(3.0)]
    reach = sorted(round(math.dist(point, (100, 100)), 6) for arm in arms for point in (arm.path.start, arm.path.end))
    assert reach == pytest.approx([bore + 1] * 4 + [bore + 4] * 4, abs=1e-6)


def test_layers_have_colours_of_their_own_and_dimension_lines_stay_hidden() -> None:
    # AutoCAD's colour index, which DXF uses: 1 red, 3 green, 5 blue.
    assert [(layer.colour, layer.role) for layer in (MARK, INNER, OUTER)] == [(3, "mark"), (5, "inner"), (1, "outer")]
    kept = {"id": "N1", "first": {"item": "P1"}, "second": {"item": "P2"}}
    sheet = made(simple(dimensions=[kept]))
    assert sheet.on(DIMENSIONS.name) != []
    assert not next(layer for layer in sheet.layers if layer.name == DIMENSIONS.name).shown
    assert made(simple()).on(DIMENSIONS.name) == []


def test_signs_that_find_no_room_stand_below_each_other_in_the_sheet() -> None:
    """A plate of 40 x 20 mm: the check line of 100 mm, the arrow with its word and the revision lie in front of it."""
    small = plate(
        plate={"outline": rectangle(100, 100, 40, 20), "body_thickness_mm": 20, "lid_thickness_mm": 6},
        holes=[{"id": "H1", "x_mm": 100, "y_mm": 100, "diameter_mm": 12}],
    )
    marks = [e for e in made(small, "R7 SECOND TRIAL").on(MARK.name) if not e.item]
    below = shapely.union_all([shapely.box(*e.box()).buffer(0.01) for e in marks if e.box()[3] < 90])
    # Rows of what is drawn, from the plate outwards.
    edges = sorted(((e.box()[3], e.box()[1]) for e in marks if e.box()[3] < 90), reverse=True)
    rows: list[list[float]] = []
    for top, bottom in edges:
        if rows and top >= rows[-1][0] - 1e-9:
            rows[-1][0] = min(rows[-1][0], bottom)
        else:
            rows.append([bottom, top])
    # 8 mm in front of the plate and 2 mm between: check line with its words above it, arrow of 10 mm, revision.
    heights = [top - bottom for bottom, top in rows]
    assert heights[0] + heights[1] < 2 * HIGH + 1 + 0.01
    assert 82 - 2.001 <= rows[0][1] <= 80.01
    gaps = [upper[0] - lower[1] for upper, lower in itertools.pairwise(rows[1:])]
    assert all(gap == pytest.approx(2.0, abs=0.01) for gap in gaps)
    assert below.bounds[0] == pytest.approx(80, abs=0.1)
    # The check line is what it says: 100 mm.
    assert max(e.path.length for e in marks if len(e.path.segments) == 1) == pytest.approx(100.0)


def test_the_arrowhead_is_the_same_on_both_sides() -> None:
    shafts = [e.path for e in made(simple()).on(MARK.name) if len(e.path.segments) == 2 and not e.item]
    heads = [p for p in shafts if p.segments[0].end[1] > max(p.start[1], p.end[1])]
    tips = [(p.start, p.segments[0].end, p.end) for p in heads]
    assert any(
        b[0] - a[0] == pytest.approx(2) and c[0] - b[0] == pytest.approx(2) and a[1] == pytest.approx(c[1])
        for a, b, c in tips
    )


def test_an_area_that_is_only_marked_is_marked_in_its_middle() -> None:
    """A triangle's box has its middle half way: neither the centroid nor a corner."""
    corners = [(50, 40, 0.0), (60, 40, 0.0), (50, 70, 0.0)]
    assert _middle(Contour(from_vertices(corners, closed=True))) == pytest.approx((55, 55))


def rounded(width: float, depth: float, radius: float) -> Path:
    document = plate(cutouts=[{"id": "K1", "outline": rectangle(200, 150, width, depth, radius)}])
    contour = build(document).cutouts["K1"].contour
    assert contour is not None
    return contour.path.counter_clockwise()


@pytest.mark.parametrize(("gap", "reach"), [(1.2, 40.0), (3.0, 12.0)])
def test_a_tab_lies_on_the_straight_edge_that_is_nearest(gap: float, reach: float) -> None:
    """Every place along the outline is tried, a twentieth of a millimetre apart."""
    path = rounded(80, 50, 15)
    starts = np.concatenate([[0.0], np.cumsum([s.length for s in path.segments])])
    along = np.arange(0, path.length, 0.05)
    good = np.zeros(len(along), dtype=bool)
    for segment, start in zip(path.segments, starts[:-1], strict=True):
        if segment.straight:
            good |= (along > start + 2 * gap) & (along < start + segment.length - 2 * gap)
    for wanted in np.linspace(1, path.length - 1, 57):
        found = _straight_near(path, float(wanted), gap, reach)
        away = np.abs(along[good] - wanted).min()
        if away < reach - 0.1:
            assert abs(found - wanted) == pytest.approx(away, abs=0.06)
        elif away > reach + 0.1:
            assert found == wanted


def test_tabs_may_lie_two_gaps_apart() -> None:
    """A circle of 20 mm is 62.8 mm round: six tabs are 10.5 mm apart, with 4.2 mm of gap each; seven are too many."""
    disc = plate(
        plate={"outline": circle(100, 100, 20), "body_thickness_mm": 20, "lid_thickness_mm": 6},
        test_piece={"tabs": 6, "tab_width_mm": 4, "kerf_mm": 0.2},
    )
    runs = made(disc).on(OUTER.name)
    assert [run.path.length for run in runs] == pytest.approx([math.pi * 20.2 / 6 - 4.2] * 6, abs=1e-3)


def test_channels_are_scored_by_centreline_and_both_edges() -> None:
    document = plate(channels=[channel("C1", (100, 150), (200, 150))])
    lines = [e.path for e in made(document).on(MARK.name) if e.item == "C1"]
    assert lines[0].length == pytest.approx(100)
    # 8 mm wide with round ends: two straight sides of 100 and a circle of 8.
    assert sum(line.length for line in lines[1:]) == pytest.approx(200 + 8 * math.pi, abs=0.01)
    assert text_width("C1", HIGH) > 0
