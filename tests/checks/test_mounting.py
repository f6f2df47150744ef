"""Screws over openings of the case floor, and what a board carries against the board's own sheet.

Values are worked out by hand. M4 goes through 4.5 (ISO 273) and has a washer of 9 (ISO 7089, from memory).
"""

import random
from collections import Counter

import numpy as np
import pytest

from sketcher.checks import run
from sketcher.checks.fixes import with_fix
from tests.checks.plates import channel, circle, plate, rectangle
from tests.checks.test_limits import board, box, cut, floor, hole

HOLES = [{"id": "a", "u_mm": 0, "v_mm": 0, "diameter_mm": 4}]


def told(rule: str, document):
    return [finding for finding in run(document, quick=True) if finding.rule == rule]


def over(opening, **parts):
    return told("mount-opening", plate(floor=floor(openings=[cut("W1", opening)], **parts.pop("more", {})), **parts))


def test_a_screw_of_the_plate_over_an_opening_goes_into_nothing_and_is_moved_off_it() -> None:
    """3 mm from the rim of an opening 40 wide: 3 + 2.25 + 1 to go, to the right."""
    document = plate(holes=[hole("H1", 100, 150)], floor=floor(openings=[cut("W1", rectangle(83, 150, 40, 60))]))
    (finding,) = [f for f in run(document) if f.rule == "mount-opening"]
    assert (finding.level, finding.items, finding.at) == ("error", ("H1", "W1"), (100, 150))
    assert finding.value == pytest.approx(-5.25)
    assert "goes into nothing" in finding.message
    assert finding.fix is not None
    place = with_fix(document, finding.fix).holes[0]
    assert (place.x_mm, place.y_mm) == pytest.approx((106.26, 150), abs=0.002)


def test_the_screws_own_hole_in_the_case_is_no_opening_to_keep_clear_of() -> None:
    assert not over(circle(100, 150, 9), holes=[hole("H1", 100, 150)])
    assert over(circle(100, 150, 9.2), holes=[hole("H1", 100, 150)])
    assert over(circle(103, 150, 9), holes=[hole("H1", 100, 150)])


def test_what_is_not_screwed_to_the_floor_has_no_screw_over_an_opening() -> None:
    """A lid screw, a screw for something else, a device on edge, one far above, one that another thing carries."""
    wide = rectangle(25, 25, 20, 20)
    assert over(wide, devices=[box("D1", 25, 25, 0, holes=HOLES)])
    assert not over(rectangle(100, 150, 40, 40), holes=[hole("H1", 100, 150, use="other")])
    assert not over(wide, devices=[box("D1", 25, 25, 51, holes=HOLES)])
    assert not over(wide, devices=[box("D1", 25, 25, 25, posture="standing", holes=HOLES)])
    assert not over(wide, devices=[box("D1", 25, 25, 10, holes=HOLES)],
                    more={"obstacles": [cut("O1", circle(25, 25, 8), height_mm=10)]})  # fmt: skip
    assert not over(wide, boards=[board("B1", 5, 5, 20)], devices=[box("D1", 20, 20, 0, held_by="B1", holes=HOLES)])
    assert not over(rectangle(100, 150, 40, 40), devices=[box("D1", 100, 150, 26, holes=HOLES)])


def test_screws_of_one_board_over_one_opening_are_one_finding() -> None:
    rows = [{"id": f"a{n}", "u_mm": 10 + 10 * n, "v_mm": 20, "diameter_mm": 4} for n in range(3)]
    (finding,) = over(rectangle(24, 24, 60, 30), boards=[board("B1", 4, 4, 10, holes=rows)])
    assert "2 more" in finding.message


def test_a_plate_whose_channels_are_drawn_is_held_by_two_mounting_screws() -> None:
    """Common practice, no source: one screw lets a plate turn. Lid screws and holes for something else hold nothing."""
    ports = [hole("P1", 100, 150), hole("P2", 200, 150)]
    far, near = hole("H1", 60, 60, diameter_mm=6), hole("H2", 340, 240)

    def held(*holes: dict, ends=("P1", "P2"), **parts):
        channels = [channel("C1", (150, 150), start=ends[0], end=ends[1])]
        rows = told("mount-none", plate(ports=ports, channels=channels, holes=holes, **parts))
        return [(f.level, f.value, f.items) for f in rows]

    assert held() == [("warning", 0, ())]
    assert held(hole("S1", 60, 60, use="lid", face="bottom", kind="tapped"), {**far, "use": "other"})[0][1] == 0
    assert held(far) == [("warning", 1, ("H1",))]
    assert held(far, near) == held({**far, "kind": "tapped", "depth_mm": 10, "face": "bottom"}, near) == []
    assert held(far, limits={"mount-none": 1}) == []
    # While channels are drawn it is a note; before there are any it is nothing.
    assert held(ends=("P1", None)) == [("note", 0, ())]
    assert held(loop={"connections": [["P1", "P2"]]})[0][0] == "warning"
    assert not told("mount-none", plate(ports=ports))


def test_a_straight_tube_through_the_board_that_carries_its_block_is_told() -> None:
    """A board 40 by 40 lies 54 over the plate; its block's port is over its middle, or 0.5 mm beside its edge."""

    def through(u: float):
        device = box("D1", 20, 20, 0, (20, 20, 5), held_by="B1", ports=[{"id": "in", "u_mm": u, "w_mm": 3}])
        port = hole("P1", 120 + u, 120, serves="D1.in")
        return told("tube-blocked", plate(boards=[board("B1", 100, 100, 80)], devices=[device], ports=[port]))

    (finding,) = through(0.0)
    assert finding.items == ("P1", "B1")
    assert "through the sheet of B1" in finding.message
    assert not through(20.5)


def test_what_stands_in_its_boards_sheet_is_moved_off_it_in_the_boards_own_axes() -> None:
    """On edge, w runs to the front: a block that stands 1.5 mm deep in its sheet is moved by that in z."""
    document = plate(
        boards=[board("B1", 100, 200, 30, depth_mm=120, posture="standing")],
        devices=[box("D1", 20, 60, -1.5, (20, 20, 5), held_by="B1")],
    )
    (finding,) = [f for f in run(document) if f.rule == "bodies-overlap"]
    assert finding.value == pytest.approx(-1.5, abs=0.001)
    assert finding.fix is not None
    assert with_fix(document, finding.fix).devices[0].z_mm == pytest.approx(0.005, abs=0.002)


def test_a_lying_fitting_in_the_device_that_it_serves_is_blocked() -> None:
    """An edge port's fitting is 20 long: a device whose front is 19.5 before the edge, at its height, is in its way."""
    for far, blocked in ((19.9, True), (20.1, False)):
        device = box("D1", 50 - far - 10, 150, 5, (20, 20, 20), ports=[{"id": "in"}])
        port = hole("P1", 50, 150, face="edge", heading_deg=0, serves="D1.in", level_mm=10)
        rows = told("fitting-blocked", plate(devices=[device], ports=[port]))
        assert [f.items for f in rows] == ([("P1", "D1")] if blocked else []), far


def _axes(turn: float, roll: float, standing: bool) -> np.ndarray:
    """Columns u, v, w from the words of ``docs/format.md``: rolled about w, stood up, turned about the vertical."""

    def about_w(degrees: float) -> np.ndarray:
        c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
        return np.array([[c, -s, 0], [s, c, 0], [0, 0, 1]])

    on_edge = np.array([[1.0, 0, 0], [0, 0, -1], [0, 1, 0]]) if standing else np.eye(3)
    return about_w(turn) @ on_edge @ about_w(roll)


def test_what_a_board_carries_is_told_by_points_all_over_it() -> None:
    """Random boards with a device on them, turned and rolled: how deep its points are in the sheet."""
    rng, counted = random.Random(5), Counter()
    for _ in range(60):
        way = {"turn_deg": rng.choice([0, rng.uniform(-180, 180)]), "roll_deg": rng.choice([0, 90, rng.uniform(0, 90)]),
               "posture": rng.choice(["lying", "standing"])}  # fmt: skip
        place, size = [rng.uniform(-15, 55), rng.uniform(-15, 55), rng.uniform(-8, 6)], np.array([12.0, 9.0, 5.0])
        device = {**box("D1", *place, tuple(size)), "held_by": "B1", **way}
        carrier = board("B1", 150, 120, 120, turn_deg=rng.uniform(-180, 180), posture=rng.choice(["lying", "standing"]))
        grid = np.stack(np.meshgrid(*(np.linspace(0, 1, 25),) * 3), -1).reshape(-1, 3) * size - size * [0.5, 0.5, 0]
        points = place + grid @ _axes(way["turn_deg"], way["roll_deg"], way["posture"] == "standing").T
        # How deep each point is in the sheet, 40 by 40 and 2 thick below w = 0; below 0 outside it.
        deep = np.minimum(points - [0, 0, -2], [40, 40, 0] - points).min(axis=1).max()
        told = [f for f in run(plate(boards=[carrier], devices=[device]), quick=True) if set(f.items) == {"B1", "D1"}]
        if abs(deep) > 0.25:
            assert bool(told) == (deep > 0), (place, way, deep)
            counted[deep > 0] += 1
    assert min(counted[True], counted[False]) > 10
