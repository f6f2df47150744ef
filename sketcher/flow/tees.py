"""Where three ways meet: what each leg loses, by how the flow divides or joins.

K belongs to the velocity head of the leg that carries the whole flow. A positive K is a loss of total pressure from
the whole flow to a leg (dividing) or from a leg to the whole flow (joining); a negative one is a gain, as a fast
stream draws a slow one along.

Source: Crane TP 410 (2009), chapter 2, after Idelchik; symmetrical tees after Idelchik. Range: side leg at 30 to 90°,
its section at most that of the run, turbulent.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Literal

#: Where sources differ on symmetrical tees: the lowest, what is used, the highest.
Reading = Literal["low", "usual", "high"]


def _fade(value: float, low: float, high: float) -> float:
    """0 below ``low``, 1 above ``high``, a straight line between."""
    return min(max((value - low) / (high - low), 0.0), 1.0)


def dividing_run(share: float, area_ratio: float) -> float:
    """K from the whole flow to the straight leg: M q².

    M is 0.4 for σ up to 0.4, else 2 (2q - 1) for q up to 1/2 and 0.3 (2q - 1) above.

    Args:
        share: q, the side leg's part of the flow, 0 to 1.
        area_ratio: σ, the side leg's section over the run's.
    """
    if area_ratio <= 0.4:
        return 0.4 * share**2
    m = (2.0 if share <= 0.5 else 0.3) * (2 * share - 1)
    return m * share**2


def dividing_branch(share: float, area_ratio: float, angle_deg: float = 90.0) -> float:
    """K from the whole flow to the side leg: G (1 + H (q/σ)² - J (q/σ) cos α).

    Square tee: J = 0; H = 0.3 and G = 1 + 0.3 q² where side leg and run are equally wide, H = G = 1 where the side
    leg is at most 2/3 as wide; a straight line between the two, which Crane leaves open.
    Slanted branch: H = 1, J = 2, G by share and section.

    Args:
        share: q, the side leg's part of the flow, 0 to 1.
        area_ratio: σ, the side leg's section over the run's.
        angle_deg: how far the side leg's flow turns off, 30 to 90.
    """
    ratio = share / area_ratio
    equal = _fade(math.sqrt(area_ratio), 2 / 3, 1.0)
    square_h = 1 - 0.7 * equal
    square_g = 1 + 0.3 * share**2 * equal
    square = square_g * (1 + square_h * ratio**2)
    if angle_deg >= 90:
        return square
    if area_ratio <= 0.35:
        g = 1.1 - 0.7 * share if share <= 0.4 else 0.85
    else:
        g = 1.0 - 0.6 * share if share <= 0.6 else 0.6
    slanted = g * (1 + ratio**2 - 2 * ratio * math.cos(math.radians(angle_deg)))
    # Crane treats 60° as slanted and 90° as square; between the two a straight line, ours.
    return slanted + (square - slanted) * _fade(angle_deg, 60.0, 90.0)


def joining_run(share: float, area_ratio: float, angle_deg: float = 90.0) -> float:
    """K from the straight leg to the whole flow: 1.55 q - q² for a square tee, 1 - (1 - q)² - F q²/σ slanted.

    Args:
        share: q, the side leg's part of the flow, 0 to 1.
        area_ratio: σ, the side leg's section over the run's.
        angle_deg: between the side leg's flow and the whole flow, 30 to 90.
    """
    square = 1.55 * share - share**2
    if angle_deg >= 90:
        return square
    slanted = 1 - (1 - share) ** 2 - _slant(angle_deg) * share**2 / area_ratio
    return slanted + (square - slanted) * _fade(angle_deg, 60.0, 90.0)


def joining_branch(share: float, area_ratio: float, angle_deg: float = 90.0) -> float:
    """K from the side leg to the whole flow: C (1 + (q/σ)² - 2 (1 - q)² - F q²/σ).

    C is 1 for σ up to 0.35, else 0.9 (1 - q) for q up to 0.4 and 0.55 above. F by the angle: 1.74 at 30°, 1.41 at
    45°, 1 at 60°, 0 at 90°.

    Args:
        share: q, the side leg's part of the flow, 0 to 1.
        area_ratio: σ, the side leg's section over the run's.
        angle_deg: between the side leg's flow and the whole flow, 30 to 90.
    """
    c = joining_factor(share, area_ratio)
    inside = 1 + (share / area_ratio) ** 2 - 2 * (1 - share) ** 2 - _slant(angle_deg) * share**2 / area_ratio
    return c * inside


def _slant(angle_deg: float) -> float:
    """Crane's F, the streamwise push of a slanted branch, straight lines between the tabulated angles."""
    table = ((30.0, 1.74), (45.0, 1.41), (60.0, 1.0), (90.0, 0.0))
    if angle_deg <= table[0][0]:
        return table[0][1]
    for (a0, f0), (a1, f1) in pairwise(table):
        if angle_deg <= a1:
            return f0 + (f1 - f0) * (angle_deg - a0) / (a1 - a0)
    return 0.0


def opposed_dividing(share: float, area_ratio: float, reading: Reading = "usual") -> float:
    """K from the whole flow, coming up the stem, to one arm of a symmetrical tee: 1 + k (v_arm/v_stem)².

    Source: Idelchik, symmetrical dividing tee: k = 0.3 for smooth joints, 1.5 for threaded ones (``"high"``).

    Args:
        share: the arm's part of the flow, 0 to 1.
        area_ratio: the arm's section over the stem's.
        reading: which source counts.
    """
    return 1 + (1.5 if reading == "high" else 0.3) * (share / area_ratio) ** 2


def opposed_joining(share: float, area_ratio: float, reading: Reading = "usual") -> float:
    """K from one of two arms that meet head on to the whole flow, going down the stem: 1 + (1 + 3 (q² - q))/σ².

    Source: Levin's measurements of symmetrical joining tees without a partition, in Idelchik's Handbook of Hydraulic
    Resistance, 3rd edition, p. 471. Sources differ on whether Idelchik's factor A for joining side legs applies to it
    as well (``"low"``: A is 1 up to σ = 0.35, else 0.9 (1 - q) up to q = 0.4 and 0.55 above). With it the loss of equal
    legs is about half. The row 1 + (q/σ)² is for a tee *with* a partition between the arms, which a milled plate has
    not.

    Args:
        share: the arm's part of the flow, 0 to 1.
        area_ratio: the arm's section over the stem's.
        reading: which source counts.
    """
    k = 1 + (1 + 3 * (share**2 - share)) / area_ratio**2
    return k * joining_factor(share, area_ratio) if reading == "low" else k


def joining_factor(share: float, area_ratio: float) -> float:
    """Idelchik's factor of a joining side leg: 1 for σ up to 0.35, else 0.9 (1 - q) for q up to 0.4 and 0.55 above."""
    if area_ratio <= 0.35:
        return 1.0
    return 0.9 * (1 - share) if share <= 0.4 else 0.55


def note(area_ratio: float, angle_deg: float, symmetrical: bool = False) -> str | None:
    """What of a tee lies outside the range of its source, or None."""
    if area_ratio > 1.05:
        part = "an arm" if symmetrical else "a side leg"
        return f"{part} {area_ratio:.2f} times the run's section: the tee formulas are for side legs no larger"
    if not (60.0 if symmetrical else 29.0) <= angle_deg <= (120.0 if symmetrical else 91.0):
        return f"a side leg at {angle_deg:.0f}°: the tee formulas are for 30 to 90°"
    return None
