"""Defaults pass: what the page puts on a new plate in one choice has no finding that only a default caused."""

import pytest

from sketcher.checks import run
from sketcher.document import from_plain, to_plain
from sketcher.document.begin import begin
from sketcher.reference import boards
from sketcher.reference.starters import starters

#: What is asked of a loop that is not joined yet, or has no ports for it, and of a plate without mounting screws.
OF_THE_LOOP = {"loop-drain", "loop-fill", "no-pump", "no-radiator", "device-unconnected", "mount-none"}
#: Ready sets, as ``static/model/readysets.js`` puts them about a place.
RISER = {"role": "riser", "width_mm": 18, "depth_mm": 90, "parts_height_mm": 12, "slots": 1, "first_slot_mm": 9}
CARD = {"id": "B2", "role": "card", "width_mm": 240, "depth_mm": 112, "parts_height_mm": 38, "held_by": "B1", "slot": 1}
SETS = {
    "flat": lambda x, y, z: [{"id": "B1", "pattern": "ATX", "z_mm": z, "x_mm": x + 152.4, "y_mm": y + 121.92,
                              "turn_deg": 180}],
    "on edge": lambda x, y, z: [{"id": "B1", "pattern": "ATX", "z_mm": z, "x_mm": x - 152.4, "y_mm": y,
                                 "posture": "standing"}],
    "card on edge": lambda x, y, z: [{"id": "B1", **RISER, "x_mm": x - 9, "y_mm": y - 45, "z_mm": z}, CARD],
    "card flat": lambda x, y, z: [{"id": "B1", **RISER, "posture": "standing", "roll_deg": 90, "x_mm": x + 45,
                                   "y_mm": y, "z_mm": z}, CARD],
}  # fmt: skip


def over(body: float) -> float:
    """Where the page puts things: over plate, fitting and straight tube, and the board's own sheet, in steps of 5."""
    return max(60.0, 5.0 * -(-(6 + body + 8 + 25 + 2) // 5))


def new_plate(body: float, **parts):
    """A plate in a case of 610 by 410, with a channel as the page draws it and screws by rule."""
    plain = to_plain(begin(610, 410, body))
    plain["ports"] = [{"id": "P1", "x_mm": 60, "y_mm": 60}, {"id": "P2", "x_mm": 340, "y_mm": 60}]
    points = [{"x_mm": 60, "y_mm": 140}, {"x_mm": 340, "y_mm": 140}]
    plain["channels"] = [{"id": "C1", "start": "P1", "end": "P2", "points": points, "width_mm": 10, "depth_mm": 8}]
    plain["seal"] = {"screws_by_rule": True}
    return from_plain({**plain, **parts})


def told(document) -> set[str]:
    return {finding.rule for finding in run(document, fixes=False)} - OF_THE_LOOP


@pytest.mark.parametrize("body", [20, 25, 30])
def test_ready_sets_and_boards_over_a_new_plate_are_in_nobodys_way(body: float) -> None:
    assert told(new_plate(body)) == set()
    for name, made in SETS.items():
        assert told(new_plate(body, boards=made(305, 200, over(body)))) == set(), name
    for pattern in boards.names() if body == 20 else ():
        board = {"id": "B1", "pattern": pattern, "x_mm": 480, "y_mm": 380, "turn_deg": 180, "z_mm": over(body)}
        assert told(new_plate(body, boards=[board])) == set(), pattern


@pytest.mark.parametrize("part", [part for part in starters() if part.kind == "device"], ids=lambda part: part.name)
def test_a_starter_over_a_new_plate_has_no_finding_that_only_a_default_caused(part) -> None:
    device = part.device.model_dump(mode="json", exclude_none=True) | {"id": "D1", "x_mm": 305, "y_mm": 205}
    assert told(new_plate(20, devices=[{**device, "z_mm": over(20)}])) == set()
