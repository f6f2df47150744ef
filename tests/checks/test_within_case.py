"""What reaches out of the case is told once: of what holds it, where bringing that back brings the rest along."""

import pytest

from sketcher.checks import run
from tests.checks.plates import plate, rectangle
from tests.checks.test_limits import box

CASE = rectangle(200, 150, 400, 300)
RULES = ("outside-case", "above-ceiling", "through-floor")


def told(*devices, height=200.0, accepted=()):
    """What is told of the case, each as its rule and item; the case is 400 by 300, its corner at nothing."""
    document = plate(devices=list(devices), floor={"outline": CASE, "clear_height_mm": height}, accepted=list(accepted))
    return {(f.rule, row.items[0]) for f in run(document, quick=True) if f.rule in RULES for row in f.listed or (f,)}


def holder(x=100.0, y=150.0, z=40.0, size=(60, 60, 20)):
    return box("D1", x, y, z, size)


def held(x, y, z=20.0, size=(10, 10, 10)):
    """By the middle of its holder, from its own corner up."""
    return box("D2", x, y, z, size, held_by="D1")


# By hand: D1 is 60 wide with its middle at x; D2 10 wide with its middle at x + its own.
CASES = [
    ("both beyond the left wall, the holder farther", (10, 150), (0, 0), {"D1"}),  # 20 out; D2 just inside: 5 to 15
    ("both beyond it, what is held less far", (-10, 150), (0, 0), {"D1"}),  # 40 and 15 out
    ("what is held farther out than its holder", (20, 150), (-40, 0), {"D1", "D2"}),  # 10 and 25 out
    ("beyond another wall", (20, 40), (0, -40), {"D1", "D2"}),  # D1 10 out at the left, D2 5 out in front
    ("the holder inside", (100, 40), (0, -40), {"D2"}),
]


@pytest.mark.parametrize(("place", "own", "names"), [case[1:] for case in CASES], ids=[case[0] for case in CASES])
def test_a_wall_is_told_of_the_holder_alone_where_that_is_enough(place, own, names):
    assert {name for _, name in told(holder(*place), held(*own))} == names


def test_ceiling_and_floor_likewise():
    # A holder to 210 under 200, on it something to 220: brought down by 20 both are in; only the higher one says so.
    assert told(holder(z=190), held(0, 0)) == {("above-ceiling", "D1"), ("above-ceiling", "D2")}
    assert told(holder(z=190), held(0, 0, 5, (10, 10, 10))) == {("above-ceiling", "D1")}
    assert told(holder(z=-15), held(0, 0, 10)) == {("through-floor", "D1")}
    assert told(holder(z=5), held(0, 0, -15)) == {("through-floor", "D2")}


def test_what_is_accepted_of_the_holder_hides_nothing_of_what_it_holds():
    row = {"rule": "outside-case", "items": ["D1"], "reason": "it stands in a recess of the wall"}
    assert told(holder(-10), held(0, 0), accepted=[row]) == {("outside-case", "D1"), ("outside-case", "D2")}


def test_two_that_hold_the_same_way_up_a_chain():
    third = box("D3", 0, 0, 10, (4, 4, 4), held_by="D2")
    assert told(holder(-10), held(0, 0), third) == {("outside-case", "D1")}
