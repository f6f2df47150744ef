"""Orders of the loop: the best is the best, the present one is the one stated, parallel is never taken for a ring."""

import itertools

import numpy as np
import pytest

from sketcher.flow import orders as module
from sketcher.flow.builder_questions import further
from sketcher.flow.described import in_one_ring, term_of, words
from sketcher.flow.orders import MOST_SOLVED, compared
from tests.flow.loops import device, plate, ring, solved, usual

RADIATORS = [[(1, 12), (4, 18)], [(1, 23), (4, 32)]]


def long_ring(blocks, radiators, pump_w=0.0, seed=0):
    random = np.random.default_rng(seed)
    devices = [device("PUMP", "pump", heat_w=pump_w)]
    devices += [device(f"B{i}", "block", heat_w=float(random.integers(40, 400))) for i in range(blocks)]
    for i in range(radiators):
        points = [{"flow_l_min": q, "conductance_w_k": g} for q, g in RADIATORS[i % 2]]
        devices.append(device(f"R{i}", "radiator", conductance=points))
    return ring(devices[0], *[devices[1 + i] for i in random.permutation(len(devices) - 1)])


def side_by_side(*blocks, **more):
    devices = [device("PUMP", "pump"), *blocks, device("RAD", "radiator")]
    joints = [("PUMP.out", "J1", 10, 8), ("J2", "RAD.in", 10, 8), ("RAD.out", "PUMP.in", 10, 8)]
    for block in blocks:
        joints += [("J1", f"{block['id']}.in", 8, 8), (f"{block['id']}.out", "J2", 8, 8)]
    return plate(devices, joints, ("J1", "J2"), **more)


def going_round(keep, lift, gap):
    """A second way to the temperatures: follow the coolant round until nothing changes (Gauss-Seidel)."""
    x = 0.0
    for _ in range(20_000):
        before, inlets = x, []
        for k, up, more in zip(keep, lift, gap, strict=True):
            inlets.append(x)
            x = k * x + up + more
        if abs(x - before) < 1e-13:
            break
    return inlets


@pytest.mark.parametrize(("blocks", "radiators", "pump_w"), [(2, 1, 0.0), (2, 2, 15.0), (4, 1, 30.0), (4, 2, 8.0)])
def test_the_coolest_order_is_the_best_by_brute_force(blocks, radiators, pump_w):
    """Every order followed round one by one, against the answer's first row."""
    result = solved(long_ring(blocks, radiators, pump_w, seed=blocks))
    answer = compared(result)
    places = module._places(result)
    stations = module.stations(result, places)
    best = np.inf
    for row in itertools.permutations(range(len(places))):
        inlets = going_round(stations.keep[list(row)], stations.lift[list(row)], stations.gap)
        best = min(best, max(x for i, x in zip(row, inlets, strict=True) if stations.blocks[i]))
    assert answer.exact
    assert answer.rows[0]["warmest_block_c"] == pytest.approx(best + result.loop.document.loop.room_c, abs=2e-6)


@pytest.mark.parametrize("plain", [usual(), long_ring(4, 2, 25.0, 3), long_ring(7, 4, 10.0, 4)])
def test_the_present_row_has_the_temperatures_stated(plain):
    result = solved(plain)
    stated = {row["id"]: row for row in result.as_json()["temperatures"]}
    (present,) = [row for row in compared(result).rows if row["present"]]
    assert present["inlet_c"]
    for id_, celsius in present["inlet_c"].items():
        assert celsius == pytest.approx(stated[id_]["inlet_c"], abs=1e-6)
        assert present["outlet_c"][id_] == pytest.approx(stated[id_]["outlet_c"], abs=1e-6)


def test_the_air_at_each_radiator_counts():
    plain = long_ring(2, 2, 10.0)
    for entry in plain["devices"]:
        if entry["id"] == "R1":
            entry["air_c"] = 38.0
    result = solved(plain)
    stated = {row["id"]: row["inlet_c"] for row in result.as_json()["temperatures"]}
    (present,) = [row for row in compared(result).rows if row["present"]]
    assert all(celsius == pytest.approx(stated[id_], abs=1e-6) for id_, celsius in present["inlet_c"].items())


def test_eight_are_exact_and_more_say_that_they_were_searched():
    eight, nine = compared(solved(long_ring(5, 3))), compared(solved(long_ring(6, 3)))
    assert eight.exact
    assert eight.compared == 40320
    assert not nine.exact
    assert "may exist" in nine.words
    present = next(row["warmest_block_c"] for row in nine.rows if row["present"])
    assert nine.rows[0]["warmest_block_c"] <= present + 1e-9


@pytest.mark.parametrize("seed", range(4))
def test_the_search_finds_what_all_orders_do_where_both_can_be_tried(seed):
    result = solved(long_ring(4, 3, 10.0, seed))
    stations = module.stations(result, module._places(result))
    best = stations.costs(module._permutations(7)).min()
    found, _ = module.searched(stations)
    assert stations.costs(found).min() == pytest.approx(best, abs=0.05)


def test_alike_branches_are_no_ring():
    """Three alike blocks side by side have nearly equal flows, and are no series all the same."""
    blocks = [device(f"B{i}", "block", heat_w=100) for i in (1, 2, 3)]
    result = solved(side_by_side(*blocks))
    flows = [abs(result.now.flow[result.link(b["id"])]) for b in blocks]
    assert max(flows) == pytest.approx(min(flows), rel=0.01)
    assert not in_one_ring(result.loop, result.now, [result.link("B1"), result.link("B2"), result.link("RAD")])
    assert in_one_ring(result.loop, result.now, [result.link("RAD")])
    rows = compared(result).rows
    assert [row["words"] for row in rows if row["present"]] == ["B1 | B2 | B3 → RAD"]
    assert len([row for row in rows if set(row["order"][:3]) == {"B1", "B2", "B3"}]) == 1, "only orders that differ"


def test_words_for_branches_in_branches():
    blocks = [device(id_, "block", heat_w=100) for id_ in ("A", "B", "C", "D")]
    devices = [device("PUMP", "pump"), *blocks, device("RAD", "radiator")]
    joints = [("PUMP.out", "A.in", 10, 8), ("A.out", "J1", 10, 8), ("J1", "B.in", 8, 8), ("B.out", "C.in", 8, 8),
              ("C.out", "J2", 8, 8), ("J1", "D.in", 8, 8), ("D.out", "J2", 8, 8), ("J1", "J2", 3, 3),
              ("J2", "RAD.in", 10, 8), ("RAD.out", "PUMP.in", 10, 8)]  # fmt: skip
    result = solved(plate(devices, joints, ("J1", "J2")))
    links = {result.link(id_): id_ for id_ in ("A", "B", "C", "D", "RAD")}
    said = words(term_of(result.loop, result.now, list(links)), links)
    assert said.startswith("A → ")
    assert said.endswith(" → RAD")
    assert set(said.removeprefix("A → ").removesuffix(" → RAD").split(" | ")) == {"(B → C)", "D", "–"}


def test_a_network_is_never_solved_more_than_ten_times(monkeypatch):
    random = np.random.default_rng(1)
    blocks = [device(f"B{i}", "block", heat_w=float(random.integers(20, 200))) for i in range(12)]
    result = solved(side_by_side(*blocks))
    solves = []
    whole = module.operate
    monkeypatch.setattr(module, "operate", lambda *a, **k: solves.append(1) or whole(*a, **k))
    answer = compared(result)
    assert 0 < len(solves) <= MOST_SOLVED < 10
    assert not answer.exact
    assert "exchanges" in answer.words


def test_an_exchange_in_a_network_is_what_a_document_drawn_so_gives():
    plain = side_by_side(device("ONE", "block", heat_w=50), device("TWO", "block", heat_w=250))
    plain["channels"][3]["width_mm"] = 3.0  # one branch is narrow
    result = solved(plain)
    rows = [row for row in further(result)["orders"] if set(row["order"][:2]) == {"ONE", "TWO"} and not row["present"]]
    plain["devices"][1]["heat_w"], plain["devices"][2]["heat_w"] = 250, 50
    drawn = {row["id"]: row for row in solved(plain).as_json()["temperatures"]}
    (row,) = rows
    assert row["outlet_c"]["TWO"] == pytest.approx(drawn["ONE"]["outlet_c"], abs=1e-3)
    assert row["outlet_c"]["ONE"] == pytest.approx(drawn["TWO"]["outlet_c"], abs=1e-3)


def test_two_pumps_side_by_side_in_front_of_a_row():
    devices = [device("A", "pump"), device("B", "pump"), device("ONE", "block", heat_w=100), device("RAD", "radiator")]
    joints = [("A.out", "J1", 10, 8), ("B.out", "J1", 10, 8), ("J1", "ONE.in", 10, 8), ("ONE.out", "RAD.in", 10, 8),
              ("RAD.out", "J2", 10, 8), ("J2", "A.in", 10, 8), ("J2", "B.in", 10, 8)]  # fmt: skip
    result = solved(plate(devices, joints, ("J1", "J2")))
    assert compared(result).exact, "one block and one radiator in a row, whatever the pumps"
    links = {result.link("ONE"): "ONE", result.link("RAD"): "RAD"}
    assert words(term_of(result.loop, result.now, list(links)), links) == "ONE → RAD"
