"""The adjustment against independent solutions on random networks: scipy.optimize.least_squares for places
and covariances, central differences for the derivatives, scipy.stats for the quantiles."""

import numpy as np
import pytest
from scipy.optimize import least_squares
from scipy.stats import chi2

from sketcher.survey import ellipse
from sketcher.survey.leastsquares import precision, solve
from sketcher.survey.readings_network import Observation, build


def random_network(seed):
    """Twelve points about a floor, readings of every kind in the plane, each off by its tool's spread."""
    rng = np.random.default_rng(seed)
    names = [f"P{k}" for k in range(12)]
    truth = {"P0": (0.0, 0.0), "P1": (rng.uniform(300, 500), 0.0)}
    for name in names[2:]:
        truth[name] = tuple(rng.uniform((20, 20), (480, 420)))
    place = {name: np.array(xy) for name, xy in truth.items()}
    readings = []

    def add(kind, points, value, wall=None):
        sigma = float(rng.choice([0.05, 0.3, 1.0]))
        readings.append(Observation(f"R{len(readings)}", kind, points, value + rng.normal(0, sigma), sigma, wall))

    for i in range(12):
        for j in rng.choice([k for k in range(12) if k != i], 4, replace=False):
            add("distance", (names[i], names[j]), float(np.hypot(*(place[names[i]] - place[names[j]]))))
    for name in names[2:8]:
        a, b = "P0", "P1"
        wall = place[b] - place[a]
        unit = wall / np.hypot(*wall)
        arm = place[name] - place[a]
        add("along", (name,), float(unit @ arm), (a, b))
        add("offset", (name,), float(abs(unit[0] * arm[1] - unit[1] * arm[0])), (a, b))
    for name in names[8:]:
        add("x", (name,), truth[name][0])
        add("y", (name,), truth[name][1])
    net = build(names, readings, {("P0", "x"): 0.0, ("P0", "y"): 0.0, ("P1", "y"): 0.0})
    start = {name: (x + rng.normal(0, 3), y + rng.normal(0, 3)) for name, (x, y) in truth.items()}
    return net, net.state(start)


@pytest.mark.parametrize("seed", range(25))
def test_same_places_and_covariance_as_scipy(seed):
    net, start = random_network(seed)

    def misfit(free):
        state = start.copy()
        state[net.free] = free
        plane = state.reshape(-1, 2)
        out = []
        for o in net.observations:  # the equations written out once more, apart from the program's
            p = plane[net.index(o.points[0])]
            if o.kind == "distance":
                q = plane[net.index(o.points[1])]
                value = np.sqrt((p[0] - q[0]) ** 2 + (p[1] - q[1]) ** 2)
            elif o.kind in ("x", "y"):
                value = p["xy".index(o.kind)]
            else:
                a, b = (plane[net.index(name)] for name in o.wall)
                angle = np.arctan2(b[1] - a[1], b[0] - a[0])
                along = np.cos(angle) * (p[0] - a[0]) + np.sin(angle) * (p[1] - a[1])
                across = -np.sin(angle) * (p[0] - a[0]) + np.cos(angle) * (p[1] - a[1])
                value = along if o.kind == "along" else abs(across)
            out.append((value - o.value) / o.sigma)
        return np.array(out)

    theirs = least_squares(misfit, start[net.free], method="lm", xtol=1e-14, ftol=1e-14, gtol=1e-14, max_nfev=4000)
    ours = solve(net, start)
    prec = precision(net, ours.state)
    assert ours.converged
    assert ours.chi2 == pytest.approx(2 * theirs.cost, rel=1e-8)
    assert ours.state[net.free] == pytest.approx(theirs.x, abs=1e-5)
    covariance = np.linalg.inv(theirs.jac.T @ theirs.jac)
    assert prec.covariance[np.ix_(net.free, net.free)] == pytest.approx(covariance, rel=2e-3, abs=2e-6)
    assert prec.redundancy.sum() == pytest.approx(prec.degrees)  # Ghilani, chapter 21: the shares add up
    assert prec.degrees == len(net.observations) - len(net.free)


@pytest.mark.parametrize("seed", range(5))
def test_derivatives_against_central_differences(seed):
    net, state = random_network(seed)
    _, jacobian = net.linearise(state)
    step = 1e-4
    for column in range(net.size):
        up, down = state.copy(), state.copy()
        up[column] += step
        down[column] -= step
        numeric = (net.predict(up) - net.predict(down)) / (2 * step)
        assert jacobian[:, column] == pytest.approx(numeric, abs=1e-6)


def test_scale_of_the_95_percent_ellipse():
    """Chi-square quantile of two degrees of freedom, from scipy."""
    assert pytest.approx(np.sqrt(chi2.ppf(0.95, 2)), rel=1e-12) == ellipse.SCALE_95


@pytest.mark.parametrize("seed", range(10))
def test_ellipse_axes_are_those_of_the_covariance(seed):
    """numpy's eigenvalues and vectors."""
    rng = np.random.default_rng(seed)
    root = rng.normal(size=(2, 2))
    covariance = root @ root.T
    values, vectors = np.linalg.eigh(covariance)
    ours = ellipse.of_covariance(covariance)
    assert ours.semi_major**2 == pytest.approx(values[1])
    assert ours.semi_minor**2 == pytest.approx(values[0])
    direction = np.array([np.cos(np.radians(ours.turn_deg)), np.sin(np.radians(ours.turn_deg))])
    assert abs(direction @ vectors[:, 1]) == pytest.approx(1.0)
    assert ellipse.sigma_along(covariance, (1, 0)) == pytest.approx(np.sqrt(covariance[0, 0]))
