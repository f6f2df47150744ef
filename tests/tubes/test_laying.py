"""Tubes laid by hand: the corners worked out by hand, the course against the rules for landing in line."""

from __future__ import annotations

import re

import numpy as np
import pytest
import shapely

from sketcher.document import from_plain, to_plain
from sketcher.drawing.plan import plan
from sketcher.geometry import build
from sketcher.tubes.laying import CannotLay, laid
from sketcher.tubes.runs import runs
from tests.tubes.places import corners, device, made, plain, port

PLACE = {"id": "P1", "x_mm": 100, "y_mm": 100}


def lay(content, ends, places=(), height=None):
    document = from_plain(content)
    after, id_ = laid(document, build(document), ends, places, height)
    # What is made is a document like any other, and its tubes can be worked out.
    return from_plain(to_plain(after)), id_


def points(document, id_):
    found = {**{t.id: t.points for t in document.loop.tubes}, **{p.id: p.tube.points for p in document.ports if p.tube}}
    return [(p.x_mm, p.y_mm, p.z_mm) for p in found[id_]]


def test_a_tube_from_the_plate_rises_to_the_height_of_the_port_that_it_goes_to() -> None:
    """By hand: over P1 (100, 100) at the device port's 120 mm, then level to it; both ends in line."""
    content = plain(device("D1", (200, 100, 120), "u-"), ports=(PLACE,))
    document, id_ = lay(content, ("P1", "D1.p"))
    assert (id_, points(document, id_)) == ("P1", [(100, 100, 120)])
    assert document.ports[0].serves == "D1.p"
    # From the other end it is the same tube, and a corner beside the way is kept between.
    document, id_ = lay(content, ("D1.p", "P1"), [(180.0, 140.0), (100.0, 140.0)])
    assert points(document, id_) == [(100, 100, 120), (100, 140, 120), (180, 140, 120)]
    (tube,) = runs(document, build(document))
    assert tube.line.first == pytest.approx([0, 0, 1])


def test_between_devices_each_end_leaves_level_and_an_upright_port_in_line() -> None:
    content = plain(device("D1", (100, 100, 80), "u+"), device("D2", (300, 200, 140), "u-"))
    document, id_ = lay(content, ("D1.p", "D2.p"), [(200.0, 100.0), (200.0, 200.0)])
    assert (id_, points(document, id_)) == ("T1", [(200, 100, 80), (200, 200, 140)])
    again, same = lay(to_plain(document), ("D2.p", "D1.p"), [(250.0, 200.0), (250.0, 100.0)])
    assert (same, points(again, same)) == ("T1", [(250, 100, 80), (250, 200, 140)])
    # Two ports that open upward at 50 and 90: level at 90 + bend radius + 10, a corner over each.
    content = plain(device("D1", (100, 100, 50), "w+"), device("D2", (300, 200, 90), "w+"))
    document, id_ = lay(content, ("D1.p", "D2.p"))
    (tube,) = runs(document, build(document))
    high = 90 + tube.radius_mm + 10
    assert points(document, id_) == [(100, 100, high), (300, 200, high)]
    assert [float(v) for v in (tube.line.first[2], tube.line.last[2])] == pytest.approx([1, -1])
    # A height that is given counts; a drop that lies right over its port stays straight.
    assert points(*lay(content, ("D1.p", "D2.p"), [(100.0, 100.0)], 300.0))[0] == (100, 100, 300)
    straight = plain(device("D1", (100, 100, 120), "w-"), ports=(PLACE,))
    assert points(*lay(straight, ("P1", "D1.p"))) == []


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        (("P1", "P2"), "channel"), (("P1", "D9.p"), "no port D9.p"), (("D1.p", "D1.p"), "ends where it begins"),
        (("P2", "D1.p"), "served by P1 already"), (("P1", "D2.p"), "P1 serves D1.p"),
        (("D1.p", "D2.p"), "joined by P1 already"),
    ],
)  # fmt: skip
def test_ends_that_no_tube_joins_are_said(ends, words) -> None:
    content = plain(
        device("D1", (100, 100, 120)), device("D2", (200, 100, 120)),
        ports=(port("P1", 100, 100, "D1.p"), {**PLACE, "id": "P2", "x_mm": 150}),
    )  # fmt: skip
    with pytest.raises(CannotLay, match=words):
        lay(content, ends)


def test_the_plan_shows_a_tube_as_wide_as_it_is_with_arcs_and_heights() -> None:
    """By hand: a level bend of radius 40 is one arc of radius 40; the area of what is covered is width times length."""
    course = {"id": "T1", "start": "D1.p", "end": "D2.p", "bend_radius_mm": 40, "outer_diameter_mm": 14,
              "points": corners((200, 100, 80))}  # fmt: skip
    content = plain(device("D1", (100, 100, 80), "u+"), device("D2", (200, 250, 80), "v-"), loop={"tubes": [course]})
    _document, shapes, (tube,) = made(content)
    svg = plan(shapes).svg()
    group = re.search(r'<g class="item" data-ends="100 100 80 200 250 80" data-id="T1".*?</g>', svg)
    assert group is not None
    line = re.search(r'class="tube-line" d="([^"]*)"', group[0])
    assert line is not None
    assert line[1] == "M100 100L160 100A40 40 0 0 1 200 140L200 250"
    rings = [
        shapely.Polygon([[float(v) for v in pair.split()] for pair in ring.split("L")])
        for ring in re.findall(r'class="tube" d="M([^Z"]*)Z', group[0])
    ]
    assert shapely.union_all(rings).area == pytest.approx(14 * tube.line.length, rel=2e-3)
    assert ">z 80</text>" in group[0]
    # A bend that does not lie level is drawn where its points are: by a second way, the bend turned in its own plane.
    risen = {**content, "loop": {"tubes": [{**course, "points": corners((200, 100, 160))}]}}
    _, shapes, (tube,) = made(risen)
    path = re.search(r'class="tube-line" d="([^"]*)"', plan(shapes).svg())
    assert path is not None
    assert "A" not in path[1]
    drawn = np.array([[float(v) for v in pair.split()] for pair in path[1][1:].split("L")])
    true = shapely.LineString(tube.line.points(0.5)[:, :2])
    assert max(true.distance(shapely.Point(p)) for p in drawn) < 0.05
    assert shapely.LineString(drawn).hausdorff_distance(true) < 0.1
