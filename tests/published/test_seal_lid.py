"""The lid between its screws against finite elements (scikit-fem, Morley's plate element).

A rectangular lid held only at points (the screws) is pushed up by a line load along the groove and by pressure within
it. The formulas of ``strength.clamping`` must give at least the lift that the elements give at the groove.
"""

import numpy as np
import pytest
from shapely.geometry import box

from sketcher.strength.clamping import Lid, clamp

skfem = pytest.importorskip("skfem")
from skfem import Basis, BilinearForm, ElementTriMorley, LinearForm, MeshTri, condense, solve  # noqa: E402
from skfem.helpers import dd, ddot, eye, trace  # noqa: E402

NU = 0.3


@BilinearForm
def _bending(u, v, w):
    return (1 - NU) * ddot(dd(u), dd(v)) + NU * ddot(eye(trace(dd(u)), 2), dd(v))


def _lift(width, depth, groove, screws, lid, line_load, pressure_mpa):
    """Largest lift on the groove's rectangle (x0, y0, x1, y1); lid from 0, 0 to width, depth; 2 mm grid."""
    mesh = MeshTri.init_tensor(np.linspace(0, width, width // 2 + 1), np.linspace(0, depth, depth // 2 + 1))
    basis = Basis(mesh, ElementTriMorley(), intorder=4)
    x0, y0, x1, y1 = groove

    @LinearForm
    def push(v, w):
        inside = (w.x[0] > x0) & (w.x[0] < x1) & (w.x[1] > y0) & (w.x[1] < y1)
        return pressure_mpa * inside * v

    load = push.assemble(basis)
    p = mesh.p
    on_groove = []
    for node in range(p.shape[1]):
        x, y = p[:, node]
        if (x in (x0, x1) and y0 <= y <= y1) or (y in (y0, y1) and x0 <= x <= x1):
            on_groove.append(node)
            load[basis.nodal_dofs[0][node]] += line_load * 2.0  # each node stands for one step of the grid
    held = [basis.nodal_dofs[0][int(np.argmin(np.hypot(p[0] - x, p[1] - y)))] for x, y in screws]
    matrix = lid.rigidity * _bending.assemble(basis)
    w = solve(*condense(matrix, load, D=np.array(held)))
    return float(w[basis.nodal_dofs[0][on_groove]].max())


CASES = {
    # lid, groove rectangle, screws in x and y on the lines 8 mm outside the groove
    "square pool, four a side": ((100, 100), (20, 20, 80, 80), 4),
    "long channel": ((160, 60), (20, 20, 140, 40), 4),
    "wide pitch": ((120, 80), (20, 20, 100, 60), 3),
}


@pytest.mark.parametrize("pressure_kpa", [0.0, 50.0])
@pytest.mark.parametrize("name", CASES)
def test_lift_at_the_groove_is_on_the_safe_side(name, pressure_kpa):
    (width, depth), groove, number = CASES[name]
    x0, y0, x1, y1 = groove
    xs = np.round(np.linspace(x0 - 8, x1 + 8, number) / 2) * 2
    ys = np.round(np.linspace(y0 - 8, y1 + 8, 2 if name == "long channel" else number) / 2) * 2
    points = {(x, y) for x in xs for y in (ys[0], ys[-1])} | {(x, y) for y in ys for x in (xs[0], xs[-1])}
    screws = {f"S{i}": point for i, point in enumerate(sorted(points))}
    lid = Lid(6.0, 2800.0)
    result = clamp(box(*groove), screws, lid=lid, line_load_n_mm=1.0, pressure_kpa=pressure_kpa, reach_mm=20.0)
    formula = max(gap.opening_mm for gap in result.gaps)
    elements = _lift(width, depth, groove, list(screws.values()), lid, 1.0, pressure_kpa / 1000)
    assert elements > 0
    assert formula >= elements
    assert formula <= 4.0 * elements
    # Equilibrium: the screws carry all of it.
    total = 1.0 * box(*groove).length + pressure_kpa / 1000 * box(*groove).area
    assert sum(load.total_n for load in result.loads) == pytest.approx(total)
