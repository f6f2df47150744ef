"""The adjustment as a whole, on networks small enough to work out by hand: weighted means of what is read of one place.

A weighted mean's variance is 1 / sum(1/s²); a reading's redundancy is 1 less its own part of that, and its residual has
the spread s √redundancy (Ghilani, Adjustment Computations, chapters 10 and 21).
"""

from __future__ import annotations

import math

import pytest

from sketcher.survey.adjustment import adjust
from sketcher.survey.readings_network import Observation, build
from sketcher.survey.room import Room


def network(*rows, points=("P", "Q"), fixed=None):
    """Readings (kind, point or points, value, spread), named R1, R2 …"""
    readings = [
        Observation(f"R{k}", kind, (at,) if isinstance(at, str) else at, value, spread)
        for k, (kind, at, value, spread) in enumerate(rows, 1)
    ]
    return build(list(points), readings, fixed or {})


def test_places_are_weighted_means() -> None:
    found = adjust(
        network(
            ("x", "P", 100.0, 0.3), ("x", "P", 100.3, 0.3), ("y", "P", 50.0, 0.1), ("y", "P", 50.2, 0.2),
            ("x", "Q", 200.0, 0.5), ("y", "Q", 70.0, 0.4),
        )
    )  # fmt: skip
    p, q = found.point("P"), found.point("Q")
    assert (p.x, p.y, q.x, q.y) == pytest.approx((100.15, 50.04, 200.0, 70.0))
    # y of P: weights 100 and 25, so the variance is 1/125; x: two alike, so half of 0.09
    assert (p.sigma_x**2, p.sigma_y**2) == pytest.approx((0.045, 1 / 125))
    assert (q.sigma_x, q.sigma_y) == pytest.approx((0.5, 0.4))
    assert (q.ellipse.semi_major, q.ellipse.semi_minor) == pytest.approx((0.5, 0.4))
    assert not p.loose
    assert not q.loose
    assert found.degrees == 2
    assert found.chi2 == pytest.approx(0.5**2 + 0.5**2 + 0.4**2 + 0.8**2)
    assert found.limit == pytest.approx(-2 * math.log(0.01))  # chi-square of two degrees has a closed form
    assert found.agrees
    assert [r.redundancy for r in found.readings] == pytest.approx([0.5, 0.5, 0.2, 0.8, 0.0, 0.0], abs=1e-9)
    assert [r.residual for r in found.readings] == pytest.approx([0.15, -0.15, 0.04, -0.16, 0.0, 0.0], abs=1e-9)
    # what is adjusted is known as well as the mean is, whichever reading it stands beside
    spreads = [math.sqrt(0.045)] * 2 + [math.sqrt(1 / 125)] * 2 + [0.5, 0.4]
    assert [r.spread for r in found.readings] == pytest.approx(spreads)
    w = [0.15 / (0.3 * math.sqrt(0.5)), 0.04 / (0.1 * math.sqrt(0.2))]
    assert [r.standardised for r in found.readings[:4]] == pytest.approx([w[0], -w[0], w[1], -w[1]])
    assert [r.standardised for r in found.readings[4:]] == [None, None]
    assert not any(r.suspect or r.rival for r in found.readings)


@pytest.mark.parametrize("kind", ["x", "diameter", "height"])
def test_a_slip_is_left_out_and_stands_against_the_mean_of_the_others(kind) -> None:
    """Three readings about 100 and one of 110, each ± 0.3: the mean of the three is known to 0.3/√3, and the slip
    differs from it with the variance 0.09 + 0.03 = 0.12."""
    rows = [(kind, "P", value, 0.3) for value in (100.0, 100.1, 110.0, 99.9)]
    found = adjust(
        network(*rows, *[(axis, at, 40.0, 0.3) for at in "PQ" for axis in "yx" if (axis, at) != (kind, "P")])
    )
    (slip,) = found.suspects
    assert slip.observation.id == "R3"
    assert not slip.rival
    assert found.rivals == ()
    assert found.agrees
    assert found.degrees == 2
    assert slip.adjusted == pytest.approx(100.0)
    assert slip.residual == pytest.approx(-10.0)
    assert slip.spread == pytest.approx(math.sqrt(0.03))
    assert slip.standardised == pytest.approx(-10.0 / math.sqrt(0.12))
    assert slip.redundancy == pytest.approx(0.09 / 0.12)
    others = [
        r for r in found.readings if r.observation.kind == kind and not r.suspect and r.observation.points == ("P",)
    ]
    assert [r.residual for r in others] == pytest.approx([0.0, -0.1, 0.1], abs=1e-9)


@pytest.mark.parametrize("kind", ["x", "diameter"])
def test_of_two_that_contradict_each_is_what_the_other_says_if_it_is_wrong(kind) -> None:
    rows = [
        (kind, "P", 20.0, 0.3),
        (kind, "P", 26.0, 0.4),
        ("y", "P", 5.0, 0.3),
        ("x", "Q", 9.0, 0.3),
        ("y", "Q", 7.0, 0.3),
    ]
    found = adjust(network(*rows, *([] if kind == "x" else [("x", "P", 40.0, 0.3)])))
    assert found.rivals == (("R1", "R2"),)
    assert [(r.observation.id, r.if_wrong, r.spread) for r in found.if_wrong] == [
        ("R1", pytest.approx(26.0), pytest.approx(0.4)),
        ("R2", pytest.approx(20.0), pytest.approx(0.3)),
    ]
    assert not found.agrees
    assert found.suspects == ()
    assert [r.rival for r in found.readings[:3]] == [True, True, False]


def test_second_places_are_not_asked_about_while_readings_contradict() -> None:
    """P and Q hang on A and B, 400 apart, alone, so each may lie on either side of AB; but what two diameters of P that
    contradict each other say has to be settled first."""
    rows = [
        ("distance", ("A", "B"), 400.0, 0.3),
        ("distance", ("A", "P"), 250.0, 0.3), ("distance", ("B", "P"), 250.0, 0.3),
        ("distance", ("P", "A"), 250.0, 0.3),
        ("distance", ("A", "Q"), 220.0, 0.3), ("distance", ("B", "Q"), 300.0, 0.3),
    ]  # fmt: skip
    asked = {"points": ("A", "B", "P", "Q"), "fixed": {("A", "x"): 0.0, ("A", "y"): 0.0, ("B", "y"): 0.0}}
    places = {
        name: place for mirror in adjust(network(*rows, **asked)).mirrors for name, place in mirror.places.items()
    }
    # Pythagoras: x = (a² - b² + 400²) / 800 from A, and y² = a² - x²
    x = (220.0**2 - 300.0**2 + 400.0**2) / 800
    assert places["P"] == pytest.approx((200.0, -150.0))
    assert places["Q"] == pytest.approx((x, -math.sqrt(220.0**2 - x**2)))
    found = adjust(network(*rows, ("diameter", "P", 20.0, 0.3), ("diameter", "P", 26.0, 0.3), **asked))
    assert found.rivals
    assert found.mirrors == ()


#: A is the origin and B lies on the x axis.
DATUM = {("A", "x"): 0.0, ("A", "y"): 0.0, ("B", "y"): 0.0}


@pytest.mark.parametrize(("side", "c_y", "c_p"), [(1, 310.0, 150.0), (-1, 10.0, 450.0)])
def test_what_a_rival_should_have_been_holds_where_the_user_says_the_point_is(side, c_y, c_p) -> None:
    """P is 250 from A and from B, 400 apart: 150 to either side of their middle. C lies 300 behind the middle and reads
    160 to P, which fits neither side, but misses the one by 10 and the other by 290. The user says which side it is."""
    rows = [
        ("distance", ("A", "B"), 400.0, 0.3), ("x", "C", 200.0, 0.3), ("y", "C", 300.0, 0.3),
        ("distance", ("A", "P"), 250.0, 0.3), ("distance", ("B", "P"), 250.0, 0.3),
        ("distance", ("C", "P"), 160.0, 0.3),
    ]  # fmt: skip
    room = Room(guesses={"P": (200.0, side * 150.0)})
    found = adjust(network(*rows, points=("A", "B", "C", "P"), fixed=DATUM), room)
    meant = {rival.observation.id: rival.if_wrong for rival in found.if_wrong}
    assert meant["R3"] == pytest.approx(c_y)
    assert meant["R6"] == pytest.approx(c_p)


def test_of_a_slip_that_is_certain_nothing_is_said_among_the_rivals() -> None:
    rows = [("x", "P", value, 0.3) for value in (100.0, 100.1, 99.9, 100.0, 100.0, 110.0)]
    rows += [("x", "Q", 20.0, 0.3), ("x", "Q", 26.0, 0.3), ("y", "P", 5.0, 0.3), ("y", "Q", 7.0, 0.3)]
    found = adjust(network(*rows))
    assert [reading.observation.id for reading in found.suspects] == ["R6"]
    assert found.rivals == (("R7", "R8"),)
    meant = [(rival.observation.id, rival.if_wrong) for rival in found.if_wrong]
    assert meant == [("R7", pytest.approx(26.0)), ("R8", pytest.approx(20.0))]


@pytest.mark.parametrize("side", [1, -1])
def test_points_that_nothing_holds_say_nothing_of_the_side_on_which_others_lie(side) -> None:
    """P may lie on either side of AB, and the user says on which. L and M hang on it by one distance each; that they
    are thought to lie behind it is no word about P."""
    rows = [
        ("distance", ("A", "B"), 400.0, 0.3),
        ("distance", ("A", "P"), 250.0, 0.3), ("distance", ("B", "P"), 250.0, 0.3),
        ("distance", ("P", "L"), 150.0, 0.3), ("distance", ("P", "M"), 150.0, 0.3), ("diameter", "M", 20.0, 0.3),
    ]  # fmt: skip
    room = Room(guesses={"P": (200.0, side * 150.0), "L": (200.0, 300.0), "M": (250.0, 290.0)})
    found = adjust(network(*rows, points=("A", "B", "P", "L", "M"), fixed=DATUM), room)
    assert set(found.loose) == {"L", "M"}
    assert (found.point("P").x, found.point("P").y) == pytest.approx((200.0, side * 150.0))
