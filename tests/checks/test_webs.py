"""Pockets in the body's outer face under the coolant and under the groove, worked out by hand as strips.

A strip fixed at both ends bears q b² / 12 of coolant (Roark, table 8.1, case 2d), and of two cords that run along it,
each a from its side, F a (b - a) / b at its ends and F a² (3 b - 4 a) / 24 D of sag in the middle (case 1d, twice). The
cord is 2 mm, its groove 1.5 deep and 2.8 wide, its wall 2. At no flow a pump without a curve gives 40 kPa, and cast
acrylic bears 5 MPa for years (``docs/holds.md``).
"""

import math

from sketcher.checks import run
from sketcher.checks.by_rule import with_lid_screws
from sketcher.checks.hold_seal import design_of
from sketcher.checks.scene import Scene
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.strength.lid import lift_line_load_n_mm
from tests.checks.plates import channel, plate, rectangle
from tests.checks.test_fixes import with_fix
from tests.checks.test_limits import cut


def found(document, rule, *, fixes=False):
    """As ``plates.found``, without the trials of fixes unless these are asked for."""
    return [finding for finding in run(document, fixes=fixes) if finding.rule == rule]


MEASURED = {"body_thickness_is": "measured", "lid_thickness_is": "measured"}
#: Half a channel, wall and half a groove: the groove beside a channel, and beside the neck that joins two.
BESIDE = 4 + 2 + 1.4


def ring(depth: float):
    """Channels, 8 wide, round a middle of 20 that is sealed over, a pocket of 140 by 16 from the top over that, and a
    pump of 200 kPa at no flow."""
    corners = [(66, 136), (234, 136), (234, 164), (66, 164)]
    ends = zip(corners, corners[1:] + corners[:1], strict=True)
    channels = [channel(f"C{n}", one, other) for n, (one, other) in enumerate(ends)]
    pump = {"id": "D1", "kind": "pump", "curve": [{"flow_l_min": 0, "pressure_kpa": 200}]}
    pocket = cut("R1", rectangle(150, 150, 140, 16), depth_mm=depth, must_stay_dry=False)
    return plate(plate=MEASURED, channels=channels, pockets=[pocket], devices=[pump])


def test_a_pocket_over_the_sealed_middle_is_held_to_the_coolants_pressure_alone():
    """q b² / 12 with 0.2 MPa and 16 mm is 4.27 N: on 2.26 mm it bears 5 MPa."""
    assert found(ring(20 - 2.5), "web-stress") == []
    (finding,) = found(ring(20 - 2.1), "web-stress")
    assert finding.items == ("R1",)
    assert 0.95 < finding.value / (6 * 4.267 / 2.1**2) < 1.2
    assert "under coolant;" in finding.message


def neck(left: float, size=(90, 30), *, limits=None, **of_plate):
    """Two channels far apart that share a groove, and a pocket from the top over the neck between them; what is left
    under the groove."""
    return plate(
        plate={**MEASURED, **of_plate},
        channels=[channel("C1", (64, 150), (90, 150)), channel("C2", (210, 150), (236, 150))],
        pockets=[cut("R1", rectangle(150, 150, *size), depth_mm=of_plate.get("body_thickness_mm", 20) - 1.55 - left)],
        seal={"grooves": "one"},
        limits=limits or {},
    )


def cord(document):
    scene = Scene(build(document), limits_of(document))
    return design_of(scene).gland


def moment(force: float, b: float) -> float:
    a = b / 2 - BESIDE
    return force * a * (b - a) / b


def test_the_groove_over_a_pocket_is_held_to_the_cords_push():
    document = neck(3.0)
    gland = cord(document)
    pulled = 6 * moment(gland.line_load_most_n_mm, 30)
    (finding,) = found(document, "web-stress")
    assert finding.items == ("R1",)
    # As thick everywhere as beside the groove it would bear less, as thin as under it more.
    assert pulled / 4.55**2 < finding.value < 1.1 * pulled / 3.0**2
    assert "under coolant and cord;" in finding.message
    assert found(neck(math.sqrt(1.2 * pulled / 5.0)), "web-stress") == []


def test_its_button_makes_the_pocket_just_shallow_enough():
    document = with_lid_screws(neck(3.0))
    (finding,) = [one for one in run(document) if one.rule == "web-stress"]
    after = with_fix(document, finding.fix)
    assert found(after, "web-stress") == []
    assert after.plate.body_thickness_mm == 20
    assert 3.0 < 20 - 1.55 - after.pockets[0].depth_mm < 8.0


def test_a_web_that_bears_the_cord_and_gives_way_takes_its_squeeze():
    """Acrylic of 2.8 GPa, half of it for creep, over a pocket of 90 by 110, which sags less than a strip would, by 0.4
    at the least (Roark, table 11.4, case 8a, of pressure). With 17.5 % asked, 18.4 % are there at the worst sizes."""
    asked = {"limits": {"web-squeeze": 17.5}}
    document = neck(12.0, (110, 90), body_thickness_mm=30, **asked)
    gland = cord(document)
    (finding,) = found(document, "web-squeeze", fixes=True)
    a, rigidity = 45 - BESIDE, 1400 * 12.0**3 / 12 / 0.91
    force = lift_line_load_n_mm(gland, document.seal.hardness_shore_a)  # at its least squeeze
    strip = 2 * force * a**2 * (3 * 90 - 4 * a) / 48 / rigidity
    assert 0.3 < (100 * gland.squeeze.least - finding.value) / (100 * strip / gland.cord_mm) < 1.1
    assert found(neck(16.0, (110, 90), body_thickness_mm=30, **asked), "web-squeeze") == []
    assert found(with_fix(document, finding.fix), "web-squeeze") == []


def test_pockets_beside_each_other_with_a_thin_rib_count_as_one():
    def told(rib: float):
        base = neck(3.0)
        pockets = [
            cut(f"R{n}", rectangle(150 + side * (15 + rib / 2), 150, 30, 30), depth_mm=15.45)
            for n, side in ((1, -1), (2, 1))
        ]
        channels = [one.model_dump(exclude_none=True) for one in base.channels]
        document = plate(plate=MEASURED, channels=channels, pockets=pockets, seal={"grooves": "one"})
        return sorted(finding.items for finding in found(document, "web-stress"))

    assert told(2.0) == [("R1", "R2")]
    assert told(8.0) == [("R1",), ("R2",)]


def test_what_holds_as_drawn_and_not_on_the_thinnest_sheet_is_a_warning():
    """Cast sheet of 20 may be 17.6 (ISO 7823-1: 0.4 + 0.1 t): 2.4 less over the pocket, and of the floor."""
    for is_, levels in (("nominal", ["warning"]), ("measured", [])):
        document = neck(7.5, body_thickness_is=is_)
        assert [one.level for one in found(document, "web-stress")] == levels
        # 10 wide, 16.9 deep: 3.1 of floor, or 0.7.
        floors = plate(plate={"body_thickness_is": is_},
                       channels=[channel("C1", (100, 150), (200, 150), width_mm=10, depth_mm=16.9)])  # fmt: skip
        assert [one.level for one in found(floors, "floor-stress")] == levels
