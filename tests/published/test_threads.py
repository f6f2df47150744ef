"""Thread, screw and seal values against the standards' published numbers, typed in here apart from the data files."""

import pytest

from sketcher.reference import colours, cords, materials, screws, threads

# ISO 228-1: threads per inch, pitch, major, basic pitch diameter, minor, internal minor at most (mm).
# G1/4 complete, the others without pitch diameter, as in public tables of the standard.
ISO_228 = [
    ("G1/8", 28, 0.907, 9.728, None, 8.566, 8.848),
    ("G1/4", 19, 1.337, 13.157, 12.301, 11.445, 11.890),
    ("G3/8", 19, 1.337, 16.662, None, 14.950, 15.395),
]


@pytest.mark.parametrize(("name", "tpi", "pitch", "major", "pitch_diameter", "minor", "minor_max"), ISO_228)
def test_pipe_threads(name, tpi, pitch, major, pitch_diameter, minor, minor_max):
    row = threads.thread(name)
    assert (row.threads_per_inch, row.pitch_mm) == (tpi, pitch)
    assert (row.major_mm, row.minor_mm, row.internal_minor_max_mm) == (major, minor, minor_max)
    if pitch_diameter is not None:
        assert row.pitch_diameter_mm == pitch_diameter


@pytest.mark.parametrize("name", threads.names())
def test_pipe_threads_keep_the_form_of_iso_228(name):
    """ISO 228-1, thread form: pitch is an inch over the number of threads; the height is 0.640327 pitch on each flank,
    so major and minor lie symmetrically about the pitch diameter."""
    row = threads.thread(name)
    assert row.pitch_mm == pytest.approx(25.4 / row.threads_per_inch, abs=0.0006)
    height = 0.640327 * 25.4 / row.threads_per_inch
    assert row.major_mm - row.pitch_diameter_mm == pytest.approx(height, abs=0.001)
    assert row.pitch_diameter_mm - row.minor_mm == pytest.approx(height, abs=0.001)


@pytest.mark.parametrize("name", threads.names())
def test_a_tap_drill_leaves_a_thread_within_its_limits(name):
    """The drilled hole is the internal minor diameter; ISO 228-1 allows basic minor to internal minor at most."""
    row = threads.thread(name)
    assert row.minor_mm <= row.tap_drill_mm <= row.internal_minor_max_mm


# ISO 261/262 coarse pitch, ISO 273 fine, medium, coarse series, ISO 4762 dk and k (plain head, maximum),
# ISO 10642 dk (theoretical, maximum) and k: as in public tables of these standards.
SCREWS = [
    ("M2.5", 0.45, 2.7, 2.9, 3.1, 4.5, 2.5, None, None),
    ("M3", 0.5, 3.2, 3.4, 3.6, 5.5, 3.0, 6.72, 1.86),
    ("M4", 0.7, 4.3, 4.5, 4.8, 7.0, 4.0, 8.96, 2.48),
    ("M5", 0.8, 5.3, 5.5, 5.8, 8.5, 5.0, 11.2, 3.1),
    ("M6", 1.0, 6.4, 6.6, 7.0, 10.0, 6.0, 13.44, 3.72),
    ("M8", 1.25, 8.4, 9.0, 10.0, 13.0, 8.0, 17.92, 4.96),
]


@pytest.mark.parametrize(("name", "pitch", "fine", "medium", "coarse", "dk", "k", "sunk_dk", "sunk_k"), SCREWS)
def test_metric_screws(name, pitch, fine, medium, coarse, dk, k, sunk_dk, sunk_k):
    row = screws.screw(name)
    assert row.pitch_mm == pitch
    assert (row.clearance_fine_mm, row.clearance_mm, row.clearance_coarse_mm) == (fine, medium, coarse)
    assert (row.cap_head.diameter_mm, row.cap_head.height_mm) == (dk, k)
    if sunk_dk is None:
        assert row.countersunk_head is None
    else:
        assert row.countersunk_head is not None
        assert (row.countersunk_head.diameter_mm, row.countersunk_head.height_mm) == (sunk_dk, sunk_k)


@pytest.mark.parametrize("name", screws.names())
def test_internal_minor_diameter_follows_the_profile(name):
    """ISO 68-1 and ISO 724: D1 = D - 1.082532 P (twice five eighths of the height of the fundamental triangle)."""
    row = screws.screw(name)
    assert row.internal_minor_mm == pytest.approx(row.major_mm - 1.082532 * row.pitch_mm, abs=0.001)
    assert row.tap_drill_mm == pytest.approx(row.major_mm - row.pitch_mm, abs=0.06)  # common practice


def test_cord_grooves_squeeze_as_handbooks_ask():
    """Axial seal: squeeze 20 to 30 % of the section, fill at most 85 to 90 % (general handbooks on O-ring glands)."""
    for section in cords.sections_mm():
        row = cords.cord(section)
        squeeze = 1 - row.groove_depth_mm / section
        fill = (3.141592653589793 / 4 * section**2) / (row.groove_depth_mm * row.groove_width_mm)
        assert 0.19 <= squeeze <= 0.30, section
        assert 0.60 <= fill <= 0.90, section
    assert 1 - cords.cord(2.0).groove_depth_mm / 2.0 == pytest.approx(0.25)  # 2.0 mm pressed to 1.5 mm is 25 %


def test_iso_3601_sections_are_there():
    """ISO 3601-1 (as SAE AS568): cross-sections 1.78, 2.62, 3.53, 5.33, 6.99 mm; ours stop at 5.33."""
    assert {1.78, 2.62, 3.53, 5.33} <= set(cords.sections_mm())


def test_acrylic():
    """Cast PMMA: ISO 527 and ISO 11359-2 ranges."""
    acrylic = materials.material("cast acrylic")
    expected = {
        "modulus_gpa": (2.8, 3.3),
        "tensile_strength_mpa": (67, 75),
        "expansion_per_k": (70e-6, 80e-6),
        "density_g_cm3": (1.19, 1.19),
        "water_uptake_24h_percent": (0.2, 0.3),
    }
    for name, (low, high) in expected.items():
        assert (acrylic[name].low, acrylic[name].high) == (low, high)


def test_okabe_ito():
    """Okabe and Ito, Color Universal Design, 2008: the RGB values 0-255 of the palette."""
    published = {
        "black": (0, 0, 0),
        "orange": (230, 159, 0),
        "sky blue": (86, 180, 233),
        "bluish green": (0, 158, 115),
        "yellow": (240, 228, 66),
        "blue": (0, 114, 178),
        "vermillion": (213, 94, 0),
        "reddish purple": (204, 121, 167),
    }
    assert set(colours.names()) == set(published)
    for name, rgb in published.items():
        assert tuple(bytes.fromhex(colours.colour(name)[1:])) == rgb
