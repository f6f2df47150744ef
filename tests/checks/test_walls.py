"""Walls between two items: what is said and offered of each, by right triangles and by circles."""

from __future__ import annotations

import math

import pytest

from sketcher.checks import walls
from sketcher.checks.scene import Scene
from sketcher.document import Document
from sketcher.findings import ALIKE, Finding, Fix, limits_of
from sketcher.geometry import build
from tests.checks.plates import channel, circle, plate, rectangle

STRAIGHT = channel("C1", (100, 150), (200, 150))
#: Sheets that were measured, which is known to 0.1 mm.
MEASURED = {"body_thickness_is": "measured", "lid_thickness_is": "measured"}


def scene(document: Document, *, fixes: bool = True) -> Scene:
    made = Scene(build(document), limits_of(document))
    made.fixes = fixes
    return made


def found(document: Document) -> list[Finding]:
    return list(walls.between_items(scene(document)))


def offered(finding: Finding) -> list[Fix]:
    return [fix for fix in (finding.fix, *finding.other_fixes) if fix is not None]


def changes(fix: Fix) -> dict[str, float]:
    return {change.pointer: change.value for change in fix.changes}


def row(*lefts: float, gap: float = 0.0) -> list[dict]:
    """Round cutouts of 10 mm beside each other, their middles at these places."""
    return [{"id": f"K{n}", "outline": circle(x, 150, 10)} for n, x in enumerate(lefts, 1)]


def test_beside_each_other_one_is_moved_by_what_is_missing() -> None:
    (finding,) = found(plate(cutouts=row(100, 112.4)))
    assert (finding.value, finding.limit) == (pytest.approx(2.4), 3.0)
    assert finding.remedy == "Move one of them 0.6 mm away, or make one narrower."
    # The circles are chords for the place, and no arcs.
    assert finding.at == pytest.approx((106.2, 150.0), abs=0.3)
    # Either of the two, away from the other, and a hair more than is missing.
    first, second = offered(finding)
    assert changes(first) == {"/cutouts/0/outline/x_mm": pytest.approx(100 - 0.61)}
    assert changes(second) == {"/cutouts/1/outline/x_mm": pytest.approx(112.4 + 0.61)}


def test_a_wall_just_as_thick_as_is_asked_is_no_finding() -> None:
    assert found(plate(cutouts=row(100, 113))) == []
    assert found(plate(cutouts=row(100, 113 - 1e-5))) != []


def test_over_each_other_and_beside_each_other_it_is_the_right_triangle() -> None:
    """Beside by 1.2 and over by 1.6 the wall is 2; with 3 asked, √(9 - 1.6²) is wanted in plan: 2.538."""
    pocket = {"id": "R1", "outline": rectangle(150, 154 + 1.2 + 10, 20, 20), "depth_mm": 26 - 14 - 1.6}
    (finding,) = found(plate(plate=MEASURED, channels=[STRAIGHT], pockets=[pocket]))
    assert finding.value == pytest.approx(2.0)
    assert finding.remedy == "Make one of them 1 mm less deep, or move them 1.34 mm apart."
    shallower, pocket_less, *rest = offered(finding)
    # Less deep comes first, by what a sheet thinner by 0.1 lacks, and 0.005 of rounding, downwards to hundredths.
    missing = 3 - math.hypot(1.2, 1.5)
    assert changes(shallower) == {"/channels/0/depth_mm": pytest.approx(8 - missing - 0.01, abs=0.0051)}
    assert changes(pocket_less) == {"/pockets/0/depth_mm": pytest.approx(10.4 - missing - 0.01, abs=0.0051)}
    # Then the pocket to the rear, to 2.538 mm, and to the whole 3 mm; then the channel to the front; then narrower.
    plan = math.sqrt(9 - 1.6**2)
    assert [fix.label.split()[1] for fix in rest] == ["R1", "C1", "R1", "C1", "C1"]
    assert changes(rest[0]) == {"/pockets/0/outline/y_mm": pytest.approx(165.2 + plan - 1.2 + 0.01, abs=1e-3)}
    assert list(changes(rest[1]).values()) == pytest.approx([150 - (plan - 1.2 + 0.01)] * 2, abs=1e-3)
    assert changes(rest[2]) == {"/pockets/0/outline/y_mm": pytest.approx(165.2 + 1.8 + 0.01, abs=1e-3)}
    # Half of what is missing is taken off either side; 0.01 more, downwards to hundredths.
    assert changes(rest[4]) == {"/channels/0/width_mm": pytest.approx(8 - 2 * missing - 0.015, abs=0.0051)}


def test_on_the_thinnest_sheet_more_is_missing() -> None:
    """A cast body of 20 mm may be 17.6 (ISO 7823-1): a pocket 2 mm over a channel is then 0.4 mm into it."""
    pocket = {"id": "R1", "outline": rectangle(150, 150, 20, 4), "depth_mm": 10}
    document = plate(channels=[STRAIGHT], pockets=[pocket])
    (finding,) = found(document)
    assert finding.value == pytest.approx(2.0)
    assert (
        finding.remedy
        == f"Make one of them 1 mm less deep, or move them {math.sqrt(5):.2f} mm apart beyond where they overlap."
    )
    # The depth that is offered holds on the thinnest sheet too: 3 mm and 0.4 less, whichever is made less deep.
    depths = {
        path: value for fix in offered(finding) for path, value in changes(fix).items() if path.endswith("depth_mm")
    }
    thin = scene(document).neighbours.thin.min()
    missing = 3 - thin
    assert missing > 2.4
    assert depths["/channels/0/depth_mm"] == pytest.approx(8 - missing - 0.005, abs=0.011)


def test_what_overlaps_has_no_wall_and_is_separated() -> None:
    (finding,) = found(plate(cutouts=row(100, 109)))
    assert (finding.value, finding.remedy) == (0.0, "Separate them by 3 mm.")
    assert finding.message.endswith("overlap.")


@pytest.mark.parametrize("others", [ALIKE - 1, ALIKE])
def test_one_that_is_too_near_to_three_others_is_the_cause_of_all(others: int) -> None:
    around = [(100 + 12 * math.cos(k * math.pi / 2), 150 + 12 * math.sin(k * math.pi / 2)) for k in range(others)]
    cutouts = [{"id": f"K{n}", "outline": circle(x, y, 10)} for n, (x, y) in enumerate([(100, 150), *around], 1)]
    findings = list(walls.by_culprit(found(plate(cutouts=cutouts))))
    assert len(findings) == others
    for finding in findings:
        assert "K1" in finding.items
        if others < ALIKE:
            assert finding.cause is None
        else:
            assert finding.cause is not None
            assert finding.cause.remedy == "Move K1, or make it narrower."
            assert finding.cause.message == "K1 is too near to {count} others: the wall is less than 3 mm."


def test_the_thinnest_place_of_two_items_is_the_one_that_is_told() -> None:
    """A screw hole beside a port: its thread of 13.157 (ISO 228-1) is nearer than its bore of 11.8."""
    port = {"id": "P1", "x_mm": 100, "y_mm": 150}
    hole = {"id": "H1", "x_mm": 100 + 13.157 / 2 + 2.25 + 2, "y_mm": 150}
    (finding,) = found(plate(ports=[port], holes=[hole]))
    assert finding.value == pytest.approx(2.0, abs=1e-6)


def test_findings_without_fixes_are_not_remembered_for_those_with() -> None:
    document = plate(cutouts=row(100, 112.4))
    shapes = build(document)
    quick = Scene(shapes, limits_of(document))
    quick.fixes = False
    assert [offered(finding) for finding in walls.between_items(quick)] == [[]]
    whole = Scene(shapes, limits_of(document))
    assert [len(offered(finding)) for finding in walls.between_items(whole)] == [2]
    assert [offered(finding) for finding in walls.between_items(quick)] == [[]]


def test_a_limit_of_its_own_is_asked_of_a_remembered_pair_again() -> None:
    cutouts = row(100, 112.4)
    first, second = plate(cutouts=cutouts), plate(cutouts=cutouts, limits={"wall-cutout-cutout": 5})
    quick = [next(walls.between_items(scene(document, fixes=False))) for document in (first, second)]
    assert [finding.limit for finding in quick] == [3, 5]


def test_a_wall_that_holds_as_drawn_but_not_on_a_thin_sheet_is_told_with_its_place() -> None:
    """3.5 mm over a channel: 1.1 on a cast 20 mm sheet of 17.6 mm. Where the sheet was measured, 3.5 is 3.5."""
    pocket = {"id": "R1", "outline": rectangle(150, 150, 20, 4), "depth_mm": 8.5}
    nominal = plate(channels=[STRAIGHT], pockets=[pocket])
    ((items, value, limit, at),) = walls.thin_walls(scene(nominal))
    assert (items, limit) == (("C1", "R1"), 3.0)
    assert value == pytest.approx(3.5 - 2.4)
    assert at == (pytest.approx(150, abs=10), pytest.approx(150, abs=2))
    assert list(walls.thin_walls(scene(plate(plate=MEASURED, channels=[STRAIGHT], pockets=[pocket])))) == []
    # What is too thin as drawn is told by its own rule alone.
    thin = {**pocket, "depth_mm": 10}
    assert list(walls.thin_walls(scene(plate(channels=[STRAIGHT], pockets=[thin])))) == []


def test_of_a_dry_web_only_nothing_is_an_error() -> None:
    assert walls.level_of({"hole", "cutout"}, 0.0) == "error"
    assert walls.level_of({"hole", "cutout"}, 1e-3) == "warning"
    assert walls.level_of({"hole", "channel"}, 1e-3) == "error"


def test_a_thin_wall_is_a_wall_and_no_overlap() -> None:
    (finding,) = found(plate(cutouts=row(100, 110.5)))
    assert finding.message == "The wall between cutout K1 and cutout K2 is 0.5 mm; 3 mm is the minimum."
    assert finding.remedy == "Move one of them 2.5 mm away, or make one narrower."


def test_a_small_height_counts_as_it_is() -> None:
    """Beside by 1 and over by 0.5: with 3 asked, √(9 - 0.25) is wanted in plan."""
    pocket = {"id": "R1", "outline": rectangle(150, 165, 20, 20), "depth_mm": 26 - 14 - 0.5}
    (finding,) = found(plate(plate=MEASURED, channels=[STRAIGHT], pockets=[pocket]))
    missing, sideways = 3 - math.hypot(1, 0.5), math.sqrt(9 - 0.25) - 1
    assert finding.remedy == f"Make one of them {missing:.2f} mm less deep, or move them {sideways:.2f} mm apart."


@pytest.mark.parametrize(
    ("parts", "first"),
    [
        ({"cutouts": [{"id": "A1", "outline": circle(100, 150, 10)}],
          "holes": [{"id": "H1", "x_mm": 109, "y_mm": 150}]}, "H1"),
        ({"pockets": [{"id": "A1", "outline": circle(100, 150, 10), "depth_mm": 20}],
          "holes": [{"id": "H1", "x_mm": 108.5, "y_mm": 150}]}, "H1"),
        ({"channels": [STRAIGHT], "cutouts": [{"id": "K1", "outline": circle(150, 161, 10)}]}, "K1"),
        ({"ports": [{"id": "A1", "x_mm": 100, "y_mm": 150}],
          "cutouts": [{"id": "K1", "outline": circle(114, 150, 10)}]}, "K1"),
    ],
)  # fmt: skip
def test_the_dry_thing_is_moved_rather_than_the_wet_one_and_a_screw_rather_than_an_opening(parts, first) -> None:
    (finding,) = found(plate(**parts))
    moved = [fix.label.split()[1] for fix in offered(finding) if fix.label.startswith("Move")]
    assert len(moved) > 1
    assert moved[0] == first


def test_the_middle_of_a_line_that_is_no_ones_axis() -> None:
    assert walls.middle(((0.0, 1.0), (4.0, 9.0))) == (2.0, 5.0)


@pytest.mark.parametrize("turn", [0.0, 7.0, 23.0, 41.0, 77.0, 113.0, 201.0, 300.0])
@pytest.mark.parametrize(("one", "other"), [("cutouts", "holes"), ("cutouts", "cutouts"), ("holes", "holes")])
def test_the_place_of_a_wall_between_circles_is_on_the_line_of_their_centres(turn: float, one: str, other: str) -> None:
    """Two circles of 5 and 9 mm radius, 15.5 mm apart: the wall of 1.5 mm begins 5 mm from the one's centre and ends
    9 mm from the other's."""
    ux, uy = math.cos(math.radians(turn)), math.sin(math.radians(turn))
    centres = ((150.0, 120.0), (150.0 + 15.5 * ux, 120.0 + 15.5 * uy))
    parts: dict[str, list[dict]] = {"cutouts": [], "holes": []}
    for kind, (x, y), radius, id_ in zip((one, other), centres, (5.0, 9.0), ("A1", "A2"), strict=True):
        plain = {"id": id_, "outline": circle(x, y, 2 * radius)}
        parts[kind].append(plain if kind == "cutouts" else {"id": id_, "x_mm": x, "y_mm": y, "diameter_mm": 2 * radius})
    (finding,) = found(plate(**parts))
    assert finding.at == pytest.approx((150 + 5.75 * ux, 120 + 5.75 * uy), abs=1e-6)
    ends = sorted(finding.line or (), key=lambda end: math.dist(end, centres[0]))
    assert ends[0] == pytest.approx((150 + 5 * ux, 120 + 5 * uy), abs=1e-6)
    assert ends[1] == pytest.approx((150 + 6.5 * ux, 120 + 6.5 * uy), abs=1e-6)


def test_the_place_of_a_wall_beside_a_straight_channel_is_at_its_foot() -> None:
    """A hole of 6 mm beside a channel of 8 mm in width: 2 mm of wall right between the hole's centre and the axis."""
    hole = {"id": "H1", "x_mm": 137.3, "y_mm": 150 + 4 + 2 + 3, "diameter_mm": 6}
    (finding,) = found(plate(channels=[STRAIGHT], holes=[hole]))
    assert finding.at == pytest.approx((137.3, 150 + 4 + 1), abs=1e-6)
