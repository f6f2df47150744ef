"""Slips in laying the piece in and in writing it down: made here, and named by the program."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest

from sketcher.document import read
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
