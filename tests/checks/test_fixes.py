"""Fix buttons: for channels and ports, in step again, never untried; one finding for one cause; what a drag leaves."""

import math

import pytest

from sketcher.checks import run
from sketcher.checks.fixes import keys, with_fix
from sketcher.document import Document, from_plain, to_plain
from sketcher.document.begin import begin
from sketcher.findings import Finding
from sketcher.geometry import build
from sketcher.geometry.following import made_along
from sketcher.server.look_routes import answer
from tests.checks.plates import channel, circle, plate, rectangle
from tests.checks.test_every_pair import KEYS, Maker

G14 = 13.157 / 2  # ISO 228-1


def port(id_: str, x: float, y: float, **more):
    return {"id": id_, "x_mm": x, "y_mm": y, **more}


#: A seal that asks for less room than the wall itself, which is told then: 1 mm of cord between walls of 0.5.
SLIM = {"cord_mm": 1.0, "wall_mm": 0.5}


def fixed(document: Document, rule: str) -> tuple[Document, Finding]:
    """The document with the fix of a rule's only finding; the fix holds when the rules run again from nothing."""
    (finding,) = [f for f in run(document) if f.rule == rule]
    assert finding.fix is not None, finding
    after = with_fix(document, finding.fix)
    found = keys(run(after, fixes=False))
    assert not found & keys([finding])
    assert found <= keys(run(document, fixes=False))
    return after, finding


def test_a_leg_of_a_channel_is_moved_from_what_is_locked() -> None:
    """A leg along y = 150, 8 wide, and a locked cutout whose side is at y = 156: 2 mm of wall where 4 are asked."""
    document = plate(
        ports=[port("P1", 100, 100), port("P2", 260, 100)],
        channels=[channel("C1", (100, 150), (260, 150), start="P1", end="P2", bend_radius_mm=12)],
        cutouts=[{"id": "K1", "outline": rectangle(180, 166, 20, 20), "locked": True}],
        seal=SLIM,
    )
    after, finding = fixed(document, "wall-channel-cutout")
    assert "a leg of C1" in finding.fix.label
    assert [point.y_mm for point in after.channels[0].points] == pytest.approx([148, 148], abs=0.02)


def test_a_straight_channel_between_ports_is_made_narrower() -> None:
    """Nothing of it can be moved: 8 wide with 3.5 mm of wall becomes 7 wide with 4."""
    document = plate(
        ports=[port("P1", 100, 150), port("P2", 260, 150)],
        channels=[channel("C1", start="P1", end="P2")],
        cutouts=[{"id": "K1", "outline": rectangle(180, 150 + 4 + 3.5 + 10, 20, 20), "locked": True}],
        seal=SLIM,
    )
    after, _ = fixed(document, "wall-channel-cutout")
    assert after.channels[0].width_mm == pytest.approx(6.99, abs=0.011)


def test_a_pocket_over_a_channel_is_made_less_deep_for_every_thickness_of_the_sheet() -> None:
    document = plate(
        plate={"body_thickness_is": "measured", "lid_thickness_is": "measured"},
        channels=[channel("C1", (100, 150), (200, 150))],
        pockets=[{"id": "R1", "outline": rectangle(150, 150, 20, 20), "depth_mm": 10}],
    )
    after, _ = fixed(document, "wall-channel-pocket")
    # Of 20 mm of body a wall of 3 is left, and 0.1 that a measured sheet may be thinner.
    wall = 20 - after.channels[0].depth_mm - after.pockets[0].depth_mm
    assert 3.1 - 1e-6 <= wall <= 3.13


def test_two_ports_are_moved_apart_and_one_that_has_a_tube_stays() -> None:
    document = plate(
        ports=[port("P1", 100, 150, fitting_diameter_mm=14, serves="D1.a"),
               port("P2", 100 + 2 * G14 + 2, 150, fitting_diameter_mm=14)],
        limits={"spanner-room": 0, "fittings-touch": 0},
        devices=[{"id": "D1", "kind": "block", "x_mm": 100, "y_mm": 150, "z_mm": 200, "ports": [{"id": "a"}]}],
    )  # fmt: skip
    after, _ = fixed(document, "wall-port-port")
    assert after.ports[0].x_mm == 100
    assert math.dist((after.ports[1].x_mm, after.ports[1].y_mm), (100, 150)) >= 2 * G14 + 3


def test_an_edge_port_is_set_where_its_bore_meets_its_channel_wide_enough() -> None:
    document = plate(
        ports=[port("P1", 50, 150, face="edge")], channels=[channel("C1", (200, 150), start="P1", depth_mm=4)]
    )
    after, _ = fixed(document, "bore-meets")
    # The channel's top is 6 + depth above the underside, the bore's lowest line its axis less 5.9.
    level = after.ports[0].level_mm or 6 + 10
    assert 6 + after.channels[0].depth_mm - (level - 5.9) >= 0.5


def test_an_edge_ports_bore_is_drilled_deeper_where_its_channel_takes_the_thread() -> None:
    """The bore ends 6.1 mm in; a channel of 8 across it begins 2.1 mm from the edge, in the thread."""
    document = plate(
        limits={"wall-channel-edge": 0.1, "port-opening": 0},
        ports=[port("P1", 50, 150, face="edge", thread_depth_mm=6, bore_depth_mm=6.1)],
        channels=[channel("C1", (56.1, 220), start="P1", depth_mm=10)],
    )
    (finding,) = [f for f in run(document) if f.rule == "thread-reaches-channel"]
    assert finding.level == "error"
    assert finding.value == pytest.approx(2.1 - 6, abs=0.02)


def test_a_plate_over_a_notch_of_the_floor_is_cut_back_to_it() -> None:
    """A notch of 120 by 60 in the floor's left rear corner; the plate keeps the 50 mm that it lies inside elsewhere, at
    most 10. By hand: 300 × 200 less what lies left of 130 and behind 230, with the notch's corner gone round at 10."""
    corners = [(0, 0), (400, 0), (400, 300), (120, 300), (120, 240), (0, 240)]
    floor = {"outline": {"shape": "polygon", "vertices": [{"x_mm": x, "y_mm": y} for x, y in corners]}}
    after, finding = fixed(plate(floor=floor), "plate-outside-floor")
    assert finding.fix.label == "Cut the plate back to 10 mm inside the floor"
    cut = (130 - 50) * (250 - 230) - (10 * 10 - math.pi * 10**2 / 4)
    assert build(after).plate_polygon.area == pytest.approx(300 * 200 - cut, abs=1)
    far = plate(plate={"outline": rectangle(900, 150, 300, 200)})
    assert [f.fix for f in run(far) if f.rule == "plate-outside-floor"] == [None]


def test_what_follows_is_brought_into_step_by_a_button() -> None:
    """A round device has moved 7 mm: its cutout comes along, still round and 1 mm larger all round."""
    device = {"id": "D1", "kind": "other", "x_mm": 150, "y_mm": 150, "z_mm": 30, "height_mm": 20,
              "outline": circle(0, 0, 30)}  # fmt: skip
    made = made_along(plate(devices=[device]), "D1", "cutout", 1.0).document
    plain = to_plain(made)
    plain["devices"][0]["x_mm"] = 157
    after, finding = fixed(from_plain(plain), "follows-out-of-step")
    assert finding.fix.label == f"Move {made.cutouts[0].id} along with {made.cutouts[0].follows.item}"
    area = build(after).cutouts[made.cutouts[0].id].polygon
    assert (area.centroid.x, area.centroid.y) == pytest.approx((157, 150), abs=0.01)
    assert area.area == pytest.approx(math.pi * 16**2, rel=1e-3)
    locked = {**plain, "cutouts": [{**plain["cutouts"][0], "locked": True}]}
    assert [f.fix for f in run(from_plain(locked)) if f.rule == "follows-out-of-step"] == [None]


def test_a_quick_answer_offers_nothing_untried_and_says_what_it_left() -> None:
    document = plate(
        holes=[{"id": "H1", "x_mm": 100, "y_mm": 150}, {"id": "H2", "x_mm": 106, "y_mm": 150}],
        ports=[port("P1", 60, 60, serves="D1.a")],
        channels=[channel("C1", (200, 60), start="P1")],
        devices=[{"id": "D1", "kind": "block", "x_mm": 60, "y_mm": 60, "z_mm": 90, "ports": [{"id": "a"}]}],
    )
    quick = answer(document, ["findings"], quick=True)
    assert quick["findings"]
    assert all(row["fix"] is None for row in quick["findings"])
    assert any(row["fix"] for row in answer(document, ["findings"])["findings"])
    unseen = {row["question"]: " ".join(row["not_looked_at"]) for row in quick["questions"]}
    assert "chance" in unseen["fits"]
    assert "groove" in unseen["holds"]
    whole = answer(document, ["findings"])
    assert not any("drag ends" in line for row in whole["questions"] for line in row["not_looked_at"])


def test_a_drag_tells_the_errors_of_the_flow_too() -> None:
    """Nothing drives the loop: it is solved for the drag's own answer, and what it finds is told at once."""
    devices = [{"id": "D1", "kind": "block", "x_mm": 60, "y_mm": 60, "z_mm": 90, "ports": [{"id": "a"}, {"id": "b"}]}]
    document = plate(ports=[port("P1", 60, 60, serves="D1.a"), port("P2", 160, 60, serves="D1.b")], devices=devices,
                     channels=[channel("C1", start="P1", end="P2")])  # fmt: skip
    told = answer(document, ["findings"], quick=True)
    assert "no-pump" in {row["rule"] for row in told["findings"]}
    assert not any("Flow, pressure" in line for row in told["questions"] for line in row["not_looked_at"])


def test_two_ports_on_one_spot_are_one_slip() -> None:
    found = [f.rule for f in run(plate(ports=[port("P1", 150, 150), port("P2", 150, 150)]), quick=True)
             if set(f.items) == {"P1", "P2"} and f.level == "error" and f.rule != "port-unreached"]  # fmt: skip
    assert found == ["same-place"]


def test_screws_by_rule_follow_the_fix_before_it_is_offered() -> None:
    """With screws by rule a wall is put right; the screws are placed again for the trial."""
    plain = to_plain(begin(300, 200, 20))
    plain["ports"] = [port("P1", 60, 60), port("P2", 240, 60)]
    plain["channels"] = [channel("C1", start="P1", end="P2", width_mm=10)]
    plain["cutouts"] = [{"id": "K1", "outline": rectangle(150, 60 + 5 + 6.5 + 10, 20, 20)}]
    # A soft cord, so that the same thread holds before and after.
    plain["seal"] = {"screws_by_rule": True, "hardness_shore_a": 50}
    document = from_plain(plain)
    offered = [f for f in run(document) if f.fix]
    assert any("K1" in f.items for f in offered)
    for finding in offered:
        after = keys(run(with_fix(document, finding.fix), fixes=False))
        assert not after & keys([finding])


@pytest.mark.parametrize("seed", range(4))
def test_whatever_is_offered_on_a_crowded_plate_holds_when_the_rules_run_again(seed: int) -> None:
    """Eight items of any kind anywhere: much overlaps, and no button may end one finding with another."""
    maker, parts = Maker(seed), {key: [] for key in KEYS.values()}
    for k in range(8):
        kind = maker.rng.choice(list(KEYS))
        item, _ = maker.make(kind, f"X{k}", maker.rng.uniform(70, 330), maker.rng.uniform(70, 230))
        parts[KEYS[kind]].append(item)
    document = plate(plate={"lid_face": "bottom" if seed % 2 == 0 else "top"}, **parts)
    before = keys(run(document, fixes=False))
    offered = [finding for finding in run(document) if finding.fix]
    assert offered
    for finding in offered:
        after = keys(run(with_fix(document, finding.fix), fixes=False))
        assert not after & keys([finding])
        assert after <= before
