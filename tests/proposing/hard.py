"""Ten hard plates, each in a way of its own; invented. ``docs/make_proposals.py`` draws what is proposed for them."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from sketcher.document import Document
from tests.checks.plates import circle, plate, rectangle

Part = dict[str, Any]
BODY = {"body_thickness_mm": 20, "lid_thickness_mm": 10, "z_mm": 10}


def _port(id_: str, x: float, y: float, **more: Any) -> Part:
    return {"id": id_, "x_mm": x, "y_mm": y, **more}


def _made(ports: list[Part], connections: list[list[str]], seal: str = "bonded", **parts: Any) -> Document:
    return plate(plate=BODY, ports=ports, loop={"connections": connections}, seal={"kind": seal}, **parts)


def _cutouts(*boxes: tuple[float, float, float, float]) -> list[Part]:
    return [{"id": f"K{k}", "outline": rectangle(*box, 3.0)} for k, box in enumerate(boxes, 1)]


def crossing() -> Document:
    """Two diagonals of the plate: one has to go round the other's port."""
    ports = [_port("P1", 80, 80), _port("P2", 320, 220), _port("P3", 80, 220), _port("P4", 320, 80)]
    return _made(ports, [["P1", "P2"], ["P3", "P4"]])


def comb() -> Document:
    """Four teeth from either side by turns: one channel winds between them."""
    teeth = _cutouts((120, 110, 10, 110), (170, 190, 10, 110), (220, 110, 10, 110), (270, 190, 10, 110))
    return _made([_port("P1", 85, 85), _port("P2", 315, 90)], [["P1", "P2"]], cutouts=teeth)


def gate() -> Document:
    """Three channels through one gap of 62 mm."""
    ports = [_port(f"P{k}", 90, y) for k, y in enumerate((80, 150, 220), 1)]
    ports += [_port(f"P{k}", 310, y) for k, y in enumerate((90, 150, 210), 4)]
    walls = _cutouts((200, 85, 16, 66), (200, 215, 16, 66))
    return _made(ports, [["P1", "P4"], ["P2", "P5"], ["P3", "P6"]], cutouts=walls)


def snail() -> Document:
    """A port inside a snail shell of five keep-outs: out over one wall, down between two, and round."""
    boxes = [(195, 217, 178, 8), (280, 150, 8, 142), (216, 83, 136, 8), (152, 131, 8, 104), (110, 162, 8, 118)]
    walls = [{"id": f"Z{k}", "outline": rectangle(*box)} for k, box in enumerate(boxes, 1)]
    return _made([_port("P1", 215, 150), _port("P2", 80, 200)], [["P1", "P2"]], keep_outs=walls)


def reversal() -> Document:
    """Three ports in front in the opposite order to those in the rear: two go round the middle one's ends."""
    ports = [_port(f"P{k}", x, 200) for k, x in enumerate((130, 200, 270), 1)]
    ports += [_port(f"P{k}", x, 100) for k, x in enumerate((270, 200, 130), 4)]
    return _made(ports, [["P1", "P4"], ["P2", "P5"], ["P3", "P6"]])


def tree() -> Document:
    """Five ports about a round cutout, joined to one another."""
    places = [(200 + 105 * math.cos(a), 150 + 70 * math.sin(a)) for a in (0.3, 1.4, 2.6, 3.9, 5.2)]
    ports = [_port(f"P{k}", round(x), round(y)) for k, (x, y) in enumerate(places, 1)]
    hole = [{"id": "K1", "outline": circle(200, 150, 70)}]
    return _made(ports, [[port["id"] for port in ports]], cutouts=hole)


def edges() -> Document:
    """Ports in three edges to ports on the face, past a row of pockets."""
    ports = [_port("P1", 50, 110, face="edge"), _port("P2", 350, 190, face="edge"), _port("P3", 200, 250, face="edge")]
    ports += [_port("P4", 300, 90), _port("P5", 100, 210), _port("P6", 200, 90)]
    row = [
        {"id": f"R{k}", "depth_mm": 12, "outline": rectangle(x, 150, 26, 30)} for k, x in enumerate((120, 180, 240), 1)
    ]
    return _made(ports, [["P1", "P4"], ["P2", "P5"], ["P3", "P6"]], pockets=row)


def posts() -> Document:
    """Two channels through a field of thirty screw posts that reaches to the edges."""
    holes = [
        {
            "id": f"H{6 * row + column + 1}",
            "x_mm": 107 + 36 * column + 12 * (row % 2),
            "y_mm": 66 + 42 * row,
            "use": "other",
        }
        for row in range(5)
        for column in range(6)
    ]
    ports = [_port("P1", 75, 90), _port("P2", 327, 215), _port("P3", 75, 190), _port("P4", 327, 85)]
    return _made(ports, [["P1", "P2"], ["P3", "P4"]], holes=holes)


def ring() -> Document:
    """A loop of five connections round a cutout, sealed by a cord: groove and lid screws have to fit between."""
    places = [(110, 95), (165, 95), (235, 95), (290, 95), (300, 165), (290, 210), (235, 212), (165, 212), (110, 205)]
    places.append((100, 150))
    ports = [_port(f"P{k}", x, y) for k, (x, y) in enumerate(places, 1)]
    pairs = [[f"P{k}", f"P{k + 1}"] for k in range(1, 10, 2)]
    return _made(ports, pairs, seal="cord", cutouts=_cutouts((200, 155, 70, 40)))


def isthmus() -> Document:
    """One channel along the only way there is: 27 mm between a cutout and the plate's edge."""
    return _made([_port("P1", 90, 150), _port("P2", 310, 150)], [["P1", "P2"]], cutouts=_cutouts((200, 137, 20, 172)))


CASES: dict[str, Callable[[], Document]] = {
    case.__name__: case for case in (crossing, comb, gate, snail, reversal, tree, edges, posts, ring, isthmus)
}
