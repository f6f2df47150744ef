"""The lid over its sheet's tolerance: the program's scaling against lids solved at both thicknesses; sums by hand."""

from __future__ import annotations

import pytest

from sketcher.document import Document, from_plain, to_plain
from sketcher.geometry import build
from sketcher.strength.lid import lid_report
from sketcher.strength.over_sheet import PULL_SHARE, over_sheet
from sketcher.strength.screw_design import design_lid
from sketcher.strength.seal import design_seal
from tests.checks.plates import channel, found, plate

C1 = channel("C1", (100, 150), (200, 150), width_mm=10)


def screwed(lid: float, **plate_keys) -> Document:
    bare = plate(channels=[C1], seal={"hardness_shore_a": 50}, plate={"lid_thickness_mm": lid, **plate_keys})
    plain = to_plain(bare)
    holes = design_lid(bare, build(bare)).holes
    return from_plain({**plain, "holes": [{"id": f"L{i}", **hole.as_json()} for i, hole in enumerate(holes)]})


def as_thick_as(document: Document, lid: float) -> Document:
    """The same body and screws under another lid."""
    plain = to_plain(document)
    more = lid - plain["plate"]["lid_thickness_mm"]
    plain["plate"]["lid_thickness_mm"] = lid
    plain["holes"] = [{**hole, "depth_mm": hole["depth_mm"] + more} for hole in plain["holes"]]
    return from_plain(plain)


@pytest.mark.parametrize("lid", [6.0, 10.0])
def test_a_thin_lid_is_as_if_it_were_solved_thin(lid: float) -> None:
    """ISO 7823-1: cast sheet is 0.4 mm and a tenth thinner at most. Stress and lift by a second solution."""
    document = screwed(lid)
    seal = design_seal(document, build(document))
    told = over_sheet(document, seal, lid_report(document, build(document), seal))
    assert told.thinnest_mm == pytest.approx(0.9 * lid - 0.4)
    thin = as_thick_as(document, told.thinnest_mm)
    solved = lid_report(thin, build(thin))
    assert told.bent is not None
    assert told.lifted is not None
    assert told.pulled is not None
    assert told.bent[1] == pytest.approx(max(row.stress_mpa for row in solved.bent if row.what == "lid"), rel=0.05)
    assert told.lifted[1] == pytest.approx(min(row.squeeze_left or 0.0 for row in solved.clamped), abs=0.005)
    pulls = [max(load.total_n for load in row.clamping.loads) for row in solved.clamped]
    assert max(pulls) <= told.pulled[2] <= 1.05 * PULL_SHARE * max(pulls)


def test_screws_over_the_tolerance_by_hand() -> None:
    """A lid of 8 is 6.8 to 9.2 (ISO 7823-1). M4 x 20 with a washer of 0.8 in 12 mm of thread: under 9.2 it engages 10,
    under 6.8 it would go 12.4 deep, 0.4 too far."""
    document = screwed(8.0)
    told = over_sheet(document, design_seal(document, build(document)), lid_report(document, build(document)))
    assert (told.thinnest_mm, told.thickest_mm) == pytest.approx((6.8, 9.2))
    assert told.stock_mm == 20
    assert told.engaged_mm == pytest.approx(10.0)
    assert told.short_mm == pytest.approx(0.4)
    said = [finding.message for finding in found(document, "lid-sheet")]
    assert any("M4 x 20 meet the end of their thread 0.4 mm before" in words for words in said)


def test_a_measured_lid_is_as_thick_as_it_is() -> None:
    assert not found(screwed(8.0, lid_thickness_is="measured"), "lid-sheet")
    assert found(screwed(8.0), "lid-sheet")
