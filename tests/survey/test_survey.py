"""The survey of a document: what a builder types, and what the program makes of it."""

import itertools
import json
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sketcher.document import DocumentError, to_plain
from sketcher.survey import adjusted as survey
from sketcher.survey import leastsquares
from tests.survey.surveys import TRUTH, careful, document, plain, true_value, typed


def by_id(rows):
    return {row["id"]: row for row in rows}


def changed(readings, number, **more):
    return [{**reading, **more} if k == number else reading for k, reading in enumerate(readings)]


def test_points_come_out_where_they_are():
    answer = survey.adjust(document(careful(), origin="A", along_x="B")).as_json()
    for point in answer["points"]:
        x, y = TRUTH[point["id"]]
        assert point["x_mm"] == pytest.approx(x, abs=0.25)
        assert point["y_mm"] == pytest.approx(y, abs=0.25)
    assert answer["redundancy"] == 30 - 17
    assert not any(reading["suspect"] for reading in answer["readings"])
    assert answer["loose"] == []
    assert answer["mirrored"] == []
    assert answer["agreement"]["agrees"] is True


def test_residual_is_adjusted_less_measured():
    for reading in survey.adjust(document(careful())).as_json()["readings"]:
        assert reading["residual_mm"] == pytest.approx(reading["adjusted_mm"] - reading["measured_mm"], abs=2e-6)


def test_json_has_no_nan_and_is_the_same_twice():
    one, two = (survey.adjust(document(careful())).as_json() for _ in range(2))
    assert json.dumps(one, allow_nan=False) == json.dumps(two, allow_nan=False)


@pytest.mark.parametrize(
    ("value", "unit", "best", "why"),
    [
        (lambda v: v - 10, "mm", 0, "10 mm lost at the hook"),
        (lambda v: v + 10, "mm", 0, "from the 10 mm mark"),
        (lambda v: round(v / 25.4, 3), "mm", 1, "inches typed as millimetres"),
        (lambda v: round(v / 10, 2), "mm", 2, "centimetres typed as millimetres"),
        (lambda v: v + 6.3, "mm", 0, "the other readings agree"),
    ],
)
def test_a_wrong_reading_is_named_with_what_it_should_have_been(value, unit, best, why):
    readings = careful()
    true = readings[8]["value"]
    assert readings[8]["kind"] == "offset"
    number = 13  # the distance from Q to B, checked by three others
    true = readings[number]["value"]
    answer = survey.adjust(document(changed(readings, number, value=value(true), unit=unit))).as_json()
    suspects = [row for row in answer["readings"] if row["suspect"]]
    assert [row["id"] for row in suspects] == [f"R{number + 1}"]
    likeliest = suspects[0]["probably"][0]
    assert likeliest["value_mm"] == pytest.approx(true, abs=0.9)
    assert why in likeliest["why"]
    assert suspects[0]["used"] is False
    assert f"R{number + 1}" in answer["messages"][0]


def proposed(readings, number, **more):
    """What is proposed for the one suspect, which is the reading numbered."""
    answer = survey.adjust(document(readings, **more)).as_json()
    (row,) = [row for row in answer["readings"] if row["suspect"]]
    assert row["id"] == f"R{number + 1}"
    return row["probably"]


@pytest.mark.parametrize(("sign", "why"), [(-1, "inside of the jaws read for outside"), (1, "outside of the jaws")])
def test_the_wrong_side_of_the_jaws_is_a_slip_of_a_tool_that_has_them(sign, why):
    """Jaws that are 7.3 mm across both: reading with the wrong side is off by just that."""
    true = careful()[13]["value"]
    readings = changed(careful(), 13, value=round(true + sign * 7.3, 1), tool="jaws")
    tools = [{"id": "rule", "spread_mm": 0.3}, {"id": "jaws", "spread_mm": 0.3, "jaw_mm": 7.3}]
    first = proposed(readings, 13, tools=tools)[0]
    assert first["value_mm"] == pytest.approx(true, abs=1e-6)
    assert why in first["why"]
    bare = proposed(readings, 13, tools=[tools[0], {**tools[1], "jaw_mm": None}])
    assert not any("jaws" in slip["why"] for slip in bare)


@pytest.mark.parametrize(("sign", "why"), [(-1, "near edge"), (1, "far edge")])
def test_the_edge_of_a_round_thing_is_read_for_its_middle(sign, why):
    """A standoff 11.8 mm across at Q: to its edge is half of that less, or more, than to its middle."""
    true = careful()[13]["value"]
    assert "Q" in careful()[13]["points"]
    readings = [*changed(careful(), 13, value=round(true + sign * 5.9, 1)), typed("diameter", "Q", value=11.8)]
    first = proposed(readings, 13)[0]
    assert first["value_mm"] == pytest.approx(true, abs=0.1)
    assert why in first["why"]


def test_a_value_that_belongs_to_another_pair_is_recognised():
    """Read from B to T, or from P to T, and written beside Q and B."""
    one = round(true_value("distance", ("B", "T")), 1)
    slips = proposed(changed(careful(), 13, value=one), 13)
    assert any(set(slip.get("points") or ()) == {"B", "T"} for slip in slips)
    both = round(true_value("distance", ("P", "T")), 1)
    slips = proposed(changed(careful(), 13, value=both), 13)
    assert slips[0]["why"] == "the other readings agree on this value"
    assert any(set(slip.get("points") or ()) == {"P", "T"} for slip in slips)


def test_swapped_digits_are_found():
    readings = careful()
    true = readings[13]["value"]
    text = f"{true:.1f}"
    swapped = float(text[1] + text[0] + text[2:])
    assert abs(swapped - true) > 20
    answer = survey.adjust(document(changed(readings, 13, value=swapped))).as_json()
    row = by_id(answer["readings"])["R14"]
    assert row["suspect"]
    assert row["probably"][0] == {
        "value": true,
        "unit": "mm",
        "value_mm": true,
        "why": "two digits swapped",
    }


def test_mending_the_reading_clears_the_suspicion():
    readings = changed(careful(), 13, value=careful()[13]["value"] - 10)
    first = survey.adjust(document(readings)).as_json()
    remedy = by_id(first["readings"])["R14"]["probably"][0]
    again = survey.adjust(document(changed(readings, 13, value=remedy["value"], unit=remedy["unit"]))).as_json()
    assert not any(row["suspect"] for row in again["readings"])


def test_two_wrong_readings_are_both_named():
    readings = changed(changed(careful(), 13, value=careful()[13]["value"] + 7), 25, value=careful()[25]["value"] - 12)
    answer = survey.adjust(document(readings)).as_json()
    assert {row["id"] for row in answer["readings"] if row["suspect"]} == {"R14", "R26"}


def test_inches_and_centimetres_are_lengths_too():
    readings = changed(careful(), 0, value=402 / 25.4, unit="in")
    readings = changed(readings, 1, value=readings[1]["value"] / 10, unit="cm")
    answer = survey.adjust(document(readings)).as_json()
    assert by_id(answer["readings"])["R1"]["measured_mm"] == pytest.approx(402)
    assert not any(row["suspect"] for row in answer["readings"])


def test_a_reading_set_aside_is_listed_but_not_used():
    readings = changed(careful(), 13, value=999.0, set_aside=True)
    answer = survey.adjust(document(readings)).as_json()
    row = by_id(answer["readings"])["R14"]
    assert (row["used"], row["suspect"], row["adjusted_mm"]) == (False, False, None)
    assert answer["redundancy"] == 29 - 17


def test_a_loose_point_is_named_with_the_reading_that_holds_it():
    readings = [r for r in careful() if "U" not in r["points"]] + [typed("distance", "U", "A")]
    result = survey.adjust(document(readings))
    answer = result.as_json()
    assert answer["loose"][0]["points"] == ["U"]
    (wish,) = answer["loose"][0]["readings"]
    assert "U" in wish["points"]
    point = by_id(answer["points"])["U"]
    assert (point["sigma_x_mm"], point["sigma_y_mm"], point["ellipse"]) == (None, None, None)
    assert "U is undetermined" in answer["messages"][0]
    # taking the reading that was asked for holds the point
    again = [*readings, typed(wish["kind"], *wish["points"], wall=tuple(wish["wall"]) if wish["wall"] else None)]
    assert survey.adjust(document(again)).as_json()["loose"] == []


def test_no_readings_at_all_leave_everything_loose_but_the_origin():
    answer = survey.adjust(document([])).as_json()
    assert set(answer["loose"][0]["points"]) == set(TRUTH) - {"A"}
    assert answer["redundancy"] == 0


def test_every_wished_reading_together_hold_the_floor():
    readings: list[dict] = []
    wishes = survey.adjust(document(readings)).as_json()["loose"][0]["readings"]
    readings = [typed(w["kind"], *w["points"]) for w in wishes]
    assert len(readings) == 17  # two for each point, one for the x axis's, none for the origin
    assert survey.adjust(document(readings)).as_json()["loose"] == []


def test_a_mirrored_point_is_not_a_contradiction():
    """U hangs on two distances only: it may lie on either side of P–S, and the readings agree with both."""
    readings = [r for r in careful() if "U" not in r["points"]]
    readings += [typed("distance", "U", "P"), typed("distance", "U", "S")]
    answer = survey.adjust(document(readings)).as_json()
    (mirror,) = answer["mirrored"]
    assert [point["id"] for point in mirror["points"]] == ["U"]
    assert mirror["decided_by"] == "nothing"
    assert answer["agreement"]["agrees"]
    assert answer["contradictions"] == []
    # the reading it asks for decides, and then the point is where it is
    wish = mirror["reading"]
    readings.append(typed(wish["kind"], *wish["points"], wall=tuple(wish["wall"]) if wish["wall"] else None))
    again = survey.adjust(document(readings)).as_json()
    assert again["mirrored"] == []
    assert by_id(again["points"])["U"]["x_mm"] == pytest.approx(TRUTH["U"][0], abs=0.6)


@pytest.mark.parametrize("side", [0, 1])
def test_a_first_guess_decides_between_mirrored_places(side):
    readings = [r for r in careful() if "U" not in r["points"]]
    readings += [typed("distance", "U", "P"), typed("distance", "U", "S")]
    first = survey.adjust(document(readings)).as_json()
    other = first["mirrored"][0]["points"][0]
    here = by_id(first["points"])["U"]
    wanted = [here, other][side]
    points = [{"id": n} if n != "U" else {"id": n, "x_mm": wanted["x_mm"], "y_mm": wanted["y_mm"]} for n in TRUTH]
    found = survey.adjust(document(readings, points)).as_json()
    assert by_id(found["points"])["U"]["x_mm"] == pytest.approx(wanted["x_mm"], abs=0.01)
    assert found["mirrored"][0]["decided_by"] == "first guess"


def test_a_contradiction_is_not_mirrored():
    """A triangle with one more reading than it needs, and the two that measure one side differ by 8 mm."""
    readings = [
        typed("distance", "A", "B"),
        typed("distance", "A", "P"),
        typed("distance", "B", "P"),
        typed("distance", "A", "B", value=TRUTH["B"][0] + 8),
    ]
    answer = survey.adjust(document(readings, ["A", "B", "P"])).as_json()
    assert answer["contradictions"] == [["R1", "R4"]]
    assert answer["agreement"]["agrees"] is False
    assert answer["mirrored"] == []
    assert "One of R1 and R4 is wrong" in answer["messages"][0]


def test_sides_that_close_no_triangle_are_a_contradiction():
    readings = [
        typed("distance", "A", "B", value=400),
        typed("distance", "A", "P", value=100),
        typed("distance", "B", "P", value=200),
        typed("offset", "P", value=50, wall=("A", "B")),
    ]
    answer = survey.adjust(document(readings, ["A", "B", "P"])).as_json()
    assert answer["contradictions"] or any(row["suspect"] for row in answer["readings"])
    assert json.dumps(answer, allow_nan=False)


def test_advice_does_what_it_says():
    """Take the reading it advises: the worst point's ellipse shrinks to what was promised."""
    readings = careful()
    result = survey.adjust(document(readings))
    best = result.as_json()["advice"][0]
    taken = typed(best["kind"], *best["points"], wall=tuple(best["wall"]) if best["wall"] else None)
    after = by_id(survey.adjust(document([*readings, taken])).as_json()["points"])[best["tightens"]]
    assert after["ellipse"]["sigma_major_mm"] == pytest.approx(best["after_mm"], rel=0.02)
    assert best["after_mm"] < best["before_mm"]


def test_following_the_advice_beats_reading_at_random():
    readings = careful()[:6] + [r for r in careful()[6:] if r["kind"] == "distance"][:12]
    extra = [typed("distance", one, other) for one in "PQ" for other in "RSTU"]

    def worst(rows):
        return max(
            point["ellipse"]["sigma_major_mm"]
            for point in survey.adjust(document(rows)).as_json()["points"]
            if point["ellipse"]
        )

    advised = readings
    for _ in range(4):
        best = survey.adjust(document(advised)).as_json()["advice"][0]
        advised = [*advised, typed(best["kind"], *best["points"], wall=tuple(best["wall"]) if best["wall"] else None)]
    assert worst(advised) <= worst(readings + extra[:4])


def test_coordinates_read_give_the_frame():
    readings = [typed(axis, name) for name in TRUTH if name not in "ABD" for axis in "xy"]
    answer = survey.adjust(document(readings, [n for n in TRUTH if n not in "ABD"])).as_json()
    assert answer["datum"] == {"origin": None, "along_x": None}
    assert answer["loose"] == []
    assert by_id(answer["points"])["S"]["x_mm"] == pytest.approx(300)


def test_diameters_and_heights_are_averaged_and_checked():
    readings = careful()
    readings += [typed("diameter", "P", value=20.1), typed("diameter", "P", value=20.3)]
    readings += [typed("height", "Q", value=value) for value in (12.0, 12.2, 12.1, 17.1)]
    answer = survey.adjust(document(readings)).as_json()
    points = by_id(answer["points"])
    assert points["P"]["diameter_mm"] == pytest.approx(20.2)
    assert points["P"]["sigma_diameter_mm"] == pytest.approx(0.3 / math.sqrt(2), abs=1e-5)
    assert points["Q"]["height_mm"] == pytest.approx(12.1)
    assert by_id(answer["readings"])["R36"]["suspect"]


# What becomes of it: the floor.

OUTLINES = [
    {"id": "FLOOR", "what": "floor", "corners": ["A", "B", "C", "D"]},
    {"id": "K1", "what": "obstacle", "centre": "P", "height_mm": 8},
    {"id": "K2", "what": "obstacle", "corners": ["Q", "R", "S"], "name": "bracket"},
    {"id": "H1", "what": "opening", "corners": ["R", "S", "T", "U"]},
]


def test_the_adjusted_floor_becomes_the_documents_floor():
    readings = [*careful(), typed("diameter", "P", value=20.0), typed("height", "Q", value=31.0)]
    doc = document(readings, outlines=OUTLINES, origin="A", along_x="B")
    result = survey.adjust(doc)
    new = survey.apply(doc, result)
    corners = [(v.x_mm, v.y_mm) for v in new.floor.outline.vertices]
    for (x, y), name in zip(corners, "ABCD", strict=True):
        assert (x, y) == (round(result.adjustment.point(name).x, 4), round(result.adjustment.point(name).y, 4))
    obstacles = {obstacle.id: obstacle for obstacle in new.floor.obstacles}
    assert obstacles["K1"].outline.diameter_mm == 20.0
    assert obstacles["K2"].height_mm == 31.0
    assert [opening.id for opening in new.floor.openings] == ["H1"]
    assert new.survey.readings == doc.survey.readings  # nothing of the user's is lost
    assert new.plate == doc.plate
    # applying again changes nothing
    again = survey.apply(new, survey.adjust(new))
    assert to_plain(again) == to_plain(new)


def test_a_floor_is_not_drawn_through_a_loose_point():
    readings = [r for r in careful() if "U" not in r["points"]]
    doc = document(readings, outlines=[{"id": "X", "what": "opening", "corners": ["A", "B", "U"]}])
    with pytest.raises(DocumentError, match="'U' is undetermined"):
        survey.apply(doc, survey.adjust(doc))


def test_a_round_thing_needs_its_diameter_and_an_obstacle_its_height():
    doc = document(careful(), outlines=[{"id": "K1", "what": "opening", "centre": "P"}])
    with pytest.raises(DocumentError, match="no diameter was read at 'P'"):
        survey.apply(doc, survey.adjust(doc))
    doc = document(careful(), outlines=[{"id": "K1", "what": "obstacle", "corners": ["P", "Q", "R"]}])
    with pytest.raises(DocumentError, match="has no height"):
        survey.apply(doc, survey.adjust(doc))


def test_chance_that_a_wall_is_too_thin():
    """Normal distribution: half at the limit, 15.87 % one sigma above, 2.28 % two (any table of the distribution)."""
    assert survey.chance_below(2.0, 2.0, 0.3) == pytest.approx(0.5)
    assert survey.chance_below(2.3, 2.0, 0.3) == pytest.approx(0.1587, abs=5e-5)
    assert survey.chance_below(2.6, 2.0, 0.3) == pytest.approx(0.0228, abs=5e-5)
    assert survey.chance_below(2.1, 2.0, 0.0) == 0.0
    assert survey.chance_below(1.9, 2.0, 0.0) == 1.0


# Bad input.


@pytest.mark.parametrize(
    ("reading", "says"),
    [
        ({"kind": "distance", "points": ["A", "B"], "value": 0}, "/survey/readings/0"),
        ({"kind": "distance", "points": ["A", "B"], "value": -4}, "/survey/readings/0"),
        ({"kind": "distance", "points": ["A", "A"], "value": 4}, "/survey/readings/0"),
        ({"kind": "distance", "points": ["A", "Z"], "value": 4}, "'Z'"),
        ({"kind": "offset", "points": ["P"], "wall": ["A", "A"], "value": 4}, "no length"),
        ({"kind": "offset", "points": ["A"], "wall": ["A", "B"], "value": 4}, "is an end of that wall"),
        ({"kind": "along", "points": ["A"], "wall": ["A", "B"], "value": 4}, "where the wall begins"),
        ({"kind": "distance", "points": ["A", "B"], "value": 4, "unit": "yd"}, "/survey/readings/0"),
    ],
)
def test_bad_readings_are_named(reading, says):
    with pytest.raises(DocumentError) as caught:
        survey.adjust(document([reading]))
    text = "; ".join(f"{fault.pointer}: {fault.message}" for fault in caught.value.faults)
    assert says in text


def test_a_point_named_twice_is_refused():
    with pytest.raises(DocumentError, match="named twice"):
        document([], [*TRUTH, "A"])


def test_an_empty_survey_is_no_error():
    data = plain([], [])
    del data["survey"]
    from sketcher.document import from_plain

    answer = survey.adjust(from_plain(data)).as_json()
    assert answer["points"] == []
    assert answer["readings"] == []


row = st.tuples(
    st.sampled_from(["distance", "offset", "along", "x", "y"]),
    st.sampled_from(sorted(TRUTH)),
    st.sampled_from(sorted(TRUTH)),
    st.floats(0.1, 5000),
)


@settings(max_examples=12)
@given(st.lists(row, max_size=10))
def test_no_survey_however_wild_gives_nan_or_a_traceback(rows):
    is_answered(rows)


@pytest.mark.long
@settings(max_examples=200)
@given(st.lists(row, max_size=25))
def test_many_wild_surveys(rows):
    is_answered(rows)


def is_answered(rows):
    readings = []
    for kind, one, other, value in rows:
        if kind == "distance" and one != other:
            readings.append({"kind": kind, "points": [one, other], "value": value})
        elif kind in ("x", "y"):
            readings.append({"kind": kind, "points": [one], "value": value})
        elif kind in ("offset", "along") and len({one, other, "C"}) == 3:
            readings.append({"kind": kind, "points": [one], "wall": ["C", other], "value": value})
    answer = survey.adjust(document(readings)).as_json()
    assert json.dumps(answer, allow_nan=False)
    assert len(answer["readings"]) == len(readings)


def test_what_a_contradiction_presses_onto_a_line_is_not_called_unread():
    """AB read as 4999 mm (402): no triangle closes, the best compromise is flat, and no reading is missing."""
    sides = [typed("distance", *pair) for pair in ("AB", "BC", "CD", "DA", "AC", "BD")]
    sides[0]["value"] = 4999
    messages = survey.adjust(document(sides, "ABCD")).messages
    assert "R1 reads 5.0 m, longer than any case is" in messages[0]
    assert "R1, the distance from A to B, cannot be right if the other readings are" in messages[1]
    assert not any("undetermined" in words for words in messages)


@pytest.mark.parametrize("kind", ["diameter", "height"])
def test_two_readings_of_one_size_that_contradict_are_both_named(kind):
    pair = [typed(kind, "P", value=6.0), typed(kind, "P", value=9.0)]
    found = survey.adjust(document(careful() + pair))
    assert found.adjustment.rivals == (("R31", "R32"),)
    assert found.adjustment.suspects == ()
    third = survey.adjust(document(careful() + pair + [typed(kind, "P", value=6.1)])).adjustment
    assert [checked.observation.id for checked in third.suspects] == ["R32"]


def test_a_reading_taken_twice_and_read_differently_is_judged_by_the_others():
    sides = [typed("distance", *pair) for pair in ("AB", "BC", "CD", "DA", "AC", "BD")]
    again = typed("distance", "A", "B", value=412.0)
    found = survey.adjust(document([*sides, again], "ABCD"))
    assert [checked.observation.id for checked in found.adjustment.suspects] == ["R7"]
    without = survey.adjust(document([*sides[:4], again], "ABCD")).adjustment
    assert without.suspects == ()  # the two readings of A to B alone check each other
    assert ("R1", "R5") in without.rivals


def test_one_value_typed_again_and_again_is_asked_about_and_excludes_nothing():
    rows = [{**row, "value": 300.0} for row in careful()]
    for readings, points in ((rows, tuple(TRUTH)), (rows[:6], "ABCD")):
        found = survey.adjust(document(readings, points))
        count = len(readings)
        assert found.adjustment.suspects == ()
        assert not found.adjustment.agrees
        assert found.messages[0] == (
            f"{count} of {count} readings are 300 mm, and they contradict each other: was one value typed again and "
            "again?"
        )


def test_a_square_is_no_value_typed_again_and_again():
    side, across = 300.0, 424.3  # 300 times the root of two
    rows = [typed("distance", *pair, value=side) for pair in ("AB", "BC", "CD", "DA")]
    rows += [typed("distance", *pair, value=across) for pair in ("AC", "BD")]
    assert not any("typed again" in words for words in survey.adjust(document(rows, "ABCD")).messages)


def test_a_reading_that_nothing_checks_is_still_asked_about_when_it_is_longer_than_any_case():
    rows = [typed("distance", *pair) for pair in ("AB", "BC", "CD", "DA", "AC", "BD")]
    rows += [typed("distance", "P", "A", value=5200.0), typed("distance", "P", "B", value=5300.0)]
    messages = survey.adjust(document(rows, "ABCDP")).messages
    assert messages[0].startswith("R7, R8 read 5.3 m and less, longer than any case is")


def test_readings_that_all_contradict_each_other_take_a_bounded_number_of_runs(monkeypatch):
    """Counted, not timed: at most so many runs of least squares, and the same answer twice."""
    rng = np.random.default_rng(8)
    pairs = list(itertools.combinations("ABCDEFG", 2))[:20]
    rows = [typed("distance", *pair, value=round(rng.uniform(50, 500), 1)) for pair in pairs]
    runs = []
    whole = leastsquares._Runs.__init__

    def counted(self, network, state, weights):
        runs.append(len(state))
        whole(self, network, state, weights)

    monkeypatch.setattr(leastsquares._Runs, "__init__", counted)
    points = [{"id": name} for name in "ABCDEFG"]
    first = survey.adjust(document(rows, points)).as_json()
    assert sum(runs) < 4000
    survey._adjusted.cache_clear()
    assert survey.adjust(document(rows, points)).as_json() == first
