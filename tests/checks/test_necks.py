"""Narrow places in wide recesses: by hand, against a raster on which a round cutter is moved about, and against the
Voronoi diagram of the recess's edge, on which the widest way of a disc runs (F. Aurenhammer, Voronoi diagrams, 1991).

The raster of 0.1 mm cannot tell a neck that is nearly as wide as the cutter; the diagram can, to about 0.01 mm.
"""

import itertools
import math
import random

import numpy as np
import pytest
import shapely
from scipy import ndimage
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from scipy.spatial import Voronoi

from sketcher.checks import run
from sketcher.checks.cutters import narrowest
from tests.checks.plates import plate

#: The raster's spacing, and that of the points on the edge whose diagram is drawn, mm.
FINE, EDGE = 0.1, 0.05
#: The diagram's own error, and how much narrower than the cutter a neck may be before the rule says so, mm.
SURE, PASSES = 0.012, 0.03


def pocket(area: shapely.Geometry, cutter: float, **more):
    points = [{"x_mm": x, "y_mm": y} for x, y in list(area.exterior.coords)[:-1]]
    item = {"id": "R1", "outline": {"shape": "polygon", "vertices": points}, "depth_mm": 4, **more}
    return plate(pockets=[item], shop={"cutter_diameters_mm": [cutter, 30]})


def dumbbell(width: float) -> shapely.Geometry:
    wide = shapely.box(100, 100, 120, 120).union(shapely.box(140, 100, 160, 120))
    return wide.union(shapely.box(119, 110 - width / 2, 141, 110 + width / 2))


@pytest.mark.parametrize(("width", "cutter", "found"), [(4, 6, True), (5.95, 6, True), (6.05, 6, False), (4, 3, False)])
def test_a_neck_between_two_wide_parts_is_found_with_its_width(width: float, cutter: float, found: bool) -> None:
    rows = [f for f in run(pocket(dumbbell(width), cutter), quick=True) if f.rule == "cutter-recess"]
    assert bool(rows) == found
    if found:
        assert rows[0].value == pytest.approx(width, abs=0.05)
        assert rows[0].at == pytest.approx((130, 110), abs=12)


def test_two_round_parts_that_meet_have_a_neck_of_their_common_chord() -> None:
    """Circles of 10 mm, 18 apart: the chord is 2 √(10² - 9²)."""
    area = shapely.Point(100, 100).buffer(10, 64).union(shapely.Point(118, 100).buffer(10, 64))
    narrow = narrowest(area, 9.0)
    assert narrow is not None
    assert narrow[0] == pytest.approx(2 * math.sqrt(19), abs=0.05)
    assert narrowest(area, 8.6) is None


def test_corners_are_no_necks_however_sharp() -> None:
    for corner in ((30, 10), (30, 26), (15, 26)):
        assert narrowest(shapely.Polygon([(0, 0), (30, 0), corner]), 4.0) is None
    ell = shapely.box(0, 0, 30, 10).union(shapely.box(0, 0, 10, 30))
    assert narrowest(ell, 6.0) is None


def by_raster(area: shapely.Geometry, cutter: float) -> bool:
    """Whether a disc that stays inside goes everywhere in one piece, but for what lies within its width of its way."""
    left, low, right, high = area.bounds
    x, y = np.meshgrid(np.arange(left - 1, right + 1, FINE), np.arange(low - 1, high + 1, FINE))
    inside = shapely.contains_xy(area, x, y)
    centres = ndimage.distance_transform_edt(inside) * FINE >= cutter / 2
    if not centres.any() or ndimage.label(centres, np.ones((3, 3)))[1] > 1:
        return False
    covered = ndimage.distance_transform_edt(~centres) * FINE <= cutter / 2
    return not (inside & (ndimage.distance_transform_edt(~covered) * FINE > cutter)).any()


def random_recess(rng: random.Random) -> shapely.Geometry:
    """Two or three rectangles and circles joined by bars, some of them too narrow, some of them dead ends."""
    parts, places = [], []
    for k in range(rng.choice([2, 3])):
        x, y = 100 + 22 * k + rng.uniform(-3, 3), 100 + rng.uniform(-8, 8)
        places.append((x, y))
        if rng.random() < 0.5:
            parts.append(shapely.Point(x, y).buffer(rng.uniform(5, 9), 48))
        else:
            parts.append(shapely.box(x - rng.uniform(5, 9), y - rng.uniform(5, 9), x + 6, y + 6))
    bars = [shapely.LineString(pair) for pair in itertools.pairwise(places)]
    if rng.random() < 0.5:
        x, y = rng.choice(places)
        bars.append(shapely.LineString([(x, y), (x, y + rng.uniform(14, 22))]))
    return shapely.union_all([*parts, *(bar.buffer(rng.uniform(1, 4), cap_style="flat") for bar in bars)])


class Diagram:
    """The ways of discs in an area: the edges of its Voronoi diagram, with the room that each leaves."""

    def __init__(self, area: shapely.Geometry) -> None:
        ring = shapely.segmentize(area.exterior, EDGE)
        self.rim = np.unique(shapely.get_coordinates(ring), axis=0)
        drawn = Voronoi(self.rim)
        self.nodes = drawn.vertices
        inside = shapely.contains_xy(area, *self.nodes.T)
        self.room = np.where(inside, shapely.distance(shapely.points(self.nodes), area.exterior), 0.0)
        ends = np.array(drawn.ridge_vertices)
        two = drawn.ridge_points[(ends >= 0).all(axis=1)]
        self.ends = ends[(ends >= 0).all(axis=1)]
        a, b = self.nodes[self.ends[:, 0]], self.nodes[self.ends[:, 1]]
        first, second = self.rim[two[:, 0]], self.rim[two[:, 1]]
        # Where the two nearest points of the edge face each other across the way it is narrowest.
        share = (((first + second) / 2 - a) * (b - a)).sum(1) / np.maximum(((b - a) ** 2).sum(1), 1e-18)
        half = np.hypot(*(first - second).T) / 2
        least = np.minimum(self.room[self.ends[:, 0]], self.room[self.ends[:, 1]])
        self.least = np.where((share > 0) & (share < 1), np.minimum(least, half), least)

    def passes(self, cutter: float) -> bool:
        """Whether a disc goes everywhere in one piece, but for what lies within its width of its way."""
        radius = cutter / 2
        kept = self.ends[self.least >= radius]
        count = len(self.nodes)
        rows = coo_matrix((np.ones(len(kept)), (kept[:, 0], kept[:, 1])), shape=(count, count))
        _, piece = connected_components(rows, directed=False)
        stands = self.room >= radius
        if not stands.any() or len(np.unique(piece[self.room >= radius + SURE / 2])) > 1:
            return False
        # A disc goes everywhere within the largest one about each node that it reaches.
        nodes, room = self.nodes[stands], self.room[stands]
        left = max(float((np.hypot(*(point - nodes).T) - room).min()) for point in self.rim[:: round(0.2 / EDGE)])
        return left <= cutter


def differences(seed: int, cutters: tuple[float, ...] = (3.0, 5.0), raster: bool = True) -> list[str]:
    """Where the rule and the two other ways do not agree; the raster takes longest."""
    rng, wrong = random.Random(seed), []
    area = random_recess(rng)
    diagram = Diagram(area)
    for cutter in cutters:
        narrow = narrowest(area, cutter)
        if narrow is None:
            right = diagram.passes(cutter - PASSES - SURE)
            right = right and not (raster and not by_raster(area, cutter - 2.5 * FINE - PASSES))
        else:
            right = diagram.passes(narrow[0] - SURE) and not diagram.passes(narrow[0] + PASSES + SURE)
            right = right and not (raster and narrow[0] < cutter - 2.5 * FINE and by_raster(area, cutter))
        if not right:
            wrong.append(f"seed {seed}, cutter {cutter:g}: {narrow}")
    return wrong


@pytest.mark.parametrize("seed", range(6))
def test_a_random_recess_agrees_with_a_cutter_moved_about(seed: int) -> None:
    assert differences(seed) == []


@pytest.mark.long
def test_three_hundred_random_recesses_agree_with_a_cutter_moved_about() -> None:
    assert [line for seed in range(100, 400) for line in differences(seed, raster=False)] == []
