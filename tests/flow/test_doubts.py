"""Curves in the wrong unit are doubted; curves as they come are not."""

from __future__ import annotations

import pytest

from sketcher.document import from_plain
from sketcher.flow.doubts import doubtful_curves, equivalent_bore_mm
from tests.flow.loops import BLOCK, PUMP, RADIATOR, device, solved, usual

#: The same figures as another unit would have them: factors of flow and pressure (NIST SP 811, appendix B).
UNITS = {
    "l/h": (60.0, 1.0),
    "US gal/min": (0.2642, 1.0),
    "mbar": (1.0, 10.0),
    "bar": (1.0, 0.01),
    "Pa": (1.0, 1000.0),
    "US gal/min and psi": (0.2642, 0.14504),
}


def doubted(kind, curve, factors=(1.0, 1.0)):
    points = [(q * factors[0], p * factors[1]) for q, p in curve]
    plain = usual()
    plain["devices"].append(device("X", kind, points))
    return [f for f in doubtful_curves(from_plain(plain)) if f.items == ("X",)]


def test_a_hole_loses_one_velocity_head():
    """By hand: 6 l/min through 10 mm: v = 1e-4 / 7.854e-5 = 1.273 m/s; ρ v² / 2 = 0.811 kPa."""
    assert equivalent_bore_mm(6.0, 0.8106) == pytest.approx(10.0, rel=1e-3)


@pytest.mark.parametrize(("kind", "curve"), [("pump", PUMP), ("block", BLOCK), ("radiator", RADIATOR)])
def test_usual_curves_are_believed(kind, curve):
    assert doubted(kind, curve) == []


@pytest.mark.parametrize("unit", [unit for unit in UNITS if "and" not in unit])
def test_a_block_in_another_unit_is_doubted(unit):
    (finding,) = doubted("block", BLOCK, UNITS[unit])
    assert "another unit" in finding.message
    assert "mbar" in finding.remedy


@pytest.mark.parametrize("unit", ["l/h", "mbar", "bar", "Pa", "US gal/min and psi"])
def test_a_pump_in_another_unit_is_doubted(unit):
    assert doubted("pump", PUMP, UNITS[unit])


def test_meters_of_water_are_doubted():
    """1 m of water at 4 °C is 9.806 kPa (NIST SP 811)."""
    assert doubted("pump", PUMP, (1.0, 1 / 9.80638))


def test_it_stands_among_the_findings_and_the_limit_is_the_users():
    plain = usual()
    plain["devices"][1]["curve"] = [{"flow_l_min": q, "pressure_kpa": p / 100} for q, p in BLOCK]
    assert [f.items for f in solved(plain).findings if f.rule == "curve-doubted"] == [("ONE",)]
    plain["limits"] = {"curve-doubted": 100.0}
    assert not [f for f in solved(plain).findings if f.rule == "curve-doubted"]
