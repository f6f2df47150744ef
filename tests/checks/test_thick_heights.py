"""Heights over sheets that are thicker than drawn, five hundredths to either side of what just holds.

A body of 20 may be 2.4 thicker, a lid of 6 1.0 (ISO 7823-1: 0.4 + 0.1 t), together 3.4; measured, 0.1 each. The top is
at 26; fitting and straight tube need 25 above it, a head of M4 is 4 high (ISO 4762).
"""

from collections.abc import Callable

import pytest

from sketcher.checks import run
from sketcher.document import Document
from tests.checks.plates import circle, plate, rectangle
from tests.checks.test_limits import board, box, cut, floor, hole

RISE, TOP, NEED = 3.4, 26, 25
IN = [{"id": "in"}]
P1 = hole("P1", 100, 150)
CASES: dict[str, tuple[tuple[str, ...], Callable[[float], Document]]] = {
    "fitting under the ceiling": (
        ("P1",), lambda x: plate(ports=[P1], floor=floor(clear_height_mm=TOP + NEED + RISE + x))),
    "plate under the ceiling": ((), lambda x: plate(floor=floor(clear_height_mm=TOP + RISE + x))),
    "head under the ceiling": (
        ("H1",), lambda x: plate(holes=[hole("H1", 100, 150)], floor=floor(clear_height_mm=TOP + 4 + RISE + x))),
    "what stands on the plate, under the ceiling": (
        ("D1",), lambda x: plate(devices=[box("D1", 100, 150, TOP)], floor=floor(clear_height_mm=TOP + 20 + RISE + x))),
    "board over a fitting": (
        ("P1", "B1"), lambda x: plate(ports=[P1], boards=[board("B1", 90, 140, 28 + NEED + RISE + x)])),
    "device over the plate": (("D1",), lambda x: plate(devices=[box("D1", 100, 150, TOP + RISE + x)])),
    "device over a head": (
        ("H1", "D1"), lambda x: plate(holes=[hole("H1", 100, 150)], devices=[box("D1", 100, 150, TOP + 4 + RISE + x)])),
    "drop": (
        ("P1", "D1"), lambda x: plate(ports=[P1 | {"serves": "D1.in"}], devices=[
            {"id": "D1", "kind": "block", "x_mm": 100, "y_mm": 150, "z_mm": TOP + NEED + RISE + x, "ports": IN}])),
    "obstacle over the plate": (
        ("O1",), lambda x: plate(floor=floor(obstacles=[
            cut("O1", circle(100, 150, 10), bottom_mm=TOP + 0.5 + RISE + x, height_mm=90)]))),
    "measured": (
        ("P1",), lambda x: plate(ports=[P1], floor=floor(clear_height_mm=TOP + NEED + 0.2 + x),
                                 plate={"body_thickness_is": "measured", "lid_thickness_is": "measured"})),
    # The joint comes up by what the lid is thicker, 1.0, and with it the edge port: its fitting is 20 wide.
    "device over a lying fitting": (
        ("P1", "D1"), lambda x: plate(ports=[hole("P1", 50, 150, face="edge", heading_deg=0, level_mm=16)],
                                      devices=[box("D1", 30, 150, TOP + 0.5 + 1.0 + x)])),
}  # fmt: skip


def rows(document: Document) -> list[set[str]]:
    found = [f for f in run(document, fixes=False) if f.rule == "sheet-thickness"]
    return [set(row.items) for f in found for row in (f.listed or [f])]


@pytest.mark.parametrize("name", CASES)
def test_a_height_holds_for_the_thickest_sheets_or_is_told(name: str) -> None:
    items, made = CASES[name]
    assert set(items) not in rows(made(0.05))
    assert set(items) in rows(made(-0.05))


def test_a_tube_over_the_plate_keeps_its_clearance_over_the_thickest_sheets() -> None:
    """A tube of 14 with 3 of clearance: its middle is 10 over the thickest plate."""
    sides = [
        {"id": "a", "u_mm": 10, "w_mm": 10, "heading": "u+"},
        {"id": "b", "u_mm": -10, "w_mm": 10, "heading": "u-"},
    ]
    for x, told in ((0.05, False), (-0.05, True)):
        z = TOP + RISE + 10 + x
        devices = [box("D1", 20, 150, z - 10, (20, 20, 20), ports=sides), box("D2", 380, 150, z - 10, (20, 20, 20),
                                                                             ports=sides)]  # fmt: skip
        tubes = [{"id": "T1", "start": "D1.a", "end": "D2.b", "size": "acrylic 14/10",
                  "points": [{"x_mm": 200, "y_mm": 150, "z_mm": z}]}]  # fmt: skip
        assert ({"T1"} in rows(plate(devices=devices, loop={"tubes": tubes}))) == told


def test_what_stands_on_the_plate_comes_up_with_it_and_what_it_carries_too() -> None:
    """A block on the plate, a board in a pocket with a device on it: neither is told to be in thicker sheets."""
    document = plate(
        devices=[box("D1", 100, 150, TOP), box("D2", 20, 20, 0, (20, 20, 5), held_by="B1")],
        boards=[board("B1", 200, 130, 24)],
        pockets=[cut("R1", rectangle(220, 150, 50, 50), depth_mm=4)],
    )
    assert not {"D1", "D2", "B1"} & set().union(*rows(document))


def test_what_is_in_the_way_as_drawn_is_not_told_a_second_time_over_the_sheet() -> None:
    """A device 3 mm over the plate, 1 mm deep in a screw head: it has to move, and is told of once for each cause."""
    document = plate(ports=[P1], holes=[hole("H1", 130, 150)], devices=[box("D1", 115, 150, TOP + 3, (60, 40, 20))])
    assert {f.rule for f in run(document, fixes=False) if "D1" in f.items} == {"height-above", "head-blocked"}
    assert not [row for row in rows(document) if "D1" in row]
