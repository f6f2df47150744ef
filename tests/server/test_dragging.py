"""A drag's answer is the full answer: after any moves it is what a program says that has never seen the plate.

The second method is the same program with every memory emptied, which looks over the whole plate.
"""

from __future__ import annotations

import copy
import json
import random
from pathlib import Path
from typing import Any

import pytest

from sketcher.checks import dragging
from sketcher.checks.extents import extents
from sketcher.document import Document, DocumentError, from_plain, to_plain
from sketcher.document.remembered import forget_all
from sketcher.server.look_routes import answer
from tests.checks import test_unlikely
from tests.checks.plates import made

EXAMPLES = sorted((Path(__file__).parents[2] / "examples").glob("*.json"))
LISTS = ("ports", "branches", "channels", "cutouts", "pockets", "holes", "keep_outs", "boards", "devices")
PARTS = ["findings", "flow"]


def crowded(seed: int, cells: int, share: float = 1.0) -> dict[str, Any]:
    """A made plate of which a share of the items stand anywhere, often over each other, of all kinds and sizes."""
    chance = random.Random(seed)
    plain = to_plain(made(cells))
    width = plain["plate"]["outline"]["width_mm"]
    depth = plain["plate"]["outline"]["depth_mm"]

    def anywhere() -> dict[str, float]:
        return {"x_mm": round(chance.uniform(-5, width + 5), 1), "y_mm": round(chance.uniform(-5, depth + 5), 1)}

    for key in ("ports", "holes"):
        for item in plain[key]:
            if chance.random() > share:
                continue
            item.update(anywhere())
            if key == "ports":
                item["face"] = chance.choice(["top", "top", "bottom", "edge"])
                item["fitting_diameter_mm"] = chance.choice([14, 20, 30])
            else:
                item["kind"] = chance.choice(["through", "tapped", "countersunk", "counterbored"])
                item["use"] = chance.choice(["mount", "lid", "other"])
                item["screw"] = chance.choice(["M3", "M4", "M6"])
    for item in plain["cutouts"]:
        if chance.random() < share:
            item["outline"].update(anywhere())
    plain["pockets"] = [
        {"id": f"R{n}", "depth_mm": 5, "face": chance.choice(["top", "bottom"]), "must_stay_dry": chance.random() < 0.5,
         "outline": {"shape": "circle", "diameter_mm": 12, **anywhere()}}
        for n in range(cells // 8)
    ]  # fmt: skip
    plain["keep_outs"] = [{"id": "Z1", "outline": {"shape": "circle", "diameter_mm": 40, **anywhere()}}]
    plain["branches"] = [{"id": f"J{n}", **anywhere()} for n in range(cells // 10)]
    for n, branch in enumerate(plain["branches"]):
        plain["channels"][n]["end"] = branch["id"]
        plain["channels"][-1 - n]["start"] = branch["id"]
    plain["boards"] = [{"id": "B1", "width_mm": 60, "depth_mm": 40, "z_mm": 30, **anywhere()}]
    out = {"shape": "rectangle", "x_mm": 15, "y_mm": 15, "width_mm": 30, "depth_mm": 30}
    both = [{"id": way, "u_mm": u, "v_mm": 5, "flow": way} for way, u in (("in", 5), ("out", 25))]
    curve = [{"flow_l_min": 0, "pressure_kpa": 40}, {"flow_l_min": 12, "pressure_kpa": 5}]
    body = {"outline": out, "height_mm": 20, "ports": both}
    plain["devices"] = [
        {"id": "D1", "kind": "block", **body, "held_by": "B1", "x_mm": 5, "y_mm": 5},
        {"id": "D2", "kind": "pump", **body, "z_mm": 40, "curve": curve, **anywhere()},
    ]
    for port, ref in zip(plain["ports"], ("D1.in", "D1.out", "D2.in", "D2.out"), strict=False):
        port.update(serves=ref, face="top")
    return plain


def over_openings(seed: int) -> dict[str, Any]:
    """An example over a floor full of openings, with what stood above it set down on it here and there."""
    chance = random.Random(seed)
    plain: dict[str, Any] = json.loads(EXAMPLES[seed % len(EXAMPLES)].read_text("utf-8"))
    floor = plain["floor"]["outline"]
    plain["floor"]["openings"] = [
        {"id": f"WX{n}", "outline": {"shape": "circle", "diameter_mm": chance.choice([8, 20, 60]),
                                     "x_mm": round(chance.uniform(20, floor.get("width_mm", 300) - 20), 1),
                                     "y_mm": round(chance.uniform(20, floor.get("depth_mm", 300) - 20), 1)}}
        for n in range(14)
    ]  # fmt: skip
    for thing in (*plain["boards"], *plain["devices"]):
        if thing.get("held_by") is None and chance.random() < 0.7:
            thing["z_mm"] = chance.choice([0, 0.3])
    return plain


def step(plain: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """One move of a drag: an item, sometimes two, a little or far."""
    plain = copy.deepcopy(plain)
    for _ in range(chance.choice([1, 1, 1, 2])):
        key = chance.choice([key for key in LISTS if plain.get(key)])
        item = chance.choice(plain[key])
        far = chance.choice([0.01, 0.5, 3.0, 10.0, 60.0])
        dx, dy = (round(chance.uniform(-far, far), 3) for _ in "xy")
        places = item.get("points", []) if key == "channels" else [item.get("outline", item)] if "s" in key else []
        if key in ("boards", "devices"):
            places = [item]
        for place in places:
            for corner in place.get("vertices", [place]):
                corner["x_mm"] = round(corner.get("x_mm", 0) + dx, 3)
                corner["y_mm"] = round(corner.get("y_mm", 0) + dy, 3)
    return plain


def told(document: Document) -> Any:
    return answer(document, PARTS, quick=True)


#: The flow is settled to 1e-8 of the largest and to a microkelvin for each 10 K (``flow.operating``): where a search
#: began may show in the last digits of the answer, and nowhere else.
SETTLED = 1e-6


def differing(one: Any, other: Any, where: str = "") -> list[str]:
    """Where two plain answers differ by more than the flow is settled to."""
    if isinstance(one, dict) and isinstance(other, dict) and one.keys() == other.keys():
        return [row for key in one for row in differing(one[key], other[key], f"{where}/{key}")]
    if isinstance(one, list) and isinstance(other, list) and len(one) == len(other):
        return [row for n in range(len(one)) for row in differing(one[n], other[n], f"{where}/{n}")]
    if where.startswith("/flow/") and isinstance(one, float) and isinstance(other, float):
        # What stands is known to rounding alone: flows below 0.6 ml/min are none, and that is a Reynolds number of 1.
        nothing = 1e-3 if where.endswith("/reynolds") else 1e-8
        near = abs(one - other) <= SETTLED * max(abs(one), abs(other)) + nothing
        return [] if near else [f"{where}: {one}, {other}"]
    return [] if one == other else [f"{where}: {str(one)[:200]}, {str(other)[:200]}"]


def dragged(plain: dict[str, Any], seed: int, moves: int, every: int) -> tuple[int, int]:
    """Moves items about and compares each ``every``-th answer; how many were compared, how many were local."""
    chance, compared, local = random.Random(seed), 0, 0
    forget_all()
    told(from_plain(copy.deepcopy(plain)))
    for n in range(moves):
        following = step(plain, chance)
        try:
            document = from_plain(copy.deepcopy(following))
        except DocumentError:
            continue
        plain = following
        found = dragging.step_to(document)
        local += found is not None and len(found.concerned) < len(found.boxes.names)
        quick = told(document)
        if n % every == every - 1:
            kept = dragging._recent.all()
            forget_all()
            full = told(from_plain(copy.deepcopy(plain)))
            forget_all()
            for looked in reversed(kept):
                dragging.keep(looked)
            assert differing(quick, full) == [], f"move {n} of seed {seed}"
            compared += 1
    return compared, local


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_a_drag_of_an_example_is_answered_like_the_whole(example: Path) -> None:
    compared, _ = dragged(json.loads(example.read_text("utf-8")), 1, 4, 4)
    assert compared


def test_a_drag_of_a_crowded_plate_is_answered_like_the_whole() -> None:
    compared, _ = dragged(crowded(1, 30), 1, 4, 2)
    assert compared


def test_of_a_large_plate_only_a_part_is_looked_over() -> None:
    compared, local = dragged(to_plain(made(150)), 1, 6, 3)
    assert compared
    assert local >= 4


def test_a_tube_reaches_as_far_as_its_device_whatever_moved_before() -> None:
    """A channel moved at a port leaves the port's tube as it is: a step later it is still known how far it reaches."""
    chance, plain, local = random.Random(7), crowded(7, 27), 0
    forget_all()
    told(from_plain(copy.deepcopy(plain)))
    for _ in range(14):
        plain = step(plain, chance)
        document = from_plain(copy.deepcopy(plain))
        found = dragging.step_to(document)
        assert found is not None
        whole = extents(found.shapes)
        for name, box in zip(found.boxes.names, found.boxes.boxes, strict=True):
            assert box == pytest.approx(whole.boxes[whole.rows[name]], abs=1e-9), name
        local += "P0" not in found.changed
        told(document)
    assert local > 10


def test_what_is_told_of_a_figure_keeps_its_place_beside_the_thing_that_is_dragged() -> None:
    """Plates that each have one figure that cannot be: its sign goes along, whatever the rule reads beside it."""
    plates = [to_plain(wrong) for _, _, wrong, _ in test_unlikely.CASES]
    plates = [plain for plain in plates if any(plain.get(key) for key in LISTS)]
    assert len(plates) > 40
    for seed, plain in enumerate(plates):
        assert dragged(plain, seed, 2, 1)[0]


@pytest.mark.long
@pytest.mark.parametrize("tens", range(10))
def test_drags_over_many_plates_are_answered_like_the_whole(tens: int, capsys: pytest.CaptureFixture[str]) -> None:
    compared = 0
    for seed in range(10 * tens, 10 * tens + 10):
        compared += dragged(crowded(seed, 20 + seed), seed, 20, 2)[0]
        compared += dragged(json.loads(EXAMPLES[seed % len(EXAMPLES)].read_text("utf-8")), seed, 20, 2)[0]
        compared += dragged(over_openings(seed), seed, 6, 2)[0]
    with capsys.disabled():
        print(f"\nseeds {10 * tens} to {10 * tens + 9}: {compared} answers compared")
    assert compared > 100
