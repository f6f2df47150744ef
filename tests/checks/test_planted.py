"""Faults of a builder's own making, planted in sound examples one by one: each is told, and at the thing that is wrong.

Which rule may tell it, and of which item, is what a careful engineer would point at: common practice, no source.
"""

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.document import DocumentError, from_plain

EXAMPLES = Path(__file__).parents[2] / "examples"
PLAIN = {name: json.loads((EXAMPLES / f"{name}.json").read_text("utf-8")) for name in ("small-board", "riser-bench")}
S, R = "small-board", "riser-bench"
MOUNTS = ("H1", "H2", "H3", "H4")

Changes = dict[str, Any]


def scaled(item: str, by: float, *keys: str) -> Changes:
    """Figures of an item's curve or outline in another unit."""
    return {f"{item}|{key}": ("times", by) for key in keys}


#: Name, example, what is changed ("item|path": value; an item of "" is the document), the rules of which one tells it,
#: and an item of which one tells it ("" for the plate or loop as a whole).
FAULTS: list[tuple[str, str, Changes, str, str]] = [
    ("an aluminium radiator beside copper", R, {"FRONT|metal": "aluminium"}, "metals-dissimilar", "FRONT"),
    ("a port on the underside", S, {"P1|face": "bottom"}, "hangs-below thread-in-lid", "P1"),
    ("an edge port in the middle", S, {"P4|face": "edge"}, "outside-plate", "P4"),
    ("a tube wider than its fittings", S, {"|loop/tube_outer_diameter_mm": 25}, "tube-fitting", "P1 P6"),
    ("a tube narrower than the fittings' bore", S,
     {"|loop/tube_outer_diameter_mm": 6, "|loop/tube_inner_diameter_mm": 4}, "fitting-bore", ""),
    ("a bore wider than the tube", S, {"|loop/fitting_bore_mm": 30}, "fitting-bore", ""),
    ("a smaller thread", S, {"P1|thread": "G1/8"}, "fitting-bore", "P1"),
    ("a thread of no table", S, {"P1|thread": "G1/2"}, "name-unknown", "P1"),
    ("a metric thread in a block", S, {"CPU|ports/0/thread": "M10"}, "name-unknown", "CPU"),
    ("a tube that leaves through its block", S, {"CPU|ports/0/heading": "w-"}, "port-heading", "CPU"),
    ("a block's port behind its board", S, {"CPU|ports/1/w_mm": -20}, "device-port-away", "CPU"),
    ("two ports of a block in one place", S, {"CPU|ports/1/u_mm": 14}, "ports-on-device", "CPU"),
    ("a block far over its chip", S, {"CPU|z_mm": 40}, "held-away", "CPU"),
    ("a block beside its board", S, {"CPU|x_mm": 190}, "held-away outside-case", "CPU"),
    ("a pump turned round", S, {"PUMP|ports/0/flow": "out", "PUMP|ports/1/flow": "in"}, "pump-reversed", "PUMP"),
    ("a port that serves nothing", S, {"P4|serves": None}, "device-unconnected", "RAD"),
    ("a plugged port in the loop", S, {"P5|use": "plugged"}, "port-use", "P5"),
    ("a sensor's port in the loop", S, {"P2|use": "sensor"}, "port-use", "P2"),
    ("a drain that opens upwards", R, {"P11|face": "top", "P11|y_mm": 40, "P11|bore_depth_mm": None}, "drain-high",
     "P11"),
    ("a fill port below the coolant", R, {"P11|use": "fill"}, "fill-low", "P11"),
    ("a pump over its reservoir", R, {"PUMP|z_mm": 300}, "pump-dry", "PUMP"),
    ("a board turned the wrong way", S, {"MB|turn_deg": 0}, "outside-case", "MB"),
    ("a board measured in inches", S, {"MB|pattern": None, "MB|width_mm": 6.7, "MB|depth_mm": 6.7}, "board-size",
     "MB"),
    ("a board's hole typed a digit short", R, {"MB|holes/2/u_mm": 3370}, "hole-off-board", "MB"),
    ("a floor measured in inches", S, {"|floor/outline/width_mm": 12.6, "|floor/outline/depth_mm": 9.4}, "case-size",
     ""),
    ("a ceiling in inches", S, {"|floor/clear_height_mm": 6.3}, "above-ceiling", "MB"),
    ("a ceiling ten times too high", S, {"|floor/clear_height_mm": 1600}, "case-height", ""),
    ("a body in inches", S, {"|plate/body_thickness_mm": 0.75}, "depth-under-channel", "C1"),
    ("a channel in inches", S, {"C1|width_mm": 0.315, "C1|depth_mm": 0.315}, "cutter-channel", "C1"),
    ("a fitting in inches", S, {"P1|fitting_diameter_mm": 0.79}, "fitting-size", "P1"),
    ("a cutout in inches", S, {"K1|outline/length_mm": 1.6, "K1|outline/width_mm": 0.4}, "cutter-recess", "K1"),
    ("a pump's height in inches", S, {"PUMP|height_mm": 2.4}, "volume-doubted", "PUMP"),
    ("a volume in litres", S, {"RAD|volume_ml": 0.07}, "volume-doubted", "RAD"),
    ("a pump in mbar", S, scaled("PUMP", 10, "curve/*/pressure_kpa"), "curve-doubted", "PUMP"),
    ("a pump in litres per hour", S, scaled("PUMP", 60, "curve/*/flow_l_min"), "curve-far", "PUMP"),
    ("a block in bar", S, scaled("CPU", 0.01, "curve/*/pressure_kpa"), "curve-doubted", "CPU"),
    ("a radiator's conductance per 10 K", S, scaled("RAD", 10, "conductance/*/conductance_w_k"), "curve-steep", "RAD"),
    ("one point of a curve a digit off", S, {"CPU|curve/4/pressure_kpa": 207.5}, "curve-steep", "CPU"),
    ("a chip's heat in kilowatts", S, {"CPU|heat_w": 0.065}, "block-heat", "CPU"),
    ("a fan's size a digit off", S, {"RAD|fan_size_mm": 1200}, "fan-size", "RAD"),
    ("ten fans on a small radiator", S, {"RAD|fans": 10}, "fan-count", "RAD"),
    ("water with a strength", S, {"|loop/coolant": {"kind": "water", "strength_percent": 30}}, "coolant-strength", ""),
    ("glycol beyond its table", S, {"|loop/coolant": {"kind": "ethylene-glycol", "strength_percent": 100}},
     "coolant-range", ""),
    ("a room below freezing", S, {"|loop/room_c": -20}, "coolant-range", ""),
    ("a radiator in hot air", S, {"RAD|air_c": 55}, "water-too-warm", "CPU"),
    ("a mounting screw's head below", S, {"H1|kind": "counterbored", "H1|face": "bottom"}, "mount-side", "H1"),
    ("no mounting screw at all", S, {f"{h}|use": "other" for h in MOUNTS}, "mount-none", ""),
    ("an opening under a mounting screw", S,
     {"|floor/openings": [{"id": "W1", "outline": {"shape": "circle", "x_mm": 18, "y_mm": 28, "diameter_mm": 30}}]},
     "mount-opening", "H1"),
    ("a hole through the seal", S, {"H4|x_mm": 40, "H4|y_mm": 144, "H4|use": "other"}, "seal-wall", "H4"),
    ("a limit a digit short", S, {"|limits": {"wall-channel-edge": 0.4}}, "limit-far", "wall-channel-edge"),
    ("a cord that is made too well", S, {"|seal/cord_tolerance_mm": 0.01}, "setting-unlikely",
     "seal.cord_tolerance_mm"),
    ("a wall of nothing beside the groove", S, {"|seal/wall_mm": 0.2}, "groove-wall", ""),
    ("a keep-out beside the plate", R, {"|keep_outs/0/outline/x_mm": 4100}, "keep-out-idle", "Z1"),
    ("an obstacle that is not where it was measured", R, {"|floor/obstacles/2/outline/y_mm": 18}, "survey-not-drawn",
     "O3"),
    ("a tube as long as ten", R, {"|loop/tubes/0/length_mm": 600}, "tube-length", "T1"),
    ("a tube from an inlet to an inlet", R, {"|loop/tubes/0/start": "RES.in"}, "device-unconnected", "RES"),
    ("a pocket as deep as a scratch", R, {"|pockets/0/depth_mm": 0.3}, "recess-slight", "R1"),
    ("the lid on the other side", S, {"|plate/lid_face": "top"}, "screw-side", "S1"),
    ("lid screws that are too short", S, {f"S{k}|depth_mm": 9 for k in range(1, 21)}, "screw-thread", "S1"),
]  # fmt: skip
#: Told already when the document is read: there is no such document.
REFUSED: list[tuple[str, str, Changes]] = [
    ("two ports that serve one", S, {"P4|serves": "PUMP.out"}),
    ("a port in two connections", S, {"|loop/connections": [["P1", "P2"], ["P2", "P3"]]}),
    ("an obstacle upside down", S, {"|floor/obstacles/0/bottom_mm": 30}),
    ("two things of one name", S, {"P2|id": "P1"}),
]


def planted(name: str, changes: Changes) -> dict[str, Any]:
    plain = copy.deepcopy(PLAIN[name])
    items = {item["id"]: item for rows in plain.values() if isinstance(rows, list) for item in rows if "id" in item}
    for place, value in changes.items():
        item, _, way = place.partition("|")
        _put(items[item] if item else plain, way.split("/"), value)
    return plain


def _put(node: Any, way: list[str], value: Any) -> None:
    first, *rest = way
    if first == "*":
        for row in node:
            _put(row, rest, value)
    elif rest:
        _put(node[int(first)] if isinstance(node, list) else node.setdefault(first, {}), rest, value)
    elif value is None:
        node.pop(first, None)
    else:
        node[first] = node[first] * value[1] if isinstance(value, tuple) else value


@pytest.mark.long
@pytest.mark.parametrize(("fault", "name", "changes", "rules", "items"), FAULTS, ids=[row[0] for row in FAULTS])
def test_a_planted_fault_is_told_at_its_place(fault: str, name: str, changes: Changes, rules: str, items: str) -> None:
    found = run(from_plain(planted(name, changes)), fixes=False)
    told = [f for f in found if f.rule in rules.split() and (not items or set(items.split()) & set(f.items))]
    assert told, (fault, sorted({f.rule for f in found}))
    before = {(f.rule, f.items, f.message) for f in run(from_plain(PLAIN[name]), fixes=False)}
    assert any((f.rule, f.items, f.message) not in before for f in told)
    assert all(f.message and f.remedy for f in told)


@pytest.mark.parametrize(("fault", "name", "changes"), REFUSED, ids=[row[0] for row in REFUSED])
def test_a_fault_that_no_document_can_have_is_refused(fault: str, name: str, changes: Changes) -> None:
    with pytest.raises(DocumentError):
        from_plain(planted(name, changes))


def test_there_are_fifty_faults_of_kinds_of_their_own() -> None:
    assert len(FAULTS) >= 50
    assert len({rule for *_, rules, _ in FAULTS for rule in rules.split()}) >= 40
