"""The groove goes round what is dry where it can, and moves by little when something moves by little."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
import shapely
from scipy.sparse import coo_array
from scipy.sparse.csgraph import dijkstra
from shapely.affinity import translate
from shapely.geometry import LineString, Point, box

from sketcher.strength import groove_shape
from sketcher.strength.bends import rings, tight_bends
from sketcher.strength.gland import design_gland
from sketcher.strength.groove import GroovePlan, plan_grooves
from sketcher.strength.groove_necks import neck
from sketcher.strength.groove_room import Obstacle, Room

GLAND = design_gland(2.0)
PLATE = box(0, 0, 260, 160)
NEEDED = 2.0 + GLAND.width_mm + 2.0  # wall, groove, wall


def room(join: float = 0.0) -> Room:
    return Room(GLAND.width_mm, GLAND.centreline_radius_mm, wall_mm=2.0, edge_wall_mm=3.0, between_mm=2.0, join_mm=join)


def random_case(seed: int) -> tuple[dict[str, shapely.Geometry], list[Obstacle]]:
    """One to four channels, and up to eight holes and cutouts that leave groove and walls their room."""
    rng = random.Random(seed)
    wet: dict[str, shapely.Geometry] = {}
    for number in range(rng.randint(1, 4)):
        points = [(rng.uniform(20, 240), rng.uniform(20, 140))]
        for _ in range(rng.randint(1, 3)):
            x, y = points[-1]
            new = (rng.uniform(20, 240), rng.uniform(20, 140))
            points.append(rng.choice([(new[0], y), (x, new[1]), new]))
        wet[f"C{number}"] = LineString(points).buffer(rng.choice([2.5, 3, 4, 5]))
    water, dry = shapely.union_all(list(wet.values())), list[Obstacle]()
    for number in range(200):
        r, x, y = rng.uniform(1.5, 6), rng.uniform(8, 252), rng.uniform(8, 152)
        shape = Point(x, y).buffer(r) if rng.random() < 0.6 else box(x - r, y - r / 2, x + r, y + r / 2)
        if len(dry) < 8 and NEEDED <= water.distance(shape) <= NEEDED + 3:
            dry.append(Obstacle(f"H{number}", "hole", shape, 2.0))
    return wet, dry


def test_a_hole_beside_a_channels_end_makes_the_groove_lean_away() -> None:
    """A channel of 5 mm is narrower than the cord's bend: its groove widens at the end, by 7.4 - 5.9 = 1.5 mm to either
    side (by hand: 2.5 + 2 + 1.4 = 5.9 from the middle). A hole 0.3 mm farther than the walls ask leaves no room for
    that on its side; on the other there is room."""
    wet = {"C1": LineString([(60, 80), (160, 80)]).buffer(2.5, quad_segs=64)}
    hole = Obstacle("H1", "hole", Point(160, 80 + 2.5 + NEEDED + 0.3 + 2).buffer(2, quad_segs=64), 2.0)
    plan = plan_grooves(wet, [hole], PLATE, room())
    assert plan.missing == ()
    (part,) = plan.sealed.geoms
    assert part.distance(hole.shape) >= 2.0 + GLAND.width_mm / 2
    _, low, right, high = part.intersection(box(140, 0, 260, 160)).bounds
    assert high - 80 <= 5.9 + 0.3 + 0.03
    assert 80 - low >= 2 * 7.4 - 5.9 - 0.35  # what one side does not give the other does
    assert not tight_bends(rings(part)[0], 0.9 * GLAND.centreline_radius_mm)
    # A mirrored plate has a mirrored groove.
    other = Obstacle("H1", "hole", translate(hole.shape, 0, -2 * (hole.shape.centroid.y - 80)), 2.0)
    (mirrored,) = plan_grooves(wet, [other], PLATE, room()).sealed.geoms
    assert mirrored.area == pytest.approx(part.area, rel=1e-3)
    assert right == pytest.approx(mirrored.bounds[2], abs=0.05)


def test_lid_screws_beside_a_leaning_groove_leave_it_as_it_is() -> None:
    """A screw was placed beside the groove as it leans, some of them where it would be if it did not: with them the
    groove is the same as without, so that what was designed is what is judged."""
    wet = {"C1": LineString([(60, 80), (160, 80)]).buffer(2.5, quad_segs=64)}
    hole = Obstacle("H1", "hole", Point(158, 80 + 2.5 + NEEDED + 0.1 + 2).buffer(2, quad_segs=64), 2.0)
    upright = plan_grooves(wet, [], PLATE, room()).sealed
    leant = plan_grooves(wet, [hole], PLATE, room()).sealed
    reach, tried = 2.0 + GLAND.width_mm / 2, 0
    line = leant.buffer(reach + 2.25 + 0.05).exterior  # type: ignore[union-attr]
    for place in line.interpolate(np.arange(0, line.length, 1.5)):
        screw = Obstacle("S1", "hole", place.buffer(2.25), 2.0, screw=True)
        if upright.distance(screw.shape) < reach - 0.01:
            tried += 1
            assert plan_grooves(wet, [hole, screw], PLATE, room()).sealed.equals(leant)
    assert tried >= 2


def test_a_neck_round_a_hole_is_a_taut_string() -> None:
    """By hand: two round pools 100 mm apart, a round hole of 20 mm just in the middle. From pool to pool round a circle
    of R = 10 + wall and half a groove + half the neck: two tangents √(50² - R²) less the pools, and an arc of
    2 asin(R / 50)."""
    pools = [Point(0, 0).buffer(10, quad_segs=64), Point(100, 0).buffer(10, quad_segs=64)]
    half, reach = 3.4, 2.0 + 1.4
    line = neck(pools[0], pools[1], half, Point(50, 0).buffer(10 + reach, quad_segs=64), 7.4)
    around = 10 + reach + half
    arc = around * 2 * math.asin(around / 50)
    assert line.length == pytest.approx(2 * math.sqrt(50**2 - around**2) + arc - 20, rel=0.004)


@pytest.mark.parametrize("seed", range(4))
def test_a_neck_is_as_short_as_a_raster_finds_it(seed: int) -> None:
    """Second method: Dijkstra on a raster of 1.25 mm with steps to 16 neighbours, which is up to 3 % too long."""
    rng = random.Random(seed)
    pools = [Point(20, rng.uniform(30, 90)).buffer(8), Point(180, rng.uniform(30, 90)).buffer(8)]
    dry = shapely.union_all(
        [box(x, y, x + rng.uniform(5, 30), y + rng.uniform(10, 60)).buffer(3.4, quad_segs=16)
         for x, y in ((rng.uniform(40, 140), rng.uniform(0, 100)) for _ in range(6))]
    )  # fmt: skip
    line = neck(pools[0], pools[1], 3.4, dry, 7.4)
    assert line.distance(dry) >= 3.4
    step, count = 1.25, (161, 145)
    x, y = np.meshgrid(np.arange(count[0]) * step, np.arange(count[1]) * step - 30, indexing="ij")
    at = shapely.points(x, y)
    free = (shapely.distance(at, dry) >= 3.4).ravel()
    number = np.arange(x.size).reshape(x.shape)
    rows, columns, far = [], [], []
    for dx, dy in ((1, 0), (0, 1), (1, 1), (1, -1), (2, 1), (1, 2), (2, -1), (1, -2)):
        a = number[: count[0] - dx, max(0, -dy) : count[1] - max(0, dy)].ravel()
        b = number[dx:, max(0, dy) : count[1] + min(0, dy)].ravel()
        keep = free[a] & free[b]
        rows.append(a[keep])
        columns.append(b[keep])
        far.append(np.full(keep.sum(), step * math.hypot(dx, dy)))
    graph = coo_array((np.concatenate(far), (np.concatenate(rows), np.concatenate(columns))), shape=(x.size, x.size))
    inside = [np.flatnonzero((shapely.distance(at, pool) <= step / 2).ravel() & free) for pool in pools]
    length = dijkstra(graph.tocsr(), directed=False, indices=inside[0], min_only=True)[inside[1]].min()
    assert 0.93 * length - 2 * step <= line.length <= length + 2 * step


def test_one_groove_round_all_goes_round_a_cutout() -> None:
    """The shortest line between the two is over a cutout; beside it there is room, and on a plate that ends beside it
    there is none."""
    wet = {
        "C1": LineString([(60, 60), (200, 60)]).buffer(5.0),
        "C2": LineString([(60, 104), (200, 104)]).buffer(5.0),
    }
    dry = [Obstacle("K1", "cutout", box(50, 80, 210, 90), 2.0)]
    wide = plan_grooves(wet, dry, box(0, 0, 300, 200), room(1e9))
    assert wide.items == (("C1", "C2"),)
    assert wide.missing == ()
    narrow = plan_grooves(wet, dry, box(41, 0, 219, 200), room(1e9))
    assert len(narrow.items) == 2
    assert narrow.missing == ()


def _truly_in_the_way(wet: dict[str, shapely.Geometry], obstacle: Obstacle) -> bool:
    """Whether no groove at all can pass: every disc of the cord's radius that holds the obstacle with its wall meets
    the coolant's own margin, so that a curve of that radius cannot part them."""
    radius = GLAND.centreline_radius_mm
    margin = shapely.union_all(list(wet.values())).buffer(room().offset_mm + 0.03)
    closed = margin.buffer(radius, quad_segs=64).buffer(-radius, quad_segs=64).union(margin)
    return bool(closed.intersects(obstacle.shape.buffer(2.0 + GLAND.width_mm / 2)))


def _searched(base, bend, radius, dry, plain):
    """Second method for a disc that takes a bulge in: of all places on a net of 1/6 of its freedom by 10 degrees that
    which takes least of what is dry."""
    middle = np.subtract(bend.apex, np.multiply(bend.radius, bend.outward))
    around = box(*Point(middle).buffer(5 * radius, quad_segs=1).bounds)
    here, there = base.intersection(around), dry.intersection(around)

    def takes(centre: np.ndarray) -> float:
        grown = here.union(Point(centre).buffer(radius, quad_segs=16))
        return float(grown.buffer(radius, quad_segs=16).buffer(-radius, quad_segs=16).intersection(there).area)

    reach = max(radius - bend.radius, 0.0)
    ways = [
        middle + share * reach * np.array([math.cos(angle), math.sin(angle)])
        for share in np.linspace(0, 1, 7)
        for angle in np.radians(np.arange(0, 360, 10))
    ]
    return min([plain, *ways], key=takes)


SOME = [((4, 18, 74, 102, 103, 136), 0), pytest.param(tuple(range(200)), 3, marks=pytest.mark.long)]


@pytest.mark.parametrize(("seeds", "most"), SOME)
def test_a_groove_that_can_pass_an_obstacle_does(
    seeds: tuple[int, ...], most: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    """All obstacles leave groove and walls their room. Where the groove misses one even so no curve could pass it, but
    for one plate in a hundred: there no place of the disc that rounds the channel's end passes either, of 250 tried."""
    left = []
    for seed in seeds:
        wet, dry = random_case(seed)
        plan = plan_grooves(wet, dry, PLATE, room(), screw_room_mm=8.0)
        missed = {wall.items[-1] for wall in plan.missing if wall.why == "bend" and wall.kind != "edge"}
        if any(not _truly_in_the_way(wet, one) for one in dry if one.id in missed):
            left.append(seed)
    assert len(left) <= most
    monkeypatch.setattr(groove_shape, "_leant", _searched)
    for seed in left:
        groove_shape._better.cache_clear()
        wet, dry = random_case(seed)
        assert plan_grooves(wet, dry, PLATE, room(), screw_room_mm=8.0).missing
    groove_shape._better.cache_clear()


def _leap(one: GroovePlan, other: GroovePlan) -> float:
    lines = [shapely.segmentize(shapely.boundary(plan.sealed), 0.5) for plan in (one, other)]
    return float(shapely.hausdorff_distance(*lines))


def _same_kind(one: GroovePlan, other: GroovePlan) -> bool:
    """Whether both have the same regions together and as many islands: where these change the groove has to leap."""
    counts = [len(shapely.get_rings(shapely.get_parts(plan.sealed))) for plan in (one, other)]
    return counts[0] == counts[1] and sorted(map(sorted, one.items)) == sorted(map(sorted, other.items))


def _leap_of_a_drag(seed: int) -> float:
    """A channel or an obstacle is dragged 2 mm; where the path moves most it is looked at closer and closer, down to a
    hundredth of a millimetre: what it still moves there is a leap."""
    wet, dry = random_case(seed)
    rng = random.Random(seed + 999)
    angle, name = rng.uniform(0, 2 * math.pi), rng.choice(list(wet))
    number = rng.randrange(len(dry)) if dry and seed % 2 else None

    def at(way: float) -> GroovePlan:
        dx, dy = way * math.cos(angle), way * math.sin(angle)
        if number is None:
            return plan_grooves({**wet, name: translate(wet[name], dx, dy)}, dry, PLATE, room(), screw_room_mm=8.0)
        one = dry[number]
        moved = Obstacle(one.id, one.kind, translate(one.shape, dx, dy), one.wall_mm)
        return plan_grooves(wet, [*dry[:number], moved, *dry[number + 1 :]], PLATE, room(), screw_room_mm=8.0)

    places = np.linspace(0, 2, 9)
    plans = [at(way) for way in places]
    leaps = [_leap(a, b) if _same_kind(a, b) else 0.0 for a, b in itertools.pairwise(plans)]
    k = int(np.argmax(leaps))
    low, high, first, last = places[k], places[k + 1], plans[k], plans[k + 1]
    while high - low > 0.01:
        middle = (low + high) / 2
        between = at(middle)
        if _leap(first, between) > _leap(between, last):
            high, last = middle, between
        else:
            low, first = middle, between
    return _leap(first, last) if _same_kind(first, last) else 0.0


DRAGS = [(3, 0, 0.3), pytest.param(60, 9, 4.0, marks=pytest.mark.long)]


@pytest.mark.parametrize(("count", "most", "farthest"), DRAGS)
def test_the_path_is_smooth_under_a_drag(count: int, most: int, farthest: float) -> None:
    """In six of seven drags nothing leaps. Left over is a notch between two edges that are nearly parallel and as far
    apart as its round end is wide: there a thousandth of a millimetre moves the end by millimetres, in truth too."""
    leaps = [_leap_of_a_drag(seed) for seed in range(count)]
    print([round(leap, 2) for leap in leaps])
    assert sum(leap > 0.3 for leap in leaps) <= most
    assert max(leaps) <= farthest
