"""Chances that gaps hold, counted in simulated builds; what further readings would do, against taking them."""

import math
from typing import Any

import numpy as np
import pytest

from sketcher.checks import run
from sketcher.document import Document, from_plain, to_plain
from sketcher.geometry import build
from sketcher.sureness.advice import chance_of
from sketcher.sureness.assessment import assess
from sketcher.sureness.model import build_model
from sketcher.sureness.place_errors import places_of
from sketcher.sureness.readings import further_readings
from tests.sureness import builds

COUNT = 40_000


def _triangle(tip: tuple[float, float], *others: tuple[float, float]) -> dict[str, Any]:
    return {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in (tip, *others)]}


def near(gap: float) -> Document:
    """The builds' plate; the radiator's tip ``gap`` from the left wall, the pump's from the right one, an obstacle's
    from the plate. The walls are surveyed, the radiator is tied to D, pump and obstacle are typed."""
    plain = to_plain(builds.document(1.0))
    plain["survey"]["outlines"] = [{"id": "FLOOR", "what": "floor", "corners": ["A", "B", "C", "D"]}]
    plain["floor"]["outline"] = _triangle((0, 0), (400, 0), (400, 300), (0, 300))
    devices = {device["id"]: device for device in plain["devices"]}
    devices["RAD"]["outline"] = _triangle((gap - 60, -40), (-20, -30), (-20, -50))
    devices["PUMP"]["outline"] = _triangle((70 - gap, 100), (40, 90), (40, 110))
    devices["RAD"]["height_mm"] = devices["PUMP"]["height_mm"] = 5
    tip = (380 + gap, 200.0)
    outline = _triangle(tip, (390 + gap, 190), (390 + gap, 210))
    plain["floor"]["obstacles"] = [{"id": "O1", "height_mm": 40, "outline": outline}]
    return from_plain(plain)


def simulated(gap: float) -> dict[tuple[str, ...], float]:
    """How often each gap is one. What is drawn follows the readings; what is built stands where it truly stands."""
    chance = np.random.default_rng(7)
    points = builds.surveyed(chance, COUNT)
    names = list(builds.POINTS)
    b, c, d = (points[:, names.index(name)] for name in "BCD")
    hardware = builds.SPREADS["hardware_mm"]
    # A is the origin and B on the axis: the left wall is drawn from (0, 0) to D, the right one from B to C.
    left = 60 - builds.POINTS["D"][0] + d[:, 0] + gap - 60 - d[:, 0] * 210 / 300
    right = b[:, 0] + (c[:, 0] - b[:, 0]) * 180 / 300 - 330 - (70 - gap)
    rad = gap + (gap - left)
    pump = gap + (gap - right) + chance.normal(scale=hardware, size=COUNT)
    seating, reach = builds.SPREADS["seating_mm"], math.hypot(*builds.PLATE[2:]) / 2
    turn = chance.normal(scale=seating / reach, size=COUNT)
    growth = (72.5e-6 - 23e-6) * chance.uniform(-1, 1, size=COUNT) * builds.SPREADS["warming_k"]
    edge = 180 * np.cos(turn) - 50 * np.sin(turn) + 180 * growth + chance.normal(scale=seating, size=COUNT)
    edge += chance.normal(scale=builds.SPREADS["making_mm"], size=COUNT)
    plate = 180 + gap + chance.normal(scale=hardware, size=COUNT) - edge
    return {
        ("floor", "RAD"): float((rad > 0).mean()),
        ("floor", "PUMP"): float((pump > 0).mean()),
        ("O1",): float((plate > 0).mean()),
    }


@pytest.mark.parametrize("gap", [0.15, 0.6, 1.2])
def test_stated_clearances_hold_in_simulated_builds(gap: float) -> None:
    stated = {one.items: one for one in assess(near(gap), advice=False).clearances}
    for items, counted in simulated(gap).items():
        assert stated[items].gap_mm == pytest.approx(gap, abs=1e-6)
        # Four standard deviations of counting; the linear model is good to a part in a thousand here.
        slack = 4 * math.sqrt(max(counted * (1 - counted), 1e-4) / COUNT) + 0.002
        assert stated[items].chance == pytest.approx(counted, abs=slack), items
    # The radiator is tied to the wall's own corner and moves with it: its gap is surer than that of typed hardware.
    assert stated[("floor", "RAD")].sigma_mm < 0.3 * stated[("floor", "PUMP")].sigma_mm


def test_a_gap_under_the_limit_is_a_finding_and_the_gap_it_asks_for_is_none() -> None:
    found = [one for one in run(near(0.6)) if one.rule == "clearance-chance"]
    assert {one.items for one in found} >= {("PUMP",), ("O1",)}
    for finding in found:
        assert finding.level == "warning"
        assert finding.at is not None
    wanted = max(one.needed_mm(95.0) for one in assess(near(0.6), advice=False).clearances if "RAD" not in one.items)
    assert not [one for one in run(near(wanted)) if one.rule == "clearance-chance" and "RAD" not in one.items]


def test_what_stands_together_or_apart_is_not_in_question() -> None:
    """The block stands on the board and moves with it; at another height nothing is met; what touches is for rules."""
    plain = to_plain(near(0.6))
    block = next(device for device in plain["devices"] if device["id"] == "BLOCK")
    block.update(outline={"shape": "circle", "x_mm": 0, "y_mm": 0, "diameter_mm": 30}, height_mm=10)
    pairs = {one.items for one in assess(from_plain(plain), advice=False).clearances}
    assert not any("BLOCK" in items and "MB" in items for items in pairs)
    plain["floor"]["obstacles"][0]["bottom_mm"] = 31
    assert ("O1",) not in {one.items for one in assess(from_plain(plain), advice=False).clearances}
    assert ("floor", "RAD") not in {one.items for one in assess(near(0.0), advice=False).clearances}


def test_a_reading_that_is_taken_does_what_was_said_of_it() -> None:
    """The covariance alone against a second adjustment with the reading added: the same chance."""
    document = builds.document(1.25)
    shapes = build(document)
    places = places_of(document, shapes)
    model = build_model(document, shapes, places)
    plain = to_plain(document)
    told = list(further_readings(document, places, model))
    assert told
    for further in told:
        assert " again with the T" in further.do
        one, other = further.do.removeprefix("Read the distance from ").split(" again")[0].split(" to ")
        more = {
            "id": "NEW",
            "points": [one, other],
            "value": math.dist(builds.POINTS[one], builds.POINTS[other]),
            "tool": "T",
        }
        survey = {**plain["survey"], "readings": [*plain["survey"]["readings"], more]}
        taken = from_plain({**plain, "survey": survey})
        assert chance_of(further.model) == pytest.approx(chance_of(build_model(taken, build(taken))), abs=2e-4)
        assert (chance_of(further.model) or 0) > (chance_of(model) or 0)
    # No other reading taken again would have done more for the landings than the best that was named.
    best = max(chance_of(further.model) or 0 for further in told)
    for pair in ("AB", "CD", "AC"):
        more = {"id": "NEW", "points": list(pair), "value": math.dist(*(builds.POINTS[name] for name in pair))}
        survey = {**plain["survey"], "readings": [*plain["survey"]["readings"], {**more, "tool": "T"}]}
        taken = from_plain({**plain, "survey": survey})
        assert (chance_of(build_model(taken, build(taken))) or 0) <= best + 5e-4


def test_advice_names_the_hardware_whose_place_matters_most() -> None:
    plain = to_plain(builds.document(1.25))
    plain["spreads"] = {**plain["spreads"], "hardware_mm": 1.5}
    advice = assess(from_plain(plain)).advice
    assert any(one.do.startswith("Measure where PUMP stands to 0.1 mm") for one in advice)
