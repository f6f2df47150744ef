"""Channels that follow what is moved: walls measured by plane geometry, and what is locked bit for bit as it was."""

from typing import Any

import pytest

from sketcher.checks import run
from sketcher.document import Document, with_changes
from sketcher.geometry import build
from sketcher.proposing.rerouting import reroute, style_of
from tests.checks.plates import channel, plate, rectangle
from tests.proposing.test_proposals import OPEN


def made(x: float = 200.0, y: float = 230.0, **more: Any) -> Document:
    """Two channels from left to right, one above the other, and a cutout in the rear, out of their way."""
    ports = [
        {"id": f"P{k}", "x_mm": px, "y_mm": py}
        for k, (px, py) in enumerate([(80, 100), (320, 100), (80, 170), (320, 170)], 1)
    ]
    channels = more.pop("channels", [channel("C1", start="P1", end="P2"), channel("C2", start="P3", end="P4")])
    cutouts = [{"id": "K1", "outline": rectangle(x, y, 40, 20, 3)}]
    return plate(plate=OPEN, ports=ports, channels=channels, cutouts=cutouts, seal={"kind": "bonded"}, **more)


def errors(document: Document) -> set[tuple[str, tuple[str, ...]]]:
    return {(f.rule, f.items) for f in run(document, quick=True, fixes=False) if f.open_error}


def test_a_cutout_dragged_onto_a_channel_pushes_it_aside_and_the_other_stays() -> None:
    document = made(y=170.0)
    assert errors(document)
    done = reroute(document, frozenset({"K1"}))
    assert done.channels == ("C2",)
    assert done.left == ()
    assert errors(done.document) == set()
    assert done.document.channels[0] == document.channels[0]
    shapes = build(done.document)
    assert shapes.channels["C2"].polygon.distance(shapes.cutouts["K1"].polygon) >= 4.0
    # It is drawn along x and y as it was.
    assert style_of(shapes.channels["C2"]) == "square"
    # Out of the way again, nothing is laid: the page shows what is drawn.
    assert reroute(made(), frozenset({"K1"})).channels == ()


def test_a_port_takes_its_channel_along_round_what_stands_between() -> None:
    document = made(y=135.0)
    moved = with_changes(
        document, ports=[p.model_copy(update={"y_mm": 135.0}) if p.id == "P1" else p for p in document.ports]
    )
    before = errors(moved)
    done = reroute(moved, frozenset({"P1"}))
    assert done.channels == ("C1",)
    assert errors(done.document) <= before
    new = done.document.channels[0]
    assert (new.id, new.start, new.end, new.width_mm) == ("C1", "P1", "P2", 8.0)
    assert done.as_json()["channels"][0]["id"] == "C1"


@pytest.mark.parametrize("change", [{"locked": True}, {"end": None}], ids=["locked", "open"])
def test_what_is_locked_or_ends_nowhere_stays(change: dict[str, Any]) -> None:
    stiff = {**channel("C2", (300, 170), start="P3", end="P4"), **change}
    document = made(y=170.0, channels=[channel("C1", start="P1", end="P2"), stiff])
    done = reroute(document, frozenset({"K1"}))
    assert done.document == document
    assert done.channels == ()


def test_what_finds_no_way_stays_and_is_named() -> None:
    walled = made(y=170.0, keep_outs=[{"id": "Z1", "outline": rectangle(200, 150, 20, 200)}])
    done = reroute(walled, frozenset({"K1", "Z1"}))
    assert set(done.left) == {"C1", "C2"}
    assert done.document == walled
    # Out of time: the same.
    assert reroute(made(y=170.0), frozenset({"K1"}), lambda: True).left == ("C2",)


def test_channels_of_a_branch_meet_in_it_after_a_move() -> None:
    channels = [
        channel("C1", start="P1", end="J1"),
        channel("C2", start="J1", end="P2"),
        channel("C3", start="P3", end="J1"),
    ]
    document = made(channels=channels, branches=[{"id": "J1", "x_mm": 200, "y_mm": 100}])
    moved = with_changes(document, branches=[document.branches[0].model_copy(update={"x_mm": 180.0, "y_mm": 125.0})])
    done = reroute(moved, frozenset({"J1"}))
    assert set(done.channels) == {"C1", "C2", "C3"}
    assert {f for f in errors(done.document) if "wall" in f[0]} == set()
