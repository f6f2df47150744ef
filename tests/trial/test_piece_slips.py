"""Slips in laying the piece in and in writing it down: made here, and named by the program."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from sketcher.document import read, with_changes
from sketcher.document.plate import FitReading
from sketcher.trial.analysis import apply, judge

BENCH = read(Path(__file__).parents[2] / "examples" / "riser-bench.json")
PLACES = {port.id: np.array([port.x_mm, port.y_mm]) for port in BENCH.ports}
MIDDLE = np.array([235.0, 177.0])  # of the plate's outline: the piece is laid into the same place


def readings(at, spread=0.3, seed=3, own=None):
    """What is read when port p lies at ``at(p)``: how far it should go to where its tube comes down."""
    rng = np.random.default_rng(seed)
    rows = []
    for port, place in PLACES.items():
        wish = place + (own or {}).get(port, (0, 0)) - at(place) + rng.normal(0, spread, 2)
        rows.append(FitReading(port=port, dx_mm=round(wish[0], 1), dy_mm=round(wish[1], 1), spread_mm=spread))
    return rows


def about_the_middle(matrix, shift=(0.0, 0.0)):
    return lambda p: np.array(matrix) @ (p - MIDDLE) + MIDDLE + shift


def turn(degrees):
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return np.array([[c, -s], [s, c]])


LEFT_RIGHT = np.diag([-1.0, 1.0])
WAYS = [
    (turn(180), "turned by half"),
    (turn(90), "turned a quarter to the left"),
    (turn(-90), "turned a quarter to the right"),
    (LEFT_RIGHT, "turned over, left to right"),
    (-LEFT_RIGHT, "turned over, front to rear"),
    (turn(90) @ LEFT_RIGHT, "turned over and turned a quarter to the left"),
    (turn(-90) @ LEFT_RIGHT, "turned over and turned a quarter to the right"),
]


@pytest.mark.parametrize(("matrix", "words"), WAYS, ids=[words for _, words in WAYS])
@pytest.mark.parametrize("own", [{}, {"P4": (4, 0)}], ids=["all right", "a port off as well"])
def test_a_piece_laid_in_wrong_is_named_and_moves_nothing(matrix, words, own):
    for shift in ((1.5, -2.0),):
        found = judge(BENCH, readings(about_the_middle(matrix @ turn(0.3), shift), own=own))
        assert [slip.words for slip in found.slips] == [
            f"The piece lies {words}, so no port can be judged: lay it in right and read it again."
        ]
        assert found.moves == ()
        assert not found.whole_stands_out
        assert apply(BENCH, found, whole=True) == BENCH


@pytest.mark.parametrize(("matrix", "words"), WAYS[:4], ids=[words for _, words in WAYS[:4]])
def test_read_along_the_pieces_own_axes_it_is_named_as_well(matrix, words):
    """Someone who holds the piece reads left and right on it, not on the case."""
    rows = [
        FitReading(port=row.port, dx_mm=round(float(d[0]), 1), dy_mm=round(float(d[1]), 1), spread_mm=0.3)
        for row in readings(about_the_middle(matrix))
        for d in [np.linalg.inv(matrix) @ (row.dx_mm, row.dy_mm)]
    ]
    assert words in judge(BENCH, rows).slips[0].words


def test_the_piece_lies_right():
    for seed in range(6):
        assert judge(BENCH, readings(lambda p: p, seed=seed)).slips == ()
        far = judge(BENCH, readings(about_the_middle(turn(1.0), (12, -9)), seed=seed))
        assert far.slips == ()
        assert far.whole_stands_out


@pytest.mark.parametrize("percent", [97.0, 98.5, 103.0])
def test_the_scale_of_the_print(percent):
    found = judge(BENCH, readings(about_the_middle(np.eye(2) * percent / 100, (1, 1))))
    (slip,) = found.slips
    assert slip.kind == "size"
    assert (
        abs(float(slip.words.split("is ")[1].split(" %")[0]) - percent) < 0.25
    )  # 3 sigma: 0.3 mm over the ports' arms
    assert found.moves == ()


def test_a_piece_cut_in_inches():
    found = judge(BENCH, readings(about_the_middle(np.eye(2) / 25.4)))
    assert "the file was read in inches" in found.slips[0].words


@pytest.mark.parametrize(("a", "b"), [("P2", "P3"), ("P6", "P7"), ("P1", "P10"), ("P4", "P9")])
def test_two_labels_swapped(a, b):
    """The tube of one was held against the port of the other."""
    way = PLACES[b] - PLACES[a]
    for shift in ((0, 0), (2.5, -1.5)):
        found = judge(BENCH, readings(lambda p, shift=shift: p - shift, own={a: way, b: -way}))
        assert [(slip.kind, slip.ports) for slip in found.slips] == [("swapped", (a, b))]
        assert not {a, b} & {move.port for move in found.moves}


def test_two_lines_of_the_file_swapped():
    rows = {row.port: row for row in readings(about_the_middle(turn(2.0)))}
    one, other = rows["P2"], rows["P8"]
    rows["P2"] = one.model_copy(update={"dx_mm": other.dx_mm, "dy_mm": other.dy_mm})
    rows["P8"] = other.model_copy(update={"dx_mm": one.dx_mm, "dy_mm": one.dy_mm})
    found = judge(BENCH, list(rows.values()))
    assert [(slip.kind, slip.ports) for slip in found.slips] == [("swapped", ("P2", "P8"))]


def test_one_reading_in_inches():
    rows = [
        row.model_copy(update={"dx_mm": round(row.dx_mm / 25.4, 2), "dy_mm": round(row.dy_mm / 25.4, 2)})
        if row.port == "P4" else row
        for row in readings(lambda p: p - (18, 6))
    ]  # fmt: skip
    found = judge(BENCH, rows)
    assert [(slip.kind, slip.ports) for slip in found.slips] == [("unit", ("P4",))]
    assert found.moves == ()


def test_a_far_move_is_doubted_aloud():
    found = judge(BENCH, readings(lambda p: p, own={"P4": (90, 0)}))
    assert any("P4 would move 89 mm" in words and "check the unit" in words for words in found.messages)
    assert found.as_json()["doubted"] == ["P4"]
    found = judge(BENCH, readings(lambda p: p - (70, 0)))
    assert any("hard to believe" in words for words in found.messages)
    near = judge(BENCH, readings(lambda p: p, own={"P6": (30, 0), "P7": (30, 0)}))
    assert near.as_json()["doubted"] == []


def inches(rows):
    return [
        row.model_copy(update={"dx_mm": round(row.dx_mm / 25.4, 2), "dy_mm": round(row.dy_mm / 25.4, 2)})
        for row in rows
    ]  # fmt: skip


@pytest.mark.parametrize(("matrix", "words"), [(turn(180), "turned by half"), (turn(90), "a quarter to the left")])
def test_laid_in_wrong_and_read_in_inches_is_named_beside_the_size_that_reads_alike(matrix, words):
    """Two arms' lengths, or a quarter's, in inches read like a piece of another size: 1 + 2/25.4 = 107.87 %."""
    found = judge(BENCH, inches(readings(about_the_middle(matrix), spread=0.1)))
    (slip,) = found.slips
    assert words in slip.words
    assert "read in inches" in slip.words
    assert found.moves == ()


def test_labels_mixed_up_in_a_ring_are_named_and_move_nothing():
    for ring in (("P2", "P5", "P8"), ("P1", "P6", "P4", "P10"), tuple(PLACES)):
        own = {a: PLACES[b] - PLACES[a] for a, b in zip(ring, (*ring[1:], ring[0]), strict=True)}
        found = judge(BENCH, readings(lambda p: p, own=own))
        (slip,) = found.slips
        assert slip.kind == "swapped"
        assert set(slip.ports) == set(ring)
        assert f"{ring[0]} against {ring[1]}'s" in slip.words
        assert not set(ring) & {move.port for move in found.moves}
        assert not any("Cannot tell" in words for words in found.messages)


def test_two_labels_swapped_and_read_in_inches():
    way = PLACES["P6"] - PLACES["P2"]
    rows = {row.port: row for row in readings(lambda p: p)}
    for row in inches(readings(lambda p: p, own={"P2": way, "P6": -way})):
        if row.port in ("P2", "P6"):
            rows[row.port] = row
    (slip,) = judge(BENCH, list(rows.values())).slips
    assert "P2 and P6 look swapped and read in inches" in slip.words


def test_sixteenths_are_asked_about_and_tenths_are_not():
    sixteenths = [
        FitReading(port=p, dx_mm=dx, dy_mm=0.06)
        for p, dx in zip(PLACES, (0.12, 0.13, 0.19, 0.12, 0.06, 0.0), strict=False)
    ]
    assert any("were they read in inches" in words for words in judge(BENCH, sixteenths).messages)
    tenths = [
        FitReading(port=p, dx_mm=dx, dy_mm=0.5) for p, dx in zip(PLACES, (0.5, 1.0, 0.5, 0.3, 0.2, 0.0), strict=False)
    ]
    assert not any("inches" in words for words in judge(BENCH, tenths).messages)


def test_a_locked_port_is_said_to_stay():
    locked = with_changes(BENCH, ports=[p.model_copy(update={"locked": p.id == "P4"}) for p in BENCH.ports])
    found = judge(locked, readings(lambda p: p, own={"P4": (6, 0)}))
    assert "P4 is locked and stays until unlocked." in found.messages
    assert {p.id: p for p in apply(locked, found).ports}["P4"].x_mm == PLACES["P4"][0]


@pytest.mark.parametrize("count", [1, 2, 3])
def test_few_readings_claim_no_more_than_they_can(count):
    """With one or two ports nothing can be said of the whole, with three on one line a turn can; none is an error."""
    line = sorted(PLACES, key=lambda p: PLACES[p][1])[:count]
    found = judge(BENCH, [FitReading(port=p, dx_mm=3.0, dy_mm=0.0, spread_mm=0.3) for p in line])
    assert found.as_json()["whole"]["told"] == (count == 3)
    if count < 3:
        assert "cannot be told whether the test piece sits off as a whole" in found.messages[0]
        assert found.reading is not None
