"""The body against the lid: what a floor under a channel carries of the body's moment, by Morley's triangles.

A free plate of two thicknesses with an even moment along two opposite edges (scikit-fem); statics say that a channel
from edge to edge carries all of it, and that a body that is whole carries it evenly.
"""

import math

import numpy as np
import pytest
from skfem import Basis, BilinearForm, ElementTriMorley, FacetBasis, LinearForm, MeshTri, condense, solve
from skfem.helpers import dd, ddot, dot, eye, grad, trace

from sketcher.checks import run
from sketcher.checks.by_rule import with_lid_screws
from sketcher.checks.hold_seal import report_of
from sketcher.checks.scene import Scene
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.strength.body_bending import WIDE_SPARE, share_of_moment
from tests.checks.plates import channel, found, plate, rectangle
from tests.checks.test_limits import cut

NU, WIDE = 0.3, 160.0


def carried(length: float, left: float, full: float, width: float = 8.0) -> float:
    """The moment across the floor at the middle of a channel along y, over that at the plate's edges."""
    x = np.concatenate([np.linspace(-WIDE / 2, -width / 2, 17), np.linspace(-width / 2, width / 2, 5)[1:-1],
                        np.linspace(width / 2, WIDE / 2, 17)])  # fmt: skip
    mesh = MeshTri.init_tensor(x, np.linspace(-WIDE / 2, WIDE / 2, 41))
    basis = Basis(mesh, ElementTriMorley(), intorder=4)
    at = mesh.p[:, mesh.t].mean(axis=1)
    floor = (abs(at[0]) < width / 2) & (abs(at[1]) < length / 2)
    thick = np.where(floor, left, full)

    @BilinearForm
    def bending(u, v, w):
        return w.d * ((1 - NU) * ddot(dd(u), dd(v)) + NU * ddot(eye(trace(dd(u)), 2), dd(v)))

    @LinearForm
    def turned(v, w):
        return dot(grad(v), w.n)

    stiff = bending.assemble(basis, d=np.repeat(thick[:, None] ** 3, basis.X.shape[-1], axis=1))
    ends = mesh.facets_satisfying(lambda p: abs(abs(p[0]) - WIDE / 2) < 1e-9)
    load = turned.assemble(FacetBasis(mesh, ElementTriMorley(), facets=ends, intorder=4))
    corners = [int(np.argmin(np.hypot(mesh.p[0] - a, mesh.p[1] - b)))
               for a, b in ((-80, -80), (80, -80), (-80, 80))]  # fmt: skip
    w = solve(*condense(stiff, load, D=basis.nodal_dofs[0][corners]))
    hess = basis.interpolate(w).hess.mean(axis=-1)
    across = thick**3 * abs(hess[0, 0] + NU * hess[1, 1])
    return float(across[floor & (abs(at[1]) < 8)].mean())


@pytest.mark.parametrize(
    ("length", "left", "full"), [(40, 4, 12), (80, 4, 12), (80, 4, 20), (120, 6, 20), (136, 4, 12)]
)
def test_the_share_of_a_floor_is_not_below_the_elements(length, left, full):
    share = share_of_moment(8.0, length, WIDE, left_mm=left, full_mm=full)
    assert 0.97 < share / carried(length, left, full) < 1.8


@pytest.mark.parametrize(("size", "left", "full"), [((40, 40), 3, 12), ((20, 80), 5, 20), ((40, 140), 5, 12)])
def test_the_share_of_a_wide_pocket_is_not_below_the_elements(size, left, full):
    """Pockets as wide as this bear up to a third more than the formula of a cut says."""
    share = WIDE_SPARE * share_of_moment(size[0], size[1], WIDE, left_mm=left, full_mm=full)
    assert 0.97 < share / carried(size[1], left, full, size[0]) < 1.8


def test_a_pocket_from_edge_to_edge_is_held_to_what_bends_the_lid():
    """It carries all of the lid's moment: by hand the lid's stress times (lid / left)² times the notch, at most, and at
    least a tenth of that, since the greatest moment need not be over it."""
    body, left = 12.0, 5.0
    slot = cut("R1", rectangle(150, 150, 24, 200), depth_mm=body - left, face="top", must_stay_dry=False)
    document = with_lid_screws(
        plate(
            plate={"body_thickness_mm": body, "lid_thickness_mm": 10, "body_thickness_is": "measured",
                   "lid_thickness_is": "measured"},
            channels=[channel("C1", (80, 150), (260, 150), depth_mm=3)], pockets=[slot],
            seal={"screws_by_rule": True, "hardness_shore_a": 78},
        )
    )  # fmt: skip
    report = report_of(Scene(build(document), limits_of(document)))
    rows = {row.load.name: row for row in report.folded if row.pocket}
    assert set(rows) == {"dead-head", "test"}
    notch = 1 + min(1.1 * math.sqrt((body - left) / 0.2), 0.55 * math.sqrt(left / 0.2))
    for bent in report.bent:
        if bent.what == "lid":
            most = bent.stress_mpa * (10 / left) ** 2 * notch
            assert 0.1 * most < rows[bent.load.name].stress_mpa <= most * 1.001
    (finding,) = [one for one in run(document, fixes=False) if one.rule == "body-stress" and one.items == ("R1",)]
    assert "over the pocket R1" in finding.message


def test_a_channel_from_edge_to_edge_carries_all_and_a_whole_body_what_there_is():
    assert carried(WIDE, 4, 12) == pytest.approx(1.0, rel=0.02)
    assert share_of_moment(8.0, WIDE, WIDE, left_mm=4, full_mm=12) == 1.0
    assert carried(80, 12, 12) == pytest.approx(1.0, rel=0.02)


def thin(depth: float, body: float, **seal):
    return with_lid_screws(
        plate(
            plate={"body_thickness_mm": body, "lid_thickness_mm": 10, "body_thickness_is": "measured",
                   "lid_thickness_is": "measured"},
            channels=[channel("C1", (80, 150), (260, 150), depth_mm=depth)],
            seal={"screws_by_rule": True, "hardness_shore_a": 50, **seal},
        )
    )  # fmt: skip


def test_a_floor_thinner_than_the_lid_is_held_to_what_bends_the_lid():
    """At most the lid's own moment, on the floor: its stress times (lid / floor)², and the coolant's; at least a fifth
    of that, since the greatest moment need not be over the channel."""
    document = thin(9.0, 12.0, hardness_shore_a=78)
    report = report_of(Scene(build(document), limits_of(document)))
    rows = {row.load.name: row for row in report.folded}
    assert set(rows) == {"dead-head", "test"}
    for bent in report.bent:
        if bent.what == "lid":
            most = bent.stress_mpa * (10 / 3) ** 2
            assert 0.2 * most < rows[bent.load.name].stress_mpa < most + 3
    (finding,) = found(document, "body-stress")
    assert finding.items == ("C1",)
    assert finding.value == rows["dead-head"].stress_mpa
    whole = thin(8.0, 20.0)
    assert report_of(Scene(build(whole), limits_of(whole))).folded == ()
    assert "body-stress" not in {one.rule for one in run(whole, fixes=False)}
