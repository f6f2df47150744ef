"""Local losses of bends, turns, section changes, entries and exits, as coefficients K of a velocity head.

Δp = K ½ρv². Every coefficient here belongs to the velocity in the *smaller* of the two sections, unless it says
otherwise. Angles in degrees, areas in any one unit. Each function names its source and its range; outside the range
it still answers, smoothly, and ``note`` functions say what is outside.
"""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike, NDArray

from sketcher.flow.friction import LAMINAR_TO, TURBULENT_FROM

#: A sharp-edged entry from a wide space. Idelchik, Crane, Blevins; Miller's chart reads 0.51.
SHARP_ENTRY = 0.5
#: Everything that leaves into a wide space loses its velocity head, whatever the shape (Borda).
EXIT = 1.0
#: The point of a common twist drill, included angle. Common practice, no source.
DRILL_POINT_DEG = 118.0


def mitre(angle_deg: float) -> float:
    """K of a sharp turn in a way of even section: 0.42 sin(α/2) + 2.56 sin³(α/2).

    Source: Rennels and Hudson, Pipe Flow, 2012, chapter on mitre bends. Range: 0 to 150°, Re above 1.4e5; the
    formula goes on to 180° (2.98, Idelchik's table gives 3.6 for a square one). Within 10 % of Blevins's table from
    45 to 90° at Re 2e5. At lower Re times ``turn_factor``.
    """
    s = math.sin(math.radians(abs(angle_deg)) / 2)
    return 0.42 * s + 2.56 * s**3


#: A sharp turn loses more at lower Re: times (1.4e5 / Re)^0.1275, which meets the ten printed values of ASHRAE's table
#: for mitred rectangular elbows (1.40 at Re 10⁴ … 1.0 from 1.4e5) within 3 %. Below Re 10⁴ that is an extension, held
#: still from 4000 down.
TURN_FULL_RE, TURN_HELD_RE = 1.4e5, 4000.0
TURN_POWER = math.log(1.4) / math.log(14.0)


def turn_factor(reynolds: ArrayLike) -> NDArray[np.float64]:
    """By what the loss of a sharp turn grows at lower Re; 1 from Re 1.4e5 on.

    Source: ASHRAE Handbook of Fundamentals, duct fittings, mitred rectangular elbow, Reynolds correction.

    Args:
        reynolds: on the hydraulic diameter, any shape.
    """
    held = np.clip(np.asarray(reynolds, dtype=float), TURN_HELD_RE, TURN_FULL_RE)
    return np.asarray((TURN_FULL_RE / held) ** TURN_POWER)


#: What six sources give for a sharp 90° turn: Re, the lowest and the highest K. The lowest is Rennels and Hudson's 1.20
#: (Blevins from 2e5 on), the highest Idelchik's ζ times his Re factor; Miller, Blevins, Crane and ASHRAE lie between.
_TURN_SOURCES = (
    (5e3, 1.20, 3.45),
    (1e4, 1.20, 2.87),
    (2e4, 1.20, 2.39),
    (5e4, 1.20, 1.88),
    (1e5, 1.20, 1.86),
    (2e5, 1.10, 1.86),
)


def turn_spread(reynolds: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """The lowest and the highest of six sources for a sharp turn, as parts of what is used here; see ``_TURN_SOURCES``.

    Args:
        reynolds: any shape; the sources' ends hold beyond 5,000 to 200,000.
    """
    re = np.clip(np.asarray(reynolds, dtype=float), _TURN_SOURCES[0][0], _TURN_SOURCES[-1][0])
    used = mitre(90.0) * turn_factor(re) + low_reynolds(90.0) / re
    places = [math.log(row[0]) for row in _TURN_SOURCES]
    low, high = (np.interp(np.log(re), places, [row[i] for row in _TURN_SOURCES]) for i in (1, 2))
    return np.asarray(low / used), np.asarray(high / used)


#: Loss of a 90° bend in friction lengths, beyond its own length of way: a (w/r) + b (r/w). Fitted to Crane's table of
#: 90° bends for r/d 1 to 6 (TP 410, A-29: 20, 14, 12, 12, 14, 17 f_T), within 8 %.
_BEND_TIGHT, _BEND_LONG = 16.18, 0.768


def bend_friction_lengths(angle_deg: float, radius_over_width: float) -> float:
    """Loss of a rounded bend as a multiple n of f: K = n f, beyond the friction of the bend's own length.

    n = (16.18 w/r + 0.768 r/w) √(α/90°), with r the centreline's radius, w the width in the plane of the bend. The
    first factor is fitted to Crane TP 410's table (r/w 1 to 6, within 8 %), the second to its rule for other angles
    (within 20 % from 30 to 180°). A bend so tight that a sharp turn would lose less counts as the sharp turn: take the
    lesser of n f and ``mitre``. f is the way's own friction factor; the whole is taken times ``bend_factor``, as
    Miller's Reynolds correction has it.
    """
    if radius_over_width <= 0 or angle_deg == 0:
        return math.inf if radius_over_width <= 0 else 0.0
    even = _BEND_TIGHT / radius_over_width + _BEND_LONG * radius_over_width
    return even * math.sqrt(abs(angle_deg) / 90)


#: f grows faster than a bend's loss as Re falls: n f is taken times (Re / 1.69e5)^0.1125. Fitted to Rennels, Miller and
#: Ito for r/d 1 to 3 and Re 5,000 to 200,000 (within 15 % of their band); in laminar flow n f alone is about Hooper's
#: 800/Re, and between Re 2300 and 4000 one passes into the other.
BEND_FULL_RE, BEND_POWER = 1.69e5, 0.1125


def bend_factor(reynolds: ArrayLike) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """By what n f of a rounded bend is to be multiplied, and d(ln of it)/d(ln Re); see ``BEND_FULL_RE``.

    Args:
        reynolds: on the hydraulic diameter, any shape, above 0.
    """
    log_re = np.log(np.asarray(reynolds, dtype=float))
    span = math.log(TURBULENT_FROM / LAMINAR_TO)
    part = np.clip((log_re - math.log(LAMINAR_TO)) / span, 0.0, 1.0)
    log_factor = BEND_POWER * np.minimum(log_re - math.log(BEND_FULL_RE), 0.0)
    rises = np.where(log_factor < 0, BEND_POWER, 0.0)
    passing = np.where((part > 0) & (part < 1), 1 / span, 0.0)
    return np.asarray(np.exp(part * log_factor)), np.asarray(part * rises + passing * log_factor)


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
    return float(SHARP_ENTRY * max(1 - area_ratio, 0.0) ** 0.75)


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


def turn_with_change(angle_deg: float, area_in: float, area_out: float, drilled: bool = False) -> tuple[float, float]:
    """K of a way that turns and changes its section at one place, on the smaller section's velocity.

    What a sharp turn loses (to be taken times ``turn_factor``) and what the change loses; the lesser of the two is 0.
    They are compared at Re 10⁴.

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
    turn = mitre(angle_deg)
    return (turn, 0.0) if turn * float(turn_factor(1e4)) >= change else (0.0, change)
