"""Every kind that is hard against every other, two at a time, against the exact measure: round and L-shaped bodies too,
turned, rolled and on edge; beside and in cutouts and pockets of the plate; beside fittings and screw heads.

All distances are asked for up to ``WIDE``, so that each pair's value is told. ``--long`` does it for 40 plates.
"""

import math
import random
from collections.abc import Callable
from functools import lru_cache

import numpy as np
import pytest

from sketcher.checks import run
from sketcher.document import from_plain
from sketcher.findings import one_by_one
from tests.checks.brute import frame_of
from tests.checks.exact import Points, Solid, between, framed, prism, swept, turned
from tests.checks.plates import rectangle

WIDE, FINE, LOOSE = 6.0, 0.004, 0.03
RULES = ("bodies-overlap", "body-obstacle", "plate-body", "plate-over-obstacle", "head-blocked", "fitting-blocked")
CELL, ACROSS, Z, THICK = 170.0, 6, 40.0, 26.0
SIZE = CELL * ACROSS
TOP, NEED = Z + THICK, 25.0


class Maker:
    """Bodies with random sizes and places, and their solids."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)

    def _outline(self) -> tuple[dict, Callable[..., Solid]]:
        """A rectangle, a disc or an L about the origin: as the document has it, and the solid over it at a place."""
        rng, w, d = self.rng, self.rng.uniform(12, 30), self.rng.uniform(12, 30)
        shape = rng.choice(["rectangle", "circle", "ell"])
        if shape == "circle":
            outline = {"shape": "circle", "x_mm": 0, "y_mm": 0, "diameter_mm": w}
            return outline, lambda at, low, high: swept(np.array([at]), low, high, w / 2)
        if shape == "rectangle":
            ring = np.array([(-w, -d), (w, -d), (w, d), (-w, d)]) / 2
            return rectangle(0, 0, w, d), lambda at, low, high: prism(ring + np.array(at), low, high)
        ell = np.array([(-w, -d), (w, -d), (w, -d + 12), (-w + 12, -d + 12), (-w + 12, d), (-w, d)]) / 2
        outline = {"shape": "polygon", "vertices": [{"x_mm": u, "y_mm": v} for u, v in ell]}
        return outline, lambda at, low, high: prism(ell + np.array(at), low, high)

    def body(self, id_: str, x: float, y: float, z: float, kinds: str = "BDO") -> tuple[str, dict, list[Solid]]:
        """A board, a device or an obstacle at a place: its list, its item, its solids."""
        rng = self.rng
        kind = rng.choice(kinds)
        if kind == "O":
            outline, solid = self._outline()
            outline = _shifted(outline, x, y)
            low, high = max(z, 0.0), max(z, 0.0) + rng.uniform(6, 30)
            item = {"id": id_, "outline": outline, "bottom_mm": low, "height_mm": high}
            return "obstacles", item, [solid((x, y), low, high)]
        item = {"id": id_, "x_mm": x, "y_mm": y, "z_mm": z, "posture": rng.choice(["lying", "standing"]),
                "turn_deg": rng.choice([0, 90, rng.uniform(-180, 180)]),
                "roll_deg": rng.choice([0, 90, rng.uniform(-180, 180)])}  # fmt: skip
        high = rng.uniform(4, 20)
        if kind == "B":
            w, d = rng.uniform(12, 30), rng.uniform(12, 30)
            item |= {"width_mm": w, "depth_mm": d, "thickness_mm": 2, "parts_height_mm": high}
            sheet = prism(np.array([(0, 0), (w, 0), (w, d), (0, d)]), -2.0, high)
            return "boards", item, [framed(*frame_of(item), sheet)]
        outline, solid = self._outline()
        item |= {"kind": "other", "outline": outline, "height_mm": high}
        return "devices", item, [framed(*frame_of(item), solid((0.0, 0.0), 0.0, high))]


def _shifted(outline: dict, x: float, y: float) -> dict:
    if outline["shape"] == "polygon":
        return {**outline, "vertices": [{"x_mm": v["x_mm"] + x, "y_mm": v["y_mm"] + y} for v in outline["vertices"]]}
    return {**outline, "x_mm": x, "y_mm": y}


def around(x: float, y: float, ring: Points | None, low: float, high: float) -> list[Solid]:
    """The plate about a cell's middle, with or without a hole of four corners in it: as four convex pieces and more."""
    half = CELL / 2 + 40
    outer = np.array([(x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half)])
    if ring is None:
        return [prism(outer, low, high)]
    pieces = []
    for k in range(len(ring)):
        a, b = ring[k], ring[(k + 1) % len(ring)]
        pieces.append(prism(np.array([a, b, outer[(k + 1) % 4], outer[k]]), low, high))
    return pieces


@lru_cache(maxsize=4)
def the_case(seed: int) -> tuple[dict, dict[frozenset[str], tuple[float, set[str]]]]:
    """A document, and for each pair (or body beside the plate) the true distance and the rules that may tell it."""
    maker, rng = Maker(seed), random.Random(seed + 1)
    gasket = 0.0 if seed % 2 else round(rng.uniform(1, 5), 2)  # it lifts what is over the joint, at Z + 6
    top = TOP + gasket
    parts: dict = {key: [] for key in ("boards", "devices", "obstacles", "ports", "holes", "cutouts", "pockets")}
    truth: dict[frozenset[str], tuple[float, set[str]]] = {}

    def add(key: str, item: dict) -> None:
        parts[key].append(item)

    for n in range(ACROSS * ACROSS):
        x, y = CELL * (n % ACROSS + 0.5), CELL * (n // ACROSS + 0.5)
        turn, far = rng.uniform(0, 2 * math.pi), rng.uniform(5, 30)
        bx, by = x + far * math.cos(turn), y + far * math.sin(turn)
        what = ("air", "plate", "head", "fitting")[n % 4]
        if what == "air":
            key, item, ours = maker.body(f"A{n}", x, y, 150 + rng.uniform(-10, 10))
            other, its, theirs = maker.body(f"B{n}", bx, by, 150 + rng.uniform(-10, 10), "BD")
            add(key, item)
            add(other, its)
            truth[frozenset((f"A{n}", f"B{n}"))] = (
                between(ours, theirs), {"body-obstacle" if key == "obstacles" else "bodies-overlap"})  # fmt: skip
            continue
        if what == "plate":
            recess, depth = rng.choice(["none", "cutout", "top", "bottom"]), rng.uniform(3, 12)
            sunk = Z + depth + (gasket if depth > 6 else 0.0)
            # The hole's corners in the order of the outer ones, so that the pieces between them are convex.
            w, d = rng.uniform(24, 50), rng.uniform(24, 50)
            ring = np.array([(x - w / 2, y - d / 2), (x + w / 2, y - d / 2), (x + w / 2, y + d / 2),
                             (x - w / 2, y + d / 2)])  # fmt: skip
            heights = {"top": (top - depth, top), "bottom": (Z, sunk), "cutout": (Z, top)}.get(recess)
            plate = around(x, y, None, Z, top)
            if heights is not None:
                plate = around(x, y, ring, *heights)
                rest = (Z, top - depth) if recess == "top" else (sunk, top)
                plate += around(x, y, None, *rest) if recess != "cutout" else []
                item = {"id": f"K{n}", "outline": rectangle(x, y, w, d)}
                add("cutouts" if recess == "cutout" else "pockets",
                    item if recess == "cutout" else {**item, "depth_mm": depth, "face": recess})  # fmt: skip
            z = rng.choice([top + rng.uniform(-4, 14), Z - 30 + rng.uniform(-8, 8)])
            key, item, theirs = maker.body(f"B{n}", x + (bx - x) / 3, y + (by - y) / 3, z)
            add(key, item)
            rule = "plate-over-obstacle" if key == "obstacles" else "plate-body"
            truth[frozenset((f"B{n}",))] = between(plate, theirs), {rule}
            continue
        face = rng.choice(["top", "bottom"])
        if what == "head":  # an M6 cap head is 10 by 6 (ISO 4762)
            add("holes", {"id": f"A{n}", "x_mm": x, "y_mm": y, "screw": "M6", "face": face})
            ours = [swept(np.array([[x, y]]), *((top, top + 6) if face == "top" else (Z - 6, Z)), 5.0)]
            rules = {"head-blocked", "hangs-below"}
        else:
            add("ports", {"id": f"A{n}", "x_mm": x, "y_mm": y, "face": face, "thread_depth_mm": 5})
            ours = [swept(np.array([[x, y]]), *((top, top + NEED) if face == "top" else (Z - NEED, Z)), 10.0)]
            rules = {"fitting-blocked", "height-above", "hangs-below"}
        key, item, theirs = maker.body(
            f"B{n}", bx, by, top + rng.uniform(0, 8) if face == "top" else rng.uniform(0, 20)
        )
        add(key, item)
        truth[frozenset((f"A{n}", f"B{n}"))] = between(ours, theirs), rules
    for n, (at, way) in enumerate(
        [((0, 400), (1, 0)), ((SIZE, 400), (-1, 0)), ((400, 0), (0, 1)), ((400, SIZE), (0, -1))]
    ):
        add("ports", {"id": f"E{n}", "x_mm": at[0], "y_mm": at[1], "face": "edge", "thread_depth_mm": 5})
        start = np.array([*at, Z + 6 + gasket + 10.0])
        ours = [turned(start, -np.array([*way, 0.0]), [(0, 10.0), (20.0, 10.0)])]
        far, aside = rng.uniform(24, 40), rng.uniform(-26, 26)
        x, y = at[0] - far * way[0] + aside * way[1], at[1] - far * way[1] + aside * way[0]
        key, item, theirs = maker.body(f"F{n}", x, y, Z + rng.uniform(-10, 20))
        add(key, item)
        truth[frozenset((f"E{n}", f"F{n}"))] = between(ours, theirs), {"fitting-blocked"}
    plain = {
        "floor": {"outline": rectangle(SIZE / 2, SIZE / 2, 3 * SIZE, 3 * SIZE), "obstacles": parts.pop("obstacles")},
        "plate": {"outline": rectangle(SIZE / 2, SIZE / 2, SIZE, SIZE), "body_thickness_mm": 20, "lid_thickness_mm": 6,
                  "z_mm": Z},
        "seal": {"kind": "gasket", "gasket_mm": gasket} if gasket else {},
        "limits": {**dict.fromkeys((*RULES, "hangs-below"), WIDE), "spanner-room": 0}, **parts,
    }  # fmt: skip
    return plain, truth


def differences(seed: int) -> tuple[int, list[str]]:
    """How many pairs were compared, and what differs: a distance not told, told wrong, told twice, or for no reason."""
    plain, truth = the_case(seed)
    told: dict[frozenset[str], list[tuple[str, float]]] = {}
    for finding in one_by_one(run(from_plain(plain), quick=True)):
        if finding.rule in (*RULES, "height-above", "hangs-below") and len(finding.items) <= 2:
            key = frozenset(finding.items)
            if (key in truth and finding.rule in truth[key][1]) or (
                key not in truth and finding.rule in ("bodies-overlap", "body-obstacle", "head-blocked")
            ):
                told.setdefault(key, []).append((finding.rule, finding.value or 0.0))
    wrong = [
        f"seed {seed}: {sorted(pair)} {values}, but not near" for pair, values in told.items() if pair not in truth
    ]
    for pair, (true, rules) in truth.items():
        values = told.get(pair, [])
        line = f"seed {seed}: {sorted(pair)} {sorted(rules)} is {true:.4f}, told {values}"
        if abs(true - WIDE) < LOOSE:
            continue
        if len(values) != (1 if true < WIDE else 0):
            # Over or under a fitting or a head it is the height that is asked for, which may be more.
            if not (true >= WIDE and values and values[0][0] in ("height-above", "hangs-below")):
                wrong.append(line)
        elif values and values[0][0] in RULES:
            value = max(values[0][1], 0.0)
            over = values[0][0] == "plate-over-obstacle" and value > true
            if not true - LOOSE <= value <= true + FINE and not (value == 0 and true < LOOSE) and not over:
                wrong.append(line)
    return len(truth), wrong


def test_every_body_against_every_other_is_told_once_and_right() -> None:
    count, wrong = differences(0)
    assert count == 40
    assert wrong == []
    assert sum(true < WIDE for true, _ in the_case(0)[1].values()) > 15


@pytest.mark.long
def test_every_body_against_every_other_in_forty_cases() -> None:
    rows = [differences(seed) for seed in range(100, 140)]
    assert sum(count for count, _ in rows) == 1600
    assert [line for _, wrong in rows for line in wrong] == []
