"""Friction in rectangular and round ways: laminar, turbulent, and one smooth rising curve between.

SI units. The friction factor is Darcy's, on the hydraulic diameter: Δp = f (L/D) ½ρv².
All functions work on arrays (n,), one entry a way.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

#: f·Re of fully developed laminar flow in a round way (Hagen and Poiseuille, exact).
ROUND = 64.0
#: Between these Reynolds numbers the flow may be either; the curve between is a convention, not physics.
LAMINAR_TO, TURBULENT_FROM = 2300.0, 4000.0
_TWO_OVER_LN10 = 2 / math.log(10)


def laminar_rectangular(aspect: ArrayLike) -> Array:
    """f·Re of fully developed laminar flow in a rectangular way.

    f·Re = 96 (1 - 1.3553a + 1.9467a² - 1.7012a³ + 0.9564a⁴ - 0.2537a⁵), within 0.05 % of the exact series.
    Source: Shah and London, Laminar Flow Forced Convection in Ducts, 1978.

    Args:
        aspect: shorter side over longer side, 0 to 1.
    """
    a = np.asarray(aspect, dtype=float)
    return np.asarray(96 * (1 - a * (1.3553 - a * (1.9467 - a * (1.7012 - a * (0.9564 - 0.2537 * a))))))


def colebrook(reynolds: ArrayLike, relative_roughness: ArrayLike) -> tuple[Array, Array]:
    """Colebrook and White's friction factor and its slope d(ln f)/d(ln Re).

    1/√f = -2 log10(ε/3.7 + 2.51/(Re √f)), solved by Newton's method from Haaland's explicit formula; three steps
    reach rounding. Source: Colebrook, J. Inst. Civil Engineers 11, 1939. Range: Re from 4000 up, ε at most 0.05.

    Args:
        reynolds: Reynolds number, above 0.
        relative_roughness: ε, sand roughness over diameter.
    """
    re = np.asarray(reynolds, dtype=float)
    rough = np.asarray(relative_roughness, dtype=float) / 3.7
    x = -1.8 * np.log10(rough**1.11 + 6.9 / re)
    smooth = 2.51 / re
    for _ in range(3):
        inside = rough + smooth * x
        x = x - (x + _TWO_OVER_LN10 * np.log(inside)) / (1 + _TWO_OVER_LN10 * smooth / inside)
    pull = _TWO_OVER_LN10 * smooth / (rough + smooth * x)
    return np.asarray(x**-2.0), np.asarray(-2 * pull / (1 + pull))


@dataclass(frozen=True, eq=False)
class Walls:
    """What the walls of n ways do to the flow.

    Attributes:
        laminar: f·Re of fully developed laminar flow, (n,): 64 in a round way.
        roughness: sand roughness over hydraulic diameter, (n,).

    Turbulent friction in a rectangular way is Colebrook's at the laminar-equivalent Reynolds number Re·64/(f·Re)
    (Jones, J. Fluids Eng. 98, 1976; within about 5 %).
    """

    laminar: Array
    roughness: Array

    @cached_property
    def _blend(self) -> tuple[Array, Array, Array]:
        f, slope = colebrook(TURBULENT_FROM * ROUND / self.laminar, self.roughness)
        return np.log(self.laminar / LAMINAR_TO), np.log(f), slope

    def factor(self, reynolds: Array) -> tuple[Array, Array]:
        """The friction factor and its slope d(ln f)/d(ln Re), each (n,).

        Below Re 2300 laminar, above 4000 turbulent. Between, ln f follows a cubic in ln Re that meets both with
        their own slopes: the pressure rises all the way, without a step or a kink. Nothing is certain there.

        Args:
            reynolds: on the hydraulic diameter, (n,), above 0.
        """
        f = self.laminar / reynolds
        slope = np.full_like(f, -1.0)
        if not (reynolds > LAMINAR_TO).any():
            return f, slope
        turbulent = reynolds >= TURBULENT_FROM
        if turbulent.any():
            at = np.maximum(reynolds, TURBULENT_FROM) * ROUND / self.laminar
            f_turbulent, slope_turbulent = colebrook(at, self.roughness)
            f = np.where(turbulent, f_turbulent, f)
            slope = np.where(turbulent, slope_turbulent, slope)
        between = (reynolds > LAMINAR_TO) & ~turbulent
        if between.any():
            start, end, end_slope = self._blend
            span = math.log(TURBULENT_FROM / LAMINAR_TO)
            t = np.log(np.maximum(reynolds, LAMINAR_TO) / LAMINAR_TO) / span
            a, b = -span, end_slope * span
            rise = end - start
            cubic, square = a + b - 2 * rise, 3 * rise - 2 * a - b
            f = np.where(between, np.exp(start + t * (a + t * (square + t * cubic))), f)
            slope = np.where(between, (a + t * (2 * square + 3 * t * cubic)) / span, slope)
        return f, slope


#: Shah's constants for developing laminar flow by aspect 0, 0.2, 0.5, 1: K(∞) and C. From memory; K(∞) is held
#: against Lundgren's integral over the exact profile in the tests.
_ENTRY_ASPECTS = (0.0, 0.2, 0.5, 1.0)
_ENTRY_K = (0.674, 0.931, 1.28, 1.43)
_ENTRY_C = (2.9e-5, 7.6e-5, 2.1e-4, 2.9e-4)
ENTRY_ROUND = (1.25, 2.12e-4)


def entry_constants(aspect: ArrayLike) -> tuple[Array, Array]:
    """Shah's K(∞) and C of rectangular ways, between the tabulated aspects by straight lines; see ``developing``."""
    a = np.asarray(aspect, dtype=float)
    return np.interp(a, _ENTRY_ASPECTS, _ENTRY_K), np.interp(a, _ENTRY_ASPECTS, _ENTRY_C)


@dataclass(frozen=True, eq=False)
class Entries:
    """The start of n ways, where the flow still develops.

    Attributes:
        length_ratio: length over hydraulic diameter, (n,).
        laminar: Darcy f·Re, (n,).
        k_infinite, c: Shah's constants, (n,).
    """

    length_ratio: Array
    laminar: Array
    k_infinite: Array
    c: Array

    def developing(self, reynolds: Array) -> tuple[Array, Array]:
        """What developing flow loses beyond developed friction, in velocity heads, and d/d(ln Re) of it; each (n,).

        Shah's closed form with x = L/(D Re): f_app Re = 3.44/√x + (K/(4x) + fRe - 3.44/√x)/(1 + C/x²), Fanning's f,
        from a flat profile, within 2.4 %. Source: Shah, J. Fluids Eng. 100, 1978; laminar only, Re up to 2300.
        Above, the *pressure* levels off at Re 3150 and stays: a turbulent profile develops within a few diameters,
        and the loss must not fall when the flow rises. That continuation is ours, and small beside the turbulent
        friction.
        """
        over = np.clip((reynolds - LAMINAR_TO) / (TURBULENT_FROM - LAMINAR_TO), 0.0, 1.0)
        held = LAMINAR_TO + (TURBULENT_FROM - LAMINAR_TO) * over * (1 - over / 2)
        at = np.where(over > 0, held, reynolds)
        # d(ln at)/d(ln Re): 1 while laminar, then down to 0
        follow = np.where(over > 0, (1 - over) * reynolds / held, 1.0)
        x = self.length_ratio / at
        fanning = self.laminar / 4
        steep = 3.44 / np.sqrt(x)
        top = self.k_infinite / (4 * x) + fanning - steep
        bottom = 1 + self.c / x**2
        extra = steep + top / bottom - fanning
        heads = 4 * x * extra
        slope_x = -steep / 2 + (steep / 2 - self.k_infinite / (4 * x)) / bottom + 2 * top * (bottom - 1) / bottom**2
        slope = -(heads + 4 * x * slope_x)
        fade = (at / reynolds) ** 2
        return heads * fade, fade * (slope * follow + 2 * heads * (follow - 1))
