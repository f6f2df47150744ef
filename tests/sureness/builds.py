"""Whole builds by chance: the floor, the readings with their tools, the hardware, the making, the assembly.

Nothing of the program's own model is used here but its answer: places are adjusted by Gauss and Newton over numerical
derivatives, and tubes are counted as they fall.
"""

from __future__ import annotations

import math
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document, from_plain
from tests.checks.plates import rectangle

Array = NDArray[np.float64]

#: True places of the survey's points, mm; A is the origin and B lies on the x axis.
POINTS = {
    "A": (0.0, 0.0),
    "B": (400.0, 0.0),
    "C": (400.0, 300.0),
    "D": (0.0, 300.0),
    "E": (120.0, 180.0),
    "F": (300.0, 140.0),
}
PAIRS = ["AB", "BC", "CD", "AD", "AC", "BD", "AE", "BE", "CE", "DE", "AF", "BF", "CF", "DF", "EF"]
READING_MM = 0.4
#: Device ports by device, in plan; the block is on a board tied to E and F, the radiator is tied to D.
PLACES = {"BLOCK": [(150.0, 170.0), (190.0, 170.0)], "RAD": [(60.0, 250.0), (100.0, 250.0)], "PUMP": [(330.0, 80.0)]}
HEIGHT_MM = 40.0
PLATE = (200.0, 150.0, 360.0, 260.0)
THICK_MM = 30.0
SPREADS = {
    "hardware_mm": 0.6,
    "part_mm": 0.15,
    "standoff_mm": 0.2,
    "seating_mm": 0.25,
    "making_mm": 0.08,
    "bow_mm": 0.3,
    "warming_k": 20.0,
}


def document(landing_offset_mm: float, landings: bool = False) -> Document:
    """The plate that all builds follow, with exact readings; ``landings`` adds a trial that read each tube."""
    readings = [
        {
            "id": f"R{k}",
            "kind": "distance",
            "points": list(pair),
            "value": math.dist(POINTS[pair[0]], POINTS[pair[1]]),
            "tool": "T",
        }
        for k, pair in enumerate(PAIRS)
    ]
    devices: list[dict[str, Any]] = []
    ports = []
    for name, places in PLACES.items():
        (x0, y0), kind = places[0], {"BLOCK": "block", "RAD": "radiator", "PUMP": "pump"}[name]
        own = [{"id": f"p{k}", "u_mm": x - x0, "v_mm": y - y0} for k, (x, y) in enumerate(places)]
        at: dict[str, Any] = {"x_mm": x0, "y_mm": y0, "z_mm": THICK_MM + HEIGHT_MM}
        if name == "BLOCK":
            at = {"held_by": "MB", "x_mm": x0 - 120.0, "y_mm": y0 - 140.0}
        devices.append({"id": name, "kind": kind, "ports": own, **at})
        for k, (x, y) in enumerate(places):
            ports.append({"id": f"P{len(ports) + 1}", "x_mm": x, "y_mm": y, "serves": f"{name}.p{k}"})
    tubes = [(x, y, f"{name}.p{k}") for name, places in PLACES.items() for k, (x, y) in enumerate(places)]
    return from_plain(
        {
            "floor": {"outline": rectangle(200, 150, 400, 300), "material": "aluminium"},
            "plate": {"outline": rectangle(*PLATE), "body_thickness_mm": 20, "lid_thickness_mm": 10},
            "boards": [
                {"id": "MB", "x_mm": 120, "y_mm": 140, "z_mm": THICK_MM + HEIGHT_MM, "width_mm": 170, "depth_mm": 170}
            ],
            "devices": devices,
            "ports": ports,
            "survey": {
                "points": [{"id": name} for name in POINTS],
                "tools": [{"id": "T", "spread_mm": READING_MM}],
                "readings": readings,
                "origin": "A",
                "along_x": "B",
            },
            "ties": [{"item": "MB", "points": ["E", "F"]}, {"item": "RAD", "points": ["D"]}],
            "spreads": {**SPREADS, "landing_offset_mm": landing_offset_mm, "landing_angle_deg": 0.0},
            "landings": [{"serves": ref, "x_mm": x, "y_mm": y, "spread_mm": 0.3} for x, y, ref in tubes]
            if landings
            else [],
        }
    )


def _distances(state: Array) -> Array:
    """(n, 12) places to (n, 15) distances."""
    at = state.reshape(-1, len(POINTS), 2)
    order = list(POINTS)
    return np.stack(
        [np.hypot(*np.moveaxis(at[:, order.index(p[1])] - at[:, order.index(p[0])], -1, 0)) for p in PAIRS], axis=1
    )


def surveyed(chance: np.random.Generator, count: int) -> Array:
    """(count, 6, 2) points as adjusted from readings with errors, in the frame of A and B."""
    truth = np.array(list(POINTS.values())).ravel()
    free = [k for k in range(12) if k not in (0, 1, 3)]
    values = _distances(truth[None]) + chance.normal(scale=READING_MM, size=(count, len(PAIRS)))
    state = np.repeat(truth[None], count, axis=0)
    for _ in range(4):
        predicted = _distances(state)
        slopes = []
        for k in free:
            moved = state.copy()
            moved[:, k] += 1e-4
            slopes.append((_distances(moved) - predicted) / 1e-4)
        jacobian = np.stack(slopes, axis=-1)
        normal = np.einsum("nij,nik->njk", jacobian, jacobian)
        right = np.einsum("nij,ni->nj", jacobian, values - predicted)
        state[:, free] += np.linalg.solve(normal, right[..., None])[..., 0]
    return state.reshape(count, len(POINTS), 2)


def _laid_on(points: Array, names: str, place: tuple[float, float]) -> Array:
    """(n, 2): where a place lies that was laid rigidly on some of the points, which truly are where they are."""
    order = list(POINTS)
    true = np.array([POINTS[name] for name in names])
    read = points[:, [order.index(name) for name in names]]
    middle, read_middle = true.mean(axis=0), read.mean(axis=1)
    turn = np.zeros(len(points))
    if len(names) > 1:
        a, b = true - middle, read - read_middle[:, None]
        turn = np.arctan2((a[:, 0] * b[..., 1] - a[:, 1] * b[..., 0]).sum(1), (a * b).sum(axis=(1, 2)))
    arm = np.array(place) - middle
    cos, sin = np.cos(turn), np.sin(turn)
    return read_middle + np.stack([cos * arm[0] - sin * arm[1], sin * arm[0] + cos * arm[1]], axis=-1)


def hardware(chance: np.random.Generator, count: int) -> tuple[Array, Array]:
    """Where the document draws each tube's device port, and where it truly is, (count, 5, 2) each."""
    points = surveyed(chance, count)
    drawn, true = [], []
    board = chance.normal(scale=SPREADS["standoff_mm"], size=(count, 2))
    for name, places in PLACES.items():
        loose = chance.normal(scale=SPREADS["hardware_mm"], size=(count, 2))
        for place in places:
            part = chance.normal(scale=SPREADS["part_mm"], size=(count, 2))
            stands = np.array(place) + part
            if name == "BLOCK":
                drawn.append(_laid_on(points, "EF", place))
                stands = stands + board
            elif name == "RAD":
                drawn.append(_laid_on(points, "D", place))
            else:
                drawn.append(np.repeat(np.array([place]), count, axis=0))
                stands = stands + loose
            true.append(stands)
    return np.stack(drawn, axis=1), np.stack(true, axis=1)


def assembled(chance: np.random.Generator, ports: Array) -> Array:
    """Where the tops of the fittings come to stand, (count, n, 2), when a plate with these ports is made and put in."""
    count, n = ports.shape[:2]
    x, y, width, depth = PLATE
    reach = math.hypot(width, depth) / 2
    seating = SPREADS["seating_mm"]
    turn = chance.normal(scale=seating / reach, size=count)
    arm = ports - np.array([x, y])
    cos, sin = np.cos(turn)[:, None], np.sin(turn)[:, None]
    placed = np.stack([cos * arm[..., 0] - sin * arm[..., 1], sin * arm[..., 0] + cos * arm[..., 1]], axis=-1)
    # Acrylic 65 to 80, aluminium 23 millionths per kelvin: the document's tables; warmer or colder by up to the limit.
    growth = (72.5e-6 - 23e-6) * chance.uniform(-1, 1, size=count) * SPREADS["warming_k"]
    placed = placed * (1 + growth)[:, None, None] + np.array([x, y])
    placed = placed + chance.normal(scale=seating, size=(count, 1, 2))
    placed = placed + chance.normal(scale=SPREADS["making_mm"], size=(count, n, 2))
    tilt = chance.uniform(-1, 1, size=(count, n, 2)) * 2 * SPREADS["bow_mm"] / reach
    return placed + tilt * min(HEIGHT_MM, 25.0)
