"""What is near what, worked out again only for what changed: against every pair measured one by one."""

from __future__ import annotations

import gc
import math
import weakref

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from sketcher.checks import near, scene, space
from sketcher.document.remembered import forget_all
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.geometry.prisms import Prism
from tests.checks.plates import made

places = st.tuples(st.integers(0, 60), st.integers(0, 60), st.sampled_from([0.0, 2.0, 5.0]), st.integers(0, 7))


def prism(place: tuple[int, int, float, int]) -> Prism:
    """A disc, or a square where there is no radius, of one of eight items."""
    x, y, radius, item = place
    core = shapely.Point(x, y) if radius else None
    polygon = core.buffer(radius, quad_segs=64) if core is not None else shapely.box(x, y, x + 4, y + 3)
    return Prism(f"H{item}", "hole", polygon, 0.0, 10.0, core, radius)


def by_hand(prisms: tuple[Prism, ...], reach: float) -> dict[tuple[int, int], float]:
    """Every pair of different items within reach, measured one by one: centres and radii, or shapely's distance."""
    found = {}
    for i, one in enumerate(prisms):
        for j in range(i + 1, len(prisms)):
            other = prisms[j]
            if one.core is not None and other.core is not None:
                centres = (*one.core.coords, *other.core.coords)
                apart = math.dist(*centres) - one.radius - other.radius
            else:
                a, b = (p.polygon if p.core is None else p.core for p in (one, other))
                apart = shapely.distance(a, b) - one.radius - other.radius
            if one.id != other.id and apart <= reach:
                found[i, j] = apart
    return found


@given(st.lists(places, min_size=1, max_size=14), st.lists(st.tuples(st.integers(0, 13), places), max_size=6))
@settings(max_examples=40, deadline=None)
def test_after_any_changes_the_pairs_are_those_of_a_measuring_from_nothing(
    given_: list[tuple[int, int, float, int]], changes: list[tuple[int, tuple[int, int, float, int]]]
) -> None:
    prisms = tuple(prism(place) for place in given_)
    for n, place in [(-1, (0, 0, 0.0, 0)), *changes]:
        if n >= 0:
            k = n % len(prisms)
            prisms = (*prisms[:k], prism(place), *prisms[k + 1 :])
        found = near.near(prisms, 8.0)
        pairs = dict(
            zip(zip(found.first.tolist(), found.second.tolist(), strict=True), found.apart.tolist(), strict=True)
        )
        expected = by_hand(prisms, 8.0)
        assert list(pairs) == sorted(expected)
        assert all(abs(pairs[pair] - expected[pair]) < 1e-9 for pair in pairs)
        columns = near.columns_of(prisms)
        assert np.array_equal(found.columns.bounds, columns.bounds)
        assert all(a is b for a, b in zip(found.columns.polygons, columns.polygons, strict=True))


def test_a_scene_goes_with_its_answer() -> None:
    """Whoever drags for a minute asks a thousand times: what an answer held must not stay, nor wait for a collector."""
    forget_all()
    gc.disable()
    try:
        document = made(20)
        looked = scene.Scene(build(document), limits_of(document))
        assert space.bodies_of(looked) is space.bodies_of(looked)
        assert len(looked.neighbours.first) > 0
        gone = weakref.ref(looked)
        del looked
        assert gone() is None
    finally:
        gc.enable()
