"""From fit readings to moves, and what follows a moved port."""

import json
import math
from pathlib import Path

import pytest

from sketcher.document import from_plain, read, to_plain
from sketcher.document.plate import FitReading
from sketcher.trial import analysis as trial
from sketcher.trial import port_moves as moving

PORTS = {"P1": (80, 50), "P2": (118, 100), "P3": (118, 150), "P4": (40, 190), "P5": (40, 110), "P6": (40, 50)}


def plate(**more):
    rectangle = {"shape": "rectangle", "x_mm": 80, "y_mm": 120, "width_mm": 140, "depth_mm": 200}
    return from_plain(
        {
            "version": 1,
            "floor": {"outline": {**rectangle, "width_mm": 300, "depth_mm": 300}},
            "plate": {"outline": rectangle, "body_thickness_mm": 15, "lid_thickness_mm": 5},
            "ports": [{"id": name, "x_mm": x, "y_mm": y} for name, (x, y) in PORTS.items()],
            "channels": [
                {"id": "C1", "start": "P1", "end": "P2", "points": [{"x_mm": 80, "y_mm": 100}], "width_mm": 8,
                 "depth_mm": 8},
                {"id": "C2", "start": "P3", "end": "P4", "width_mm": 8, "depth_mm": 8,
                 "points": [{"x_mm": 90, "y_mm": 150}, {"x_mm": 90, "y_mm": 190}]},
                {"id": "C3", "start": "P5", "end": "P6", "width_mm": 8, "depth_mm": 8},
            ],
            "cutouts": [{"id": "K1", "outline": {"shape": "slot", "x_mm": 60, "y_mm": 120, "length_mm": 20,
                                                 "width_mm": 6}}],
            "pockets": [{"id": "S1", "outline": {"shape": "circle", "x_mm": 100, "y_mm": 30, "diameter_mm": 9},
                         "depth_mm": 3}],
            "holes": [{"id": "H1", "x_mm": 20, "y_mm": 30}],
            **more,
        }
    )  # fmt: skip


def seen(**moves):
    """Readings at every port; those not named are right."""
    everything = dict.fromkeys(PORTS, (0, 0)) | moves
    return [FitReading(port=port, dx_mm=dx, dy_mm=dy) for port, (dx, dy) in everything.items()]


def port_at(document, name):
    return next((port.x_mm, port.y_mm) for port in document.ports if port.id == name)


def corners(document, name):
    return next([(p.x_mm, p.y_mm) for p in channel.points] for channel in document.channels if channel.id == name)


def test_one_wrong_port_is_proposed_as_it_was_read():
    found = trial.judge(plate(), seen(P2=(-1.5, 0.0)))
    answer = found.as_json()
    assert answer["moves"] == [{"port": "P2", "dx_mm": -1.5, "dy_mm": 0.0}]
    assert [row["port"] for row in answer["residuals"] if row["suspect"]] == ["P2"]
    assert answer["shift_mm"] == pytest.approx([0, 0], abs=0.01)
    assert answer["whole"]["stands_out"] is False
    assert "P2 is off on its own: it should go 1.5 mm to the left." in answer["messages"]
    assert json.dumps(answer, allow_nan=False)


def test_a_whole_that_sits_shifted_moves_no_port():
    answer = trial.judge(plate(), seen(**dict.fromkeys(PORTS, (2.0, -1.0)))).as_json()
    assert answer["moves"] == []
    assert answer["shift_mm"] == pytest.approx([2.0, -1.0])
    assert answer["whole"]["stands_out"] is True
    assert "2.0 mm to the right and 1.0 mm to the front" in answer["messages"][0]
    assert "No port is off on its own." in answer["messages"]


def test_a_turned_whole_and_a_wrong_port_are_kept_apart():
    turn = math.radians(0.8)
    moves = {
        p: (-math.sin(turn) * y + (math.cos(turn) - 1) * x + 1, math.sin(turn) * x + (math.cos(turn) - 1) * y)
        for p, (x, y) in PORTS.items()
    }
    moves["P5"] = (moves["P5"][0] + 3.0, moves["P5"][1])
    answer = trial.judge(plate(), seen(**moves)).as_json()
    assert answer["turn_deg"] == pytest.approx(0.8, abs=1e-6)
    assert answer["shift_mm"] == pytest.approx([1.0, 0.0], abs=1e-6)
    assert answer["moves"] == [{"port": "P5", "dx_mm": 3.0, "dy_mm": 0.0}]
    assert "counter-clockwise" in answer["messages"][0]


def test_few_readings_are_taken_as_the_ports_own():
    answer = trial.judge(
        plate(), [FitReading(port="P1", dx_mm=1.0), FitReading(port="P4", note="tube too short")]
    ).as_json()
    assert answer["moves"] == [{"port": "P1", "dx_mm": 1.0, "dy_mm": 0.0}]
    assert answer["shift_mm"] == [0.0, 0.0]
    assert answer["remarks"] == [{"port": "P4", "note": "tube too short"}]
    assert "fewer than three ports" in answer["messages"][0]


def test_no_reading_is_an_error():
    with pytest.raises(ValueError, match="no fit reading"):
        trial.judge(plate(), [])


def test_accepted_moves_are_applied_and_refused_ones_are_not():
    document = plate()
    found = trial.judge(document, seen(P2=(-1.5, 0.0), P5=(0.0, 4.0)))
    assert {move.port for move in found.moves} == {"P2", "P5"}
    moved = trial.apply(document, found, accept=["P5"])
    assert port_at(moved, "P5") == (40, 114)
    assert port_at(moved, "P2") == (118, 100)
    assert trial.apply(document, found, accept=[]) == document


def test_a_channels_corner_slides_so_that_its_legs_keep_their_directions():
    document = plate()
    moved = moving.move_ports(document, {"P1": (2.0, 3.0)})
    assert corners(moved, "C1") == [(82, 100)]  # still straight up from P1, still level with P2
    moved = moving.move_ports(document, {"P2": (2.0, 3.0)})
    assert corners(moved, "C1") == [(80, 103)]
    moved = moving.move_ports(document, {"P1": (2.0, 3.0), "P2": (2.0, 3.0)})
    assert corners(moved, "C1") == [(82, 103)]
    moved = moving.move_ports(document, {"P4": (0.0, -5.0)})
    assert corners(moved, "C2") == [(90, 150), (90, 185)]
    assert moving.move_ports(document, {"P5": (1.0, 1.0)}).channels[2] == document.channels[2]


def test_a_locked_port_stays():
    document = plate(ports=[{"id": "P1", "x_mm": 80, "y_mm": 50, "locked": True}, *(
        {"id": name, "x_mm": x, "y_mm": y} for name, (x, y) in PORTS.items() if name != "P1")])  # fmt: skip
    assert port_at(moving.move_ports(document, {"P1": (5.0, 5.0)}), "P1") == (80, 50)


def test_a_group_follows_when_its_ports_move_alike():
    document = plate(groups=[{"id": "G1", "members": ["P5", "P6", "K1", "H1"]}])
    moves = {"P5": (2.05, 0.0), "P6": (2.05, 0.0)}
    assert moving.following(document, moves) == {"G1": ["K1", "H1"]}
    moved = moving.move_ports(document, moves)
    assert moved.cutouts[0].outline.x_mm == pytest.approx(62.05)
    assert moved.holes[0].x_mm == pytest.approx(22.05)
    assert port_at(moved, "P6") == (42.05, 50)
    # one port alone, or two that go different ways, do not take the group along
    for other in ({"P5": (2.0, 0.0)}, {"P5": (2.0, 0.0), "P6": (-2.0, 0.0)}):
        assert moving.following(document, other) == {}
        assert moving.move_ports(document, other).cutouts == document.cutouts
    found = trial.judge(document, [FitReading(port="P5", dx_mm=2.0), FitReading(port="P6", dx_mm=2.0)])
    assert found.groups == {"G1": ["K1", "H1"]}
    assert "K1, H1 would follow with G1." in found.messages


def test_the_whole_moves_rigidly_when_that_is_accepted():
    document = plate()
    found = trial.judge(document, seen(**dict.fromkeys(PORTS, (2.0, -1.0))))
    moved = trial.apply(document, found, whole=True)
    for name, (x, y) in PORTS.items():
        assert port_at(moved, name) == pytest.approx((x + 2, y - 1), abs=1e-3)
    assert moved.plate.outline.x_mm == pytest.approx(82)
    assert moved.cutouts[0].outline.y_mm == pytest.approx(119)
    assert moved.pockets[0].outline.x_mm == pytest.approx(102)
    assert corners(moved, "C2")[0] == pytest.approx((92, 149))
    assert moved.floor == document.floor
    assert trial.apply(document, found) == document


def test_a_turned_whole_keeps_every_distance():
    document = plate()
    turn = math.radians(1.0)
    moves = {
        p: ((math.cos(turn) - 1) * x - math.sin(turn) * y, math.sin(turn) * x + (math.cos(turn) - 1) * y)
        for p, (x, y) in PORTS.items()
    }
    moved = trial.apply(document, trial.judge(document, seen(**moves)), whole=True)
    for one in PORTS:
        for other in PORTS:
            assert math.dist(port_at(moved, one), port_at(moved, other)) == pytest.approx(
                math.dist(PORTS[one], PORTS[other]), abs=2e-4
            )
    assert moved.plate.outline.turn_deg == pytest.approx(1.0)
    assert moved.cutouts[0].outline.turn_deg == pytest.approx(1.0)


def test_a_second_trial_after_the_moves_finds_nothing():
    document = plate()
    first = trial.judge(document, seen(P2=(-1.5, 0.5), P4=(0.0, 3.0)))
    moved = trial.apply(document, first)
    left = {
        port: tuple(round(PORTS[port][k] + wish[k] - port_at(moved, port)[k], 3) for k in (0, 1))
        for port, wish in {"P2": (-1.5, 0.5), "P4": (0.0, 3.0)}.items()
    }
    assert trial.judge(moved, seen(**left)).moves == ()


def test_the_examples_can_be_tried():
    for path in sorted((Path(__file__).parents[2] / "examples").glob("*.json")):
        document = read(path)
        if len(document.ports) < 3:
            continue
        rows = [FitReading(port=port.id, dx_mm=0, dy_mm=0) for port in document.ports]
        found = trial.judge(document, rows)
        assert found.moves == ()
        after = to_plain(trial.apply(document, found))
        kept = after.pop("landings", [])
        assert after == to_plain(document)
        served = {port.serves for port in document.ports if port.serves and port.face == "top"}
        assert {row["serves"] for row in kept} == served
