"""Proposed courses: fewest bends and shortest against a search of another kind, clear of what is in the way."""

import heapq
import itertools

import numpy as np
import pytest

from sketcher.checks import run as check
from sketcher.export.sheets import export_sheet, make_sheet
from sketcher.geometry import build
from sketcher.server.app import create_app
from sketcher.tubes.planning import planned, tubes_json
from sketcher.tubes.runs import runs
from sketcher.tubes.surroundings import between_lines, bodies, to_body
from tests.tubes.places import box, device, made, plain, port

SIZE = "acrylic 13/10"
RULES = ("tube-bend-tight", "tube-straight-short", "tube-clearance", "tube-landing")


def proposed(content, **more):
    document, shapes, _ = made(content)
    return planned(document, shapes, **more)


def findings(document):
    return [f for f in check(document) if f.rule in RULES]


def test_a_tube_that_lands_plumb_is_straight():
    document, (proposal,) = proposed(
        plain(device("A", (100, 100, 200)), ports=(port("P1", 100, 100, "A.p", size=SIZE),))
    )
    assert proposal.bends == 0
    assert document.ports[0].tube.points == ()


@pytest.mark.parametrize(
    ("end", "heading", "bends"),
    [((300, 100, 200), "u-", 1), ((300, 100, 200), "w-", 2), ((300, 220, 200), "u-", 2), ((300, 220, 60), "w+", 2),
     ((300, 100, 300), "u+", 3)],
)  # fmt: skip
def test_the_fewest_bends_by_hand(end, heading, bends):
    """Into the side: one; down onto a port beside: two; in from behind: three."""
    content = plain(device("A", end, heading), ports=(port("P1", 100, 100, "A.p", size=SIZE),))
    document, (proposal,) = proposed(content)
    assert not proposal.why
    assert proposal.bends == bends
    assert not findings(document)


@pytest.mark.parametrize("kind", ["device", "obstacle"])
def test_the_empty_corner_beside_a_slanted_box_is_used(kind):
    """A wall of 120 by 20 mm turned by 45° about (200, 150): its axis passes (235, 115) at 35 √2 = 49.5 mm, its face at
    39.5; the box around it along the floor's axes would hold the port."""
    wall = {"shape": "rectangle", "x_mm": 200, "y_mm": 150, "width_mm": 120, "depth_mm": 20, "turn_deg": 45}
    ports = (port("P1", 235, 115, "A.p", size=SIZE),)
    more = {}
    hardware = [device("A", (400, 115, 200), "u-")]
    if kind == "device":
        outline = {**wall, "x_mm": 60, "y_mm": 10, "turn_deg": 0}
        at = np.array([200, 150]) - np.array([[1, -1], [1, 1]]) @ [60, 10] / np.sqrt(2)
        hardware.append({"id": "W", "kind": "other", "x_mm": at[0], "y_mm": at[1], "z_mm": 30, "turn_deg": 45,
                         "height_mm": 250, "outline": outline})  # fmt: skip
    content = plain(*hardware, ports=ports, **more)
    if kind == "obstacle":
        content["floor"]["obstacles"] = [{"id": "O1", "outline": wall, "height_mm": 280}]
    document, (proposal,) = proposed(content)
    assert not proposal.why
    assert proposal.bends == 1
    assert not findings(document)
    run = runs(document, build(document))[0]
    solid = next(b for b in bodies(document, build(document)) if b.id in ("W", "O1"))
    # To the axis of the wall 49.5 mm, to its face 10 less.
    assert to_body(run.line.points(), solid)[0] == pytest.approx(70 / np.sqrt(2) - 10, abs=0.05)


def test_slanted_boxes_are_covered_whole():
    """Random points of a turned and rolled box all lie in its tiles, whose corners stay near it."""
    content = plain(
        {"id": "W", "kind": "other", "x_mm": 200, "y_mm": 150, "z_mm": 90, "turn_deg": 33, "roll_deg": 20,
         "posture": "standing", "height_mm": 30,
         "outline": {"shape": "rectangle", "x_mm": 50, "y_mm": 20, "width_mm": 100, "depth_mm": 40}}
    )  # fmt: skip
    document, shapes, _ = made(content)
    solid = next(b for b in bodies(document, shapes) if b.id == "W")
    tiles = np.array(list(solid.tiles()))
    places = np.random.default_rng(3).uniform(solid.low, solid.high, (500, 3))
    world = solid.origin + places @ solid.axes.T
    inside = ((world[:, None] >= tiles[None, :, 0] - 1e-9) & (world[:, None] <= tiles[None, :, 1] + 1e-9)).all(axis=2)
    assert inside.any(axis=1).all()
    low, high = solid.bounds()
    assert np.prod(tiles[:, 1] - tiles[:, 0], axis=1).sum() < 4 * 100 * 40 * 30
    assert (tiles[:, 0].min(axis=0), tiles[:, 1].max(axis=0)) == (pytest.approx(low), pytest.approx(high))


def lattice(start, goal, radius, blocked, size, most):
    """Fewest bends, up to ``most``, from above the port to beside the other on a plain lattice, cell by cell."""
    axes = [np.array(a) for a in ((1, 0, 0), (-1, 0, 0), (0, 1, 0), (0, -1, 0), (0, 0, 1), (0, 0, -1))]
    queue = [(0, 0, tuple(start), 4, radius)]
    seen = {}
    count = itertools.count()
    while queue:
        bends, _, at, way, since = heapq.heappop(queue)
        if (at, way) in seen and seen[at, way] <= (bends, -since):
            continue
        seen[at, way] = (bends, -since)
        if at == tuple(goal[0]) and way == goal[1] and since >= radius:
            return bends
        ahead = tuple(np.array(at) + axes[way])
        if all(0 <= ahead[i] < size[i] for i in range(3)) and ahead not in blocked:
            heapq.heappush(queue, (bends, next(count), ahead, way, min(since + 1, 2 * radius)))
        if since >= (radius if bends == 0 else 2 * radius) and bends < most:
            for turn in range(6):
                if abs(axes[turn] @ axes[way]) == 0:
                    heapq.heappush(queue, (bends + 1, next(count), at, turn, 0))
    return None


@pytest.mark.parametrize("seed", range(6))
def test_random_boxes_in_the_way(seed):
    """A lattice search of another kind finds nothing with fewer bends; and the course is clear of every box."""
    random = np.random.default_rng(seed)
    boxes = []
    for i in range(3):
        low = random.uniform((140, 60, 60), (240, 240, 200))
        boxes.append(box(f"B{i}", tuple(low.round()), tuple((low + random.uniform(20, 60, 3)).round())))
    end = (320.0, 20.0 * random.integers(4, 15), 20.0 * random.integers(6, 13))
    content = plain(device("A", end, "u-"), *boxes, ports=(port("P1", 100, 120, "A.p", size=SIZE),))
    document, (proposal,) = proposed(content)
    shapes = build(document)
    (run,) = runs(document, shapes)
    around = [b for b in bodies(document, shapes) if b.kind == "device"]
    if not proposal.why:
        assert not findings(document)
        assert all(to_body(run.line.points(2.0), body)[0] >= 6.5 + 3 - 0.01 for body in around)
    step, size = 20.0, (23, 20, 18)
    cells = list(itertools.product(*(range(n) for n in size)))
    centres = np.array(cells) * step
    bad = np.zeros(len(cells), dtype=bool)
    for body in around:
        bad |= body.distance(centres) < 6.5 + 3 + step / 2  # between two cells it may come so much nearer
    blocked = {cells[i] for i in np.flatnonzero(bad)}
    goal = ((16, round(end[1] / step), round(end[2] / step)), 0)
    fewer = lattice((5, 6, 1), goal, 3, blocked, size, 3 if proposal.why else proposal.bends - 1)
    assert fewer is None


def test_several_tubes_keep_clear_of_each_other():
    content = plain(
        device("A", (300, 100, 200), "u-"), device("B", (300, 130, 200), "u-"), device("C", (200, 300, 150), "v-"),
        ports=(port("P1", 100, 100, "A.p", size=SIZE), port("P2", 100, 130, "B.p", size=SIZE),
               port("P3", 200, 100, "C.p", size=SIZE)),
    )  # fmt: skip
    document, proposals = proposed(content)
    assert [p.id for p in proposals] == ["P1", "P2", "P3"]
    assert not any(p.why for p in proposals)
    everyone = runs(document, build(document))
    for one, other in itertools.combinations(everyone, 2):
        assert between_lines(one.line.points(2.0), other.line.points(2.0))[0] >= 13 + 3 - 0.01
    assert not findings(document)


def test_a_tube_between_devices_and_one_alone():
    content = plain(device("A", (100, 100, 100), "w+"), device("B", (300, 250, 220), "u-"))
    content["loop"] = {"tubes": [{"id": "T1", "start": "A.p", "end": "B.p", "size": SIZE}]}
    document, (proposal,) = proposed(content, only=["T1"])
    assert not proposal.why
    assert len(document.loop.tubes[0].points) == proposal.bends == 2
    assert not findings(document)


def test_where_there_is_no_way_it_says_so_and_leaves_the_course():
    shut = box("W", (110.0, 0.0, 0.0), (115.0, 500.0, 900.0))
    cage = [box("L", (60.0, 0.0, 0.0), (65.0, 500.0, 900.0)), box("T", (0.0, 0.0, 120.0), (500.0, 500.0, 900.0))]
    content = plain(device("A", (300, 100, 80), "u-"), shut, *cage, ports=(port("P1", 90, 100, "A.p", size=SIZE),))
    document, (proposal,) = proposed(content)
    assert proposal.why
    assert document.ports[0].tube.points == ()
    glass = plain(device("A", (300, 100, 200), "u-"), ports=(port("P1", 100, 100, "A.p", size="glass 12/9"),))
    (proposal,) = proposed(glass)[1]
    assert "glass" in proposal.why


# What is made of them -----------------------------------------------------------------------------------------------


def bent():
    return proposed(
        plain(device("A", (300, 220, 200), "u-"), device("B", (300, 60, 200), "u-"),
              ports=(port("P1", 100, 100, "A.p", size=SIZE), port("P2", 100, 60, "B.p", size=SIZE)))
    )[0]  # fmt: skip


def test_the_sheet_holds_every_tube_in_every_kind_of_file():
    document = bent()
    shapes = build(document)
    sheet = make_sheet(document, shapes, "tubes")
    assert {entity.item for entity in sheet.entities} >= {"P1", "P2"}
    for kind in ("dxf", "svg", "pdf"):
        assert len(export_sheet(document, shapes, "tubes", kind)) > 1000


def test_a_tube_in_one_plane_is_drawn_bent_at_true_size():
    """The drawn centreline against the tube's own length, and its ends against the distance in space."""
    from sketcher.export.tube_sheets import CENTRE, MARKS

    document = bent()
    shapes = build(document)
    run = next(run for run in runs(document, shapes) if run.id == "P2")
    assert len(run.line.bends) == 1
    sheet = make_sheet(document, shapes, "tubes")
    (centre,) = [entity for entity in sheet.on(CENTRE) if entity.item == "P2"]
    assert centre.path.length == pytest.approx(run.cut_length_mm, abs=1e-6)
    corners = run.line.corners
    start = corners[0] - run.start.insertion_mm * run.line.first
    end = corners[-1] + run.end.insertion_mm * run.line.last
    assert np.hypot(*np.subtract(centre.path.end, centre.path.start)) == pytest.approx(np.linalg.norm(end - start))
    assert len([entity for entity in sheet.on(MARKS) if entity.item == "P2"]) == 2
    assert not [entity for entity in sheet.on(CENTRE) if entity.item == "P1"], "out of its plane: drawn straight"


def test_the_answer_over_http(tmp_path):
    from sketcher.document import to_plain

    client = create_app(tmp_path).test_client()
    content = plain(device("A", (300, 220, 200), "u-"), ports=(port("P1", 100, 100, "A.p", size=SIZE),))
    answer = client.post("/api/tubes/propose", json={"document": content})
    assert answer.status_code == 200, answer.json
    assert [row["bends"] for row in answer.json["proposals"]] == [2]
    assert len(answer.json["document"]["ports"][0]["tube"]["points"]) == 2
    again = client.post("/api/tubes", json={"document": answer.json["document"]}).json
    (tube,) = again["tubes"]
    assert tube["misses_mm"] < 1e-6
    assert [bend["number"] for bend in tube["bends"]] == [1, 2]
    assert again["stock"][0]["bought_mm"] >= tube["cut_length_mm"]
    document = bent()
    assert tubes_json(document, build(document))["tubes"][0]["line"]
    assert to_plain(document)["ports"][0]["tube"]["points"]
