"""Every kind that is cut against every other, in every variant, two at a time, against an exact measure of its own.

One large plate holds many pairs, far from each other: edge ports on all four sides and on a slanted one, with their
partners, and pairs of everything else. All walls are asked for up to ``WIDE``, so that each pair's value is told.
``--long`` does it for 40 plates.
"""

import math
import random
from collections.abc import Callable
from functools import lru_cache
from itertools import combinations_with_replacement, cycle, islice

import numpy as np
import pytest

from sketcher.checks import run
from sketcher.document import from_plain
from sketcher.findings import Finding, one_by_one
from tests.checks.brute import rounded
from tests.checks.exact import Solid, between, prism, swept, turned
from tests.checks.plates import rectangle
from tests.checks.test_brute import corners

WIDE = 6.0
#: The exact measure is good to this, mm, but where two round things touch; the program's arcs are within 0.01.
FINE = 0.003
G14, BORE, BODY, LID = 13.157 / 2, 11.8 / 2, 20.0, 6.0
TOP = BODY + LID
KINDS = ("channel", "port", "cutout", "pocket", "hole")
WALLS = {f"wall-{a}-{b}": WIDE for a, b in combinations_with_replacement(KINDS, 2)}
KEYS = {"channel": "channels", "port": "ports", "cutout": "cutouts", "pocket": "pockets", "hole": "holes"}
#: Coarse pitch by nominal diameter, mm (ISO 261).
PITCH = {3.0: 0.5, 4.0: 0.7, 5.0: 0.8, 6.0: 1.0}
TIP = 1 / math.tan(math.radians(59))
WIDTH, DEPTH, CELL = 620.0, 500.0, 62.0
#: The plate: its rear right corner is cut off at an angle.
OUTLINE = [(0, 0), (WIDTH, 0), (WIDTH, 320), (480, DEPTH), (0, DEPTH)]
Item = tuple[dict, list[Solid]]


class Maker:
    """Items with random sizes, and what is cut for them, from the words of ``docs/format.md`` alone."""

    def __init__(self, seed: int) -> None:
        self.rng = random.Random(seed)
        self.lid_below = seed % 2 == 0
        self.body = (LID, TOP) if self.lid_below else (0.0, BODY)

    def make(self, kind: str, id_: str, x: float, y: float) -> Item:
        item, solids = getattr(self, kind)(x, y)
        return {"id": id_, **item}, solids

    def _drilled(self, x: float, y: float, face: str, depth: float, radius: float, point: bool) -> list[Solid]:
        """From a face so far in, with the drill's point as far as the part goes that the face belongs to."""
        at, way = (TOP, -1.0) if face == "top" else (0.0, 1.0)
        end = at + way * depth
        solids = [swept(np.array([[x, y]]), min(at, end), max(at, end), radius)]
        joint = LID if self.lid_below else BODY
        limit = joint if (end - joint) * way <= 1e-9 else (0.0 if way < 0 else math.inf)
        reach = min(radius * TIP, abs(limit - end))
        if point and reach > 1e-6:
            left = radius * (1 - reach / (radius * TIP))
            solids.append(turned(np.array([x, y, end]), np.array([0, 0, way]), [(0.0, radius), (reach, left)]))
        return solids

    def port(self, x: float, y: float) -> Item:
        rng = self.rng
        face, depth, end = rng.choice(["top", "bottom"]), rng.uniform(3, 14), rng.choice(["point", "flat"])
        lid = face == ("bottom" if self.lid_below else "top")
        solids = self._drilled(x, y, face, depth, BORE, end == "point" and not lid)
        solids.append(swept(np.array([[x, y]]), *((TOP - depth, TOP) if face == "top" else (0.0, depth)), G14))
        return {"x_mm": x, "y_mm": y, "face": face, "thread_depth_mm": depth, "drill_end": end}, solids

    def edge_port(self, id_: str, at: np.ndarray, inwards: float) -> Item:
        """On the edge, drilled square to it or up to 25 degrees off."""
        rng = self.rng
        heading, reach = inwards + rng.choice([0.0, rng.uniform(-25, 25)]), rng.uniform(6, 14)
        level = sum(self.body) / 2 + rng.uniform(-1, 1)
        axis = np.array([math.cos(math.radians(heading)), math.sin(math.radians(heading)), 0.0])
        place = np.array([*at, level])
        solids = [turned(place, axis, [(0, G14), (reach, G14)]),
                  turned(place, axis, [(0, BORE), (reach + 5, BORE), (reach + 5 + BORE * TIP, 0)])]  # fmt: skip
        return {"id": id_, "x_mm": at[0], "y_mm": at[1], "face": "edge", "heading_deg": math.remainder(heading, 360),
                "thread_depth_mm": reach, "level_mm": level}, solids  # fmt: skip

    def channel(self, x: float, y: float) -> Item:
        rng = self.rng
        turn, width, depth = rng.uniform(0, 2 * math.pi), rng.uniform(3, 9), rng.uniform(3, 14)
        way = np.array([math.cos(turn), math.sin(turn)])
        a, b = np.array([x, y]) - 9 * way, np.array([x, y]) + 9 * way
        places, line, radius = [a, b], np.array([a, b]), 0.0
        if rng.random() < 0.5:
            corner, radius = np.array([x, y]), rng.uniform(4, 7)
            b = corner + 9 * np.array([-way[1], way[0]])
            places, line = [a, corner, b], rounded(a, corner, b, radius)
        heights = (LID, LID + depth) if self.lid_below else (BODY - depth, BODY)
        item = {"points": [{"x_mm": p[0], "y_mm": p[1]} for p in places], "width_mm": width, "depth_mm": depth,
                "bend_radius_mm": radius}  # fmt: skip
        return item, [swept(line, *heights, width / 2)]

    def _outline(self, x: float, y: float) -> tuple[dict, Callable]:
        """A turned rectangle, a disc, a slot, or an L; and the solid over it between two heights."""
        rng = self.rng
        shape, turn = rng.choice(["rectangle", "circle", "slot", "ell"]), rng.uniform(-180, 180)
        w, d = rng.uniform(9, 14), rng.uniform(4, 8)
        way = np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
        if shape == "rectangle":
            return {**rectangle(x, y, w, d), "turn_deg": turn}, lambda *z: prism(corners(x, y, w, d, turn), *z)
        if shape == "circle":
            outline = {"shape": "circle", "x_mm": x, "y_mm": y, "diameter_mm": w}
            return outline, lambda *z: swept(np.array([[x, y]]), *z, w / 2)
        if shape == "slot":
            half = (w - d) / 2 * way
            outline = {"shape": "slot", "x_mm": x, "y_mm": y, "length_mm": w, "width_mm": d, "turn_deg": turn}
            return outline, lambda *z: swept(_about(x, y, half), *z, d / 2)
        across = np.array([-way[1], way[0]])
        flat = [(-7, -7), (7, -7), (7, -2), (-2, -2), (-2, 7), (-7, 7)]
        ring = np.array([np.array([x, y]) + u * way + v * across for u, v in flat])
        outline = {"shape": "polygon", "vertices": [{"x_mm": p[0], "y_mm": p[1]} for p in ring]}
        return outline, lambda *z: prism(ring, *z)

    def cutout(self, x: float, y: float) -> Item:
        outline, solid = self._outline(x, y)
        return {"outline": outline}, [solid(0.0, TOP)]

    def pocket(self, x: float, y: float) -> Item:
        outline, solid = self._outline(x, y)
        depth, face = self.rng.uniform(1, 18), self.rng.choice(["top", "bottom"])
        return {"outline": outline, "depth_mm": depth, "face": face}, [
            solid(*((TOP - depth, TOP) if face == "top" else (0.0, depth)))
        ]

    def hole(self, x: float, y: float) -> Item:
        """Through, a slot, tapped, countersunk, counterbored, for an insert or the lid; M4 (ISO 273, 10642, 4762)."""
        rng = self.rng
        face = rng.choice(["top", "bottom"])
        kind = rng.choice(["through", "slot", "tapped", "countersunk", "counterbored", "insert", "lid screw"])
        if kind in ("insert", "lid screw"):
            return self.insert(x, y) if kind == "insert" else self.lid_screw(x, y)
        item, at = {"x_mm": x, "y_mm": y, "face": face}, np.array([[x, y]])
        if kind == "tapped":
            item |= {"kind": kind, "depth_mm": rng.uniform(3, 16), "drill_end": rng.choice(["point", "flat"])}
            depth, drill = item["depth_mm"], (3.3 / 2, item["drill_end"] == "point")
            thread = swept(at, *((TOP - depth, TOP) if face == "top" else (0.0, depth)), 2.0)
            return item, [*self._drilled(x, y, face, depth, *drill), thread]
        if kind == "slot":
            turn = rng.uniform(-180, 180)
            half = 3.0 * np.array([math.cos(math.radians(turn)), math.sin(math.radians(turn))])
            return {**item, "slot_length_mm": 10.5, "turn_deg": turn}, [swept(_about(x, y, half), 0.0, TOP, 2.25)]
        solids = [swept(at, 0.0, TOP, 2.25)]
        start, way = (TOP, -1.0) if face == "top" else (0.0, 1.0)
        rows = {"countersunk": [(0, 4.48), (2.48, 2.0)], "counterbored": [(0, 3.5), (4, 3.5)]}.get(kind)
        if rows is not None:
            solids.append(turned(np.array([x, y, start]), np.array([0, 0, way]), rows))
        return {**item, "kind": kind}, solids

    def lid_screw(self, x: float, y: float) -> Item:
        """Tap drill 3.3, thread 4 (ISO 261), clearance 4.5 (ISO 273)."""
        depth = self.rng.uniform(6, 10)
        item = {"x_mm": x, "y_mm": y, "kind": "tapped", "use": "lid", "depth_mm": LID + depth,
                "face": "bottom" if self.lid_below else "top"}  # fmt: skip
        return item, self.from_the_lid(x, y, depth, 2.0, 2.25)

    def from_the_lid(self, x: float, y: float, depth: float, radius: float, clearance: float) -> list[Solid]:
        """A blind hole from the joint into the body with its thread, the point of its drill (nominal diameter less
        pitch, ISO 2306), and the screw's clearance hole in the lid."""
        face = "bottom" if self.lid_below else "top"
        drill = radius - PITCH[2 * radius] / 2
        thread = self._drilled(x, y, face, LID + depth, radius, False)
        point = self._drilled(x, y, face, LID + depth, drill, True)
        lid = (0.0, LID) if self.lid_below else (BODY, TOP)
        return [*thread, *point, swept(np.array([[x, y]]), *lid, clearance)]

    def insert(self, x: float, y: float) -> Item:
        """The bore for a threaded insert, wider than its screw: 5.6 for M4 (makers' sheets, common practice)."""
        depth, face, width = self.rng.uniform(6, 14), self.rng.choice(["top", "bottom"]), self.rng.uniform(5.2, 6.4)
        item = {"x_mm": x, "y_mm": y, "kind": "tapped", "diameter_mm": width, "depth_mm": depth,
                "face": face, "drill_end": self.rng.choice(["point", "flat"])}  # fmt: skip
        solids = self._drilled(x, y, face, depth, width / 2, item["drill_end"] == "point")
        return item, solids


def _about(x: float, y: float, half: np.ndarray) -> np.ndarray:
    middle = np.array([x, y])
    return np.array([middle - half, middle + half])


@lru_cache(maxsize=4)
def the_plate(seed: int) -> tuple[dict, dict[frozenset[str], float]]:
    """A document with a pair in every cell, and the true distance of each pair."""
    maker, parts = Maker(seed), {key: [] for key in KEYS.values()}
    rng, truth = maker.rng, {}
    pairs = list(combinations_with_replacement(KINDS, 2))
    cells = [(CELL * (i + 0.5) + 20, CELL * (j + 0.5) + 20) for i in range(1, 8) for j in range(1, 6)]
    rng.shuffle(pairs)
    for n, ((x, y), (one, other)) in enumerate(zip(cells, islice(cycle(pairs), len(cells)), strict=True)):
        turn, far = rng.uniform(0, 2 * math.pi), rng.uniform(4, 22)
        first, ours = maker.make(one, f"A{n}", x, y)
        second, theirs = maker.make(other, f"B{n}", x + far * math.cos(turn), y + far * math.sin(turn))
        parts[KEYS[one]].append(first)
        parts[KEYS[other]].append(second)
        truth[frozenset((f"A{n}", f"B{n}"))] = between(ours, theirs)
    ring = np.array(OUTLINE, dtype=float)
    sides = zip(ring, np.roll(ring, -1, axis=0), strict=True)
    for side, (a, b) in enumerate(sides):
        inwards = math.degrees(math.atan2(*(b - a)[::-1])) + 90
        for k, share in enumerate((0.25, 0.5, 0.75)):
            at, name = a + share * (b - a), f"{side}{k}"
            port, ours = maker.edge_port(f"E{name}", at, inwards)
            kind = rng.choice(KINDS)
            way = math.radians(inwards + rng.uniform(-50, 50))
            x, y = at + rng.uniform(18, 32) * np.array([math.cos(way), math.sin(way)])
            partner, theirs = maker.make(kind, f"F{name}", x, y)
            parts["ports"].append(port)
            parts[KEYS[kind]].append(partner)
            truth[frozenset((f"E{name}", f"F{name}"))] = between(ours, theirs)
    plain = {
        "floor": {"outline": rectangle(WIDTH / 2, DEPTH / 2, 2 * WIDTH, 2 * DEPTH)},
        "plate": {"outline": {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in OUTLINE]},
                  "body_thickness_mm": BODY, "lid_thickness_mm": LID,
                  "lid_face": "bottom" if maker.lid_below else "top"},
        "limits": {**WALLS, "same-place": 0}, **parts,
    }  # fmt: skip
    return plain, truth


#: What is told of a screw's head, beside which its hole's wall is not told again where the head lacks more; heads that
#: overlap are an error, and the wall of two screw holes is a warning.
HEADS = ("screw-head", "head-blocked")


def lacking(finding: Finding) -> float:
    """How much is missing, mm."""
    assert finding.value is not None
    assert finding.limit is not None
    return math.inf if finding.value < 0 and finding.level == "error" else finding.limit - finding.value


def differences(seed: int) -> tuple[int, list[str]]:
    """How many pairs were compared, and what differs: a wall not told, told wrong, or told twice."""
    plain, truth = the_plate(seed)
    told: dict[frozenset[str], list[float]] = {}
    heads: dict[frozenset[str], float] = {}
    for finding in one_by_one(run(from_plain(plain), quick=True)):
        if finding.rule in WALLS:
            told.setdefault(frozenset(finding.items), []).append(finding.value or 0.0)
        elif finding.rule in HEADS:
            heads[frozenset(finding.items)] = lacking(finding)
    wrong = [f"seed {seed}: {sorted(pair)} told, but not near" for pair in told if pair not in truth]
    for pair, true in truth.items():
        values = told.get(pair, [])
        expected = 0 if true > WIDE + FINE else 1
        near_limit = abs(true - WIDE) < 0.02
        if not values and heads.get(pair, 0.0) > WIDE - true:
            continue  # one spot, one finding: the head lacks more there
        if len(values) != expected and not (near_limit and len(values) < 2):
            wrong.append(f"seed {seed}: {sorted(pair)} is {true:.4f}, told {values}")
        # Never too thick; where two round things touch the back and forth ends a little early.
        elif values and not true - 0.012 <= values[0] <= true + FINE and not (values[0] == 0 and true < 0.02):
            wrong.append(f"seed {seed}: {sorted(pair)} is {true:.4f}, told {values[0]:.4f}")
    return len(truth), wrong


@pytest.mark.parametrize("seed", [0, 1])
def test_every_kind_against_every_other_is_told_once_and_right(seed: int) -> None:
    count, wrong = differences(seed)
    assert count == 50
    assert wrong == []


def test_the_pairs_are_near_enough_to_say_something() -> None:
    """Of the first plate's pairs many overlap and many have a wall of their own."""
    _, truth = the_plate(0)
    assert sum(true < 0.01 for true in truth.values()) > 8
    assert sum(0.01 < true < WIDE for true in truth.values()) > 12


@pytest.mark.long
def test_every_kind_against_every_other_on_forty_plates() -> None:
    rows = [differences(seed) for seed in range(100, 140)]
    assert sum(count for count, _ in rows) == 2000
    assert [line for _, wrong in rows for line in wrong] == []
