"""The bending sheet as a drawing, read back with the tests' own reader: true lengths, marks and figures by hand."""

from __future__ import annotations

import math
from itertools import pairwise

import pytest

from sketcher.export import ExportError, export_sheet, make_sheet
from sketcher.geometry import build
from tests.export import outside
from tests.tubes.places import corners, device, made, plain, port

#: Up from the port at 20 (the plate's top) to 150, along x, down to a device at 60: two bends of 90 degrees.
UP, ALONG, DOWN, RADIUS, OUTER = 130.0, 200.0, 90.0, 40.0, 13.0


def bent(third: float = 0.0):
    """The tube; ``third`` moves its end along y, which takes its last leg out of the plane of the others."""
    points = [(100, 100, 150), (300, 100, 150), *([(300, 100 + third, 150)] if third else [])]
    end = (300, 100 + third, 60)
    tube = {"points": corners(*points), "size": "acrylic 13/10", "bend_radius_mm": RADIUS}
    content = plain(device("A", end, "w+"), ports=(port("P1", 100, 100, "A.p", **tube),))
    return made(content)


def length(entity: outside.Read) -> float:
    """Along the entity, arcs in chords of a two-hundredth of a radian: short by less than 1e-5 of them."""
    places = entity.ring(0.005)
    ends = [*places, places[0]] if entity.closed else places
    return sum(math.dist(a, b) for a, b in pairwise(ends))


def box(entity: outside.Read) -> tuple[float, float, float, float]:
    xs, ys = zip(*entity.ring(), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def arc_length() -> float:
    return math.pi / 2 * RADIUS


def test_a_flat_tube_is_drawn_at_true_size_with_its_marks() -> None:
    """Straights 130 - 40, 200 - 80, 90 - 40 and two quarter turns of R 40; the tube enters its fittings beyond that."""
    document, shapes, (run,) = bent()
    data = export_sheet(document, shapes, "tubes", "dxf")
    by_layer: dict[str, list[outside.Read]] = {}
    for entity in outside.entities(data):
        by_layer.setdefault(entity.layer, []).append(entity)
    enters = run.start.insertion_mm + run.end.insertion_mm
    cut = UP - RADIUS + ALONG - 2 * RADIUS + DOWN - RADIUS + 2 * arc_length() + enters
    (centre,) = by_layer["CENTRELINE"]
    assert length(centre) == pytest.approx(cut, abs=0.01)
    sides = sorted(length(side) for side in by_layer["TUBE"])
    # Both bends turn one way: the inner side is shorter by the outer diameter times half a turn.
    assert sides[1] - sides[0] == pytest.approx(OUTER * math.pi, abs=0.01)
    assert len(by_layer["BEND_MARKS"]) == 4
    notes = make_sheet(document, shapes, "tubes").notes
    assert any("trial piece" in note for note in notes)


def test_a_tube_out_of_its_plane_is_drawn_straight_at_its_cut_length() -> None:
    document, shapes, (run,) = bent(third=120.0)
    by_layer: dict[str, list[outside.Read]] = {}
    for entity in outside.entities(export_sheet(document, shapes, "tubes", "dxf")):
        by_layer.setdefault(entity.layer, []).append(entity)
    enters = run.start.insertion_mm + run.end.insertion_mm
    straights = UP - RADIUS + ALONG - 2 * RADIUS + 120 - 2 * RADIUS + DOWN - RADIUS
    cut = straights + 3 * arc_length() + enters
    (body,) = by_layer["TUBE"]
    left, low, right, high = box(body)
    assert (right - left, high - low) == pytest.approx((cut, OUTER), abs=0.01)
    marks = sorted(box(mark)[0] - left for mark in by_layer["BEND_MARKS"])
    first = run.start.insertion_mm + UP - RADIUS
    assert marks[:3] == pytest.approx(
        [first, first + arc_length(), first + arc_length() + ALONG - 2 * RADIUS], abs=0.01
    )
    assert "CENTRELINE" not in by_layer


def test_without_a_rigid_tube_it_says_so() -> None:
    document, _, _ = made(plain())
    with pytest.raises(ExportError, match="no rigid tube"):
        make_sheet(document, build(document), "tubes")
