"""Each problem that a document can have with itself: a case of it alone, and the nearest document that is right.

The cases are written by hand from docs/format.md; a test counts the problems in the code, so that none goes without.
"""

from __future__ import annotations

import ast
import sys
from pathlib import Path
from typing import Any

import pytest

from sketcher.document import DocumentError, consistency, from_plain, survey_consistency
from sketcher.document.kinds import KINDS, SURVEY_KINDS, new_ids
from sketcher.document.problem import Problem
from tests.document.test_files import BARE

Part = dict[str, Any]


def port(id_: str, **more: Any) -> Part:
    return {"id": id_, "x_mm": 10, "y_mm": 10, **more}


def device(id_: str, *ports: str, **more: Any) -> Part:
    return {"id": id_, "kind": "block", "ports": [{"id": name} for name in ports], **more}


def channel(**more: Any) -> Part:
    return {"id": "C1", "width_mm": 8, "depth_mm": 8, **more}


def survey(*readings: Part, **more: Any) -> Part:
    return {"survey": {"points": [{"id": "A"}, {"id": "B"}, {"id": "C"}], "readings": list(readings), **more}}


def reading(**more: Any) -> Part:
    return {"id": "M1", "points": ["A", "B"], "value": 10, **more}


def outline(**more: Any) -> Part:
    return survey(outlines=[{"id": "O1", **more}])


def pocket(**shape: Any) -> Part:
    return {"pockets": [{"id": "R1", "depth_mm": 2, "outline": {"x_mm": 5, "y_mm": 5, **shape}}]}


def obstacle(**more: Any) -> Part:
    circle = {"shape": "circle", "x_mm": 5, "y_mm": 5, "diameter_mm": 4}
    return {"floor": {**BARE["floor"], "obstacles": [{"id": "O1", "outline": circle, **more}]}}  # type: ignore[dict-item]


A, B = {"x_mm": 1, "y_mm": 1}, {"x_mm": 9, "y_mm": 1}


def slot(id_: str, **cable: str) -> dict:
    return {"id": id_, "outline": ROUND, "depth_mm": 4, "cable": cable}


TWO_PORTS = [port("P1"), port("P2")]
GPU = [device("GPU", "in", "out")]
ROUND = {"shape": "circle", "x_mm": 5, "y_mm": 5, "diameter_mm": 4}
HELD = {"boards": [{"id": "MB", "slots": 2}, {"id": "RISER", "held_by": "MB", "slot": 2}]}

#: What is wrong, where, a word of what is said, and the nearest document in which it is right.
CASES: dict[str, tuple[Part, str, str, Part]] = {
    "an id in two lists": (
        {"ports": [port("X1")], "holes": [port("X1")]}, "/holes/0/id", "taken by /ports/0",
        {"ports": [port("X1")], "holes": [port("X2")]},
    ),
    "an id of a deleted item": (
        {"ports": [port("P1")], "retired_ids": ["P1"]}, "/ports/0/id", "deleted",
        {"ports": [port("P1")], "retired_ids": ["P2"]},
    ),
    "a device's port twice": (
        {"devices": [device("GPU", "in", "in")]}, "/devices/0/ports/1/id", "port 'in' is named twice",
        {"devices": [device("GPU", "in"), device("CPU", "in")]},
    ),
    "a point twice": (
        {"survey": {"points": [{"id": "A"}, {"id": "A"}]}}, "/survey/points/1/id", "point 'A' is named twice",
        {"survey": {"points": [{"id": "A"}, {"id": "B"}]}},
    ),
    "a reading twice": (
        survey(reading(), reading()), "/survey/readings/1/id", "reading 'M1' is named twice",
        survey(reading(), reading(id="M2")),
    ),
    "a tool twice": (
        survey(tools=[{"id": "t", "spread_mm": 1}, {"id": "t", "spread_mm": 1}]), "/survey/tools/1/id", "named twice",
        survey(tools=[{"id": "t", "spread_mm": 1}, {"id": "u", "spread_mm": 1}]),
    ),
    "a channel from nowhere": (
        {"channels": [channel(start="P7", points=[A, B])]}, "/channels/0/start", "no port or branch is called 'P7'",
        {"channels": [channel(start="P7", points=[A, B])], "ports": [port("P7")]},
    ),
    "a channel to nowhere": (
        {"channels": [channel(end="J7", points=[A, B])]}, "/channels/0/end", "no port or branch is called 'J7'",
        {"channels": [channel(end="J7", points=[A, B])], "branches": [port("J7")]},
    ),
    "a channel of one place": (
        {"channels": [channel(start="P1")], "ports": TWO_PORTS}, "/channels/0", "at least two places",
        {"channels": [channel(start="P1", points=[A])], "ports": TWO_PORTS},
    ),
    "a channel to its own start": (
        {"channels": [channel(start="P1", end="P1", points=[A])], "ports": TWO_PORTS}, "/channels/0/end", "begins",
        {"channels": [channel(start="P1", end="P1", points=[A, B])], "ports": TWO_PORTS},
    ),
    "a port that serves nothing": (
        {"ports": [port("P1", serves="GPU.on")], "devices": GPU}, "/ports/0/serves", "did you mean 'GPU.in'",
        {"ports": [port("P1", serves="GPU.in")], "devices": GPU},
    ),
    "a device's port served twice": (
        {"ports": [port("P1", serves="GPU.in"), port("P2", serves="GPU.in")], "devices": GPU},
        "/ports/1/serves", "P1 already",
        {"ports": [port("P1", serves="GPU.in"), port("P2", serves="GPU.out")], "devices": GPU},
    ),
    "a slot without a holder": (
        {"boards": [{"id": "MB", "slot": 1}]}, "/boards/0/slot", "needs a holder",
        HELD,
    ),
    "held by nothing": (
        {"boards": [{"id": "MB", "held_by": "MD"}]}, "/boards/0/held_by", "no board or device is called 'MD'",
        {"boards": [{"id": "MB"}], "devices": [device("D1", held_by="MB")]},
    ),
    "a slot that the holder has not": (
        {"boards": [{"id": "MB", "slots": 2}, {"id": "RISER", "held_by": "MB", "slot": 3}]},
        "/boards/1/slot", "has no slot 3",
        HELD,
    ),
    "a slot of a device": (
        {"devices": [device("D1"), device("D2", held_by="D1", slot=1)]}, "/devices/1/slot", "has no slot 1",
        {"devices": [device("D1"), device("D2", held_by="D1")]},
    ),
    "a holder held by itself": (
        {"boards": [{"id": "MB", "held_by": "MB"}]}, "/boards/0/held_by", "hold itself",
        {"boards": [{"id": "MB"}, {"id": "X", "held_by": "MB"}, {"id": "Y", "held_by": "X"}]},
    ),
    "a tube from nowhere": (
        {"loop": {"tubes": [{"id": "T1", "start": "GPU.x", "end": "GPU.out"}]}, "devices": GPU},
        "/loop/tubes/0/start", "no device has the port 'GPU.x'",
        {"loop": {"tubes": [{"id": "T1", "start": "GPU.in", "end": "GPU.out"}]}, "devices": GPU},
    ),
    "a tube to nowhere": (
        {"loop": {"tubes": [{"id": "T1", "start": "GPU.in", "end": "CPU.in"}]}, "devices": GPU},
        "/loop/tubes/0/end", "no device has the port 'CPU.in'",
        {"loop": {"tubes": [{"id": "T1", "start": "GPU.in", "end": "GPU.out"}]}, "devices": GPU},
    ),
    "a tube to its own start": (
        {"loop": {"tubes": [{"id": "T1", "start": "GPU.in", "end": "GPU.in"}]}, "devices": GPU},
        "/loop/tubes/0/end", "ends where it begins",
        {"loop": {"tubes": [{"id": "T1", "start": "GPU.in", "end": "GPU.out"}]}, "devices": GPU},
    ),
    "a connection to no port": (
        {"loop": {"connections": [["P1", "P3"]]}, "ports": TWO_PORTS}, "/loop/connections/0/1", "'P3'",
        {"loop": {"connections": [["P1", "P2"]]}, "ports": TWO_PORTS},
    ),
    "a connection of a port with itself": (
        {"loop": {"connections": [["P1", "P1"]]}, "ports": TWO_PORTS}, "/loop/connections/0/1", "twice",
        {"loop": {"connections": [["P1", "P2"]]}, "ports": TWO_PORTS},
    ),
    "a port in two connections": (
        {"loop": {"connections": [["P1", "P2"], ["P3", "P1"]]}, "ports": [*TWO_PORTS, port("P3")]},
        "/loop/connections/1/1", "connection 1 already",
        {"loop": {"connections": [["P1", "P2"]]}, "ports": TWO_PORTS},
    ),
    "a member that is not there": (
        {"groups": [{"id": "G1", "members": ["P1", "P3"]}], "ports": TWO_PORTS}, "/groups/0/members/1", "called 'P3'",
        {"groups": [{"id": "G1", "members": ["P1", "P2"]}], "ports": TWO_PORTS},
    ),
    "a group in a group": (
        {"groups": [{"id": "G1"}, {"id": "G2", "members": ["G1"]}]}, "/groups/1/members/0", "called 'G1'",
        {"groups": [{"id": "G1"}, {"id": "G2"}]},
    ),
    "a cutout that follows nothing": (
        {"cutouts": [{"id": "K1", "outline": ROUND, "follows": {"item": "GPV"}}], "devices": GPU},
        "/cutouts/0/follows/item", "did you mean 'GPU'",
        {"cutouts": [{"id": "K1", "outline": ROUND, "follows": {"item": "GPU"}}], "devices": GPU},
    ),
    "a cutout that follows a hole": (
        {"cutouts": [{"id": "K1", "outline": ROUND, "follows": {"item": "MB", "hole": "A"}}], "boards": [{"id": "MB"}]},
        "/cutouts/0/follows/hole", "an area follows no hole",
        {"cutouts": [{"id": "K1", "outline": ROUND, "follows": {"item": "MB"}}], "boards": [{"id": "MB"}]},
    ),
    "a cable slot out of nothing": (
        {"pockets": [slot("R1", start="R2")]}, "/pockets/0/cable/start", "no pocket that is not a cable slot itself",
        {"pockets": [slot("R1", start="R2"), {"id": "R2", "outline": ROUND, "depth_mm": 4}]},
    ),
    "a cable slot out of a cable slot": (
        {"pockets": [slot("R1", start="R2"), slot("R2", start="R3"), {"id": "R3", "outline": ROUND, "depth_mm": 4}]},
        "/pockets/0/cable/start", "called 'R2'",
        {"pockets": [slot("R1", start="R2"), {"id": "R2", "outline": ROUND, "depth_mm": 4}]},
    ),
    "a cable slot to a pocket": (
        {"pockets": [slot("R1", start="R2", end="R2"), {"id": "R2", "outline": ROUND, "depth_mm": 4}]},
        "/pockets/0/cable/end", "no cutout or opening is called 'R2'",
        {"pockets": [slot("R1", start="R2", end="K1"), {"id": "R2", "outline": ROUND, "depth_mm": 4}],
         "cutouts": [{"id": "K1", "outline": ROUND}]},
    ),
    "a cable slot that follows a thing": (
        {"pockets": [{**slot("R1", start="R2"), "follows": {"item": "GPU"}},
                     {"id": "R2", "outline": ROUND, "depth_mm": 4}], "devices": GPU},
        "/pockets/0/follows", "follows nothing else",
        {"pockets": [slot("R1", start="R2"), {"id": "R2", "outline": ROUND, "depth_mm": 4}], "devices": GPU},
    ),
    "a hole that follows no hole": (
        {"holes": [port("H1", follows={"item": "MB"})], "boards": [{"id": "MB"}]},
        "/holes/0/follows/hole", "names the mounting hole",
        {"holes": [port("H1", follows={"item": "MB", "hole": "A"})], "boards": [{"id": "MB"}]},
    ),
    "a hole that follows an obstacle": (
        {"holes": [port("H1", follows={"item": "O1", "hole": "A"})], **obstacle(height_mm=5)},
        "/holes/0/follows/item", "mounting hole of a board or a device",
        {"holes": [port("H1", follows={"item": "MB", "hole": "A"})], "boards": [{"id": "MB"}]},
    ),
    "a fit reading at no port": (
        {"fit_readings": [{"port": "P3", "dx_mm": 1}], "ports": TWO_PORTS}, "/fit_readings/0/port", "called 'P3'",
        {"fit_readings": [{"port": "P1", "dx_mm": 1}], "ports": TWO_PORTS},
    ),
    "a tie of two points with one place": (
        {"ties": [{"item": "MB", "points": ["A", "B"], "places": [A]}]}, "/ties/0/places", "as many places",
        {"ties": [{"item": "MB", "points": ["A", "B"], "places": [A, B]}]},
    ),
    "a distance of one point": (
        survey(reading(points=["A"])), "/survey/readings/0/points", "names 2 point(s)",
        survey(reading(points=["A", "B"])),
    ),
    "a height of two points": (
        survey(reading(kind="height", points=["A", "B"])), "/survey/readings/0/points", "names 1 point(s)",
        survey(reading(kind="height", points=["A"])),
    ),
    "a distance to itself": (
        survey(reading(points=["A", "A"])), "/survey/readings/0/points", "to itself",
        survey(reading(points=["B", "A"])),
    ),
    "an offset without a wall": (
        survey(reading(kind="offset", points=["A"])), "/survey/readings/0/wall", "needs the wall",
        survey(reading(kind="offset", points=["A"], wall=["B", "C"])),
    ),
    "a wall of no length": (
        survey(reading(kind="along", points=["A"], wall=["B", "B"])), "/survey/readings/0/wall", "no length",
        survey(reading(kind="along", points=["A"], wall=["B", "C"])),
    ),
    "a reading of a point that is not there": (
        survey(reading(points=["A", "AA"])), "/survey/readings/0", "names 'AA', which is no point; did you mean 'A'",
        survey(reading(points=["A", "C"])),
    ),
    "a wall through a point that is not there": (
        survey(reading(kind="offset", points=["A"], wall=["B", "Q"])), "/survey/readings/0", "names 'Q'",
        survey(reading(kind="offset", points=["A"], wall=["B", "A"])),
    ),
    "a tool that is not there": (
        survey(reading(tool="tap")), "/survey/readings/0/tool", "did you mean 'tape'",
        survey(reading(tool="tape")),
    ),
    "an origin that is not there": (
        survey(origin="Q"), "/survey/origin", "no point is called 'Q'",
        survey(origin="A"),
    ),
    "an x axis to nowhere": (
        survey(along_x="Q"), "/survey/along_x", "no point is called 'Q'",
        survey(along_x="A"),
    ),
    "an x axis of one point": (
        survey(origin="A", along_x="A"), "/survey/along_x", "second point",
        survey(origin="A", along_x="B"),
    ),
    "a corner that is not there": (
        outline(corners=["A", "B", "Q"]), "/survey/outlines/0/corners/2", "no point is called 'Q'",
        outline(corners=["A", "B", "C"]),
    ),
    "a centre that is not there": (
        outline(centre="Q"), "/survey/outlines/0/centre", "no point is called 'Q'",
        outline(centre="A"),
    ),
    "an outline of two corners": (
        outline(corners=["A", "B"]), "/survey/outlines/0", "three corners or more",
        outline(corners=["A", "B", "C"]),
    ),
    "an outline of corners and a centre": (
        outline(corners=["A", "B", "C"], centre="A"), "/survey/outlines/0", "not both",
        outline(corners=["A", "B"], centre="A"),
    ),
    "a slot wider than long": (
        pocket(shape="slot", length_mm=5, width_mm=5.1), "/pockets/0/outline/length_mm", "is wide (5.1 mm)",
        pocket(shape="slot", length_mm=5, width_mm=5),
    ),
    "a corner radius over half the depth": (
        pocket(shape="rectangle", width_mm=9, depth_mm=6, corner_radius_mm=3.1),
        "/pockets/0/outline/corner_radius_mm", "at most 3 mm",
        pocket(shape="rectangle", width_mm=9, depth_mm=6, corner_radius_mm=3),
    ),
    "a corner radius over half the width": (
        pocket(shape="rectangle", width_mm=4, depth_mm=6, corner_radius_mm=2.1),
        "/pockets/0/outline/corner_radius_mm", "at most 2 mm",
        pocket(shape="rectangle", width_mm=4, depth_mm=6, corner_radius_mm=2),
    ),
    "a polygon of two straight edges": (
        {"cutouts": [{"id": "K1", "outline": {"shape": "polygon", "vertices": [A, B]}}]},
        "/cutouts/0/outline/vertices", "at least three corners",
        {"cutouts": [{"id": "K1", "outline": {"shape": "polygon", "vertices": [{**A, "bulge": 1}, B]}}]},
    ),
    "a slotted hole shorter than wide": (
        {"holes": [port("H1", slot_length_mm=4, diameter_mm=4.5)]}, "/holes/0/slot_length_mm", "(4.5 mm)",
        {"holes": [port("H1", slot_length_mm=4.5, diameter_mm=4.5)]},
    ),
    "an obstacle below its underside": (
        obstacle(height_mm=5, bottom_mm=5), "/floor/obstacles/0/height_mm", "underside at 5 mm",
        obstacle(height_mm=5, bottom_mm=4.9),
    ),
}  # fmt: skip


def faults(part: Part) -> dict[str, str]:
    try:
        from_plain({**BARE, **part})
    except DocumentError as error:
        return {fault.pointer: fault.message for fault in error.faults}
    return {}


@pytest.mark.parametrize("name", CASES)
def test_each_problem_is_named_at_its_place_and_alone(name: str) -> None:
    wrong, pointer, words, right = CASES[name]
    found = faults(wrong)
    assert list(found) == [pointer]
    assert words in found[pointer]
    assert faults(right) == {}


def test_a_ring_of_holders_is_named_at_each_of_them() -> None:
    ring = [{"id": a, "held_by": b} for a, b in (("X", "Y"), ("Y", "Z"), ("Z", "X"))]
    found = faults({"boards": [*ring, {"id": "Q", "held_by": "X"}]})
    # The last one hangs on the ring and is none of it; naming it too does no harm, since its holder has no place.
    assert {"/boards/0/held_by", "/boards/1/held_by", "/boards/2/held_by"} <= set(found)


def test_what_hangs_on_a_holder_that_hangs_on_nothing_is_told_once() -> None:
    chain = [{"id": "X", "held_by": "NOWHERE"}, {"id": "Y", "held_by": "X"}]
    assert list(faults({"boards": chain})) == ["/boards/0/held_by"]


def test_a_triangle_is_a_polygon() -> None:
    triangle = {"shape": "polygon", "vertices": [A, B, {"x_mm": 5, "y_mm": 6}]}
    assert faults({"cutouts": [{"id": "K1", "outline": triangle}]}) == {}


def test_every_outline_of_a_document_is_looked_at() -> None:
    bad = {"shape": "slot", "x_mm": 5, "y_mm": 5, "length_mm": 1, "width_mm": 2}
    held = {
        "floor": {"outline": bad, "obstacles": [{"id": "O1", "outline": bad, "height_mm": 1}],
                  "openings": [{"id": "W1", "outline": bad}]},
        "plate": {**BARE["plate"], "outline": bad},  # type: ignore[dict-item]
        "devices": [device("D1", outline=bad)],
        "cutouts": [{"id": "K1", "outline": bad}],
        "pockets": [{"id": "R1", "outline": bad, "depth_mm": 1}],
        "keep_outs": [{"id": "Z1", "outline": bad}],
    }  # fmt: skip
    assert len(faults(held)) == 8


def test_no_problem_in_the_code_goes_without_a_case(monkeypatch: pytest.MonkeyPatch) -> None:
    told: set[tuple[str, int]] = set()

    def noted(*args: Any, **named: Any) -> Problem:
        caller = sys._getframe(1)
        told.add((Path(caller.f_code.co_filename).name, caller.f_lineno))
        return Problem(*args, **named)

    written: dict[tuple[str, int], tuple[int, int]] = {}
    for module in (consistency, survey_consistency):
        monkeypatch.setattr(module, "Problem", noted)
        path = Path(module.__file__)
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == "Problem":
                written[path.name, node.lineno] = (node.lineno, node.end_lineno or node.lineno)
    for wrong, *_ in CASES.values():
        faults(wrong)
    hit = {key for key, (low, high) in written.items() for name, line in told if name == key[0] and low <= line <= high}
    assert len(written) > 30
    assert set(written) - hit == set()


def test_one_letter_names_one_kind() -> None:
    letters = [kind.letter for kind in (*KINDS, *SURVEY_KINDS)]
    assert len(letters) == len(set(letters))
    assert all(len(letter) == 1 and letter.isupper() for letter in letters)


def test_a_new_id_is_never_one_that_is_in_use_or_was() -> None:
    document = from_plain({**BARE, "ports": [port("P1"), port("P3")], "holes": [port("P5")], "retired_ids": ["P9"]})
    ids = new_ids(document, "port")
    assert [next(ids), next(ids)] == ["P10", "P11"]
    assert next(new_ids(document, "reading")) == "M1"
