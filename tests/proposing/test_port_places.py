"""Ports under tubes: places from plane geometry, obstacles put in the way by hand, the rules as the only judge."""

import math
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.document import Document, from_plain, to_plain
from sketcher.proposing.port_places import ports_under_tubes
from tests.checks.plates import circle, plate, rectangle

PLATE = {"outline": rectangle(200, 150, 300, 200), "body_thickness_mm": 20, "lid_thickness_mm": 6, "z_mm": 10}


def device(id_: str, *ports: tuple[float, float], z: float = 90.0, **more: Any) -> dict[str, Any]:
    own = [{"id": f"p{k}", "u_mm": x, "v_mm": y} for k, (x, y) in enumerate(ports)]
    return {"id": id_, "kind": "block", "x_mm": 0, "y_mm": 0, "z_mm": z, "ports": own, **more}


def port(id_: str, serves: str, x: float = 90.0, y: float = 90.0, **more: Any) -> dict[str, Any]:
    return {"id": id_, "x_mm": x, "y_mm": y, "serves": serves, **more}


def made(ports: list[dict[str, Any]], *devices: dict[str, Any], **parts: Any) -> Document:
    return plate(plate=PLATE, ports=ports, devices=list(devices), seal={"kind": "bonded"}, **parts)


def errors(document: Document) -> set[tuple[str, tuple[str, ...]]]:
    return {(f.rule, f.items) for f in run(document, quick=True, fixes=False) if f.open_error}


def at(document: Document, id_: str) -> tuple[float, float]:
    item = next(port for port in document.ports if port.id == id_)
    return (item.x_mm, item.y_mm)


def test_every_port_stands_right_under_its_tube_in_one_action() -> None:
    drops = [(100.0, 100.0), (150.5, 120.25), (250.0, 200.0)]
    document = made([port(f"P{k + 1}", f"A.p{k}", 80 + 30 * k, 230) for k in range(3)], device("A", *drops))
    done = ports_under_tubes(document)
    assert [at(done.document, f"P{k + 1}") for k in range(3)] == drops
    assert {move.off_mm for move in done.moves} == {0.0}
    assert not errors(done.document) - errors(document)
    # A second time there is nothing to do, and the document is the very same.
    again = ports_under_tubes(done.document)
    assert again.moves == ()
    assert again.document is done.document


def test_a_cutout_under_the_tube_moves_the_port_off_by_least() -> None:
    """A round cutout of 12 mm about the drop: whatever the rules ask, rings show the least distance that clears."""
    document = made(
        [port("P1", "A.p0")], device("A", (200, 150)), cutouts=[{"id": "K1", "outline": circle(200, 150, 12)}]
    )
    done = ports_under_tubes(document)
    (move,) = done.moves
    x, y = at(done.document, "P1")
    assert math.dist((x, y), (200, 150)) == pytest.approx(move.off_mm)
    assert not errors(done.document) - errors(document)
    assert "K1" in move.why
    # A second way: nearer by one ring in any of 72 directions the rules object.
    plain = to_plain(done.document)
    for turn in range(0, 360, 15):
        nearer = move.off_mm - 1.0
        plain["ports"][0] |= {
            "x_mm": 200 + nearer * math.cos(math.radians(turn)),
            "y_mm": 150 + nearer * math.sin(math.radians(turn)),
        }
        assert any("P1" in items for _, items in errors(from_plain(plain)))


def test_a_tube_beside_the_plate_gets_a_port_in_the_nearest_edge() -> None:
    document = made([port("P1", "A.p0")], device("A", (200, 275)))
    done = ports_under_tubes(document)
    (move,) = done.moves
    assert (move.face, move.turned) == ("edge", True)
    assert at(done.document, "P1") == pytest.approx((200, 250))
    assert not errors(done.document) - errors(document)


def test_an_edge_port_turns_to_the_face_where_its_tube_comes_down() -> None:
    assert ports_under_tubes(made([port("P1", "A.p0", 150, 250, face="edge")], device("A", (200, 290)))).moves == ()
    document = made([port("P1", "A.p0", 200, 250, face="edge")], device("A", (180, 120)))
    done = ports_under_tubes(document)
    (move,) = done.moves
    assert (move.face, move.turned, at(done.document, "P1")) == ("top", True, (180, 120))


def test_device_ports_without_one_get_a_port_and_those_with_a_tube_do_not() -> None:
    tubes = [{"id": "T1", "start": "A.p1", "end": "B.p0"}]
    document = made([port("P1", "A.p0")], device("A", (120, 110), (160, 110)), device("B", (200, 110), (240, 110)))
    document = from_plain({**to_plain(document), "loop": {"tubes": tubes}})
    done = ports_under_tubes(document)
    assert {(move.port, move.serves, move.new) for move in done.moves} == {("P1", "A.p0", False), ("P2", "B.p1", True)}
    assert at(done.document, "P2") == (240, 110)
    assert len(ports_under_tubes(document, add=False).document.ports) == 1


def test_what_is_locked_stays_and_what_has_no_place_is_said() -> None:
    everywhere = [{"id": "Z1", "outline": rectangle(200, 150, 280, 190)}]
    ports = [port("P1", "A.p0", locked=True), port("P2", "A.p1", 60, 60)]
    document = made(ports, device("A", (200, 150), (190, 140)), keep_outs=everywhere)
    done = ports_under_tubes(document)
    assert [one.port for one in done.left] == ["P1", "P2"]
    assert done.left[0].why == "it is locked"
    assert "Z1" in done.left[1].why
    assert done.document == document


def test_two_tubes_too_near_for_their_fittings_are_kept_apart() -> None:
    document = made([port("P1", "A.p0"), port("P2", "A.p1", 250, 200)], device("A", (200, 150), (216, 150)))
    done = ports_under_tubes(document)
    assert not errors(done.document) - errors(document)
    assert sorted(move.off_mm > 0 for move in done.moves) == [False, True]


def test_channels_at_moved_ports_are_named_and_not_in_the_way() -> None:
    channels = [{"id": "C1", "start": "P1", "end": "P2", "width_mm": 8, "depth_mm": 8}]
    ports = [port("P1", "A.p0", 80, 80), port("P2", "A.p1", 300, 80)]
    document = made(ports, device("A", (100, 200), (300, 200)), channels=channels)
    done = ports_under_tubes(document)
    assert done.channels == ("C1",)
    assert [channel.id for channel in done.document.channels] == ["C1"]
