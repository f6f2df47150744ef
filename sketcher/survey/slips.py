"""What a suspect reading probably should have been.

Slips of the hand and the eye are tried on the number as it was typed: two neighbouring digits swapped, 10 mm
lost or won at the hook of a tape, inches read for millimetres, centimetres for millimetres. A slip is believed
when it explains the value that the other readings predict; else that value itself is proposed. The list of
slips is common practice, no source.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

UNITS_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}
#: A slip is believed when it leaves no more than this many spreads.
BELIEVED = 3.0


@dataclass(frozen=True)
class Proposal:
    """A value for a suspect reading: as one would type it, its unit, in mm, and why."""

    value: float
    unit: str
    value_mm: float
    why: str


def proposals(typed: float, unit: str, predicted_mm: float, spread_mm: float) -> list[Proposal]:
    """Believable slips, the best first, and last the value that the others predict.

    Args:
        typed: the number as it was typed, in ``unit``.
        unit: ``mm``, ``cm`` or ``in``.
        predicted_mm: what the other readings make of it.
        spread_mm: spread of the difference, tool and prediction together.
    """
    found: dict[tuple[float, str], str] = {}
    for value, other_unit, why in _slips(typed, unit):
        found.setdefault((value, other_unit), why)
    believed = [
        (abs(value * UNITS_MM[other] - predicted_mm), Proposal(value, other, value * UNITS_MM[other], why))
        for (value, other), why in found.items()
        if abs(value * UNITS_MM[other] - predicted_mm) <= BELIEVED * spread_mm
    ]
    believed.sort(key=lambda entry: entry[0])
    plain = _round_to(predicted_mm / UNITS_MM[unit], unit)
    slips = [proposal for _, proposal in believed]
    if any(slip.value == plain and slip.unit == unit for slip in slips):
        return slips
    return [*slips, Proposal(plain, unit, plain * UNITS_MM[unit], "the other readings agree on this value")]


def _slips(typed: float, unit: str) -> list[tuple[float, str, str]]:
    slips = [(value, unit, "two digits swapped") for value in _swapped(typed)]
    hook = 10.0 / UNITS_MM[unit]
    slips.append((typed + hook, unit, "10 mm lost at the hook of the tape"))
    if typed > hook:
        slips.append((typed - hook, unit, "read from the 10 mm mark of the tape"))
    names = {"mm": "millimetres", "cm": "centimetres", "in": "inches"}
    slips.extend((typed, other, f"{names[other]} typed as {names[unit]}") for other in UNITS_MM if other != unit)
    return [(_tidy(value), other, why) for value, other, why in slips]


def _swapped(typed: float) -> list[float]:
    text = format(Decimal(repr(typed)).normalize(), "f")
    digits = [k for k, sign in enumerate(text) if sign.isdigit()]
    values = []
    for one, other in pairwise(digits):
        if text[one] != text[other]:
            letters = list(text)
            letters[one], letters[other] = letters[other], letters[one]
            values.append(float("".join(letters)))
    return [value for value in values if value > 0]


def _tidy(value: float) -> float:
    return round(value, 9)


def _round_to(value: float, unit: str) -> float:
    return round(value, {"mm": 1, "cm": 2, "in": 3}[unit]) if math.isfinite(value) else value
