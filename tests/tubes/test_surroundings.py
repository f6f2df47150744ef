"""What a tube keeps clear of: prisms over true outlines, against points sampled all over them; and what covers them."""

from __future__ import annotations

import itertools
import math
import random

import numpy as np
import pytest
import shapely

from sketcher.checks import run
from sketcher.geometry import build
from sketcher.tubes.surroundings import Body, bodies, to_body
from tests.checks.brute import frame_of
from tests.checks.exact import framed, prism
from tests.checks.plates import plate, rectangle

ELL = [(0, 0), (80, 0), (80, 20), (20, 20), (20, 60), (0, 60)]


def ell(**more):
    return {"id": "D1", "kind": "other", "height_mm": 30, "x_mm": 180, "y_mm": 130, "z_mm": 60,
            "outline": {"shape": "polygon", "vertices": [{"x_mm": u, "y_mm": v} for u, v in ELL]}, **more}  # fmt: skip


def device(item: dict) -> Body:
    document = plate(devices=[item])
    return next(body for body in bodies(document, build(document)) if body.id == "D1")


@pytest.mark.parametrize("seed", range(6))
def test_a_line_past_an_l_shaped_body_is_as_far_as_its_points_say(seed: int) -> None:
    """Each of 3,000 points along the line to the nearest point of the body, worked out by another way."""
    rng = random.Random(seed)
    item = ell(
        turn_deg=rng.uniform(-180, 180), roll_deg=rng.uniform(-180, 180), posture=rng.choice(["lying", "standing"])
    )
    line = np.array([[180, 130, 75]]) + np.array([[rng.uniform(-90, 90) for _ in range(3)] for _ in range(4)])
    solid = framed(*frame_of(item), prism(np.array(ELL, dtype=float), 0.0, 30.0))
    places = np.vstack([a + np.linspace(0, 1, 1000)[:, None] * (b - a) for a, b in itertools.pairwise(line)])
    true = np.linalg.norm(solid.nearest(places) - places, axis=1).min()
    step = max(math.dist(a, b) for a, b in itertools.pairwise(line)) / 999
    assert true - step / 2 - 0.01 <= to_body(line, device(item))[0] <= true + 0.01


def test_a_tube_runs_through_the_bay_of_an_l_and_past_the_rim_of_a_disc() -> None:
    """In the bay's middle: 20 mm from either arm at u 40, v 40. Beside a disc's corner the box would be nearer."""
    upright = np.array([[220.0, 170.0, 0.0], [220.0, 170.0, 200.0]])
    assert to_body(upright, device(ell()))[0] == pytest.approx(20.0, abs=1e-6)
    disc = {"id": "D1", "kind": "other", "height_mm": 30, "x_mm": 200, "y_mm": 150, "z_mm": 60,
            "outline": {"shape": "circle", "x_mm": 0, "y_mm": 0, "diameter_mm": 60}}  # fmt: skip
    corner = np.array([[230.0, 180.0, 0.0], [230.0, 180.0, 200.0]])
    assert to_body(corner, device(disc))[0] == pytest.approx(30 * math.sqrt(2) - 30, abs=0.011)


def test_the_boxes_that_cover_a_body_hold_all_of_it_and_leave_its_bay_free() -> None:
    body = device(ell())
    boxes = [shapely.box(low[0], low[1], high[0], high[1]) for low, high in body.tiles()]
    cover = shapely.union_all(boxes)
    area = shapely.Polygon([(180 + u, 130 + v) for u, v in ELL])
    assert shapely.area(shapely.difference(area, cover)) < 1e-6
    assert not shapely.intersects(cover, shapely.box(225, 175, 255, 185))


def test_a_tube_down_through_a_cutout_runs_into_nothing_and_beside_it_into_the_plate() -> None:
    def tube(x: float) -> set[str]:
        devices = [{"id": d, "kind": "block", "x_mm": x, "y_mm": 150, "z_mm": z, "outline": rectangle(0, 0, 20, 20),
                    "height_mm": 10, "ports": [{"id": "a", "w_mm": w, "heading": way}]}
                   for d, z, w, way in (("D1", 100, 0, "w-"), ("D2", 0, 10, "w+"))]  # fmt: skip
        document = plate(
            plate={"z_mm": 40}, devices=devices, cutouts=[{"id": "K1", "outline": rectangle(150, 150, 60, 60)}],
            loop={"tube_size": None, "tubes": [{"id": "T1", "start": "D1.a", "end": "D2.a", "material": "petg"}]},
        )  # fmt: skip
        return {f.message for f in run(document, fixes=False) if f.rule == "tube-clearance"}

    assert tube(150) == set()
    assert tube(220) == {"The tube T1 runs into the plate."}
