"""The coolant's properties by temperature, quick enough for the inner loop of a solver.

SI units and °C: density kg/m³, viscosity Pa s, heat capacity J/(kg K), conductivity W/(m K).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from sketcher.reference import coolants

Array = NDArray[np.float64]

#: Spacing of the fine table. A straight line between its rows is within 0.01 % of the cubic through the coarse one.
_FINE_K = 0.5
WATER = "water"


@dataclass(frozen=True, eq=False)
class Coolant:
    """A coolant at one strength, tabulated finely over temperature (n,).

    ``asked_percent`` is the strength that was asked for; ``strength_percent`` is the one that the table gave.
    """

    kind: str
    strength_percent: float
    asked_percent: float
    freezing_c: float
    celsius: Array
    log_viscosity: Array
    densities: Array
    heat_capacities: Array
    conductivities: Array

    @property
    def name(self) -> str:
        """For people: ``water`` or ``propylene glycol 20 %``."""
        if self.kind == WATER:
            return WATER
        return f"{self.kind.replace('-', ' ')} {self.strength_percent:g} %"

    @property
    def coldest_c(self) -> float:
        """The lowest temperature of the table, about the freezing point."""
        return float(self.celsius[0])

    @property
    def hottest_c(self) -> float:
        """The highest temperature of the table."""
        return float(self.celsius[-1])

    def covers(self, celsius: float) -> bool:
        """Whether the table reaches this temperature; outside it the nearest row is used, which callers must report."""
        return self.coldest_c <= celsius <= self.hottest_c

    def viscosity(self, celsius: float | Array) -> Array:
        """Dynamic viscosity, Pa s."""
        return np.asarray(np.exp(np.interp(celsius, self.celsius, self.log_viscosity)))

    def density(self, celsius: float | Array) -> Array:
        """Density, kg/m³."""
        return np.asarray(np.interp(celsius, self.celsius, self.densities))

    def heat_capacity(self, celsius: float | Array) -> Array:
        """Heat capacity at constant pressure, J/(kg K)."""
        return np.asarray(np.interp(celsius, self.celsius, self.heat_capacities))

    def conductivity(self, celsius: float | Array) -> Array:
        """Heat conductivity, W/(m K)."""
        return np.asarray(np.interp(celsius, self.celsius, self.conductivities))


@lru_cache(maxsize=64)
def coolant(kind: str = WATER, strength_percent: float = 0.0) -> Coolant:
    """The coolant of this kind and strength (% by mass); a strength of nothing is water.

    Beyond the table's strongest mixture (60 %) that one is taken; ``asked_percent`` then differs and the caller
    reports it. Source: IAPWS for water, Melinder 2010 for mixtures, see ``reference/make_coolants.py``.

    Raises:
        UnknownEntry: no such coolant.
    """
    given = kind if strength_percent > 0 and kind != WATER else WATER
    strength = min(strength_percent, coolants.strongest_percent(given))
    rows = coolants.rows(given, strength)
    count = round((rows.temperature_c[-1] - rows.temperature_c[0]) / _FINE_K) + 1
    fine = np.linspace(rows.temperature_c[0], rows.temperature_c[-1], count)

    def spline(values: Array) -> Array:
        return _spline(np.asarray(rows.temperature_c), values, fine)

    return Coolant(
        kind=given,
        strength_percent=strength,
        asked_percent=0.0 if kind == WATER else strength_percent,
        freezing_c=rows.freezing_c,
        celsius=fine,
        log_viscosity=spline(np.log(rows.viscosity)),
        densities=spline(rows.density),
        heat_capacities=spline(rows.heat_capacity),
        conductivities=spline(rows.conductivity),
    )


def _spline(x: Array, y: Array, places: Array) -> Array:
    """The cubic spline through points, its third derivative continuous at the last point but one ("not a knot": de
    Boor, A Practical Guide to Splines, chapter 4). Five points or more; ``scipy.interpolate`` takes long to import."""
    step = np.diff(x)
    rise = np.diff(y) / step
    count = len(x)
    system, right = np.zeros((count, count)), np.zeros(count)
    for i in range(1, count - 1):
        system[i, i - 1 : i + 2] = step[i - 1], 2 * (step[i - 1] + step[i]), step[i]
        right[i] = 6 * (rise[i] - rise[i - 1])
    system[0, :3] = step[1], -(step[0] + step[1]), step[0]
    system[-1, -3:] = step[-1], -(step[-2] + step[-1]), step[-2]
    bend = np.linalg.solve(system, right)
    k = np.clip(np.searchsorted(x, places, side="right") - 1, 0, count - 2)
    d, h = places - x[k], step[k]
    slope = rise[k] - h * (2 * bend[k] + bend[k + 1]) / 6
    return np.asarray(y[k] + d * (slope + d * (bend[k] / 2 + d * (bend[k + 1] - bend[k]) / (6 * h))))
