"""The rules all data files keep: a source on every row, exact decimals, names that are found or refused clearly."""

from dataclasses import FrozenInstanceError
from importlib import resources

import pytest

from sketcher.reference import boards, colours, cords, fans, materials, measuring_tools, screws, tables, threads

DATA = [
    entry.name.removesuffix(".toml")
    for entry in resources.files("sketcher.reference").joinpath("data").iterdir()
    if entry.name.endswith(".toml")
]


def test_the_data_files_are_found():
    assert {"boards", "threads", "screws", "fans", "cords", "materials", "colours", "tools"} <= set(DATA)


@pytest.mark.parametrize("name", DATA)
def test_every_row_names_its_source(name):
    tables.table(name)  # raises BadTable when a row has values and no source


def test_a_row_without_a_source_is_refused():
    with pytest.raises(tables.BadTable, match="without a source"):
        tables._demand_sources({"thread": [{"name": "G1/4", "major_mm": 13}]}, "threads")


def test_sources_are_not_empty():
    everything = [
        *(threads.thread(name) for name in threads.names()),
        *(screws.screw(name) for name in screws.names()),
        *(boards.board(name) for name in boards.names()),
        *(hole for name in boards.names() for hole in boards.board(name).holes),
        *(fans.fan(size) for size in fans.sizes_mm()),
        *(cords.cord(section) for section in cords.sections_mm()),
        *(entry for name in materials.names() for entry in materials.material(name).properties.values()),
        *(measuring_tools.tool(name) for name in measuring_tools.names()),
    ]
    assert len(everything) > 50
    for row in everything:
        assert len(row.source) > 8, row


def test_an_inch_grid_stays_an_inch_grid():
    pitch = boards.slot_pitch_in()
    assert [tables.inches_to_mm(pitch * k) for k in (0, 1, 2, 6, 100)] == [0.0, 20.32, 40.64, 121.92, 2032.0]


@pytest.mark.parametrize(
    ("look_up", "wrong", "says"),
    [
        (threads.thread, "G7/16", "G1/4"),
        (screws.screw, "M7", "M4"),
        (boards.board, "Extended ATX", "microATX"),
        (fans.fan, 200, "120"),
        (cords.cord, 2.2, "2.5"),
        (materials.material, "glass", "cast acrylic"),
        (colours.colour, "pink", "vermillion"),
        (measuring_tools.tool, "eye", "caliper"),
    ],
)
def test_an_unknown_name_is_answered_with_the_known_ones(look_up, wrong, says):
    with pytest.raises(tables.UnknownEntry) as caught:
        look_up(wrong)
    assert says in str(caught.value)
    assert str(wrong) in str(caught.value)


def test_names_are_found_whatever_their_case():
    assert threads.thread(" g1/4 ") is threads.thread("G1/4")
    assert boards.board("mini-itx").name == "Mini-ITX"


def test_rows_cannot_be_changed():
    with pytest.raises(FrozenInstanceError):
        threads.thread("G1/4").major_mm = 14.0


def test_a_board_without_sourced_holes_says_so():
    for name in ("SSI CEB", "SSI EEB"):
        board = boards.board(name)
        assert board.holes == ()
        assert "Type the holes in" in board.note


def test_holes_lie_on_their_boards():
    for name in boards.names():
        board = boards.board(name)
        for hole in board.holes:
            assert 0 < hole.x_mm < board.width_mm
            assert 0 < hole.y_mm < board.depth_mm


def test_radiators():
    radiator = fans.radiator(140, 3)
    assert radiator.length_mm == 420  # three of 140 make a "420": common practice, no source
    assert fans.radiator(120, 2, gap_mm=1.5).length_mm == 241.5
    holes = radiator.holes_mm()
    assert len(holes) == 12
    assert holes[0] == (7.75, 7.75)
    assert holes[5] == (140 + 7.75 + 124.5, 7.75)
    with pytest.raises(ValueError, match="at least one fan"):
        fans.radiator(120, 0)
    with pytest.raises(ValueError, match="gap"):
        fans.radiator(120, 2, gap_mm=-1)


def test_material_ranges():
    acrylic = materials.material("cast acrylic")
    assert acrylic["modulus_gpa"].low < acrylic["modulus_gpa"].middle < acrylic["modulus_gpa"].high
    assert acrylic.cautions
    with pytest.raises(tables.UnknownEntry, match="modulus_gpa"):
        acrylic["colour"]
