"""What a wrong reading probably should have been.

Slips of the hand and the eye are tried on the number as it was typed and on what it was read between. A slip is
believed when it explains the value that the other readings predict, and it is shown only when the whole survey then
agrees. The list of slips is common practice, no source.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

UNITS_MM = {"mm": 1.0, "cm": 10.0, "in": 25.4}
UNIT_NAMES = {"mm": "millimetres", "cm": "centimetres", "in": "inches"}
#: A slip is believed when it leaves no more than this many spreads.
BELIEVED = 3.0
#: No more proposals than this are shown for one reading.
MOST = 4


@dataclass(frozen=True)
class Proposal:
    """A value for a suspect reading: as one would type it, its unit, in mm, and why.

    ``points`` and ``wall`` are set when the value was right but read between other points, or off another wall.
    """

    value: float
    unit: str
    value_mm: float
    why: str
    points: tuple[str, ...] | None = None
    wall: tuple[str, str] | None = None


@dataclass(frozen=True)
class Elsewhere:
    """Another pair of points, or another wall, that the value may belong to, and what the survey makes of it, mm.

    ``apart``: nothing of the reading is kept. There are many such pairs, so one of them often fits by accident.
    """

    points: tuple[str, ...]
    wall: tuple[str, str] | None
    value_mm: float
    spread_mm: float
    why: str
    apart: bool = False


@dataclass(frozen=True)
class Typed:
    """A reading as it was typed, with what its tool and its points may have added or taken away.

    ``jaw_mm``: what reading with the outside of the jaws instead of the inside, or the other way round, is off by;
    ``diameters_mm``: of the round things at its points, half of which an edge is off the middle.
    """

    value: float
    unit: str
    kind: str = "distance"
    jaw_mm: float = 0.0
    diameters_mm: tuple[float, ...] = ()


def proposals(
    typed: Typed,
    predicted_mm: float,
    spread_mm: float,
    elsewhere: Sequence[Elsewhere] = (),
    agrees: Callable[[Proposal], bool] = lambda proposal: True,
) -> list[Proposal]:
    """Believable slips, the best first, and last the value that the others predict; each makes the whole agree.

    Args:
        typed: the reading.
        predicted_mm: what the other readings make of it.
        spread_mm: spread of the difference, tool and prediction together.
        elsewhere: other pairs of points, or walls, that may have been meant.
        agrees: whether the whole survey agrees with a proposal in the reading's place.
    """
    off = slips_found(typed, predicted_mm, spread_mm, elsewhere)
    unit = typed.unit
    plain = _round_to(predicted_mm / UNITS_MM[unit], unit)
    shown = [proposal for proposal in off if agrees(proposal)][:MOST]
    if plain <= 0.0 or any(slip.value == plain and slip.unit == unit and slip.points is None for slip in shown):
        return shown
    last = [Proposal(plain, unit, plain * UNITS_MM[unit], "the other readings agree on this value")]
    # Two other points are only thought of when nothing simpler explains the value, and after the plain value.
    apart = [] if shown else _another_pair(typed, elsewhere)
    return [*shown, *(proposal for proposal in [*last, *apart] if agrees(proposal))]


def slips_found(
    typed: Typed, predicted_mm: float, spread_mm: float, elsewhere: Sequence[Elsewhere] = ()
) -> list[Proposal]:
    """Slips that explain the predicted value, the nearest first."""
    found: dict[tuple[float, str], str] = {}
    for value, other_unit, why in _slips(typed):
        if value > 0.0 and (value, other_unit) != (typed.value, typed.unit):
            found.setdefault((value, other_unit), why)
    believed = [
        (abs(value * UNITS_MM[other] - predicted_mm), Proposal(value, other, value * UNITS_MM[other], why))
        for (value, other), why in found.items()
        if abs(value * UNITS_MM[other] - predicted_mm) <= BELIEVED * spread_mm
    ]
    here = typed.value * UNITS_MM[typed.unit]
    for other in elsewhere:
        off = abs(other.value_mm - here)
        if off <= BELIEVED * other.spread_mm and not other.apart:
            believed.append((off, Proposal(typed.value, typed.unit, here, other.why, other.points, other.wall)))
    believed.sort(key=lambda entry: entry[0])
    return [proposal for _, proposal in believed]


def _another_pair(typed: Typed, elsewhere: Sequence[Elsewhere]) -> list[Proposal]:
    """The one pair of two other points that the value fits; none when several do, which then fit by accident."""
    here = typed.value * UNITS_MM[typed.unit]
    fits = [other for other in elsewhere if other.apart and abs(other.value_mm - here) <= BELIEVED * other.spread_mm]
    if len(fits) != 1:
        return []
    (other,) = fits
    return [Proposal(typed.value, typed.unit, here, other.why, other.points, other.wall)]


def _slips(typed: Typed) -> Iterator[tuple[float, str, str]]:
    value, unit = typed.value, typed.unit
    per_mm = 1.0 / UNITS_MM[unit]
    for swapped in _swapped(value):
        yield swapped, unit, "two digits swapped"
    for other in UNITS_MM:
        if other != unit:
            yield value, other, f"{UNIT_NAMES[other]} typed as {UNIT_NAMES[unit]}"
    yield _tidy(value / 10.0), unit, "the decimal point was lost"
    yield _tidy(value * 10.0), unit, "the decimal point is one place too far left"
    yield _tidy(value / 100.0), unit, "the decimal point was lost"
    yield _tidy(value + 10.0 * per_mm), unit, "10 mm lost at the hook of the tape"
    yield _tidy(value - 10.0 * per_mm), unit, "read from the 10 mm mark of the tape"
    wholes = {"in": ((1.0, "one inch"), (10.0, "ten inches"))}.get(
        unit, ((100.0 * per_mm, "a whole 100 mm"), (200.0 * per_mm, "a whole 200 mm"))
    )
    for whole, name in wholes:
        yield _tidy(value + whole), unit, f"{name} too short"
        yield _tidy(value - whole), unit, f"{name} too long"
    if typed.jaw_mm > 0.0:
        jaw = typed.jaw_mm * per_mm
        yield _tidy(value + jaw), unit, "inside of the jaws read for outside"
        yield _tidy(value - jaw), unit, "outside of the jaws read for inside"
    halves = [diameter / 2 for diameter in typed.diameters_mm]
    for half in sorted({*halves, *([sum(halves)] if len(halves) > 1 else [])}):
        yield _tidy(value + half * per_mm), unit, "read to the near edge instead of the middle"
        yield _tidy(value - half * per_mm), unit, "read to the far edge instead of the middle"


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
