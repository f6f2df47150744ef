"""What once was green because nobody asked: threads that are not there, screws that hold nothing, limits of nothing.

Sizes are the tables': M4 is 4 outside and 3.242 inside (ISO 724), goes through 4.5 (ISO 273); heads of M6 and M8 are 10
and 13 wide (ISO 4762), their holes 6.6 and 9; G1/4 is 13.157 outside and 11.445 inside (ISO 228-1).
"""

import pytest

from sketcher.checks import run
from sketcher.checks.fixes import with_fix
from sketcher.document import from_plain, to_plain
from sketcher.geometry import build
from sketcher.strength.lid import USUAL_DEAD_HEAD_KPA, dead_head_kpa, lid_report
from tests.checks.plates import channel, circle, measured, plate, rectangle

C1 = channel("C1", (100, 150), (200, 150), width_mm=10)
AT_PORT = channel("C1", (200, 150), start="P1")


def hole(id_: str, x: float, y: float, **more):
    return {"id": id_, "x_mm": x, "y_mm": y, **more}


def lid_screw(id_: str, x: float, y: float, **more):
    return hole(id_, x, y, **{"kind": "tapped", "use": "lid", "face": "bottom", "depth_mm": 18, **more})


def port(**more):
    return plate(ports=[{"id": "P1", "x_mm": 100, "y_mm": 150, **more}], channels=[AT_PORT])


PLACES = [(90, 165), (150, 165), (210, 165), (90, 135), (150, 135), (210, 135)]


def around(**more):
    return [lid_screw(f"S{k}", x, y, **more) for k, (x, y) in enumerate(PLACES)]


ASKED = [
    ("hole-size", plate(holes=[hole("H1", 100, 150, diameter_mm=4.0)]), 4.0),
    # 65 % of the thread's height: 4 - 0.65 (4 - 3.242).
    ("hole-size", plate(holes=[hole("H1", 100, 150, kind="tapped", diameter_mm=3.6)]), 3.5073),
    ("hole-size", plate(holes=[hole("H1", 100, 150, kind="tapped", diameter_mm=3.0)]), 3.142),
    ("screw-side", plate(channels=[C1], holes=around(face="top")), None),
    ("screw-side", plate(channels=[C1], holes=around(kind="through", depth_mm=None)), None),
    ("screw-size", plate(channels=[C1], holes=around(screw="M2.5")), None),
    ("name-unknown", plate(channels=[C1], seal={"screw": "M7"}, holes=around()), None),
    ("port-marker", port(thread=None), None),
    # 13.157 - 0.65 (13.157 - 11.445).
    ("bore-thread", port(bore_diameter_mm=12.5), 12.0442),
    ("fitting-size", port(fitting_diameter_mm=15), 1.0),
    # Webs of 3.1 between the holes, but heads of 10 and 13 mm.
    ("head-blocked", plate(holes=[hole("H1", 100, 150, screw="M6"), hole("H2", 109.7, 150, screw="M6")]), 0.0),
    ("head-blocked", plate(holes=[hole("H1", 100, 150, screw="M8"), hole("H2", 112.1, 150, screw="M8")]), 0.0),
    ("above-ceiling", plate(floor={"outline": rectangle(200, 150, 400, 300), "clear_height_mm": 29},
                            holes=[hole("H1", 100, 150)]), 0.0),
    # Touching is an error, whatever limit was typed in.
    ("wall-hole-hole", plate(limits={"wall-hole-hole": 0}, holes=[hole("H1", 100, 150), hole("H2", 104.5, 150)]), None),
    ("wall-channel-cutout", plate(limits={"wall-channel-cutout": 0}, channels=[C1],
                                  cutouts=[{"id": "K1", "outline": rectangle(150, 165, 20, 20)}]), None),
    ("wall-cutout-edge", plate(limits={"wall-cutout-edge": 0},
                               cutouts=[{"id": "K1", "outline": circle(60, 150, 20)}]), None),
    ("depth-under-channel", plate(limits={"depth-under-channel": 0},
                                  channels=[channel("C1", (100, 150), (200, 150), depth_mm=20)]), None),
]  # fmt: skip


@pytest.mark.parametrize(("rule", "document", "limit"), ASKED, ids=[f"{row[0]}-{k}" for k, row in enumerate(ASKED)])
def test_nothing_is_green_because_nobody_asked(rule, document, limit) -> None:
    found = measured(document, rule, quick=True)
    assert found
    if limit is not None:
        assert found[0].limit == pytest.approx(limit, abs=1e-3)


@pytest.mark.parametrize("holes", [[], around()[:2], around()[:3]], ids=["none", "two", "in one line"])
def test_a_groove_that_no_screws_press_is_an_error(holes) -> None:
    found = [f for f in run(plate(channels=[C1], holes=holes), fixes=False) if f.rule == "screw-none"]
    assert [f.level for f in found][:1] == ["error"]
    assert found[0].at is not None


def test_a_lid_screw_that_stands_in_a_cutout_stops_nothing() -> None:
    """It holds no lid: there is none. The walls say that it is wrong; nothing fails."""
    document = plate(channels=[C1], cutouts=[{"id": "K1", "outline": rectangle(210, 165, 20, 12)}], holes=around())
    assert "wall-cutout-hole" in {f.rule for f in run(document, fixes=False)}


def test_a_pocket_over_the_coolant_thins_the_lid_and_the_floor() -> None:
    pockets = [{"id": "R1", "outline": rectangle(150, 150, 30, 30), "depth_mm": 2, "face": "bottom"},
               {"id": "R2", "outline": rectangle(150, 150, 30, 30), "depth_mm": 4, "face": "top"}]  # fmt: skip
    aside = [{**pocket, "outline": rectangle(300, 80, 30, 30)} for pocket in pockets]
    for these, lid, floor in ((pockets, 6 - 2, 20 - 8 - 4), (aside, 6, 20 - 8)):
        document = plate(channels=[C1], holes=around(), pockets=these)
        rows = lid_report(document, build(document)).bent
        assert {row.thickness_mm for row in rows if row.what == "lid"} == {lid}
        assert {row.thickness_mm for row in rows if row.what == "floor"} == {floor}


def test_every_pump_counts_at_no_flow() -> None:
    """In series pressures add up (pump handbooks); one without a curve counts with what is assumed for one."""

    def pump(id_: str, *points):
        return {"id": id_, "kind": "pump", "curve": [{"flow_l_min": q, "pressure_kpa": p} for q, p in points]}

    def head(*pumps):
        return dead_head_kpa(plate(devices=list(pumps)))

    assert head(pump("A", (0, 30), (5, 10)), pump("B")) == 30 + USUAL_DEAD_HEAD_KPA
    # A curve that begins at 2 l/min falls by 5 kPa for each l/min: 20 + 2 * 5.
    assert head(pump("A", (2, 20), (4, 10))) == 30


def test_one_button_ends_a_group() -> None:
    document = plate(holes=[hole(f"H{k}", 80 + 20 * k, 150, diameter_mm=3.8) for k in range(4)])
    (finding,) = [f for f in run(document) if f.rule == "hole-size"]
    assert len(finding.listed) == 4
    assert finding.fix is not None
    fixed = with_fix(document, finding.fix)
    assert {h.diameter_mm for h in fixed.holes} == {4.5}
    assert not [f for f in run(from_plain(to_plain(fixed)), quick=True) if f.rule == "hole-size"]


def device(id_: str, x: float, y: float, z: float, **more):
    return {"id": id_, "kind": "other", "x_mm": x, "y_mm": y, "z_mm": z, "ports": [{"id": "p"}], **more}


#: What nobody asked before: the rule, a plate that has it, whom it names and what is measured.
SILENT = [
    # Of a device without an outline only its ports are known: 20 mm over a case of 100, and 5 mm out of it.
    ("above-ceiling", plate(floor={"outline": rectangle(200, 150, 400, 300), "clear_height_mm": 100},
                            devices=[device("D1", 100, 150, 120)]), {"D1"}, -20.0),
    ("outside-case", plate(devices=[device("D1", -5, 150, 50)]), {"D1"}, -5.0),
    # A G1/4 of 13.157 (ISO 228-1) in the middle of 20 mm, of which 2.4 may be missing (ISO 7823-1).
    ("sheet-thickness", plate(ports=[hole("P1", 50, 150, face="edge")]), {"P1"}, 10 - 13.157 / 2 - 2.4),
    # A thread of 5.9 in a lid of 6, which may be 5.
    ("sheet-thickness", plate(ports=[hole("P1", 100, 150, face="bottom", thread_depth_mm=5.9)]), {"P1"}, -0.9),
    # A tube's course through a fan.
    ("tube-clearance", plate(
        ports=[hole("P1", 100, 150, serves="D1.p", tube={"points": [{"x_mm": 100, "y_mm": 150, "z_mm": 200}]})],
        devices=[device("D1", 300, 150, 200), {"id": "F1", "kind": "fan", "x_mm": 190, "y_mm": 140, "z_mm": 180,
                                               "outline": rectangle(0, 0, 40, 40), "height_mm": 25}]),
     {"P1", "F1"}, 0.0),
    # The head of a lid screw beside a fitting, where a bonded lid has no groove to design.
    ("screw-head", plate(seal={"kind": "bonded"}, ports=[hole("P1", 100, 150, face="bottom", thread_depth_mm=5)],
                         holes=[hole("H1", 112, 150, kind="tapped", use="lid", face="bottom", depth_mm=16)]),
     {"P1", "H1"}, 12 - 10 - 3.5),
]  # fmt: skip


@pytest.mark.parametrize(
    ("rule", "document", "items", "value"), SILENT, ids=[f"{row[0]}-{k}" for k, row in enumerate(SILENT)]
)
def test_what_was_silent_is_told(rule, document, items, value) -> None:
    (finding,) = [f for f in run(document, quick=True) if f.rule == rule and set(f.items) == items]
    assert finding.value == pytest.approx(value, abs=1e-3)
    assert finding.at is not None


def test_a_tube_that_is_drawn_around_is_no_port_beside_its_drop() -> None:
    port = hole("P1", 100, 150, serves="D1.p")
    straight = plate(ports=[port], devices=[device("D1", 300, 150, 200)])
    assert [f.rule for f in run(straight, quick=True) if f.rule == "drop-out-of-line"] == ["drop-out-of-line"]
    corner = {"points": [{"x_mm": 100, "y_mm": 150, "z_mm": 200}]}
    drawn = plate(ports=[{**port, "tube": corner}], devices=[device("D1", 300, 150, 200)])
    assert not [f for f in run(drawn, quick=True) if f.rule == "drop-out-of-line"]
