"""Fixes that are certain: each ends its finding when all rules run again from nothing, and brings nothing new.

And the other way round: every rule offers one in some case, or the table here says why none is certain.
"""

from collections.abc import Callable
from pathlib import Path

import pytest

from sketcher.checks import all_rules, run, running
from sketcher.checks.by_rule import with_lid_screws
from sketcher.checks.fixes import keys, with_fix
from sketcher.checks.scene import Scene
from sketcher.document import Document, from_plain, to_plain
from sketcher.document.begin import begin
from sketcher.findings import Finding, limits_of
from sketcher.geometry import build
from tests.checks import test_limits, test_slow_limits
from tests.checks.plates import channel, circle, plate, rectangle
from tests.checks.test_holds import C1, SLIPS, hole, lid_screw, port

PORTS = [port("P1", 100, 150), port("P2", 260, 150)]
ALL = channel("C1", start="P1", end="P2")


def by_rule(**seal) -> Document:
    """A plate as the page begins it, one channel, screws by rule."""
    plain = to_plain(begin(400, 300, 20))
    plain["ports"], plain["channels"] = PORTS, [{**ALL, "width_mm": 10}]
    plain["seal"] = {"screws_by_rule": True, **seal}
    return from_plain(plain)


def pump(kpa: float) -> dict:
    curve = [{"flow_l_min": 0, "pressure_kpa": kpa}, {"flow_l_min": 5, "pressure_kpa": 0}]
    return {"id": "PU", "kind": "pump", "x_mm": 30, "y_mm": 30, "z_mm": 60, "curve": curve,
            "ports": [{"id": "a", "flow": "in"}, {"id": "b", "flow": "out"}]}  # fmt: skip


def _with_screws_of(document: Document, change: float) -> Document:
    """A plate with its screws by rule as drawn ones, each so much deeper."""
    plain = to_plain(with_lid_screws(document))
    plain["seal"] = {**plain.get("seal", {}), "screws_by_rule": False}
    for k, one in enumerate(plain["holes"]):
        one["id"], one["depth_mm"] = f"S{k + 1}", one["depth_mm"] + change
    return from_plain(plain)


#: By rule a plate with one slip, whose fix is certain.
CASES: dict[str, Callable[[], Document]] = {
    "pocket-wet": lambda: plate(ports=[port("P1", 100, 150)], limits={"wall-port-pocket": 1}, pockets=[
        {"id": "R1", "outline": rectangle(121.5, 150, 20, 20), "depth_mm": 4, "must_stay_dry": True}]),
    "screw-thread": lambda: _with_screws_of(by_rule(), -7.0),
    "screw-floor": lambda: _with_screws_of(by_rule(), 1.8),
    "test-pressure": lambda: plate(channels=[ALL], ports=PORTS, devices=[pump(45)], loop={"test_pressure_kpa": 60}),
    "thread-engagement": lambda: plate(ports=[port("P1", 150, 150, thread_depth_mm=2)]),
    "sheet-material": lambda: plate(plate={"sheet": "extruded"}, channels=[ALL], ports=PORTS),
    "mount-side": lambda: plate(plate={"z_mm": 6}, holes=[
        hole("H1", 60, 60, kind="countersunk", face="bottom"), hole("H2", 340, 60, diameter_mm=8)]),
    "mount-expansion": lambda: plate(holes=[hole("H1", 60, 150), hole("H2", 340, 150)]),
    "seal-squeeze-least": lambda: by_rule(squeeze_percent=12),
    "seal-squeeze-most": lambda: by_rule(squeeze_percent=33),
    "seal-fill": lambda: by_rule(fill_percent=88),
    "seal-flatness": lambda: by_rule(
        cord_mm=0.5, cord_tolerance_mm=0.02, depth_tolerance_mm=0.02, screw_pitch_mm=80),
    "cord-coolant": lambda: by_rule(cord_material="FKM"),
    "coolant-hot": lambda: plate(channels=[ALL], ports=PORTS, loop={"water_limit_c": 75}),
    "material-anneal": lambda: plate(channels=[ALL], ports=PORTS),
    "channel-end-open": lambda: plate(ports=PORTS, channels=[channel("C1", (258, 151), start="P1")]),
    "port-marker": lambda: plate(channels=[ALL], ports=[PORTS[0], port("P2", 260, 150, thread=None)]),
    "screw-size": lambda: plate(channels=[C1], holes=[lid_screw("L1", 150, 200) | {"screw": "M3"}]),
    "stock-thickness": lambda: plate(plate={"lid_thickness_mm": 6.2}, cutouts=[
        {"id": "K1", "outline": circle(150, 150, 20)}]),
    "height-above": lambda: plate(ports=[port("P1", 150, 150)], devices=[
        {"id": "D1", "kind": "other", "x_mm": 150, "y_mm": 150, "z_mm": 45, "height_mm": 20,
         "outline": rectangle(0, 0, 40, 40)}]),
}  # fmt: skip


def offered(document: Document, rule: str) -> Finding:
    found = [f for f in run(document) if f.rule == rule]
    assert found
    assert found[0].fix is not None, found[0]
    return found[0]


@pytest.mark.parametrize("rule", CASES)
def test_a_certain_fix_is_offered_ends_its_finding_and_brings_nothing_new(rule: str) -> None:
    document = CASES[rule]()
    finding = offered(document, rule)
    after = keys(run(with_fix(document, finding.fix), fixes=False))
    assert not after & keys([finding])
    assert {name for name, _ in after} <= {name for name, _ in keys(run(document, fixes=False))}


MORE: dict[str, Callable[[], Document]] = {
    "screw-side": lambda: plate(channels=[C1], holes=[hole("L1", 150, 200, kind="tapped", use="lid", face="top")]),
    "screw-load": lambda: _with_screws_of(by_rule(), -4.0),
    # Two legs with a screw between, where the grooves join: the cord's bend has no room.
    "seal-bend": lambda: plate(holes=[hole("H1", 150, 153, screw="M2")], channels=[
        channel("C1", (100, 140), (200, 140), (200, 166), (100, 166), bend_radius_mm=10)]),
}  # fmt: skip


def _of(rule: str, document: Document) -> list[Finding]:
    look = next(look for look in running._LOOKS if rule in {known.name for known in running._DESCRIBED[look]})
    return [finding for finding in look(Scene(build(document), limits_of(document))) if finding.rule == rule]


#: Of the slips of ``test_holds``, where other things are wrong too: the way that is tried ends what it is for.
ALONE = ("floor-stress", "lid-stress", "lid-deflection", "screw-side", "screw-load", "seal-bend")


@pytest.mark.parametrize("rule", ALONE)
def test_a_way_that_is_tried_ends_what_it_is_for(rule: str) -> None:
    document = MORE[rule]() if rule in MORE else next(row[1] for row in SLIPS if row[0] == rule)
    (finding, *_) = _of(rule, document)
    ways = [fix for fix in (finding.fix, *finding.other_fixes) if fix is not None]
    assert any(not _of(rule, with_fix(document, way)) for way in ways), ways


#: Rules without a button in any case, and why nothing is certain there.
BUILDERS = "what of pump, ways, devices and surroundings changes is the builder's"
NO_BUTTON = {
    "air-trapped": "where a bleed port goes is the builder's",
    **dict.fromkeys(("block-starved", "block-without-flow", "coolant-range", "flow-low", "no-pump", "no-radiator",
                     "plate-too-warm", "pump-curve-rises", "pump-dead-headed", "pump-stopped", "pumps-fight",
                     "ring-without-pump", "short-circuit", "velocity-high", "velocity-low", "water-too-warm",
                     "metals-dissimilar", "loops-separate"), BUILDERS),
    **dict.fromkeys(("assumed", "curve-doubted", "device-without-curve", "pump-curve-unknown", "outside-range",
                     "flow-uncertain", "not-settled", "coolant-plate"), "something has to be measured or asked for"),
    **dict.fromkeys(("device-backwards", "pump-reversed"), "which two channels or tubes are swapped is the builder's"),
    **dict.fromkeys(("branch-lonely", "connection-open", "dead-end", "device-unconnected", "port-unreached"),
                    "a channel is drawn or proposed, or a thing deleted"),
    **dict.fromkeys(("loop-drain", "loop-fill", "drain-high", "fill-low", "pump-dry"),
                    "which port it is, and where, is the builder's"),
    **dict.fromkeys(("clearance-chance", "landing-chance", "survey-chance"), "a chance has many causes"),
    **dict.fromkeys(("survey-loose", "survey-mirrored", "survey-shape", "survey-suspect", "survey-unusable"),
                    "something has to be measured"),
    **dict.fromkeys(("dimension-lost", "tie-unknown", "limit-unknown"), "a button sets values; this has to be deleted"),
    **dict.fromkeys(("name-unknown", "tube-size-unknown", "material-unknown"), "which name was meant is not known"),
    **dict.fromkeys(("tube-cannot-bend", "tube-landing", "tube-strain"), "a course is proposed by the search"),
    **dict.fromkeys(("unchecked-fits", "unchecked-flows", "unchecked-holds", "unchecked-made"), "the program failed"),
    **dict.fromkeys(("curve-turns", "floor-item-outside", "case-size", "case-height", "obstacle-size", "board-size",
                     "hole-off-board", "held-away", "fan-size", "fan-count", "block-height", "pump-heat", "curve-far",
                     "curve-steep", "tube-length", "recess-slight", "volume-doubted", "ports-on-device",
                     "keep-out-idle", "fitting-bore", "tube-fitting", "port-use", "port-heading", "coolant-strength",
                     "block-heat", "fitting-straight", "groove-wall", "setting-unlikely", "limit-far"),
                    "which of the figures is the slip is not known"),
    "survey-not-drawn": "the floor is drawn from the survey by a button of its own in that step",
    "material-extruded": "another sheet has to be bought",
    "mount-none": "where the mounting screws go is the builder's",
    "outline-crosses": "the outline is drawn by hand",
    "body-stress": "body, lid, screws and cord are weighed by rule",
    "plate-sag": "where a standoff may stand is the builder's",
    "port-opening": "bore, channel and depth each would do",
    "port-side-load": "the tube has to be held",
    "screw-none": "screws are placed by rule, with a button of their own in that step",
    "screw-torque": "screws, inserts and thread are weighed by rule",
    "seal-impossible": "the kind of seal is the builder's",
    "lid-sheet": "the sheet has to be measured",
    "lid-squeeze": "lid, screws and cord are weighed by rule",
}  # fmt: skip
#: Rules whose buttons have a test of their own, and where.
ELSEWHERE = {"follows-out-of-step": "test_fixes.py", "tie-moved": "../survey/test_ties.py",
             "web-stress": "test_webs.py", "web-squeeze": "test_webs.py"}  # fmt: skip


def test_every_rule_offers_a_button_in_some_case_or_there_is_a_reason_why_none_is_certain() -> None:
    in_the_tables = {case.rule for case in (*test_limits.CASES, *test_slow_limits.CASES)}
    known = in_the_tables | set(CASES) | set(ALONE)
    assert {rule.name for rule in all_rules()} - known == set(NO_BUTTON) | set(ELSEWHERE)
    for rule, file in ELSEWHERE.items():
        assert rule in (Path(__file__).parent / file).read_text(encoding="utf-8")
