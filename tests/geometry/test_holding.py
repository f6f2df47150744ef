"""A holder is chosen and the thing stays: its frame before and after, which is the check that needs no other."""

from __future__ import annotations

import itertools

import numpy as np
import pytest

from sketcher.document import Document, from_plain
from sketcher.geometry.holding import HoldingError, held_in_place
from sketcher.geometry.placement import frames
from tests.document.test_files import BARE


def plate(**parts: object) -> Document:
    return from_plain({**BARE, **parts})


@pytest.mark.parametrize(
    ("holder", "turn", "item", "roll"),
    list(itertools.product(["lying", "standing"], [0, 90, 210], ["lying", "standing"], [0, 90])),
)
def test_it_stays_where_it_stands(holder: str, turn: float, item: str, roll: float) -> None:
    board = {"id": "MB", "x_mm": 30, "y_mm": 40, "z_mm": 20, "posture": holder, "turn_deg": turn}
    device = {"id": "D1", "kind": "block", "x_mm": 90, "y_mm": 10, "z_mm": 5, "posture": item, "roll_deg": roll}
    document = plate(boards=[board], devices=[device])
    before = frames(document)["D1"]
    lean = float(frames(document)["MB"].axes[:, 2] @ before.axes[:, 2])
    if min(abs(lean), abs(lean - 1)) > 1e-9:
        # Two upright things at odd angles have no common axes; two at right angles have.
        with pytest.raises(HoldingError, match="slant"):
            held_in_place(document, "D1", "MB")
        return
    held = held_in_place(document, "D1", "MB")
    after = frames(held)["D1"]
    assert held.devices[0].held_by == "MB"
    assert np.allclose(after.origin, before.origin, atol=1e-3)
    assert np.allclose(after.axes, before.axes, atol=1e-5)
    freed = held_in_place(held, "D1", None)
    assert freed.devices[0].held_by is None
    assert np.allclose(frames(freed)["D1"].origin, before.origin, atol=1e-3)


def test_a_card_leaves_its_slot_and_a_ring_is_refused() -> None:
    boards = [
        {"id": "MB", "slots": 2, "posture": "standing", "x_mm": 20, "y_mm": 200, "z_mm": 30},
        {"id": "CARD", "held_by": "MB", "slot": 2, "z_mm": 3},
    ]
    document = plate(boards=boards)
    before = frames(document)["CARD"]
    held = held_in_place(document, "CARD", "MB")
    assert held.boards[1].slot is None
    assert np.allclose(frames(held)["CARD"].origin, before.origin, atol=1e-3)
    with pytest.raises(HoldingError, match="one of the two"):
        held_in_place(document, "MB", "CARD")
    with pytest.raises(HoldingError, match="no board or device NO"):
        held_in_place(document, "MB", "NO")
