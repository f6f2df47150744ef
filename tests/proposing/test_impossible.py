"""What cannot be joined, and what looks as if it could not: each ends in time, with a reason that names the item."""

import math
from collections.abc import Sequence
from typing import Any

import pytest

from sketcher.document import Document, DocumentError
from sketcher.document.joined import open_connections
from sketcher.findings import limits_of
from sketcher.proposing import attempt, search
from sketcher.proposing.found import Found
from sketcher.proposing.item_moves import moved_item
from sketcher.proposing.outcome import as_json
from sketcher.proposing.search import propose
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
def _quick(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """A coarser lattice, and moves are sought for a moment: what is tested is the reason, and that a move is true."""
    if request.node.get_closest_marker("long") is None:
        monkeypatch.setattr(search, "_LEAST_EXPLAINING_S", 3.0)
        monkeypatch.setattr(attempt, "_NODES", 1_500)


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


def after(document: Document, found: Found, **wishes: Any) -> Document:
    """The plate with the move that was named, its channels laid: all joined, nothing about what was moved."""
    (stuck,) = found.stuck
    assert stuck.move is not None
    moved = moved_item(document, stuck.move)
    assert moved is not None
    best = sought(moved, seconds=0.3, **wishes).best
    assert best is not None
    assert open_connections(best.document) == []
    real = [error for error in best.judged.errors if error.rule != "port-unreached"]
    assert not any(stuck.move.item in error.items for error in real)
    return moved


@pytest.mark.parametrize(
    ("places", "words"),
    [
        ([(80, 150), (80, 150)], "P1 and P2 are in the same place"),
        ([(80, 150), (390, 150)], "P2 lies outside the plate"),
    ],
    ids=["one place", "outside"],
)
def test_a_port_that_cannot_be_reached_is_named_and_moved_to_where_it_can(places: list[Place], words: str) -> None:
    document = made(places, [["P1", "P2"]])
    found = sought(document, seconds=0.3)
    assert words in found.stuck[0].why
    moved = after(document, found)
    # The plate ends at 350; two fittings of 20 mm in diameter need half a millimetre between them, and get no more.
    assert max(port.x_mm for port in moved.ports) <= 350 - 6 - 4
    apart = math.dist(*[(port.x_mm, port.y_mm) for port in moved.ports])
    assert apart > 50 if "outside" in words else 20.5 - 1e-9 <= apart <= 20.6


def test_both_ports_outside_are_named_and_no_single_move_helps() -> None:
    (stuck,) = sought(made([(20, 150), (390, 150)], [["P1", "P2"]]), seconds=0.3).stuck
    assert "P1 and P2 lie outside the plate" in stuck.why
    assert stuck.move is None


@pytest.mark.parametrize("kind", ["cutouts", "keep_outs"])
def test_what_lies_over_a_port_is_moved_off_it(kind: str) -> None:
    over = {"id": "K1", "outline": rectangle(80, 150, 30, 30)}
    document = made([(80, 150), (320, 150)], [["P1", "P2"]], **{kind: [over]})
    found = sought(document, seconds=0.3)
    assert "K1 stands in the way from P1 to P2" in found.stuck[0].why
    moved = after(document, found)
    # By hand: half of 30 mm and the bore's radius at least; past a cutout, half the channel and what the bonded land
    # with its walls needs (7.5 mm here), and not two tenths more.
    far = math.hypot(*[getattr(moved, kind)[0].outline.x_mm - 80, getattr(moved, kind)[0].outline.y_mm - 150])
    assert far > 15
    assert kind == "keep_outs" or 26.5 <= far <= 26.7


def gate(wide: float, **more: Any) -> Document:
    """Three channels from left to right, and one way: a gap between two keep-outs that reach to the edges."""
    places = [(85, 80), (85, 150), (85, 220), (315, 90), (315, 150), (315, 210)]
    walls = [
        {"id": "Z1", "outline": rectangle(200, 150 - wide / 2 - 60, 12, 120), **more},
        {"id": "Z2", "outline": rectangle(200, 150 + wide / 2 + 60, 12, 120), **more},
    ]
    return made(places, [["P1", "P4"], ["P2", "P5"], ["P3", "P6"]], keep_outs=walls)


def test_three_channels_through_a_gap_for_two_are_told_how_much_is_short() -> None:
    """By hand: three channels of 8 mm and two walls of the rule's limit; what is named makes room, less does not."""
    document = gate(29.0)
    needed = 3 * 8 + 2 * limits_of(document)["wall-channel-channel"]
    found = sought(document, seconds=0.5)
    (stuck,) = found.stuck
    assert "The gap between Z1 and Z2 is 29 mm; 3 channels need" in stuck.why
    told = float(stuck.why.split("channels need ")[1].split(" mm")[0])
    assert needed <= told <= needed + 0.5
    assert stuck.move is not None
    assert stuck.move.item in ("Z1", "Z2")
    assert needed - 29 <= math.hypot(stuck.move.dx_mm, stuck.move.dy_mm) <= told - 29 + 0.11
    assert found.best is not None
    assert len(open_connections(found.best.document)) == 1
    # The two that pass are laid as if nothing else were wanted: no detour is left of the third.
    figures = found.best.judged.numbers
    assert figures.length_mm < 1.4 * 2 * 230
    after(document, found)
    (held,) = sought(gate(29.0, locked=True), seconds=0.5).stuck
    assert held.why.endswith("Z1 and Z2 are locked.")
    assert held.move is None


def test_a_plate_that_is_as_much_larger_as_was_said_is_large_enough() -> None:
    def small(depth: float) -> Document:
        outline = rectangle(200, 150, 160, depth)
        return made([(150, 150), (250, 150)], [["P1", "P2"]], body={"outline": outline})

    (stuck,) = sought(small(16.0), seconds=0.3).stuck
    assert "The plate is too small" in stuck.why
    larger = float(stuck.why.split("Make it ")[1].split(" mm")[0])
    best = sought(small(16.0 + larger), seconds=0.3).best
    assert best is not None
    assert open_connections(best.document) == []
    # A millimetre less is not enough.
    assert sought(small(15.0 + larger), seconds=0.3).stuck


def test_a_cutout_that_parts_the_plate_is_named() -> None:
    across = {"id": "K1", "outline": rectangle(200, 150, 10, 220)}
    (stuck,) = sought(made([(80, 150), (320, 150)], [["P1", "P2"]], cutouts=[across]), seconds=0.3).stuck
    assert "K1 stands in the way from P1 to P2" in stuck.why
    assert stuck.move is None


def test_a_row_of_posts_is_named_in_order() -> None:
    """Holes every 9 mm from edge to edge: none of the gaps of 4 mm lets a channel through."""
    holes = [{"id": f"H{k}", "x_mm": 200, "y_mm": 58 + 9 * k, "diameter_mm": 5, "locked": True} for k in range(22)]
    (stuck,) = sought(made([(80, 150), (320, 150)], [["P1", "P2"]], holes=holes), seconds=0.3).stuck
    assert "H9, H10 and H11 stand in the way from P1 to P2. H9, H10 and H11 are locked." in stuck.why


def test_where_everything_is_locked_what_fits_is_laid_and_what_does_not_is_named() -> None:
    def locked(depth: float) -> Document:
        cutouts = [{"id": "K1", "outline": rectangle(200, 150, 10, depth), "locked": True}]
        document = made([(80, 150), (320, 150)], [["P1", "P2"]], cutouts=cutouts)
        ports = [port.model_copy(update={"locked": True}) for port in document.ports]
        return document.model_copy(update={"ports": tuple(ports)})

    best = sought(locked(100.0), seconds=0.3).best
    assert best is not None
    assert errors(best.document) == []
    (stuck,) = sought(locked(190.0), seconds=0.3).stuck
    assert "K1 is locked." in stuck.why
    assert stuck.move is None


def test_what_is_joined_already_by_whatever_way_needs_nothing() -> None:
    channels = [channel("C1", start="P1", end="P3"), channel("C2", start="P3", end="P2")]
    document = made([(80, 150), (320, 150), (200, 80)], [["P1", "P2"]], channels=channels)
    found = sought(document)
    assert found.attempts == 0
    assert found.best is not None
    assert found.best.document.channels == document.channels
    answer = as_json(found, document)
    assert (answer["connected"], answer["unconnected"], answer["channels"]) == ([["P1", "P2"]], [], [])


@pytest.mark.parametrize("again", [["P1", "P2"], ["P2", "P1"], ["P1", "P3"]])
def test_a_port_in_two_connections_is_refused_with_the_place(again: list[str]) -> None:
    with pytest.raises(DocumentError, match=r"/loop/connections/1.*stands in connection 1 already"):
        made([(80, 150), (320, 150), (200, 80)], [["P1", "P2"], again])


@pytest.mark.long
def test_twenty_connections_are_laid_and_six_ports_joined() -> None:
    places = [(72 + 27 * (k % 10), (75, 125, 175, 225)[k // 10]) for k in range(40)]
    pairs = [[f"P{k + 1}", f"P{k + 11}"] for k in (*range(10), *range(20, 30))]
    six = [(200 + 110 * math.cos(k * 1.05), 150 + 70 * math.sin(k * 1.05)) for k in range(6)]
    for document in (made(places, pairs), made(six, [[f"P{k}" for k in range(1, 7)]])):
        best = sought(document, style=None).best
        assert best is not None
        assert errors(best.document) == []


def test_a_port_on_another_is_moved_so_far_that_nothing_is_said_of_it() -> None:
    document = made([(80, 150), (80, 150), (320, 150)], [["P1", "P3"]])
    found = sought(document, seconds=0.3)
    assert "P2 stands in the way" in found.stuck[0].why
    moved = after(document, found)
    # Two fittings of 20 mm in diameter, and half a millimetre between them.
    assert 20.5 - 1e-9 <= math.dist(*[(port.x_mm, port.y_mm) for port in moved.ports[:2]]) <= 20.6


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
