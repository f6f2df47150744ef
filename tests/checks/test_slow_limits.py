"""Rules that need a designed seal, a held lid or a tube's course, at their limits, five hundredths to either side.

As ``test_limits``, worked out by hand: a 2 mm cord's groove is 2.8 wide and 1.5 deep and has walls of 2; M4 is drilled
3.3, loses 3.8 of thread to the run-out (DIN 76-1), needs 2 diameters and has its lid of 6 mm above it; acrylic of 13 mm
outside bends to 3.5 diameters (``reference/data/tubes.toml``). Only the rule itself runs: what else is told of these
plates is not asked.
"""

import math

import pytest

from sketcher.checks import running
from sketcher.checks.scene import Scene
from sketcher.document import Document
from sketcher.findings import Finding, limits_of
from sketcher.geometry import build
from tests.checks import test_limits
from tests.checks.plates import channel, plate, rectangle
from tests.checks.test_limits import POINT, STEP, STRAIGHT, TAP, Case, box, cut, hole

MEASURED = {"body_thickness_is": "measured", "lid_thickness_is": "measured"}
#: The groove's centreline beside a channel that is 8 wide.
ON_THE_LINE = 150 + 4 + 2 + 1.4
BAY = 7.4 + 3.4 + 0.02
OUTER, SIZE = 13.0, "acrylic 13/10"
TIGHT = 3.5 * OUTER


def lid(id_: str, x: float, y: float, depth: float = 21.0) -> dict:
    return hole(id_, x, y, kind="tapped", use="lid", face="bottom", depth_mm=depth)


def course(*corners: tuple[float, float, float], end: tuple[float, float, float], more=(), **tube) -> Document:
    """A tube from P1, at 100, 150 on the plate's top at 26, over corners to a port that points to the left."""
    device = {"id": "D1", "kind": "other", "x_mm": end[0], "y_mm": end[1], "z_mm": end[2],
              "ports": [{"id": "p", "heading": "u-"}]}  # fmt: skip
    points = [{"x_mm": x, "y_mm": y, "z_mm": z} for x, y, z in corners]
    port = hole("P1", 100, 150, serves="D1.p", tube={"size": SIZE, "points": points, **tube})
    return plate(ports=[port], devices=[device, *more])


CASES = [
    Case("seal-wall", "channel-groove",
         lambda x: plate(channels=[STRAIGHT], cutouts=[cut("K1", rectangle(150, 154 + 6.8 + 10 + x, 20, 20, 2))]),
         {"C1", "K1"}, 6.8),
    Case("seal-wall", "groove-edge",
         lambda x: plate(channels=[channel("C1", (100, 250 - 6.8 - 4 - x), (200, 250 - 6.8 - 4 - x))]), {"C1"}, 6.8),
    # From the joint at 6 the groove reaches to 7.5; the pocket from the top at 26 ends 2 above that.
    Case("seal-under", "pocket-groove",
         lambda x: plate(plate=MEASURED, channels=[channel("C1", (100, 150), (200, 150), depth_mm=1)],
                         pockets=[cut("K1", rectangle(150, ON_THE_LINE, 20, 4, 1), depth_mm=16.5 - x)]),
         {"C1", "K1"}, 2),
    # A bay between two legs: the cord bends with 6 inside, 7.4 on its centreline, 3.4 from the coolant, and 0.02 that
    # the groove keeps for its chords. A narrower bay is sealed over, and what is in it has no room.
    Case("seal-bend", "hole-groove",
         lambda x: plate(channels=[channel("C1", *((a, 150 + b * (BAY + 4 + x / 2)) for a, b in (
             (100, -1), (200, -1), (200, 1), (100, 1))), bend_radius_mm=0)],
             holes=[hole("H1", 150, 150, screw="M2")]), {"C1", "H1"}),
    # A 2 mm cord's groove and the shop's only cutter.
    Case("seal-cutter", "",
         lambda x: plate(channels=[STRAIGHT], shop={"cutter_diameters_mm": [2.8 - x]}), set()),
    Case("screw-pitch", "",
         lambda x: plate(channels=[STRAIGHT], seal={"screw_pitch_mm": 100},
                         holes=[lid("L1", 100 - x / 2, 164.1), lid("L2", 200 + x / 2, 164.1), lid("L3", 110, 135.9),
                                lid("L4", 190, 135.9)]), {"L1", "L2"}, 100, -1),
    Case("screw-thread", "",
         lambda x: plate(channels=[STRAIGHT], holes=[lid("L1", 100, 164.1, 6 + 3.8 + 8 + x), lid("L2", 200, 164.1)]),
         {"L1"}),
    Case("screw-floor", "",
         lambda x: plate(channels=[STRAIGHT], holes=[lid("L1", 100, 164.1, 26 - 1.5 - TAP * POINT - x),
                                                     lid("L2", 200, 164.1)]), {"L1"}, 1.5),
    # 1.5 diameters of an M4 from the rear edge at 250.
    Case("screw-edge", "hole-edge", lambda x: plate(holes=[lid("L1", 150, 250 - 6 - x)]), {"L1"}),
    # The tube's axis at 200, half of it 6.5, and 3 to the box over it.
    Case("tube-clearance", "tube-device",
         lambda x: course((100, 150, 200), end=(300, 150, 200), more=[box("B1", 180, 130, 209.5 + x)]),
         {"P1", "B1"}, 3),
    # A fitting is 20 wide.
    Case("pocket-wet", "pocket-fitting",
         lambda x: plate(ports=[hole("P1", 100, 150)],
                         pockets=[cut("R1", rectangle(100 + 10 + 2 + x + 10, 150, 20, 20), depth_mm=2)]),
         {"P1", "R1"}, 2),
    # Beside a channel between two round ends the groove runs straight as far as the channel does: half to either side.
    Case("seal-joint", "", lambda x: plate(channels=[channel("C1", (100, 150), (110 + 2 * x, 150))]), {"C1"}, 5),
    # Across: a box beside the tube.
    Case("tube-clearance", "tube-device",
         lambda x: course((100, 150, 200), end=(300, 150, 200), more=[box("B1", 180, 159.5 + x + 20, 190)]),
         {"P1", "B1"}, 3),
    Case("tube-bend-tight", "",
         lambda x: course((100, 150, 200), end=(300, 150, 200), bend_radius_mm=TIGHT + x), {"P1"}, TIGHT),
    # A straight of one diameter from the bend's end to the device's port.
    Case("tube-straight-short", "",
         lambda x: course((100, 150, 200), end=(100 + TIGHT + OUTER + x, 150, 200)), {"P1"}),
    # A fitting is 3 mm wider than its tube on each side; 8 for a hand beside it. Its side at 150 + 9.5.
    Case("tube-reach", "",
         lambda x: course((100, 150, 200), end=(300, 150, 200), more=[box("B1", 260, 150 + 9.5 + 8 + x + 20, 190)]),
         {"P1", "B1"}, 8),
]  # fmt: skip


def alone(document: Document, case: Case) -> list[Finding]:
    """What the one rule finds, by itself."""
    look = next(look for look in running._LOOKS if case.rule in {rule.name for rule in running._DESCRIBED[look]})
    found = [finding for finding in look(Scene(build(document), limits_of(document))) if finding.rule == case.rule]
    return [finding for finding in found if set(finding.items) == case.items]


@pytest.mark.parametrize("case", CASES, ids=lambda case: f"{case.rule} {case.cells}")
def test_a_slow_rule_speaks_just_below_its_limit_and_is_silent_just_above(case: Case) -> None:
    assert alone(case.at(STEP * case.sign), case) == []
    (finding,) = alone(case.at(-STEP * case.sign), case)
    assert finding.message
    assert finding.remedy
    assert finding.at is not None or case.rule == "seal-cutter"
    if case.limit is not None:
        assert finding.value is not None
        assert math.isclose(finding.value, case.limit - STEP * case.sign, abs_tol=0.025)


#: Rules of the tables that offer no button, and why none is certain.
NO_FIX = {
    **dict.fromkeys(("bend-no-room",), "its legs are drawn: which one gives way is the user's"),
    **dict.fromkeys(("depth-under-head", "sheet-thickness"), "a thicker sheet has to be bought, or the sheet measured"),
    **dict.fromkeys(("fitting-size", "drill-reach"), "the size of a part that is bought"),
    **dict.fromkeys(("laser-hole", "laser-web", "sheet-size"), "the test piece is another sheet or another machine"),
    **dict.fromkeys(("cutter-recess",), "where it is no plain rectangle its outline is drawn by hand"),
    **dict.fromkeys(("tube-blocked", "tube-clearance", "tube-reach", "tube-straight-short"),
                    "a course is proposed by the search, not by a button"),
    **dict.fromkeys(("air-lying", "air-standing"), "where a bleed port goes is the builder's"),
    **dict.fromkeys(("device-port-away", "slot-off-board", "tube-wall"),
                    "which of the figures is the slip is not known"),
    **dict.fromkeys(("cable-open", "cable-wall"), "where a slot leads is the user's"),
    "seal-cutter": "another cutter has to be bought",
    "drop-too-short": "the plate stands as low as it can",
    "same-place": "which of the two is deleted is the user's",
    "edge-port-thickness": "a thicker body has to be bought",
    "seal-joint": "a channel is as long as it is",
    "screw-pitch": "screws are placed by rule, with a button of their own in that step",
}  # fmt: skip


def test_a_rule_of_the_tables_offers_a_button_or_there_is_a_reason_why_not() -> None:
    """Of all its cases one is enough: a button depends on where things are. What is offered is tried before."""
    offers = {case.rule for case in (*CASES, *test_limits.CASES)
              for finding in alone(case.at(-STEP * case.sign), case) if finding.fix is not None}  # fmt: skip
    without = {case.rule for case in (*CASES, *test_limits.CASES)} - offers
    assert without == set(NO_FIX)
