"""Rules of the seal, the lid, heights and the life of the loop: each finds its slip with the measure by hand."""

import json
import math
import re
from pathlib import Path

import pytest

from sketcher import findings
from sketcher.checks import all_rules, hold_height, hold_lid, hold_life, hold_screw_edge, hold_screws, hold_seal, run
from sketcher.checks.fixes import with_fix
from sketcher.document import Document, from_plain, to_plain
from sketcher.findings import Finding
from sketcher.geometry import build
from sketcher.strength.lid import lid_report
from sketcher.strength.lid_screws import SCREW_EDGE_MM, WALLS_MM
from sketcher.strength.screw_design import design_screws
from tests.checks.plates import channel, circle, found, measured, plate, rectangle

C1 = channel("C1", (100, 150), (200, 150), width_mm=10)
PUMP = {"id": "PU", "kind": "pump", "curve": [{"flow_l_min": 0, "pressure_kpa": 60}]}


def hole(id_: str, x: float, y: float, **more):
    return {"id": id_, "x_mm": x, "y_mm": y, **more}


def lid_screw(id_: str, x: float, y: float, depth: float = 14.7):
    return hole(id_, x, y, kind="tapped", use="lid", face="bottom", depth_mm=depth)


def port(id_: str, x: float, y: float, **more):
    return {"id": id_, "x_mm": x, "y_mm": y, **more}


def screwed(document: Document) -> Document:
    """The document with its lid screws placed by rule."""
    plain = to_plain(document)
    proposed = design_screws(document, build(document)).holes
    holes = [{"id": f"L{i}", **one.as_json()} for i, one in enumerate(proposed)]
    plain["holes"] = [*plain.get("holes", []), *holes]
    return from_plain(plain)


SLIPS = [
    # 1.9 of cord in 1.8 + 0.05 of groove: 0.05 / 1.9.
    ("seal-squeeze-least", plate(seal={"squeeze_percent": 10}, channels=[C1]), set(), 100 * 0.05 / 1.9),
    # 2.1 of cord in 1.3 - 0.05.
    ("seal-squeeze-most", plate(seal={"squeeze_percent": 35}, channels=[C1]), set(), 100 * (2.1 - 1.25) / 2.1),
    # 2.1 of cord in (1.5 - 0.05) by (2.35 - 0.1): width π/(1.5 · 0.9) = 2.327, to 0.05.
    (
        "seal-fill",
        plate(seal={"fill_percent": 90}, channels=[C1]),
        set(),
        100 * math.pi * 2.1**2 / 4 / (1.45 * 2.25),
    ),
    ("seal-cutter", plate(shop={"cutter_diameters_mm": [3, 4]}, channels=[C1]), set(), 2.8),
    # Water's edge at 155, the hole's at 161 - 2.25 = 158.75.
    ("seal-wall", plate(channels=[C1], holes=[hole("H1", 150, 161)]), {"C1", "H1"}, 3.75),
    # Water's edge at y = 55, the plate's at 50.
    ("seal-wall", plate(channels=[channel("C1", (100, 60), (200, 60), width_mm=10)]), {"C1"}, 5.0),
    # An edge port at mid-body 16, thread down to 16 - 13.157/2 = 9.4215; the groove reaches up to 6 + 2.4.
    (
        "seal-under",
        plate(
            seal={"cord_mm": 3.2},
            ports=[port("P1", 50, 150, face="edge", bore_depth_mm=14)],
            channels=[channel("C1", (200, 150), start="P1")],
        ),
        {"C1", "P1"},
        16 - 13.157 / 2 - 6 - 2.4,
    ),
    ("screw-none", plate(channels=[C1]), set(), None),
    # Two screws for a groove of a long channel: 120 mm apart.
    (
        "screw-pitch",
        plate(channels=[C1], holes=[lid_screw("L1", 90, 164.1), lid_screw("L2", 210, 164.1)]),
        {"L1", "L2"},
        120.0,
    ),
    # The plate's rear edge lies at y = 250: an M4 whose axis is 5 mm from it, 1.25 diameters.
    ("screw-edge", plate(channels=[C1], holes=[lid_screw("L1", 150, 245)]), {"L1"}, 1.25),
    # A bottom port's fitting of 20 beside a head of 7: 13 - 10 - 3.5.
    (
        "screw-head",
        plate(
            channels=[C1],
            ports=[port("P1", 250, 150, face="bottom", thread_depth_mm=5)],
            holes=[lid_screw("L1", 263, 150)],
        ),
        {"L1", "P1"},
        -0.5,
    ),
    # Thread 0.5 mm deep holds next to nothing.
    (
        "screw-load",
        plate(channels=[C1], holes=[lid_screw("L1", 90, 164.1, 8.0), lid_screw("L2", 210, 135.9, 8.0)]),
        None,
        None,
    ),
    # 11 mm from the lid's face: 5 in the body, less 3.8 of run-out (DIN 76-1), over a diameter of 4.
    (
        "screw-thread",
        plate(channels=[C1], holes=[lid_screw("L1", 90, 164.1, 11.0), lid_screw("L2", 210, 135.9, 17.0)]),
        {"L1", "L2"},
        1.2 / 4,
    ),
    # 24 mm from the lid's face: 18 of the body's 20, and a point of 3.3 / 2 / tan 59 degrees.
    (
        "screw-floor",
        plate(channels=[C1], holes=[lid_screw("L1", 90, 164.1, 24.0), lid_screw("L2", 210, 135.9)]),
        {"L1"},
        2 - 3.3 / 2 / math.tan(math.radians(59)),
    ),
    (
        "screw-torque",
        plate(channels=[C1], holes=[lid_screw("L1", 90, 164.1, 12.0), lid_screw("L2", 210, 135.9, 12.0)]),
        None,
        None,
    ),
    (
        "lid-squeeze",
        plate(
            plate={"lid_thickness_mm": 2},
            channels=[C1],
            holes=[lid_screw("L1", 90, 164.1), lid_screw("L2", 210, 135.9)],
        ),
        None,
        None,
    ),
    # A wide pool under a thin lid.
    (
        "lid-stress",
        plate(plate={"lid_thickness_mm": 2}, channels=[channel("C1", (120, 150), (280, 150), width_mm=80)]),
        {"C1"},
        None,
    ),
    (
        "lid-deflection",
        plate(plate={"lid_thickness_mm": 2}, channels=[channel("C1", (120, 150), (280, 150), width_mm=80)]),
        {"C1"},
        None,
    ),
    # 1 mm of floor under a channel 40 wide at 60 kPa: 0.5 · 0.06 · 40²/1 = 48 MPa before the notch.
    (
        "floor-stress",
        plate(devices=[PUMP], channels=[channel("C1", (120, 150), (280, 150), width_mm=40, depth_mm=19)]),
        {"C1"},
        None,
    ),
    ("material-unknown", plate(plate={"material": "moon rock"}, channels=[C1]), set(), None),
    # 2 mm of thread less one pitch of run-out.
    ("thread-engagement", plate(ports=[port("P1", 150, 150, thread_depth_mm=2)]), {"P1"}, None),
    # A long lever on a short thread.
    (
        "port-side-load",
        plate(ports=[port("P1", 150, 150)], loop={"fitting_straight_mm": 200}),
        {"P1"},
        None,
    ),
    # Two holes 280 apart, water limit 50 and room 25: 280 · 80e-6 · 25 = 0.56; play (4.5 - 4)/2.
    ("mount-expansion", plate(holes=[hole("H1", 60, 150), hole("H2", 340, 150)]), {"H2"}, 0.25),
    # 2 · 0.2 · (80/300)² over 0.5 mm of cord.
    (
        "seal-flatness",
        plate(
            seal={"cord_mm": 0.5, "cord_tolerance_mm": 0.02, "depth_tolerance_mm": 0.02, "screw_pitch_mm": 80},
            channels=[C1],
        ),
        set(),
        100 * 2 * 0.2 * (80 / 300) ** 2 / 0.5,
    ),
    # A lying board 20 above the floor, over the plate's top at 26 - it stands at 40: 14 of room.
    (
        "height-above",
        plate(
            ports=[port("P1", 150, 150)],
            floor={
                "outline": rectangle(200, 150, 400, 300),
                "obstacles": [{"id": "O1", "outline": rectangle(150, 150, 60, 60), "bottom_mm": 40, "height_mm": 80}],
            },
        ),
        {"P1", "O1"},
        14.0,
    ),
    # The case closes at 45.
    (
        "height-above",
        plate(
            ports=[port("P1", 150, 150)],
            floor={"outline": rectangle(200, 150, 400, 300), "clear_height_mm": 45},
        ),
        {"P1"},
        19.0,
    ),
    # A device port at 36, the plate's top at 26.
    (
        "drop-too-short",
        plate(
            ports=[port("P1", 150, 150, serves="D1.in")],
            devices=[{"id": "D1", "kind": "block", "x_mm": 150, "y_mm": 150, "z_mm": 36, "ports": [{"id": "in"}]}],
        ),
        {"P1", "D1"},
        10.0,
    ),
    # A head of 4 mm below a plate that lies 3 mm above the floor.
    ("hangs-below", plate(plate={"z_mm": 3}, channels=[C1], holes=[lid_screw("L1", 90, 164.1)]), {"L1"}, -1.0),
    # A bottom port needs 25 mm.
    (
        "hangs-below",
        plate(plate={"z_mm": 10}, ports=[port("P1", 150, 150, face="bottom", thread_depth_mm=5)]),
        {"P1"},
        -15.0,
    ),
    ("loop-fill", plate(channels=[C1]), set(), None),
    ("loop-drain", plate(channels=[C1]), set(), None),
    # An edge port's bore of 11.8 at mid-body 16 reaches 21.9; the ceiling of a channel 18 deep is at 24.
    (
        "air-standing",
        plate(
            ports=[port("P1", 50, 150, face="edge", bore_depth_mm=30, level_mm=12)],
            channels=[channel("C1", (200, 150), start="P1", depth_mm=18)],
        ),
        {"C1"},
        24 - 12 - 5.9,
    ),
    # An arch to the right, ports at x = 100, top at x = 200: 100 mm of air when the right side is up.
    (
        "air-lying",
        plate(
            ports=[port("P1", 100, 120), port("P2", 100, 180)],
            channels=[channel("C1", (200, 120), (200, 180), start="P1", end="P2", bend_radius_mm=0)],
        ),
        {"C1"},
        100.0,
    ),
    (
        "metals-dissimilar",
        plate(
            devices=[
                {"id": "D1", "kind": "block", "metal": "copper"},
                {"id": "D2", "kind": "radiator", "metal": "aluminium"},
            ]
        ),
        {"D1", "D2"},
        0.55,
    ),
    (
        "metals-dissimilar",
        plate(
            plate={"material": "aluminium"}, channels=[C1], devices=[{"id": "D1", "kind": "block", "metal": "copper"}]
        ),
        {"D1"},
        0.55,
    ),
    (
        "coolant-plate",
        plate(loop={"coolant": {"kind": "propylene-glycol", "strength_percent": 20}}),
        set(),
        None,
    ),
    (
        "cord-coolant",
        plate(
            seal={"cord_material": "NBR"},
            loop={"coolant": {"kind": "ethylene-glycol", "strength_percent": 20}},
            channels=[C1],
        ),
        set(),
        None,
    ),
    ("material-extruded", plate(plate={"material": "extruded acrylic"}, channels=[C1]), set(), None),
    ("material-anneal", plate(channels=[C1]), set(), None),
    # 50 kPa against a pump of 60 at no flow.
    ("test-pressure", plate(devices=[PUMP], loop={"test_pressure_kpa": 50}), set(), 50 / 60),
    ("coolant-hot", plate(loop={"water_limit_c": 90}), set(), 90.0),
    # A fitting of 20 at 150, a pocket whose side is at 161.
    (
        "pocket-wet",
        plate(
            ports=[port("P1", 150, 150)],
            pockets=[{"id": "R1", "outline": rectangle(171, 150, 20, 20), "depth_mm": 3}],
        ),
        {"R1", "P1"},
        1.0,
    ),
    ("seal-impossible", plate(seal={"cord_mm": 40}, channels=[C1]), set(), None),
]


@pytest.mark.parametrize(("rule", "document", "items", "value"), SLIPS, ids=[slip[0] for slip in SLIPS])
def test_the_slip_is_found_and_measured(rule, document, items, value) -> None:
    hits = [finding for finding in measured(document, rule) if items is None or set(finding.items) == items]
    assert hits
    if value is not None:
        assert min(abs(finding.value - value) for finding in hits) < 0.05
    for finding in hits:
        assert finding.message.endswith(".")
        assert finding.remedy.endswith(".")
        for number in (finding.value, finding.limit):
            assert number is None or math.isfinite(number)


#: ``seal-bend`` and ``seal-joint`` have tests of their own below.
ELSEWHERE = {"seal-bend", "seal-joint"}


def test_a_lid_that_bulges_under_both_loads_is_told_once() -> None:
    """One thickness is the remedy for both. 80 mm of coolant under 2 mm of lid bulge by more than 0.2 under each."""
    document = plate(plate={"lid_thickness_mm": 2}, channels=[channel("C1", (120, 150), (280, 150), width_mm=80)])
    lids = [row for row in lid_report(document, build(document)).bent if row.what == "lid"]
    assert len(lids) == 2
    assert all(row.plate.deflection_mm > 0.2 for row in lids)
    assert len(measured(document, "lid-deflection")) == 1
    assert len(found(document, "lid-stress")) == 1
    assert not found(document, "lid-deflection")


def test_every_rule_here_has_a_slip() -> None:
    modules = {
        module.__name__ for module in (hold_seal, hold_screws, hold_screw_edge, hold_lid, hold_height, hold_life)
    }
    rules = {rule.name for rule in all_rules() if findings.home_of(rule.name) in modules}
    assert rules - {slip[0] for slip in SLIPS} == ELSEWHERE


def test_a_sound_plate_says_nothing_of_these() -> None:
    document = screwed(
        plate(
            plate={"z_mm": 6, "annealed": True},
            ports=[
                port("P1", 100, 150, use="fill"),
                port("P2", 200, 150, use="loop"),
                port("P3", 50, 250, face="edge", use="drain", thread=None, bore_diameter_mm=4, heading_deg=0),
            ],
            channels=[channel("C1", start="P1", end="P2")],
            holes=[hole("H1", 60, 60)],
        )
    )
    modules = {
        module.__name__ for module in (hold_seal, hold_screws, hold_screw_edge, hold_lid, hold_height, hold_life)
    }
    assert [f.message for f in run(document) if findings.home_of(f.rule) in modules] == []


def test_the_fix_of_the_edge_port_does_away_with_its_finding() -> None:
    """In a body of 26 mm there is room above the port; in one of 20 mm the fix would bring other findings."""
    rule, thin, _, _ = next(slip for slip in SLIPS if slip[0] == "seal-under")
    (refused,) = found(thin, rule)
    assert refused.fix is None
    document = plate(
        plate={"body_thickness_mm": 26},
        seal={"cord_mm": 3.2},
        ports=[port("P1", 50, 150, face="edge", bore_depth_mm=14, level_mm=16)],
        channels=[channel("C1", (200, 150), start="P1")],
    )
    (finding,) = found(document, rule)
    assert finding.fix is not None
    assert found(with_fix(document, finding.fix), rule) == []


def test_what_is_in_the_grooves_way_is_moved_by_what_is_missing() -> None:
    """3.75 mm of the 6.8 that wall, groove and wall need: the hole moves 3.05 mm straight away, and no rule minds."""
    document = plate(channels=[C1], holes=[hole("H1", 150, 161)])
    (finding,) = found(document, "seal-wall")
    assert finding.fix is not None
    moved = with_fix(document, finding.fix)
    assert (moved.holes[0].x_mm, moved.holes[0].y_mm) == pytest.approx((150, 164.11), abs=0.02)
    assert found(moved, "seal-wall") == []


def test_a_screw_between_two_legs_leaves_no_room_for_the_cords_bend() -> None:
    """Two legs of one channel 26 apart, 8 wide: 18 mm between, and the groove joins across a screw in the middle."""
    legs = channel("C1", (100, 140), (200, 140), (200, 166), (100, 166), bend_radius_mm=10)
    document = plate(channels=[legs], holes=[hole("H1", 150, 153, screw="M2")])
    (finding,) = found(document, "seal-bend")
    assert finding.items == ("C1", "H1")
    assert finding.value is not None
    assert finding.limit is not None
    assert finding.value < finding.limit


def test_a_groove_without_a_straight_run_has_no_good_place_for_the_joint() -> None:
    """A short channel between two ports is all bends: 2 mm of straight, 1 to either side of the middle."""
    short = channel("C1", (150, 150), (152, 150), width_mm=14)
    (finding,) = found(plate(channels=[short]), "seal-joint")
    assert finding.value == pytest.approx(1.0, abs=0.05)
    assert not found(plate(channels=[C1]), "seal-joint")


def test_a_joint_among_screws_is_told() -> None:
    """Screws every 6 mm along both straights, 5.7 from the centreline: midway an axis is hypot(5.7, 3) = 6.4
    away, nearer than half a head of 7 past the line that screws stand on: hypot(5.65, 3.5) = 6.65."""
    away = 5 + 2 + 1.4 + 5.7
    screw = {"kind": "tapped", "screw": "M4", "use": "lid", "face": "top", "depth_mm": 21.8}
    rows = [(x, 150 + side * away) for side in (-1, 1) for x in range(98, 204, 6)]
    holes = [{"id": f"S{k}", "x_mm": x, "y_mm": y, **screw} for k, (x, y) in enumerate(rows)]
    document = plate(channels=[channel("C1", (100, 150), (200, 150), width_mm=10)], holes=holes)
    (finding,) = found(document, "seal-joint")
    assert finding.value == pytest.approx(math.hypot(5.7, 3), abs=0.05)
    assert finding.limit == pytest.approx(math.hypot(5.65, 3.5), abs=0.01)


def test_a_limit_of_the_shop_goes_before_the_default() -> None:
    parts = {"ports": [port("P1", 150, 150)]}
    parts["pockets"] = [{"id": "R1", "outline": rectangle(171, 150, 20, 20), "depth_mm": 3}]
    assert found(plate(**parts), "pocket-wet")
    assert not found(plate(**parts, limits={"pocket-wet": 0.5}), "pocket-wet")


def test_what_hangs_over_an_opening_in_the_floor_may_hang() -> None:
    floor = {
        "outline": rectangle(200, 150, 400, 300),
        "openings": [{"id": "U1", "outline": circle(150, 150, 40)}],
    }
    below = [port("P1", 150, 150, face="bottom", thread_depth_mm=5)]
    assert found(plate(ports=below), "hangs-below")
    assert not found(plate(ports=below, floor=floor), "hangs-below")


def test_the_walls_around_a_screw_are_those_of_the_wall_rules() -> None:
    """The defaults of ``place_screws`` are the rules' own, and the document's limits go before them."""
    usual = hold_screws.screw_walls(findings.limits_of(plate()))
    assert usual == {**WALLS_MM, "edge": SCREW_EDGE_MM}
    assert hold_screws.screw_walls(findings.limits_of(plate(limits={"wall-channel-hole": 7})))["channel"] == 7


def test_a_pump_with_a_reservoir_is_where_the_loop_is_filled() -> None:
    pump = {"id": "D1", "kind": "pump", "x_mm": 20, "y_mm": 20, "ports": [{"id": "out"}, {"id": "in"}]}
    assert found(plate(channels=[C1], devices=[pump]), "loop-fill")
    assert not found(plate(channels=[C1], devices=[{**pump, "has_reservoir": True}]), "loop-fill")


def test_quick_leaves_the_seal_out() -> None:
    document = plate(channels=[C1])
    rules = {finding.rule for finding in run(document, quick=True)}
    assert "screw-none" not in rules
    assert "loop-fill" in rules
    assert "screw-none" in {finding.rule for finding in run(document)}


def test_the_insert_that_the_torque_asks_for_is_one_that_ends_it() -> None:
    """By trial, on the small board: an insert of the pull that the remedy names, and one a little weaker. Where the
    plastic under the washer does not bear it either, no insert is named: one of 100 kN would change nothing."""
    plain = json.loads((Path(__file__).parents[2] / "examples" / "small-board.json").read_text("utf-8"))

    def found_with(pull_n: float, **seal: float) -> list[Finding]:
        plain["seal"] = {**plain.get("seal", {}), "insert_pull_n": pull_n, **seal}
        return [f for f in run(from_plain(plain)) if f.rule == "screw-torque"]

    for drawn, level in ((300, "error"), (500, "warning")):
        (finding,) = found_with(drawn)
        assert finding.level == level
        named = int(re.search(r"at least (\d+) N", finding.remedy)[1])
        assert level not in {f.level for f in found_with(named)}
        # It is rounded up to ten newtons.
        assert level in {f.level for f in found_with(named - 11)}
    (hard,) = found_with(900, hardness_shore_a=75)
    assert "inserts" not in hard.remedy
    assert found_with(100_000)
