"""The floor under a channel: bent by the coolant, pulled by the walls that it pushes apart, and folded open by them.

The walls are pushed outwards with q h for each millimetre of channel, at half their height. The floor bears that as a
pull, and as a moment about its middle, q h (h + t) / 2, which folds it open like a hinge. It does not come about while
the lid ties the walls' upper edges, by the friction that its screws' preload gives. A floor that bears all of the
moment asks for no tie; another needs one for what it does not bear:

    s = K (s_p + q h / t + 6 (m - T (h + t/2)) / t²), with m = q h (h + t) / 2 and T the tie, N per mm.

Statics of a long channel: that the plate beyond a channel's ends holds its walls too is left out, on the safe side.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from functools import lru_cache

from sketcher.strength import notch
from sketcher.strength.flat_plate import PlateResult, Span, pressed_plate
from sketcher.strength.load import Load

#: Corner that a flat cutter leaves at the bottom of a channel, mm. Common practice, no source.
CUTTER_CORNER_MM = 0.2
#: No floor is asked to be thicker, mm: what does not hold then does not hold at all.
MOST_FLOOR_MM = 1e4
#: Friction of plastic on plastic, between lid and body. From memory; wet faces have less than dry ones.
FRICTION = 0.2


@lru_cache(maxsize=4096)
def floor_stress(span: Span, step_mm: float, left_mm: float, load: Load) -> tuple[PlateResult, float]:
    """A floor under one load, tied by its lid, and its notch factor. The walls' push counts as a pull of q h / t."""
    result = pressed_plate(span, left_mm, load.pressure_kpa, load.modulus_mpa, "fixed")
    pulled = load.pressure_kpa / 1000 * step_mm / left_mm
    return replace(result, stress_mpa=result.stress_mpa + pulled), notch.corner_factor(
        step_mm, left_mm, CUTTER_CORNER_MM
    )


@lru_cache(maxsize=1024)
def needed_floor_mm(span: Span, step_mm: float, load: Load) -> float:
    """The thickness of floor that bears the load under a channel of this depth, mm, to a hundredth, by halving."""

    def too_thin(left_mm: float) -> bool:
        result, factor = floor_stress(span, step_mm, left_mm, load)
        return result.stress_mpa * factor > load.design_stress_mpa

    low, high = 0.0, max(span.b_mm, step_mm, 1.0)
    while too_thin(high) and high < MOST_FLOOR_MM:
        high *= 2
    while high - low > 0.01:
        middle = (low + high) / 2
        low, high = (middle, high) if too_thin(middle) else (low, middle)
    return high


@lru_cache(maxsize=4096)
def tie_n_mm(span: Span, step_mm: float, left_mm: float, load: Load) -> float:
    """What the lid has to tie so that a floor is not folded open beyond its limit, N for each mm of channel.

    0 where the floor bears the moment alone; and where it is too thin even when it is tied, which another rule says.
    """
    result, factor = floor_stress(span, step_mm, left_mm, load)
    bears = (load.design_stress_mpa / factor - result.stress_mpa) * left_mm**2 / 6
    moment = load.pressure_kpa / 1000 * step_mm * (step_mm + left_mm) / 2
    return max(moment - bears, 0.0) / (step_mm + left_mm / 2) if bears >= 0 else 0.0


def greatest_tie_n_mm(full_mm: float, floors: Iterable[tuple[float, Span]], loads: Iterable[Load]) -> float:
    """The greatest tie that any floor of a body needs under any load, N/mm.

    Args:
        full_mm: thickness of the body.
        floors: what is left under channels, mm, and what their coolant spans.
        loads: the pressures.
    """
    held = list(floors)
    return max((tie_n_mm(span, full_mm - left, left, load) for load in loads for left, span in held), default=0.0)
