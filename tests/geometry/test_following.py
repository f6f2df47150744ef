"""From a thing to the plate: outlines and holes where the thing has them. Places are worked out by hand beside each."""

from __future__ import annotations

import math
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.document.outlines import Polygon
from sketcher.geometry import build
from sketcher.geometry.following import FollowingError, in_step, made_along, out_of_step
from sketcher.geometry.outline_contours import contour
from sketcher.geometry.outline_edits import OutlineError, edited
from tests.checks.plates import circle, plate, rectangle

BOARD = {
    "id": "B1", "x_mm": 100, "y_mm": 100, "z_mm": 40, "width_mm": 60, "depth_mm": 40,
    "holes": [{"id": "A", "u_mm": 5, "v_mm": 5, "diameter_mm": 3.4}, {"id": "B", "u_mm": -80, "v_mm": 5}],
}  # fmt: skip


def box(outline: Any) -> tuple[float, ...]:
    xs, ys = zip(*contour(outline).path.points(0.001), strict=True)
    return tuple(round(v, 2) for v in (min(xs), min(ys), max(xs), max(ys)))


def test_a_cutout_along_a_board_has_its_clearance_and_its_screw_holes() -> None:
    made = made_along(plate(boards=[BOARD]), "B1", "cutout", 2.0, holes=True)
    (cutout,), (hole,) = made.document.cutouts, made.document.holes
    # The board covers 100 … 160 by 100 … 140; hole A is at (105, 105), hole B at (20, 105) is off the plate.
    assert box(cutout.outline) == (98, 98, 162, 142)
    assert contour(cutout.outline).path.area == pytest.approx(60 * 40 + 200 * 2 + math.pi * 4, abs=1e-3)
    assert (hole.x_mm, hole.y_mm, hole.screw) == (105, 105, "M3")
    assert made.ids == (cutout.id, hole.id)
    assert made.messages == ("Not drilled, outside the plate: B of B1.",)
    assert out_of_step(build(made.document)) == []


def test_a_pocket_over_what_reaches_in_from_below_opens_there_and_clears_it() -> None:
    """A rail of 20 mm under a plate whose underside is at 14: it reaches 6 mm in; 0.5 mm more is asked for."""
    rail = {"id": "O1", "outline": rectangle(200, 150, 60, 20), "height_mm": 20}
    for face, deep, told in (("top", 6.5, False), ("bottom", 4.0, True)):
        document = plate(floor={"obstacles": [rail]}, plate={"z_mm": 14, "lid_face": face})
        assert [f.level for f in run(document) if f.rule == "plate-over-obstacle"] == ["error"]
        made = made_along(document, "O1", "pocket", 1.0)
        (pocket,) = made.document.pockets
        # The lid closes the body on the side away from the pocket, or stands in its way: a pocket would change nothing.
        assert (pocket.face, pocket.depth_mm) == ("top" if told else "bottom", deep)
        assert ["make a cutout" in words for words in made.messages] == [True] * told
        left = [f for f in run(made.document) if f.rule == "plate-over-obstacle"]
        assert bool(left) is told
    apart = plate(floor={"obstacles": [{**rail, "height_mm": 10}]}, plate={"z_mm": 14, "lid_face": "top"})
    assert made_along(apart, "O1", "pocket", 1.0).document.pockets[0].face == "top"


def test_what_moves_is_followed_until_it_is_cut_loose() -> None:
    made = made_along(plate(boards=[BOARD]), "B1", "pocket", 1.0, 3.0, holes=True).document
    moved = made.model_copy(update={"boards": (made.boards[0].model_copy(update={"x_mm": 130.0, "turn_deg": 90.0}),)})
    stale = out_of_step(build(moved))
    assert [one.id for one in stale] == ["R1", "H1"]
    again, ids = in_step(moved)
    assert ids == ["R1", "H1"]
    # Turned a quarter left about (130, 100): 90 … 130 by 100 … 160; hole A at (130 − 5, 105).
    assert box(again.pockets[0].outline) == (89, 99, 131, 161)
    assert (again.holes[0].x_mm, again.holes[0].y_mm) == (125, 105)
    assert in_step(again) == (again, [])
    loose = moved.model_copy(update={"pockets": (moved.pockets[0].model_copy(update={"follows": None}),)})
    assert [one.id for one in out_of_step(build(loose))] == ["H1"]
    locked = moved.model_copy(update={"pockets": (moved.pockets[0].model_copy(update={"locked": True}),)})
    assert in_step(locked)[0].pockets[0].outline == moved.pockets[0].outline


def test_a_devices_foot_is_screwed_where_its_holes_fall() -> None:
    """A pump's foot of 60 by 60 with two holes, turned a quarter left about (200, 150): u runs to the rear,
    v to the left, so that (25, 20) falls at (200 - 20, 150 + 25) and (-25, -20) at (220, 125)."""
    pump = {
        "id": "D1", "kind": "pump", "x_mm": 200, "y_mm": 150, "turn_deg": 90, "height_mm": 40,
        "outline": {"shape": "rectangle", "x_mm": 0, "y_mm": 0, "width_mm": 60, "depth_mm": 60},
        "holes": [
            {"id": "h1", "u_mm": 25, "v_mm": 20, "diameter_mm": 4.5},
            {"id": "h2", "u_mm": -25, "v_mm": -20, "diameter_mm": 3.4},
        ],
    }  # fmt: skip
    made = made_along(plate(devices=[pump]), "D1", "pocket", 1.0, 3.0, holes=True)
    # ISO 273: 4.5 is the clearance hole of M4, 3.4 of M3.
    assert [(hole.x_mm, hole.y_mm, hole.screw) for hole in made.document.holes] == [(180, 175, "M4"), (220, 125, "M3")]
    assert [hole.follows.hole for hole in made.document.holes if hole.follows] == ["h1", "h2"]
    device = made.document.devices[0].model_copy(update={"x_mm": 190.0})
    moved, ids = in_step(made.document.model_copy(update={"devices": (device,)}))
    assert ids == ["R1", "H1", "H2"]
    assert [(hole.x_mm, hole.y_mm) for hole in moved.holes] == [(170, 175), (210, 125)]
    upright = {**pump, "posture": "standing"}
    assert made_along(plate(devices=[upright]), "D1", "cutout", 1.0, holes=True).document.holes == ()


def test_a_round_device_gives_a_round_keep_out_and_an_upright_board_its_thin_shadow() -> None:
    pump = {
        "id": "D1", "kind": "pump", "x_mm": 200, "y_mm": 150, "turn_deg": 30, "height_mm": 40,
        "outline": {"shape": "circle", "x_mm": 10, "y_mm": 0, "diameter_mm": 50},
    }  # fmt: skip
    made = made_along(plate(devices=[pump]), "D1", "keep-out", 3.0)
    outline = made.document.keep_outs[0].outline
    assert outline.shape == "circle"
    # 10 mm from (200, 150) at 30 degrees.
    assert (outline.x_mm, outline.y_mm) == pytest.approx((200 + 10 * math.cos(math.radians(30)), 155))
    assert outline.diameter_mm == pytest.approx(56)
    standing = {**BOARD, "posture": "standing", "parts_height_mm": 0.0, "thickness_mm": 1.6}
    upright = made_along(plate(boards=[standing]), "B1", "cutout", 1.0, holes=True)
    left, front, right, rear = box(upright.document.cutouts[0].outline)
    assert (right - left, rear - front) == pytest.approx((62, 3.6))
    assert upright.messages == ("B1 has no mounting holes that fall on the plate.",)


def test_what_has_no_outline_is_said() -> None:
    with pytest.raises(FollowingError, match="D1 has no outline"):
        made_along(plate(devices=[{"id": "D1", "kind": "pump"}]), "D1", "cutout")


def test_the_plate_follows_the_floor_inside() -> None:
    made = edited(build(plate()), "plate", "follow", "floor", 2.0)
    assert box(made.outline) == (2, 2, 398, 298)
    assert isinstance(made.outline, Polygon)
    assert len(made.outline.vertices) == 4


def test_shapes_are_added_and_taken_away() -> None:
    shapes = build(
        plate(
            floor={
                "obstacles": [
                    {"id": "O1", "height_mm": 9, "outline": rectangle(350, 150, 20, 40)},
                    {"id": "O2", "height_mm": 9, "outline": circle(50, 150, 30)},
                    {"id": "O3", "height_mm": 9, "outline": rectangle(10, 10, 5, 5)},
                ]
            }
        )
    )
    # The plate is 50 … 350 by 50 … 250. O1 with 1 mm all round takes 11 by 42 of it, with two round corners of 1 mm.
    made = edited(shapes, "plate", "minus", "O1", 1.0)
    assert contour(made.outline).path.area == pytest.approx(300 * 200 - (11 * 42 - 2 * (1 - math.pi / 4)), abs=1e-3)
    more = edited(shapes, "plate", "union", "O2")
    assert contour(more.outline).path.area == pytest.approx(300 * 200 + math.pi * 15**2 / 2, abs=1e-3)
    with pytest.raises(OutlineError, match="do not touch"):
        edited(shapes, "plate", "union", "O3")
    with pytest.raises(OutlineError, match="nothing is left"):
        edited(shapes, "O3", "minus", "floor")
    with pytest.raises(OutlineError, match="by itself"):
        edited(shapes, "plate", "follow", "plate")


def test_one_edge_is_laid_along_another() -> None:
    corners = [(60, 60), (340, 60), (335, 240), (60, 240)]
    slanted = {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in corners]}
    shapes = build(plate(plate={"outline": slanted}))
    made = edited(shapes, "plate", "along", "floor", 3.0, edge=1)
    assert isinstance(made.outline, Polygon)
    # Along the right wall, 3 mm inside: both ends at x = 397, on their old lines.
    assert [(v.x_mm, v.y_mm) for v in made.outline.vertices] == [(60, 60), (397, 60), (397, 240), (60, 240)]
    with pytest.raises(OutlineError, match="choose the edge"):
        edited(shapes, "plate", "along", "floor", 3.0)
    with pytest.raises(OutlineError, match="by corners first"):
        edited(build(plate()), "plate", "along", "floor", 3.0, edge=1)


def test_what_changes_nothing_is_said_in_place_of_a_new_outline() -> None:
    """The plate runs from 50 to 350 and 50 to 250: the one cutout lies inside, the other reaches 10 mm beyond."""
    shapes = build(plate(cutouts=[{"id": "K1", "outline": rectangle(200, 150, 20, 20)},
                                  {"id": "K2", "outline": rectangle(350, 150, 20, 20)}]))  # fmt: skip
    left, front, right, rear = shapes.plate_polygon.bounds
    assert right - 200 > 20
    within = edited(shapes, "plate", "union", "K1")
    assert (within.changed, within.messages) == (False, ("K1 changes nothing in the plate.",))
    beyond = edited(shapes, "plate", "union", "K2")
    assert (beyond.changed, beyond.messages) == (True, ())
    assert box(beyond.outline) == (left, front, 360, rear)
