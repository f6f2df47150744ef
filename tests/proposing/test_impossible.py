"""What cannot be joined, and what looks as if it could not: each ends in time, with a reason that names the item."""

import math
from collections.abc import Sequence
from typing import Any

import pytest

from sketcher.document import Document
from sketcher.document.joined import open_connections
from sketcher.proposing import search
from sketcher.proposing.search import Found, propose
from sketcher.proposing.stuck import moved_item
from sketcher.proposing.wishes import Wishes
from tests.checks.plates import channel, plate, rectangle
from tests.proposing.test_proposals import OPEN, errors

Place = tuple[float, float]


def made(places: Sequence[Place], connections: list[list[str]], **more: Any) -> Document:
    """Ports P1, P2 … at places on a bonded plate of 300 by 200 mm."""
    face = more.pop("face", "top")
    ports = [{"id": f"P{k}", "x_mm": x, "y_mm": y, "face": face} for k, (x, y) in enumerate(places, 1)]
    body = {**OPEN, **more.pop("body", {})}
    return plate(plate=body, ports=ports, loop={"connections": connections}, seal={"kind": "bonded"}, **more)


def sought(document: Document, **wishes: Any) -> Found:
    found = propose(document, Wishes(**{"seconds": 20.0, "width_mm": 8.0, "style": "square", **wishes}))
    # Whatever is proposed brings no error with it.
    assert found.best is not None
    rest = {error.rule for error in found.best.judged.own_errors}
    assert rest <= {"connection-open", "port-unreached"}
    return found


@pytest.fixture(autouse=True)
def _moves_are_sought_for_a_moment(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is tested is the reason; the long test of a move has its time."""
    if request.node.get_closest_marker("long") is None:
        monkeypatch.setattr(search, "_LEAST_EXPLAINING_S", 0.5)


def test_a_third_port_joins_two_that_a_channel_joins_already() -> None:
    """The drawn channel is the net's own, so it does not wall its ports in; and it stays as it was."""
    document = made(
        [(80, 80), (320, 80), (200, 220)], [["P1", "P2", "P3"]], channels=[channel("C1", start="P1", end="P2")]
    )
    best = sought(document).best
    assert best is not None
    assert errors(best.document) == []
    assert best.document.channels[0] == document.channels[0]
    (new,) = best.document.channels[1:]
    assert {new.start, new.end} in ({"P1", "P3"}, {"P2", "P3"})


def test_a_port_joins_at_a_branch_that_is_drawn() -> None:
    """Three channels meet in B1; the fourth port may end there, square to them, or at a port."""
    ends = {"P1": (80, 150), "P2": (320, 150), "P3": (200, 80)}
    channels = [channel(f"C{k}", start=id_, end="B1") for k, id_ in enumerate(ends, 1)]
    document = made(
        [*ends.values(), (200, 220)],
        [["P1", "P2", "P3", "P4"]],
        channels=channels,
        branches=[{"id": "B1", "x_mm": 200, "y_mm": 150}],
    )
    best = sought(document).best
    assert best is not None
    assert errors(best.document) == []
    assert {best.document.channels[3].start, best.document.channels[3].end} == {"P4", "B1"}


def test_two_that_must_cross_are_not_both_proposed() -> None:
    """Ports in the middle of all four edges, opposite ones to be joined: any two such curves in a disc cross."""
    document = made([(50, 150), (350, 150), (200, 50), (200, 250)], [["P1", "P2"], ["P3", "P4"]], face="edge")
    found = sought(document, seconds=0.5)
    (stuck,) = found.stuck
    assert set(stuck.ports) in ({"P1", "P2"}, {"P3", "P4"})
    assert "they would cross" in stuck.why
    assert all(id_ in stuck.why for id_ in ("P1", "P2", "P3", "P4"))
    assert found.best is not None
    assert len(open_connections(found.best.document)) == 1


def test_ports_in_every_edge_are_joined_round_the_corners() -> None:
    document = made([(50, 150), (350, 150), (200, 50), (200, 250)], [["P1", "P3"], ["P2", "P4"]], face="edge")
    best = sought(document).best
    assert best is not None
    assert errors(best.document) == []


@pytest.mark.parametrize(
    ("places", "words"),
    [
        ([(80, 150), (80, 150)], "P1 and P2 are in the same place"),
        ([(80, 150), (390, 150)], "P2 lies outside the plate"),
        ([(20, 150), (390, 150)], "P1 and P2 lie outside the plate"),
    ],
    ids=["one place", "outside", "both outside"],
)
def test_a_port_that_cannot_be_reached_is_named(places: list[Place], words: str) -> None:
    found = sought(made(places, [["P1", "P2"]]), seconds=1.0)
    (stuck,) = found.stuck
    assert words in stuck.why


@pytest.mark.long
def test_a_port_on_another_is_moved_so_far_that_nothing_is_said_of_it() -> None:
    document = made([(80, 150), (80, 150), (320, 150)], [["P1", "P3"]])
    (stuck,) = sought(document, seconds=60.0).stuck
    assert "P2 stands in the way" in stuck.why
    assert stuck.move is not None
    # Two fittings of 20 mm in diameter do not fit nearer than that.
    assert math.hypot(stuck.move.dx_mm, stuck.move.dy_mm) >= 20
    moved = moved_item(document, stuck.move)
    assert moved is not None
    after = sought(moved).best
    assert after is not None
    assert not open_connections(after.document)


def test_a_locked_channel_across_the_plate_is_named_and_stays() -> None:
    across = {**channel("C1", (200, 60), (200, 240)), "locked": True}
    document = made([(80, 150), (320, 150)], [["P1", "P2"]], channels=[across])
    found = sought(document, seconds=1.0, anew=True)
    (stuck,) = found.stuck
    assert "C1 stands in the way from P1 to P2. C1 is locked." in stuck.why
    assert stuck.move is None
    assert found.best is not None
    assert found.best.document.channels == document.channels


def test_a_second_as_good_as_none_still_gives_an_answer() -> None:
    found = sought(made([(80, 150), (320, 150)], [["P1", "P2"]]), seconds=0.0)
    assert found.attempts >= 1
    assert found.best is not None
    assert errors(found.best.document) == []


@pytest.mark.parametrize("count", [pytest.param(3, marks=pytest.mark.long), 4, pytest.param(5, marks=pytest.mark.long)])
def test_so_many_ports_are_joined_by_branches(count: int) -> None:
    places = [(200 + 105 * math.cos(k * 2.4), 150 + 65 * math.sin(k * 2.4)) for k in range(count)]
    document = made(
        [(round(x), round(y)) for x, y in places],
        [[f"P{k + 1}" for k in range(count)]],
        cutouts=[{"id": "K1", "outline": rectangle(200, 150, 20, 20, 3)}],
    )
    best = sought(document, style="free").best
    assert best is not None
    assert errors(best.document) == []
    assert len(best.document.channels) >= count - 1
