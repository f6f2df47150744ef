"""The adjustment against worked examples of published texts, to the printed digits.

All five are printed, with their sources, in F. Krumm, Geodetic Network Adjustment Examples, Geodätisches Institut,
Universität Stuttgart, rev. 3.5, 2020 (approximate and adjusted coordinates, corrections, spreads). The program
is asked in the examples' own unit, metres: a network of lengths does not care.
"""

from dataclasses import dataclass

import numpy as np
import pytest

from sketcher.survey.leastsquares import precision, solve
from sketcher.survey.readings_network import Observation, build


@dataclass(frozen=True)
class Example:
    """``adjusted``: point, x, spread of x (cm), y, spread of y (cm), the spreads a posteriori, as printed."""

    source: str
    coordinates: dict
    fixed: tuple
    distances: tuple
    adjusted: tuple


GHILANI = Example(
    source="Ghilani, Adjustment Computations, 5th edition 2010, example 14.5 (p. 251) and 19.3 (p. 404)",
    coordinates={
        "Badger": (2410000.000, 390000.000),
        "Bucky": (2411820.000, 386881.222),
        "Wisconsin": (2415776.819, 391043.461),
        "Campus": (2416892.670, 387603.450),
    },
    fixed=("Badger", "Bucky"),
    distances=(
        ("Badger", "Wisconsin", 5870.302, 0.01),
        ("Badger", "Campus", 7297.588, 0.01),
        ("Wisconsin", "Campus", 3616.434, 0.01),
        ("Wisconsin", "Bucky", 5742.878, 0.01),
        ("Campus", "Bucky", 5123.760, 0.01),
    ),
    adjusted=(
        ("Wisconsin", 2415776.9044, 14.879, 391043.2945, 22.061),
        ("Campus", 2416892.6955, 10.378, 387603.2551, 27.054),
    ),
)

BENNING = Example(
    source="Benning, Statistik in Geodäsie, Geoinformation und Bauwesen, 2011, example 8-8 (pp. 285-291)",
    coordinates={
        "1": (3000.0, 2000.0),
        "2": (1000.0, 2000.0),
        "3": (3000.0, 2100.0),
        "4": (1000.0, 2100.0),
        "5": (2000.0, 1000.0),
        "6": (2000.0, 2000.0),
    },
    fixed=("1", "2", "3", "4", "5"),
    distances=(
        ("6", "1", 1000.00, 0.02),
        ("6", "2", 1000.00, 0.02),
        ("6", "3", 1005.00, 0.02),
        ("6", "4", 1005.00, 0.02),
        ("6", "5", 1000.00, 0.02),
    ),
    adjusted=(("6", 2000.0000, 0.504, 1999.9976, 0.996),),
)

STRANG_BORRE = Example(
    source="Strang and Borre, Linear Algebra, Geodesy, and GPS, 1997, examples 10.1 (p. 345) and 12.4 (p. 411)",
    coordinates={"1": (170.71, 270.71), "2": (100.00, 100.00), "3": (241.42, 100.00), "P": (170.71, 170.71)},
    fixed=("1", "2", "3"),
    distances=(("1", "P", 100.01, 0.01), ("2", "P", 100.02, 0.01), ("3", "P", 100.03, 0.01)),
    adjusted=(("P", 170.7029, 3.303, 170.7234, 2.335),),
)

WEISS = Example(
    source="Weiss et al., Detection of erroneous values in the measurement of local geodetic networks, "
    "Acta Montanistica Slovaca 15 (2010), pp. 62-70",
    coordinates={
        "1": (4506.299, 9001.123),
        "2": (2798.622, 9502.490),
        "3": (3803.973, 9894.233),
        "4": (3299.980, 9100.838),
        "5": (3697.824, 9400.545),
        "6": (3080.370, 9775.900),
        "7": (4393.265, 9842.503),
        "8": (4904.569, 9413.376),
        "9": (4251.061, 9546.226),
    },
    fixed=("1", "2", "3", "8"),
    distances=(
        ("4", "6", 709.927, 1.30384048104053),
        ("2", "6", 392.550, 0.774596669241483),
        ("2", "4", 642.409, 1.14017542509914),
        ("3", "4", 939.941, 1.09544511501033),
        ("3", "9", 566.555, 0.894427190999916),
        ("4", "9", 1050.204, 1.04880884817015),
        ("1", "4", 1210.478, 0.894427190999916),
        ("1", "5", 901.755, 0.894427190999916),
        ("5", "8", 1206.806, 1.0),
        ("4", "8", 1634.747, 1.14017542509914),
        ("4", "5", 498.107, 1.26491106406735),
        ("2", "5", 904.962, 1.18321595661992),
        ("2", "7", 1630.454, 1.04880884817015),
        ("1", "7", 849.005, 0.894427190999916),
        ("1", "9", 601.906, 1.09544511501033),
        ("8", "9", 666.874, 1.14017542509914),
        ("7", "8", 667.595, 0.774596669241483),
        ("5", "7", 823.990, 1.26491106406735),
        ("5", "6", 722.631, 1.14017542509914),
        ("6", "9", 1193.036, 0.836660026534076),
        ("5", "9", 572.094, 0.836660026534076),
        ("3", "5", 504.968, 1.30384048104053),
        ("3", "7", 591.506, 1.26491106406735),
        ("7", "9", 328.667, 0.948683298050514),
    ),
    adjusted=(
        ("4", 3299.9644, 0.752, 9100.8289, 1.121),
        ("5", 3697.8223, 0.670, 9400.5394, 1.207),
        ("6", 3080.3184, 0.924, 9775.8943, 1.193),
        ("7", 4393.2160, 0.817, 9842.5618, 0.879),
        ("9", 4251.0495, 0.728, 9546.2298, 1.016),
    ),
)


def network(example: Example):
    fixed = {(name, axis): example.coordinates[name][k] for name in example.fixed for k, axis in enumerate("xy")}
    readings = [
        Observation(f"R{k}", "distance", (one, other), value, sigma)
        for k, (one, other, value, sigma) in enumerate(example.distances)
    ]
    return build(list(example.coordinates), readings, fixed)


@pytest.mark.parametrize(
    "example", [GHILANI, BENNING, STRANG_BORRE, WEISS], ids=["Ghilani", "Benning", "Strang", "Weiss"]
)
def test_adjusted_coordinates_and_spreads(example):
    net = network(example)
    solution = solve(net, net.state(example.coordinates))
    prec = precision(net, solution.state)
    assert solution.converged
    assert prec.degrees == len(example.distances) - 2 * (len(example.coordinates) - len(example.fixed))
    unit = np.sqrt(solution.chi2 / prec.degrees)  # a posteriori standard deviation of unit weight
    for name, x, sigma_x, y, sigma_y in example.adjusted:
        at = 2 * net.index(name)
        assert solution.state[at] == pytest.approx(x, abs=0.00006)  # printed to 0.0001 m
        assert solution.state[at + 1] == pytest.approx(y, abs=0.00006)
        spread = 100 * unit * np.sqrt(np.diag(prec.covariance)[at : at + 2])
        assert spread[0] == pytest.approx(sigma_x, abs=0.0006)  # printed to 0.001 cm
        assert spread[1] == pytest.approx(sigma_y, abs=0.0006)


# GNU Gama 2.18.5 (a general-purpose network adjustment program), its published result for Ghilani's example 14.5:
# adjusted distance, share of redundancy ("qrr" of a unit weight of (10 mm)²), and the whole sum of squares.
GAMA = [
    (5870.3566835377723692, 0.162),
    (7297.5089894548536904, 0.338),
    (3616.4707509589766232, 0.073),
    (5742.8163554313059649, 0.206),
    (5123.8239267157559880, 0.221),
]


def test_adjusted_readings_and_redundancy_numbers():
    net = network(GHILANI)
    solution = solve(net, net.state(GHILANI.coordinates))
    prec = precision(net, solution.state)
    for k, (adjusted, share) in enumerate(GAMA):
        assert prec.predicted[k] == pytest.approx(adjusted, abs=2e-6)
        assert prec.redundancy[k] == pytest.approx(share, abs=0.0006)
    assert solution.chi2 * 10**2 == pytest.approx(1.8470266e04, rel=1e-6)


# The same source: the covariance of the adjusted coordinates, mm², Campus x, Campus y, Wisconsin x, Wisconsin y. The
# file is for a frame whose second axis runs the other way ("axes-xy en, angles left-handed" turned inside the program):
# covariances between an x and a y change their sign.
GAMA_COVARIANCE = [
    [1.0770936e04, -8.5051827e03, -1.8428108e03, -3.5824116e03],
    [-8.5051827e03, 7.3194399e04, 2.5899928e04, 5.0349283e04],
    [-1.8428108e03, 2.5899928e04, 2.2137984e04, 2.1430111e04],
    [-3.5824116e03, 5.0349283e04, 2.1430111e04, 4.8667980e04],
]


def test_whole_covariance():
    net = network(GHILANI)
    solution = solve(net, net.state(GHILANI.coordinates))
    prec = precision(net, solution.state)
    order = [2 * net.index(name) + axis for name in ("Campus", "Wisconsin") for axis in (0, 1)]
    turned = np.diag([1.0, -1.0, 1.0, -1.0])
    ours = turned @ prec.covariance[np.ix_(order, order)] @ turned * 1e6 * solution.chi2 / prec.degrees
    assert ours == pytest.approx(np.array(GAMA_COVARIANCE), rel=1e-5)
