"""Blind taps, torque and test pressure, each by hand."""

import math

import pytest

from sketcher.checks.floors import floors
from sketcher.checks.scene import Scene
from sketcher.document import Document, from_plain, to_plain
from sketcher.export.hole_table import holes
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.geometry.prisms import Cone
from sketcher.reference import screws
from sketcher.strength.lid import lid_report
from sketcher.strength.lid_screws import lid_screw_depth_mm, place_screws
from sketcher.strength.notes import sentences
from sketcher.strength.pressure_test import pressure_test
from sketcher.strength.screw_design import design_screws
from sketcher.strength.taps import design_tap, engaged_mm, point_mm, run_out_mm, stock_length_mm, tap_of, taps
from sketcher.strength.tightening import torque_of
from tests.checks.plates import channel, found, plate

C1 = channel("C1", (100, 150), (200, 150), width_mm=10)


def test_the_drills_point() -> None:
    """0.30 d at 118 degrees, a common value of handbooks; 3.3 / 2 / tan 59 is 0.9914 (plane geometry)."""
    assert point_mm(10) == pytest.approx(3.0, abs=0.05)
    assert point_mm(3.3) == pytest.approx(0.9914, abs=1e-3)


@pytest.mark.parametrize(("name", "normal", "short"), [("M3", 2.8, 1.8), ("M4", 3.8, 2.4), ("M5", 4.2, 2.7)])
def test_run_out(name: str, normal: float, short: float) -> None:
    """DIN 76-1, e1 and e2 (from memory)."""
    assert run_out_mm(screws.screw(name), "normal") == normal
    assert run_out_mm(screws.screw(name), "short") == short
    assert run_out_mm(screws.screw(name), "thread-milled") == screws.screw(name).pitch_mm


def test_a_tap_adds_up_to_the_body() -> None:
    for body in (8.0, 12.0, 15.0, 20.0):
        for kind in ("normal", "short", "thread-milled"):
            tap = design_tap(screws.screw("M4"), body, kind)
            assert tap.thread_mm + tap.run_out_mm + tap.point_mm + tap.floor_mm == pytest.approx(body)
            assert tap.floor_mm >= 2.0 - 1e-9
    # 20 mm of body: three diameters of M4, 12 mm; then 3.8, 0.99, and 3.21 of floor.
    tap = design_tap(screws.screw("M4"), 20.0, "normal")
    assert (tap.thread_mm, tap.drilled_mm) == (12.0, pytest.approx(15.8))
    assert tap.floor_mm == pytest.approx(3.21, abs=0.005)


def _screwed(**parts):
    document = plate(channels=[C1], **parts)
    holes = design_screws(document, build(document)).holes
    plain = document.model_dump(mode="json", exclude_none=True)
    plain["holes"] = [{"id": f"L{i}", **hole.as_json()} for i, hole in enumerate(holes)]
    return from_plain(plain)


def test_the_torque_window_by_hand() -> None:
    """T = K F d: the minimum with K 0.3 and 70 % of the preload left, the maximum with K 0.12."""
    document = _screwed(seal={"hardness_shore_a": 50})
    report = lid_report(document, build(document))
    torque = torque_of(document, report)
    assert torque is not None
    pull = max(load.total_n for row in report.clamped for load in row.clamping.loads)
    assert torque.least_n_m == pytest.approx(0.3 * pull / 0.7 * 0.004)
    # A lid of 6 and a washer of 0.8: a screw of 16 engages 9.2 mm of the 12 that are tapped, one of 20 reaches their
    # end. Thread of M4 (FED-STD-H28 with ISO 965-2 sizes) at 10 MPa; a washer of 9 on a hole of 4.5 at 20 MPa.
    thread = 9.2 * math.pi / 0.7 * 3.838 * (0.35 + math.tan(math.radians(30)) * (3.838 - 3.663)) * 10
    head = 20 * math.pi / 4 * (9**2 - 4.5**2)
    assert torque.most_n_m == pytest.approx(0.12 * min(thread, head) * 0.004, rel=1e-3)
    assert not torque.empty
    assert "N m" in torque.text()
    assert "24 hours" in torque.text()


@pytest.mark.parametrize(
    ("lid", "body", "stock", "engaged", "tapped"),
    [
        (8.0, 20.0, 20, 11.2, 12.0),  # 8.8 gone through; 25 would engage 16.2, and 20 mm of body have no room for that
        (6.0, 20.0, 16, 9.2, 12.0),
        (6.0, 25.0, 20, 12.0, 13.7),  # 13.2 engaged, of which three diameters count; tapped half a millimetre deeper
        (6.0, 8.0, None, None, None),  # 8 less floor 2, point 0.99 and run-out 3.8: 1.2 of thread
    ],
)
def test_the_thread_counts_as_far_as_the_stock_screw_reaches(
    lid: float, body: float, stock: int | None, engaged: float | None, tapped: float | None
) -> None:
    """Sums by hand; lengths of ISO 4762 screws in steps of common stock, washer ISO 7089 (0.8)."""
    document = plate(channels=[C1], plate={"body_thickness_mm": body, "lid_thickness_mm": lid})
    m4 = screws.screw("M4")
    tap = tap_of(document, lid_screw_depth_mm(document, m4), m4)
    assert stock_length_mm(document, m4, tap.thread_mm) == stock
    if engaged is None:
        assert tap.thread_mm == pytest.approx(1.2, abs=0.1)
        return
    assert tap.thread_mm == pytest.approx(tapped, abs=0.1)
    assert engaged_mm(document, m4, tap.thread_mm) == pytest.approx(engaged)


@pytest.mark.parametrize(
    ("gasket", "lid", "body", "stock", "engaged", "tapped"),
    [
        # A sheet of 1.5 may be 1.25 to 1.75. Gone through: 8 + 0.8 + 1.75 = 10.55, or with the thin one pressed by half
        # 9.425; 20 ends 10.575 deep, 1.4 before the end, and 25 would end 15.575 deep: 20 mm of body have 13.2 of room.
        (1.5, 8.0, 20.0, 20, 9.45, 12.0),
        # 2.6 to 3.4: 10.2, pressed 8.1: 20 ends 11.9 deep, more than the 11.5 that leave half a millimetre: a 16 then.
        (3.0, 6.0, 20.0, 16, 5.8, 12.0),
        # 8.55, pressed 7.425: 20 engages 11.45, under three diameters; 25 ends 17.575 deep, so 18.075 are tapped, and
        # 18.1 on a tenth, of the 18.2 that there is room for (25 less floor 2, point 0.99, run-out 3.8).
        (1.5, 6.0, 25.0, 25, 12.0, 18.1),
    ],
)
def test_a_gasket_takes_its_thickness_from_the_thread(
    gasket: float, lid: float, body: float, stock: int, engaged: float, tapped: float
) -> None:
    """Sums by hand, as above; the thickest sheet counts whole for the thread engaged, and the thinnest by half for the
    thread's end. A sheet is a tenth and 0.1 mm thicker or thinner than it is sold as (ISO 3302-1, from memory)."""
    seal = {"kind": "gasket", "gasket_mm": gasket}
    document = plate(channels=[C1], seal=seal, plate={"body_thickness_mm": body, "lid_thickness_mm": lid})
    m4 = screws.screw("M4")
    tap = tap_of(document, lid_screw_depth_mm(document, m4), m4)
    assert tap.thread_mm == pytest.approx(tapped)
    assert stock_length_mm(document, m4, tap.thread_mm) == stock
    assert engaged_mm(document, m4, tap.thread_mm) == pytest.approx(engaged)
    corded = from_plain({**to_plain(document), "seal": {"kind": "cord", "gasket_mm": gasket}})
    assert engaged_mm(corded, m4, 12.0) == pytest.approx({8.0: 11.2, 6.0: 9.2}[lid])  # a cord lies in its groove


def test_a_gasket_that_leaves_too_little_thread_is_no_yes() -> None:
    """M4 x 20 under 8 of lid, 0.8 of washer and 8 of gasket, which may be 8.9, engages 2.3 of its 12 mm, under 1 of
    gasket, which may be 1.2, 10.0; what a thread holds goes with its length (FED-STD-H28). At 7.1 and
    pressed by half, the thick one lets it end 7.65 mm deep; 25 would end 12.65 deep, beyond the thread's end."""
    seal = {"kind": "gasket"}
    bare = plate(channels=[C1], seal=seal, plate={"body_thickness_mm": 20, "lid_thickness_mm": 8})
    thin = screwed_as(bare, 1.0)
    thick = screwed_as(bare, 8.0)
    long, short = (lid_report(made, build(made)).clamped[0] for made in (thin, thick))
    assert (long.screw_thread_mm, short.screw_thread_mm) == pytest.approx((10.0, 2.3))
    assert short.thread_n == pytest.approx(long.thread_n * 2.3 / 10.0)
    # The lid of 8 is 9.2 at its thickest (ISO 7823-1): 1.1 is left there.
    assert not found(thin, "lid-sheet")
    (finding,) = found(thick, "lid-sheet")
    assert "which engage 1.1 mm of thread under 9.2 mm" in finding.message


def screwed_as(bare: Document, gasket_mm: float) -> Document:
    """The screws that hold a thin gasket, 12 mm tapped, with a gasket of this thickness."""
    holes = [
        {"id": f"L{i}", **hole.as_json(), "depth_mm": 23.8} for i, hole in enumerate(place_screws(bare, build(bare)))
    ]
    plain = to_plain(bare)
    return from_plain({**plain, "holes": holes, "seal": {**plain["seal"], "gasket_mm": gasket_mm}})


def test_inserts_carry_what_their_maker_says() -> None:
    document = _screwed(seal={"hardness_shore_a": 50, "insert_pull_n": 600})
    torque = torque_of(document, lid_report(document, build(document)))
    assert torque is not None
    assert torque.most_n_m == pytest.approx(0.12 * 600 * 0.004)
    assert {window.limited_by for window in torque.windows} == {"insert"}


def test_a_tap_is_read_back_from_the_drilled_depth() -> None:
    document = plate(channels=[C1])
    tap = tap_of(document, 6.0 + 15.8, screws.screw("M4"))
    assert tap.thread_mm == pytest.approx(12.0)
    assert tap.floor_mm == pytest.approx(3.21, abs=0.005)
    assert "run-out 3.8)" in tap.text()
    assert "118 degree point 1.0" in tap.text()


def test_the_drills_point_is_the_same_in_rules_table_floors_and_sheets() -> None:
    """One hole by hand: 21.8 from the lid's face is 15.8 in the body of 20; a 3.3 drill's point is 0.99, so 3.21 are
    left. With a flat bottom 4.2 are left, and nothing is said of a point; a drill of 3.4 has a point of 1.02."""
    hole = {"id": "L1", "x_mm": 90, "y_mm": 164.1, "kind": "tapped", "use": "lid", "depth_mm": 21.8}
    for changes, floor, ends in (
        ({}, 3.209, "point 118°"),
        ({"drill_end": "flat"}, 4.2, "flat bottom"),
        ({"diameter_mm": 3.4}, 3.178, "point 118°"),
    ):
        document = plate(channels=[C1], holes=[{**hole, "face": "bottom", **changes}])
        shapes = build(document)
        tap = taps(document)["L1"]
        assert tap.floor_mm == pytest.approx(floor, abs=1e-3)
        (left,) = [row for row in floors(Scene(shapes, limits_of(document))) if row.family == "hole"]
        assert left.value == pytest.approx(floor, abs=1e-3)
        body = next(row for row in holes(document, shapes) if row.part == "body" and row.id == "L1")
        assert body.form == ends
        assert body.thread_depth == pytest.approx(12.0)
        cones = [prism for prism in shapes.holes["L1"].further if isinstance(prism.solid, Cone)]
        assert [prism.high - prism.low for prism in cones] == pytest.approx(
            [4.2 - floor] if floor < 4.2 else [], abs=1e-3
        )
        assert any(ends.replace("point 118°", "118 degree point") in said for said in sentences(document, shapes))


def test_a_milled_thread_is_said_where_it_is_assumed() -> None:
    document = plate(channels=[C1], seal={"run_out": "thread-milled"})
    tap = tap_of(document, 6.0 + 12.7, screws.screw("M4"))
    assert tap.thread_mm == pytest.approx(12.0)
    assert "thread milled" in tap.text()


def test_the_test_pressure_says_its_reason() -> None:
    """1.5 times the pressure at no flow: ASME B31.3, section 345."""
    pump = {"id": "PU", "kind": "pump", "curve": [{"flow_l_min": 0, "pressure_kpa": 40}]}
    low = pressure_test(plate(devices=[pump], loop={"test_pressure_kpa": 50}))
    assert (low.needed_kpa, low.enough) == (60.0, False)
    high = pressure_test(plate(devices=[pump], loop={"test_pressure_kpa": 60}))
    assert high.enough
    assert "60 kPa (0.60 bar)" in high.text()
    assert "1.5 times 40 kPa" in high.text()
