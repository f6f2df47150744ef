"""Figures that cannot be, and sizes that hardly any machine has: told beyond the bound and not before it.

Bounds are common practice without a source but for these: 1 l/min of water carries 69.5 W/K (997 kg/m³ by 4,180
J/(kg K) at 25 °C, IAPWS), with a twentieth for plots that are read off 72.9; G1/4 is 13.157 mm wide (ISO 228-1).
"""

import copy
import json
from collections.abc import Callable
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.document import Document, from_plain
from tests.checks.plates import circle, plate, rectangle
from tests.checks.test_limits import STRAIGHT, board, box, cut

EXAMPLES = Path(__file__).parents[2] / "examples"


def device(kind: str = "block", **more: Any) -> Document:
    """A device of 100 by 50 by 20, which is 100 ml, over the plate."""
    body = {"outline": rectangle(0, 0, 100, 50), "height_mm": 20, **more}
    return plate(devices=[{"id": "D1", "kind": kind, "x_mm": 200, "y_mm": 150, "z_mm": 100, **body}])


def curve(*points: tuple[float, float], kind: str = "block") -> Document:
    return device(kind, curve=[{"flow_l_min": flow, "pressure_kpa": kpa} for flow, kpa in points])


def heat(*points: tuple[float, float]) -> Document:
    return device("radiator", conductance=[{"flow_l_min": flow, "conductance_w_k": heat} for flow, heat in points])


def ports(*places: tuple[float, float, float]) -> Document:
    rows = [{"id": f"a{k}", "u_mm": u, "v_mm": v, "w_mm": w} for k, (u, v, w) in enumerate(places)]
    return device(ports=rows)


def floor(width: float = 400, **more: Any) -> Document:
    return plate(floor={"outline": rectangle(200, 150, width, 300), **more})


def tube(length: float) -> Document:
    """Between two ports that are 200 apart."""
    rows = [{**box(id_, x, 150, 100, ports=[{"id": "a"}])} for id_, x in (("D1", 100), ("D2", 300))]
    return plate(devices=rows, loop={"tubes": [{"id": "T1", "start": "D1.a", "end": "D2.a", "length_mm": length}]})


def on_board(**more: Any) -> Document:
    """A block on a board of 40 by 40, in the board's own axes."""
    block = {**box("D1", 20, 20, 2, (20, 20, 5)), "kind": "block", "held_by": "B1", **more}
    return plate(boards=[board("B1", 150, 150, 100)], devices=[block])


#: Rule, what is well, what is not, and the value that is told, worked out by hand.
CASES: list[tuple[str, Document, Document, float | None]] = [
    ("case-size", floor(1499), floor(1501), 1501),
    ("case-size", plate(floor={"outline": rectangle(200, 150, 400, 71)}),
     plate(floor={"outline": rectangle(200, 150, 400, 69)}), 69),
    ("case-height", floor(clear_height_mm=999), floor(clear_height_mm=1001), 1001),
    ("obstacle-size", floor(obstacles=[cut("O1", circle(20, 20, 1.6), height_mm=5)]),
     floor(obstacles=[cut("O1", circle(20, 20, 1.4), height_mm=5)]), 1.4),
    # A lip of sheet, a millimetre thick and long.
    ("obstacle-size", floor(obstacles=[cut("O1", rectangle(20, 20, 1, 30), height_mm=0.6)]),
     floor(obstacles=[cut("O1", rectangle(20, 20, 1, 30), height_mm=0.4)]), 0.4),
    ("floor-item-outside", floor(obstacles=[cut("O1", rectangle(400, 20, 39, 20), height_mm=5)]),
     floor(obstacles=[cut("O1", rectangle(400, 20, 41, 20), height_mm=5)]), 20.5),
    ("board-size", plate(boards=[board("B1", 0, 0, 100, width_mm=26)]),
     plate(boards=[board("B1", 0, 0, 100, width_mm=24)]), 24),
    ("board-size", plate(boards=[board("B1", 0, 0, 100, parts_height_mm=8)]),
     plate(boards=[board("B1", 0, 0, 100, parts_height_mm=7)]), 7),
    ("board-size", plate(boards=[board("B1", 0, 0, 100, role="riser", parts_height_mm=59)]),
     plate(boards=[board("B1", 0, 0, 100, role="riser", parts_height_mm=61)]), 61),
    ("hole-off-board", plate(boards=[board("B1", 0, 0, 100, holes=[{"id": "M", "u_mm": 2, "v_mm": 9}])]),
     plate(boards=[board("B1", 0, 0, 100, holes=[{"id": "M", "u_mm": 1.9, "v_mm": 9}])]), 1.9 - 3.96 / 2),
    ("held-away", on_board(x_mm=90, kind="other"), on_board(x_mm=91, kind="other"), 41),
    ("held-away", on_board(y_mm=39.9), on_board(y_mm=40.1), 0.1),
    ("held-away", on_board(z_mm=20), on_board(z_mm=20.1), 20.1),
    ("device-port-away", on_board(ports=[{"id": "a", "w_mm": -1.9}]),
     on_board(ports=[{"id": "a", "w_mm": -2.1}]), -0.1),
    ("fan-size", device("radiator", fans=1, fan_size_mm=20), device("radiator", fans=1, fan_size_mm=19), 19),
    ("fan-size", device("radiator", fans=1, fan_size_mm=250), device("radiator", fans=1, fan_size_mm=251), 251),
    ("fan-size", device("fan", fan_size_mm=125), device("fan", fan_size_mm=126), 126),
    # Two faces of 100 by 50 are 10,000 mm².
    ("fan-count", device("radiator", fans=6, fan_size_mm=50), device("radiator", fans=7, fan_size_mm=50), 175),
    ("block-height", device(height_mm=100), device(height_mm=101), 101),
    ("pump-heat", device("pump", heat_w=80), device("pump", heat_w=81), 81),
    ("curve-far", curve((1, 1), (30, 40)), curve((1, 1), (31, 40)), 31),
    ("tube-length", tube(1000), tube(1001), 1001),
    ("keep-out-idle", plate(keep_outs=[cut("Z1", rectangle(45, 150, 11, 20))]),
     plate(keep_outs=[cut("Z1", rectangle(45, 150, 9, 20))]), None),
    ("recess-slight", plate(pockets=[cut("R1", rectangle(200, 150, 20, 20, 3), depth_mm=0.5)]),
     plate(pockets=[cut("R1", rectangle(200, 150, 20, 20, 3), depth_mm=0.45)]), 0.45),
    ("volume-doubted", device(volume_ml=100), device(volume_ml=101), 101),
    ("volume-doubted", device("reservoir", volume_ml=10), device("reservoir", volume_ml=9.9), 9.9),
    ("volume-doubted", device("radiator", volume_ml=3), device("radiator", volume_ml=2.9), 2.9),
    ("ports-on-device", ports((0, 0, 0), (13, 0, 0)), ports((0, 0, 0), (8, 0, 10)), 164**0.5),
    # A square law is well; eight times as much for half as much flow again is the power ln 8 / ln 1.5 = 5.1.
    ("curve-steep", curve((1, 1), (2, 4), (4, 16)), curve((2, 4), (3, 32)), None),
    ("curve-steep", heat((1, 20), (2, 35)), heat((1, 20), (2, 55)), None),
    ("curve-steep", heat((0.5, 36)), heat((0.5, 37)), 37),
    ("curve-steep", curve((1, 1), (2, 3), (2, 3.4)), curve((1, 1), (2, 3), (2, 9)), None),
    ("device-without-curve", curve((1, 1)), curve((0, 0)), None),
    # A hump at the start is well, a valley in the middle is not.
    ("curve-steep", curve((0, 20), (1, 22), (4, 10), (6, 0), kind="pump"),
     curve((0, 20), (1, 15), (2, 17), (6, 0), kind="pump"), None),
]  # fmt: skip


def served(loop: dict[str, Any] | None = None, kind: str = "block", **more: Any) -> Document:
    """A port below one of a device, 74 over the plate."""
    above = {**box("D1", 150, 150, 100, ports=[{"id": "a"}]), "kind": kind}
    port = {"id": "P1", "x_mm": 150, "y_mm": 150, "serves": "D1.a", **more}
    return plate(devices=[above], ports=[port], loop=loop or {})


def heading(way: str, **port: float) -> Document:
    return device(ports=[{"id": "a", "heading": way, **port}])


def opening(use: str, device_z: float, **more: Any) -> Document:
    """A port in the plate's edge, its axis 10 over the floor, and a device with a port so high."""
    at = {"face": "edge", "x_mm": 50, "y_mm": 150, "level_mm": 10, **more}
    return plate(ports=[{"id": "P1", "use": use, **at}], devices=[box("D1", 20, 20, device_z, ports=[{"id": "a"}])])


def fed(pump_z: float, **more: Any) -> Document:
    """A reservoir 50 high, 100 over the floor, and a pump beside it."""
    tank = {**box("T", 100, 150, 100, (40, 40, 50), ports=[{"id": "a"}]), "kind": "reservoir"}
    pump = {**box("D1", 200, 150, pump_z, ports=[{"id": "a", "flow": "in"}]), "kind": "pump", **more}
    return plate(devices=[tank, pump])


def coolant(kind: str, percent: float) -> Document:
    return plate(loop={"coolant": {"kind": kind, "strength_percent": percent}})


def mounted(**more: Any) -> Document:
    hole = {"id": "H1", "x_mm": 150, "y_mm": 150, "kind": "counterbored", "screw": "M4", **more}
    return plate(plate={"z_mm": 20}, holes=[hole])


#: The same for what is joined, filled and set: G1/4 is 11.445 inside, G1/8 8.566 (ISO 228-1).
JOINED: list[tuple[str, Document, Document, float | None]] = [
    ("fitting-bore", served({"fitting_bore_mm": 11.4}), served({"fitting_bore_mm": 11.5}), 11.5),
    ("fitting-bore", served({"fitting_bore_mm": 8.5}, thread="G1/8"), served(thread="G1/8"), 9),
    ("fitting-bore", served({"tube_outer_diameter_mm": 9.1, "tube_inner_diameter_mm": 5}),
     served({"tube_outer_diameter_mm": 9, "tube_inner_diameter_mm": 5}), 9),
    ("tube-fitting", served({"tube_outer_diameter_mm": 24}), served({"tube_outer_diameter_mm": 24.2}), 1.21),
    ("port-use", served(), served(use="plugged"), None),
    ("port-use", served(kind="valve", use="drain"), served(kind="pump", use="drain"), None),
    ("port-heading", heading("w+", w_mm=20), heading("w-", w_mm=20), 20),
    ("port-heading", heading("w-"), heading("w+"), 20),
    ("port-heading", heading("u-", u_mm=-50, w_mm=9), heading("u+", u_mm=-50, w_mm=9), 100),
    ("port-heading", heading("v+", v_mm=30, w_mm=9), heading("v-", v_mm=30, w_mm=9), 50),
    ("coolant-strength", coolant("water", 0), coolant("water", 10), 10),
    ("coolant-strength", coolant("ethylene-glycol", 30), coolant("ethylene-glycol", 0), 0),
    ("drain-high", opening("drain", 0), opening("drain", 0, level_mm=10.1), 10.1),
    ("drain-high", opening("drain", 60), opening("drain", 60, face="top", x_mm=150, level_mm=None), None),
    ("fill-low", opening("fill", 20), opening("fill", 20.1), 10.1),
    ("pump-dry", fed(150), fed(150.5), 0.5),
    ("pump-dry", fed(250, has_reservoir=True), fed(250), 100),
    ("mount-side", mounted(), mounted(face="bottom"), 20),
    ("mount-side", mounted(face="bottom", kind="through"), mounted(face="bottom", kind="countersunk"), 20),
    ("block-heat", device(heat_w=1), device(heat_w=0.9), 0.9),
    ("fitting-straight", served({"fitting_straight_mm": 8}), served({"fitting_straight_mm": 7}), 7),
    ("limit-far", plate(limits={"wall-channel-edge": 0.8}), plate(limits={"wall-channel-edge": 0.7}), 0.7),
    ("setting-unlikely", plate(seal={"cord_tolerance_mm": 0.03}, channels=[STRAIGHT]),
     plate(seal={"cord_tolerance_mm": 0.02}, channels=[STRAIGHT]), 0.02),
    ("setting-unlikely", plate(spreads={"least_chance_percent": 50}, channels=[STRAIGHT]),
     plate(spreads={"least_chance_percent": 9.5}, channels=[STRAIGHT]), 9.5),
    ("setting-unlikely", plate(shop={"deepest_by_diameter": 10}, channels=[STRAIGHT]),
     plate(shop={"deepest_by_diameter": 30}, channels=[STRAIGHT]), 30),
    ("sheet-material", plate(plate={"sheet": "extruded", "material": "extruded acrylic"}),
     plate(plate={"sheet": "cast", "material": "extruded acrylic"}), None),
    ("setting-unlikely", plate(seal={"insert_pull_n": 5000}, channels=[STRAIGHT]),
     plate(seal={"insert_pull_n": 100000}, channels=[STRAIGHT]), 100000),
    ("groove-wall", plate(seal={"wall_mm": 0.8}, channels=[STRAIGHT]),
     plate(seal={"wall_mm": 0.7}, channels=[STRAIGHT]), 0.7),
]  # fmt: skip
CASES += JOINED


@pytest.mark.parametrize(("rule", "well", "wrong", "value"), CASES, ids=[f"{k}-{c[0]}" for k, c in enumerate(CASES)])
def test_a_figure_is_told_beyond_its_bound_and_not_before_it(
    rule: str, well: Document, wrong: Document, value: float | None
) -> None:
    assert [f.message for f in run(well, quick=True) if f.rule == rule] == []
    (finding,) = (f for f in run(wrong, quick=True) if f.rule == rule)
    assert finding.message
    assert finding.remedy
    if value is not None:
        assert finding.value == pytest.approx(value, abs=0.02)


@lru_cache
def example(name: str) -> tuple[dict[str, Any], frozenset[tuple[str, tuple[str, ...]]]]:
    plain = json.loads((EXAMPLES / f"{name}.json").read_text("utf-8"))
    return plain, frozenset((f.rule, f.items) for f in run(from_plain(plain), quick=True))


def changed(name: str, pointer: str, change: Callable[[float], float]) -> Document:
    plain = copy.deepcopy(example(name)[0])
    node: Any = plain
    *way, last = [int(part) if part.isdigit() else part for part in pointer.split("/")]
    for part in way:
        node = node[part]
    node[last] = change(node[last])
    return from_plain(plain)


#: What is drawn of the survey, and what it is then: its outline, its height, the reading itself.
OF_THE_SURVEY = [
    ("floor/outline/vertices/1/x_mm", lambda x: 10 * x, "S1"),
    ("floor/obstacles/0/height_mm", lambda h: h / 10, "O1"),
    ("floor/obstacles/1/outline/diameter_mm", lambda d: d / 10, "O2"),
    ("floor/obstacles/2/outline/y_mm", lambda y: y / 10, "O3"),
    ("survey/readings/21/value", lambda d: 10 * d, "O2"),
    ("survey/readings/25/value", lambda h: 10 * h, "O1"),
    ("survey/outlines/1/height_mm", lambda h: 10 * h, "O1"),
]


@pytest.mark.parametrize(("pointer", "change", "item"), OF_THE_SURVEY, ids=[row[0] for row in OF_THE_SURVEY])
def test_what_is_not_drawn_as_it_was_measured_is_told(
    pointer: str, change: Callable[[float], float], item: str
) -> None:
    told = [f for f in run(changed("riser-bench", pointer, change), quick=True) if f.rule == "survey-not-drawn"]
    outlines = {o["id"] for o in example("riser-bench")[0]["survey"]["outlines"] if o.get("what") == "floor"}
    assert [f.items for f in told] == [(item,) if item in ("O1", "O2", "O3") else tuple(outlines)]
    assert all(f.at is not None and f.level == "warning" for f in told)
    assert not any(rule == "survey-not-drawn" for rule, _ in example("riser-bench")[1])
