"""Random floors with known truth, read as a builder reads them, with and without one slip.

The truth is the outside value: whatever the program says of a simulated survey is compared with the places and the
readings that the simulation started from.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from sketcher.survey.adjustment import Adjustment, adjust
from sketcher.survey.leastsquares import solve
from sketcher.survey.readings_network import Network, Observation, build
from sketcher.survey.room import Room
from sketcher.survey.snooping import Snooped, snoop
from tests.survey.surveys import true_value

DATUM = {("A", "x"): 0.0, ("A", "y"): 0.0, ("B", "y"): 0.0}
Place = tuple[float, float]


@dataclass(frozen=True)
class Simulated:
    """A floor's true places, its corners in order, and what was read."""

    truth: dict[str, Place]
    corners: tuple[str, ...]
    network: Network

    def with_value(self, number: int, value: float) -> Simulated:
        """The same with one reading changed."""
        readings = list(self.network.observations)
        readings[number] = replace(readings[number], value=value)
        return replace(self, network=build(self.network.points, readings, self.network.fixed))


def _readings(plan, truth, rng, sigma, noise) -> list[Observation]:
    found = []
    for kind, points, wall in plan:
        value = true_value(kind, points, wall, truth) + (rng.normal(0.0, sigma) if noise else 0.0)
        if value > 3.0:  # nobody reads less
            found.append(Observation(f"R{len(found) + 1}", kind, points, value, sigma, wall))
    return found


def rectangle(rng: np.random.Generator, sigma: float = 0.3, *, noise: bool = True) -> Simulated:
    """Four corners a little out of square, the four sides and both diagonals: redundancy 1."""
    width, depth = rng.uniform(250, 520), rng.uniform(180, 450)
    truth = _square(width, depth, rng)
    plan = [("distance", pair, None) for pair in (*_sides("ABCD"), ("A", "C"), ("B", "D"))]
    return Simulated(truth, tuple("ABCD"), build("ABCD", _readings(plan, truth, rng, sigma, noise), DATUM))


def _square(width: float, depth: float, rng: np.random.Generator) -> dict[str, Place]:
    off = rng.normal(0.0, 1.0, 4)
    return {
        "A": (0.0, 0.0),
        "B": (width, 0.0),
        "C": (width + off[0], depth + off[1]),
        "D": (off[2], depth + off[3]),
    }


def _askew(truth: dict[str, Place], rng: np.random.Generator) -> dict[str, Place]:
    """The corners a little off, but the first two, which give the datum."""
    off = rng.normal(0, 0.8, len(truth) + 2)
    return {name: (x, y) if name in "AB" else (x + off[k], y + off[k + 2])
            for k, (name, (x, y)) in enumerate(truth.items())}  # fmt: skip


def _sides(names) -> list[tuple[str, str]]:
    return [(name, names[(k + 1) % len(names)]) for k, name in enumerate(names)]


def floor(rng: np.random.Generator, shape: str, kinds: str, sigma: float = 0.3, *, points: int = 4) -> Simulated:
    """A floor with points on it.

    Args:
        shape: ``rectangle``, ``L`` or ``U`` (open to the rear).
        kinds: ``distances`` (three or four from each point to corners and other points), ``offsets`` (from two or
            three walls), or ``mixed``.
    """
    width, depth = rng.uniform(300, 520), rng.uniform(220, 420)
    if shape == "rectangle":
        truth = _square(width, depth, rng)
        corners = "ABCD"
        plan = [("distance", pair, None) for pair in (*_sides(corners), ("A", "C"), ("B", "D"))]
    elif shape == "U":
        left, right, notch = 0.3 * width, 0.68 * width, 0.45 * depth
        ring = [(0.0, 0.0), (width, 0.0), (width, depth), (right, depth), (right, notch), (left, notch), (left, depth),
                (0.0, depth)]  # fmt: skip
        corners = "ABCDEFGH"
        truth = _askew(dict(zip(corners, ring, strict=True)), rng)
        plan = [("distance", pair, None) for pair in _sides(corners)]
        plan += [("distance", tuple(pair), None) for pair in ("AC", "BH", "AE", "BF", "AF", "BE", "AD", "BG", "DG")]
    else:
        notch_x, notch_y = rng.uniform(0.35, 0.65) * width, rng.uniform(0.35, 0.65) * depth
        truth = {"A": (0.0, 0.0), "B": (width, 0.0), "C": (width, notch_y), "D": (notch_x, notch_y),
                 "E": (notch_x, depth), "F": (0.0, depth)}  # fmt: skip
        off = rng.normal(0.0, 0.8, 8)
        truth = {name: (x, y) if name in "AB" else (x + off[k], y + off[k + 2])
                 for k, (name, (x, y)) in enumerate(truth.items())}  # fmt: skip
        corners = "ABCDEF"
        plan = [("distance", pair, None) for pair in _sides(corners)]
        plan += [("distance", pair, None) for pair in ("AC", "AD", "AE", "BD", "BF", "DF")]
        plan = [(kind, tuple(pair), wall) for kind, pair, wall in plan]
    inner = [f"P{k + 1}" for k in range(points)]
    for name in inner:
        truth[name] = _inside(rng, truth, corners)
    for name in inner:
        plan += _plan_of(rng, name, truth, corners, inner, kinds)
    names = [*corners, *inner]
    return Simulated(truth, tuple(corners), build(names, _readings(plan, truth, rng, sigma, True), DATUM))


def _inside(rng, truth, corners) -> Place:
    ring = [truth[name] for name in corners]
    while True:
        spot = (rng.uniform(0, max(x for x, _ in ring)), rng.uniform(0, max(y for _, y in ring)))
        if _within(spot, ring) and min(_gap(spot, *edge) for edge in _sides(ring)) > 12.0:
            return spot


def _within(spot, ring) -> bool:
    inside = False
    for (ax, ay), (bx, by) in _sides(ring):
        if (ay > spot[1]) != (by > spot[1]) and spot[0] < ax + (spot[1] - ay) * (bx - ax) / (by - ay):
            inside = not inside
    return inside


def _gap(spot, a, b) -> float:
    edge = np.subtract(b, a)
    along = float(np.clip(np.dot(np.subtract(spot, a), edge) / np.dot(edge, edge), 0, 1))
    return math.dist(spot, np.add(a, along * edge))


def _plan_of(rng, name, truth, corners, inner, kinds):
    earlier = inner[: inner.index(name)]
    distances = [("distance", (name, other), None) for other in (*corners, *earlier)]
    rng.shuffle(distances)
    walls = []
    for a, b in _sides(corners):  # a perpendicular is dropped on a wall, not beside it, and not across what is no floor
        edge, arm = np.subtract(truth[b], truth[a]), np.subtract(truth[name], truth[a])
        along = float(np.dot(arm, edge) / np.dot(edge, edge))
        if 0.0 < along < 1.0 and edge[0] * arm[1] > edge[1] * arm[0]:
            walls.append(("offset", (name,), (a, b)))
    rng.shuffle(walls)
    if kinds == "distances":
        return distances[: rng.integers(3, 5)]
    if kinds == "offsets":
        return walls[: rng.integers(2, 4)]
    return walls[: rng.integers(1, 3)] + distances[: rng.integers(1, 3)]


def room(survey: Simulated, *, outline: bool) -> Room:
    """What a builder has said besides the readings: the outline of the floor, or nothing."""
    return Room(corners=survey.corners if outline else ())


def silently_wrong(survey: Simulated, found: Adjustment) -> list[str]:
    """Points that lie somewhere else than they should, of which nothing was said.

    Somewhere else is more than 2 mm, and more than the floor may come out off by six of its spreads.
    """
    asked = {name for mirror in found.mirrors if mirror.decided_by != "walls" for name in mirror.places}
    if not found.agrees:
        return []
    wrong = []
    for point in found.points:
        if point.loose or point.id in asked:
            continue
        off = np.array([point.x, point.y]) - np.array(survey.truth[point.id])
        if np.hypot(*off) > max(2.0, 6.0 * point.ellipse.semi_major):
            wrong.append(point.id)
    return wrong


# One slip.


def slips(value: float, rng: np.random.Generator) -> Iterator[tuple[str, float]]:
    """What a reading may be taken for: off by 10 to 200 mm, two digits swapped, another unit, a lost point."""
    yield "off", value + float(rng.choice([-1.0, 1.0])) * rng.uniform(10.0, min(200.0, 0.8 * value))
    text = f"{value:.1f}"
    swapped = [float(text[:k] + text[k + 1] + text[k] + text[k + 2 :]) for k in range(len(text) - 3)]
    swapped = [other for other in swapped if abs(other - value) > 5.0]
    if swapped:
        yield "swapped", swapped[int(rng.integers(len(swapped)))]
    yield "inches", value / 25.4
    yield "centimetres", value / 10.0
    yield "point lost", value * 10.0


def verdict(found: Adjustment, number: int) -> Counter:
    """What was said of a survey in which this reading alone is wrong."""
    marked = {k for k, reading in enumerate(found.readings) if reading.rival}
    out = {k for k, reading in enumerate(found.readings) if reading.suspect}
    return Counter(
        surveys=1,
        blamed=bool(out - {number}) or (bool(marked) and number not in marked),
        excluded=number in out,
        named=number in out or number in marked,
        rivals=bool(marked),
        agrees=found.agrees and not out,
        overwhelmed=found.overwhelmed,
    )


def from_truth(survey: Simulated) -> Snooped:
    """The yardstick: the same test, started from the true places."""
    return snoop(survey.network, solve(survey.network, survey.network.state(survey.truth)),
                 starts=[survey.network.state(survey.truth)])  # fmt: skip


def whole(survey: Simulated, *, outline: bool = True) -> Adjustment:
    """What the program makes of it, from nothing."""
    return adjust(survey.network, room(survey, outline=outline))
