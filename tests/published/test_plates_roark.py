"""The flat-plate table, and the spans of odd shapes against finite elements of a general library (scikit-fem).

Roark's Formulas for Stress and Strain, table 11.4: rows of case 1a (simply supported) and 8a (fixed), ν = 0.3.
Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells: the square plate's w = 0.00406 q a⁴/D (table 8, simply
supported, M = 0.0479 q a²) and w = 0.00126 q a⁴/D (table 35, clamped, M = 0.0513 q a² at the edge).
"""

import math

import numpy as np
import pytest
import shapely
from shapely.geometry import LineString, Point, Polygon, box
from shapely.ops import unary_union

from sketcher.reference.flat_plates import plate_case
from sketcher.strength.flat_plate import Span, largest_span, pressed_plate

skfem = pytest.importorskip("skfem")
from skfem import Basis, BilinearForm, ElementTriMorley, ElementTriP2, MeshTri, condense, solve  # noqa: E402
from skfem.helpers import dd, ddot, dot, eye, grad, trace  # noqa: E402
from skfem.models.poisson import unit_load  # noqa: E402

NU = 0.3
RATIOS = [1.0, 1.2, 1.4, 1.6, 1.8, 2.0, 3.0, 4.0, 5.0, math.inf]
BETA_1A = [0.2874, 0.3762, 0.4530, 0.5172, 0.5688, 0.6102, 0.7134, 0.7410, 0.7476, 0.7500]
ALPHA_1A = [0.0444, 0.0616, 0.0770, 0.0906, 0.1017, 0.1110, 0.1335, 0.1400, 0.1417, 0.1421]
RATIOS_8A = [1.0, 1.2, 1.4, 1.6, 1.8, 2.0, math.inf]
BETA_8A = [0.3078, 0.3834, 0.4356, 0.4680, 0.4872, 0.4974, 0.5000]
ALPHA_8A = [0.0138, 0.0188, 0.0226, 0.0251, 0.0267, 0.0277, 0.0284]


@pytest.mark.parametrize(("ratio", "beta", "alpha"), list(zip(RATIOS, BETA_1A, ALPHA_1A, strict=True)))
def test_simply_supported_rows(ratio, beta, alpha):
    # b = 10 mm, t = 2 mm, q = 1 MPa, E = 1000 MPa: s = 25 beta, y = 1.25 alpha.
    found = pressed_plate(Span(10.0, 10.0 * ratio, (0, 0)), 2.0, 1000.0, 1000.0, "simply supported")
    assert found.stress_mpa == pytest.approx(25 * beta, rel=1e-6)
    assert found.deflection_mm == pytest.approx(1.25 * alpha, rel=1e-6)


@pytest.mark.parametrize(("ratio", "beta", "alpha"), list(zip(RATIOS_8A, BETA_8A, ALPHA_8A, strict=True)))
def test_fixed_rows(ratio, beta, alpha):
    found = pressed_plate(Span(10.0, 10.0 * ratio, (0, 0)), 2.0, 1000.0, 1000.0, "fixed")
    assert found.stress_mpa == pytest.approx(25 * beta, rel=1e-6)
    assert found.deflection_mm == pytest.approx(1.25 * alpha, rel=1e-6)


def _rectangle_series(ratio: float) -> tuple[float, float]:
    """β and α of the simply supported rectangle by Navier's double series (an exact solution, ν = 0.3)."""
    deflection = moment = 0.0
    for m in range(1, 80, 2):
        for n in range(1, 80, 2):
            sign = (-1) ** ((m + n) // 2 - 1)
            k = (m / ratio) ** 2 + n**2
            deflection += sign / (m * n * k**2)
            moment += sign * ((n**2) + NU * (m / ratio) ** 2) / (m * n * k**2)
    return 6 * 16 / math.pi**4 * moment, 12 * (1 - NU**2) * 16 / math.pi**6 * deflection


@pytest.mark.parametrize("ratio", [1.0, 1.1, 1.3, 1.5, 1.7, 1.9, 2.5, 3.5])
def test_between_the_rows_against_navier(ratio):
    """The straight line between rows reads at most 3 % low, never more than 1 % high."""
    beta, alpha = plate_case("simply supported").coefficients(ratio)
    exact_beta, exact_alpha = _rectangle_series(ratio)
    assert 0.97 * exact_beta <= beta <= 1.01 * exact_beta
    assert 0.97 * exact_alpha <= alpha <= 1.01 * exact_alpha


def _mesh(shape: Polygon, cells: int) -> MeshTri:
    """Squares cut in two over the shape's box, those within the shape; the shape's corners lie on the grid."""
    x0, y0, x1, y1 = shape.bounds
    step = max(x1 - x0, y1 - y0) / cells
    mesh = MeshTri.init_tensor(
        np.linspace(x0, x1, round((x1 - x0) / step) + 1), np.linspace(y0, y1, round((y1 - y0) / step) + 1)
    )
    middles = mesh.p[:, mesh.t].mean(axis=1)
    inside = shapely.contains_xy(shape, middles[0], middles[1])
    return mesh.restrict(np.flatnonzero(inside)).refined(1)


@BilinearForm
def _bending(u, v, w):
    """Kirchhoff's plate of unit rigidity."""
    return (1 - NU) * ddot(dd(u), dd(v)) + NU * ddot(eye(trace(dd(u)), 2), dd(v))


def _deflection(shape: Polygon, clamped: bool, cells: int = 24) -> float:
    """Largest w D / q by Morley's element."""
    basis = Basis(_mesh(shape, cells), ElementTriMorley(), intorder=4)
    held = basis.get_dofs().all(["u", "u_n"] if clamped else ["u"])
    x = solve(*condense(_bending.assemble(basis), unit_load.assemble(basis), D=held))
    return float(np.abs(x[basis.nodal_dofs[0]]).max())


@BilinearForm
def _laplace(u, v, w):
    return dot(grad(u), grad(v))


def _moment_sum(shape: Polygon, cells: int = 24) -> float:
    """Largest (Mx + My)/(1 + ν)/q: for straight simply supported edges it solves Poisson's equation (Marcus)."""
    basis = Basis(_mesh(shape, cells), ElementTriP2())
    x = solve(*condense(_laplace.assemble(basis), unit_load.assemble(basis), D=basis.get_dofs()))
    return float(x.max())


def test_the_finite_elements_know_the_square():
    square = box(0, 0, 1, 1)
    assert _deflection(square, clamped=False) == pytest.approx(0.00406, rel=0.01)
    assert _deflection(square, clamped=True) == pytest.approx(0.00126, rel=0.03)
    # Mx = My = 0.0479 at the middle: the sum over 1 + ν is 0.0737.
    assert _moment_sum(square) == pytest.approx(2 * 0.0479 / 1.3, rel=0.005)


SHAPES = {
    "ell": unary_union([box(0, 0, 60, 20), box(0, 0, 20, 60)]),
    "tee": unary_union([box(0, 20, 80, 40), box(30, 0, 50, 40)]),
    "cross": unary_union([box(0, 30, 80, 50), box(30, 0, 50, 80)]),
    "pool with two arms": unary_union([box(20, 0, 60, 40), box(0, 10, 80, 20)]),
    "comb": unary_union([box(0, 0, 80, 20), box(0, 0, 20, 60), box(40, 0, 60, 60)]),
    "rectangle": box(0, 0, 40, 70),
    "octagon": Polygon([(20, 0), (50, 0), (70, 20), (70, 50), (50, 70), (20, 70), (0, 50), (0, 20)]),
}


@pytest.mark.parametrize("name", SHAPES)
def test_the_span_is_on_the_safe_side_of_finite_elements(name):
    """On odd shapes the formula's deflection and moment are at least those of an independent solution."""
    shape = SHAPES[name]
    span = largest_span(shape)
    assert span is not None
    thickness, modulus = 5.0, 3000.0
    rigidity = modulus * thickness**3 / 12 / (1 - NU**2)
    q = 0.05
    found = pressed_plate(span, thickness, 1000 * q, modulus, "simply supported")
    exact = q * _deflection(shape, clamped=False, cells=16) / rigidity
    assert found.deflection_mm >= exact * 0.98
    fixed = pressed_plate(span, thickness, 1000 * q, modulus, "fixed")
    assert fixed.deflection_mm >= 0.94 * q * _deflection(shape, clamped=True, cells=16) / rigidity
    if span.ratio == math.inf:
        # In the strip's middle the moments are as 1 : ν, so M = (Mx + My)/(1 + ν) there.
        assert found.stress_mpa * thickness**2 / 6 >= q * _moment_sum(shape, cells=16) * 0.99
    # And not absurdly so.
    assert found.deflection_mm <= 9.0 * exact


@pytest.mark.parametrize("radius", [2.0, 6.0, 9.0])
def test_a_pool_with_rounded_corners_is_its_rectangle(radius):
    """A pool milled with a round cutter still fills 95 % of its rectangle."""
    pool = box(0, 0, 40, 60).buffer(-radius).buffer(radius, quad_segs=8)
    span = largest_span(pool)
    assert span is not None
    assert (span.b_mm, span.a_mm) == pytest.approx((40, 60), abs=0.01)


def test_the_span_of_a_long_channel_is_its_width():
    channel = LineString([(0, 0), (100, 0)]).buffer(6.0, quad_segs=32)
    arms = LineString([(0, 30), (100, 31)]).buffer(4.0)
    span = largest_span(unary_union([channel, arms]))
    assert span is not None
    assert span.b_mm == pytest.approx(12.0, abs=0.2)
    assert span.ratio > 9
    beyond = largest_span(unary_union([channel, arms]), beyond_mm=6.0)
    assert beyond is not None
    assert beyond.b_mm == pytest.approx(span.b_mm + 12.0, abs=0.01)


def test_the_span_of_a_disc_is_safe():
    """A round pool: exact simply supported w = (5 + ν) q r⁴/(64 (1 + ν) D), M = (3 + ν) q r²/16 (Roark, 11.2, 10a)."""
    radius, thickness, modulus, q = 30.0, 5.0, 3000.0, 0.05
    span = largest_span(Point(0, 0).buffer(radius, quad_segs=64))
    assert span is not None
    found = pressed_plate(span, thickness, 1000 * q, modulus, "simply supported")
    rigidity = modulus * thickness**3 / 12 / (1 - NU**2)
    assert found.deflection_mm >= (5 + NU) * q * radius**4 / (64 * (1 + NU) * rigidity)
    assert found.stress_mpa >= 6 * (3 + NU) * q * radius**2 / 16 / thickness**2
