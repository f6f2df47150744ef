"""The floor under a channel: sums by hand, and that the thickness asked for bears just what is allowed."""

from __future__ import annotations

import pytest

from sketcher.document import from_plain, to_plain
from sketcher.geometry import build
from sketcher.strength.lid import floor_report
from tests.checks.plates import channel, plate


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
