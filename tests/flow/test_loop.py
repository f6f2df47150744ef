"""Whole loops from documents: what flows, what is found, and what must never happen."""

import itertools
import json
import math

import numpy as np
import pytest

from sketcher.flow.builder_questions import channel_study, further
from sketcher.flow.rules import RULES
from sketcher.geometry import build
from tests.flow.loops import device, document, plate, ring, rules, solved, usual


def everything(result):
    """The whole answer, as text: raises where something is not a number."""
    answer = {**result.as_json(), **further(result)}
    assert json.loads(json.dumps(answer, allow_nan=False)) == answer
    assert {finding.rule for finding in result.findings} <= set(RULES)
    return answer


def row(answer, id_):
    return next(entry for entry in answer["elements"] if entry["id"] == id_)


def test_a_ring_flows_alike_everywhere_and_its_losses_add_up():
    answer = everything(solved(usual()))
    flows = [entry["flow_l_min"] for entry in answer["elements"]]
    assert min(flows) == pytest.approx(max(flows), rel=1e-6)
    assert sum(entry["pressure_drop_kpa"] for entry in answer["elements"]) == pytest.approx(0, abs=1e-6)
    assert sum(entry["share"] for entry in answer["elements"]) == pytest.approx(1, rel=1e-6)
    assert sum(entry["share"] for entry in answer["shares"]) == pytest.approx(1, rel=1e-6)


def test_the_operating_point_lies_on_both_curves():
    """The loop's curve as traced by other speeds passes through the point, and so does the pump's."""
    answer = everything(solved(usual()))
    flow, pressure = answer["curves"]["point"]
    for name, slack in (("pump", 0.01), ("loop", 0.02)):
        q, p = np.array(answer["curves"][name]).T
        assert np.interp(flow, q, p) == pytest.approx(pressure, rel=slack)
    assert answer["half_speed"]["flow_l_min"] == pytest.approx(flow / 2, rel=0.1)


def test_a_channels_parts_add_up_from_its_own_figures():
    """Friction and the rest from velocity, section and coefficients, by the textbook."""
    answer = everything(solved(usual()))
    density = answer["coolant"]["density_kg_m3"]
    for entry in (entry for entry in answer["elements"] if entry["kind"] == "channel"):
        area = entry["width_mm"] * entry["depth_mm"] * 1e-6
        velocity = entry["flow_l_min"] / 60_000 / area
        head = density * velocity**2 / 2 / 1000
        assert entry["velocity_m_s"] == pytest.approx(velocity, rel=1e-6)
        friction = entry["friction_factor"] * entry["length_mm"] / entry["hydraulic_diameter_mm"] * head
        assert entry["friction_kpa"] == pytest.approx(friction, rel=1e-6)
        assert entry["minor_kpa"] == pytest.approx(entry["minor_loss_coefficient"] * head, rel=1e-6)
        assert entry["pressure_drop_kpa"] == pytest.approx(entry["friction_kpa"] + entry["minor_kpa"], rel=1e-6)


def two_ways(first=8.0, second=8.0, **more):
    """One pump, one radiator, and two blocks side by side between two branches."""
    devices = [device("PUMP", "pump"), device("ONE", "block", heat_w=150), device("TWO", "block", heat_w=150),
               device("RAD", "radiator")]  # fmt: skip
    joints = [
        ("PUMP.out", "J1", 10, 8), ("J1", "ONE.in", first, 8), ("J1", "TWO.in", second, 8),
        ("ONE.out", "J2", first, 8), ("TWO.out", "J2", second, 8), ("J2", "RAD.in", 10, 8),
        ("RAD.out", "PUMP.in", 10, 8),
    ]  # fmt: skip
    return plate(devices, joints, ("J1", "J2"), **more)


def test_side_by_side_the_flow_divides_and_the_wider_way_takes_more():
    answer = everything(solved(two_ways(first=10, second=4)))
    one, two, pump = (row(answer, id_)["flow_l_min"] for id_ in ("ONE", "TWO", "PUMP"))
    assert one + two == pytest.approx(pump, rel=1e-6)
    assert one > two > 0


def test_directions_are_free():
    """Channels drawn against the flow carry it all the same, and say so."""
    plain = usual()
    forward = everything(solved(plain))
    plain["channels"][0]["start"], plain["channels"][0]["end"] = (
        plain["channels"][0]["end"],
        plain["channels"][0]["start"],
    )
    back = everything(solved(plain))
    assert row(forward, "C1")["direction"] == 1
    assert row(back, "C1")["direction"] == -1
    assert back["operating_point"]["flow_l_min"] == pytest.approx(forward["operating_point"]["flow_l_min"], rel=1e-6)


@pytest.mark.parametrize("seed", range(6))
def test_the_order_of_the_file_does_not_matter(seed):
    plain = two_ways(first=10, second=6)
    plain["loop"] = {"coolant": {"kind": "propylene-glycol", "strength_percent": 30}}
    first = everything(solved(plain))
    random = np.random.default_rng(seed)
    for key in ("devices", "ports", "channels", "branches"):
        plain[key] = [plain[key][i] for i in random.permutation(len(plain[key]))]
    again = everything(solved(plain))
    for entry in first["elements"]:
        other = row(again, entry["id"])
        assert other["flow_l_min"] == pytest.approx(entry["flow_l_min"], rel=1e-6)
        assert other["pressure_drop_kpa"] == pytest.approx(entry["pressure_drop_kpa"], rel=1e-6, abs=1e-9)
        assert other["inlet_c"] == pytest.approx(entry["inlet_c"], abs=1e-5)


def test_starting_from_an_earlier_result_changes_nothing():
    first = solved(usual())
    plain = usual(width=12.0)
    found = document(plain)
    from sketcher.flow import solve_loop

    cold, warm = solve_loop(found, build(found)), solve_loop(found, build(found), first)
    assert warm.pump_flow_l_min == pytest.approx(cold.pump_flow_l_min, rel=1e-6)
    assert warm.now.mean_c == pytest.approx(cold.now.mean_c, abs=1e-4)


# What cannot flow says why ------------------------------------------------------------------------------------------


def test_a_dry_plate():
    result = solved(plate([], []))
    assert everything(result)["operating_point"]["flow_l_min"] == 0
    assert not result.findings


def test_no_pump():
    result = solved(ring(device("ONE", "block", heat_w=100), device("RAD", "radiator")))
    assert everything(result)["operating_point"]["flow_l_min"] == 0
    assert rules(result, "error") >= {"no-pump", "block-without-flow"}


def test_a_pump_against_a_closed_loop():
    devices = [device("PUMP", "pump"), device("ONE", "block", heat_w=100)]
    result = solved(plate(devices, [("PUMP.out", "ONE.in", 8, 8), ("PUMP.in", "J1", 8, 8)], ("J1",)))
    answer = everything(result)
    assert "pump-dead-headed" in rules(result, "error")
    assert answer["operating_point"]["flow_l_min"] == 0
    assert answer["operating_point"]["pump_pressure_kpa"] == pytest.approx(42, rel=1e-6)
    dead = next(f for f in result.findings if f.rule == "pump-dead-headed")
    assert {"J1", "ONE"} <= set(dead.items), "it says where the water cannot go on"


def test_a_dead_end():
    plain = usual()
    plain["ports"].append({"id": "P99", "x_mm": 15, "y_mm": 50})
    plain["channels"].append({"id": "C99", "start": "P99", "end": "P1", "width_mm": 8, "depth_mm": 8})
    result = solved(plain)
    assert row(everything(result), "C99")["flow_l_min"] == pytest.approx(0, abs=1e-9)
    assert [f.items for f in result.findings if f.rule == "dead-end"] == [("C99",)]


def test_a_short_circuit_past_the_blocks():
    devices = [device("PUMP", "pump"), device("ONE", "block", heat_w=150), device("RAD", "radiator")]
    joints = [("PUMP.out", "J1", 10, 8), ("J1", "ONE.in", 10, 8), ("ONE.out", "J2", 10, 8), ("J1", "J2", 10, 8),
              ("J2", "RAD.in", 10, 8), ("RAD.out", "PUMP.in", 10, 8)]  # fmt: skip
    result = solved(plate(devices, joints, ("J1", "J2")))
    answer = everything(result)
    (finding,) = [f for f in result.findings if f.rule == "short-circuit"]
    past = 100 * row(answer, "C4")["flow_l_min"] / row(answer, "PUMP")["flow_l_min"]
    assert finding.level == "warning"
    assert finding.value == pytest.approx(past, abs=0.01)
    assert past > 50
    assert "short-circuit" not in rules(solved(usual()))


def beside(first, second, arrangement="as-connected"):
    """Two pumps side by side between two branches."""
    devices = [device("A", "pump", first), device("B", "pump", second), device("ONE", "block", heat_w=100),
               device("RAD", "radiator")]  # fmt: skip
    joints = [("A.out", "J1", 10, 8), ("B.out", "J1", 10, 8), ("J1", "ONE.in", 10, 8), ("ONE.out", "RAD.in", 10, 8),
              ("RAD.out", "J2", 10, 8), ("J2", "A.in", 10, 8), ("J2", "B.in", 10, 8)]  # fmt: skip
    return plate(devices, joints, ("J1", "J2"))


STRONG = [(0, 60), (5, 50), (10, 0)]
WEAK = [(0, 8), (5, 6), (10, 0)]


def test_two_pumps_fighting():
    result = solved(beside(STRONG, WEAK))
    everything(result)
    fighting = [f for f in result.findings if f.rule == "pumps-fight"]
    assert [f.items for f in fighting] == [("B",)]
    assert fighting[0].level == "error"
    assert "pumps-fight" not in rules(solved(beside(STRONG, STRONG)))


def test_pumps_in_one_housing():
    """A second pump without tubes of its own: in series its pressure comes on top, in parallel its flow."""
    alone = solved(usual())
    plain = usual()
    plain["devices"].append(device("SPARE", "pump"))
    for arrangement in ("series", "parallel"):
        plain["loop"] = {"pumps": arrangement}
        result = solved(plain)
        answer = everything(result)
        assert "device-unconnected" not in rules(result)
        flows = [pump["flow_l_min"] for pump in answer["pumps"]]
        assert flows[0] == pytest.approx(flows[1], rel=1e-6)
        total = answer["operating_point"]["flow_l_min"]
        assert total == pytest.approx(flows[0] if arrangement == "series" else 2 * flows[0], rel=1e-6)
        assert total > alone.pump_flow_l_min
        pressure = sum(p["pressure_kpa"] for p in answer["pumps"]) / (1 if arrangement == "series" else 2)
        assert answer["operating_point"]["pump_pressure_kpa"] == pytest.approx(pressure, rel=1e-6)
        q, p = np.array(answer["curves"]["pump"]).T
        order = np.argsort(q)
        assert np.interp(total, q[order], p[order]) == pytest.approx(pressure, rel=0.02)
    plain["loop"] = {"pumps": "as-connected"}
    assert "device-unconnected" in rules(solved(plain), "error")


@pytest.mark.parametrize(
    ("curve", "rule"),
    [([(0, 40)], "pump-curve-unknown"), ([(0, 0), (5, 0)], "pump-curve-unknown"), ([(5, 0)], "pump-curve-unknown"),
     ([], "device-without-curve"), ([(5, 30)], "assumed"), ([(4, 30), (8, 10)], None),
     ([(0, 20), (4, 35), (8, 0)], None)],
)  # fmt: skip
def test_pump_curves_of_all_sorts(curve, rule):
    result = solved(ring(device("PUMP", "pump", curve), device("ONE", "block", heat_w=100), device("RAD", "radiator")))
    answer = everything(result)
    if rule is not None:
        assert rule in rules(result)
    assert (answer["operating_point"]["flow_l_min"] > 0.5) == (rule != "pump-curve-unknown")


def test_curves_that_cross_twice():
    """A pump whose curve climbs before it falls meets a steep loop's curve where it falls, if anywhere there."""
    hump = [(0, 10), (2, 20), (4, 30), (6, 24), (8, 0)]
    gentle = solved(ring(device("PUMP", "pump", hump), device("ONE", "block", [(4, 2.0)])))
    assert gentle.pump_flow_l_min > 4
    assert "pump-curve-rises" not in rules(gentle)
    steep = solved(ring(device("PUMP", "pump", hump), device("ONE", "block", [(2, 28.0)])))
    everything(steep)
    assert "pump-curve-rises" in rules(steep, "warning")


def test_a_device_whose_points_fall():
    result = solved(ring(device("PUMP", "pump"), device("ONE", "block", [(1, 5), (2, 3), (3, 9), (4, 8)])))
    everything(result)
    assert result.pump_flow_l_min > 0
    assert any("fall" in f.message for f in result.findings)


@pytest.mark.parametrize("width", [1.0, 2.0, 40.0])
@pytest.mark.parametrize("depth", [1.0, 15.0])
@pytest.mark.parametrize(("kind", "strength", "room"), [("water", 0, 20), ("propylene-glycol", 60, 0)])
def test_channels_of_all_sizes_and_syrup(width, depth, kind, strength, room):
    """1 mm and 40 mm, water and syrup at 0 °C: settled, and within what the pump can."""
    loop = {"coolant": {"kind": kind, "strength_percent": strength}, "room_c": room}
    result = solved(usual(width=width, depth=depth, loop=loop))
    answer = everything(result)
    assert answer["operating_point"]["settled"]
    assert 0 < answer["operating_point"]["flow_l_min"] < 14


def test_a_hundred_branches():
    devices = [device("PUMP", "pump"), device("RAD", "radiator")]
    blocks = [device(f"B{i}", "block", heat_w=5) for i in range(100)]
    joints = [("PUMP.out", "J1", 20, 10), ("J2", "RAD.in", 20, 10), ("RAD.out", "PUMP.in", 20, 10)]
    for block in blocks:
        joints += [("J1", f"{block['id']}.in", 6, 6), (f"{block['id']}.out", "J2", 6, 6)]
    result = solved(plate([*devices, *blocks], joints, ("J1", "J2")))
    answer = result.as_json()
    assert answer["operating_point"]["settled"]
    total = sum(row(answer, block["id"])["flow_l_min"] for block in blocks)
    assert total == pytest.approx(answer["operating_point"]["flow_l_min"], rel=1e-6)


def test_heat_without_a_radiator():
    result = solved(ring(device("PUMP", "pump"), device("ONE", "block", heat_w=200)))
    everything(result)
    assert "no-radiator" in rules(result, "error")


def test_warm_water_is_a_finding_of_the_loop_and_of_the_plate():
    result = solved(usual(loop={"room_c": 80, "water_limit_c": 60}))
    everything(result)
    assert {"water-too-warm", "plate-too-warm"} <= rules(result)
    result = solved(usual(loop={"room_c": 45, "water_limit_c": 40}))
    assert "water-too-warm" in rules(result)
    assert "plate-too-warm" not in rules(result)


def test_ice_steam_and_strong_mixtures():
    frozen = solved(usual(loop={"room_c": -20}))
    everything(frozen)
    assert "coolant-range" in rules(frozen, "error")
    strong = solved(usual(loop={"coolant": {"kind": "ethylene-glycol", "strength_percent": 95}}))
    everything(strong)
    assert "coolant-range" in rules(strong, "warning")
    boiling = solved(ring(device("PUMP", "pump"), device("ONE", "block", heat_w=90_000), device("RAD", "radiator")))
    everything(boiling)
    assert "coolant-range" in rules(boiling, "error")


def test_backwards_devices_and_unjoined_ones():
    plain = usual()
    ports = {port["serves"]: port for port in plain["ports"]}
    ports["ONE.in"]["serves"], ports["ONE.out"]["serves"] = "ONE.out", "ONE.in"
    result = solved(plain)
    everything(result)
    assert "device-backwards" in rules(result, "warning")
    plain = usual()
    plain["devices"].append(device("LONE", "block", heat_w=50))
    assert "device-unconnected" in rules(solved(plain), "error")


def test_speeds_are_held_to_the_documents_own_limits():
    assert "velocity-high" not in rules(solved(usual()))
    assert "velocity-high" in rules(solved(usual(limits={"velocity-high": 0.2})))


def test_tubes_join_devices_without_the_plate():
    plain = usual()
    plain["ports"] = [port for port in plain["ports"] if port["serves"] not in ("RAD.out", "PUMP.in")]
    kept = {port["id"] for port in plain["ports"]}
    plain["channels"] = [c for c in plain["channels"] if c["start"] in kept and c["end"] in kept]
    plain["loop"] = {"tubes": [{"id": "T1", "start": "RAD.out", "end": "PUMP.in", "length_mm": 150}]}
    answer = everything(solved(plain))
    assert row(answer, "T1")["flow_l_min"] == pytest.approx(answer["operating_point"]["flow_l_min"], rel=1e-6)
    assert row(answer, "T1")["pressure_drop_kpa"] > 0


@pytest.mark.parametrize("which", ["width", "depth"])
def test_a_channels_study_falls_and_passes_through_now(which):
    result = solved(usual())
    study = channel_study(result, "C2")[which]
    sizes, losses = np.array(study["points"]).T
    assert (np.diff(losses) < 1e-9).all()
    assert np.interp(study["now"][0], sizes, losses) == pytest.approx(study["now"][1], rel=0.05)
    assert study["kpa_per_mm"] < 0 < study["flow_gain_l_min"]


def test_what_widening_buys_is_what_a_wider_channel_gives():
    """Against a document in which the channel is drawn 2 mm wider."""
    plain = usual()
    result = solved(plain)
    (gain,) = [r["wider_2mm_gains_l_min"] for r in further(result)["widening"] if r["id"] == "C2"]
    plain["channels"][1]["width_mm"] += 2
    assert gain == pytest.approx(solved(plain).pump_flow_l_min - result.pump_flow_l_min, rel=1e-5)


def test_orders_are_those_of_documents_drawn_in_that_order():
    """Every order against a document whose devices are strung up so."""
    result = solved(usual())
    orders = further(result)["orders"]
    assert len(orders) == math.factorial(2)
    assert sum(order["present"] for order in orders) == 1
    parts = {"ONE": device("ONE", "block", heat_w=150), "TWO": device("TWO", "block", heat_w=250),
             "RAD": device("RAD", "radiator")}  # fmt: skip
    for order in orders:
        drawn = solved(ring(device("PUMP", "pump"), *(parts[id_] for id_ in order["order"]))).as_json()
        for id_, celsius in order["inlet_c"].items():
            (entry,) = [t for t in drawn["temperatures"] if t["id"] == id_]
            assert entry["inlet_c"] == pytest.approx(celsius, abs=0.02)


def test_orders_in_a_network_are_solved_anew():
    plain = two_ways(first=10, second=4)
    plain["devices"][1]["heat_w"] = 50
    orders = further(solved(plain))["orders"]
    plain["devices"][1]["heat_w"], plain["devices"][2]["heat_w"] = 150, 50
    swapped = solved(plain).as_json()
    assert sum(order["present"] for order in orders) == 1
    assert any(set(order["order"][:2]) == {"ONE", "TWO"} and not order["present"] for order in orders)
    assert swapped["operating_point"]["settled"]


def test_every_pair_of_sizes_is_settled():
    """A grid of unlike sections at a tee, where dividing, joining and turning all occur."""
    for first, second in itertools.product((2.0, 6.0, 20.0), repeat=2):
        result = solved(two_ways(first=first, second=second))
        assert result.now.settled, (first, second)
