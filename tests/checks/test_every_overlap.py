"""Everything hard around the plate, thrown together: whatever is truly in one place with another thing is told.

Fittings and plugs on both faces and in the edges, screw heads on both faces, boards, devices, obstacles and the plate,
the plate on the floor or high over it. The solids are the exact measure's, each drawn in by ``SMALLER``, so that what
they have in common is no matter of rounding. ``--long`` does it for 60 plates.
"""

import itertools
import math
import random

import numpy as np
import pytest

from sketcher.checks import run
from sketcher.document import from_plain
from tests.checks.brute import frame_of
from tests.checks.exact import Solid, between, framed, prism, swept, turned
from tests.checks.plates import rectangle

SMALLER, WIDTH, DEPTH, THICK = 0.12, 300.0, 200.0, 26.0
#: A plug stands 5 over its face, a fitting with its straight tube 25, lying as far as it is wide; M4 heads are 7 by 4.
PLUG, FITTING, HALF, HEAD, HEAD_HIGH = 5.0, 25.0, 10.0, 3.5, 4.0
Items = dict[str, list[dict]]


def box(w: float, d: float, low: float, high: float, corner: bool) -> Solid:
    """A box about its middle, or from its corner, drawn in all round."""
    s = SMALLER
    ring = np.array([(s, s), (w - s, s), (w - s, d - s), (s, d - s)]) - (0 if corner else np.array([w / 2, d / 2]))
    return prism(ring, low + s, high - s)


def on_the_plate(rng: random.Random, z: float) -> tuple[Items, dict[str, Solid]]:
    """Ports with fittings or plugs, and screws with heads."""
    parts: Items = {"ports": [], "holes": []}
    solids, s = {}, SMALLER
    for k in range(6):
        x, y, face = rng.uniform(25, WIDTH - 25), rng.uniform(25, DEPTH - 25), rng.choice(["top", "bottom"])
        use = rng.choice(["plugged", "loop", "loop"])
        high = PLUG if use == "plugged" else FITTING
        low = z + THICK if face == "top" else z - high
        parts["ports"].append({"id": f"P{k}", "x_mm": x, "y_mm": y, "face": face, "use": use, "thread_depth_mm": 5})
        solids[f"P{k}"] = swept(np.array([[x, y]]), low + s, low + high - s, HALF - s)
    for k in range(3):
        along, use = rng.uniform(30, 170), rng.choice(["plugged", "loop", "loop"])
        x, y, turn = rng.choice([(0, along, 0), (WIDTH, along, 180), (along, 0, 90), (along, DEPTH, -90)])
        axis = np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn)), 0])
        far = PLUG if use == "plugged" else 2 * HALF
        parts["ports"].append({"id": f"E{k}", "x_mm": x, "y_mm": y, "face": "edge", "use": use, "thread_depth_mm": 8,
                               "level_mm": 16})  # fmt: skip
        rows = [(0.0, HALF - s), (far - 2 * s, HALF - s)]
        solids[f"E{k}"] = turned(np.array([x, y, z + 16]) - s * axis, -axis, rows)
    for k in range(6):
        x, y, face = rng.uniform(12, WIDTH - 12), rng.uniform(12, DEPTH - 12), rng.choice(["top", "bottom"])
        low = z + THICK if face == "top" else z - HEAD_HIGH
        parts["holes"].append(
            {"id": f"H{k}", "x_mm": x, "y_mm": y, "face": face, "use": rng.choice(["mount", "other"])}
        )
        solids[f"H{k}"] = swept(np.array([[x, y]]), low + s, low + HEAD_HIGH - s, HEAD - s)
    return parts, solids


def in_the_case(rng: random.Random) -> tuple[Items, dict[str, Solid]]:
    """Boards, devices and obstacles anywhere."""
    parts: Items = {"boards": [], "devices": [], "obstacles": []}
    solids = {}
    for k in range(7):
        w, d, h = rng.uniform(10, 60), rng.uniform(10, 60), rng.uniform(4, 30)
        item = {"x_mm": rng.uniform(-20, WIDTH + 20), "y_mm": rng.uniform(-20, DEPTH + 20), "z_mm": rng.uniform(0, 110),
                "turn_deg": rng.choice([0, 90, rng.uniform(0, 180)]), "roll_deg": rng.choice([0, rng.uniform(0, 180)]),
                "posture": rng.choice(["lying", "lying", "standing"])}  # fmt: skip
        if k < 3:
            item |= {"id": f"B{k}", "width_mm": w, "depth_mm": d, "thickness_mm": 2, "parts_height_mm": h}
            parts["boards"].append(item)
        else:
            item |= {"id": f"D{k}", "kind": "other", "height_mm": h, "outline": rectangle(0, 0, w, d)}
            parts["devices"].append(item)
        solids[item["id"]] = framed(*frame_of(item), box(w, d, -2 if k < 3 else 0, h, k < 3))
    for k in range(4):
        x, y, w, d = rng.uniform(-20, WIDTH + 20), rng.uniform(-20, DEPTH + 20), rng.uniform(5, 40), rng.uniform(5, 40)
        low = rng.choice([0, 0, rng.uniform(0, 80)])
        high = low + rng.uniform(4, 50)
        parts["obstacles"].append(
            {"id": f"O{k}", "outline": rectangle(x, y, w, d), "bottom_mm": low, "height_mm": high}
        )
        solids[f"O{k}"] = framed(np.array([x, y, 0.0]), np.eye(3), box(w, d, low, high, False))
    return parts, solids


def missed(seed: int) -> tuple[int, list[str]]:
    """How many pairs are in one place, and which of them nothing is told of."""
    rng = random.Random(seed)
    z = rng.choice([0.0, 10.0, 40.0, 60.0])
    (own, solids), (case, around) = on_the_plate(rng, z), in_the_case(rng)
    floor = {"outline": rectangle(WIDTH / 2, DEPTH / 2, 600, 500), "obstacles": case.pop("obstacles")}
    area = {"outline": rectangle(WIDTH / 2, DEPTH / 2, WIDTH, DEPTH), "z_mm": z}
    document = from_plain({"floor": floor, "plate": {**area, "body_thickness_mm": 20, "lid_thickness_mm": 6},
                           **own, **case})  # fmt: skip
    found = run(document, quick=True)
    told = [set(items) for f in found for items in (f.items, *(row.items for row in f.listed))]
    plate = framed(np.array([WIDTH / 2, DEPTH / 2, z]), np.eye(3), box(WIDTH, DEPTH, 0, THICK, False))
    pairs = [(a, b) for a, b in itertools.combinations({**solids, **around}, 2) if a[0] + b[0] != "OO"]
    every = {**solids, **around}
    met = [{a, b} for a, b in pairs if between([every[a]], [every[b]]) < 1e-6]
    met += [{a} for a in around if between([around[a]], [plate]) < 1e-6]
    return len(met), [f"seed {seed}: {sorted(names)}" for names in met if not any(names <= items for items in told)]


def test_nothing_that_is_in_one_place_with_another_thing_goes_untold() -> None:
    rows = [missed(seed) for seed in (4,)]
    assert sum(count for count, _ in rows) > 3
    assert [line for _, lines in rows for line in lines] == []


@pytest.mark.long
def test_nothing_that_is_in_one_place_goes_untold_on_sixty_plates() -> None:
    rows = [missed(seed) for seed in range(100, 160)]
    assert sum(count for count, _ in rows) > 200
    assert [line for _, lines in rows for line in lines] == []
