"""A cable's way out of a pocket. Places and volumes are worked out by hand beside each; areas by a second method."""

from __future__ import annotations

import math
from typing import Any

import pytest
import shapely

from sketcher.checks import run
from sketcher.document import Document, from_plain, to_plain
from sketcher.document.outlines import Rectangle
from sketcher.document.plate import Pocket
from sketcher.export.drawing_notes import sentences
from sketcher.export.recesses import recessed, volume_mm3
from sketcher.export.sheets import make_sheet
from sketcher.geometry import build
from sketcher.geometry.cable_slots import SlotError, centreline, made_slot
from sketcher.geometry.following import FollowingError, in_step, made_along, out_of_step
from sketcher.strength.seal import design_seal
from sketcher.trial.port_moves import move_whole
from tests.checks.plates import channel, circle, plate, rectangle
from tests.server.test_dragging import dragged

CABLE, ROOM, WIDTH = 4.0, 0.5, 4.5


def strip(x: float = 150, y: float = 150, **parts: Any) -> Document:
    """A light strip's pocket R1 of 100 by 12, 5 deep, about a place; the plate is 50 … 350 by 50 … 250."""
    return plate(pockets=[{"id": "R1", "outline": rectangle(x, y, 100, 12), "depth_mm": 5}], **parts)


K1 = {"id": "K1", "outline": rectangle(250, 150, 20, 20)}


def slot_of(document: Document) -> Pocket:
    return document.pockets[-1]


def made(document: Document, end: str | None = None, **more: Any) -> Document:
    return made_slot(document, "R1", end, CABLE, ROOM, **more)[0]


def test_a_slot_runs_the_shortest_way_into_a_cutout_and_all_its_width_opens_there() -> None:
    """From 200 - 2.25 to 240 + 2.25, in the middle of the 12 that strip and cutout lie side by side."""
    slot = slot_of(made(strip(cutouts=[K1]), "K1")).outline
    assert slot.shape == "slot"
    assert (slot.x_mm, slot.y_mm, slot.width_mm) == pytest.approx((220, 150, WIDTH))
    assert slot.length_mm == pytest.approx(242.25 - 197.75 + WIDTH)


def test_a_slot_over_the_edge_runs_half_its_width_beyond_it() -> None:
    """The strip's room ends at 236 - 2.25, the plate at 250: the centreline runs from 233.75 to 252.25."""
    document = made(strip(y=230))
    slot = slot_of(document)
    assert slot.cable is not None
    (x, y), (to_x, to_y) = centreline(build(document), slot.cable, "top")
    assert (x, to_x) == pytest.approx((150, 150), abs=0.01)
    assert (y, to_y) == pytest.approx((233.75, 252.25))


def test_the_nearest_end_is_taken_when_none_is_named() -> None:
    near = made(strip(y=150, cutouts=[K1]), nearest=True)
    assert slot_of(near).cable.end == "K1"  # 40 from the strip's end; the edge is 94 away
    assert slot_of(made(strip(y=230, cutouts=[K1]), nearest=True)).cable.end is None  # 14 to the edge
    floor = {"openings": [{"id": "W1", "outline": circle(150, 130, 10)}]}
    assert slot_of(made(strip(floor=floor, cutouts=[K1]), nearest=True)).cable.end == "K1"
    under = strip(floor=floor, cutouts=[K1])
    under = under.model_copy(update={"pockets": (under.pockets[0].model_copy(update={"face": "bottom"}),)})
    assert slot_of(made(under, nearest=True)).cable.end == "W1"  # 9 away, under the plate


def test_strip_pocket_and_slot_stay_in_step_until_the_slot_is_cut_loose() -> None:
    light = {"id": "O1", "outline": rectangle(150, 150, 98, 10), "height_mm": 3}
    along = made_along(plate(floor={"obstacles": [light]}, cutouts=[K1]), "O1", "pocket", 1.0, 5.0).document
    document = made(along, "K1")
    assert out_of_step(build(document)) == []
    plain = to_plain(document)
    plain["floor"]["obstacles"][0]["outline"] = rectangle(150, 120, 98, 10)
    moved, ids = in_step(from_plain(plain))
    assert ids == ["R1", "R2"]
    assert out_of_step(build(moved)) == []
    polygons = build(moved).pockets
    # It leaves the strip, now 114 … 126 high, for the cutout's corner, 140 … 160.
    assert polygons["R2"].polygon.intersects(polygons["R1"].polygon)
    assert polygons["R2"].polygon.bounds[3] > 140
    assert in_step(moved) == (moved, [])
    plain["pockets"][1]["cable"]["in_step"] = False
    loose, ids = in_step(from_plain(plain))
    assert ids == ["R1"]
    # What does not reach its pocket any more leads no cable out: still an error.
    assert [f.rule for f in run(loose, quick=True) if f.items == ("R2", "R1", "K1")] == ["cable-open"]


def test_a_slot_by_corners_is_what_a_round_tool_leaves() -> None:
    document = made(strip(cutouts=[K1]), "K1")
    plain = to_plain(document)
    plain["pockets"][1]["cable"]["points"] = [{"x_mm": 220, "y_mm": 150}, {"x_mm": 220, "y_mm": 200},
                                              {"x_mm": 250, "y_mm": 200}]  # fmt: skip
    bent, ids = in_step(from_plain(plain))
    assert ids == ["R2"]
    # Legs from 197.75 to 220, up to 200, to 250, down to 160 - 2.25; three corners of radius 4.5 cut 2 - pi / 2 each.
    length = 22.25 + 50 + 30 + 42.25 - 3 * WIDTH * (2 - 3.14159265 / 2)
    area = build(bent).pockets["R2"].polygon.area
    assert area == pytest.approx(length * WIDTH + 3.14159265 * (WIDTH / 2) ** 2, abs=0.2)
    # The second method: discs along the same corners, rounded by growing and shrinking the line's left and right.
    line = shapely.LineString([(197.75, 150), (220, 150), (220, 200), (250, 200), (250, 157.75)])
    swept = line.buffer(WIDTH / 2)
    assert build(bent).pockets["R2"].polygon.difference(swept).area < 3 * 4.5**2 * (1 - 3.14159265 / 4)


@pytest.mark.parametrize(
    ("document", "end", "why"),
    [
        (strip(), "K9", "no K9"),
        (strip(cutouts=[{"id": "K1", "outline": circle(250, 150, 4)}]), "K1", "K1 is narrower than a slot of 4.5"),
        (strip(cutouts=[{"id": "K1", "outline": rectangle(200, 150, 20, 10)}]), "K1", "reaches K1 already"),
        (strip(y=248), None, "reaches the plate's edge already"),
        (strip(floor={"openings": [{"id": "W1", "outline": circle(250, 150, 20)}]}), "W1", "under the plate"),
    ],
)
def test_why_there_is_no_slot_is_said(document: Document, end: str | None, why: str) -> None:
    with pytest.raises(SlotError, match=why):
        made(document, end)


def test_what_would_reach_too_far_is_said() -> None:
    """An outline's places are within 5 m; a strip at 4,999 mm with its clearance is not."""
    far = {"id": "O1", "outline": rectangle(4990, 150, 20, 10), "height_mm": 3}
    with pytest.raises(FollowingError, match="farther than an outline may"):
        made_along(plate(floor={"obstacles": [far]}), "O1", "pocket", 3.0)
    wide = strip(cutouts=[{"id": "K1", "outline": rectangle(4990, 150, 20, 20)}])
    wide = wide.model_copy(update={"pockets": (wide.pockets[0].model_copy(update={"outline": Rectangle(
        x_mm=-4990, y_mm=150, width_mm=20, depth_mm=20)}),)})  # fmt: skip
    with pytest.raises(SlotError, match="farther than an outline may"):
        made(wide, "K1")


WALLS = ("wall-", "outside-", "cable-", "same-", "cutter-recess")


def told(document: Document) -> set[tuple[str, tuple[str, ...]]]:
    return {(f.rule, f.items) for f in run(document, quick=True) if f.rule.startswith(WALLS)}


@pytest.mark.parametrize("end", ["K1", None])
def test_a_slot_meets_what_it_opens_into_and_keeps_clear_of_all_else(end: str | None) -> None:
    document = made(strip(y=150 if end else 230, cutouts=[K1]), end)
    assert told(document) == set()
    plain = to_plain(document)
    x, y = (220, 150) if end else (150, 245)
    for key, item, rule in (
        ("channels", channel("C1", (x - 30, y - 30), (x + 30, y + 30)), "wall-channel-pocket"),
        ("ports", {"id": "P1", "x_mm": x, "y_mm": y - 8}, "wall-port-pocket"),
        ("holes", {"id": "H1", "x_mm": x + 3, "y_mm": y - 3}, "wall-pocket-hole"),
        ("cutouts", {"id": "K2", "outline": circle(x + 9, y - 3, 12)}, "wall-cutout-pocket"),
        ("pockets", {"id": "R9", "outline": circle(x + 9, y - 3, 12), "depth_mm": 3}, "wall-pocket-pocket"),
    ):
        deep = {**item, "depth_mm": 18} if key == "channels" else item
        crossed = from_plain({**plain, key: [*plain.get(key, []), deep]})
        assert (rule, "R2") in {(f, name) for f, items in told(crossed) for name in items}, key


def test_two_cables_out_of_one_strip_are_held_against_each_other_where_there_is_material() -> None:
    """Slots side by side into one cutout: 2 mm of web are left, then 1.9; then they lie in each other."""
    strip_ = {"id": "R1", "outline": rectangle(150, 150, 100, 40), "depth_mm": 5}
    cutout = {"id": "K1", "outline": rectangle(250, 150, 20, 40)}
    for gap, level in ((2.01, []), (1.9, ["warning"]), (-0.5, ["error"])):
        slots = [
            {"id": f"R{3 + n}", "outline": {"shape": "slot", "x_mm": 220, "y_mm": 150 + sign * (WIDTH + gap) / 2,
             "length_mm": 49, "width_mm": WIDTH}, "depth_mm": 5,
             "cable": {"start": "R1", "end": "K1", "in_step": False}}
            for n, sign in enumerate((-1, 1))
        ]  # fmt: skip
        document = plate(pockets=[strip_, *slots], cutouts=[cutout])
        assert told(document) == ({("cable-wall", ("R3", "R4"))} if level else set())
        assert [f.level for f in run(document, quick=True) if f.rule == "cable-wall"] == level


def test_what_is_moved_as_a_whole_is_still_in_step() -> None:
    """A slot by corners and one over the edge, turned by 10 degrees about the origin and shifted: no other slots."""
    document = made(strip(cutouts=[K1]), "K1")
    plain = to_plain(made_slot(document, "R1", None, CABLE, ROOM)[0])
    plain["pockets"][1]["cable"]["points"] = [{"x_mm": 220, "y_mm": 190}, {"x_mm": 245, "y_mm": 180}]
    before, _ = in_step(from_plain(plain))
    c, s = math.cos(math.radians(10)), math.sin(math.radians(10))
    after = move_whole(before, lambda x, y: (c * x - s * y + 7, s * x + c * y - 3), 10.0)
    assert out_of_step(build(after)) == []
    areas = [sorted(round(area.polygon.area, 1) for area in build(one).pockets.values()) for one in (before, after)]
    assert areas[0] == pytest.approx(areas[1], abs=0.2)


def test_drags_with_cable_slots_are_answered_like_the_whole() -> None:
    """The second method: the whole plate looked over, as nothing is remembered."""
    document = strip(
        cutouts=[K1, {"id": "K2", "outline": circle(80, 210, 14)}],
        holes=[{"id": f"H{n}", "x_mm": 60 + 20 * n, "y_mm": 70} for n in range(1, 12)],
        floor={"obstacles": [{"id": "O1", "outline": rectangle(150, 150, 98, 10), "height_mm": 3}]},
    )
    for end in ("K1", "K2", None):
        document = made_slot(document, "R1", end, CABLE, ROOM)[0]
    compared, local = dragged(to_plain(document), 4, 24, 3)
    assert compared >= 6
    assert local >= 2


def test_what_the_shop_mills_is_strip_and_slot_and_nothing_beyond_the_edge() -> None:
    """The strip takes 100 by 12 by 5; the slot 4.5 wide, 14 long to the edge and 5 deep; its end lies in the strip."""
    document = made(strip(y=230))
    shapes = build(document)
    body, _ = recessed(document, shapes, design_seal(document, shapes))
    groove = [prism for prism in body.prisms if prism.what == "groove"]
    assert groove == []
    assert volume_mm3(body) == pytest.approx(300 * 200 * 20 - 100 * 12 * 5 - 14 * WIDTH * 5, rel=1e-6)
    piece = make_sheet(document, shapes, "test-piece")
    marks = [e.path for e in piece.entities if e.item == "R2" and e.path is not None]
    assert marks
    # The piece ends at the plate's edge, y = 250: nothing is scored beside it.
    assert max(y for path in marks for _, y in path.points(0.01)) == pytest.approx(250, abs=0.01)
    # The mill runs out over it by half the width (and the round end), and the drawing says so.
    above = [e for e in make_sheet(document, shapes, "body-above").entities if "R2" in e.item.split("+")]
    boxes = [e.box() for e in above]
    size = max(rear - front for _, front, _, rear in boxes)
    # Strip and slot are one pocket: from the strip's front edge, 224, to 250 + 4.5.
    assert size == pytest.approx(254.5 - 224, abs=0.01)
    assert "Open at the plate's edge, milled out over it: R2." in sentences(document, shapes, "1", "")
