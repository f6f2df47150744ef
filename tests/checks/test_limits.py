"""Every rule at its limit, five hundredths to either side; and the matrix: each cell's rules speak in some case.

Each case is worked out by hand: the document is built so that what is measured is the limit and ``x`` millimetres.
Sizes are the tables': G1/4 is 13.157 mm outside (ISO 228-1) and drilled 11.8; M4 goes through 4.5 (ISO 273), is drilled
3.3 and has a head of 7 by 4 (ISO 4762); a 118 degree point on a drill of d is d / 2 / tan 59 degrees long.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, field
from itertools import combinations_with_replacement

import pytest

from sketcher import findings
from sketcher.checks import all_rules, matrix, run
from sketcher.document import Document
from tests.checks.plates import channel, circle, measured, plate, rectangle

STEP = 0.05
G14, BORE, M4, TAP = 13.157 / 2, 11.8 / 2, 4.5 / 2, 3.3 / 2
POINT = 1 / math.tan(math.radians(59))


@dataclass(frozen=True)
class Case:
    """A rule, the cells it speaks for, a document that is ``x`` mm from the limit, and whom it names."""

    rule: str
    cells: str
    at: Callable[[float], Document]
    items: set[str] = field(default_factory=set)
    limit: float | None = None
    #: -1 where more than the limit is wrong.
    sign: int = 1


def hole(id_: str, x: float, y: float, **more):
    return {"id": id_, "x_mm": x, "y_mm": y, **more}


def cut(id_: str, outline, **more):
    return {"id": id_, "outline": outline, **more}


def box(id_: str, x: float, y: float, z: float, size=(40, 40, 20), **more):
    w, d, h = size
    return {"id": id_, "kind": "other", "x_mm": x, "y_mm": y, "z_mm": z, "height_mm": h,
            "outline": rectangle(0, 0, w, d), **more}  # fmt: skip


def board(id_: str, x: float, y: float, z: float, **more):
    return {"id": id_, "x_mm": x, "y_mm": y, "z_mm": z, "width_mm": 40, "depth_mm": 40, "thickness_mm": 2,
            "parts_height_mm": 10, **more}  # fmt: skip


def bar(left: float, right: float, wide: float, spur: float | None = None):
    """A bar along y = 150, and from it a spur of 4 mm by 28 to the rear that begins at x = ``spur``."""
    low, high = 150 - wide / 2, 150 + wide / 2
    rows = [(left, low), (right, low), (right, high)]
    if spur is not None:
        rows += [(spur + 4, high), (spur + 4, high + 28), (spur, high + 28), (spur, high)]
    rows.append((left, high))
    return {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in rows]}


def slotted(outline, end: str | None, face: str = "top", **more):
    """A pocket R1 from x = 130 to 170, a cutout K1 or an opening W1 from 235 to 265, a slot R2 for a cable of 4."""
    cable = {"start": "R1", "end": end, "cable_mm": 4, "in_step": False}
    area = rectangle(250, 150, 30, 80)
    return plate(
        floor={"openings": [cut("W1", area)]},
        cutouts=[cut("K1", area)] if end == "K1" else [],
        pockets=[cut("R1", rectangle(150, 150, 40, 80), depth_mm=5, face=face),
                 cut("R2", outline, face=face, cable=cable, **{"depth_mm": 5, **more})],
    )  # fmt: skip


def floor(**more):
    return {"outline": rectangle(200, 150, 400, 300), **more}


def known(**more):
    """A plate whose sheets are measured, so that their tolerance says nothing."""
    return {"body_thickness_is": "measured", "lid_thickness_is": "measured", **more}


BAY = {
    "shape": "polygon",
    "vertices": [{"x_mm": x, "y_mm": y} for x, y in ((-20, -20), (20, -20), (20, -8), (-8, -8), (-8, 28), (-20, 28))],
}

#: Webs that may be thin, so that what stands on the face is asked for.
THIN = dict.fromkeys(("wall-hole-edge", "wall-cutout-hole", "wall-pocket-hole", "wall-hole-hole", "laser-web"), 0.1)
STRAIGHT = channel("C1", (100, 150), (200, 150))

CASES = [
    Case("wall-channel-channel", "channel-channel",
         lambda x: plate(channels=[STRAIGHT, channel("C2", (100, 161 + x), (200, 161 + x))]), {"C1", "C2"}, 3),
    Case("wall-channel-port", "port-channel",
         lambda x: plate(channels=[channel("C1", (100, 150), (200, 150), depth_mm=15)],
                         ports=[hole("P1", 150, 150 + 4 + G14 + 3 + x)]), {"C1", "P1"}, 3),
    Case("wall-port-port", "port-port",
         lambda x: plate(ports=[hole("P1", 100, 150), hole("P2", 100 + 2 * G14 + 3 + x, 150)]), {"P1", "P2"}, 3),
    Case("wall-channel-cutout", "channel-cutout",
         lambda x: plate(channels=[STRAIGHT], cutouts=[cut("K1", rectangle(150, 168 + x, 20, 20))]), {"C1", "K1"}, 4),
    # From the top: 26 - depth down to the channel's ceiling at 6 + 8.
    Case("wall-channel-pocket", "channel-pocket",
         lambda x: plate(channels=[STRAIGHT], pockets=[cut("R1", rectangle(150, 150, 20, 20), depth_mm=9 - x)]),
         {"C1", "R1"}, 3),
    Case("wall-channel-hole", "channel-hole",
         lambda x: plate(channels=[STRAIGHT], holes=[hole("H1", 150, 154 + M4 + 4 + x)]), {"C1", "H1"}, 4),
    # The point of a blind hole over a channel: its tip is what is near.
    Case("wall-channel-hole", "channel-hole",
         lambda x: plate(channels=[STRAIGHT], holes=[hole("H1", 150, 150, kind="tapped",
                                                          depth_mm=12 - TAP * POINT - 4 - x)]), {"C1", "H1"}, 4),
    Case("wall-port-cutout", "port-cutout",
         lambda x: plate(ports=[hole("P1", 100, 150)], cutouts=[cut("K1", rectangle(100 + G14 + 14 + x, 150, 20, 20))]),
         {"P1", "K1"}, 4),
    Case("wall-port-pocket", "port-pocket",
         lambda x: plate(ports=[hole("P1", 100, 150)],
                         pockets=[cut("R1", rectangle(100 + G14 + 13 + x, 150, 20, 20), depth_mm=3)]), {"P1", "R1"}, 3),
    Case("wall-port-hole", "port-hole",
         lambda x: plate(ports=[hole("P1", 100, 150)], holes=[hole("H1", 100 + G14 + M4 + 4 + x, 150)]),
         {"P1", "H1"}, 4),
    Case("wall-cutout-cutout", "cutout-cutout",
         lambda x: plate(cutouts=[cut("K1", circle(100, 150, 20)), cut("K2", circle(123 + x, 150, 20))]),
         {"K1", "K2"}, 3),
    Case("wall-cutout-pocket", "cutout-pocket",
         lambda x: plate(cutouts=[cut("K1", circle(100, 150, 20))],
                         pockets=[cut("R1", circle(122 + x, 150, 20), depth_mm=5)]), {"K1", "R1"}, 2),
    Case("wall-cutout-hole", "cutout-hole",
         lambda x: plate(cutouts=[cut("K1", circle(100, 150, 20))], holes=[hole("H1", 110 + M4 + 3 + x, 150)]),
         {"K1", "H1"}, 3),
    Case("wall-pocket-pocket", "pocket-pocket",
         lambda x: plate(pockets=[cut("R1", circle(100, 150, 20), depth_mm=5),
                                  cut("R2", circle(122 + x, 150, 20), depth_mm=5)]), {"R1", "R2"}, 2),
    Case("wall-pocket-hole", "pocket-hole",
         lambda x: plate(pockets=[cut("R1", circle(100, 150, 20), depth_mm=5)],
                         holes=[hole("H1", 110 + M4 + 2 + x, 150)]), {"R1", "H1"}, 2),
    Case("wall-hole-hole", "hole-hole",
         lambda x: plate(holes=[hole("H1", 100, 150), hole("H2", 103 + 2 * M4 + x, 150)]), {"H1", "H2"}, 3),
    Case("wall-channel-itself", "channel-channel",
         lambda x: plate(channels=[channel("C1", (100, 150), (200, 150), (200, 161 + x), (100, 161 + x),
                                           bend_radius_mm=5)]), {"C1"}, 3),
    Case("wall-channel-edge", "channel-edge",
         lambda x: plate(channels=[channel("C1", (58 + x, 150), (200, 150))]), {"C1"}, 4),
    Case("wall-port-edge", "port-edge", lambda x: plate(ports=[hole("P1", 54 + G14 + x, 150)]), {"P1"}, 4),
    # An edge port beside the plate's corner.
    Case("wall-port-edge", "port-edge",
         lambda x: plate(ports=[hole("P1", 50, 54 + G14 + x, face="edge", thread_depth_mm=25)]), {"P1"}, 4),
    Case("wall-cutout-edge", "cutout-edge", lambda x: plate(cutouts=[cut("K1", circle(63 + x, 150, 20))]), {"K1"}, 3),
    Case("wall-pocket-edge", "pocket-edge",
         lambda x: plate(pockets=[cut("R1", circle(62 + x, 150, 20), depth_mm=5)]), {"R1"}, 2),
    # Slots drawn by hand, for a cable of 4: a bar across, and a spur beside what it opens into.
    Case("cable-open", "pocket-pocket,cutout-pocket", lambda x: slotted(bar(165, 240, 4 + x), "K1"),
         {"R1", "R2", "K1"}),
    Case("cable-open", "pocket-edge", lambda x: slotted(bar(45, 140, 4 + x), None), {"R1", "R2"}),
    Case("cable-open", "pocket-opening", lambda x: slotted(bar(165, 240, 4 + x), "W1", face="bottom"),
         {"R1", "R2", "W1"}),
    Case("cable-wall", "cutout-pocket", lambda x: slotted(bar(165, 240, 4, 235 - 6 - x), "K1"), {"R2", "K1"}, 2),
    Case("cable-wall", "pocket-pocket", lambda x: slotted(bar(165, 240, 4, 170 + 2 + x), "K1"), {"R2", "R1"}, 2),
    Case("cable-wall", "pocket-edge", lambda x: slotted(bar(45, 140, 4, 50 + 2 + x), None), {"R2"}, 2),
    Case("cable-depth", "", lambda x: slotted(bar(165, 240, 4), "K1", depth_mm=4 + x), {"R2"}, 0),
    Case("wall-hole-edge", "hole-edge", lambda x: plate(holes=[hole("H1", 53 + M4 + x, 150)]), {"H1"}, 3),
    Case("outside-plate", "port-edge", lambda x: plate(ports=[hole("P1", 50 + G14 + x, 150)]), {"P1"}, 0),
    Case("outside-plate", "channel-edge",
         lambda x: plate(channels=[channel("C1", (54 + x, 150), (200, 150))]), {"C1"}, 0),
    Case("outside-plate", "cutout-edge", lambda x: plate(cutouts=[cut("K1", circle(60 + x, 150, 20))]), {"K1"}, 0),
    Case("outside-plate", "pocket-edge",
         lambda x: plate(pockets=[cut("R1", rectangle(60 + x, 150, 20, 20), depth_mm=4)]), {"R1"}, 0),
    Case("outside-plate", "hole-edge", lambda x: plate(holes=[hole("H1", 50 + M4 + x, 150)]), {"H1"}, 0),
    Case("depth-under-channel", "channel-far face",
         lambda x: plate(channels=[channel("C1", (100, 150), (200, 150), depth_mm=17 - x)]), {"C1"}, 3),
    Case("depth-under-pocket", "pocket-joint",
         lambda x: plate(pockets=[cut("R1", circle(100, 150, 20), depth_mm=18 - x)]), {"R1"}, 2),
    Case("depth-under-pocket", "pocket-far face",
         lambda x: plate(pockets=[cut("R1", circle(100, 150, 20), depth_mm=4 - x, face="bottom")]), {"R1"}, 2),
    Case("depth-under-hole", "hole-joint",
         lambda x: plate(holes=[hole("H1", 100, 150, kind="tapped", depth_mm=19.5 - TAP * POINT - x)]), {"H1"}, 0.5),
    Case("depth-under-hole", "hole-joint",
         lambda x: plate(holes=[hole("H1", 100, 150, kind="tapped", depth_mm=19.5 - x, drill_end="flat")]),
         {"H1"}, 0.5),
    # A lid screw from below ends in the body: 26 is the body's far face.
    Case("depth-under-hole", "hole-far face",
         lambda x: plate(holes=[hole("H1", 100, 150, kind="tapped", face="bottom", use="lid",
                                     depth_mm=25.5 - TAP * POINT - x)]), {"H1"}, 0.5),
    Case("depth-under-head", "hole-joint",
         lambda x: plate(plate={"body_thickness_mm": 6 + x}, holes=[hole("H1", 100, 150, kind="counterbored")]),
         {"H1"}, 2),
    Case("depth-under-head", "hole-far face",
         lambda x: plate(plate={"lid_thickness_mm": 6 + x},
                         holes=[hole("H1", 100, 150, kind="counterbored", face="bottom")]), {"H1"}, 2),
    Case("depth-under-thread", "port-far face",
         lambda x: plate(ports=[hole("P1", 100, 150, thread_depth_mm=18 - BORE * POINT - x)]), {"P1"}, 2),
    Case("thread-reaches-channel", "port-channel",
         lambda x: plate(ports=[hole("P1", 100, 150, thread_depth_mm=12 - x)],
                         channels=[channel("C1", (200, 150), start="P1")]), {"P1"}, 0),
    Case("thread-in-lid", "port-joint",
         lambda x: plate(ports=[hole("P1", 100, 150, face="bottom", thread_depth_mm=6 - x)]), {"P1"}, 0),
    Case("edge-port-thickness", "port-joint,port-far face",
         lambda x: plate(plate={"body_thickness_mm": 2 * G14 + 6 + 2 * x}, ports=[hole("P1", 50, 150, face="edge")]),
         {"P1"}, 3),
    Case("bore-meets", "port-channel",
         lambda x: plate(ports=[hole("P1", 100, 150, bore_depth_mm=12.5 + x)],
                         channels=[channel("C1", (200, 150), start="P1")]), {"P1"}, 0.5),
    # The edge port's bore is 5.9 below its axis at mid-body, 10 above the joint: 4.1 up to it, and the channel's depth.
    Case("bore-meets", "port-channel",
         lambda x: plate(ports=[hole("P1", 50, 150, face="edge")],
                         channels=[channel("C1", (200, 150), start="P1", depth_mm=10 - BORE + 0.5 + x)]), {"P1"}, 0.5),
    Case("bore-through", "port-channel,port-far face",
         lambda x: plate(ports=[hole("P1", 100, 150, bore_depth_mm=20 - x)],
                         channels=[channel("C1", (200, 150), start="P1", width_mm=12)]), {"P1"}, 0),
    # Cast sheet of 20 mm may be 2.4 thinner (ISO 7823-1: 0.4 + 0.1 t), so a floor of 3 holds from 5.4 on.
    Case("sheet-thickness", "channel-pocket",
         lambda x: plate(channels=[STRAIGHT], pockets=[cut("R1", rectangle(150, 150, 20, 20), depth_mm=6.6 - x)]),
         {"C1", "R1"}, 3),
    # Over the thickest sheet a bore of a given depth still has to meet its channel: 12 + 2.4 + 0.5.
    Case("sheet-thickness", "port-channel",
         lambda x: plate(ports=[hole("P1", 100, 150, bore_depth_mm=14.9 + x)],
                         channels=[channel("C1", (200, 150), start="P1")]), {"P1"}, 0.5),
    Case("fitting-face", "hole-fitting",
         lambda x: plate(ports=[hole("P1", 100, 150)], holes=[hole("H1", 112 + x, 150, kind="tapped")]),
         {"P1", "H1"}, 0),
    Case("fitting-face", "cutout-fitting",
         lambda x: plate(ports=[hole("P1", 100, 150)], cutouts=[cut("K1", rectangle(120 + x, 150, 20, 20))]),
         {"P1", "K1"}, 0),
    Case("fitting-face", "pocket-fitting",
         lambda x: plate(ports=[hole("P1", 100, 150)],
                         pockets=[cut("R1", rectangle(120 + x, 150, 20, 20), depth_mm=2)]),
         {"P1", "R1"}, 0),
    Case("fitting-face", "port-fitting",
         lambda x: plate(ports=[hole("P1", 100, 150), hole("P2", 110 + 4.5 + x, 150, thread=None, bore_diameter_mm=9,
                                                            use="plugged")]), {"P1", "P2"}, 0),
    Case("fitting-face", "fitting-edge", lambda x: plate(ports=[hole("P1", 60 + x, 150)]), {"P1"}, 0),
    # The ring of an edge port on a body as thick as the fitting is wide.
    Case("fitting-face", "fitting-joint",
         lambda x: plate(plate={"body_thickness_mm": 20 + 2 * x}, ports=[hole("P1", 50, 150, face="edge")]), {"P1"}, 0),
    Case("fittings-touch", "fitting-fitting",
         lambda x: plate(ports=[hole("P1", 100, 150), hole("P2", 120.5 + x, 150)]), {"P1", "P2"}, 0.5),
    Case("spanner-room", "fitting-fitting",
         lambda x: plate(ports=[hole("P1", 100, 150), hole("P2", 128 + x, 150)]), {"P1", "P2"}, 8),
    Case("fitting-blocked", "fitting-device",
         lambda x: plate(ports=[hole("P1", 100, 150)], devices=[box("D1", 130.5 + x, 150, 30)]), {"P1", "D1"}, 0.5),
    Case("fitting-blocked", "fitting-board",
         lambda x: plate(ports=[hole("P1", 100, 150)], boards=[board("B1", 110.5 + x, 130, 30)]), {"P1", "B1"}, 0.5),
    Case("fitting-blocked", "fitting-obstacle",
         lambda x: plate(ports=[hole("P1", 100, 150)],
                         floor=floor(obstacles=[cut("O1", rectangle(120.5 + x, 150, 20, 20), bottom_mm=30,
                                                    height_mm=60)])), {"P1", "O1"}, 0.5),
    # An edge port's fitting stands 20 mm out of the plate's left edge at 50; the case's wall is at 0.
    Case("fitting-blocked", "fitting-case wall",
         lambda x: plate(plate={"outline": rectangle(170.5 + x, 150, 300, 200)},
                         ports=[hole("P1", 20.5 + x, 150, face="edge")]), {"P1"}, 0.5),
    # In the inner corner of an L: the fitting, 20 wide, beside the plate's other leg.
    Case("fitting-blocked", "fitting-plate",
         lambda x: plate(plate={"outline": {"shape": "polygon", "vertices": [
             {"x_mm": u, "y_mm": v} for u, v in ((50, 50), (350, 50), (350, 250), (250, 250), (250, 150), (50, 150))]}},
             ports=[hole("P1", 250, 160.5 + x, face="edge")]), {"P1"}, 0.5),
    Case("spanner-room", "fitting-device,fitting-board,fitting-obstacle",
         lambda x: plate(ports=[hole("P1", 100, 150)], devices=[box("D1", 138 + x, 150, 30)]), {"P1", "D1"}, 8),
    Case("spanner-room", "fitting-case wall",
         lambda x: plate(floor=floor(outline=rectangle(200, 150, 2 * (90 + 8 + x) + 20, 300)),
                         plate={"outline": rectangle(200, 150, 200, 200)}, ports=[hole("P1", 110, 150)]), {"P1"}, 8),
    Case("height-above", "fitting-device",
         lambda x: plate(ports=[hole("P1", 100, 150)], devices=[box("D1", 100, 150, 51 + x)]), {"P1", "D1"}, 25),
    Case("height-above", "fitting-board",
         lambda x: plate(ports=[hole("P1", 100, 150)], boards=[board("B1", 90, 140, 53 + x)]), {"P1", "B1"}, 25),
    Case("height-above", "fitting-obstacle",
         lambda x: plate(ports=[hole("P1", 100, 150)],
                         floor=floor(obstacles=[cut("O1", circle(100, 150, 10), bottom_mm=51 + x, height_mm=60)])),
         {"P1", "O1"}, 25),
    Case("height-above", "fitting-ceiling",
         lambda x: plate(ports=[hole("P1", 100, 150)], floor=floor(clear_height_mm=51 + x)), {"P1"}, 25),
    Case("hangs-below", "screw head-case floor",
         lambda x: plate(plate={"z_mm": 4.5 + x}, holes=[hole("H1", 100, 150, face="bottom")]), {"H1"}, 0.5),
    Case("hangs-below", "screw head-obstacle",
         lambda x: plate(plate={"z_mm": 9.5 + x}, holes=[hole("H1", 100, 150, face="bottom")],
                         floor=floor(obstacles=[cut("O1", circle(100, 150, 10), height_mm=5)])), {"H1", "O1"}, 0.5),
    Case("hangs-below", "fitting-case floor",
         lambda x: plate(plate={"z_mm": 25.5 + x}, ports=[hole("P1", 100, 150, face="bottom")]), {"P1"}, 0.5),
    Case("plate-over-obstacle", "obstacle-plate",
         lambda x: plate(plate={"z_mm": 5.5 + x}, floor=floor(obstacles=[cut("O1", circle(100, 100, 8), height_mm=5)])),
         {"O1"}, 0.5),
    Case("plate-over-obstacle", "obstacle-plate",
         lambda x: plate(floor=floor(obstacles=[cut("O1", rectangle(39.5 - x, 150, 20, 20), height_mm=40)])),
         {"O1"}, 0.5),
    Case("plate-outside-floor", "plate-case wall",
         lambda x: plate(plate={"outline": rectangle(250 - x, 150, 300, 200)}), set()),
    Case("plate-body", "device-plate", lambda x: plate(devices=[box("D1", 100, 150, 26 + x)]), {"D1"}, 0),
    Case("plate-body", "board-plate", lambda x: plate(boards=[board("B1", 100, 150, 28 + x)]), {"B1"}, 0),
    # A board on edge, 40 mm high from its lower edge, in a slot of 4 mm depth: 3 mm deeper than the plate's top.
    Case("plate-body", "pocket-board",
         lambda x: plate(pockets=[cut("R1", rectangle(100, 150, 60, 16), depth_mm=4)],
                         boards=[board("B1", 80, 154, 22 + x, posture="standing")]), {"B1"}, 0),
    Case("plate-body", "pocket-device",
         lambda x: plate(pockets=[cut("R1", rectangle(100, 150, 60, 60), depth_mm=4)],
                         devices=[box("D1", 100, 150, 22 + x)]), {"D1"}, 0),
    # Beside the wall of a cutout that the device hangs through.
    Case("plate-body", "cutout-device,cutout-board",
         lambda x: plate(cutouts=[cut("K1", rectangle(100, 150, 60, 60))], devices=[box("D1", 110 - x, 150, 20)]),
         {"D1"}, 0),
    Case("plate-over-obstacle", "pocket-obstacle",
         lambda x: plate(plate={"z_mm": 4.5 + x}, floor=floor(obstacles=[cut("O1", circle(100, 150, 8), height_mm=8)]),
                         pockets=[cut("R1", circle(100, 150, 20), depth_mm=4, face="bottom")]), {"O1"}, 0.5),
    Case("plate-over-obstacle", "cutout-obstacle",
         lambda x: plate(floor=floor(obstacles=[cut("O1", circle(100, 150, 8), height_mm=8)]),
                         cutouts=[cut("K1", rectangle(100, 154.5 - x, 30, 18))]), {"O1"}, 0.5),
    Case("bodies-overlap", "device-device",
         lambda x: plate(devices=[box("D1", 100, 150, 50), box("D2", 140 + x, 160, 55)]), {"D1", "D2"}, 0),
    Case("bodies-overlap", "board-board",
         lambda x: plate(boards=[board("B1", 100, 150, 50), board("B2", 110, 160, 62 + x)]), {"B1", "B2"}, 0),
    # A board turned by 45 degrees on edge: its corner is sqrt(2) * 20 below its middle.
    Case("bodies-overlap", "board-device",
         lambda x: plate(devices=[box("D1", 200, 150, 40)],
                         boards=[board("B1", 200, 155, 60 + x, posture="standing", roll_deg=45, width_mm=20,
                                       depth_mm=20)]), {"B1", "D1"}, 0),
    Case("body-obstacle", "device-obstacle",
         lambda x: plate(devices=[box("D1", 100, 150, 60 + x)],
                         floor=floor(obstacles=[cut("O1", circle(100, 150, 10), bottom_mm=30, height_mm=60)])),
         {"D1", "O1"}, 0),
    Case("body-obstacle", "board-obstacle",
         lambda x: plate(boards=[board("B1", 100, 150, 62 + x)],
                         floor=floor(obstacles=[cut("O1", circle(110, 160, 10), bottom_mm=30, height_mm=60)])),
         {"B1", "O1"}, 0),
    Case("head-blocked", "screw head-device",
         lambda x: plate(holes=[hole("H1", 100, 150)], devices=[box("D1", 100, 150, 30 + x)]), {"H1", "D1"}, 0),
    Case("head-blocked", "screw head-board",
         lambda x: plate(holes=[hole("H1", 100, 150)], boards=[board("B1", 90, 140, 32 + x)]), {"H1", "B1"}, 0),
    Case("head-blocked", "fitting-screw head",
         lambda x: plate(ports=[hole("P1", 100, 150)], holes=[hole("H1", 113.5 + x, 150)]), {"H1", "P1"}, 0),
    # A lid screw's head of 7 beside a fitting of 20, both on the lid's face.
    Case("screw-head", "fitting-screw head",
         lambda x: plate(plate={"lid_face": "top"}, ports=[hole("P1", 100, 150, thread_depth_mm=5)],
                         holes=[hole("H1", 114 + x, 150, kind="tapped", use="lid", depth_mm=16)]), {"H1", "P1"}, 0.5),
    # Heads of M8 are 13 wide (ISO 4762) on holes of 9 (ISO 273): with thin webs allowed they reach beyond them.
    Case("head-face", "cutout-screw head",
         lambda x: plate(limits=THIN, holes=[hole("H1", 100, 150, screw="M8")],
                         cutouts=[cut("K1", rectangle(116.5 + x, 150, 20, 20))]), {"H1", "K1"}, 0),
    Case("head-face", "pocket-screw head",
         lambda x: plate(limits=THIN, holes=[hole("H1", 100, 150, screw="M8")],
                         pockets=[cut("R1", rectangle(116.5 + x, 150, 20, 20), depth_mm=3)]), {"H1", "R1"}, 0),
    Case("head-face", "hole-screw head",
         lambda x: plate(limits=THIN, holes=[hole("H1", 100, 150, screw="M8"),
                                             hole("H2", 108.5 + x, 150, kind="tapped")]), {"H1", "H2"}, 0),
    Case("head-face", "port-screw head",
         lambda x: plate(limits={**THIN, "wall-port-hole": 0.1}, holes=[hole("H1", 100, 150, screw="M8")],
                         ports=[hole("P1", 106.5 + G14 + x, 150, use="plugged", fitting_diameter_mm=13)]),
         {"H1", "P1"}, 0),
    Case("head-face", "screw head-edge",
         lambda x: plate(limits=THIN, holes=[hole("H1", 56.5 + x, 150, screw="M8")]), {"H1"}, 0),
    # Over the plate's top by 4 mm (ISO 4762): what reaches over the plate from beside it.
    Case("head-blocked", "screw head-obstacle",
         lambda x: plate(holes=[hole("H1", 100, 150)],
                         floor=floor(obstacles=[cut("O1", circle(100, 150, 10), bottom_mm=30 + x, height_mm=60)])),
         {"H1", "O1"}, 0),
    # A head of 13 mm (ISO 4762, M8) on a hole of 9 whose web is allowed to be 2 mm: it stands out over the edge.
    Case("outside-case", "screw head-case wall",
         lambda x: plate(plate={"outline": rectangle(150, 150, 300, 200)}, limits={"wall-hole-edge": 1},
                         holes=[hole("H1", 6.5 + x, 150, screw="M8")]), {"H1"}, 0),
    Case("tube-blocked", "fitting-tube",
         lambda x: plate(ports=[hole("P1", 100, 150, serves="D1.in"), hole("P2", 100 + 10 + 6.5 + x, 150)],
                         devices=[box("D1", 100, 154, 26 + 4000, ports=[{"id": "in"}])],
                         limits={"drop-out-of-line": 9}), {"P1", "P2"}, 0),
    Case("hangs-below", "fitting-obstacle",
         lambda x: plate(plate={"z_mm": 30.5 + x}, ports=[hole("P1", 100, 150, face="bottom")],
                         floor=floor(obstacles=[cut("O1", circle(100, 150, 10), height_mm=5)])), {"P1", "O1"}, 0.5),
    Case("tube-blocked", "screw head-tube",
         lambda x: plate(ports=[hole("P1", 100, 150, serves="D1.in")], holes=[hole("H1", 100 + 3.5 + 6.5 + x, 150)],
                         devices=[box("D1", 100, 154, 26 + 4000, ports=[{"id": "in"}])],
                         limits={"drop-out-of-line": 9}), {"P1", "H1"}, 0),
    # Below the plate's fitting: 25 mm of fitting and straight tube under a plate at 80.
    Case("fitting-blocked", "",
         lambda x: plate(plate={"z_mm": 80}, ports=[hole("P1", 100, 150, face="bottom")],
                         devices=[box("D1", 100, 150, 34.5 - x)]), {"P1", "D1"}, 0.5),
    Case("outside-case", "device-case wall",
         lambda x: plate(devices=[box("D1", 20 + x, 150, 50)]), {"D1"}, 0),
    Case("outside-case", "board-case wall",
         lambda x: plate(boards=[board("B1", x, 150, 50)]), {"B1"}, 0),
    # Heads of M8 are 13 wide, of M4 4 high (ISO 4762).
    Case("head-blocked", "screw head-screw head",
         lambda x: plate(holes=[hole("H1", 100, 150, screw="M8"), hole("H2", 113 + x, 150, screw="M8")]),
         {"H1", "H2"}, 0),
    Case("above-ceiling", "screw head-ceiling",
         lambda x: plate(floor=floor(clear_height_mm=30 + x), holes=[hole("H1", 100, 150)]), {"H1"}, 0),
    Case("hole-size", "", lambda x: plate(holes=[hole("H1", 100, 150, diameter_mm=4.05 + x)]), {"H1"}),
    Case("bore-thread", "", lambda x: plate(ports=[hole("P1", 100, 150, bore_diameter_mm=12.044 - x)]), {"P1"}),
    Case("fitting-size", "", lambda x: plate(ports=[hole("P1", 100, 150, fitting_diameter_mm=2 * (G14 + 1 + x))]),
         {"P1"}, 1),
    Case("above-ceiling", "device-ceiling",
         lambda x: plate(devices=[box("D1", 100, 150, 80 - x)], floor=floor(clear_height_mm=100)), {"D1"}, 0),
    Case("above-ceiling", "board-ceiling",
         lambda x: plate(boards=[board("B1", 100, 150, 90 - x)], floor=floor(clear_height_mm=100)), {"B1"}, 0),
    Case("above-ceiling", "plate-ceiling", lambda x: plate(floor=floor(clear_height_mm=26 + x)), set(), 0),
    # What a board carries may touch its sheet; a card in its slot stands on it: the slot's v runs off the board.
    Case("bodies-overlap", "board-device",
         lambda x: plate(boards=[board("B1", 100, 100, 80)],
                         devices=[box("D1", 20, 20, x, (20, 20, 5), held_by="B1")]), {"B1", "D1"}, 0),
    Case("bodies-overlap", "board-board",
         lambda x: plate(boards=[board("B1", 100, 100, 80, slots=1, first_slot_mm=20),
                                 {**board("B2", 0, x, 0), "held_by": "B1", "slot": 1}]), {"B1", "B2"}, 0),
    # What a device holds may touch it: on top, and beside it, or in the bay of an L (12 wide, from -8 to 28).
    Case("bodies-overlap", "device-device",
         lambda x: plate(devices=[box("D1", 100, 150, 60), box("D2", 5, 0, 20 + x, (20, 20, 5), held_by="D1")]),
         {"D1", "D2"}, 0),
    Case("bodies-overlap", "device-device",
         lambda x: plate(devices=[box("D1", 100, 150, 60), box("D2", 30 + x, 0, 5, (20, 20, 5), held_by="D1"),
                                  box("D3", 10, 0, 5, (20, 20, 5), held_by="D2")]), {"D1", "D2"}, 0),
    Case("bodies-overlap", "device-device",
         lambda x: plate(devices=[box("D1", 100, 150, 60, outline=BAY),
                                  box("D2", 2 + x, 10, 5, (20, 20, 5), held_by="D1")]), {"D1", "D2"}, 0),
    Case("bodies-overlap", "device-board",
         lambda x: plate(devices=[box("D1", 100, 150, 60)],
                         boards=[{**board("B1", 0, 0, 22 + x), "held_by": "D1"}]), {"D1", "B1"}, 0),
    # A tube's axis beside the device that carries what it drops to, half a tenth from 0.05 within it.
    Case("tube-blocked", "tube-device",
         lambda x: plate(ports=[hole("P1", 119.95 + x, 150, serves="D2.in")],
                         devices=[box("D1", 100, 150, 60),
                                  box("D2", 19.95 + x, 0, 20, (20, 20, 5), held_by="D1", ports=[{"id": "in"}])]),
         {"P1", "D1"}),
    # The sheet of a board on edge, in front of which a block is carried, beside a fitting 20 wide.
    Case("fitting-blocked", "fitting-board",
         lambda x: plate(boards=[board("B1", 100, 160 + x, 30, depth_mm=120, posture="standing")],
                         devices=[box("D1", 20, 100, 5, (20, 20, 5), held_by="B1", ports=[{"id": "in"}])],
                         ports=[hole("P1", 120, 150, serves="D1.in")], limits={"drop-out-of-line": 9}),
         {"P1", "B1"}, 0),
    # A box of 40 about its own axis, and its port 40 beyond that; three slots 20 apart from 10 on.
    Case("device-port-away", "",
         lambda x: plate(devices=[box("D1", 100, 150, 60, ports=[{"id": "in", "u_mm": 60 + x}])]), {"D1"}, 40, -1),
    Case("slot-off-board", "",
         lambda x: plate(boards=[{**board("B1", 60, 60, 60), "width_mm": 50 + x, "slots": 3, "first_slot_mm": 10,
                                  "slot_pitch_mm": 20}]), {"B1"}),
    Case("tube-wall", "", lambda x: plate(loop={"tube_inner_diameter_mm": 10, "tube_outer_diameter_mm": 10 + 2 * x}),
         set(), 0),
    # Screws of 4.5 (ISO 273, M4) and of 4 through the floor, 1 from an opening.
    Case("mount-opening", "hole-opening",
         lambda x: plate(holes=[hole("H1", 100, 150)],
                         floor=floor(openings=[cut("W1", rectangle(100 + M4 + 1 + 20 + x, 150, 40, 40))])),
         {"H1", "W1"}, 1),
    Case("mount-opening", "board-opening",
         lambda x: plate(boards=[board("B1", 4, 4, 10, holes=[{"id": "a", "u_mm": 20, "v_mm": 20, "diameter_mm": 4}])],
                         floor=floor(openings=[cut("W1", rectangle(24 + 2 + 1 + 5 + x, 24, 10, 10))])),
         {"B1", "W1"}, 1),
    Case("mount-opening", "device-opening",
         lambda x: plate(devices=[box("D1", 25, 25, 0, holes=[{"id": "a", "u_mm": 0, "v_mm": 0, "diameter_mm": 4}])],
                         floor=floor(openings=[cut("W1", circle(25, 25 + 2 + 1 + 5 + x, 10))])),
         {"D1", "W1"}, 1),
    Case("through-floor", "device-case floor", lambda x: plate(devices=[box("D1", 25, 25, x)]), {"D1"}, 0),
    Case("through-floor", "board-case floor", lambda x: plate(boards=[board("B1", 4, 4, 2 + x)]), {"B1"}, 0),
    Case("tube-blocked", "tube-device,tube-board",
         lambda x: plate(ports=[hole("P1", 100, 150, serves="D1.in")],
                         devices=[box("D1", 100, 150, 200, ports=[{"id": "in"}]), box("D2", 126.5 + x, 150, 100)]),
         {"P1", "D2"}, 0),
    Case("tube-blocked", "tube-obstacle",
         lambda x: plate(ports=[hole("P1", 100, 150, serves="D1.in")],
                         devices=[box("D1", 100, 150, 200, ports=[{"id": "in"}])],
                         floor=floor(obstacles=[cut("O1", rectangle(126.5 + x, 150, 40, 40), bottom_mm=90,
                                                    height_mm=100)])), {"P1", "O1"}, 0),
    Case("tube-blocked", "tube-tube",
         lambda x: plate(ports=[hole("P1", 100, 150, serves="D1.a"), hole("P2", 113 + x, 150, serves="D1.b")],
                         devices=[box("D1", 100, 150, 200, ports=[{"id": "a"}, {"id": "b", "u_mm": 13 + x}])]),
         {"P1", "P2"}, 0),
    Case("same-place", "hole-hole",
         lambda x: plate(limits={"same-place": 1.0}, holes=[hole("H1", 100, 150), hole("H2", 101 + x, 150)]),
         {"H1", "H2"}, 1),
    Case("same-place", "port-port",
         lambda x: plate(limits={"same-place": 1.0}, ports=[hole("P1", 100, 150), hole("P2", 101 + x, 150)]),
         {"P1", "P2"}, 1),
    Case("same-place", "branch-branch",
         lambda x: plate(limits={"same-place": 1.0}, branches=[hole("J1", 100, 150), hole("J2", 101 + x, 150)]),
         {"J1", "J2"}, 1),
    Case("same-place", "cutout-cutout",
         lambda x: plate(limits={"same-place": 1.0},
                         cutouts=[cut("K1", circle(100, 150, 9)), cut("K2", circle(101 + x, 150, 9))]),
         {"K1", "K2"}, 1),
    Case("same-place", "pocket-pocket",
         lambda x: plate(limits={"same-place": 1.0}, pockets=[cut("R1", circle(100, 150, 9), depth_mm=3),
                                                               cut("R2", circle(101 + x, 150, 9), depth_mm=3)]),
         {"R1", "R2"}, 1),
    Case("keep-out-entered", "port-keep-out",
         lambda x: plate(ports=[hole("P1", 100, 150, use="plugged", fitting_diameter_mm=13)],
                         keep_outs=[cut("Z1", rectangle(110 + G14 + x, 150, 20, 20))]),
         {"P1", "Z1"}),
    Case("keep-out-entered", "channel-keep-out",
         lambda x: plate(channels=[STRAIGHT], keep_outs=[cut("Z1", rectangle(150, 164 + x, 20, 20))]), {"C1", "Z1"}),
    Case("keep-out-entered", "cutout-keep-out",
         lambda x: plate(cutouts=[cut("K1", circle(100, 150, 20))],
                         keep_outs=[cut("Z1", rectangle(120 + x, 150, 20, 20))]),
         {"K1", "Z1"}),
    Case("keep-out-entered", "pocket-keep-out",
         lambda x: plate(pockets=[cut("R1", circle(100, 150, 20), depth_mm=4)],
                         keep_outs=[cut("Z1", rectangle(120 + x, 150, 20, 20))]), {"R1", "Z1"}),
    Case("keep-out-entered", "hole-keep-out",
         lambda x: plate(holes=[hole("H1", 100, 150, kind="tapped")],
                         keep_outs=[cut("Z1", rectangle(112 + x, 150, 20, 20))]),
         {"H1", "Z1"}),
    # A fitting is 20 wide, a head of M4 7 (ISO 4762).
    Case("keep-out-entered", "fitting-keep-out",
         lambda x: plate(ports=[hole("P1", 100, 150)], keep_outs=[cut("Z1", rectangle(120 + x, 150, 20, 20))]),
         {"P1", "Z1"}),
    Case("keep-out-entered", "screw head-keep-out",
         lambda x: plate(holes=[hole("H1", 100, 150)], keep_outs=[cut("Z1", rectangle(113.5 + x, 150, 20, 20))]),
         {"H1", "Z1"}),
    Case("drop-out-of-line", "", lambda x: plate(ports=[hole("P1", 100, 150, serves="D1.in")],
         devices=[{"id": "D1", "kind": "block", "x_mm": 105 + x, "y_mm": 150, "z_mm": 90, "ports": [{"id": "in"}]}]),
         {"P1", "D1"}, 5, -1),
    Case("drop-too-short", "", lambda x: plate(ports=[hole("P1", 100, 150, serves="D1.in")],
         devices=[{"id": "D1", "kind": "block", "x_mm": 100, "y_mm": 150, "z_mm": 51 + x, "ports": [{"id": "in"}]}]),
         {"P1", "D1"}, 25),
    Case("cutter-channel", "", lambda x: plate(channels=[channel("C1", (100, 150), (200, 150), width_mm=2.5 + x,
         depth_mm=5)]), {"C1"}, 2.5),
    Case("bend-inside", "", lambda x: plate(channels=[channel("C1", (100, 150), (200, 150), (200, 200),
         bend_radius_mm=5 + x)]), {"C1"}, 1),
    Case("bend-no-room", "", lambda x: plate(channels=[channel("C1", (100, 150), (200, 150), (200, 170 + x),
         bend_radius_mm=20)]), {"C1"}, 20),
    # Body and lid are cut apart: 20 mm deep is three diameters of a cutter of 8, which leaves 4.
    Case("cutter-corner", "", lambda x: plate(cutouts=[cut("K1", rectangle(150, 150, 30, 30, 4 + x))]), {"K1"}, 4),
    # From both sides 10 mm each: a cutter of 4 reaches 12.
    Case("cutter-recess", "", lambda x: plate(cutouts=[cut("K1", rectangle(150, 150, 30, 4 + x))]), {"K1"}, 4),
    Case("hole-least", "", lambda x: plate(holes=[hole("H1", 100, 150, diameter_mm=1 + x)]), {"H1"}, 1),
    # The body is 20 thick: ten times a drill of 2.
    Case("drill-reach", "", lambda x: plate(holes=[hole("H1", 100, 150, diameter_mm=2 + x)]), {"H1"}),
    Case("laser-hole", "", lambda x: plate(holes=[hole("H1", 100, 150, diameter_mm=2 + x)],
         test_piece={"thickness_mm": 4}), {"H1"}),
    # The wall in the plate itself would be said instead, where it is too thin too.
    Case("laser-web", "", lambda x: plate(limits={"wall-cutout-cutout": 1}, cutouts=[cut("K1", circle(100, 150, 20)),
         cut("K2", circle(121.5 + x, 150, 20))]), {"K1", "K2"}, 1.5),
    # A plug's collar is as wide as a fitting, 20, and 5 high (common practice, no source).
    Case("height-above", "", lambda x: plate(ports=[hole("P1", 100, 150, use="plugged")],
         devices=[box("D1", 100, 150, 31 + x)]), {"P1", "D1"}, 5),
    Case("fittings-touch", "", lambda x: plate(limits={"wall-port-port": 1}, ports=[
         hole("P1", 100, 150, use="plugged"), hole("P2", 120.5 + x, 150, use="plugged")]), {"P1", "P2"}, 0.5),
    Case("hangs-below", "", lambda x: plate(plate={"z_mm": 5.5 + x}, ports=[
         hole("P1", 100, 150, face="bottom", use="plugged")]), {"P1"}, 0.5),
    # Edge ports, whose bores of 11.8 reach up to 3 below the ceiling of a channel 14 deep over the joint at 6.
    Case("air-standing", "",
         lambda x: plate(channels=[channel("C1", start="P1", end="P2", depth_mm=14)],
                         ports=[hole("P1", 50, 150, face="edge", heading_deg=0, level_mm=20 - 3 - BORE - x),
                                hole("P2", 350, 150, face="edge", heading_deg=180, level_mm=20 - 3 - BORE - x)]),
         {"C1"}, 3, -1),
    # Lying on its left side, x is up: the far corners are 20 above both ports.
    Case("air-lying", "",
         lambda x: plate(channels=[channel("C1", (120 + x, 100), (120 + x, 200), start="P1", end="P2")],
                         ports=[hole("P1", 100, 100), hole("P2", 100, 200)]), {"C1"}, 20, -1),
    # 280 mm of acrylic (80e-6 per K) move 0.56 when it warms by 25 K (ISO 11359-2); M4 in a wider hole.
    Case("mount-expansion", "",
         lambda x: plate(holes=[hole("H1", 60, 150), hole("H2", 340, 150, diameter_mm=4 + 2 * (0.56 + x))]),
         {"H2"}, 0.56),
    Case("sheet-size", "", lambda x: plate(shop={"sheet_width_mm": 200 + x, "sheet_depth_mm": 300}), set()),
]  # fmt: skip


def ids(case: Case) -> str:
    return f"{case.rule} {case.cells}"


def hits(document: Document, case: Case):
    found = measured(document, case.rule, quick=True)
    return [finding for finding in found if set(finding.items) == case.items]


@pytest.mark.parametrize("case", CASES, ids=ids)
def test_a_rule_speaks_just_below_its_limit_and_is_silent_just_above(case: Case) -> None:
    assert hits(case.at(STEP * case.sign), case) == []
    (finding,) = hits(case.at(-STEP * case.sign), case)
    assert finding.message
    assert finding.remedy
    assert finding.at is not None or case.rule in ("sheet-size", "tube-wall")
    if case.limit is not None:
        assert finding.value == pytest.approx(case.limit - STEP * case.sign, abs=0.012)


def every_pair() -> list[tuple[str, str]]:
    """Every cell there has to be."""
    bounds = [(kind, bound) for kind in matrix.KINDS for bound in matrix.BOUNDS]
    return [*combinations_with_replacement(matrix.KINDS, 2), *bounds]


def test_no_cell_of_the_matrix_is_empty() -> None:
    assert [pair for pair in every_pair() if not matrix.cell(*pair)] == []


def test_every_rule_in_the_matrix_is_registered_and_has_a_case_for_its_cell() -> None:
    registered = {rule.name for rule in all_rules()}
    elsewhere = {
        f"sketcher.checks.{name}"
        for name in ("hold_seal", "hold_screws", "hold_screw_edge", "hold_lid", "hold_webs", "hold_life", "tube_rules")
    }
    told = {(case.rule, frozenset(cell.split("-", 1)) if "keep-out" not in cell else frozenset((cell[:-9], "keep-out")))
            for case in CASES for cell in case.cells.split(",") if cell}  # fmt: skip
    missing = []
    for one, other in every_pair():
        rules = matrix.cell(one, other)
        for rule in rules if isinstance(rules, tuple) else ():
            assert rule in registered, rule
            if findings.home_of(rule) in elsewhere or rule in ("port-opening",):
                continue
            if "groove" in (one, other):
                continue  # a groove is designed, not drawn: test_every_groove has its floors on both sides of the limit
            if (rule, frozenset((one, other))) not in told:
                missing.append((rule, one, other))
    assert missing == []


@pytest.mark.parametrize("rule", ["wall-cutout-edge", "wall-hole-edge", "wall-pocket-edge", "wall-channel-edge"])
def test_flush_with_the_edge_is_nothing_left_and_an_error(rule: str) -> None:
    document = {
        "wall-cutout-edge": plate(cutouts=[cut("K1", rectangle(60, 150, 20, 20))]),
        "wall-pocket-edge": plate(pockets=[cut("K1", rectangle(60, 150, 20, 20), depth_mm=4)]),
        "wall-hole-edge": plate(holes=[hole("K1", 50 + M4, 150)]),
        "wall-channel-edge": plate(channels=[channel("K1", (54, 150), (200, 150))]),
    }[rule]
    found = [f for f in run(document, quick=True) if f.items == ("K1",) and f.rule in (rule, "outside-plate")]
    assert [(f.rule, f.level) for f in found] == [(rule, "error")]
    assert found[0].value == pytest.approx(0, abs=1e-6)


def test_an_oblique_wall_says_how_far_apart_and_how_much_less_deep() -> None:
    """A pocket 2 mm above the channel's ceiling and 1 mm beside it: the wall is √5; apart by √(3² - 2²) - 1 it is 3."""
    document = plate(channels=[STRAIGHT], pockets=[cut("R1", rectangle(150, 165, 20, 20), depth_mm=10)])
    (finding,) = [f for f in run(document, quick=True) if f.rule == "wall-channel-pocket"]
    assert finding.value == pytest.approx(math.sqrt(5), abs=1e-6)
    deep, apart = (float(said) for said in re.findall(r"([\d.]+) mm", finding.remedy))
    assert deep == pytest.approx(3 - math.sqrt(5), abs=0.01)
    assert apart == pytest.approx(math.sqrt(9 - 4) - 1, abs=0.01)
    assert "beyond" not in finding.remedy
    # Right above it there is no gap in plan: what is to be moved is more than the overlap.
    over = plate(channels=[STRAIGHT], pockets=[cut("R1", rectangle(150, 150, 20, 20), depth_mm=10)])
    (finding,) = [f for f in run(over, quick=True) if f.rule == "wall-channel-pocket"]
    assert "beyond where they overlap" in finding.remedy


@pytest.mark.parametrize("gap", [0.0, -0.5])
def test_items_that_touch_overlap_and_are_named_in_natural_order(gap: float) -> None:
    near = cut("K10", rectangle(150, 150, 20, 20)), cut("K2", rectangle(170 + gap, 150, 20, 20))
    (finding,) = [f for f in run(plate(cutouts=list(near)), quick=True) if f.rule == "wall-cutout-cutout"]
    assert finding.items == ("K2", "K10")
    assert finding.level == "error"
    assert "overlap" in finding.message
    assert f"{finding.limit:g} mm" in finding.remedy


def test_two_pockets_on_opposite_faces_are_not_on_the_same_place() -> None:
    pockets = [cut("R1", circle(100, 150, 20), depth_mm=4), cut("R2", circle(100, 150, 20), depth_mm=3, face="bottom")]
    assert not {f.rule for f in run(plate(pockets=pockets), quick=True)} & {"same-place", "wall-pocket-pocket"}


def test_two_holes_on_one_place_are_one_finding() -> None:
    found = run(plate(holes=[hole("H1", 100, 150), hole("H2", 100, 150)]), quick=True)
    assert [f.rule for f in found if f.items == ("H1", "H2")] == ["same-place"]


def test_a_barrel_is_round_and_a_countersink_a_cone() -> None:
    """A lying cylinder of radius r seen from a pocket over its shoulder: the distance to its axis less r."""
    level = 16.0
    for depth, side in ((3.0, 4.0), (5.0, 5.0), (2.0, 1.0)):
        low, half = 26 - depth, 13.157 / 2
        edge = 150 + side
        document = plate(
            ports=[hole("P1", 50, 150, face="edge", level_mm=level, thread_depth_mm=30)],
            pockets=[cut("R1", rectangle(70, edge + 10, 20, 20), depth_mm=depth)],
            limits={"wall-port-pocket": 20},
        )
        (found,) = [f for f in run(document, quick=True) if f.rule == "wall-port-pocket"]
        assert found.value == pytest.approx(math.hypot(side, low - level) - half, abs=0.01)
    # A 90 degree countersink: from a wall beside it, lower down, the slant is nearest.
    document = plate(
        holes=[hole("H1", 100, 150, kind="countersunk", screw="M4", diameter_mm=1)],
        pockets=[cut("R1", rectangle(118, 150, 20, 40), depth_mm=3, face="bottom")],
        plate={"body_thickness_mm": 5, "lid_thickness_mm": 1},
        limits={"wall-pocket-hole": 20},
    )
    (found,) = [f for f in run(document, quick=True) if f.rule == "wall-pocket-hole"]
    # The cone's line: radius 8.96 / 2 at the face z = 6, one less for each mm down; the pocket's corner is (108, z 3).
    radius = 8.96 / 2
    along = [(100 + radius - t, 6 - t) for t in [k * 0.001 for k in range(int(2.48e3))]]
    shaft = 8 - 0.5
    assert found.value == pytest.approx(min(shaft, *(math.hypot(108 - u, max(z - 3, 0)) for u, z in along)), abs=0.02)


def test_the_way_from_an_edge_bore_to_its_channel_is_the_circles_part_at_the_channels_height() -> None:
    """The section by counting squares of a hundredth: a second way to the segment's area."""
    depth, radius = 5.0, BORE
    count = sum(
        1
        for i in range(-600, 600)
        for j in range(-600, 600)
        if math.hypot(i / 100, j / 100) <= radius and 0 <= j / 100 + 10 <= depth
    )
    document = plate(
        ports=[hole("P1", 50, 150, face="edge")],
        channels=[channel("C1", (200, 150), start="P1", depth_mm=depth)],
    )
    (found,) = [f for f in run(document, quick=True) if f.rule == "port-opening"]
    assert found.value == pytest.approx(100 * count / 1e4 / (8 * depth), abs=0.5)
