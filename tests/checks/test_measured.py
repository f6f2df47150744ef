"""Findings that come from the survey: what disagrees, what is loose, what may not hold."""

import math

import pytest

from sketcher.checks import run
from sketcher.survey import adjusted as survey
from tests.checks.plates import found, plate, rectangle

#: A floor of 400 x 300 measured by its four sides and both diagonals with a rule of 0.3 mm spread.
SIDES = [("A", "B", 400), ("B", "C", 300), ("C", "D", 400), ("D", "A", 300), ("A", "C", 500), ("B", "D", 500)]


def readings(rows, **more):
    return [
        {"id": f"R{n}", "points": [one, other], "value": value, **more} for n, (one, other, value) in enumerate(rows, 1)
    ]


def surveyed(rows=SIDES, plate_width=300.0, **more):
    document = plate(
        plate={"outline": rectangle(200, 150, plate_width, 200)},
        survey={
            "points": [{"id": id_} for id_ in "ABCD"],
            "origin": "A",
            "along_x": "B",
            "readings": readings(rows, **more),
            "outlines": [{"id": "FLOOR", "what": "floor", "corners": ["A", "B", "C", "D"]}],
        },
    )
    return survey.apply(document, survey.adjust(document))


def test_a_plate_with_room_all_round_has_no_such_findings() -> None:
    document = surveyed()
    assert document.floor.outline.shape == "polygon"
    for rule in ("survey-chance", "survey-suspect", "survey-loose", "survey-unusable"):
        assert not found(document, rule)


def test_a_gap_within_the_surveys_spread_is_a_warning_with_its_chance() -> None:
    """0.3 mm of gap against a spread of some tenths: about one case in six or worse, so well over 5 %."""
    document = surveyed(plate_width=399.4)
    (finding,) = found(document, "survey-chance")
    assert finding.level == "warning"
    result = survey.adjust(document)
    widest = max(point.sigma_x for point in result.adjustment.points)
    # The chance of a normal quantity lying more than 0.3 below its place, by its own definition.
    assert finding.value == pytest.approx(100 * survey.chance_below(0.3, 0.0, widest), abs=1.0)
    assert 5 < finding.value < 50


def test_a_planted_slip_is_named_with_what_it_probably_was() -> None:
    rows = [*SIDES[:4], ("A", "C", 500), ("B", "D", 510)]
    more = [("A", "M", 250), ("B", "M", 250), ("C", "M", 250), ("D", "M", 250)]
    document = plate(
        survey={
            "points": [{"id": id_} for id_ in "ABCDM"],
            "origin": "A",
            "along_x": "B",
            "readings": readings([*rows, *more]),
        }
    )
    (finding,) = found(document, "survey-suspect")
    assert finding.items == ("R6",)
    assert "500" in finding.remedy


def test_a_point_that_nothing_holds_is_named_when_something_is_drawn_through_it() -> None:
    document = plate(
        survey={
            "points": [{"id": id_} for id_ in "ABCD"],
            "origin": "A",
            "along_x": "B",
            "readings": readings(SIDES[:3]),
            "outlines": [{"id": "FLOOR", "what": "floor", "corners": ["A", "B", "C", "D"]}],
        }
    )
    assert {finding.items for finding in found(document, "survey-loose")} >= {("D",)}


def drawn_through(points, rows, **more):
    """A plate whose floor is drawn through the points that the readings hold."""
    return plate(
        survey={
            "points": [{"id": id_} for id_ in points],
            "origin": "A",
            "along_x": "B",
            "readings": readings(rows),
            "outlines": [{"id": "FLOOR", "what": "floor", "corners": list("ABCD")}, *more.get("outlines", [])],
        }
    )


def test_a_point_with_two_places_is_asked_about_when_something_is_drawn_through_it() -> None:
    """M is 130 and 150 mm from the ends of a line down the middle: it lies left of it or right, both on the floor."""
    middle = [("A", "N", 200), ("B", "N", 200), ("C", "O", 200), ("D", "O", 200), ("N", "O", 300), ("A", "O", 360.6)]
    rows = [*SIDES, *middle, ("N", "M", 190), ("O", "M", 180)]
    obstacle = {"id": "O1", "what": "obstacle", "centre": "M", "height_mm": 8}
    away = math.sqrt(190**2 - ((190**2 - 180**2 + 300**2) / 600) ** 2)
    (finding,) = found(drawn_through("ABCDNOM", rows, outlines=[obstacle]), "survey-mirrored")
    assert finding.items == ("M",)
    assert finding.line is not None
    assert math.dist(*finding.line) == pytest.approx(2 * away, abs=0.5)
    assert "which tells them apart" in finding.remedy
    told = drawn_through("ABCDNOM", [*rows, ("A", "M", math.hypot(200 - away, 154.17))], outlines=[obstacle])
    assert not found(told, "survey-mirrored")


@pytest.mark.parametrize(
    ("scale", "says"), [(1 / 25.4, "and the floor is drawn 400 × 300 mm"), (10.0, "large for a case")]
)
def test_a_floor_in_the_wrong_unit_is_asked_about(scale, says) -> None:
    rows = [(one, other, round(value * scale, 2)) for one, other, value in SIDES]
    (finding,) = found(drawn_through("ABCD", rows), "survey-shape")
    assert says in finding.message
    assert not found(drawn_through("ABCD", SIDES), "survey-shape")


def test_a_document_without_a_survey_is_not_asked_for_one() -> None:
    assert not any(finding.rule.startswith("survey") for finding in run(plate()))
