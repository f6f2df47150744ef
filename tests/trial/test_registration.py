"""What the registration makes of incomplete, few, and contradictory readings."""

import math
from dataclasses import replace

import pytest

from sketcher.trial.registration import PortReading, register
from sketcher.trial.telling import next_reading

PLACES = [(50, 40), (380, 60), (360, 250), (70, 260), (200, 150), (120, 200)]


def rows(movement, sigma=0.3, places=PLACES):
    return [PortReading(f"P{k + 1}", x, y, *movement(k, x, y), sigma) for k, (x, y) in enumerate(places)]


def test_nothing_to_move():
    found = register(rows(lambda k, x, y: (0.0, 0.0)))
    assert found.shift == (0.0, 0.0)
    assert found.turn_deg == 0.0
    assert found.suspects == ()
    assert not found.moves_as_a_whole


def test_a_pure_shift():
    found = register(rows(lambda k, x, y: (-2.0, 1.0)))
    assert found.shift == pytest.approx((-2.0, 1.0))
    assert found.turn_deg == pytest.approx(0.0, abs=1e-9)
    assert found.suspects == ()
    assert found.moves_as_a_whole
    assert found.moved(100, 100) == pytest.approx((98.0, 101.0))


def test_one_port_wrong_beside_right_ones():
    """The brief's own words: this port should be 1.5 mm left, the others are right."""
    found = register(rows(lambda k, x, y: (-1.5, 0.0) if k == 2 else (0.0, 0.0), sigma=0.5))
    assert found.suspects == ("P3",)
    assert found.shift == pytest.approx((0.0, 0.0), abs=1e-9)
    assert tuple(found.left[2]) == pytest.approx((-1.5, 0.0))


def test_a_port_read_in_x_only_and_another_in_y_only():
    found = register(rows(lambda k, x, y: (2.0, None) if k == 0 else (None, 1.0) if k == 1 else (2.0, 1.0)))
    assert found.shift == pytest.approx((2.0, 1.0))
    assert math.isnan(found.left[0, 1])
    assert found.degrees == 10 - 3


def test_two_wrong_ports_are_both_named():
    found = register(rows(lambda k, x, y: {1: (4.0, 0.0), 4: (0.0, -5.0)}.get(k, (0.1, 0.0))))
    assert set(found.suspects) == {"P2", "P5"}


def test_a_port_that_reads_right_beside_one_that_does_not():
    """One port off explains it; a whole that is off and a port that makes up for it by chance does not."""
    found = register(rows(lambda k, x, y: [(0.0, 0.0), (6.0, 0.0)][k], places=PLACES[:2]))
    assert found.suspects == ("P2",)
    assert found.rivals == ()


def test_two_halves_that_disagree_cannot_be_told_apart():
    """Three ports one way, three the other: either half may be off, and no arithmetic tells which."""
    found = register(rows(lambda k, x, y: (3.0, 1.0) if k < 3 else (-2.0, 1.5)))
    assert found.suspects == ()
    assert found.rivals


def test_ports_in_one_place_tell_no_turn():
    found = register([PortReading(f"P{k}", 100.0, 100.0, 1.0, 2.0) for k in range(4)])
    assert found.turn_known is False
    assert found.turn_deg == 0.0
    assert found.shift == pytest.approx((1.0, 2.0))


def test_only_x_was_read():
    found = register([PortReading(f"P{k}", x, y, 1.5, None) for k, (x, y) in enumerate(PLACES)])
    assert found.shift == pytest.approx((1.5, 0.0), abs=1e-9)


@pytest.mark.parametrize(
    ("readings", "says"),
    [
        ([], "no fit reading"),
        ([PortReading("P1", 0, 0, 1, 1), PortReading("P1", 0, 0, 1, 1)], "read twice"),
        ([PortReading("P1", 0, 0, math.nan, 1)], "made of numbers"),
        ([PortReading("P1", 0, 0, 1, 1, sigma=0.0)], "above zero"),
        ([PortReading("P1", 0, 0, None, None)], "write 0"),
    ],
)
def test_bad_readings(readings, says):
    with pytest.raises(ValueError, match=says):
        register(readings)


def test_a_whole_that_may_sit_right_is_not_told():
    """A shift of 0.33 mm is 3.6 standard deviations of the mean of eleven readings (0.3/√11): rare by chance, and rare
    as a shift so small. What would tell is the piece's own place; 2 mm more are told.
    """
    rows = [
        PortReading(f"P{k}", 40.0 * (k % 4), 50.0 * (k // 4), 0.32 + 0.1 * (-1) ** k, 0.25 * (-1) ** (k // 2), 0.3)
        for k in range(11)
    ]
    found = register(rows)
    assert found.suspects == ()
    assert found.whole_in_doubt
    assert not found.moves_as_a_whole
    assert next_reading(found).port is None
    more = register([replace(row, dx=row.dx + 2.0) for row in rows])
    assert more.moves_as_a_whole
    assert not more.whole_in_doubt
