"""Random documents: never a crash, never a number that is no number; placed screws stand free."""

import json
import random

import pytest

from sketcher.checks import run
from sketcher.document import Document, DocumentError, from_plain, to_plain
from sketcher.geometry import build
from sketcher.strength.lid import lid_report
from sketcher.strength.lid_screws import place_screws
from sketcher.strength.seal import design_seal
from tests.checks.plates import rectangle


def _outline(rng: random.Random) -> dict:
    x, y = rng.uniform(0, 300), rng.uniform(0, 200)
    match rng.choice("crsp"):
        case "c":
            return {"shape": "circle", "x_mm": x, "y_mm": y, "diameter_mm": rng.uniform(0.1, 120)}
        case "r":
            return rectangle(x, y, rng.uniform(0.1, 120), rng.uniform(0.1, 120), rng.uniform(0, 30))
        case "s":
            size = {"length_mm": rng.uniform(0.1, 120), "width_mm": rng.uniform(0.1, 60)}
            return {"shape": "slot", "x_mm": x, "y_mm": y, "turn_deg": rng.uniform(0, 360), **size}
    corners = [
        {"x_mm": rng.uniform(0, 300), "y_mm": rng.uniform(0, 200), "bulge": rng.choice([0, 0, rng.uniform(-1, 1)])}
        for _ in range(rng.randint(3, 7))
    ]
    return {"shape": "polygon", "vertices": corners}


def _channels(rng: random.Random, ports: list[dict]) -> list[dict]:
    found = []
    for index in range(rng.randint(0, 5)):
        ends = [None, *(item["id"] for item in ports)]
        start, end = rng.choice(ends), rng.choice(ends)
        points = [{"x_mm": rng.uniform(0, 300), "y_mm": rng.uniform(0, 200)} for _ in range(rng.randint(0, 5))]
        channel = {
            "id": f"C{index}",
            "points": points,
            "width_mm": rng.choice([rng.uniform(0.05, 80), 10]),
            "depth_mm": rng.uniform(0.1, 30),
            "bend_radius_mm": rng.uniform(0, 20),
        }
        if start:
            channel["start"] = start
        if end and end != start:
            channel["end"] = end
        found.append(channel)
    return found


def _anything(rng: random.Random) -> dict:
    """A document that is valid in its fields and may be nonsense as a plate."""
    ports = [
        {
            "id": f"P{i}",
            "x_mm": rng.uniform(-20, 320),
            "y_mm": rng.uniform(-20, 220),
            "face": rng.choice(["top", "bottom", "edge"]),
            "thread": rng.choice(["G1/4", "G1/8", None, "X"]),
            "thread_depth_mm": rng.uniform(0.5, 25),
        }
        for i in range(rng.randint(0, 5))
    ]
    holes = [
        {
            "id": f"H{i}",
            "x_mm": rng.uniform(-10, 310),
            "y_mm": rng.uniform(0, 200),
            "use": rng.choice(["lid", "mount", "other"]),
            "kind": rng.choice(["through", "tapped", "countersunk", "counterbored"]),
            "face": rng.choice(["top", "bottom"]),
            "screw": rng.choice(["M4", "M3", "M99"]),
        }
        for i in range(rng.randint(0, 7))
    ]
    return {
        "floor": {"outline": rectangle(150, 100, 400, 300)},
        "plate": {
            "outline": rng.choice([_outline(rng), rectangle(150, 100, 300, 200)]),
            "body_thickness_mm": rng.uniform(0.5, 30),
            "lid_thickness_mm": rng.uniform(0.2, 12),
            "lid_face": rng.choice(["top", "bottom"]),
        },
        "ports": ports,
        "holes": holes,
        "channels": _channels(rng, ports),
        "cutouts": [{"id": f"K{i}", "outline": _outline(rng)} for i in range(rng.randint(0, 3))],
        "pockets": [
            {"id": f"R{i}", "outline": _outline(rng), "depth_mm": rng.uniform(0.1, 20)}
            for i in range(rng.randint(0, 2))
        ],
        "seal": {
            "kind": rng.choice(["cord", "cord", "gasket", "bonded"]),
            "cord_mm": rng.choice([2, rng.uniform(0.2, 9)]),
            "squeeze_percent": rng.uniform(5, 40),
            "wall_mm": rng.uniform(0.1, 8),
            "screw_pitch_mm": rng.uniform(1, 150),
            "screw": rng.choice(["M4", "M3", "M6", "Q1"]),
            "fill_percent": rng.choice([75, rng.uniform(1, 100)]),
        },
    }


def _documents(seed: int, count: int) -> list[Document]:
    rng, found = random.Random(seed), []
    while len(found) < count:
        try:
            found.append(from_plain(_anything(rng)))
        except DocumentError:
            continue
    return found


@pytest.mark.parametrize(
    ("seed", "count"), [(1, 3), (2, 4), *(pytest.param(seed, 30, marks=pytest.mark.long) for seed in range(1, 9))]
)
def test_nothing_crashes_and_every_number_is_one(seed: int, count: int) -> None:
    for number, document in enumerate(_documents(seed, count)):
        shapes = build(document)
        seal = design_seal(document, shapes)
        plain = [
            # The fixes are tried for every other one: each is a run of its own.
            [finding.as_json() for finding in run(document, shapes, fixes=number % 2 == 0)],
            seal.as_json(),
            lid_report(document, shapes, seal).as_json(),
            [hole.as_json() for hole in place_screws(document, shapes, seal)],
            [hole.as_json() for hole in place_screws(document, shapes, keep=False)],
        ]
        json.dumps(plain, allow_nan=False)


@pytest.mark.parametrize("seed", [*range(4), *(pytest.param(seed, marks=pytest.mark.long) for seed in range(4, 24))])
def test_placed_screws_stand_free(seed: int) -> None:
    """On random channels over a sound plate the placed screws break no wall and stand in no groove's way."""
    rng = random.Random(seed)
    points = [(rng.randrange(30, 271, 20), rng.randrange(30, 171, 20)) for _ in range(rng.randint(4, 8))]
    ports = [{"id": f"P{i}", "x_mm": x, "y_mm": y} for i, (x, y) in enumerate(dict.fromkeys(points))]
    channels = [
        {"id": f"C{i}", "start": f"P{i}", "end": f"P{i + 1}", "width_mm": 10, "depth_mm": 6}
        for i in range(0, len(ports) - 1, 2)
    ]
    document = from_plain(
        {
            "floor": {"outline": rectangle(150, 100, 400, 300)},
            "plate": {"outline": rectangle(150, 100, 300, 200), "body_thickness_mm": 20, "lid_thickness_mm": 6},
            "ports": ports,
            "channels": channels,
            "cutouts": [{"id": "K1", "outline": rectangle(rng.uniform(40, 260), rng.uniform(40, 160), 30, 16, 4)}],
        }
    )
    before = design_seal(document, build(document)).missing
    plain = to_plain(document)
    proposed = place_screws(document, build(document))
    assert proposed
    plain["holes"] = [{"id": f"L{i}", **hole.as_json()} for i, hole in enumerate(proposed)]
    document = from_plain(plain)
    assert design_seal(document, build(document)).missing == before
    bad = [
        finding.message
        for finding in run(document)
        if finding.rule.startswith(("wall-", "screw-head", "screw-thread", "screw-floor"))
        and any(item.startswith("L") for item in finding.items)
    ]
    assert bad == []
