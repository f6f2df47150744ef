"""Air and draining: hand sums on bent tubes, and a second way to the bottleneck by taking levels one by one."""

import itertools
import json
import math
from pathlib import Path

import numpy as np
import pytest

from sketcher.checks import run as check
from sketcher.document import from_plain
from sketcher.flow.air import UPS, Heights, Line, filling, lines
from sketcher.flow.builder_questions import further
from sketcher.geometry import build
from tests.flow.loops import device, solved, usual
from tests.flow.point_by_point import Points, kept
from tests.tubes.places import corners, plain

EXAMPLES = Path(__file__).parents[2] / "examples"
AREA = math.pi / 4 * 10**2
SQUARE = {"shape": "rectangle", "x_mm": 0, "y_mm": 0, "width_mm": 40, "depth_mm": 40}


def looped(*inner, speed=100.0, top=50.0, told=None):
    """A reservoir and a pump joined by two tubes, one by a course; ``told``: what else is said of the reservoir."""
    reservoir = {
        "id": "RES", "kind": "reservoir", "x_mm": 100, "y_mm": 100, "z_mm": 200, "height_mm": top, "volume_ml": 150,
        "outline": SQUARE, "ports": [{"id": "out", "flow": "out"}, {"id": "in", "flow": "in", "u_mm": 15}],
        **(told or {}),
    }  # fmt: skip
    pump = {
        **device("PUMP", "pump"), "x_mm": 200, "y_mm": 100, "z_mm": 100, "speed_percent": speed,
        "ports": [{"id": "in", "flow": "in"}, {"id": "out", "flow": "out", "u_mm": 20}],
    }  # fmt: skip
    points = [{**corner, "bend_radius_mm": 0} for corner in corners(*inner)]
    content = plain(reservoir, pump)
    content["loop"] = {"tubes": [{"id": "T1", "start": "RES.out", "end": "PUMP.in", "points": points},
                                 {"id": "T2", "start": "PUMP.out", "end": "RES.in"}]}  # fmt: skip
    return solved(content)


def posture(answer, name="standing"):
    return next(row for row in answer["postures"] if row["posture"] == name)


def test_a_crest_above_the_reservoir_keeps_its_air():
    """By hand: from the port at 200 up to 300, 100 across, down: above that port are 100 + 100 + 100 mm."""
    result = looped((100, 100, 300), (200, 100, 300), speed=0)
    answer = filling(result.loop, result.now)
    (pocket,) = posture(answer)["pockets"]
    assert pocket["item"] == "T1"
    assert pocket["volume_ml"] == pytest.approx(300 * AREA / 1000, rel=1e-3)
    assert pocket["leaves"] == "only by turning the case"
    assert posture(answer)["reservoir_left_percent"] == pytest.approx(100 * (1 - 300 * AREA / 1000 / 150), rel=1e-3)
    running = looped((100, 100, 300), (200, 100, 300))
    (swept,) = posture(filling(running.loop, running.now))["pockets"]
    assert swept["leaves"] == "with the flow"
    assert (
        filling(running.loop, running.now)["filling"]["needs_pump"] == ["PUMP", "T1"]
        or "T1" in filling(running.loop, running.now)["filling"]["needs_pump"]
    )


def test_a_device_that_carries_a_reservoir_fills_the_loop_as_a_reservoir_does():
    """The same loop told another way: its first device is of another kind, and says that it carries a reservoir."""

    def air(**told):
        result = looped((100, 100, 300), (200, 100, 300), speed=0, told=told)
        return filling(result.loop, result.now)

    own, carried, none = air(), air(kind="other", has_reservoir=True), air(kind="other")
    assert carried["reservoir_ml"] == own["reservoir_ml"] == 150
    assert posture(carried)["reservoir_left_percent"] == posture(own)["reservoir_left_percent"]
    assert carried["filling"]["filled_from"] == ["RES"]
    assert posture(none)["reservoir_left_percent"] is None


def test_a_way_that_only_falls_keeps_none():
    result = looped((100, 100, 150), (200, 100, 150))
    answer = further(result)["air"]
    assert posture(answer)["pockets"] == []
    assert posture(answer)["reservoir_left_percent"] == 100
    assert answer["filling"]["filled_from"] == ["RES"]
    assert answer["filling"]["needs_pump"] == []


def test_the_drain_leaves_a_sag():
    """By hand: down to 20, 50 across, up to the drain at 100: the sag's 80 + 50 + 80 mm stay."""
    sag = Line("T", 0, "a", "b", np.array([(0, 0, 120), (0, 0, 20), (50, 0, 20), (50, 0, 100.0)]), AREA)
    net = Heights([sag], (0, 0, 1), -1.0)
    left = net.kept({"b": -math.inf})
    assert left[0] == pytest.approx((80 + 50 + 80) * AREA / 1000)
    assert net.kept({"a": -math.inf, "b": -math.inf})[0] == pytest.approx((80 + 50 + 80) * AREA / 1000)
    falling = Line("T", 0, "a", "b", np.array([(0, 0, 120), (0, 0, 20.0)]), AREA)
    assert Heights([falling], (0, 0, 1), -1.0).kept({"b": -math.inf}) == {}


@pytest.mark.parametrize("seed", range(8))
def test_the_bottleneck_by_taking_levels_one_by_one(seed):
    """At each level, which places are joined to an opening by places no lower: a flood, level by level."""
    random = np.random.default_rng(seed)
    names = [f"n{i}" for i in range(8)]
    every = [
        Line(f"L{i}", i, *random.choice(names, 2, replace=False), random.uniform(0, 100, (4, 3)), 1.0)
        for i in range(11)
    ]
    net = Points(every, (0, 0, 1))
    opening = {"n0": -math.inf}
    found = net.outlet(opening)
    brute = {}
    for level in sorted(set(net.height.values()), reverse=True):
        reached, queue = set(), ["n0"] if "n0" in net.height and net.height["n0"] >= level else []
        while queue:
            place = queue.pop()
            if place in reached:
                continue
            reached.add(place)
            queue += [other for other in net.near[place] if net.height[other] >= level]
        for place in reached:
            brute.setdefault(place, level)
    assert {place: pytest.approx(level) for place, level in brute.items()} == found


@pytest.mark.parametrize("seed", range(12))
def test_line_by_line_the_same_stays_as_point_by_point(seed):
    """The net of all points, one by one, is the second method; lines are of 2 to 7 points, some reach no opening."""
    random = np.random.default_rng(seed)
    names = [f"n{i}" for i in range(9)]
    every = [
        Line(f"L{i}", i, *random.choice(names, 2, replace=i % 5 == 0),
             random.uniform(0, 100, (random.integers(2, 8), 3)), float(random.choice([0.0, 40.0])),
             float(random.choice([0.0, 3.0])))
        for i in range(9)
    ]  # fmt: skip
    for up, sign in itertools.product(UPS.values(), (1.0, -1.0)):
        openings = dict.fromkeys(random.choice(names, 2, replace=False).tolist(), -math.inf)
        points, by_lines = Points(every, up, sign), Heights(every, up, sign)
        by_points = kept(points, openings)
        assert by_lines.kept(openings) == {link: pytest.approx(volume, rel=1e-9) for link, volume in by_points.items()}
        outlet, lowest = points.outlet(openings), {}
        for line, a, b, _ in points.steps:
            if a in outlet:
                lowest[line.item] = min(lowest.get(line.item, math.inf), outlet[a], outlet[b])
        assert {line.item: level for line, level in by_lines.lowest_outlets(openings)} == pytest.approx(lowest)


def test_every_posture_of_a_plate_answers():
    result = solved(usual())
    answer = further(result)["air"]
    assert len(answer["postures"]) == 5
    assert answer["drain"]["left_ml"] is None
    channels = {line.item for line in lines(result.loop)}
    assert {"C1", "P1", "ONE"} <= channels


def test_a_drain_empties_its_own_channels_and_not_what_lies_behind_a_rise():
    """By hand: what has to climb through a device to reach the drain stays; the rest is the loop's own volume."""
    content = usual()
    content["ports"].append({"id": "P99", "x_mm": 15, "y_mm": 50, "use": "drain", "face": "bottom"})
    content["channels"].append({"id": "C99", "start": "P99", "end": "P1", "width_mm": 8, "depth_mm": 8})
    result = solved(content)
    answer = further(result)["air"]["drain"]
    assert answer["ports"] == ["P99"]
    (joined,) = [c for c in content["channels"] if "P1" in (c["start"], c["end"]) and c["id"] != "C99"]
    emptied = {"C99", joined["id"], joined["start"], joined["end"]}
    volume = result.loop.links.ducts.volume * 1e6
    stays = sum(v for e, v in zip(result.loop.elements, volume, strict=False) if e.item not in emptied)
    assert not emptied & {row["item"] for row in answer["items"]}
    assert answer["left_ml"] == pytest.approx(stays, rel=0.02)


def test_air_that_stays_in_a_dead_leg_is_a_finding_until_it_has_a_bleed():
    """A dead leg, C4 of the wrong-on-purpose example: all of it stands above its way out, section times length (its
    course is taken in chords within 0.5 mm). With the port at its end as a bleed nothing stays."""
    document = json.loads((EXAMPLES / "wrong-on-purpose.json").read_text("utf-8"))
    document["limits"] = {**document.get("limits", {}), "air-trapped": 1.0}

    def asked():
        return [f for f in check(from_plain(document), fixes=False) if f.rule == "air-trapped"]

    (finding,) = asked()
    channel = build(from_plain(document)).channels["C4"]
    section = channel.item.width_mm * channel.item.depth_mm
    assert finding.items == ("C4",)
    assert finding.value == pytest.approx(section * channel.path.length / 1000, rel=5e-3)
    assert finding.level == "warning"
    assert "P8" in finding.remedy
    assert finding.at is not None
    next(port for port in document["ports"] if port["id"] == "P8")["use"] = "bleed"
    assert asked() == []
    document["limits"]["air-trapped"] = 2.0
    next(port for port in document["ports"] if port["id"] == "P8")["use"] = "sensor"
    assert asked() == []
