"""Notch factor of a sharp inside corner: a step in a bent plate with a fillet.

K = C1 + C2 (2h/D) + C3 (2h/D)² + C4 (2h/D)³ for a stepped flat bar with shoulder fillets in bending: D the thick
side, d = D - 2h the thin one, r the fillet. Peterson's Stress Concentration Factors (Pilkey), stepped flat bar with
shoulder fillets, in-plane bending; also Roark, table 17.1, case 5b. Range 0.1 ≤ h/r ≤ 20. The coefficients were read in
public transcriptions of the table.
"""

from __future__ import annotations

import math

_LOW = ((1.007, 1.000, -0.031), (-0.270, -2.404, 0.749), (0.677, 1.133, -0.904), (-0.414, 0.271, 0.186))
_HIGH = ((1.042, 0.982, -0.036), (-3.599, 1.619, -0.431), (6.084, -5.607, 1.158), (-2.527, 3.006, -0.691))
RANGE = (0.1, 20.0)


class NotchError(ValueError):
    """A corner outside what the table knows."""


def fillet_factor(thick_mm: float, thin_mm: float, radius_mm: float) -> float:
    """Largest stress at the fillet over the thin side's bending stress.

    Args:
        thick_mm: thickness of the thick side, D.
        thin_mm: thickness of the thin side, d.
        radius_mm: the fillet's radius, r.

    Raises:
        NotchError: sizes not in order, or h/r outside 0.1 to 20, where the formula was fitted.
    """
    if not thick_mm > thin_mm > 0:
        raise NotchError(f"the thick side ({thick_mm:g} mm) must be thicker than the thin one ({thin_mm:g} mm)")
    if not radius_mm > 0:
        raise NotchError("a fillet without a radius has no finite notch factor; give the cutter's corner radius")
    step = (thick_mm - thin_mm) / 2
    slope = step / radius_mm
    if not RANGE[0] <= slope <= RANGE[1]:
        raise NotchError(f"the step is {slope:.3g} times the fillet; the formula knows 0.1 to 20")
    rows = _LOW if slope <= 2.0 else _HIGH
    share = 2 * step / thick_mm
    root = math.sqrt(slope)
    return sum((a + b * root + c * slope) * share**power for power, (a, b, c) in enumerate(rows))


def corner_factor(full_mm: float, left_mm: float, radius_mm: float) -> float:
    """Notch factor at the bottom corner of a channel: full plate thickness, thickness left, corner radius.

    A corner sharper than the table's range counts at the range's end, h/r = 20; the real one is then worse.
    """
    step = (full_mm - left_mm) / 2
    radius = max(radius_mm, step / RANGE[1])
    if step / radius < RANGE[0]:
        return 1.0
    return max(1.0, fillet_factor(full_mm, left_mm, radius))
