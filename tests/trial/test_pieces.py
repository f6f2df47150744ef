"""Ports that belong together: judged and moved as one, with what they serve, and said why."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from sketcher.checks import run
from sketcher.document import read, with_changes
from sketcher.document.plate import FitReading
from sketcher.geometry import build
from sketcher.trial.analysis import apply, judge
from sketcher.trial.port_moves import move_ports
from sketcher.trial.rigid_motion import RigidMotion, common_motion

BENCH = read(Path(__file__).parents[2] / "examples" / "riser-bench.json")
PLACES = {port.id: (port.x_mm, port.y_mm) for port in BENCH.ports}


def seen(wish, spread=0.3, seed=11, only=None):
    """Readings with a known truth and normal scatter of this spread, to hundredths as a person writes them."""
    rng = np.random.default_rng(seed)
    noise = {port: rng.normal(0.0, spread, 2) for port in PLACES}
    return [
        FitReading(
            port=port,
            dx_mm=round(wish.get(port, (0, 0))[0] + noise[port][0], 2),
            dy_mm=round(wish.get(port, (0, 0))[1] + noise[port][1], 2),
            spread_mm=spread,
        )
        for port in PLACES
        if only is None or port in only
    ]


def at(document):
    return {port.id: (port.x_mm, port.y_mm) for port in document.ports}


def misses(document):
    """How far each port lies from the device port that it serves, mm."""
    targets = build(document).device_ports
    return {p.id: math.dist((p.x_mm, p.y_mm), (targets[p.serves].x, targets[p.serves].y))
            for p in document.ports if p.serves}  # fmt: skip


@pytest.mark.parametrize("seed", range(8))
def test_a_group_moves_as_one_and_keeps_its_pitch(seed):
    found = judge(BENCH, seen({"P6": (8, -3), "P7": (8, -3)}, seed=seed))
    assert {move.port for move in found.moves} == {"P6", "P7"}
    moved = at(apply(BENCH, found))
    assert math.dist(moved["P6"], moved["P7"]) == pytest.approx(math.dist(PLACES["P6"], PLACES["P7"]), abs=2e-4)
    # the mean of two readings of spread 0.3 in each direction: within four of its spreads
    assert moved["P6"] == pytest.approx((PLACES["P6"][0] + 8, PLACES["P6"][1] - 3), abs=4 * 0.3 / math.sqrt(2))
    assert found.groups == {"G1": ["RISER", "R1"]}
    assert any(words.startswith("P6, P7 move as one with G1") for words in found.messages)


def test_half_of_a_group_moves_alone_and_it_is_said_why():
    found = judge(BENCH, seen({"P6": (3, 0)}))
    assert [move.port for move in found.moves] == ["P6"]
    assert found.groups == {}
    assert any(words.startswith("G1 stays: P6 is off but P7 reads right") for words in found.messages)


def test_a_port_that_was_not_read_goes_with_its_piece():
    found = judge(BENCH, seen({"P6": (8, 0)}, only=[port for port in PLACES if port != "P7"]))
    assert {move.port: move.read for move in found.moves} == {"P6": True, "P7": False}
    assert len({(move.dx_mm, move.dy_mm) for move in found.moves}) == 1
    assert any("P7 was not read; read P7 to be sure" in words for words in found.messages)


def test_a_device_that_stands_turned_keeps_its_pitch():
    found = judge(BENCH, seen({"P2": (0, 2.5), "P3": (0, -2.5)}))
    moved = at(apply(BENCH, found))
    assert {move.piece for move in found.moves} == {"CPU"}
    assert math.dist(moved["P2"], moved["P3"]) == pytest.approx(math.dist(PLACES["P2"], PLACES["P3"]), abs=2e-4)


@pytest.mark.parametrize(
    "wish",
    [
        {"P6": (30, 0), "P7": (30, 0)},
        {"P2": (7, 2), "P3": (7, 2)},
        {"P2": (0, 6.5), "P3": (0, -6.5)},
        {"P4": (8, 0)},
        {"P8": (9, -1), "P9": (9, -1), "P1": (0, 7)},
        {"P1": (9, 9), "P6": (9, 0)},
    ],
    ids=str,
)
@pytest.mark.parametrize("grouped", [True, False])
def test_no_button_undoes_the_correction(wish, grouped):
    """After the accepted moves no finding offers to move a port back below where its device was drawn."""
    document = BENCH if grouped else with_changes(BENCH, groups=[])
    found = judge(document, seen(wish))
    assert {move.port for move in found.moves} == set(wish)
    moved = apply(document, found)
    before = misses(document)
    assert misses(moved) == pytest.approx(before, abs=0.01)
    if not grouped:  # the distances above say the same; the rule itself is asked where the device goes alone
        assert not [f for f in run(moved, quick=True) if f.rule == "drop-out-of-line"]


@pytest.mark.parametrize("turn", [0.0, 0.7])
def test_no_button_undoes_a_move_of_the_whole(turn):
    c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    wish = {port: (6 + (c - 1) * x - s * y, -4 + s * x + (c - 1) * y) for port, (x, y) in PLACES.items()}
    found = judge(BENCH, seen(wish))
    assert found.whole_stands_out
    assert found.moves == ()
    moved = apply(BENCH, found, whole=True)
    assert misses(moved) == pytest.approx(misses(BENCH), abs=0.01)
    assert moved.floor == BENCH.floor


def test_after_the_correction_the_next_trial_finds_nothing():
    wish = {"P6": (8, -3), "P7": (8, -3), "P4": (0, 4)}
    moved = apply(BENCH, judge(BENCH, seen(wish)))
    left = {port: (PLACES[port][0] + wish.get(port, (0, 0))[0] - x, PLACES[port][1] + wish.get(port, (0, 0))[1] - y)
            for port, (x, y) in at(moved).items()}  # fmt: skip
    again = judge(moved, seen(left, seed=99))
    assert again.moves == ()
    assert not again.whole_stands_out


def test_a_locked_device_stays():
    devices = [d.model_copy(update={"locked": True}) if d.id == "CPU" else d for d in BENCH.devices]
    document = with_changes(BENCH, devices=devices)
    moved = move_ports(document, {"P2": (7.0, 2.0), "P3": (7.0, 2.0)})
    assert next(d for d in moved.devices if d.id == "CPU") == next(d for d in document.devices if d.id == "CPU")


def test_a_rigid_motion_is_found_or_refused():
    places = [(0.0, 0.0), (100.0, 0.0), (40.0, 80.0)]
    true = RigidMotion(3.0, -2.0, 5.0)
    found = common_motion(places, [true.step(*place) for place in places])
    assert (found.x, found.y, found.turn_deg) == pytest.approx((3.0, -2.0, 5.0))
    assert common_motion(places, [(1, 0), (1, 0), (1, 0.1)]) is None
    assert common_motion([], []) is None


def test_only_a_piece_was_read():
    found = judge(BENCH, seen({"P6": (5, 1), "P7": (5, 1)}, only=["P6", "P7"]))
    assert {move.port for move in found.moves} == {"P6", "P7"}
    assert found.reading is not None
    assert found.reading.port not in ("P6", "P7")
    assert "cannot be told" in found.messages[0]
