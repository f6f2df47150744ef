"""Threads, screws, expansion and notches against outside values."""

import math

import pytest

from sketcher.reference import materials, metals, screws, threads
from sketcher.strength.expansion import movement_mm
from sketcher.strength.thread_strength import neck_pressure_mpa, shear_from_torque_mpa, strip_area_mm2, thread_form


@pytest.mark.parametrize(("name", "area"), [("M5", 49.994), ("M6", 73.145), ("M8", 134.63)])
def test_strip_area_of_the_hole(name, area):
    """Nut thread strip area, engagement of one diameter, 6H/6g, mm²: "Selected metric M series thread stress and
    shear areas", after Bickford, Introduction to the Design and Behavior of Bolted Joints, 4th edition."""
    form = thread_form(name)
    assert strip_area_mm2(form, form.major_mm) == pytest.approx(area, rel=2e-3)


def test_pipe_thread_by_hand():
    """G1/4, 8 mm engaged: π/1.337 · 8 · 12.907 · (0.6685 + 0.52057 · (12.907 - 12.426)) = 222.9 mm²."""
    assert strip_area_mm2(thread_form("G1/4"), 8.0) == pytest.approx(222.9, rel=1e-3)
    # At 5 MPa design stress: F = 222.9 · 2.5 = 557 N, T = 0.2 · 557 · 13.157 mm = 1.47 N m.
    assert shear_from_torque_mpa(thread_form("G1/4"), 8.0, 1.466) == pytest.approx(2.5, rel=2e-3)


@pytest.mark.parametrize(
    ("name", "tpi", "major", "minor"),
    [("G1/8", 28, 9.728, 8.566), ("G1/4", 19, 13.157, 11.445), ("G3/8", 19, 16.662, 14.950)],
)
def test_pipe_rows(name, tpi, major, minor):
    """ISO 228-1, table 1."""
    row = threads.thread(name)
    assert (row.threads_per_inch, row.major_mm, row.minor_mm) == (tpi, major, minor)


@pytest.mark.parametrize(
    ("name", "fine", "medium", "coarse"),
    [
        ("M3", 3.2, 3.4, 3.6),
        ("M4", 4.3, 4.5, 4.8),
        ("M5", 5.3, 5.5, 5.8),
        ("M6", 6.4, 6.6, 7.0),
        ("M8", 8.4, 9.0, 10.0),
    ],
)
def test_clearance_rows(name, fine, medium, coarse):
    """ISO 273, as in two independent public reprints."""
    row = screws.screw(name)
    assert (row.clearance_fine_mm, row.clearance_mm, row.clearance_coarse_mm) == (fine, medium, coarse)


@pytest.mark.parametrize(("name", "head", "height"), [("M3", 5.5, 3.0), ("M4", 7.0, 4.0), ("M5", 8.5, 5.0)])
def test_cap_heads(name, head, height):
    """ISO 4762, dk max (plain) and k max."""
    row = screws.screw(name)
    assert (row.cap_head.diameter_mm, row.cap_head.height_mm) == (head, height)


def test_expansion_by_the_handbook_coefficients():
    """Callister, table B.6: aluminium 6061 23.6e-6 /K; cast acrylic 70 to 80e-6 /K (ISO 11359-2).

    300 mm of plate from 20 to 50 °C on an aluminium floor that stays at 20 °C grows by 300 · 75e-6 · 30 = 0.675 mm;
    when the floor warms by 30 K as well, by 0.675 - 300 · 23.6e-6 · 30 = 0.4626 mm.
    """
    acrylic = materials.material("cast acrylic")["expansion_per_k"].middle
    aluminium = metals.floor_expansion("aluminium").expansion_per_k
    assert movement_mm(300, acrylic, 30, aluminium, 0) == pytest.approx(0.675)
    assert movement_mm(300, acrylic, 30, aluminium, 30) == pytest.approx(0.4626)


def test_side_pull_by_statics():
    """F = 20 N at h = 25 mm on G1/4 engaged 8 mm: equilibrium of the straight-line bedding pressure.

    Force: mean pressure · d L = F. Moment about the middle: p1 d L²/6 = F (h + L/2), p1 the linear part's end value.
    """
    form = thread_form("G1/4")
    end = neck_pressure_mpa(form, 8.0, 20.0, 25.0)
    mean = 20.0 / (13.157 * 8.0)
    linear = end - mean
    assert linear * 13.157 * 8.0**2 / 6 == pytest.approx(20.0 * 29.0)
    assert math.isfinite(end)
