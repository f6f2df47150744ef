"""Annealing of machined acrylic: how hot, how long, how slowly it cools.

80 °C in forced air, 1 h for each mm of thickness, at least 2 h; above 8 mm cooled over t / 4 hours (a sheet maker's
annealing brief); out of the oven below 50 °C. Another data page gives 1 h for 2 mm: the longer one is taken.
"""

from __future__ import annotations

ANNEAL_C = 80.0
OUT_C = 50.0


def hold_hours(thickness_mm: float) -> float:
    """Hours at the annealing temperature."""
    return max(2.0, thickness_mm)


def cooling_hours(thickness_mm: float) -> float:
    """Hours to cool: a quarter of the thickness in mm, at least two."""
    return max(2.0, thickness_mm / 4)


def annealing_text(thickness_mm: float) -> str:
    """One sentence for a drawing or a remedy."""
    return (
        f"after all machining, body and lid apart, lying flat, {ANNEAL_C:g} °C in forced air, "
        f"{hold_hours(thickness_mm):.0f} h for {thickness_mm:g} mm (1 h per mm), cool over "
        f"{cooling_hours(thickness_mm):.0f} h or more, out of the oven below {OUT_C:g} °C."
    )
