"""A lid by another method: Morley's triangle (scikit-fem), contact by springs at the nodes, loads by numerical places.

Nothing here is shared with ``sketcher.strength.plate_bending``: other elements (non-conforming quadratic triangles in
place of B-splines), a mesh that follows the outline in place of cut cells, another way to the contact.
"""

from __future__ import annotations

import numpy as np
import shapely
from scipy.sparse import diags
from scipy.sparse.linalg import splu
from skfem import Basis, BilinearForm, ElementTriMorley, LinearForm, MeshTri
from skfem.helpers import dd, ddot, eye, trace

NU = 0.3


@BilinearForm
def _bending(u, v, w):
    return (1 - NU) * ddot(dd(u), dd(v)) + NU * ddot(eye(trace(dd(u)), 2), dd(v))


class Reference:
    """The lid at D = 1: lift along the rings, largest principal moments at the elements' middles, pulls on screws."""

    def __init__(self, lid, sealed, screws, pressure_mpa, cord_n_mm, bedding_mm4, groove_mm, step=2.5):
        x0, y0, x1, y1 = lid.bounds
        mesh = MeshTri.init_tensor(
            np.linspace(x0, x1, round((x1 - x0) / step) + 1), np.linspace(y0, y1, round((y1 - y0) / step) + 1)
        )
        inside = shapely.contains_xy(lid, *mesh.p[:, mesh.t].mean(axis=1))
        used, t = np.unique(mesh.t[:, inside], return_inverse=True)
        t = np.ascontiguousarray(t.reshape(3, -1))
        p = np.array(mesh.p[:, used], order="C")
        # A node is moved to each screw, so that it is held where it stands.
        rim, held = MeshTri(p, t).boundary_nodes(), []
        for x, y in screws:
            node = int(np.argmin(np.hypot(p[0] - x, p[1] - y)))
            if node not in rim:
                p[:, node] = x, y
            held.append(node)
        mesh = MeshTri(p, t)
        basis = Basis(mesh, ElementTriMorley(), intorder=4)
        nodal = basis.nodal_dofs[0]

        @LinearForm
        def push(v, w):
            return pressure_mpa * shapely.contains_xy(sealed, w.x[0], w.x[1]) * v

        load = push.assemble(basis)
        places, share = [], []
        for ring in shapely.get_rings(shapely.get_parts(sealed)):
            count = int(ring.length / 0.5)
            at = shapely.get_coordinates(
                shapely.line_interpolate_point(ring, np.arange(count) / count, normalized=True)
            )
            places.append(at)
            share.append(np.full(count, ring.length / count))
        places, share = np.vstack(places), np.concatenate(share)
        probe = basis.probes(places.T)
        load = load + cord_n_mm * (probe.T @ share)
        stiff = _bending.assemble(basis)
        # Bedding at the nodes, each with a third of its triangles' area, outside the groove.
        corner = mesh.p[:, mesh.t]
        u, v = corner[:, 1] - corner[:, 0], corner[:, 2] - corner[:, 0]
        third = np.abs(u[0] * v[1] - u[1] * v[0]) / 6
        area = np.bincount(mesh.t.ravel(), np.tile(third, 3), minlength=mesh.p.shape[1])
        dry = ~shapely.contains_xy(sealed.buffer(groove_mm / 2), *mesh.p)
        free = np.setdiff1d(np.arange(basis.N), nodal[held])
        touching = np.zeros(len(dry), dtype=bool)
        for _ in range(30):
            springs = np.zeros(basis.N)
            springs[nodal] = bedding_mm4 * area * touching
            matrix = (stiff + diags(springs)).tocsc()
            w = np.zeros(basis.N)
            w[free] = splu(matrix[free][:, free].tocsc(), permc_spec="MMD_AT_PLUS_A").solve(load[free])
            below = dry & (w[nodal] < 0)
            if (below == touching).all():
                break
            touching = below
        self.lift = probe @ w
        self.pull = (load - matrix @ w)[nodal[held]]
        field = basis.interpolate(w)
        hess = field.hess.mean(axis=-1)
        xx, yy, xy = hess[0, 0], hess[1, 1], hess[0, 1]
        mx, my, mxy = xx + NU * yy, yy + NU * xx, (1 - NU) * xy
        self.moment = np.abs((mx + my) / 2) + np.hypot((mx - my) / 2, mxy)
        self.middles = mesh.p[:, mesh.t].mean(axis=1).T
