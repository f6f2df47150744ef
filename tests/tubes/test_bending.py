"""Bending sheets against plain geometry and a second solution in space: bends taken in many small steps."""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from sketcher.tubes.bending import _turn_deg, bending_sheet, bent, landing_error_mm
from sketcher.tubes.line import rounded
from tests.tubes.places import corners, device, made, plain, port


def a_run(*inner, end=(300.0, 200.0, 220.0), heading="w-", size="acrylic 13/10", **tube):
    content = plain(
        device("A", end, heading), ports=(port("P1", 100, 100, "A.p", size=size, points=corners(*inner), **tube),)
    )
    (run,) = made(content)[2]
    return run


def walked(sheet, first, plane, steps=4000):
    """A second solution: the tube as a moving frame, turned step by step with scipy's rotations."""
    at, frame = np.zeros(3), np.column_stack([first, np.cross(plane, first), plane])
    for row in sheet.rows:
        at = at + row.straight_mm * frame[:, 0]
        frame = Rotation.from_rotvec(math.radians(row.turn_deg) * frame[:, 0]).as_matrix() @ frame
        small = Rotation.from_rotvec(math.radians(row.angle_deg) / steps * frame[:, 2]).as_matrix()
        half = Rotation.from_rotvec(math.radians(row.angle_deg) / steps / 2 * frame[:, 2]).as_matrix()
        for _ in range(steps):
            at = at + row.arc_mm / steps * (half @ frame)[:, 0]
            frame = small @ frame
    return at + sheet.last_straight_mm * frame[:, 0]


def test_one_right_angle_by_hand():
    """R 40, 90°: arc 62.832, setback 40, so that 17.168 of the corner's length is saved (plain geometry)."""
    run = a_run((100.0, 100.0, 200.0), end=(300.0, 100.0, 200.0), heading="u-", bend_radius_mm=40.0,
                start_fitting={"insertion_mm": 10}, end_fitting={"insertion_mm": 12})  # fmt: skip
    sheet = bending_sheet(run)
    (row,) = sheet.rows
    rise, across = 200.0 - 20.0, 200.0
    assert row.arc_mm == pytest.approx(62.832, abs=5e-4)
    assert row.mark_mm == pytest.approx(10 + rise - 40)
    assert row.straight_mm == pytest.approx(row.mark_mm)
    assert sheet.last_straight_mm == pytest.approx(across - 40 + 12)
    assert sheet.cut_length_mm == pytest.approx(rise + across - 17.168 + 22, abs=1e-3)
    assert row.turn_deg == 0


def test_45_degrees_by_hand():
    """R 40, 45°: arc 31.416, setback 16.569, 1.721 saved (plain geometry)."""
    line = rounded([(0, 0, 0), (100, 0, 0), (200, 100, 0)], [0, 40, 0])
    (bend,) = line.bends
    assert bend.arc_length == pytest.approx(31.416, abs=5e-4)
    assert bend.setback == pytest.approx(16.569, abs=5e-4)
    assert line.length == pytest.approx(100 + 100 * math.sqrt(2) - 1.721, abs=1e-3)


@pytest.mark.parametrize(
    ("third", "turn"),
    [((200, 100, 100), 90.0), ((200, 100, -100), -90.0), ((300, 100, 0), 180.0), ((100, 100, 0), 0.0)],
)
def test_turns_between_planes_by_hand(third, turn):
    """Along x, a bend to +y (its axis is +z), then up, down, back to +x, or on round to -x.

    By the right-hand rule: up from +y turns about +x, and from +z to +x about the tube's +y is a quarter turn
    right-handed, clockwise as seen along the tube. Down is the other quarter, +x is half a turn, -x none.
    """
    line = rounded([(0, 0, 0), (200, 0, 0), (200, 100, 0), third], [0, 20, 20, 0])
    first, second = line.bends
    assert first.normal == pytest.approx([0, 0, 1])
    assert _turn_deg(first, second) == pytest.approx(turn, abs=1e-9)


@pytest.mark.parametrize("seed", range(12))
def test_bent_by_its_sheet_a_tube_ends_where_it_should(seed):
    """Random courses in space: Rodrigues's turns and four thousand small steps both arrive at the port."""
    random = np.random.default_rng(seed)
    count = 1 + seed % 4
    inner = [tuple(float(v) for v in random.uniform((60, 60, 60), (420, 320, 300))) for _ in range(count)]
    run = a_run(*inner, bend_radius_mm=12.0)
    sheet = bending_sheet(run)
    start = run.line.corners[0] - run.start.insertion_mm * run.line.first
    goal = run.line.corners[-1] + run.end.insertion_mm * run.line.last
    assert landing_error_mm(run) < 1e-9
    plane = run.line.bends[0].normal
    assert start + bent(sheet, run.line.first, plane)[-1] == pytest.approx(goal, abs=1e-9)
    assert start + walked(sheet, run.line.first, plane) == pytest.approx(goal, abs=1e-3)
    assert sheet.cut_length_mm == pytest.approx(run.cut_length_mm)
    assert sheet.cut_length_mm == pytest.approx(
        sum(row.straight_mm + row.arc_mm for row in sheet.rows) + sheet.last_straight_mm
    )
    points = run.line.points(0.1)
    assert np.linalg.norm(np.diff(points, axis=0), axis=1).sum() == pytest.approx(run.line.length, abs=1e-3)


def test_a_wrong_figure_is_seen():
    """The second way round finds a sheet that is wrong by one degree of turn."""
    run = a_run((100.0, 100.0, 120.0), (300.0, 100.0, 120.0), (300.0, 200.0, 120.0), bend_radius_mm=20.0)
    sheet = bending_sheet(run)
    rows = list(sheet.rows)
    rows[1] = replace(rows[1], turn_deg=rows[1].turn_deg + 1.0)
    assert landing_error_mm(run) < 1e-9
    assert landing_error_mm(run, [replace(sheet, rows=tuple(rows))]) > 1.0


def test_bends_without_room_shrink_and_say_so():
    line = rounded([(0, 0, 0), (50, 0, 0), (50, 30, 0), (100, 30, 0)], [0, 40, 40, 0])
    assert all(bend.radius == pytest.approx(15) for bend in line.bends)
    assert not any(bend.fits for bend in line.bends)
    assert line.straights[1] == pytest.approx(0)


def test_elbows_take_the_corner_out_of_the_tube():
    run = a_run(end=(300.0, 100.0, 60.0), heading="u-",
                start_fitting={"kind": "elbow-90", "height_mm": 40}, size="glass 12/9")  # fmt: skip
    assert not run.line.bends
    assert run.line.length == pytest.approx(200 - 40), "the elbow's own arm is no tube"
    assert run.wet_length_mm == pytest.approx(160 + 80)


def test_a_line_that_turns_straight_back_has_no_bend_there() -> None:
    """50 down and 80 up again: 130, whatever radius was asked for; its arc would begin infinitely far away."""
    for aside in (0.0, 1.0):
        line = rounded([(0, 0, 0), (0, 0, -50), (aside, 0, 30)], [0, 36, 0])
        points = line.points(5.0)
        assert np.abs(points).max() <= 50
        assert np.linalg.norm(np.diff(points, axis=0), axis=1).sum() == pytest.approx(130, abs=0.02)
        assert not line.bends[0].fits
