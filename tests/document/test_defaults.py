"""A document that leaves a key out means what it meant when it was written: defaults are part of the format.

The values are those that docs/format.md promised with version 1; sources stand beside those that have one.
"""

from __future__ import annotations

import pytest

from sketcher.document import hardware, plate

#: Model, key, default.
PROMISED: tuple[tuple[str, str, object], ...] = (
    ("Channel", "bend_radius_mm", 10.0),
    ("Port", "thread_depth_mm", 10.0),
    ("Port", "fitting_diameter_mm", 20.0),
    ("Seal", "cord_mm", 2.0),
    ("Seal", "cord_tolerance_mm", 0.1),
    ("Seal", "depth_tolerance_mm", 0.05),
    ("Seal", "squeeze_percent", 25.0),  # within 20 to 30 %, general O-ring handbooks
    ("Seal", "fill_percent", 75.0),
    ("Seal", "hardness_shore_a", 60.0),
    ("Seal", "screw_pitch_mm", 40.0),
    ("BoardHole", "diameter_mm", 3.96),  # 0.156 in, as the published patterns have it
    ("Board", "thickness_mm", 1.6),  # common practice, no source
    ("Board", "slot_pitch_mm", 20.32),  # 0.8 in, as the published patterns have it
    ("Board", "parts_height_mm", 40.0),
    ("Device", "speed_percent", 100.0),
    ("Loop", "tube_inner_diameter_mm", 10.0),
    ("Loop", "tube_outer_diameter_mm", 13.0),
    ("Loop", "fitting_bore_mm", 9.0),
    ("Loop", "room_c", 25.0),
    ("Loop", "water_limit_c", 50.0),
    ("Loop", "test_pressure_kpa", 50.0),
    ("Shop", "least_wall_mm", 2.0),
    ("Shop", "tolerance_mm", 0.1),
    ("TestPiece", "thickness_mm", 3.0),
    ("TestPiece", "kerf_mm", 0.2),
    ("FitReading", "spread_mm", 0.5),
)


@pytest.mark.parametrize(("model", "key", "value"), PROMISED)
def test_what_a_document_leaves_out_keeps_its_meaning(model: str, key: str, value: object) -> None:
    home = plate if hasattr(plate, model) else hardware
    assert getattr(home, model).model_fields[key].default == value
