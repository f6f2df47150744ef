"""Findings people can work through: one for one cause, ids in their natural order, fixes that are proven."""

import math
import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sketcher.checks import check_json, run
from sketcher.checks.fixes import keys, with_fix
from sketcher.checks.hold_screws import screw_walls
from sketcher.document import from_plain, to_plain
from sketcher.document.begin import begin
from sketcher.findings import limits_of, natural
from sketcher.findings.finding import _without
from sketcher.geometry import build
from sketcher.strength.screw_design import design_screws
from tests.checks.plates import channel, circle, plate, rectangle
from tests.checks.test_fastened import ASKED
from tests.checks.test_limits import CASES, STEP


def heads(count: int):
    return [{"id": f"H{k + 1}", "x_mm": 70 + 20 * k, "y_mm": 150, "face": "bottom"} for k in range(count)]


def test_screw_heads_that_hang_into_the_floor_are_one_finding_with_its_items_listed() -> None:
    """An M4 cap head is 4 mm high (ISO 4762); the plate lies on the floor, so it is to be raised by 4.5."""
    (finding,) = [f for f in run(plate(holes=heads(12))) if f.rule == "hangs-below"]
    assert len(finding.listed) == 12
    assert finding.items == tuple(f"H{k + 1}" for k in range(12))
    assert [row.at for row in finding.listed][1] == (90, 150)
    assert "12" in finding.message
    assert "4.5 mm" in finding.remedy
    assert finding.fix is not None


def test_a_part_of_a_group_that_was_accepted_before_stays_accepted() -> None:
    accepted = [{"rule": "hangs-below", "items": ["H2"], "reason": "a hole in the floor"}]
    found = [f for f in run(plate(holes=heads(3), accepted=accepted)) if f.rule == "hangs-below"]
    assert {(f.items, f.accepted) for f in found} == {(("H1", "H3"), ""), (("H2",), "a hole in the floor")}


def test_ids_stand_in_their_natural_order() -> None:
    assert sorted(["P10", "P2", "H1", "P1"], key=natural) == ["H1", "P1", "P2", "P10"]
    ports = [{"id": f"P{k}", "x_mm": 70 + 20 * k, "y_mm": 150} for k in (10, 2)]
    order = [f.items for f in run(plate(ports=ports), quick=True) if f.rule == "port-unreached"]
    assert order == [("P2",), ("P10",)]


@given(st.text("aP1_ -é.", max_size=14), st.sampled_from(["P1", "a", "1", "é", "P1.a", "aa", "-"]))
def test_a_name_is_left_out_where_it_is_a_word_of_its_own(text: str, name: str) -> None:
    """As the standard library's regular expressions tell words apart."""
    assert _without(text, name, "#") == re.sub(rf"(?<!\w){re.escape(name)}(?!\w)", "#", text)


def test_three_findings_that_say_the_same_of_different_things_are_one() -> None:
    ports = [{"id": f"P{k}", "x_mm": 70 + 20 * k, "y_mm": 150} for k in (10, 2, 1)]
    (finding,) = [f for f in run(plate(ports=ports), quick=True) if f.rule == "port-unreached"]
    assert finding.items == ("P1", "P2", "P10")
    assert [row.at for row in finding.listed] == [(90, 150), (110, 150), (270, 150)]
    assert finding.message.startswith("No channel")
    assert finding.message.endswith("The same for P2, P10.")


def test_a_connection_that_is_not_drawn_tells_of_its_ports_once() -> None:
    ports = [{"id": f"P{n}", "x_mm": 60 * n, "y_mm": 100} for n in (1, 2, 3)]
    found = run(plate(ports=ports, loop={"connections": [["P1", "P2"]]}), quick=True)
    rows = [(f.rule, f.items) for f in found if f.rule in ("connection-open", "port-unreached")]
    assert rows == [("connection-open", ("P1", "P2")), ("port-unreached", ("P3",))]


def test_one_thing_too_near_to_three_others_is_one_finding() -> None:
    """A cutout among holes: 1, 1.5 and 2 mm to their rims; it is the one to move."""
    holes = [{"id": "H1", "x_mm": 150 - 13.25, "y_mm": 150}, {"id": "H2", "x_mm": 150 + 13.75, "y_mm": 150},
             {"id": "H3", "x_mm": 150, "y_mm": 150 + 14.25}]  # fmt: skip
    document = plate(holes=holes, cutouts=[{"id": "K1", "outline": circle(150, 150, 20)}])
    (finding,) = [f for f in run(document, quick=True) if f.rule == "wall-cutout-hole"]
    assert [row.value for row in finding.listed] == pytest.approx([1, 1.5, 2], abs=0.01)
    assert "K1 is too near to 3 others" in finding.message


#: Rules of the slow looks that may say error, and what each of them has to design first.
NEEDS = {
    "the seal's groove": ("seal-wall", "seal-bend", "seal-under", "seal-impossible"),
    "the lid on its screws": ("lid-stress", "lid-squeeze", "screw-none", "screw-load", "screw-thread", "screw-floor",
                              "screw-torque"),
}  # fmt: skip


def test_the_quick_rules_find_every_error_that_needs_nothing_designed() -> None:
    """On every case of the limits, and on plates where much is wrong, at once."""
    slow = {rule for rules in NEEDS.values() for rule in rules}
    documents = (
        [case.at(-STEP * case.sign) for case in CASES[::4]] + WRONG + [document for _, document, _ in ASKED[::2]]
    )
    told = 0
    for document in documents:
        every = keys([f for f in run(document, fixes=False) if f.level == "error" and f.rule not in slow])
        quick = keys([f for f in run(document, quick=True) if f.level == "error"])
        # The groove tells better of a spot that it has to pass too.
        sealed = [f.items for f in run(document, fixes=False) if f.rule in NEEDS["the seal's groove"]]
        at_once = {key for key in quick if key[0] not in slow}
        assert every <= at_once
        assert all(any(key[1] & set(items) for items in sealed) for key in at_once - every)
        told += len(every)
    assert told > 30


#: Plates with something to mend, for which a fix is certain, and some where it would do harm.
WRONG = [
    plate(holes=heads(3)),
    plate(holes=[{"id": "H1", "x_mm": 100, "y_mm": 150}, {"id": "H2", "x_mm": 106, "y_mm": 150}]),
    plate(cutouts=[{"id": "K1", "outline": rectangle(150, 150, 30, 30, 1)}]),
    plate(channels=[channel("C1", (100, 150), (200, 150), depth_mm=18)]),
    plate(ports=[{"id": "P1", "x_mm": 100, "y_mm": 150, "bore_depth_mm": 11}],
          channels=[channel("C1", (200, 150), start="P1")]),
    plate(devices=[{"id": "D1", "kind": "other", "x_mm": 100, "y_mm": 150, "z_mm": 20, "height_mm": 30,
                    "outline": rectangle(0, 0, 40, 40)}]),
    plate(floor={"outline": rectangle(200, 150, 400, 300),
                 "obstacles": [{"id": "O1", "outline": circle(100, 100, 8), "height_mm": 5}]}),
    # Moving H1 out of K1's way would bring it too near to K2; the two stay where they are.
    plate(holes=[{"id": "H1", "x_mm": 120, "y_mm": 150}],
          cutouts=[{"id": "K1", "outline": circle(105, 150, 20), "locked": True},
                   {"id": "K2", "outline": circle(135.5, 150, 20), "locked": True}]),
]  # fmt: skip


@pytest.mark.parametrize("document", WRONG, ids=range(len(WRONG)))
def test_a_fix_ends_its_finding_and_brings_nothing_new(document) -> None:
    before = run(document)
    for finding in before:
        if finding.fix is not None:
            after = keys(run(with_fix(document, finding.fix)))
            assert not after & keys([finding])
            assert after <= keys(before)


def test_a_fix_is_there_where_it_is_certain_and_not_where_it_does_harm() -> None:
    offered = [any(f.fix for f in run(document)) for document in WRONG]
    assert offered == [True] * 7 + [False]


def test_an_empty_plate_has_nothing_to_check_yet() -> None:
    document = begin(300, 200, 20)
    answer = check_json(document, run(document))
    assert answer["empty"]
    assert answer["findings"] == []
    assert all(row["not_looked_at"] for row in answer["questions"])
    assert not check_json(plate(holes=heads(1)), [])["empty"]


@pytest.mark.parametrize("body", [20, 25])
def test_a_plate_begun_new_with_screws_by_rule_has_no_finding_that_a_default_caused(body: float) -> None:
    plain = to_plain(begin(300, 200, body))
    plain["ports"] = [{"id": "P1", "x_mm": 60, "y_mm": 60}, {"id": "P2", "x_mm": 240, "y_mm": 140}]
    # As the page draws it: 10 wide, 8 deep.
    plain["channels"] = [{"id": "C1", "start": "P1", "end": "P2", "points": [{"x_mm": 240, "y_mm": 60}],
                          "width_mm": 10, "depth_mm": 8}]  # fmt: skip
    document = from_plain(plain)
    screws = design_screws(document, build(document), walls=screw_walls(limits_of(document))).holes
    plain["holes"] = [{"id": f"S{k + 1}", **hole.as_json()} for k, hole in enumerate(screws)]
    assert len(screws) > 6
    # What is left asks for ports and mounting screws that this plate does not have.
    assert {f.rule for f in run(from_plain(plain))} <= {"loop-drain", "loop-fill", "mount-none"}


#: Sheets that are measured: their tolerance says nothing.
KNOWN = {"body_thickness_is": "measured", "lid_thickness_is": "measured"}


@pytest.mark.parametrize(("heading", "rule"), [(5, "fitting-face"), (-30, "fitting-face"), (40, "fitting-face"),
                                               (120, "outside-plate"), (180, "outside-plate")])  # fmt: skip
def test_an_edge_port_off_square_is_one_finding_and_its_fix_makes_it_square(heading: float, rule: str) -> None:
    """A ring of 20 mm that is turned by an angle a stands off by 20 sin a at one side (plane geometry)."""
    document = plate(plate=KNOWN, ports=[{"id": "P1", "x_mm": 50, "y_mm": 150, "face": "edge", "heading_deg": heading}])
    (finding,) = [f for f in run(document) if "P1" in f.items and f.rule != "port-unreached"]
    assert finding.rule == rule
    if rule == "fitting-face":
        assert finding.value == pytest.approx(-20 * math.sin(math.radians(abs(heading))), abs=1e-6)
    assert finding.fix is not None
    after = run(with_fix(document, finding.fix))
    assert not [f for f in after if "P1" in f.items and f.rule != "port-unreached"]


def test_a_port_over_a_cutout_or_a_hole_is_one_finding() -> None:
    """The wall between them is nothing; that the ring under the fitting has no plate there is the same slip."""
    port_ = {"id": "P1", "x_mm": 104, "y_mm": 150, "thread_depth_mm": 8}
    over = (
        plate(ports=[port_], cutouts=[{"id": "K1", "outline": rectangle(100, 150, 40, 40, 5)}]),
        plate(ports=[port_], holes=[{"id": "H1", "x_mm": 100, "y_mm": 150, "kind": "tapped", "depth_mm": 6}]),
        plate(ports=[port_], pockets=[{"id": "K1", "outline": rectangle(110, 150, 10, 10, 3), "depth_mm": 3}]),
    )
    for document in over:
        about = [f.rule for f in run(document, quick=True) if len(f.items) > 1]
        assert len(about) == 1
        assert about[0].startswith("wall-port-")
    # 6 mm of pocket lie in the thread: it is moved until the ring, of 20, is clear of it too.
    (finding,) = [f for f in run(over[2]) if len(f.items) > 1]
    assert finding.fix is not None
    assert {f.rule for f in run(with_fix(over[2], finding.fix))}.isdisjoint({finding.rule, "fitting-face"})


def slanted(heading: float, *points: tuple[float, float], **more):
    """A channel from an edge port at x = 50, on the left edge, to a port in the middle of the plate."""
    ports = [{"id": "P1", "x_mm": 50, "y_mm": 150, "face": "edge", "heading_deg": heading},
             {"id": "P2", "x_mm": 200, "y_mm": 150}]  # fmt: skip
    return plate(plate=KNOWN, ports=ports, channels=[channel("C1", *points, start="P1", end="P2")], **more)


@pytest.mark.parametrize(("heading", "rule"), [(60, "fitting-face"), (85, "fitting-face"), (180, "outside-plate")])
def test_what_follows_of_an_edge_port_that_leads_astray_is_said_once(heading: float, rule: str) -> None:
    """The bore ends 15 cos a from the edge, less than half the channel's 8 and its wall of 4 or the groove's 6.8."""
    rules = [f.rule for f in run(slanted(heading)) if set(f.items) & {"P1", "C1"}]
    assert rules == [rule]


def test_beside_a_port_that_leads_astray_the_rest_is_told() -> None:
    """Elsewhere the channel's edge is 1 mm from the plate's at y = 250; and what was accepted silences nothing."""
    far = slanted(60, (120, 245), (180, 245))
    (finding,) = [f for f in run(far) if f.rule == "seal-wall"]
    assert finding.value == pytest.approx(1.0, abs=0.01)
    accepted = [{"rule": "fitting-face", "items": ["P1"], "reason": "a flat is milled for it"}]
    told = {f.rule for f in run(slanted(60, accepted=accepted))}
    assert {"wall-channel-edge", "seal-wall"} & told


def test_air_in_the_same_channels_on_either_side_is_told_once() -> None:
    """Two channels that cross, without a port: each keeps its air from end to end, whichever side is up."""
    ways = [channel("C1", (100, 100), (300, 200)), channel("C2", (100, 200), (300, 100))]
    (finding,) = [f for f in run(plate(channels=ways), quick=False) if f.rule == "air-lying"]
    assert finding.items == ("C1", "C2")
    assert finding.value == pytest.approx(200.0)
    assert "either side" in finding.message
