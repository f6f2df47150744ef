"""Ways and courses against a second method: the exact shortest path on the visibility graph of the open ground."""

import itertools
import math
import random
from collections.abc import Callable

import numpy as np
import pytest
import shapely
from numpy.typing import NDArray
from scipy.sparse.csgraph import dijkstra
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document
from sketcher.findings import limits_of
from sketcher.proposing.attempt import Table
from sketcher.proposing.courses import Style, course, straightened, taut
from sketcher.proposing.negotiation import Prices
from sketcher.proposing.rule_distances import Section
from tests.checks.plates import circle, plate, rectangle

SECTION = Section(8.0, 8.0)


Norm = Callable[[NDArray[np.float64]], NDArray[np.float64]]


def euclid(along: NDArray[np.float64]) -> NDArray[np.float64]:
    return np.hypot(*along.T)


def square(along: NDArray[np.float64]) -> NDArray[np.float64]:
    """Length of a way along x and y only."""
    return np.abs(along).sum(axis=1)


def eighths(along: NDArray[np.float64]) -> NDArray[np.float64]:
    """Length of a way along x, along y and at 45° only."""
    longer, shorter = np.abs(along).max(axis=1), np.abs(along).min(axis=1)
    return longer + (math.sqrt(2) - 1) * shorter


def shortest_visible(
    free: BaseGeometry, start: tuple[float, float], end: tuple[float, float], norm: Norm = euclid
) -> float:
    """Length of the shortest path in a polygon with holes: Dijkstra over all pairs of corners that see each other.

    With fixed directions the same graph serves, each pair by its distance in these: a straight line in open ground can
    be taken in steps as small as one likes (Widmayer, Wu and Wong, On some distance problems in fixed orientations,
    SIAM Journal on Computing 16, 1987; from memory).
    """
    # Arcs come with hundreds of corners; without the least of them the path is shorter by hundredths of a millimetre.
    free = shapely.simplify(free, 0.03)
    piece = next(p for p in shapely.get_parts(free).tolist() if p.buffer(0.1).covers(shapely.Point(start)))
    corners = [start, end, *(tuple(c) for ring in (piece.exterior, *piece.interiors) for c in ring.coords[:-1])]
    ground = piece.buffer(1e-3)
    shapely.prepare(ground)
    pairs = np.array(list(itertools.combinations(range(len(corners)), 2)))
    places = np.array(corners)
    lines = shapely.linestrings(places[pairs])
    seen = shapely.covers(ground, lines)
    weights = np.zeros((len(corners), len(corners)))
    a, b = pairs[seen].T
    weights[a, b] = norm(places[b] - places[a])
    return float(dijkstra(weights, directed=False, indices=0)[1])


def single(seed: int) -> Document:
    """A plate with two ports and some cutouts between them."""
    chance = random.Random(seed)
    ports = [{"id": "P1", "x_mm": 80, "y_mm": 80}, {"id": "P2", "x_mm": 320, "y_mm": 220}]
    cutouts, taken = [], [shapely.Point(p["x_mm"], p["y_mm"]).buffer(25) for p in ports]
    while len(cutouts) < 4:
        x, y = chance.uniform(100, 300), chance.uniform(80, 220)
        width, depth = chance.uniform(10, 60), chance.uniform(10, 60)
        box = shapely.box(x - width / 2, y - depth / 2, x + width / 2, y + depth / 2)
        if all(box.distance(other) > 4 for other in taken):
            taken.append(box)
            outline = rectangle(round(x, 1), round(y, 1), round(width, 1), round(depth, 1), 3)
            cutouts.append({"id": f"K{len(cutouts) + 1}", "outline": outline})
    return plate(ports=ports, cutouts=cutouts, loop={"connections": [["P1", "P2"]]})


@pytest.mark.parametrize("seed", range(6))
def test_a_single_course_is_the_shortest_there_is_within_two_in_a_hundred(seed: int) -> None:
    document = single(seed)
    table = Table(document, limits_of(document), SECTION, "free")
    # With turns free and no room kept for screws the cheapest way is the shortest.
    table.ground._narrow[:] = False
    laid = table.attempt(Prices(0.0, 0.0), seed=0)
    assert laid.complete
    free = table.tight.free(frozenset(("P1", "P2")))
    start, end = (table.shapes.ports[id_].root for id_ in ("P1", "P2"))
    net = table.nets[0]
    way = table.lattice.shortest(
        [table.lattice.ends[net.ports[0]]],
        [(table.lattice.ends[net.ports[1]], frozenset())],
        table.ground.costs(net),
        (0.0, 0.0, 0.0),
    )
    assert way is not None
    pulled = taut(straightened(table.lattice.points(way[0])), free)
    length = sum(math.dist(a, b) for a, b in itertools.pairwise(pulled))
    exact = shortest_visible(free, start, end)
    assert exact - 0.05 <= length <= 1.02 * exact


def rounds() -> Document:
    """Two ports with round cutouts, a slot and a ring of posts between them: everything in the way is an arc."""
    ports = [{"id": "P1", "x_mm": 80, "y_mm": 90}, {"id": "P2", "x_mm": 320, "y_mm": 215}]
    slot = {"shape": "slot", "x_mm": 255, "y_mm": 205, "length_mm": 70, "width_mm": 24, "turn_deg": 70}
    cutouts = [
        {"id": "K1", "outline": circle(150, 130, 60)},
        {"id": "K2", "outline": circle(215, 175, 44)},
        {"id": "K3", "outline": slot},
    ]
    posts = [
        {
            "id": f"H{k}",
            "x_mm": round(200 + 26 * math.cos(k), 1),
            "y_mm": round(85 + 26 * math.sin(k), 1),
            "use": "other",
        }
        for k in range(1, 7)
    ]
    return plate(ports=ports, cutouts=cutouts, holes=posts, loop={"connections": [["P1", "P2"]]})


@pytest.mark.parametrize(
    ("style", "norm"), [("square", square), ("free", eighths), ("free", euclid)], ids=["square", "eighths", "free"]
)
@pytest.mark.parametrize("seed", [4, None], ids=["boxes", "arcs"])
def test_a_way_is_the_shortest_in_its_directions_within_two_in_a_hundred(
    seed: int | None, style: Style, norm: Norm
) -> None:
    """The ways of the lattice in the distance of their directions; pulled taut, in plain distance."""
    document = rounds() if seed is None else single(seed)
    table = Table(document, limits_of(document), SECTION, style)
    table.ground._narrow[:] = False
    (net,) = table.nets
    start, end = (table.lattice.ends[id_] for id_ in net.ports)
    way = table.lattice.shortest([start], [(end, frozenset())], table.ground.costs(net), (0.0, 0.0, 0.0))
    assert way is not None
    points = table.lattice.points(way[0])
    free = table.tight.free(frozenset(net.own))
    if norm is euclid:
        points = taut(straightened(points), free)
    places = np.array(points)
    length = float(norm(np.diff(places, axis=0)).sum())
    exact = shortest_visible(free, points[0], points[-1], norm)
    assert exact - 0.05 <= length <= 1.02 * exact


@pytest.mark.parametrize("style", ["square", "diagonal", "free"])
@pytest.mark.parametrize("seed", range(3))
def test_a_course_keeps_every_distance_and_every_bend_its_radius(style: str, seed: int) -> None:
    document = single(seed)
    table = Table(document, limits_of(document), SECTION, style)  # type: ignore[arg-type]
    done = table.attempt(Prices(), seed=0).document
    shapes = Table(done, limits_of(done), SECTION, style).shapes  # type: ignore[arg-type]
    (channel,) = shapes.channels.values()
    assert all(bend.fits and bend.radius >= table.tight.least_radius_mm - 1e-9 for bend in channel.bends)
    for cutout in shapes.cutouts.values():
        assert channel.polygon.distance(cutout.polygon) >= limits_of(document)["wall-channel-cutout"]
    if style == "square":
        for segment in channel.path.segments:
            if segment.straight:
                assert min(abs(a - b) for a, b in zip(segment.start, segment.end, strict=True)) < 1e-6
    if style == "diagonal":
        for segment in channel.path.segments:
            if segment.straight:
                assert math.isclose(math.sin(4 * segment.direction()), 0.0, abs_tol=0.03)


def test_a_bend_gets_the_largest_radius_that_its_legs_and_the_ground_allow() -> None:
    ground = shapely.box(0, 0, 100, 100)
    found = course([(10, 10), (60, 10), (60, 60)], ground, "square", 5.0)
    assert found is not None
    assert found.radii == (24.0,)
    cramped = course([(10, 10), (20, 10), (20, 60)], ground, "square", 5.0)
    assert cramped is not None
    assert cramped.radii == (10.0,)
    assert course([(10, 10), (12, 10), (12, 60)], ground, "square", 5.0) is None
