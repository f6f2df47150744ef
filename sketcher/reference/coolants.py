"""Density, heat capacity, viscosity and conductivity of the coolants, from the table that ``make_coolants`` made."""

from __future__ import annotations

import csv
import math
from collections import defaultdict
from dataclasses import dataclass
from functools import cache
from importlib import resources

import numpy as np
from numpy.typing import NDArray

from . import tables

Array = NDArray[np.float64]


@dataclass(frozen=True)
class CoolantRows:
    """One coolant at one strength over temperature.

    Arrays are (n,): ``temperature_c`` rising, ``density`` kg/m³, ``heat_capacity`` J/(kg K), ``viscosity`` Pa s,
    ``conductivity`` W/(m K). ``freezing_c`` is where the first ice forms.
    """

    kind: str
    strength_percent: float
    freezing_c: float
    temperature_c: Array
    density: Array
    heat_capacity: Array
    viscosity: Array
    conductivity: Array


@cache
def _columns() -> dict[str, dict[float, CoolantRows]]:
    text = resources.files(__package__).joinpath("data", "coolants.csv").read_text(encoding="utf-8")
    lines = [line for line in text.splitlines() if not line.startswith("#")]
    grouped: dict[tuple[str, float, float], list[list[float]]] = defaultdict(list)
    for row in csv.DictReader(lines):
        if not row["source"]:
            raise tables.BadTable("coolants: a row without a source")
        key = (row["kind"], float(row["strength_percent"]), float(row["freezing_c"]))
        names = ("temperature_c", "density_kg_m3", "heat_capacity_j_kg_k", "viscosity_pa_s", "conductivity_w_m_k")
        grouped[key].append([float(row[name]) for name in names])
    found: dict[str, dict[float, CoolantRows]] = defaultdict(dict)
    for (kind, strength, freezing), values in grouped.items():
        found[kind][strength] = CoolantRows(kind, strength, freezing, *np.array(values).T)
    return dict(found)


def kinds() -> tuple[str, ...]:
    """The coolants there are."""
    return tuple(_columns())


def strongest_percent(kind: str) -> float:
    """The greatest strength the table holds, % by mass. Raises UnknownEntry."""
    return max(_columns()[tables.pick("coolant", kind, _columns())])


def rows(kind: str, strength_percent: float = 0.0) -> CoolantRows:
    """The coolant at a strength (% by mass), between the table's strengths by a cubic through the four nearest.

    Raises:
        UnknownEntry: no such coolant.
        ValueError: a strength that the table does not reach.
    """
    columns = _columns()[tables.pick("coolant", kind, _columns())]
    strengths = sorted(columns)
    if not strengths[0] <= strength_percent <= strengths[-1]:
        raise ValueError(f"{kind} is tabulated from {strengths[0]:g} to {strengths[-1]:g} %, not at {strength_percent}")
    if strength_percent in columns:
        return columns[strength_percent]
    freezing = _through(strengths, [columns[s].freezing_c for s in strengths], strength_percent)
    every = sorted({float(t) for s in strengths for t in columns[s].temperature_c if t >= freezing})
    values = []
    for celsius in every:
        # A weaker mixture may be ice here; only those that are liquid lend their values.
        liquid = [s for s in strengths if columns[s].temperature_c[0] <= celsius]
        at = {s: int(np.searchsorted(columns[s].temperature_c, celsius)) for s in liquid}
        values.append(
            [
                math.exp(
                    _through(liquid, [math.log(getattr(columns[s], name)[at[s]]) for s in liquid], strength_percent)
                )
                for name in ("density", "heat_capacity", "viscosity", "conductivity")
            ]
        )
    return CoolantRows(kind, strength_percent, freezing, np.array(every), *np.array(values).T)


def _through(xs: list[float], ys: list[float], x: float) -> float:
    """Lagrange's polynomial through the four points nearest to ``x``."""
    nearest = sorted(sorted(range(len(xs)), key=lambda i: abs(xs[i] - x))[:4])
    return sum(ys[i] * math.prod((x - xs[j]) / (xs[i] - xs[j]) for j in nearest if j != i) for i in nearest)
