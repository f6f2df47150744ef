"""Boards, slots, rear opening and fans against the published tables, row by row, typed in here apart from the data."""

from decimal import Decimal

import pytest

from sketcher.reference import boards, fans

# microATX Motherboard Interface Specification 1.2, tables 3 and 4, figure 2 (which hole belongs to which board, sizes);
# positions agree in three independent public drawings. Inches; x from the edge on the connector side, y from the rear.
HOLES = [
    ("A", "11.35", "0.40", "ATX"),
    ("B", "8.25", "0.40", "microATX"),
    ("C", "6.45", "0.40", "ATX microATX Mini-ITX"),
    ("F", "0.25", "1.30", "ATX microATX Mini-ITX"),
    ("G", "11.35", "6.50", "ATX"),
    ("H", "6.45", "6.50", "ATX microATX Mini-ITX"),
    ("J", "0.25", "6.50", "ATX microATX Mini-ITX"),
    ("K", "11.35", "9.35", "ATX"),
    ("L", "6.45", "9.35", "ATX microATX"),
    ("M", "0.25", "9.35", "ATX microATX"),
]
SIZES = [
    ("ATX", "12", "9.6"),
    ("microATX", "9.6", "9.6"),
    ("Mini-ITX", "6.7", "6.7"),
    ("SSI EEB", "12", "13"),  # SSI Forum, Enterprise Electronics Bay Specification 1.0.1, section 2.1
    ("SSI CEB", "12", "10.5"),  # the same
]


@pytest.mark.parametrize(("letter", "x", "y", "on"), HOLES)
def test_holes_row_by_row(letter, x, y, on):
    for name in ("ATX", "microATX", "Mini-ITX"):
        found = [hole for hole in boards.board(name).holes if hole.name == letter]
        assert len(found) == (1 if name in on.split() else 0), name
        for hole in found:
            assert (hole.x_in, hole.y_in) == (Decimal(x), Decimal(y))
            assert hole.x_mm == float(Decimal(x) * Decimal("25.4"))
            assert hole.y_mm == float(Decimal(y) * Decimal("25.4"))


def test_no_hole_beyond_the_table():
    counted = {name: len(boards.board(name).holes) for name in ("ATX", "microATX", "Mini-ITX")}
    assert counted == {name: sum(name in on.split() for *_, on in HOLES) for name in ("ATX", "microATX", "Mini-ITX")}


@pytest.mark.parametrize(("name", "width", "depth"), SIZES)
def test_sizes(name, width, depth):
    board = boards.board(name)
    assert (board.width_in, board.depth_in) == (Decimal(width), Decimal(depth))


def test_distances_between_atx_holes_agree_with_the_eeb_figure():
    """An independent figure, SSI EEB 3.0, from datum hole A: columns at 4.900 and 11.100, rows at 0.900, 6.100 and
    8.950, the board's edges at -0.650 and -0.400."""
    board = boards.board("ATX")
    datum = board.hole("A")
    assert {datum.x_in - hole.x_in for hole in board.holes} == {Decimal(0), Decimal("4.9"), Decimal("11.1")}
    assert {hole.y_in - datum.y_in for hole in board.holes} == {
        Decimal(0),
        Decimal("0.9"),
        Decimal("6.1"),
        Decimal("8.95"),
    }
    assert board.width_in - datum.x_in == Decimal("0.65")
    assert datum.y_in == Decimal("0.4")


def test_slots():
    """microATX Motherboard Interface Specification 1.2, section 2.3.1; ATX 2.2: pitch 0.800 in, 7 and 4 slots."""
    assert boards.slot_pitch_in() == Decimal("0.800")
    assert boards.board("ATX").slots == 7
    assert boards.board("microATX").slots == 4


def test_rear_opening():
    """microATX Motherboard Interface Specification 1.2, figure 4."""
    opening = boards.rear_opening()
    assert (opening.width_mm, opening.height_mm) == (158.75, 44.45)
    assert opening.corner_radius_max_mm == pytest.approx(0.039 * 25.4)
    assert opening.keep_out_mm == 2.54
    assert opening.board_top_to_opening_bottom_mm == 3.81


def test_hole_tolerance():
    """microATX Motherboard Interface Specification 1.2: 0.008 in."""
    assert boards.hole_size().tolerance_mm == pytest.approx(0.2032)


# Common practice, no source.
@pytest.mark.parametrize(("size", "spacing"), [(40, 32), (60, 50), (80, 71.5), (92, 82.5), (120, 105), (140, 124.5)])
def test_fan_holes(size, spacing):
    fan = fans.fan(size)
    assert fan.hole_spacing_mm == spacing
    (x1, y1), (x2, y2), _, (x4, y4) = fan.holes_mm()
    assert (x2 - x1, y2 - y1) == (spacing, 0)
    assert (x4 - x1, y4 - y1) == (0, spacing)
