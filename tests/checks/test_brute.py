"""Random plates against a second measure: points sampled all over every solid, in space.

``python3 run.py test --long tests/checks/test_brute.py`` goes over 300 plates and more; a few are in every run.
"""

import math
import random
from itertools import combinations

import numpy as np
import pytest

from sketcher.checks import run
from sketcher.document import from_plain
from sketcher.findings import one_by_one
from tests.checks.brute import SPACING, Sample, between, box, prism, rounded, swept, turned
from tests.checks.plates import rectangle

#: Walls are asked for up to here between everything, so that each pair's value is told.
WIDE = 6.0
G14, BORE = 13.157 / 2, 11.8 / 2
BODY, LID = 20.0, 6.0
TOP = BODY + LID


def corners(x: float, y: float, w: float, d: float, turn: float) -> np.ndarray:
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    return np.array([(x + c * u - s * v, y + s * u + c * v)
                     for u, v in ((-w / 2, -d / 2), (w / 2, -d / 2), (w / 2, d / 2), (-w / 2, d / 2))])  # fmt: skip


def drilled(id_: str, kind: str, x: float, y: float, end: float, radius: float, point: bool) -> list[Sample]:
    """A hole from the top face down to a height, with the drill's point below it as far as there is body."""
    found = [prism(id_, kind, np.array([[x, y]] * 2), end, TOP, radius)]
    length = radius / math.tan(math.radians(59))
    if point and end > LID + 1e-6:
        reach = min(length, end - LID)
        rows = [(0.0, radius), (reach, radius * (1 - reach / length) + 1e-9)]
        found.append(turned(id_, kind, np.array([x, y, end]), np.array([0, 0, -1.0]), rows))
    return found


def in_the_plate(rng: random.Random) -> tuple[dict, list[Sample]]:
    """Ports, channels, holes, cutouts and pockets anywhere within a plate of 120 by 90, with their solids."""
    parts: dict = {key: [] for key in ("ports", "channels", "holes", "cutouts", "pockets")}
    solids: list[Sample] = []

    def place() -> tuple[float, float]:
        return rng.uniform(20, 100), rng.uniform(20, 70)

    for k in range(2):
        (x, y), depth = place(), rng.uniform(4, 16)
        parts["ports"].append({"id": f"P{k}", "x_mm": x, "y_mm": y, "thread_depth_mm": depth,
                               "drill_end": rng.choice(["point", "flat"])})  # fmt: skip
        solids.append(prism(f"P{k}", "port", np.array([[x, y]] * 2), TOP - depth, TOP, G14))
        solids += drilled(f"P{k}", "port", x, y, TOP - depth, BORE, parts["ports"][-1]["drill_end"] == "point")
    y, reach = rng.uniform(20, 70), rng.uniform(8, 14)
    parts["ports"].append({"id": "E1", "x_mm": 0, "y_mm": y, "face": "edge", "thread_depth_mm": reach})
    tip = BORE / math.tan(math.radians(59))
    for rows in ([(0, G14), (reach, G14)], [(0, BORE), (reach + 5, BORE), (reach + 5 + tip, 0)]):
        solids.append(turned("E1", "port", np.array([0, y, LID + BODY / 2]), np.array([1.0, 0, 0]), rows))
    for k in range(2):
        (x0, y0), (x1, y1), width, depth = place(), place(), rng.uniform(3, 9), rng.uniform(3, 12)
        points = [{"x_mm": x0, "y_mm": y0}, {"x_mm": x1, "y_mm": y1}]
        parts["channels"].append({"id": f"C{k}", "points": points, "width_mm": width, "depth_mm": depth})
        solids.append(prism(f"C{k}", "channel", np.array([(x0, y0), (x1, y1)]), LID, LID + depth, width / 2))
    bent, line = with_an_arc(rng, "C2")
    parts["channels"].append(bent)
    solids.append(swept("C2", "channel", line, LID, LID + bent["depth_mm"], bent["width_mm"] / 2))
    for k in range(3):
        (x, y), depth = place(), rng.uniform(4, 15)
        if k == 0:  # right through
            parts["holes"].append({"id": "H0", "x_mm": x, "y_mm": y})
            solids.append(prism("H0", "hole", np.array([[x, y]] * 2), 0, TOP, 2.25))
        elif k == 1:  # tapped from the top, with the drill's point
            parts["holes"].append({"id": "H1", "x_mm": x, "y_mm": y, "kind": "tapped", "depth_mm": depth})
            solids += drilled("H1", "hole", x, y, TOP - depth, 1.65, True)
            solids.append(prism("H1", "hole", np.array([[x, y]] * 2), TOP - depth, TOP, 2.0))  # its thread, M4
        else:  # an M4 countersunk head: 8.96 over the sharp edge, 2.48 high, 90 degrees (ISO 10642)
            parts["holes"].append({"id": "H2", "x_mm": x, "y_mm": y, "kind": "countersunk"})
            solids.append(prism("H2", "hole", np.array([[x, y]] * 2), 0, TOP, 2.25))
            solids.append(turned("H2", "hole", np.array([x, y, TOP]), np.array([0, 0, -1.0]),
                                 [(0, 4.48), (2.48, 2.0)]))  # fmt: skip
    for key, letter, kind in (("cutouts", "K", "cutout"), ("pockets", "R", "pocket")):
        for k in range(2):
            (x, y), w, d, turn = place(), rng.uniform(4, 14), rng.uniform(4, 14), rng.uniform(0, 180)
            item = {"id": f"{letter}{k}", "outline": {**rectangle(x, y, w, d), "turn_deg": turn}}
            low, high = 0.0, TOP
            if kind == "pocket":
                item["depth_mm"] = rng.uniform(1, 6)
                item["face"] = rng.choice(["top", "bottom"])
                low, high = (TOP - item["depth_mm"], TOP) if item["face"] == "top" else (0.0, item["depth_mm"])
            parts[key].append(item)
            solids.append(prism(item["id"], kind, corners(x, y, w, d, turn), low, high))
    return parts, solids


def with_an_arc(rng: random.Random, id_: str) -> tuple[dict, np.ndarray]:
    """A channel of two runs with a rounded corner that has room for its radius, and its centreline."""
    while True:
        a, corner, b = (np.array([rng.uniform(20, 100), rng.uniform(20, 70)]) for _ in range(3))
        radius = rng.uniform(5, 14)
        runs = [math.dist(a, corner), math.dist(b, corner)]
        if min(runs) < 12:
            continue
        half = math.acos(np.clip((a - corner) @ (b - corner) / (runs[0] * runs[1]), -1, 1)) / 2
        if 0.3 < half < 1.4 and radius / math.tan(half) < min(runs) - 1:
            break
    points = [{"x_mm": x, "y_mm": y} for x, y in (a, corner, b)]
    item = {"id": id_, "points": points, "width_mm": rng.uniform(3, 8), "depth_mm": rng.uniform(3, 12),
            "bend_radius_mm": radius}  # fmt: skip
    return item, rounded(a, corner, b, radius)


def in_the_case(rng: random.Random) -> tuple[dict, list[Sample]]:
    """Boards, devices and obstacles anywhere over and beside the plate, turned and rolled."""
    parts: dict = {"boards": [], "devices": [], "obstacles": []}
    solids: list[Sample] = []
    for k in range(5):
        item = {"x_mm": rng.uniform(10, 120), "y_mm": rng.uniform(10, 90), "z_mm": rng.uniform(25, 80),
                "turn_deg": rng.choice([0, 90, rng.uniform(-180, 180)]), "posture": rng.choice(["lying", "standing"]),
                "roll_deg": rng.choice([0, 90, rng.uniform(-180, 180)])}  # fmt: skip
        w, d, h = rng.uniform(10, 40), rng.uniform(10, 40), rng.uniform(4, 20)
        if k < 2:
            item |= {"id": f"B{k}", "width_mm": w, "depth_mm": d, "thickness_mm": 2, "parts_height_mm": h}
            parts["boards"].append(item)
            solids.append(box(item["id"], "board", item, np.array([0, 0, -2.0]), np.array([w, d, h])))
        else:
            item |= {"id": f"D{k}", "kind": "other", "height_mm": h, "outline": rectangle(0, 0, w, d)}
            parts["devices"].append(item)
            half = np.array([w / 2, d / 2, 0])
            solids.append(box(item["id"], "device", item, -half, half + np.array([0, 0, h])))
    for k in range(2):
        x, y, w, d = rng.uniform(0, 120), rng.uniform(0, 90), rng.uniform(5, 20), rng.uniform(5, 20)
        low, turn = rng.uniform(0, 40), rng.uniform(0, 180)
        high = low + rng.uniform(5, 40)
        outline = {**rectangle(x, y, w, d), "turn_deg": turn}
        parts["obstacles"].append({"id": f"O{k}", "outline": outline, "bottom_mm": low, "height_mm": high})
        solids.append(prism(f"O{k}", "obstacle", corners(x, y, w, d, turn), low, high))
    return parts, solids


WALLS = {f"wall-{a}-{b}": WIDE for a, b in combinations(["channel", "port", "cutout", "pocket", "hole"], 2)}
WALLS |= {f"wall-{a}-{a}": WIDE for a in ("channel", "port", "cutout", "pocket", "hole")}
SPACE = ("bodies-overlap", "body-obstacle", "plate-body", "plate-over-obstacle")


def measured(solids: list[Sample], pairs: set[frozenset[str]]) -> dict[frozenset[str], float]:
    """The least distance of every pair of items."""
    found: dict[frozenset[str], float] = {}
    for one, other in combinations(solids, 2):
        key = frozenset((one.id, other.id))
        if len(key) == 2 and frozenset((one.kind, other.kind)) in pairs:
            found[key] = min(found.get(key, math.inf), between(one, other))
    return found


def in_its_case(found: list, solids: list[Sample], case: tuple[float, float, float]) -> list[tuple]:
    """Case walls, ceiling and floor: how far each body's points are within them, and what the rules say.

    The rules speak of what is beyond; a body that stays within is a row of its own when they speak all the same.
    """
    told = {(f.rule, row.items): row.value for f in found for row in f.listed or (f,)}
    middle, half = np.array([60, 45]), np.array(case[:2])
    rows = []
    for solid in solids:
        low, high = solid.points.min(axis=0), solid.points.max(axis=0)
        beyond = float(max((high[:2] - middle - half).max(), (middle - half - low[:2]).max()))
        above, below = float(high[2]) - case[2], -float(low[2])
        for rule, by in (("outside-case", beyond), ("above-ceiling", above), ("through-floor", below)):
            value = told.get((rule, (solid.id,)))
            # As a distance: how far beyond; nothing is asked within the spacing of the points.
            if value is None and by > SPACING:
                rows.append((frozenset((solid.id, rule)), 0.0, None))
            elif value is not None:
                rows.append((frozenset((solid.id, rule)), max(by, 0.0) if by < 0.02 else -value, -value))
                assert abs(-value - by) < SPACING + 0.02, (solid.id, rule, value, by)
            else:
                rows.append((frozenset((solid.id, rule)), math.inf, None))
    return rows


def compared(seed: int) -> tuple[int, list[str]]:
    """How many pairs were held against the second measure, and every difference."""
    rng = random.Random(seed)
    cut, cut_solids = in_the_plate(rng)
    hard, hard_solids = in_the_case(rng)
    area = rectangle(60, 45, 120, 90)
    case = (rng.uniform(100, 150), rng.uniform(80, 120), rng.uniform(50, 100))
    document = from_plain({
        "floor": {"outline": rectangle(60, 45, *(2 * size for size in case[:2])), "obstacles": hard.pop("obstacles"),
                  "clear_height_mm": case[2]},
        "plate": {"outline": area, "body_thickness_mm": BODY, "lid_thickness_mm": LID},
        "limits": {**WALLS, **dict.fromkeys(SPACE, WIDE), "same-place": 0},
        **cut, **hard,
    })  # fmt: skip
    found = run(document, quick=True)
    singles = one_by_one(found)
    walls = {frozenset(f.items): f.value for f in singles if f.rule in WALLS}
    space = {frozenset(f.items or ("",)) for f in singles if f.rule in SPACE}
    values = {frozenset(f.items): f.value for f in singles if f.rule in SPACE}
    kinds = [frozenset(pair) for pair in combinations(["channel", "port", "cutout", "pocket", "hole"], 2)]
    kinds += [frozenset((kind,)) for kind in ("channel", "port", "cutout", "pocket", "hole")]
    rows = [(pair, value, walls.get(pair)) for pair, value in measured(cut_solids, set(kinds)).items()]
    hard_kinds = {frozenset(pair) for pair in (("board", "device"), ("board",), ("device",), ("board", "obstacle"),
                                               ("device", "obstacle"))}  # fmt: skip
    rows += [(pair, value, values.get(pair)) for pair, value in measured(hard_solids, hard_kinds).items()]
    assert space == set(values)
    rows += in_its_case(found, [s for s in hard_solids if s.kind != "obstacle"], case)
    # The plate without its cutouts: its sampled solid, less what stands over a cutout.
    whole = prism("", "plate", np.array([(0, 0), (120, 0), (120, 90), (0, 90)]), 0, TOP)
    for solid in hard_solids:
        flat = solid.points[:, :2]
        over = [s for s in cut_solids if s.kind == "cutout" and (flat.max(0) > s.points[:, :2].min(0) - WIDE).all()
                and (flat.min(0) < s.points[:, :2].max(0) + WIDE).all()]  # fmt: skip
        if not over:
            rows.append((frozenset((solid.id,)), between(solid, whole), values.get(frozenset((solid.id,)))))
    wrong = []
    for pair, brute, value in rows:
        told = math.inf if value is None else max(value, 0.0)
        missed = value is None and brute < WIDE - SPACING
        differs = value is not None and not told - 0.02 <= brute <= told + SPACING
        if missed or differs:
            wrong.append(f"seed {seed}: {sorted(pair)} is {brute:.3f} by the samples, {value} by the rules")
    return len(rows), wrong


@pytest.mark.parametrize("seed", range(8))
def test_no_miss_and_no_false_alarm_on_a_random_plate(seed: int) -> None:
    count, wrong = compared(seed)
    assert count > 60
    assert wrong == []


@pytest.mark.long
def test_no_miss_and_no_false_alarm_on_three_hundred_random_plates() -> None:
    rows = [compared(seed) for seed in range(1000, 1320)]
    assert sum(count for count, _ in rows) > 20_000
    assert [line for _, wrong in rows for line in wrong] == []
