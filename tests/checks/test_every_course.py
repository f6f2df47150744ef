"""Drawn courses of tubes in space against everything hard, against an exact measure of their own.

A tube is what a sphere sweeps along its centreline, which is rounded here by hand: straights, and arcs of one degree.
It is held against boards, devices and obstacles, turned, rolled and on edge; against another tube, drawn or dropping
straight; against fittings and screw heads on the plate; and against the case's wall and ceiling. With and without a
gasket, which lifts what is over the joint. ``--long`` does it for 40 cases.
"""

import math
import random
from functools import lru_cache

import numpy as np
import pytest

from sketcher.checks import run
from sketcher.document import from_plain
from sketcher.findings import one_by_one
from tests.checks.exact import Points, Solid, between, swept, turned
from tests.checks.plates import rectangle
from tests.checks.test_every_body import Maker

WIDE, FINE, OUTER, RADIUS = 6.0, 0.02, 13.0, 16.0
CELL, ACROSS, Z, BODY, LID, NEED = 330.0, 4, 40.0, 20.0, 6.0, 25.0
SIZE, CEILING = CELL * ACROSS, 330.0
WHAT = ("body", "body", "tube", "fitting", "head", "edge fitting", "wall", "ceiling", "drop")


def course(corners: Points) -> Points:
    """The centreline through corners, each rounded by an arc (tangents of R tan(a/2)), in steps of one degree."""
    rows = [corners[:1]]
    for before, corner, after in zip(corners, corners[1:], corners[2:], strict=False):
        u, v = before - corner, after - corner
        u, v = u / np.linalg.norm(u), v / np.linalg.norm(v)
        half = math.acos(float(np.clip(u @ v, -1, 1))) / 2  # of the corner's inner angle
        middle = (u + v) / np.linalg.norm(u + v)
        centre = corner + middle * RADIUS / math.sin(half)
        start, end = corner + u * RADIUS / math.tan(half), corner + v * RADIUS / math.tan(half)
        one, sweep = (start - centre) / RADIUS, math.pi - 2 * half
        across = (end - centre) / RADIUS - one * math.cos(sweep)
        across /= np.linalg.norm(across)
        angles = np.linspace(0, sweep, max(3, math.ceil(math.degrees(sweep))))[:, None]
        rows.append(centre + RADIUS * (np.cos(angles) * one + np.sin(angles) * across))
    return np.vstack([*rows, corners[-1:]])


def line_of(points: Points) -> Solid:
    """A line in space: points on it, and the nearest of it to any place."""
    a, steps = points[:-1], np.diff(points, axis=0)
    size = np.maximum((steps * steps).sum(1), 1e-12)
    seeds = np.vstack([p + np.linspace(0, 1, max(2, int(math.dist(p, q) / 2)))[:, None] * (q - p)
                       for p, q in zip(a, points[1:], strict=True)])  # fmt: skip

    def nearest(places: Points) -> Points:
        share = np.clip(((places[:, None] - a) * steps).sum(-1) / size, 0, 1)
        on = a + share[..., None] * steps
        best = np.argmin(((places[:, None] - on) ** 2).sum(-1), axis=1)
        return np.asarray(on[np.arange(len(places)), best])

    return Solid(seeds, nearest)


class Courses:
    """A case full of tubes, each in a cell of its own with one thing near it."""

    def __init__(self, seed: int) -> None:
        self.rng, self.maker = random.Random(seed), Maker(seed + 1)
        self.gasket = 0.0 if seed % 2 else round(self.rng.uniform(1, 5), 2)
        self.top = Z + BODY + LID + self.gasket
        self.parts: dict[str, list[dict]] = {k: [] for k in ("boards", "devices", "obstacles", "ports", "holes")}
        self.truth: dict[frozenset[str], float] = {}

    def tube(self, id_: str, x: float, y: float, *, high: float = 0.0, drawn: bool = True) -> Points:
        """From a port at a place up, over by two or three corners, and down to a device port; or straight up."""
        rng, turn = self.rng, self.rng.uniform(0, 2 * math.pi)
        high = high or rng.uniform(170, 240)
        corners = [(x, y, self.top), (x, y, high)]
        far = rng.uniform(60, 90)
        x2, y2 = x + far * math.cos(turn), y + far * math.sin(turn)
        corners.append((x2, y2, high + (0.0 if high > 300 else rng.choice([0.0, rng.uniform(-30, 30)]))))
        turn += rng.uniform(0.6, 2.4)
        corners.append((x2 + 60 * math.cos(turn), y2 + 60 * math.sin(turn), high - rng.uniform(0, 80)))
        corners = corners if drawn else [(x, y, self.top), (x, y, 250.0)]
        self.parts["devices"].append({"id": f"D{id_}", "kind": "other", "ports": [{"id": "p"}], "x_mm": corners[-1][0],
                                      "y_mm": corners[-1][1], "z_mm": corners[-1][2]})  # fmt: skip
        inner = [{"x_mm": x, "y_mm": y, "z_mm": z} for x, y, z in corners[1:-1]]
        port = {"id": id_, "x_mm": x, "y_mm": y, "serves": f"D{id_}.p", "thread_depth_mm": 5}
        self.parts["ports"].append(port | ({"tube": {"points": inner, "bend_radius_mm": RADIUS}} if drawn else {}))
        return course(np.array(corners))

    def cell(self, n: int) -> None:
        rng, what = self.rng, WHAT[n % len(WHAT)]
        x, y = CELL * (n % ACROSS + 0.5), CELL * (n // ACROSS + 0.5)
        name = f"P{n}"
        if what == "wall":
            self._by_the_wall(name, x, y)
            return
        line = self.tube(name, x, y, high=CEILING - rng.uniform(5, 14) if what == "ceiling" else 0.0)
        ours = line_of(line)
        if what == "ceiling":
            self.truth[frozenset((name,))] = CEILING - float(line[:, 2].max()) - OUTER / 2
        elif what == "body":
            at = line[int(len(line) * rng.uniform(0.2, 0.7))] + np.array([rng.uniform(-24, 24) for _ in range(3)])
            key, item, theirs = self.maker.body(f"B{n}", *map(float, at))
            self.parts[key].append(item)
            self.truth[frozenset((name, f"B{n}"))] = between([ours], theirs) - OUTER / 2
        elif what in ("tube", "drop"):
            turn, far = rng.uniform(0, 2 * math.pi), rng.uniform(14, 30)
            other = self.tube(f"Q{n}", x + far * math.cos(turn), y + far * math.sin(turn), drawn=what == "tube")
            beside = swept(other[:1, :2], self.top, self.top + NEED, 10.0)  # the other port's fitting
            near = between([ours], [line_of(other)]) - OUTER, between([ours], [beside]) - OUTER / 2
            self.truth[frozenset((name, f"Q{n}"))] = min(near)
        else:
            self._on_the_plate(n, what, x, y, ours)

    def _by_the_wall(self, name: str, x: float, y: float) -> None:
        """A straight rise beside the left wall, which is at 0."""
        x = OUTER / 2 + self.rng.uniform(-1, 8)
        self.parts["devices"].append({"id": f"D{name}", "kind": "other", "ports": [{"id": "p"}], "x_mm": x, "y_mm": y,
                                      "z_mm": 250.0})  # fmt: skip
        self.parts["ports"].append({"id": name, "x_mm": x, "y_mm": y, "serves": f"D{name}.p", "thread_depth_mm": 5,
                                    "tube": {"points": [{"x_mm": x, "y_mm": y, "z_mm": 160.0}]}})  # fmt: skip
        self.truth[frozenset((name,))] = x - OUTER / 2

    def _on_the_plate(self, n: int, what: str, x: float, y: float, ours: Solid) -> None:
        turn, far = self.rng.uniform(0, 2 * math.pi), self.rng.uniform(10, 22)
        bx, by = x + far * math.cos(turn), y + far * math.sin(turn)
        if what == "head":  # an M6 cap head is 10 by 6 (ISO 4762)
            self.parts["holes"].append({"id": f"H{n}", "x_mm": bx, "y_mm": by, "screw": "M6"})
            theirs = [swept(np.array([[bx, by]]), self.top, self.top + 6, 5.0)]
            self.truth[frozenset((f"P{n}", f"H{n}"))] = between([ours], theirs) - OUTER / 2
        else:
            self.parts["ports"].append({"id": f"F{n}", "x_mm": bx, "y_mm": by, "thread_depth_mm": 5})
            theirs = [swept(np.array([[bx, by]]), self.top, self.top + NEED, 10.0)]
            self.truth[frozenset((f"P{n}", f"F{n}"))] = between([ours], theirs) - OUTER / 2

    def edges(self) -> None:
        """Edge ports on the front and the rear, each with a course of another port that dives past its fitting."""
        for n, (y, way) in enumerate([(20.0, 1.0), (SIZE - 20, -1.0)]):
            x, level = CELL * (2 * n + 1), self.top - BODY / 2  # the lid is below
            self.parts["ports"].append({"id": f"E{n}", "x_mm": x, "y_mm": y, "face": "edge", "thread_depth_mm": 5})
            ours = [turned(np.array([x, y, level]), np.array([0, -way, 0.0]), [(0, 10.0), (20.0, 10.0)])]
            at = np.array([x + self.rng.uniform(12, 24), y - way * 14, level + self.rng.uniform(-4, 4)])
            start = np.array([at[0], y + way * 60, self.top])
            corners = np.array([start, [*start[:2], 150], [*at[:2], 150], at])
            self.parts["devices"].append({"id": f"DG{n}", "kind": "other", "ports": [{"id": "p"}], "x_mm": at[0],
                                          "y_mm": at[1], "z_mm": at[2]})  # fmt: skip
            inner = [{"x_mm": x, "y_mm": y, "z_mm": z} for x, y, z in corners[1:-1]]
            tube = {"points": inner, "bend_radius_mm": RADIUS}
            self.parts["ports"].append({"id": f"G{n}", "x_mm": start[0], "y_mm": start[1], "serves": f"DG{n}.p",
                                        "thread_depth_mm": 5, "tube": tube})  # fmt: skip
            self.truth[frozenset((f"G{n}", f"E{n}"))] = between([line_of(course(corners))], ours) - OUTER / 2

    def plain(self) -> dict:
        holes = dict(self.parts)
        return {
            "floor": {"outline": rectangle(SIZE / 2, SIZE / 2, SIZE, SIZE + 200), "obstacles": holes.pop("obstacles"),
                      "clear_height_mm": CEILING},
            "plate": {"outline": rectangle(SIZE / 2, SIZE / 2, SIZE, SIZE - 40), "body_thickness_mm": BODY,
                      "lid_thickness_mm": LID, "z_mm": Z},
            "loop": {"tube_outer_diameter_mm": OUTER},
            "seal": {"kind": "gasket", "gasket_mm": self.gasket} if self.gasket else {},
            "limits": {"tube-clearance": WIDE, "fittings-touch": WIDE, "tube-reach": 0.0}, **holes,
        }  # fmt: skip


@lru_cache(maxsize=4)
def the_case(seed: int) -> tuple[dict, dict[frozenset[str], float]]:
    case = Courses(seed)
    for n in range(ACROSS * ACROSS):
        case.cell(n)
    case.edges()
    return case.plain(), case.truth


def differences(seed: int) -> tuple[int, int, list[str]]:
    """How many pairs were compared, how many were near, and what differs: not told, told wrong, or for no reason."""
    plain, truth = the_case(seed)
    told: dict[frozenset[str], list[float]] = {}
    for finding in one_by_one(run(from_plain(plain), quick=True)):
        if finding.rule == "tube-clearance":
            told.setdefault(frozenset(finding.items), []).append(finding.value or 0.0)
    wrong = [f"seed {seed}: {sorted(pair)} {values}, but not near" for pair, values in told.items()
             if pair not in truth]  # fmt: skip
    for pair, true in truth.items():
        values = told.get(pair, [])
        line = f"seed {seed}: {sorted(pair)} is {true:.4f}, told {values}"
        if abs(true - WIDE) < 2 * FINE:
            continue
        if len(values) != (true < WIDE) or (values and abs(max(values[0], 0.0) - max(true, 0.0)) > FINE):
            wrong.append(line)
    return len(truth), sum(true < WIDE for true in truth.values()), wrong


@pytest.mark.parametrize("seed", [0, 1])
def test_every_course_against_everything_hard_is_told_once_and_right(seed: int) -> None:
    count, near, wrong = differences(seed)
    assert count == ACROSS * ACROSS + 2
    assert near > 5
    assert wrong == []


@pytest.mark.long
def test_every_course_against_everything_hard_in_forty_cases() -> None:
    rows = [differences(seed) for seed in range(100, 140)]
    assert [line for _, _, wrong in rows for line in wrong] == []
