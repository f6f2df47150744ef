"""The floor under a channel: sums by hand, and that the thickness asked for bears just what is allowed."""

from __future__ import annotations

import math

import numpy as np
import pytest

from sketcher.checks import run
from sketcher.document import Document, from_plain, to_plain
from sketcher.geometry import build
from sketcher.strength.flat_plate import Span
from sketcher.strength.floor_bending import floor_stress, tie_n_mm
from sketcher.strength.lid import floor_report, lid_report
from sketcher.strength.load import Load
from sketcher.strength.tightening import torque_of
from tests.checks.plates import channel, plate
from tests.checks.test_limits import hole


def floors(**told):
    document = plate(channels=[channel("C1", (100, 150), (200, 150), **told)], loop={"test_pressure_kpa": 60})
    return document, next(row for row in floor_report(document, build(document)) if row.load.name == "test")


def test_a_floor_by_hand() -> None:
    """10 mm wide, 15 deep in a body of 20, 60 kPa. A long strip between fixed edges (Roark, table 11.4, case 8a):
    0.5 · 0.06 · 10²/5² = 0.12 MPa. The walls are pushed apart with 0.06 · 15 = 0.9 N/mm (statics): 0.18 MPa in 5 mm.
    Both at a corner of 0.2 mm: 1 + 0.55 · √(5/0.2) = 3.75 times 0.30 MPa."""
    _, row = floors(width_mm=10, depth_mm=15)
    assert row.plate.stress_mpa == pytest.approx(0.30, rel=0.01)
    assert row.notch_factor == pytest.approx(3.75)
    assert row.stress_mpa == pytest.approx(1.125, rel=0.01)


@pytest.mark.parametrize(("width", "depth"), [(40, 19), (40, 9), (10, 19.6), (6, 5)])
def test_the_floor_asked_for_bears_just_what_is_allowed(width: float, depth: float) -> None:
    document, row = floors(width_mm=width, depth_mm=depth)
    plain = to_plain(document)
    for more, holds in ((0.011, True), (-0.02, False)):
        plain["plate"]["body_thickness_mm"] = depth + row.needed_mm + more
        changed = from_plain(plain)
        now = next(one for one in floor_report(changed, build(changed)) if one.load.name == "test")
        assert (now.stress_mpa <= now.load.design_stress_mpa) is holds


def tie(pressure_kpa: float, span: Span, depth: float, left: float, limit: float) -> float:
    return tie_n_mm(span, depth, left, Load("test", pressure_kpa, limit, 2800.0))


def test_the_walls_that_a_channel_pushes_apart_by_hand() -> None:
    """10 wide, 15 deep, 5 of floor, 40 kPa, 5 MPa allowed (statics). Beside the corner the floor bears 5 / 3.75 MPa, of
    which coolant and pull take 0.5 · 0.04 · 10²/5² + 0.04 · 15/5 = 0.20: 1.1333 · 5²/6 = 4.722 N mm/mm are left. Folded
    open it bears 0.04 · 15 · (15/2 + 5/2) = 6. Ties at the upper edge, 15 + 2.5 above its middle, take the rest."""
    strip = Span(10.0, math.inf, (0.0, 0.0))
    assert tie(40, strip, 15, 5, 5.0) == pytest.approx(1.278 / 17.5, rel=2e-3)
    assert tie(32, strip, 15, 5, 5.0) == 0.0  # 4.8 against 4.889
    assert tie(200, strip, 15, 5, 5.0) > 0.0
    assert tie(400, strip, 15, 5, 5.0) == 0.0  # too thin even when it is tied: the floor's own rule speaks


def test_a_floor_that_is_folded_open_is_as_a_frame_says() -> None:
    """A second way: the half section as a free body. The wall's push q h, at h/2 over the floor's face, and the floor's
    own pull q h at its middle make a couple of arm (h + t)/2; a tie T over the middle by h + t/2 lessens it. Summed
    over small pieces of the wall."""
    q, h, t = 0.05, 12.0, 4.0
    rows = np.arange(1000) + 0.5
    couple = float((q * h / 1000 * (rows * h / 1000 + t / 2)).sum())
    strip = Span(8.0, math.inf, (0.0, 0.0))
    load = Load("test", 1000 * q, 6.0, 2800.0)
    result, factor = floor_stress(strip, h, t, load)
    force = tie_n_mm(strip, h, t, load)
    assert force > 0
    folded = couple - force * (h + t / 2)
    assert factor * (result.stress_mpa + 6 * folded / t**2) == pytest.approx(6.0, rel=1e-6)


def screwed(apart: float, pressure: float = 50.0, **told: float) -> Document:
    """A channel 10 wide with lid screws beside it, so far apart."""
    sides = [(100 - 20 + k * apart, 150 + side * 17) for k in range(int(140 / apart) + 1) for side in (-1, 1)]
    holes = [
        hole(f"L{n}", x, y, kind="tapped", use="lid", face="bottom", depth_mm=21) for n, (x, y) in enumerate(sides)
    ]
    c1 = channel("C1", (100, 150), (200, 150), width_mm=10, **told)
    return plate(channels=[c1], holes=holes, loop={"test_pressure_kpa": pressure}, seal={"insert_pull_n": 700})


def test_screws_press_as_much_more_as_ties_the_walls_by_friction() -> None:
    """At 0.2 each newton of tie takes five of preload, on the length that a screw holds; the thick floor takes none."""
    for depth, some in ((15.0, True), (8.0, False)):
        document = screwed(40, depth_mm=depth)
        report = lid_report(document, build(document))
        torque = torque_of(document, report)
        assert torque is not None
        shares = {load.id: load.share_mm for row in report.clamped for load in row.clamping.loads}
        assert (report.tie_n_mm > 0) is some
        for window in torque.windows:
            assert window.tie_n == pytest.approx(5 * report.tie_n_mm * shares[window.id])
            assert window.least_n_m == pytest.approx(0.3 * (window.pull_n + window.tie_n) / 0.7 * 0.004)


def test_where_screws_cannot_tie_the_walls_it_is_told() -> None:
    """300 kPa in a channel 12 deep over a floor of 8: the walls push with 36 N mm/mm, of which the floor bears half.
    Inserts of 700 N bear the pull, and not the tie beyond it; over a floor of 12 there is none."""
    for depth, tied in ((12, True), (8, False)):
        told = [one for one in run(screwed(40, 300, depth_mm=depth), fixes=False) if one.rule == "screw-torque"]
        assert any("tie the walls" in one.message for one in told) is tied
        assert any(one.level == "error" for one in told) is tied
