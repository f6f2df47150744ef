"""Elevations: extents by a second way of turning, hidden order by brute force, drags by building the document again."""

from __future__ import annotations

import itertools
import math
import re
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from sketcher.checks import run
from sketcher.checks.scene import Scene
from sketcher.document import from_plain, to_plain
from sketcher.drawing.elevations import SIDES, VIEWS, elevation
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.server import create_app
from tests.tubes.places import box, corners, device, plain, port

SVG = "{http://www.w3.org/2000/svg}"


def scene_of(content) -> Scene:
    document = from_plain(content)
    return Scene(build(document), limits_of(document))


def boxes(made, id_: str) -> np.ndarray:
    """The extent of all that is drawn of an item: left, low, right, high."""
    found = np.array([seen.box for seen in made.seen if seen.id == id_])
    return np.array([*found[:, :2].min(axis=0), *found[:, 2:].max(axis=0)])


def test_each_side_shows_a_box_where_it_is() -> None:
    """A box from (100, 50, 60) to (180, 80, 140): from the front x runs right, from the left the front is at right."""
    scene = scene_of(plain(box("D1", (100, 50, 60), (180, 80, 140))))
    expected = {
        "front": (100, 60, 180, 140, 50),
        "rear": (-180, 60, -100, 140, -80),
        "left": (-80, 60, -50, 140, 100),
        "right": (50, 60, 80, 140, -180),
    }
    for side, (*extent, near) in expected.items():
        made = elevation(scene, side)
        assert boxes(made, "D1") == pytest.approx(extent), side
        (seen,) = (seen for seen in made.seen if seen.id == "D1")
        assert seen.near == pytest.approx(near), side


@pytest.mark.parametrize("posture", ["lying", "standing"])
def test_a_turned_and_rolled_device_covers_what_its_corners_cover(posture) -> None:
    """The corners by scipy's rotations: roll about w, stand up (a quarter turn about x), turn about z."""
    turn, roll = 37.0, 25.0
    outline = {"shape": "rectangle", "x_mm": 30, "y_mm": 10, "width_mm": 60, "depth_mm": 20}
    content = plain(
        {"id": "D1", "kind": "other", "x_mm": 200, "y_mm": 150, "z_mm": 90, "turn_deg": turn, "roll_deg": roll,
         "posture": posture, "outline": outline, "height_mm": 40}
    )  # fmt: skip
    stand = Rotation.from_euler("x", 90 if posture == "standing" else 0, degrees=True)
    turned = Rotation.from_euler("z", turn, degrees=True) * stand * Rotation.from_euler("z", roll, degrees=True)
    places = np.array([200, 150, 90]) + turned.apply(list(itertools.product((0, 60), (0, 20), (0, 40))))
    scene = scene_of(content)
    for side in SIDES:
        view = VIEWS[side]
        across = view.sign * places[:, view.axis]
        expected = [across.min(), places[:, 2].min(), across.max(), places[:, 2].max()]
        assert boxes(elevation(scene, side), "D1") == pytest.approx(expected, abs=1e-6)


def test_the_nearer_of_two_boxes_is_drawn_over_the_farther() -> None:
    """Random boxes that are apart: where two cover each other in the picture, they are apart along the look."""
    random = np.random.default_rng(7)
    placed: list[tuple[np.ndarray, np.ndarray]] = []
    while len(placed) < 14:
        low = random.uniform((20, 20, 30), (420, 320, 200))
        high = low + random.uniform(20, 70, 3)
        if all((low > b).any() or (high < a).any() for a, b in placed):
            placed.append((low, high))
    scene = scene_of(plain(*(box(f"D{n}", tuple(a), tuple(b)) for n, (a, b) in enumerate(placed))))
    compared = 0
    for side in SIDES:
        view = VIEWS[side]
        order = [seen.id for seen in elevation(scene, side).seen]
        for (m, one), (n, other) in itertools.combinations(enumerate(placed), 2):
            if all(one[0][k] < other[1][k] and other[0][k] < one[1][k] for k in (view.axis, 2)):
                depth = 1 - view.axis
                nearer = m if (one[0][depth] < other[0][depth]) == (view.ahead > 0) else n
                farther = n if nearer == m else m
                assert order.index(f"D{farther}") < order.index(f"D{nearer}"), side
                compared += 1
    assert compared > 20


def test_a_tube_passes_behind_one_thing_and_before_another() -> None:
    """It runs at y 200 over the wall at the left, then forward, then at y 50: one piece behind D3, one before D4."""
    content = plain(
        device("D1", (100, 200, 150)), device("D2", (400, 50, 150)),
        box("D3", (150, 100, 60), (180, 140, 140)), box("D4", (330, 100, 60), (360, 140, 140)),
        loop={"tubes": [{"id": "T1", "start": "D1.p", "end": "D2.p", "bend_radius_mm": 15,
                         "points": corners((100, 200, 100), (250, 200, 100), (250, 50, 100), (400, 50, 100))}]},
    )  # fmt: skip
    made = elevation(scene_of(content), "front")
    order = [(seen.id, seen.box) for seen in made.seen]
    at = {id_: next(n for n, (name, _) in enumerate(order) if name == id_) for id_ in ("D3", "D4")}
    left = [n for n, (id_, b) in enumerate(order) if id_ == "T1" and b[0] < 150 and b[2] > 180]
    right = [n for n, (id_, b) in enumerate(order) if id_ == "T1" and b[0] < 330 and b[2] > 360]
    assert left
    assert max(left) < at["D3"]
    assert right
    assert min(right) > at["D4"]
    handles = [g.get("data-index") for g in ET.fromstring(made.svg()).iter(f"{SVG}g")
               if g.get("data-kind") == "tube-corner"]  # fmt: skip
    assert handles == ["0", "1", "2", "3"]


def _held() -> dict:
    """A card in a slot of a standing, turned riser, with a block on it: three frames, one in another."""
    outline = {"shape": "rectangle", "x_mm": 20, "y_mm": 15, "width_mm": 40, "depth_mm": 30}
    return plain(
        {"id": "D1", "kind": "block", "held_by": "B2", "x_mm": 10, "y_mm": 12, "z_mm": 3, "turn_deg": 20,
         "outline": outline, "height_mm": 12, "ports": [{"id": "p", "u_mm": 5, "v_mm": 6, "w_mm": 12}]},
        device("D2", (120, 120, 180)),
        boards=[
            {"id": "B1", "role": "riser", "posture": "standing", "turn_deg": 30, "x_mm": 200, "y_mm": 200, "z_mm": 40,
             "width_mm": 120, "depth_mm": 50, "slots": 2, "first_slot_mm": 20},
            {"id": "B2", "role": "card", "held_by": "B1", "slot": 1, "posture": "standing", "x_mm": 4, "z_mm": 6,
             "width_mm": 100, "depth_mm": 60},
        ],
        ports=(port("P1", 120, 120, "D2.p", points=corners((120, 120, 90))),),
    )  # fmt: skip


def _set(content, pointer: str, more: float) -> None:
    *path, last = pointer.strip("/").split("/")
    at = content
    for step in path:
        at = at[int(step)] if isinstance(at, list) else at[step]
    at[last] = at.get(last, 0.0) + more


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("way", ["up", "right"])
def test_a_drag_moves_what_is_dragged_by_just_that(side, way) -> None:
    """Every item that can be dragged, moved by 7 mm and built again: its picture shifts by 7 mm, one way only."""
    content = to_plain(from_plain(_held()))
    before = elevation(scene_of(content), side).as_json()
    shift = np.array([0, 7, 0, 7] if way == "up" else [7, 0, 7, 0])
    for id_ in ("B1", "B2", "D1", "D2", "plate"):
        changes = before["moves"][id_][way]
        if id_ == "plate" and way == "right":
            assert changes == []
            continue
        changed = to_plain(from_plain(content))
        for change in changes:
            _set(changed, change["pointer"], 7 * change["per_mm"])
        after = elevation(scene_of(changed), side).as_json()
        kinds = {item["kind"] for item in before["items"] if item["id"] == id_}
        name = {"D2": "D2.p"}.get(id_, id_)  # a device without an outline is seen by its port
        assert kinds or name != id_
        for one, other in zip(*(
            sorted([item["box"] for item in made["items"] if item["id"] == name]) for made in (before, after)
        ), strict=True):  # fmt: skip
            assert np.array(other) - np.array(one) == pytest.approx(shift, abs=2e-3)
    corner = before["moves"]["P1/0"][way]
    assert [change["pointer"].rsplit("/", 1)[1] for change in corner] == (
        ["z_mm"] if way == "up" else ["xy"[VIEWS[side].axis] + "_mm"]
    )


def test_a_devices_port_shows_the_way_its_tube_leaves_it() -> None:
    """Turned a quarter left, u runs to the rear and v to the left: ports with a stated way, off a side, and inside."""
    content = plain({**box("D1", (200, 150, 60), (280, 180, 140)), "turn_deg": 90})
    ways = {"up": (0, 0, 1), "u": (0, 1, 0), "v": (-1, 0, 0)}
    middle = {"u_mm": 40, "v_mm": 15}
    content["devices"][0]["ports"] = [
        {"id": "up", **middle, "w_mm": 80},  # on the top: off it
        {"id": "u", **middle, "w_mm": 40, "heading": "u+"},
        {"id": "v", **middle, "w_mm": 20, "heading": "v+"},
        {"id": "inside", **middle, "w_mm": 30},
    ]
    scene = scene_of(content)
    for side in SIDES:
        view = VIEWS[side]
        tree = ET.fromstring(elevation(scene, side).svg())
        drawn = {
            g.get("data-id"): [[float(line.get(k)) for k in ("x1", "y1", "x2", "y2")] for line in g.iter(f"{SVG}line")]
            for g in tree.iter(f"{SVG}g")
            if g.get("data-kind") == "device-port"
        }
        assert drawn["D1.inside"] == []
        for name, way in ways.items():
            lines = drawn[f"D1.{name}"]
            if way[1 - view.axis]:  # along the look: a cross when it leads away, a dot when it comes nearer
                reach = max(abs(line[0] - line[2]) for line in lines)
                assert (reach > 1) == (view.ahead * way[1 - view.axis] > 0), (side, name)
                continue
            x, y, to_x, to_y = lines[0]
            pointing = np.array([to_x - x, to_y - y]) / math.hypot(to_x - x, to_y - y)
            assert pointing == pytest.approx((view.sign * way[view.axis], way[2])), (side, name)


def test_collisions_are_marked_where_they_are_and_in_what_collides() -> None:
    """D1 stands on z 60 to 140, D2 on 130 to 170 over part of it: they meet at 130 to 140."""
    content = plain(box("D1", (100, 50, 60), (180, 110, 140)), box("D2", (150, 70, 130), (220, 130, 170)))
    scene = scene_of(content)
    findings = [finding.as_json() for finding in run(scene.document, quick=True)]
    tree = ET.fromstring(elevation(scene, "front", findings).svg())
    (mark,) = [g for g in tree.iter(f"{SVG}g") if g.get("data-rule") == "bodies-overlap"]
    x, z = (float(v) for v in re.findall(r"-?[\d.]+", mark[0].get("d"))[:2])
    assert 150 <= x <= 180
    assert 130 <= z <= 140
    levels = {g.get("data-id"): g.get("data-level") for g in tree.iter(f"{SVG}g") if g.get("data-kind") == "device"}
    assert levels == {"D1": "error", "D2": "error"}
    bare = elevation(scene, "front").svg(alone=False)
    assert "data-level" not in bare
    assert "data-rule" not in bare


def test_everything_drawn_lies_within_the_stated_box() -> None:
    """The box is the picture: with it a pixel becomes mm."""
    made = elevation(scene_of(_held()), "left")
    left, low, right, high = made.box
    tree = ET.fromstring(made.svg())
    assert [float(v) for v in tree.get("viewBox").split()] == pytest.approx([left, -high, right - left, high - low])
    for path in tree.iter(f"{SVG}path"):
        if path.get("class", "").startswith("hatch"):
            continue
        places = re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d"))
        assert all(left <= float(x) <= right and low <= float(z) <= high for x, z in places), path.get("d")


def test_elevations_are_given_when_asked_for(tmp_path: Path) -> None:
    client = create_app(tmp_path).test_client()
    document = client.post("/api/plates", json={"example": "riser-bench"}).get_json()["document"]
    asked = {"document": document, "quick": True, "sides": ["front", "right"]}
    found = client.post("/api/look", json={**asked, "want": ["findings", "elevations"]}).get_json()["elevations"]
    assert list(found) == ["front", "right"]
    assert (found["right"]["axis"], found["right"]["sign"]) == ("y", 1)
    assert {item["kind"] for item in found["front"]["items"]} >= {"board", "device", "plate", "port", "drop"}
    assert "elevations" not in client.post("/api/look", json={**asked, "want": ["drawing"]}).get_json()
    refused = client.post("/api/look", json={**asked, "want": [], "sides": ["above"]})
    assert refused.status_code == 400
