"""Gaskets, cord materials, annealing and the gland table, each against its published row."""

import pytest
from shapely.geometry import Point

from sketcher.checks.softer_seal import SOFT_SHEET, pull_with_softer_n, softer_fix
from sketcher.document import from_plain, to_plain
from sketcher.document.plate import Seal
from sketcher.geometry import build
from sketcher.reference import materials, seals
from sketcher.strength.annealing import cooling_hours, hold_hours
from sketcher.strength.gasket_band import gasket_contours
from sketcher.strength.gland import design_gland
from sketcher.strength.lid import lid_report
from sketcher.strength.lid_screws import place_screws
from tests.checks.plates import channel, found, plate

C1 = channel("C1", (100, 150), (200, 150), width_mm=10)

#: Depth and width of axial glands: a seal supplier's housing table in the manner of ISO 3601-2 (read).
TABLE = {
    1.5: (1.10, 2.10), 1.78: (1.30, 2.60), 2.0: (1.50, 2.80), 2.5: (1.90, 3.40), 2.62: (2.00, 3.80),
    3.0: (2.30, 4.00), 3.53: (2.70, 5.00), 4.0: (3.10, 5.30), 5.0: (4.00, 6.70),
}  # fmt: skip


@pytest.mark.parametrize("section", TABLE)
def test_a_usual_groove_is_the_tables_own(section: float) -> None:
    gland = design_gland(section)
    assert (gland.depth_mm, gland.width_mm) == TABLE[section]


def test_other_figures_are_worked_out() -> None:
    assert design_gland(2.0, squeeze=0.22).depth_mm == pytest.approx(1.56)
    assert design_gland(2.2).depth_mm == pytest.approx(1.65)


@pytest.mark.parametrize(
    ("name", "m", "y"),
    [
        ("elastomer below 75 Shore A", 0.5, 0.0),
        ("elastomer of 75 Shore A or more", 1.0, 1.38),
        ("elastomer with cotton fabric", 1.25, 2.76),
    ],
)
def test_gasket_factors(name: str, m: float, y: float) -> None:
    """ASME VIII-1, appendix 2, table 2-5.1: m, and y of 0, 200 and 400 psi."""
    sheet = seals.gasket_material(name)
    assert (sheet.gasket_factor, sheet.seating_stress_mpa) == (m, y)
    assert sheet.line_load_n_mm(6.0, 0.05) == pytest.approx(6 * max(y, m * 0.05))


def test_a_gasket_pulls_on_its_screws() -> None:
    ring = [
        (80, 160),
        (110, 164),
        (150, 164),
        (190, 164),
        (220, 160),
        (220, 140),
        (190, 136),
        (150, 136),
        (110, 136),
        (80, 140),
    ]
    holes = [
        {"id": f"L{i}", "x_mm": x, "y_mm": y, "kind": "tapped", "use": "lid", "face": "bottom", "depth_mm": 21.8}
        for i, (x, y) in enumerate(ring)
    ]

    def heaviest(sheet: str) -> float:
        document = plate(channels=[C1], holes=holes, seal={"kind": "gasket", "gasket": sheet})
        report = lid_report(document, build(document))
        return max(load.total_n for row in report.clamped for load in row.clamping.loads)

    assert heaviest("elastomer with cotton fabric") > heaviest("elastomer of 75 Shore A or more") > 0
    assert heaviest("elastomer of 75 Shore A or more") > heaviest("elastomer below 75 Shore A")


def test_the_gaskets_contour_goes_round_the_water() -> None:
    document = plate(channels=[C1], seal={"kind": "gasket"})
    (piece,) = gasket_contours(document, build(document))
    assert len(piece.interiors) == 1
    assert not piece.contains(Point(150, 150))
    # Six millimetres wide all round: the area is the centreline's length times the width, round ends and all.
    middle = (piece.exterior.length + piece.interiors[0].length) / 2
    assert piece.area == pytest.approx(6.0 * middle, rel=0.01)
    assert gasket_contours(plate(channels=[C1]), build(plate(channels=[C1]))) == []


def test_annealing() -> None:
    """A sheet maker's annealing brief: 1 h per mm, at least 2 h; cooled over a quarter of the thickness in hours."""
    assert hold_hours(1.5) == 2.0
    assert hold_hours(20.0) == 20.0
    assert cooling_hours(20.0) == 5.0


def test_extruded_sheet_bears_half_of_cast() -> None:
    """A sheet maker's design-stress sheet: 750 psi against 1,500 psi; 1 psi is 0.0068948 MPa."""
    assert materials.material("extruded acrylic")["design_stress_mpa"].high == pytest.approx(750 * 0.0068948, rel=0.01)
    cast, extruded = (materials.material(name)["design_stress_mpa"] for name in ("cast acrylic", "extruded acrylic"))
    assert extruded.low == cast.low / 2


def test_what_is_softer_suits_the_seal() -> None:
    """A cord's push goes with its modulus (Gent): 70 Shore A against 50 by a lid that is bent with each."""
    assert softer_fix(Seal(kind="gasket")) is None
    fix = softer_fix(Seal(kind="gasket", gasket="elastomer with cotton fabric"))
    assert fix is not None
    assert [(change.pointer, change.value) for change in fix.changes] == [("/seal/gasket", SOFT_SHEET)]
    assert softer_fix(Seal(kind="bonded")) is None
    assert softer_fix(Seal(hardness_shore_a=50)) is None
    pulls = {}
    for hardness in (70, 50):
        bare = plate(channels=[C1], seal={"hardness_shore_a": hardness}, plate={"lid_thickness_mm": 8})
        holes = [{"id": f"L{k}", **hole.as_json()} for k, hole in enumerate(place_screws(bare, build(bare)))]
        document = from_plain({**to_plain(bare), "holes": holes})
        rows = lid_report(document, build(document)).clamped
        pulls[hardness] = max((load for row in rows for load in row.clamping.loads), key=lambda load: load.total_n)
    told = pull_with_softer_n(Seal(hardness_shore_a=70), pulls[70])
    assert told == pytest.approx(pulls[50].total_n, rel=0.1)


def test_a_screw_that_pulls_too_much_is_told_what_suits_its_seal() -> None:
    said = {}
    for name, seal in {
        "cord": {"hardness_shore_a": 80},
        "sheet": {"kind": "gasket", "gasket": "elastomer with cotton fabric"},
    }.items():
        bare = plate(channels=[C1], seal={**seal, "screw_pitch_mm": 80}, plate={"lid_thickness_mm": 8})
        holes = [{"id": f"L{k}", **hole.as_json()} for k, hole in enumerate(place_screws(bare, build(bare)))]
        document = from_plain({**to_plain(bare), "holes": holes})
        said[name] = [finding.remedy for finding in found(document, "screw-load")]
    assert said["cord"]
    assert all("a cord of 50 Shore A" in remedy for remedy in said["cord"])
    assert said["sheet"]
    assert all(SOFT_SHEET in remedy and "cord" not in remedy for remedy in said["sheet"])
