"""Local losses of bends, turns, section changes, entries and exits, as coefficients K of a velocity head.

Δp = K ½ρv². Every coefficient here belongs to the velocity in the *smaller* of the two sections, unless it says
otherwise. Angles in degrees, areas in any one unit. Each function names its source and its range; outside the range
it still answers, smoothly, and ``note`` functions say what is outside.
"""

from __future__ import annotations

import math

#: A sharp-edged entry from a wide space. Idelchik, Crane, Blevins; Miller's chart reads 0.51.
SHARP_ENTRY = 0.5
#: Everything that leaves into a wide space loses its velocity head, whatever the shape (Borda).
EXIT = 1.0
#: The point of a common twist drill, included angle. Common practice, no source.
DRILL_POINT_DEG = 118.0


def mitre(angle_deg: float) -> float:
    """K of a sharp turn in a way of even section: 0.42 sin(α/2) + 2.56 sin³(α/2).

    Source: Rennels and Hudson, Pipe Flow, 2012, chapter on mitre bends. Range: 0 to 150°, turbulent; the
    formula goes on to 180° (2.98, Idelchik's table gives 3.6 for a square one).
    Within 10 % of Blevins's table from 45 to 90°.
    """
    s = math.sin(math.radians(abs(angle_deg)) / 2)
    return 0.42 * s + 2.56 * s**3


#: Loss of a 90° bend in friction lengths, beyond its own length of way: a (w/r) + b (r/w). Fitted to Crane's table of
#: 90° bends for r/d 1 to 6 (TP 410, A-29: 20, 14, 12, 12, 14, 17 f_T), within 8 %.
_BEND_TIGHT, _BEND_LONG = 16.18, 0.768


def bend_friction_lengths(angle_deg: float, radius_over_width: float) -> float:
    """Loss of a rounded bend as a multiple n of f: K = n f, beyond the friction of the bend's own length.

    n = (16.18 w/r + 0.768 r/w) √(α/90°), with r the centreline's radius, w the width in the plane of the bend. The
    first factor is fitted to Crane TP 410's table (r/w 1 to 6, within 8 %), the second to its rule for other angles
    (within 20 % from 30 to 180°). A bend so tight that a sharp turn would lose less counts as the sharp turn: take the
    lesser of n f and ``mitre``. f is the way's own friction factor, so that the loss grows as the flow slows, as
    Miller's Reynolds correction has it.
    """
    if radius_over_width <= 0 or angle_deg == 0:
        return math.inf if radius_over_width <= 0 else 0.0
    even = _BEND_TIGHT / radius_over_width + _BEND_LONG * radius_over_width
    return even * math.sqrt(abs(angle_deg) / 90)


def bend_note(angle_deg: float, radius_over_width: float) -> str | None:
    """What of a rounded bend lies outside the range of its source, or None."""
    if radius_over_width > 6:
        return f"bend radius {radius_over_width:.1f} widths: Crane's table was fitted up to 6"
    if abs(angle_deg) > 180:
        return f"bend of {abs(angle_deg):.0f}°: beyond 180° the rule is an extension"
    return None


def mitre_note(angle_deg: float) -> str | None:
    """What of a sharp turn lies outside the range of its source, or None."""
    if abs(angle_deg) > 150:
        return f"sharp turn of {abs(angle_deg):.0f}°: the formula is published up to 150°"
    return None


def low_reynolds(angle_deg: float) -> float:
    """K1 of a turn: at low Reynolds numbers K1/Re comes on top. 1000 for 90°, in proportion to the angle.

    Source: Hooper, Chemical Engineering, 24 August 1981: mitred elbows, 1000 at 90° and 500 at 45°.
    """
    return 1000 * min(abs(angle_deg), 180.0) / 90


#: Hooper 1981: an entry 160, an exit none; a tee through its run 150, through its branch 800 to 1000.
LOW_ENTRY, LOW_RUN, LOW_BRANCH = 160.0, 150.0, 1000.0


def sudden_contraction(area_ratio: float) -> float:
    """K of a sudden narrowing to ``area_ratio`` of the area: 0.5 (1 - σ)^(3/4).

    Source: Idelchik, Handbook of Hydraulic Resistance, sudden contraction, Re above 10⁴.
    """
    return SHARP_ENTRY * max(1 - area_ratio, 0.0) ** 0.75


def sudden_expansion(area_ratio: float) -> float:
    """K of a sudden widening from ``area_ratio`` of the new area: (1 - σ)², Borda and Carnot, turbulent profiles."""
    return max(1 - area_ratio, 0.0) ** 2


def gradual_contraction(area_ratio: float, included_angle_deg: float) -> float:
    """K of a cone that narrows to ``area_ratio``: 0.8 sin(θ/2) (1 - σ) to 45°, 0.5 √sin(θ/2) (1 - σ) above.

    Source: Crane TP 410, A-26 (there referred to the larger section). Range 0 to 180°.
    """
    s = math.sin(math.radians(min(included_angle_deg, 180.0)) / 2)
    return (0.8 * s if included_angle_deg <= 45 else 0.5 * math.sqrt(s)) * max(1 - area_ratio, 0.0)


def gradual_expansion(area_ratio: float, included_angle_deg: float) -> float:
    """K of a cone that widens from ``area_ratio``: 2.6 sin(θ/2) (1 - σ)² to 45°, (1 - σ)² above.

    Source: Crane TP 410, A-26 (Gibson). Range 0 to 180°.
    """
    s = math.sin(math.radians(min(included_angle_deg, 180.0)) / 2)
    return min(2.6 * s, 1.0) * max(1 - area_ratio, 0.0) ** 2


def turn_with_change(angle_deg: float, area_in: float, area_out: float, drilled: bool = False) -> float:
    """K of a way that turns and changes its section at one place, on the smaller section's velocity.

    The greater of the two losses: a sharp elbow that also widens or narrows loses about what an even one of its
    smaller section loses (Idelchik, elbows with unequal sections: within about 30 %).

    Args:
        angle_deg: by how much the flow turns, 0 to 180.
        area_in, area_out: sections before and after.
        drilled: whether the change is a drill's point rather than a flat end.
    """
    ratio = min(area_in, area_out) / max(area_in, area_out)
    if area_out < area_in:
        change = gradual_contraction(ratio, DRILL_POINT_DEG) if drilled else sudden_contraction(ratio)
    else:
        change = gradual_expansion(ratio, DRILL_POINT_DEG) if drilled else sudden_expansion(ratio)
    return max(mitre(angle_deg), change)
