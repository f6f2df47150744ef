"""Dimension lines: values by hand, and by a second way, the shortest of many ways between sampled places."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from sketcher.checks import run
from sketcher.document import from_plain, to_plain
from sketcher.drawing.plan import plan
from sketcher.geometry import build
from sketcher.geometry.measured_spans import Lost, Measured, dimensions

OUTLINE = {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 400, "depth_mm": 300}
ARCHED = [{"x_mm": 220, "y_mm": 60}, {"x_mm": 260, "y_mm": 60, "bulge": 0.4}, {"x_mm": 260, "y_mm": 100},
          {"x_mm": 220, "y_mm": 100}]  # fmt: skip
PLATE = {
    "floor": {"outline": OUTLINE, "obstacles": [
        {"id": "O1", "outline": {"shape": "circle", "x_mm": 30, "y_mm": 40, "diameter_mm": 20}, "height_mm": 9}]},
    "plate": {"outline": {**OUTLINE, "width_mm": 300, "depth_mm": 200}, "body_thickness_mm": 12, "lid_thickness_mm": 8},
    "devices": [{"id": "D1", "kind": "block", "x_mm": 320, "y_mm": 210, "z_mm": 80, "height_mm": 30,
                 "outline": {"shape": "rectangle", "x_mm": 0, "y_mm": 0, "width_mm": 40, "depth_mm": 30},
                 "ports": [{"id": "in", "u_mm": 5, "v_mm": 3}]}],
    "ports": [{"id": "P1", "x_mm": 100, "y_mm": 100}, {"id": "P2", "x_mm": 130, "y_mm": 140}],
    "holes": [{"id": "H1", "x_mm": 60, "y_mm": 60, "diameter_mm": 4}],
    "channels": [{"id": "C1", "start": "P1", "end": "P2", "width_mm": 10, "depth_mm": 6,
                  "points": [{"x_mm": 100, "y_mm": 140}]}],
    "cutouts": [
        {"id": "K1", "outline": {"shape": "rectangle", "x_mm": 100, "y_mm": 200, "width_mm": 40, "depth_mm": 20}},
        {"id": "K2", "outline": {"shape": "circle", "x_mm": 300, "y_mm": 100, "diameter_mm": 30}},
        {"id": "K3", "outline": {"shape": "slot", "x_mm": 220, "y_mm": 220, "length_mm": 50, "width_mm": 14,
                                 "turn_deg": 30}},
        {"id": "K4", "outline": {"shape": "polygon", "vertices": ARCHED}},
    ],
}  # fmt: skip


def end(words: str) -> dict:
    """``P1``, ``K1 edge 2``, ``K4 corner 0``, ``12 34``."""
    first, *rest = words.split()
    if first[0].isdigit():
        return {"x_mm": float(first), "y_mm": float(rest[0])}
    return {"item": first, **({"part": rest[0], "index": int(rest[1])} if rest else {})}


def measure(one: str, other: str, direction: str = "aligned", **more):
    content = {
        **PLATE,
        "dimensions": [{"id": "N1", "first": end(one), "second": end(other), "direction": direction, **more}],
    }
    (found,) = dimensions(build(from_plain(content)))
    return found


@pytest.mark.parametrize(
    ("one", "other", "direction", "value"),
    [
        ("P1", "P2", "aligned", 50.0), ("P1", "P2", "horizontal", 30.0), ("P2", "P1", "vertical", 40.0),
        ("10 20", "13 24", "aligned", 5.0), ("D1.in", "325 100", "vertical", 113.0), ("plate", "floor", "aligned", 0.0),
        # Plate's left edge at 50 to the left wall of K1 at 80, and to its right wall at 120.
        ("plate edge 3", "K1 edge 3", "aligned", 30.0), ("K1 edge 1", "plate edge 3", "horizontal", 70.0),
        ("plate edge 2", "K1 edge 2", "vertical", 40.0), ("floor edge 0", "plate edge 0", "aligned", 50.0),
        # A circle of 30 about (300, 100) in front of the right edge at 350, and beside a hole of 4.
        ("K2 edge 0", "plate edge 1", "aligned", 35.0), ("plate edge 1", "K2 edge 0", "horizontal", 35.0),
        ("H1 edge 0", "K2 edge 0", "aligned", math.hypot(240, 40) - 17), ("P1", "K2 edge 0", "horizontal", 185.0),
        ("O1 edge 0", "plate edge 3", "aligned", 10.0), ("K1 corner 0", "P1", "vertical", 90.0),
        # The slot's long side at 30 degrees stands half its width off its middle.
        ("K3", "K3 edge 2", "aligned", 7.0), ("K3 edge 0", "K3 edge 2", "aligned", 14.0),
        ("K3 edge 1", "K3 edge 3", "aligned", 50.0),
        # The channel's wall at 95 to the plate's left edge; the box of D1 from 300 to 340.
        ("C1 edge 0", "plate edge 3", "horizontal", 45.0), ("C1 edge 0", "plate edge 3", "aligned", 45.0),
        ("D1 edge 1", "plate edge 1", "aligned", 10.0), ("D1 corner 2", "floor corner 2", "vertical", 75.0),
    ],
)  # fmt: skip
def test_a_value_by_hand_and_the_same_from_the_other_end(one, other, direction, value) -> None:
    for a, b in ((one, other), (other, one)):
        found = measure(a, b, direction)
        assert isinstance(found, Measured)
        assert found.value_mm == pytest.approx(value, abs=2e-3)
        # The ends lie apart by the value along the way that is measured, and the line is as long.
        along = {"horizontal": (1, 0), "vertical": (0, 1)}.get(direction)
        way = np.subtract(found.line[1], found.line[0])
        assert np.hypot(*way) == pytest.approx(value, abs=2e-3)
        assert along is None or abs(way @ along[::-1]) < 1e-9


def test_edges_that_are_not_parallel_are_nearest_by_trying_every_pair_of_places() -> None:
    """The second way: 400 places along each edge, all pairs. An arc of bulge 0.4 on a chord of 40, r = 29 mm."""
    document = from_plain(PLATE)
    corners = {k.id: k.outline for k in document.cutouts}
    centre, radius = (260 + 20 / math.tan(2 * math.atan(0.4)) * -1, 80.0), 40 * (1 + 0.16) / 1.6
    spread = 4 * math.atan(0.4)
    angles = np.linspace(-spread / 2, spread / 2, 401)
    arc = np.column_stack([centre[0] + radius * np.cos(angles), centre[1] + radius * np.sin(angles)])
    assert corners["K4"].vertices[1].bulge == 0.4
    assert arc[0] == pytest.approx((260, 60), abs=1e-9)
    turns = np.linspace(0, 2 * np.pi, 1601)
    ring = np.array([300, 100]) + 15 * np.column_stack([np.cos(turns), np.sin(turns)])
    best = min(np.hypot(*(ring - place).T).min() for place in arc)
    found = measure("K4 edge 1", "K2 edge 0")
    assert found.value_mm == pytest.approx(best, abs=2e-3)


def test_a_dimension_follows_what_it_measures_and_is_lost_with_it() -> None:
    content = {**PLATE, "dimensions": [
        {"id": "N1", "first": end("plate edge 3"), "second": end("K1 edge 3"), "direction": "horizontal"},
        {"id": "N2", "first": end("P9"), "second": end("K1")},
        {"id": "N3", "first": end("K4 edge 7"), "second": end("P1")},
        {"id": "N4", "first": end("P1 corner 0"), "second": end("D1.out")},
    ]}  # fmt: skip
    moved = {
        **content,
        "cutouts": [{**PLATE["cutouts"][0], "outline": {**PLATE["cutouts"][0]["outline"], "x_mm": 107}}],
    }
    assert dimensions(build(from_plain(content)))[0].value_mm == 30
    assert dimensions(build(from_plain(moved)))[0].value_mm == 37
    document = from_plain(content)
    assert from_plain(to_plain(document)) == document
    _, *lost = dimensions(build(document))
    assert [type(one) for one in lost] == [Lost] * 3
    assert [one.why for one in lost] == ["there is no P9", "there is no edge 8 of K4", "there is no corner 1 of P1"]
    assert [f.items for f in run(document) if f.rule == "dimension-lost"] == [("N2",), ("N3",), ("N4",)]
    svg = plan(build(document)).svg()
    assert svg.count('data-kind="dimension"') == 1
    assert ">30</text>" in svg


def test_every_kind_of_end_against_every_other_in_every_direction_gives_a_number() -> None:
    ends = ["P1", "H1", "C1", "K1", "K4", "D1", "D1.in", "plate", "10 10", "plate edge 0", "K1 edge 1", "K2 edge 0",
            "K3 edge 0", "K4 edge 1", "C1 edge 0", "P1 edge 0", "H1 edge 0", "D1 edge 2", "O1 edge 0",
            "K4 corner 3"]  # fmt: skip
    pairs = list(itertools.product(ends, ends, ("aligned", "horizontal", "vertical")))
    rows = [
        {"id": f"N{i}", "first": end(a), "second": end(b), "direction": way} for i, (a, b, way) in enumerate(pairs, 1)
    ]
    found = dimensions(build(from_plain({**PLATE, "dimensions": rows})))
    for one, (a, b, way) in zip(found, pairs, strict=True):
        assert isinstance(one, Measured), (a, b)
        assert all(math.isfinite(v) for place in (one.start, one.end, *one.line) for v in place), (a, b, way)
        if way != "aligned" and "edge" not in a + b:
            whole = next(o for o, p in zip(found, pairs, strict=True) if p == (a, b, "aligned"))
            assert one.value_mm <= whole.value_mm + 1e-9
