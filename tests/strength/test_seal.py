"""The seal of whole documents: the demo holds at 0.5 bar, and what cannot be says why."""

import json
from pathlib import Path

import pytest
import shapely
from shapely.geometry import Polygon
from shapely.ops import unary_union

from sketcher.checks import run
from sketcher.document import Document, DocumentError, from_plain, read, to_plain
from sketcher.geometry import build
from sketcher.strength.lid import dead_head_kpa, lid_report
from sketcher.strength.lid_screws import place_screws
from sketcher.strength.needs import room_needed
from sketcher.strength.seal import SealDesign, design_seal
from tests.checks.plates import channel, circle, found, plate, rectangle

DEMO = Path(__file__).parents[2] / "examples" / "riser-bench.json"


def seal_of(document: Document) -> SealDesign:
    return design_seal(document, build(document))


def with_screws(document: Document) -> Document:
    """The document with the proposed lid screws in it."""
    shapes = build(document)
    plain = to_plain(document)
    holes = [{"id": f"L{i}", **hole.as_json()} for i, hole in enumerate(place_screws(document, shapes))]
    plain["holes"] = [*plain.get("holes", []), *holes]
    return from_plain(plain)


ONE = {"channels": [channel("C1", (100, 150), (200, 150), width_mm=10)]}


def test_the_demo_gets_groove_screws_and_a_lid_that_hold_at_its_test_pressure() -> None:
    document = with_screws(read(DEMO))
    assert document.loop.test_pressure_kpa >= 50.0
    shapes = build(document)
    seal = design_seal(document, shapes)
    assert seal.problem == ""
    assert seal.missing == ()
    assert seal.cord_length_mm > 0
    report = lid_report(document, shapes, seal)
    for row in report.bent:
        assert row.stress_mpa < row.load.design_stress_mpa
    assert {row.load.name for row in report.clamped} == {"dead-head", "test"}
    for row in report.clamped:
        assert row.squeeze_left is not None
        assert row.squeeze_left >= 0.10
        assert max(load.total_n for load in row.clamping.loads) <= row.thread_n
        assert row.clamping.unheld == ()
    rules = {"seal-", "screw-", "lid-", "floor-"}
    bad = [f for f in run(document) if any(f.rule.startswith(rule) for rule in rules)]
    assert [finding.message for finding in bad] == []
    walls = [f for f in run(document) if f.rule.startswith("wall-") and any(i.startswith("L") for i in f.items)]
    assert [finding.message for finding in walls] == []


def test_the_grooves_keep_their_walls_on_the_demo() -> None:
    document = with_screws(read(DEMO))
    shapes = build(document)
    seal = design_seal(document, shapes)
    assert seal.gland is not None
    half = seal.gland.width_mm / 2
    lines = [shapely.LineString([*loop.path.points(0.005), loop.path.start]) for loop in seal.loops]
    band = unary_union([line.buffer(half) for line in lines])
    for item in shapes.channels.values():
        assert band.distance(item.polygon) >= document.seal.wall_mm - 0.03
    dry = [*shapes.cutouts.values()]
    for area in dry:
        assert band.distance(area.polygon) >= document.seal.wall_mm - 0.03
    for hole in shapes.holes.values():
        assert band.distance(hole.prism.polygon) >= document.seal.wall_mm - 0.03
    assert shapes.plate_polygon.exterior.distance(band) >= document.seal.wall_mm - 0.03
    # The cord's length is the centrelines' length.
    assert seal.cord_length_mm == pytest.approx(sum(line.length for line in lines), rel=1e-3)


def test_as_json_is_plain() -> None:
    document = with_screws(read(DEMO))
    shapes = build(document)
    seal = design_seal(document, shapes)
    assert json.loads(json.dumps(seal.as_json(), allow_nan=False))["kind"] == "cord"
    assert json.loads(json.dumps(lid_report(document, shapes, seal).as_json(), allow_nan=False))["material_known"]


def test_the_groove_lies_in_the_body_at_the_lid() -> None:
    below = seal_of(plate(**ONE))
    assert (below.low_mm, below.high_mm) == (6.0, 7.5)
    above = seal_of(plate(plate={"lid_face": "top"}, **ONE))
    assert (above.low_mm, above.high_mm) == (18.5, 20.0)


@pytest.mark.parametrize("kind", ["gasket", "bonded"])
def test_without_a_cord_there_is_no_groove_but_the_land_is_asked_for(kind: str) -> None:
    document = plate(seal={"kind": kind}, **ONE)
    seal = seal_of(document)
    assert seal.gland is None
    assert seal.low_mm == seal.high_mm == 6.0
    assert seal.missing == ()
    assert len(seal.plan.sealed.geoms) == 1
    assert bool(place_screws(document, build(document))) == (kind == "gasket")
    narrow = plate(seal={"kind": kind}, holes=[{"id": "H1", "x_mm": 150, "y_mm": 159}], **ONE)
    (wall,) = seal_of(narrow).missing
    assert wall.items == ("C1", "H1")


@pytest.mark.parametrize(
    ("parts", "words"),
    [
        ({"seal": {"cord_mm": 40}, **ONE}, "too thin"),
        ({"seal": {"cord_mm": 6}, "plate": {"body_thickness_mm": 5}}, "too thin"),
        ({"seal": {"cord_mm": 1, "cord_tolerance_mm": 0.6}, **ONE}, "tolerance"),
        ({"seal": {"cord_mm": 0.4, "squeeze_percent": 40, "depth_tolerance_mm": 0.2}, **ONE}, "tolerance"),
    ],
)
def test_an_impossible_seal_is_a_finding_and_not_a_crash(parts: dict, words: str) -> None:
    (finding,) = found(plate(**parts), "seal-impossible")
    assert words in finding.message
    assert finding.level == "error"


@pytest.mark.parametrize(
    "seal", [{"squeeze_percent": -5}, {"squeeze_percent": 0}, {"cord_mm": 0}, {"cord_mm": -2}, {"fill_percent": 0},
             {"screw_pitch_mm": 0}, {"hardness_shore_a": 5}]
)  # fmt: skip
def test_a_document_with_a_senseless_seal_does_not_open(seal: dict) -> None:
    with pytest.raises(DocumentError, match="seal"):
        plate(seal=seal)


def test_a_lid_of_no_thickness_does_not_open() -> None:
    with pytest.raises(DocumentError, match="lid_thickness_mm"):
        plate(plate={"lid_thickness_mm": 0})


def test_an_unknown_screw_proposes_nothing_and_does_not_crash() -> None:
    document = plate(seal={"screw": "M99"}, **ONE)
    assert place_screws(document, build(document)) == []
    assert run(document)


def test_screws_are_filled_up_or_placed_anew() -> None:
    document = with_screws(plate(**ONE))
    shapes = build(document)
    assert place_screws(document, shapes) == []
    anew = place_screws(document, shapes, keep=False)
    assert len(anew) == sum(hole.use == "lid" for hole in document.holes)
    plain = to_plain(document)
    plain["holes"] = plain["holes"][:-1]
    fewer = from_plain(plain)
    assert len(place_screws(fewer, build(fewer))) == 1


def test_pumps_in_series_add_up_and_speed_counts_squared() -> None:
    pump = {"kind": "pump", "curve": [{"flow_l_min": 0, "pressure_kpa": 40}, {"flow_l_min": 10, "pressure_kpa": 0}]}
    one = {"id": "PU1", **pump}
    two = {"id": "PU2", **pump, "speed_percent": 50}
    assert dead_head_kpa(plate(devices=[one])) == 40
    assert dead_head_kpa(plate(devices=[one, two])) == 40 + 10
    assert dead_head_kpa(plate(devices=[one, two], loop={"pumps": "parallel"})) == 40


def test_nothing_to_seal() -> None:
    seal = seal_of(plate())
    assert seal.loops == ()
    assert seal.cord_length_mm == 0
    assert place_screws(plate(), build(plate())) == []


def test_a_port_through_the_lid_is_water_that_the_groove_goes_around() -> None:
    document = plate(
        ports=[{"id": "P1", "x_mm": 150, "y_mm": 150, "face": "bottom", "thread_depth_mm": 6}],
        channels=[channel("C1", (220, 150), start="P1", width_mm=8)],
    )
    seal = seal_of(document)
    (part,) = seal.plan.sealed.geoms
    thread = build(document).ports["P1"].thread_prism.polygon
    assert part.contains(thread)
    assert part.exterior.distance(thread) >= 2.0 + 1.4 - 0.01


def test_a_cutout_inside_a_loop_of_channels_stays_dry() -> None:
    corners = [(120, 110), (280, 110), (280, 190), (120, 190), (120, 110)]
    document = plate(
        channels=[channel("C1", *corners, width_mm=8, bend_radius_mm=10)],
        cutouts=[{"id": "K1", "outline": circle(200, 150, 30)}],
        pockets=[{"id": "R1", "outline": rectangle(200, 128, 20, 8), "depth_mm": 3}],
    )
    seal = seal_of(document)
    assert [loop.island for loop in seal.loops] == [False, True]
    assert seal.missing == ()


def test_the_room_that_groove_and_screws_need_is_told_as_regions() -> None:
    """A slot of 10 by 110: its groove with both walls reaches 2 + 2.8 + 2 mm, M4 heads of 7 with 1 mm of room for the
    key at 2 + 2.8 + 2 + 2.25 reach 4 mm farther (ISO 4762, ISO 273); areas by Steiner's formula."""
    document = plate(**ONE)
    shapes = build(document)
    needs = room_needed(document, design_seal(document, shapes)).as_json()
    water = shapes.channels["C1"].polygon
    for name, away in (("groove", 6.8), ("screws", 6.8 + 2.25 + 4)):
        (ring,) = needs[name]
        assert Polygon(ring).area == pytest.approx(water.buffer(away).area, rel=0.01)
    bonded = plate(**ONE, seal={"kind": "bonded"})
    assert room_needed(bonded, design_seal(bonded, build(bonded))).as_json()["screws"] == []
