"""Snapping places: exact on inch grids, and where the hardware really is."""

import pytest

from sketcher.geometry.snaps import edges, snaps
from tests.geometry.test_shapes import shapes_of


def by_label(shapes) -> dict[str, tuple[float, float]]:
    return {snap.label: (snap.x, snap.y) for snap in snaps(shapes)}


def test_slots_of_a_lying_board_stay_on_the_inch_grid() -> None:
    """Slot pitch 0.800 in: microATX Motherboard Interface Specification 1.2, section 2.3.1."""
    shapes = shapes_of(
        boards=[{"id": "MB", "x_mm": 300, "y_mm": 250, "turn_deg": 180, "width_mm": 244, "depth_mm": 244, "slots": 4,
                 "first_slot_mm": 160}]
    )  # fmt: skip
    places = by_label(shapes)
    assert [places[f"MB slot {n}"][0] for n in (1, 2, 3, 4)] == [140.0, 119.68, 99.36, 79.04]


def test_a_lying_boards_holes_stand_where_the_published_drawing_has_them() -> None:
    """microATX hole F: 0.25 in from the connector side, 1.30 in from the rear edge (specification 1.2, table 4)."""
    shapes = shapes_of(boards=[{"id": "MB", "pattern": "microATX", "x_mm": 300, "y_mm": 280, "turn_deg": 180}])
    assert by_label(shapes)["MB hole F"] == (300 - 6.35, 280 - 33.02)


def test_a_standing_boards_holes_fall_on_one_line() -> None:
    shapes = shapes_of(boards=[{"id": "MB", "pattern": "Mini-ITX", "x_mm": 50, "y_mm": 280, "posture": "standing"}])
    holes = [snap for snap in snaps(shapes) if snap.kind == "board-hole"]
    assert {snap.y for snap in holes} == {280.0}
    assert {snap.z for snap in holes} == {33.02, 10.16, 165.1}


def test_fan_holes_are_the_patterns_apart() -> None:
    """105 mm between the holes of a 120 mm fan: common practice, no source."""
    shapes = shapes_of(
        devices=[
            {"id": "RAD", "kind": "radiator", "fans": 2, "fan_size_mm": 120, "x_mm": 200, "y_mm": 100,
             "outline": {"shape": "rectangle", "x_mm": 0, "y_mm": 0, "width_mm": 276, "depth_mm": 120}}
        ]
    )  # fmt: skip
    places = by_label(shapes)
    first, second = places["RAD fan 1 hole 1"], places["RAD fan 1 hole 2"]
    assert second[0] - first[0] == pytest.approx(105)
    assert places["RAD fan 2 hole 1"][0] - first[0] == pytest.approx(120)


def test_edges_and_middles_of_the_plate() -> None:
    shapes = shapes_of()
    middles = {(snap.x, snap.y) for snap in snaps(shapes) if snap.kind == "middle" and snap.item == "plate"}
    assert middles == {(200, 100), (300, 150), (200, 200), (100, 150)}
    assert len([edge for edge in edges(shapes) if edge.item == "plate"]) == 4
