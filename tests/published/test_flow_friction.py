"""Friction against the exact laminar series, Colebrook's equation, the Moody chart and the library ``fluids``."""

import math

import numpy as np
import pytest
from fluids.friction import Colebrook

from sketcher.flow.friction import (
    ENTRY_ROUND,
    LAMINAR_TO,
    ROUND,
    Entries,
    Walls,
    colebrook,
    entry_constants,
    laminar_rectangular,
)


def exact_laminar(aspect: float) -> float:
    """f·Re from the series solution of Poisson's equation in a rectangle (Shah and London 1978, eq. 334 to 341).

    With sides 1 and a: mean velocity = (Δp/μL) a²/12 (1 - (192 a/π⁵) Σ tanh(nπ/2a)/n⁵, n odd), D = 2a/(1+a),
    f·Re = 2 D² Δp/(μ L u).
    """
    total = sum(math.tanh(n * math.pi / (2 * aspect)) / n**5 for n in range(1, 400, 2))
    mean = aspect**2 / 12 * (1 - 192 * aspect / math.pi**5 * total)
    return 2 * (2 * aspect / (1 + aspect)) ** 2 / mean


@pytest.mark.parametrize("aspect", [1.0, 0.9, 0.7, 0.5, 1 / 3, 0.25, 0.2, 0.125, 0.1, 0.05, 0.025])
def test_laminar_polynomial_against_the_exact_series(aspect):
    assert laminar_rectangular(aspect) == pytest.approx(exact_laminar(aspect), rel=1e-3)


@pytest.mark.parametrize(("aspect", "printed"), [(1.0, 56.908), (0.5, 62.192), (0.25, 72.931), (0.125, 82.339)])
def test_laminar_against_printed_values(aspect, printed):
    """Shah and London 1978, table of f·Re of rectangular ducts (four times Fanning's)."""
    assert exact_laminar(aspect) == pytest.approx(printed, rel=1e-4)
    assert laminar_rectangular(aspect) == pytest.approx(printed, rel=1e-3)


def test_colebrook_against_fluids():
    """``fluids`` solves Colebrook's equation in closed form with Lambert's W: to 1e-6 and better."""
    for re in np.geomspace(2500, 1e8, 40):
        for rough in (0.0, 1e-6, 1e-4, 1e-3, 0.01, 0.05):
            assert colebrook(re, rough)[0] == pytest.approx(Colebrook(float(re), rough), rel=1e-9)


def test_colebrook_satisfies_its_own_equation():
    re, rough = np.meshgrid(np.geomspace(4000, 1e8, 30), [0.0, 1e-5, 1e-3, 0.05])
    root = colebrook(re, rough)[0] ** -0.5
    residual = root + 2 * np.log10(rough / 3.7 + 2.51 / re * root)
    assert np.abs(residual).max() < 1e-12


@pytest.mark.parametrize(
    ("reynolds", "rough", "printed"),
    [(4000, 0.0, 0.0399), (1e4, 0.0, 0.0309), (1e5, 0.0, 0.0180), (1e5, 0.001, 0.0222), (1e5, 0.01, 0.0385),
     (1e6, 0.0001, 0.0134), (1e7, 0.01, 0.0379)],
)  # fmt: skip
def test_points_of_the_moody_chart(reynolds, rough, printed):
    """Moody, Trans. ASME 66, 1944: values read from the chart, as tabulated in White, Fluid Mechanics, and from
    memory; a chart is read to about 2 %.
    """
    walls = Walls(np.array([ROUND]), np.array([rough]))
    assert walls.factor(np.array([float(reynolds)]))[0][0] == pytest.approx(printed, rel=0.02)


def test_slopes_are_those_of_the_curves():
    """Against a central difference, which knows nothing of the formulas."""
    re = np.concatenate([np.geomspace(1, 2290, 9), np.linspace(2320, 3980, 9), np.geomspace(4010, 1e6, 9)])
    for aspect, rough in ((1.0, 0.0), (0.1, 1e-3), (0.4, 0.02)):
        n = len(re)
        walls = Walls(np.full(n, laminar_rectangular(aspect)), np.full(n, rough))
        k, c = entry_constants(aspect)
        entries = Entries(np.full(n, 15.0), walls.laminar, np.full(n, k), np.full(n, c))
        h = 1e-6
        up, down = walls.factor(re * math.exp(h))[0], walls.factor(re * math.exp(-h))[0]
        assert walls.factor(re)[1] == pytest.approx((np.log(up) - np.log(down)) / (2 * h), rel=1e-5)
        up, down = entries.developing(re * math.exp(h))[0], entries.developing(re * math.exp(-h))[0]
        assert entries.developing(re)[1] == pytest.approx((up - down) / (2 * h), rel=1e-4, abs=1e-8)


@pytest.mark.parametrize("aspect", [0.02, 0.1, 0.3, 0.7, 1.0])
@pytest.mark.parametrize("rough", [0.0, 1e-4, 1e-3, 0.01, 0.05])
def test_between_laminar_and_turbulent_the_pressure_rises_without_a_step(aspect, rough):
    re = np.geomspace(1000, 10_000, 4000)
    walls = Walls(np.full(len(re), laminar_rectangular(aspect)), np.full(len(re), rough))
    f, slope = walls.factor(re)
    pressure = f * re**2
    assert (np.diff(pressure) > 0).all()
    assert np.diff(np.log(pressure)).max() < 0.01
    assert np.abs(np.diff(slope)).max() < 0.05, "a kink"
    assert f[0] == pytest.approx(laminar_rectangular(aspect) / 1000)


def lundgren(aspect: float) -> float:
    """K(∞) = 2 mean((u/U)³ - (u/U)²) over the exact profile (Lundgren, Sparrow and Starr, J. Basic Eng. 86, 1964)."""
    y, z = np.meshgrid(np.linspace(-0.5, 0.5, 301), np.linspace(-aspect / 2, aspect / 2, 301))
    u = np.zeros_like(y)
    for n in range(1, 120, 2):
        k = n * math.pi / aspect
        # cosh(kz') over cosh(k/2), without overflow
        ratio = np.exp(k * (np.abs(y) - 0.5)) * (1 + np.exp(-2 * k * np.abs(y))) / (1 + math.exp(-k))
        u += (-1) ** ((n - 1) // 2) / n**3 * (1 - ratio) * np.cos(k * z)
    mean = lambda values: np.trapezoid(np.trapezoid(values, axis=0), axis=0) / (300 * 300)  # noqa: E731
    u /= mean(u)
    return 2 * float(mean(u**3 - u**2))


@pytest.mark.parametrize("aspect", [1.0, 0.5, 0.2])
def test_entry_constant_against_the_exact_profile(aspect):
    """Shah's constants were fitted to measured and computed drops; the integral is an upper bound about 8 % above."""
    exact = lundgren(aspect)
    assert 0.88 * exact < entry_constants(aspect)[0] <= exact


def test_lundgrens_integral_itself():
    """Parallel plates: 0.6857, as the profile 1.5 (1 - y²) gives by hand; a flat rectangle comes near."""
    assert lundgren(0.01) == pytest.approx(0.6857, rel=0.03)


def test_entry_ends_at_shahs_limits():
    """A short way is Blasius's 3.44/√x whatever its shape; a long one adds K(∞) and nothing more."""
    k, c = (np.array([value]) for value in ENTRY_ROUND)
    one = np.array([1.0])
    short = Entries(one * 1e-3, one * ROUND, k, c)
    x = 1e-3 / 1000
    assert short.developing(one * 1000)[0][0] == pytest.approx(4 * x * (3.44 / math.sqrt(x) - 16), rel=0.03)
    long = Entries(one * 1e5, one * ROUND, k, c)
    assert long.developing(one * 100)[0][0] == pytest.approx(1.25, rel=0.01)


@pytest.mark.parametrize("ratio", [0.5, 2.0, 10.0, 80.0])
def test_developing_pressure_never_falls(ratio):
    re = np.geomspace(1, 1e5, 3000)
    n = len(re)
    k, c = entry_constants(0.8)
    entries = Entries(np.full(n, ratio), np.full(n, laminar_rectangular(0.8)), np.full(n, k), np.full(n, c))
    heads, _ = entries.developing(re)
    assert (heads > 0).all()
    assert (np.diff(heads * re**2) >= -1e-9 * (heads * re**2)[1:]).all()
    assert np.abs(np.diff(heads[re < LAMINAR_TO])).max() < 0.1
