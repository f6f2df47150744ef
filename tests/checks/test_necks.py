"""Narrow places in wide recesses: by hand, and against a raster on which a round cutter is moved about."""

import itertools
import math
import random

import numpy as np
import pytest
import shapely
from scipy import ndimage

from sketcher.checks import run
from sketcher.checks.tools import narrowest
from tests.checks.plates import plate

#: The raster's spacing, mm.
FINE = 0.1


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


def differences(seed: int) -> list[str]:
    """Where the rule and the raster do not agree; widths within two steps of the raster are not asked."""
    rng, wrong = random.Random(seed), []
    area = random_recess(rng)
    for cutter in (3.0, 5.0):
        narrow = narrowest(area, cutter)
        if narrow is not None and narrow[0] > cutter - 2.5 * FINE:
            continue
        free = by_raster(area, (cutter if narrow is None else narrow[0]) - 2.5 * FINE)
        blocked = narrow is None or not by_raster(area, cutter)
        if not (free and blocked):
            wrong.append(f"seed {seed}, cutter {cutter:g}: {narrow}")
    return wrong


@pytest.mark.parametrize("seed", range(6))
def test_a_random_recess_agrees_with_a_cutter_moved_about_on_a_raster(seed: int) -> None:
    assert differences(seed) == []


@pytest.mark.long
def test_three_hundred_random_recesses_agree_with_the_raster() -> None:
    assert [line for seed in range(100, 400) for line in differences(seed)] == []
