"""All readings in the wrong unit, and some of them: what a known length tells, and what it does not.

The truth is a floor of 483 by 406 mm (19 by 16 inches) whose readings are worked out from its places by Pythagoras; an
inch is 25.4 mm exactly (ISO 31-1:1992, annex B; the yard and pound agreement of 1959, from memory).
"""

from __future__ import annotations

import math

import pytest

from sketcher.cli import main
from sketcher.document import dumps, read, with_changes
from sketcher.document.floor import Survey
from sketcher.document.outlines import Rectangle
from sketcher.reference import boards as published
from sketcher.survey.adjusted import adjust, apply
from tests.checks.plates import plate

PLACES = {"A": (0.0, 0.0), "B": (482.6, 0.0), "C": (482.6, 406.4), "D": (0.0, 406.4), "E": (140.0, 90.0)}
PAIRS = ("AB", "BC", "CD", "DA", "AC", "BD", "AE", "BE", "CE", "DE")
MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}


def readings(places=PLACES, pairs=PAIRS, *, true_unit="mm", typed="mm", those=None, tool="rule"):
    """Distances read in one unit and typed as another; with ``those`` only these pairs, the rest in millimetres."""
    rows = []
    for k, pair in enumerate(pairs):
        mm = math.dist(places[pair[0]], places[pair[1]])
        slipped = those is None or pair in those
        rows.append(
            {
                "id": f"M{k + 1}",
                "points": tuple(pair),
                "value": round(mm / MM[true_unit if slipped else "mm"], 2),
                "unit": typed if slipped else "mm",
                "tool": tool if slipped else "rule",
            }
        )
    return rows


def survey(rows, names="ABCDE", floor=(480.0, 405.0), corners="ABCD", **changes):
    outlines = [{"id": "floor", "what": "floor", "corners": tuple(corners)}] if corners else []
    document = plate(**changes)
    drawn = Rectangle(x_mm=floor[0] / 2, y_mm=floor[1] / 2, width_mm=floor[0], depth_mm=floor[1])
    return with_changes(
        document,
        floor=document.floor.model_copy(update={"outline": drawn}),
        survey=Survey.model_validate(
            {
                "points": [{"id": n} for n in names],
                "origin": "A",
                "along_x": "B",
                "readings": rows,
                "outlines": outlines,
            }
        ),
    )


def corrected(document, doubt):
    rows = [
        r.model_copy(update={"unit": doubt.unit}) if r.id in doubt.readings else r for r in document.survey.readings
    ]
    return with_changes(document, survey=document.survey.model_copy(update={"readings": tuple(rows)}))


@pytest.mark.parametrize(
    ("true_unit", "typed"), [("in", "mm"), ("cm", "mm"), ("in", "cm"), ("cm", "in"), ("mm", "cm"), ("mm", "in")]
)
def test_the_floor_as_drawn_tells_the_unit_of_all_readings(true_unit, typed):
    document = survey(readings(true_unit=true_unit, typed=typed))
    (doubt,) = adjust(document).unit_doubts
    assert (doubt.typed, doubt.unit, doubt.because) == (typed, true_unit, "floor")
    assert len(doubt.readings) == len(PAIRS)
    right = adjust(corrected(document, doubt))
    assert right.unit_doubts == ()
    assert math.dist((right.adjustment.point("C").x, right.adjustment.point("C").y), PLACES["C"]) < 0.5


def test_a_floor_of_19_by_16_that_is_drawn_from_its_own_readings_is_asked_about_by_its_size():
    document = survey(readings(true_unit="in"))
    document = apply(document, adjust(document))
    found = adjust(document)
    assert [(d.unit, d.because) for d in found.unit_doubts] == [("in", "small"), ("cm", "small")]
    assert "19 × 16 mm, small for a case: were the readings in inches or centimetres?" in found.messages[0]
    assert "In inches it would be 483 × 406 mm, in centimetres 190 × 160 mm" in found.messages[0]


def test_right_readings_are_not_asked_about():
    for floor in ((480.0, 405.0), (300.0, 300.0), (19.0, 16.0), (1200.0, 900.0)):
        assert adjust(survey(readings(), floor=floor)).unit_doubts == ()


def test_a_boards_holes_tell_the_unit():
    """The published pattern with its sources, laid turned by 53.13 degrees (3-4-5)."""
    holes = {hole.name: (hole.x_mm, hole.y_mm) for hole in published.board("ATX").holes}
    names = list(holes)[:5]
    turned = {n: (60 + 0.6 * x - 0.8 * y + 200, 40 + 0.8 * x + 0.6 * y) for n, (x, y) in holes.items()}
    places = {"A": (0.0, 0.0), "B": (600.0, 0.0)} | {f"S{n}": turned[n] for n in names}
    pairs = [(a, b) for k, a in enumerate(places) for b in list(places)[k + 1 :]]
    board = {"id": "B1", "role": "mainboard", "pattern": "ATX", "x_mm": 300, "y_mm": 300, "z_mm": 10}
    for true_unit in ("in", "cm", "mm"):
        rows = readings(places, pairs, true_unit=true_unit)
        document = survey(rows, list(places), floor=(3000.0, 300.0), corners="", boards=[board])
        doubts = adjust(document).unit_doubts
        assert [d.unit for d in doubts] == ([] if true_unit == "mm" else [true_unit])
        assert true_unit == "mm" or doubts[0].because == "board"


@pytest.mark.parametrize(
    ("those", "true_unit"),
    [(("AE", "BE", "CE", "DE"), "in"), (("AC", "BD"), "cm"), (("AB", "CD", "AE", "CE", "DE"), "in")],
)
def test_some_readings_in_another_unit_are_found_together(those, true_unit):
    document = survey(readings(true_unit=true_unit, those=those))
    found = adjust(document)
    wanted = {f"M{PAIRS.index(pair) + 1}" for pair in those}
    assert any(set(d.readings) == wanted and d.unit == true_unit for d in found.unit_doubts)
    assert not found.as_json()["agrees"]
    doubt = next(d for d in found.unit_doubts if set(d.readings) == wanted)
    right = adjust(corrected(document, doubt))
    assert right.adjustment.agrees
    assert not right.unit_doubts
    assert not right.adjustment.suspects


def test_a_tool_that_reads_inches_is_found_beside_another_slip():
    rows = readings(true_unit="in", those=("AE", "BE", "CE", "DE", "AC", "BD"), tool="tape")
    rows[0]["value"] += 40
    found = adjust(survey(rows))
    (doubt,) = [d for d in found.unit_doubts if len(d.readings) == 6]
    assert "all but M1" in doubt.words


@pytest.mark.parametrize(("k", "change"), [(0, lambda v: v + 37), (5, lambda v: v / 25.4), (7, lambda v: 10 * v)])
def test_one_slip_alone_raises_no_doubt_about_units(k, change):
    rows = readings()
    rows[k]["value"] = round(change(rows[k]["value"]), 2)
    assert adjust(survey(rows)).unit_doubts == ()


def test_the_command_takes_all_in_another_unit_and_tables_too(tmp_path, capsys):
    file, table, new = tmp_path / "plate.json", tmp_path / "more.csv", tmp_path / "new.json"
    file.write_text(dumps(survey(readings(true_unit="in"))), encoding="utf-8")
    assert main(["survey", str(file), "--unit", "in", "-o", str(new)]) == 0
    assert "were all readings" not in capsys.readouterr().out
    assert {r.unit for r in read(new).survey.readings} == {"in"}
    table.write_text("E,B,13.94\nE,C,18.36 cm\n", encoding="utf-8")
    assert main(["survey", str(new), "--add", str(table), "--unit", "in", "-o", str(tmp_path / "more.json")]) == 0
    added = read(tmp_path / "more.json").survey.readings[-2:]
    assert [(r.value, r.unit) for r in added] == [(13.94, "in"), (18.36, "cm")]
    assert {r.unit for r in read(file).survey.readings} == {"mm"}
