"""Readings pasted as a table or opened as CSV. What is expected is what stands in the table, read by eye."""

import pytest

from sketcher.document.floor import Reading, Survey, SurveyPoint
from sketcher.importing.readings_table import ReadingsError, add, read_table


def rows(text, survey=None, **more):
    table = read_table(text, survey or Survey(), **more)
    return [(r.kind, r.points, r.wall, r.value, r.unit, r.tool) for r in table.readings]


@pytest.mark.parametrize(
    "text",
    [
        "A B 402.5\nB C 301",
        "A,B,402.5\nB,C,301",
        "A;B;402,5\nB;C;301",
        "A\tB\t402.5\nB\tC\t301",
        "A B 402,5\nB C 301",
        "A-B 402.5\nB–C 301",
        "from,to,value\nA,B,402.5\nB,C,301\n",
        "value;note;to;from\n402,5;;B;A\n301;;C;B",
        "\ufeffFrom\tTo\tLength\r\nA\tB\t402.5\r\nB\tC\t301\r\n\r\n",
        "# sides first\nA, B, 402.5 mm\nB, C, 301mm",
    ],
)
def test_the_same_two_readings_however_they_are_parted(text):
    assert rows(text) == [
        ("distance", ("A", "B"), None, 402.5, "mm", "rule"),
        ("distance", ("B", "C"), None, 301.0, "mm", "rule"),
    ]


def test_units_tools_kinds_and_walls():
    text = (
        "kind,from,to,wall,value,unit,tool,note\n"
        "distance,A,B,,11 13/16,in,tape,front\n"
        "offset,P,,A-B,4.5,cm,caliper,\n"
        "along,P,,A B,120.25,,Steel rule,\n"
        "diameter,P,,,20.1,,,\n"
        "x,P,,,55,,,\n"
    )
    assert rows(text) == [
        ("distance", ("A", "B"), None, 11.8125, "in", "tape"),
        ("offset", ("P",), ("A", "B"), 4.5, "cm", "caliper"),
        ("along", ("P",), ("A", "B"), 120.25, "mm", "rule"),
        ("diameter", ("P",), None, 20.1, "mm", "rule"),
        ("x", ("P",), None, 55.0, "mm", "rule"),
    ]
    assert rows("A, B, 402.5, caliper")[0][-1] == "caliper"
    assert rows("offset P A B 12.5")[0] == ("offset", ("P",), ("A", "B"), 12.5, "mm", "rule")


def test_ids_are_new_and_points_are_added_once():
    survey = Survey(points=[SurveyPoint(id="A")], readings=[Reading(id="M1", points=["A", "A2"], value=3, tool="tape")])
    table = read_table("A B 10\nB C 20", survey)
    assert [reading.id for reading in table.readings] == ["M2", "M3"]
    assert {reading.tool for reading in table.readings} == {"tape"}  # the one used most so far
    assert table.new_points == ("B", "C")
    grown = add(survey, table)
    assert [point.id for point in grown.points] == ["A", "B", "C"]
    assert [reading.id for reading in grown.readings] == ["M1", "M2", "M3"]


@pytest.mark.parametrize(
    ("text", "line", "says"),
    [
        ("", 1, "empty"),
        ("A B 10\nA B", 2, "is no reading"),
        ("A B ten", 1, "no length"),
        ("A B 0", 1, "above 0"),
        ("A B -4", 1, "no length"),
        ("A;B;1.234,5", 1, "without marks for thousands"),
        ("A B 10 yd", 1, "'yd' is not in the survey"),
        ("from,to,value,unit\nA,B,10,yd", 2, "unit 'yd'"),
        ("from,to,value,tool\nA,B,10,laser", 2, "it has caliper, rule, tape"),
        ("A A 10", 1, "to itself"),
        ("from,to,value\n", 1, "no reading below"),
        ("from,wall,value\nP,A,10", 2, "two points"),
        ("kind,from,to,value\nangle,A,B,10", 2, "kind 'angle'"),
        ("A B 1/0", 1, "divides by 0"),
        ("id,from,to,value\nR1,A,B,1\nR1,A,C,2", 3, "in use"),
        ("9A B 10", 1, "points"),
        ("from,to,value\nA,B,402,5", 2, "decimal comma"),
    ],
)
def test_faults_name_their_line(text, line, says):
    with pytest.raises(ReadingsError) as caught:
        read_table(text, Survey())
    assert caught.value.faults[0][0] == line
    assert says in caught.value.faults[0][1]


def test_every_fault_is_told_at_once():
    with pytest.raises(ReadingsError) as caught:
        read_table("A B x\nA B 10\nA B y", Survey())
    assert [line for line, _ in caught.value.faults] == [1, 3]
