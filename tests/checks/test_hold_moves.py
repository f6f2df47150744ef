"""Moves that give the groove its room: named, with how far and which way, and borne out by the rules.

By hand: a 2 mm cord needs 2 mm of wall, 2.8 mm of groove and 2 mm of wall again, 6.8 mm in all; 0.05 mm are spare.
"""

from __future__ import annotations

import re
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.checks.fixes import with_fix
from sketcher.checks.hold_moves import which_way
from tests.checks.plates import channel, found, plate, rectangle

#: 5 mm of room beside a channel 10 wide whose middle lies at y = 150.
K1 = {"id": "K1", "outline": rectangle(150, 155 + 5 + 6, 30, 12)}
BENT = channel("C1", (100, 100), (100, 150), (200, 150), (200, 100), width_mm=10, bend_radius_mm=12)
PORTS = [{"id": "P1", "x_mm": 100, "y_mm": 150}, {"id": "P2", "x_mm": 200, "y_mm": 150}]
STRAIGHT = channel("C1", start="P1", end="P2", width_mm=10)


@pytest.mark.parametrize(
    ("parts", "label"),
    [
        ({"channels": [BENT], "cutouts": [K1]}, r"Move K1 by 1\.8\d mm to the rear"),
        ({"channels": [{**BENT, "locked": True}], "cutouts": [K1]}, r"Move K1 by 1\.8\d mm to the rear"),
        ({"channels": [BENT], "cutouts": [{**K1, "locked": True}]}, r"Move C1 by 1\.8\d mm to the front"),
        (
            {"channels": [STRAIGHT], "ports": PORTS, "cutouts": [{**K1, "locked": True}]},
            r"Move C1 with P1 and P2 by 1\.8\d mm to the front",
        ),
        # Nothing stands in the way but the plate's edge, at y = 250; the channel's own edge is at 245.
        ({"channels": [channel("C1", (100, 240), (200, 240), width_mm=10)]}, r"Move C1 by 1\.8\d mm to the front"),
    ],
)
def test_a_move_is_named_and_ends_the_finding(parts: dict[str, Any], label: str) -> None:
    document = plate(**parts)
    (finding,) = found(document, "seal-wall")
    assert finding.fix is not None
    assert re.fullmatch(label, finding.fix.label), finding.fix.label
    assert not [f for f in run(with_fix(document, finding.fix), fixes=False) if f.rule.startswith(("seal-", "wall-"))]


def test_nothing_is_offered_where_all_is_locked_or_under_a_tube() -> None:
    locked = {"locked": True}
    (finding,) = found(plate(channels=[{**BENT, **locked}], cutouts=[{**K1, **locked}]), "seal-wall")
    assert finding.fix is None


@pytest.mark.parametrize(
    ("by", "words"),
    [((1, 0), "to the right"), ((0, 1), "to the rear"), ((-1, 0.1), "to the left"), ((0, -2), "to the front"),
     ((1, 1), "to the rear and the right"), ((-1, -1), "to the front and the left")],
)  # fmt: skip
def test_directions_are_said_as_the_case_is_seen(by: tuple[float, float], words: str) -> None:
    assert which_way(by) == words


def test_where_no_screw_finds_room_it_is_said_what_to_move_and_how_far() -> None:
    """A channel whose edge is 8 mm from the plate's, at y = 250: the groove fits, but the screws' line lies 9.05 mm
    beyond the coolant (2 + 2.8 + 2 and half of 4.5), 1.05 outside the plate, where 6 mm inside (1.5 d) are asked."""
    near = channel("C1", (100, 237), (220, 237), width_mm=10)
    sheet = {"lid_thickness_is": "measured", "lid_thickness_mm": 8}
    document = plate(channels=[near], seal={"screws_by_rule": True, "hardness_shore_a": 50}, plate=sheet)
    found(document, "screw-pitch")  # so much is wrong that not all fixes are tried at once: the next look goes on
    gaps = found(document, "screw-pitch")
    assert gaps
    said = re.search(r"the plate's edge is ([\d.]+) mm too near. Move C1 ([\d.]+) mm to the front", gaps[0].remedy)
    assert said is not None, gaps[0].remedy
    assert float(said[1]) == pytest.approx(9.05 - 8 + 6, abs=0.15)
    assert float(said[2]) >= float(said[1])
    assert gaps[0].fix is not None
    assert gaps[0].fix.label == f"Move C1 by {said[2]} mm to the front"
    assert not [f for f in run(with_fix(document, gaps[0].fix), fixes=False) if f.rule.startswith("screw-")]


def test_where_there_is_room_a_screw_is_asked_for() -> None:
    holes = [
        {"id": f"L{x}{int(y)}", "x_mm": x, "y_mm": y, "kind": "tapped", "use": "lid", "face": "bottom", "depth_mm": 17}
        for x in (90, 210)
        for y in (136, 164.1)
    ]
    gaps = found(plate(channels=[channel("C1", (100, 150), (200, 150), width_mm=10)], holes=holes), "screw-pitch")
    assert gaps
    assert all("Place" in gap.remedy for gap in gaps)


def test_screws_by_rule_that_change_their_numbers_do_not_turn_a_move_down() -> None:
    """The cord is too hard for the screws wherever they stand; the cutout can make room for the groove all the same."""
    document = plate(channels=[BENT], cutouts=[K1], seal={"screws_by_rule": True, "hardness_shore_a": 90})
    assert [f for f in found(document, "screw-load") if f.items[0].startswith("LS")]
    (finding,) = found(document, "seal-wall")
    assert finding.fix is not None
    assert finding.fix.label.startswith("Move K1 by 1.8")
