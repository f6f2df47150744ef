"""Every formula used beyond its range has a note, on the element that is: one by one, as docs/flow.md lists them."""

import re
from pathlib import Path

import pytest

from sketcher.flow.ranges import RANGES, outside
from tests.flow.loops import device, plate, ring, solved, usual

DOCS = Path(__file__).parents[2] / "docs" / "flow.md"


def outside_of(plain):
    result = solved(plain)
    return outside(result.loop, result.now, result.state), result


def channel(plain, **more):
    """The plain document with more said of its channel C2."""
    plain["channels"][1].update(more)
    return plain


def cornered(angle_deg, radius, width=8.0):
    """A channel C2 that turns once by an angle, with a bend radius."""
    import math

    plain = usual(width=width)
    ports = {port["id"]: port for port in plain["ports"]}
    start, end = (ports[plain["channels"][1][key]] for key in ("start", "end"))
    turn = math.radians(angle_deg)
    start.update(x_mm=40.0, y_mm=40.0)
    corner = (40.0 + 120.0, 40.0)
    end.update(x_mm=corner[0] + 120 * math.cos(turn), y_mm=corner[1] + 120 * math.sin(turn))
    plain["channels"][1].update(points=[{"x_mm": corner[0], "y_mm": corner[1]}], bend_radius_mm=radius)
    return plain


def with_tee(**loop):
    devices = [device("PUMP", "pump"), device("ONE", "block", heat_w=100), device("TWO", "block", heat_w=100),
               device("RAD", "radiator")]  # fmt: skip
    joints = [("PUMP.out", "J1", 10, 8), ("J1", "ONE.in", 8, 8), ("J1", "TWO.in", 8, 8), ("ONE.out", "J2", 8, 8),
              ("TWO.out", "J2", 8, 8), ("J2", "RAD.in", 10, 8), ("RAD.out", "PUMP.in", 10, 8)]  # fmt: skip
    return plate(devices, joints, ("J1", "J2"), **loop)


STRONG = [(0, 400), (20, 300), (40, 0)]
EASY = [(10, 1.0)]


def strong(**more):
    """A pump for a pond: Reynolds numbers above 10,000 everywhere."""
    return ring(device("PUMP", "pump", STRONG), device("ONE", "block", EASY), device("RAD", "radiator", EASY), **more)


SYRUP = {"coolant": {"kind": "propylene-glycol", "strength_percent": 60}, "room_c": 0}

MIXED = {"coolant": {"kind": "propylene-glycol", "strength_percent": 40}}

#: key: (a loop outside, items that are, a loop inside)
CASES = {
    "rough-walls": (
        channel(usual(width=2.0, depth=6.0), roughness_um=400),
        {"C2"},
        channel(usual(), roughness_um=300),
    ),
    "flat-section": (
        channel(strong(), width_mm=60.0, depth_mm=1.5),
        {"C2"},
        channel(strong(), width_mm=40.0, depth_mm=1.5),
    ),
    "developing": (usual(), None, usual(loop=SYRUP)),
    "bend-tight": (cornered(60, 6.0), {"C2"}, cornered(60, 12.0)),
    "bend-wide": (cornered(60, 50.0), {"C2"}, cornered(60, 40.0)),
    "bend-angle": (cornered(20, 20.0), {"C2"}, cornered(40, 20.0)),
    "turn-angle": (cornered(160, 0.0), {"C2"}, cornered(140, 0.0)),
    "turn-slow": (usual(loop=MIXED), None, strong()),
    "narrowing-slow": (usual(loop=MIXED), None, strong()),
    "widening-laminar": (usual(loop=SYRUP), None, usual()),
    "tee-laminar": (with_tee(loop=SYRUP), {"J1", "J2"}, with_tee()),
    "pump-speed": (
        ring(device("PUMP", "pump", speed_percent=40), device("ONE", "block")),
        {"PUMP"},
        ring(device("PUMP", "pump", speed_percent=60), device("ONE", "block")),
    ),
}  # fmt: skip


@pytest.mark.parametrize("key", sorted(CASES))
def test_a_formula_beyond_its_range_is_noted_on_the_element_that_is(key):
    beyond, items, within = CASES[key]
    found, result = outside_of(beyond)
    assert key in found
    if items is not None:
        assert items <= set(found[key])
        assert not {"C1", "C3", "C4"} & set(found[key])
    notes = [f for f in result.findings if f.rule == "outside-range" and RANGES[key] in f.message]
    assert [set(f.items) for f in notes] == [set(found[key])]
    there = set(outside_of(within)[0].get(key, ()))
    assert not (there if items is None else there & items)


def test_a_drills_point_in_laminar_flow():
    def plain(**loop):
        made = usual(**loop)
        for port in made["ports"]:
            if port["serves"] == "ONE.in":
                port.update(face="edge", heading_deg=90.0, y_mm=0.0, bore_diameter_mm=6.0)
        made["channels"] = [
            {**c, "width_mm": 14.0, "depth_mm": 14.0} if c["id"] == "C1" else c for c in made["channels"]
        ]
        return made

    found, result = outside_of(plain(loop=SYRUP))
    drilled = [leg for legs in result.loop.changes.values() for leg in legs if leg.drilled]
    if drilled:  # only where the change costs more than the turn does it count at all
        assert "cone-laminar" in found
    assert "cone-laminar" not in outside_of(plain())[0]


def test_four_ways_at_a_place_are_a_chamber():
    devices = [device("PUMP", "pump"), device("RAD", "radiator")]
    blocks = [device(f"B{i}", "block", heat_w=5) for i in range(3)]
    joints = [("PUMP.out", "J1", 20, 10), ("J2", "RAD.in", 20, 10), ("RAD.out", "PUMP.in", 20, 10)]
    for block in blocks:
        joints += [("J1", f"{block['id']}.in", 6, 6), (f"{block['id']}.out", "J2", 6, 6)]
    found, _ = outside_of(plate([*devices, *blocks], joints, ("J1", "J2")))
    assert found["chamber"] == ["J1", "J2"]
    assert "chamber" not in outside_of(with_tee())[0]


def test_the_docs_name_every_note_and_no_other():
    named = set(re.findall(r"note `([a-z-]+)`", DOCS.read_text(encoding="utf-8")))
    assert named == set(RANGES)
    assert set(CASES) | {"cone-laminar", "chamber"} == set(RANGES)


def test_the_curves_beyond_their_points_are_noted_one_by_one():
    poor = [{"flow_l_min": 0.5, "conductance_w_k": 9}, {"flow_l_min": 1, "conductance_w_k": 10}]
    devices = [device("PUMP", "pump", [(0, 42), (1, 41)]), device("ONE", "block", [(0.5, 1), (1, 3)])]
    result = solved(ring(*devices, device("RAD", "radiator", conductance=poor)))
    noted = {f.items[0] for f in result.findings if f.rule == "outside-range" and "measured points" in f.message}
    assert noted == {"PUMP", "ONE", "RAD"}
