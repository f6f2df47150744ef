"""The survey step as a builder uses it: readings typed, the floor takes shape, a wrong one is named and corrected."""

from __future__ import annotations

import re

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from tests.browser.conftest import Bench

pytestmark = pytest.mark.browser

#: The true floor, mm: a 400 by 300 rectangle A B C D, and a standoff E in it at 150, 110. Right triangles of whole
#: numbers where they are (3-4-5 for the diagonals), Pythagoras for the rest.
READINGS = [
    ("A", "B", "400"),
    ("B", "C", "300.2"),
    ("C", "D", "399.8"),
    ("D", "A", "30 cm"),
    ("A", "C", "500"),
    ("B", "D", "499.9"),
    ("A", "E", "186.0"),  # √(150² + 110²) = 186.01
    ("B", "E", "100+173.1"),  # √(250² + 110²) = 273.13
    ("C", "E", "314.0"),  # √(250² + 190²) = 314.01
    ("D", "E", "242.1"),  # √(150² + 190²) = 242.07
]


def name_points(bench: Bench, names: str) -> None:
    field = bench.page.get_by_label("New points")
    field.fill(names)
    field.press("Enter")
    expect(bench.page.get_by_label(f"Name of point {names.split()[-1]}")).to_be_visible()


def read(bench: Bench, first: str, second: str, value: str, number: int) -> None:
    """One distance, by keyboard: the choices take letters, Enter takes the row."""
    bench.page.get_by_label("First point", exact=True).select_option(first)
    bench.page.get_by_label("Second point", exact=True).select_option(second)
    field = bench.page.get_by_label("Value read")
    field.fill(value)
    field.press("Enter")
    expect(bench.page.get_by_label(f"Value of M{number}", exact=True)).to_be_visible()
    expect(bench.page.get_by_label("First point", exact=True)).to_be_focused()


def type_all(bench: Bench) -> None:
    name_points(bench, "A B C D E")
    for number, (first, second, value) in enumerate(READINGS, 1):
        read(bench, first, second, value, number)
    for number, (kind, point, wall, value) in enumerate(
        [("Off a wall", "E", ("A", "B"), "110.1"), ("Along a wall", "E", ("A", "B"), "150.1")], len(READINGS) + 1
    ):
        bench.page.get_by_label("Kind of reading").select_option(label=kind)
        bench.page.get_by_label("Point", exact=True).select_option(point)
        bench.page.get_by_label("Wall from", exact=True).select_option(wall[0])
        bench.page.get_by_label("Wall to", exact=True).select_option(wall[1])
        field = bench.page.get_by_label("Value read")
        field.fill(value)
        field.press("Enter")
        expect(bench.page.get_by_label(f"Value of M{number}", exact=True)).to_be_visible()
    bench.settled()


def test_twelve_readings_make_a_floor_and_a_wrong_one_is_named_and_corrected(empty: Bench) -> None:
    type_all(empty)
    survey = empty.document()["survey"]
    assert len(survey["readings"]) == 12
    assert survey["readings"][3] == {"id": "M4", "points": ["D", "A"], "value": 30, "unit": "cm"}
    points = empty.page.locator('#world g.layer[data-layer="survey"] g.item')
    expect(points).to_have_count(5)
    expect(empty.page.get_by_text("The readings agree, and every point is determined.")).to_be_visible()
    place = empty.page.locator('tr[data-point="C"] .place')
    expect(place).to_contain_text(re.compile(r"x (399|400)\.\d\d ± 0\.\d\d"))
    expect(place).to_contain_text(re.compile(r"y (299|300)\.\d\d ± 0\.\d\d"))

    # A planted slip: two digits swapped, 242.1 typed as 422.1.
    field = empty.page.get_by_label("Value of M10", exact=True)
    field.fill("422.1")
    field.press("Enter")
    suspect = empty.page.locator('tbody[data-reading="M10"].suspect')
    expect(suspect).to_be_visible()
    expect(suspect.get_by_title("Suspect")).to_have_text("S")
    expect(empty.page.locator("tbody.suspect")).to_have_count(1)
    expect(empty.page.locator("#say-survey")).to_contain_text("M10")
    use = suspect.get_by_role("button", name="Use ").first
    use.click()
    expect(empty.page.locator("tbody.suspect")).to_have_count(0)
    assert empty.document()["survey"]["readings"][9]["value"] == pytest.approx(242.1)

    # The floor, drawn through the corners, becomes one edit that can be undone.
    corners = empty.page.get_by_label("Corners in order")
    corners.fill("A B C D")
    empty.page.get_by_role("button", name="Add outline").click()
    before = empty.document()["floor"]
    empty.page.get_by_role("button", name="Draw the floor from these readings").click()
    expect(empty.page.locator("#notice")).to_contain_text("The floor is drawn")
    vertices = empty.document()["floor"]["outline"]["vertices"]
    for vertex, (x, y) in zip(vertices, [(0, 0), (400, 0), (400, 300), (0, 300)], strict=True):
        assert vertex["x_mm"] == pytest.approx(x, abs=0.6)
        assert vertex["y_mm"] == pytest.approx(y, abs=0.6)
    empty.page.get_by_role("button", name="Undo").click()
    empty.settled()
    assert empty.document()["floor"] == before


def test_points_are_renamed_and_taken_out_with_what_leans_on_them(empty: Bench) -> None:
    name_points(empty, "A B C")
    read(empty, "A", "B", "15 3/4 in", 1)
    reading = empty.document()["survey"]["readings"][0]
    assert (reading["value"], reading["unit"]) == (15.75, "in")
    expect(empty.page.locator(".survey-said")).to_contain_text("undetermined")
    name = empty.page.get_by_label("Name of point B")
    name.fill("A")
    name.press("Enter")
    expect(empty.page.get_by_text("There is a point A already.")).to_be_visible()
    name.fill("corner2")
    name.press("Enter")
    assert empty.document()["survey"]["readings"][0]["points"] == ["A", "corner2"]
    empty.page.get_by_label("First point", exact=True).select_option("A")
    empty.page.get_by_label("Second point", exact=True).select_option("A")
    empty.page.get_by_label("Value read").fill("20")
    empty.page.get_by_label("Value read").press("Enter")
    expect(empty.page.get_by_text("A distance is between two different points.")).to_be_visible()
    empty.page.get_by_role("button", name="Remove point corner2").click()
    assert empty.document()["survey"].get("readings", []) == []
    empty.page.get_by_role("button", name="Undo").click()
    expect(empty.page.get_by_label("Value of M1", exact=True)).to_be_visible()


def test_the_ellipses_are_magnified_with_their_scale_said(empty: Bench) -> None:
    name_points(empty, "A B C")
    for number, (first, second, value) in enumerate([("A", "B", "400"), ("B", "C", "300"), ("A", "C", "500")], 1):
        read(empty, first, second, value, number)
    empty.settled()
    ellipse = empty.page.locator('#world g.item[data-id="C"] ellipse')
    true = float(ellipse.get_attribute("rx") or 0)
    empty.page.get_by_role("button", name="×10", exact=True).click()
    expect(empty.page.get_by_text("drawn 10 times as large")).to_be_visible()
    empty.settled()
    assert float(ellipse.get_attribute("rx") or 0) == pytest.approx(10 * true, rel=0.01)


def test_the_sheet_has_no_serious_fault_of_access(empty: Bench) -> None:
    name_points(empty, "A B C")
    read(empty, "A", "B", "300", 1)
    empty.page.get_by_role("button", name="More about M1").click()
    found = Axe().run(empty.page, context="#step-panel")
    serious = [v["id"] for v in found.response["violations"] if v["impact"] in ("serious", "critical")]
    assert serious == []


def test_a_table_is_pasted_a_caliper_goes_down_the_list_and_rivals_are_said(empty: Bench) -> None:
    """A 400 by 300 floor (3-4-5); the diagonal B D is read as 560 for 500, which one surplus reading cannot tell."""
    page = empty.page
    name_points(empty, "A B")
    page.get_by_text("Readings as a table", exact=True).click()
    page.get_by_label("Paste the table").fill("A, B, 400\nB, Q Q, 3")
    page.get_by_role("button", name="Add these readings").click()
    expect(page.locator(".task .problem", has_text="ine 2")).to_be_visible()
    page.get_by_label("Paste the table").fill("from\tto\tvalue\nA\tB\t400\nB\tC\t300\nC\tD\t400")
    page.get_by_role("button", name="Add these readings").click()
    expect(page.get_by_text("3 readings added, with the new points C, D.")).to_be_visible()
    # What a caliper sends: digits and Enter, and nothing else.
    page.get_by_text("One after the other").click()
    page.get_by_label("Pairs of points").fill("D-A, A-C, B-D")
    page.get_by_role("button", name="Begin").click()
    expect(page.get_by_label("D to A (1 of 3)")).to_be_focused()
    for number, value in enumerate(("300", "500", "560"), 4):
        page.keyboard.type(value)
        page.keyboard.press("Enter")
        expect(page.get_by_label(f"Value of M{number}", exact=True)).to_be_visible()
        if number < 6:
            expect(page.get_by_label(f"({number - 2} of 3)")).to_be_focused()
    empty.settled()
    assert [r["value"] for r in empty.document()["survey"]["readings"]] == [400, 300, 400, 300, 500, 560]
    expect(page.get_by_text("One of 6 readings is wrong")).to_be_visible()
    expect(page.locator("tbody.rival")).to_have_count(6)
    expect(page.locator('tbody[data-reading="M6"]')).to_contain_text("it should read 500.0 mm")
    expect(page.locator(".reading-line.rival")).to_have_count(6)
    expect(page.locator(".survey-wish").first).to_contain_text("Read again (M1) the distance from A to B")
    expect(page.get_by_role("navigation", name="Steps")).to_contain_text("suspect")
    # From field to field in the table, too; then all is right and its lines say so.
    field = page.get_by_label("Value of M6", exact=True)
    field.fill("500")
    page.get_by_label("Value of M5", exact=True).focus()
    page.keyboard.press("Enter")
    expect(field).to_be_focused()
    expect(page.locator(".reading-line.agrees")).to_have_count(6)
    # Two clicks on the plan begin the next.
    page.get_by_role("button", name="Click the two points on the plan").click()
    empty.click(0, 0)
    empty.click(400, 300)
    expect(page.get_by_label("Value read")).to_be_focused()
    expect(page.get_by_label("First point", exact=True)).to_have_value("A")
    expect(page.get_by_label("Second point", exact=True)).to_have_value("C")
    page.locator("summary", has_text="Tools").click()
    jaws = page.get_by_label("Jaws of the caliper in mm")
    jaws.fill("10.2")
    jaws.press("Enter")
    assert next(t for t in empty.document()["survey"]["tools"] if t["id"] == "caliper")["jaw_mm"] == 10.2


def test_all_readings_in_inches_are_asked_about_and_taken_so_with_one_button(empty: Bench) -> None:
    """A floor of 19 by 16 inches: √(19² + 16²) = 24.84; 19 × 25.4 = 482.6 mm."""
    page = empty.page
    name_points(empty, "A B")
    page.get_by_text("Readings as a table", exact=True).click()
    page.get_by_label("Paste the table").fill("A B 19\nB C 16\nC D 19\nD A 16\nA C 24.84\nB D 24.84")
    page.get_by_label("Unit of the table").select_option("mm")
    page.get_by_role("button", name="Add these readings").click()
    expect(page.get_by_text("6 readings added")).to_be_visible()
    expect(page.get_by_text("Check the unit of the readings first.")).to_be_visible()
    expect(page.locator(".survey-said li", has_text="In inches it would be 483 × 406 mm")).to_be_visible()
    expect(page.get_by_role("navigation", name="Steps")).to_contain_text("check the unit")
    page.get_by_role("button", name="Take all in inches").click()
    expect(page.get_by_text("The readings agree, and every point is determined.")).to_be_visible()
    empty.settled()
    assert {(r["value"], r["unit"]) for r in empty.document()["survey"]["readings"]} == {
        (19, "in"), (16, "in"), (24.84, "in"),
    }  # fmt: skip
    page.keyboard.press("Control+z")
    expect(page.get_by_text("Check the unit of the readings first.")).to_be_visible()
