"""The shipped coolant table against the libraries and the published check values behind it."""

import itertools

import CoolProp.CoolProp as CP
import iapws
import pytest

from sketcher.flow.coolant import coolant

PROPERTIES = {"D": "density", "C": "heat_capacity", "V": "viscosity", "L": "conductivity"}


@pytest.mark.parametrize(("kind", "name"), [("ethylene-glycol", "MEG"), ("propylene-glycol", "MPG")])
@pytest.mark.parametrize("strength", [2.5, 7.0, 10.0, 18.3, 20.0, 33.0, 41.1, 50.0, 58.0, 60.0])
def test_mixtures_against_coolprop(kind, name, strength):
    """CoolProp's INCOMP::MEG and INCOMP::MPG are Melinder's (2010) correlations: within 0.5 %, between rows too."""
    ours = coolant(kind, strength)
    freezing = CP.PropsSI("T_FREEZE", "T", 300, "P", 1e5, f"INCOMP::{name}[{strength / 100}]") - 273.15
    assert ours.freezing_c == pytest.approx(freezing, abs=0.1)
    for celsius in (-31.3, -17.0, -8.2, -0.7, 3.3, 11.0, 26.4, 35.0, 47.7, 62.1, 88.8, 99.0):
        if celsius < ours.coldest_c:
            continue
        for key, prop in PROPERTIES.items():
            theirs = CP.PropsSI(key, "T", celsius + 273.15, "P", 3e5, f"INCOMP::{name}[{strength / 100}]")
            assert getattr(ours, prop)(celsius) == pytest.approx(theirs, rel=0.005), (prop, celsius)


def test_water_against_iapws():
    """Water within 0.1 % of the package iapws, which is independent of CoolProp."""
    water = coolant("water")
    for celsius in (1.0, 7.3, 20.0, 25.0, 35.0, 42.2, 60.0, 78.9, 95.0):
        theirs = iapws.IAPWS97(T=celsius + 273.15, P=0.101325)
        assert water.density(celsius) == pytest.approx(theirs.rho, rel=1e-3)
        assert water.heat_capacity(celsius) == pytest.approx(theirs.cp * 1000, rel=1e-3)
        assert water.viscosity(celsius) == pytest.approx(theirs.mu, rel=1e-3)
        assert water.conductivity(celsius) == pytest.approx(theirs.k, rel=1e-3)


def test_water_against_check_values():
    """IAPWS R12-08, table 4: viscosity at 298.15 K and 998 kg/m³ is 889.735100 µPa s, at 373.15 K and 1000 kg/m³
    307.883622 µPa s. At one atmosphere the densities are 997.05 and 958.37; the viscosity of the liquid changes by
    less than 0.2 % for 1 kg/m³ at 25 °C (at 99.9 °C the density is too far off to compare).
    """
    assert coolant("water").viscosity(25.0) == pytest.approx(889.735100e-6, rel=3e-3)


@pytest.mark.parametrize(
    ("volume_percent", "fahrenheit", "pounds_per_cubic_foot"),
    [(10, 60, 63.42), (20, 100, 63.93), (30, 120, 64.52), (40, 100, 65.73), (50, 60, 67.20), (50, 150, 65.53)],
)
def test_ethylene_glycol_density_against_a_printed_table(volume_percent, fahrenheit, pounds_per_cubic_foot):
    """ASHRAE Handbook of Fundamentals, chapter on physical properties of secondary coolants, density of aqueous
    ethylene glycol by volume (inhibited, which makes it a little heavier: hence 1 %). Volume to mass with the pure
    densities at 20 °C, 1113 and 998 kg/m³ (from memory).
    """
    glycol, water = volume_percent * 1113.0, (100 - volume_percent) * 998.2
    ours = coolant("ethylene-glycol", 100 * glycol / (glycol + water))
    assert ours.density((fahrenheit - 32) / 1.8) == pytest.approx(pounds_per_cubic_foot * 16.018463, rel=0.01)


def test_stronger_than_the_table_takes_the_strongest_and_says_so():
    found = coolant("propylene-glycol", 85.0)
    assert (found.strength_percent, found.asked_percent) == (60.0, 85.0)


def test_no_glycol_is_water():
    assert coolant("propylene-glycol", 0.0).name == "water"


def test_viscosity_falls_with_temperature_everywhere():
    for kind, strength in itertools.product(("ethylene-glycol", "propylene-glycol"), (1.0, 22.2, 60.0)):
        found = coolant(kind, strength)
        assert (found.log_viscosity[1:] < found.log_viscosity[:-1]).all()
