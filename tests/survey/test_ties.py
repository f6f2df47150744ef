"""What is tied to survey points moves as the points do: against a rigid motion that is known beforehand."""

import json
import math
from pathlib import Path
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.cli import main
from sketcher.document import Document, from_plain, to_plain
from sketcher.document import read as read_document
from sketcher.survey.adjusted import adjust
from sketcher.survey.ties import follow
from tests.checks.plates import rectangle

#: The floor's points, mm; E and F are on the board.
POINTS = {"A": (0.0, 0.0), "B": (400.0, 0.0), "C": (400.0, 300.0), "D": (0.0, 300.0), "E": (120.0, 180.0)}
POINTS["F"] = (300.0, 140.0)


def turned(place: tuple[float, float], degrees: float, dx: float, dy: float) -> tuple[float, float]:
    """A place turned about the origin, then shifted."""
    c, s = math.cos(math.radians(degrees)), math.sin(math.radians(degrees))
    return (c * place[0] - s * place[1] + dx, s * place[0] + c * place[1] + dy)


def read(where: dict[str, tuple[float, float]], **more: Any) -> dict[str, Any]:
    """A survey whose readings are exact for some places: E and F from all four corners."""
    pairs = ["AB", "BC", "CD", "AD", "AC", "BD", "EF", *(a + b for a in "ABCD" for b in "EF")]
    readings = [
        {"id": f"M{k}", "points": list(pair), "value": math.dist(where[pair[0]], where[pair[1]]), "tool": "rule"}
        for k, pair in enumerate(pairs)
    ]
    return {"points": [{"id": name} for name in where], "origin": "A", "along_x": "B", "readings": readings, **more}


def tied(where: dict[str, tuple[float, float]], *names: str, **parts: Any) -> Document:
    """A plate with a board, a radiator and two obstacles tied to the points of ``POINTS``, surveyed as ``where``."""
    places = [{"x_mm": POINTS[name][0], "y_mm": POINTS[name][1]} for name in ("E", "F")]
    vertices = [{"x_mm": x, "y_mm": y} for x, y in ((20.0, 20.0), (50.0, 20.0), (20.0, 40.0))]
    plain: dict[str, Any] = {
        "floor": {
            "outline": rectangle(200, 150, 400, 300),
            "obstacles": [
                {"id": "O1", "height_mm": 9, "outline": {"shape": "polygon", "vertices": vertices}},
                {"id": "O2", "height_mm": 9, "outline": rectangle(350, 250, 20, 10)},
            ],
        },
        "plate": {"outline": rectangle(200, 150, 360, 260), "body_thickness_mm": 20, "lid_thickness_mm": 6},
        "boards": [{"id": "MB", "x_mm": 120, "y_mm": 140, "z_mm": 60, "turn_deg": 10, "width_mm": 99, "depth_mm": 99}],
        "devices": [{"id": "RAD", "kind": "radiator", "x_mm": 80, "y_mm": 240, "z_mm": 60, "ports": [{"id": "a"}]}],
        "survey": read(where),
        "ties": [{"item": name, "points": ["E", "F"], "places": places} for name in names],
        **parts,
    }
    return from_plain(plain)


MOVED = {name: place if name in "ABCD" else turned(place, 1.5, 2.0, -3.0) for name, place in POINTS.items()}


def test_everything_tied_moves_as_its_points_do() -> None:
    document = tied(MOVED, "MB", "RAD", "O1", "O2")
    followed = follow(document, adjust(document))
    new = followed.document
    assert {move.item for move in followed.moves} == {"MB", "RAD", "O1", "O2"}
    assert not followed.kept
    for before, after in ((document.boards[0], new.boards[0]), (document.devices[0], new.devices[0])):
        assert (after.x_mm, after.y_mm) == pytest.approx(turned((before.x_mm, before.y_mm), 1.5, 2.0, -3.0), abs=2e-3)
        assert after.turn_deg == pytest.approx(before.turn_deg + 1.5, abs=1e-3)
        assert after.z_mm == before.z_mm
    corner, box = new.floor.obstacles[0].outline, new.floor.obstacles[1].outline
    assert corner.shape == "polygon"
    assert box.shape == "rectangle"
    for vertex, place in zip(corner.vertices, ((20.0, 20.0), (50.0, 20.0), (20.0, 40.0)), strict=True):
        assert (vertex.x_mm, vertex.y_mm) == pytest.approx(turned(place, 1.5, 2.0, -3.0), abs=2e-3)
    assert (box.x_mm, box.y_mm) == pytest.approx(turned((350, 250), 1.5, 2.0, -3.0), abs=2e-3)
    assert box.turn_deg == pytest.approx(1.5, abs=1e-3)
    # Once moved, everything stands where its points are: a second time nothing moves.
    again = follow(new, adjust(new))
    assert again.document == new
    assert again.moves == ()


def test_a_place_changed_by_hand_stays_changed_by_as_much() -> None:
    plain = to_plain(tied(MOVED, "RAD"))
    plain["devices"][0]["x_mm"] += 10
    document = from_plain(plain)
    moved = follow(document, adjust(document)).document.devices[0]
    assert (moved.x_mm, moved.y_mm) == pytest.approx(turned((90, 240), 1.5, 2.0, -3.0), abs=2e-3)


def test_one_point_carries_a_place_and_no_turn() -> None:
    one = [{"item": "RAD", "points": ["E"], "places": [{"x_mm": 120.0, "y_mm": 180.0}]}]
    document = tied(MOVED, ties=one)
    move = follow(document, adjust(document)).moves[0]
    dx, dy = MOVED["E"][0] - 120.0, MOVED["E"][1] - 180.0
    assert (move.dx_mm, move.dy_mm, move.turn_deg) == pytest.approx((dx, dy, 0.0), abs=2e-3)


def test_a_tie_without_places_moves_nothing_and_notes_them() -> None:
    document = tied(POINTS, ties=[{"item": "MB", "points": ["E", "F"]}])
    followed = follow(document, adjust(document))
    assert followed.moves == ()
    assert followed.document.boards == document.boards
    noted = [(place.x_mm, place.y_mm) for place in followed.document.ties[0].places]
    assert noted == [pytest.approx(POINTS["E"], abs=1e-3), pytest.approx(POINTS["F"], abs=1e-3)]


def _without_e(survey: dict[str, Any]) -> dict[str, Any]:
    return {**survey, "readings": [one for one in survey["readings"] if "E" not in one["points"]]}


def _wrong(survey: dict[str, Any]) -> dict[str, Any]:
    """Two readings of E read 9 mm short: that something is wrong shows, and not what."""
    short = [
        {**one, "value": one["value"] - (9 if one["points"] in (["A", "E"], ["B", "E"]) else 0)}
        for one in survey["readings"]
    ]
    kept = [one for one in short if "E" not in one["points"] or one["points"] in (["A", "E"], ["B", "E"], ["C", "E"])]
    return {**survey, "readings": kept}


@pytest.mark.parametrize(
    ("change", "why"),
    [
        ({"survey": _without_e(read(MOVED))}, "no reading determines E"),
        ({"survey": _wrong(read(MOVED))}, "contradict"),
        ({"boards": [{"id": "MB", "width_mm": 99, "depth_mm": 99, "locked": True}]}, "locked"),
        ({"boards": [{"id": "UP"}, {"id": "MB", "held_by": "UP"}]}, "UP holds it"),
        ({"boards": []}, "nothing is called so"),
    ],
)
def test_what_does_not_follow_says_why(change: dict[str, Any], why: str) -> None:
    document = tied(MOVED, "MB", **change)
    followed = follow(document, adjust(document))
    assert followed.moves == ()
    assert followed.document == document
    assert why in followed.kept["MB"]


def test_a_moved_point_is_a_finding_whose_fix_moves_the_item() -> None:
    document = tied(MOVED, "MB")
    (finding,) = [one for one in run(document) if one.rule == "tie-moved"]
    expected = math.dist(turned((120, 140), 1.5, 2.0, -3.0), (120, 140))
    assert finding.value == pytest.approx(expected, abs=2e-3)
    assert finding.fix is not None
    plain = to_plain(document)
    for change in finding.fix.changes:
        *path, last = change.pointer.split("/")[1:]
        part: Any = plain
        for key in path:
            part = part[int(key)] if isinstance(part, list) else part[key]
        part[last] = change.value
    fixed = from_plain(plain)
    assert fixed == follow(document, adjust(document)).document
    assert [one for one in run(fixed) if one.rule == "tie-moved"] == []
    assert [one for one in run(tied(POINTS, "MB")) if one.rule == "tie-moved"] == []


def test_a_table_of_readings_moves_what_is_tied_in_the_file(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Readings of the moved floor typed into a file beside: the command writes the board to where its points are."""
    full = to_plain(tied(MOVED, "MB"))
    plain = {**full, "survey": {**full["survey"], "readings": []}}
    (tmp_path / "plate.json").write_text(json.dumps(plain))
    rows = [f"{' '.join(one['points'])} {one['value']:.4f}" for one in full["survey"]["readings"]]
    (tmp_path / "readings.csv").write_text("\n".join(rows))
    new = tmp_path / "new.json"
    done = main(["survey", str(tmp_path / "plate.json"), "--add", str(tmp_path / "readings.csv"), "-o", str(new)])
    assert done == 0
    assert "MB moved with the survey" in capsys.readouterr().err
    board = read_document(new).boards[0]
    assert (board.x_mm, board.y_mm) == pytest.approx(turned((120, 140), 1.5, 2.0, -3.0), abs=5e-3)
