"""The lid over its sheet's tolerance: the program's scaling against lids solved at both thicknesses; sums by hand."""

from __future__ import annotations

import pytest

from sketcher.document import Document, from_plain, to_plain
from sketcher.geometry import build
from sketcher.reference import screws as screw_table
from sketcher.strength.lid import lid_report
from sketcher.strength.notes import screw_rows
from sketcher.strength.over_sheet import PULL_SHARE, over_sheet, second_washer_below_mm
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
    drawn = greatest_pull(document)
    assert greatest_pull(thin) <= PULL_SHARE * drawn <= 1.05 * PULL_SHARE * greatest_pull(thin)
    assert greatest_pull(as_thick_as(document, told.thickest_mm)) <= drawn
    part = max(load.total_n for load in told.pulled[0].clamping.loads)
    assert told.pulled[2] in (pytest.approx(part), pytest.approx(PULL_SHARE * part))


def greatest_pull(document: Document) -> float:
    """On any lid screw, N, from a solution of that lid."""
    rows = lid_report(document, build(document)).clamped
    return max(load.total_n for row in rows for load in row.clamping.loads)


def test_screws_over_the_tolerance_by_hand() -> None:
    """A lid of 8 is 6.8 to 9.2 (ISO 7823-1). M4 x 20 with a washer of 0.8 in 12 mm of thread: under 9.2 it engages 10,
    under 6.8 it would go 12.4 deep, 0.4 too far; a second washer takes 0.8 of it. It is needed below 8 less the 0.8
    that are free of thread as drawn."""
    document = screwed(8.0)
    told = over_sheet(document, design_seal(document, build(document)), lid_report(document, build(document)))
    assert (told.thinnest_mm, told.thickest_mm) == pytest.approx((6.8, 9.2))
    assert told.stock_mm == 20
    assert told.engaged_mm == pytest.approx(10.0)
    assert told.short_mm == 0
    assert second_washer_below_mm(document) == pytest.approx(7.2)
    (washers,) = [row for row in screw_rows(document, build(document)) if row[0].startswith("Washer")]
    assert washers[1] == str(2 * len(document.holes))
    assert washers[2].endswith("a second one where the lid is thinner than 7.2 mm")
    assert not found(document, "lid-sheet")


def test_a_gasket_over_the_tolerance_by_hand() -> None:
    """The same screws with a gasket of 1.5, which is 1.25 to 1.75: gone through are 10.55, with a thin sheet pressed by
    half 9.425. Under the lid of 9.2 a screw of 20 engages 8.25; under 6.8 it ends 20 - 9.425 + 1.2 = 11.775 deep, which
    is before the 12: no second washer. A gasket of 0.4, 0.26 to 0.54, leaves 12 - (20 - 8.93) = 0.93 of spare, and the
    lid may be 1.2 thinner."""
    plain = to_plain(screwed(8.0))
    for thick, engaged, below in ((1.5, 8.25, None), (0.4, 9.46, 7.07)):
        document = from_plain({**plain, "seal": {"kind": "gasket", "gasket_mm": thick}})
        told = over_sheet(document, design_seal(document, build(document)), lid_report(document, build(document)))
        assert told.stock_mm == 20
        assert told.engaged_mm == pytest.approx(engaged)
        assert told.short_mm == 0
        assert second_washer_below_mm(document) == (None if below is None else pytest.approx(below))


def test_where_two_washers_do_not_do_it_is_said() -> None:
    """A lid of 12 is 10.4 to 13.6: M4 x 25 would go 25 - 10.4 - 0.8 = 13.8 deep, with a second washer 13.0; the thread
    is 12.5 then, as deep as its stock screw and half a millimetre ask for."""
    plain = to_plain(screwed(12.0))
    plain["holes"] = [{**hole, "depth_mm": 12 + 12.7 + tap_run_out()} for hole in plain["holes"]]
    document = from_plain(plain)
    told = over_sheet(document, design_seal(document, build(document)), lid_report(document, build(document)))
    assert told.stock_mm == 25
    assert told.short_mm == pytest.approx(0.3)
    said = [finding.message for finding in found(document, "lid-sheet")]
    assert any("under 10.4 mm screws M4 x 25 meet the end of their thread 0.3 mm before" in words for words in said)


def tap_run_out() -> float:
    """From the thread to the end of the drilled cylinder, mm: DIN 76-1, normal, M4."""
    return screw_table.screw("M4").run_out_mm


def test_a_measured_lid_is_as_thick_as_it_is() -> None:
    plain = to_plain(screwed(12.0))
    plain["holes"] = [{**hole, "depth_mm": 12 + 12.7 + tap_run_out()} for hole in plain["holes"]]
    assert found(from_plain(plain), "lid-sheet")
    plain["plate"]["lid_thickness_is"] = "measured"
    assert not found(from_plain(plain), "lid-sheet")
    assert second_washer_below_mm(from_plain(plain)) is None
