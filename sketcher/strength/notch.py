"""Notch factor of a sharp inside corner: the bottom of a channel, a step on one face of a bent plate.

A shallow step does not feel the plate's other face: K - 1 grows with √(h/r) of its own height (the stepped flat bar of
Peterson's Stress Concentration Factors, also Roark, table 17.1, case 5b, has 1 + 0.98 √(h/r) at its shallow end). A
deep one is ruled by what is left: K - 1 grows with √(t/r), as beside any deep notch (Inglis; Creager and Paris). For
the sharpest, a crack, the factor before that root is 0.75 (K_I = 3.975 M / t^1.5: Tada, Paris and Irwin, The Stress
Analysis of Cracks); a corner of 90 degrees is milder. Charts exist for bars with a step on both faces, and those are
milder still; the factors here are fitted to finite elements of the step on one face, and lie 0 to 35 % above them
(``tests/published/test_notch.py``).
"""

from __future__ import annotations

import math

#: K - 1 over √(step / radius) of a shallow step, and over √(thickness left / radius) of a deep one.
SHALLOW, DEEP = 1.1, 0.55


class NotchError(ValueError):
    """A corner that cannot be."""


def corner_factor(step_mm: float, left_mm: float, radius_mm: float) -> float:
    """Largest stress at the bottom corner of a channel over the bending stress of the floor under it.

    Args:
        step_mm: height of the step: the channel's depth.
        left_mm: thickness of the floor.
        radius_mm: the corner's radius.

    Raises:
        NotchError: no floor, or a corner without a radius.
    """
    if not left_mm > 0:
        raise NotchError(f"the floor is {left_mm:g} mm; give what is left under the channel")
    if not radius_mm > 0:
        raise NotchError("a corner without a radius has no finite notch factor; give the cutter's corner radius")
    deep = DEEP * math.sqrt(left_mm / radius_mm)
    return 1 + min(SHALLOW * math.sqrt(max(step_mm, 0.0) / radius_mm), deep)
