"""Surveys for the tests: a floor with known truth, readings as a builder takes them, a document around them."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from sketcher.document import Document, from_plain
from sketcher.survey.leastsquares import precision
from sketcher.survey.readings_network import Network, Observation, build

#: Four corners of a floor a little out of square, and six things on it, mm.
TRUTH = {
    "A": (0.0, 0.0),
    "B": (402.0, 0.0),
    "C": (400.5, 301.0),
    "D": (-0.8, 299.0),
    "P": (60.0, 40.0),
    "Q": (180.0, 90.0),
    "R": (330.0, 70.0),
    "S": (300.0, 220.0),
    "T": (110.0, 240.0),
    "U": (210.0, 170.0),
}
DATUM = {("A", "x"): 0.0, ("A", "y"): 0.0, ("B", "y"): 0.0}


def true_value(kind: str, points: tuple[str, ...], wall: tuple[str, str] | None = None, truth=TRUTH) -> float:
    """What a perfect tool would read."""
    p = truth[points[0]]
    if kind == "distance":
        return math.dist(p, truth[points[1]])
    if kind in ("x", "y"):
        return p["xy".index(kind)]
    (ax, ay), (bx, by) = (truth[name] for name in wall)
    length = math.dist((ax, ay), (bx, by))
    along = ((bx - ax) * (p[0] - ax) + (by - ay) * (p[1] - ay)) / length
    across = ((bx - ax) * (p[1] - ay) - (by - ay) * (p[0] - ax)) / length
    return along if kind == "along" else abs(across)


def a_survey(rng: np.random.Generator, sigma: float = 0.3, each: int = 4, number: int = 0) -> Network:
    """The sides, the diagonals and a random choice of further readings, each off by its spread.

    Every point on the floor gets ``each`` readings; ``number`` readings in all, if that is more.
    """
    readings: list[tuple[str, tuple[str, ...], tuple[str, str] | None]] = [
        ("distance", pair, None) for pair in (("A", "B"), ("B", "C"), ("C", "D"), ("D", "A"), ("A", "C"), ("B", "D"))
    ]
    inner = [name for name in TRUTH if name not in "ABCD"]
    pool: list[tuple[str, tuple[str, ...], tuple[str, str] | None]] = []
    for name in inner:
        own = [("distance", (name, corner), None) for corner in "ABCD"]
        own += [("offset", (name,), ("A", "B")), ("along", (name,), ("A", "B")), ("offset", (name,), ("A", "D"))]
        rng.shuffle(own)
        readings += own[:each]
        pool += own[each:]
    pool += [("distance", (one, other), None) for k, one in enumerate(inner) for other in inner[k + 1 :]]
    rng.shuffle(pool)
    readings += pool[: max(0, number - len(readings))]
    observations = [
        Observation(f"R{k + 1}", kind, points, true_value(kind, points, wall) + rng.normal(0.0, sigma), sigma, wall)
        for k, (kind, points, wall) in enumerate(readings)
    ]
    return build(list(TRUTH), observations, DATUM)


def redundancy(network: Network) -> int:
    """Surplus readings at the true places."""
    prec = precision(network, network.state(TRUTH))
    assert prec.loose.shape[1] == 0
    return prec.degrees


def with_value(network: Network, number: int, value: float) -> Network:
    """The network with one reading changed."""
    readings = list(network.observations)
    readings[number] = replace(readings[number], value=value)
    return build(network.points, readings, network.fixed)


def document(readings: list[dict], points=tuple(TRUTH), **survey) -> Document:
    """A document whose survey has these points and readings."""
    return from_plain(plain(readings, points, **survey))


def plain(readings: list[dict], points=tuple(TRUTH), **survey) -> dict:
    """The same as plain dicts and lists."""
    rectangle = {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 400, "depth_mm": 300}
    return {
        "version": 1,
        "floor": {"outline": rectangle},
        "plate": {
            "outline": {**rectangle, "width_mm": 300, "depth_mm": 200},
            "body_thickness_mm": 15,
            "lid_thickness_mm": 5,
        },
        "survey": {
            "points": [point if isinstance(point, dict) else {"id": point} for point in points],
            "readings": [{"id": f"R{k + 1}", **reading} for k, reading in enumerate(readings)],
            **survey,
        },
    }


def typed(kind: str, *points: str, wall: tuple[str, str] | None = None, **more) -> dict:
    """A reading as a document has it: the true value rounded to 0.1 mm."""
    value = more.pop("value", None)
    reading = {"kind": kind, "points": list(points), **more}
    reading["value"] = round(true_value(kind, points, wall), 1) if value is None else value
    if wall:
        reading["wall"] = list(wall)
    return reading


def careful() -> list[dict]:
    """Twenty-four readings that hold every point with some to spare."""
    corners = [typed("distance", *pair) for pair in ("AB", "BC", "CD", "DA", "AC", "BD")]
    rest = []
    for name in "PQRSTU":
        rest += [typed("distance", name, "A"), typed("distance", name, "C"), typed("offset", name, wall=("A", "B"))]
        rest += [typed("distance", name, "B")]
    return corners + rest


def six_points(rng: np.random.Generator, sigma: float = 0.3) -> Network:
    """Four corners and two points, every distance between them read once: redundancy 6, no more."""
    names = ["A", "B", "C", "D", "Q", "S"]
    pairs = [(one, other) for k, one in enumerate(names) for other in names[k + 1 :]]
    observations = [
        Observation(f"R{k + 1}", "distance", pair, true_value("distance", pair) + rng.normal(0.0, sigma), sigma)
        for k, pair in enumerate(pairs)
    ]
    return build(names, observations, DATUM)
