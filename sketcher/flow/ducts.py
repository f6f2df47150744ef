"""The loss of many ways at once: friction, bends, turns and section changes. SI units, arrays (n,)."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from functools import cached_property, partial

import numpy as np
from numpy.typing import NDArray

from sketcher.document.remembered import Remembered
from sketcher.flow.friction import ENTRY_ROUND, ROUND, Entries, Walls, entry_constants, laminar_rectangular
from sketcher.flow.losses import (
    TURN_FULL_RE,
    TURN_HELD_RE,
    TURN_POWER,
    bend_factor,
    bend_friction_lengths,
    low_reynolds,
    mitre,
)

Array = NDArray[np.float64]

#: Below this Reynolds number a way's loss is a straight line through nothing.
_STRAIGHT_BELOW = 1e-2


@dataclass(frozen=True)
class BendIn:
    """A bend on a way: by how much it turns (degrees) and its radius over the width in its plane."""

    angle_deg: float
    radius_over_width: float


@dataclass(frozen=True)
class Duct:
    """One way of even section; lengths in m. A round one has ``width`` = ``depth`` = its diameter.

    ``k_forward``/``k_backward`` are constant loss coefficients on its own velocity, ``turn_forward``/``turn_backward``
    those of sharp turns, which grow as Re falls, ``low_forward``/``low_backward`` come on top divided by Re, and
    ``inlet_low_*`` is what the fitting at its inlet loses that way already: developing flow counts only as far as it
    loses more.
    """

    width: float
    depth: float
    length: float
    round: bool = False
    roughness: float = 0.0
    bends: tuple[BendIn, ...] = ()
    k_forward: float = 0.0
    k_backward: float = 0.0
    turn_forward: float = 0.0
    turn_backward: float = 0.0
    low_forward: float = 0.0
    low_backward: float = 0.0
    inlet_low_forward: float = 0.0
    inlet_low_backward: float = 0.0

    @property
    def area(self) -> float:
        """Section, m²."""
        return np.pi / 4 * self.width**2 if self.round else self.width * self.depth

    @property
    def hydraulic_diameter(self) -> float:
        """Four sections over the wetted perimeter, m."""
        return self.width if self.round else 2 * self.width * self.depth / (self.width + self.depth)

    @property
    def volume(self) -> float:
        """m³."""
        return self.area * self.length


@dataclass(frozen=True, eq=False)
class DuctState:
    """What each way does at its flow: Reynolds number, Darcy's f, velocity (m/s), friction and other loss (Pa)."""

    reynolds: Array
    friction_factor: Array
    velocity: Array
    friction: Array
    minor: Array


_rows: Remembered[tuple[float, ...]] = Remembered()
_bend_rows: Remembered[tuple[tuple[float, float, float], ...]] = Remembered()


def _row(d: Duct) -> tuple[float, ...]:
    return (
        d.area, d.hydraulic_diameter, d.length, d.roughness, min(d.width, d.depth) / max(d.width, d.depth),
        d.round, d.k_forward, d.k_backward, d.low_forward, d.low_backward,
        d.inlet_low_forward, d.inlet_low_backward, d.turn_forward, d.turn_backward,
    )  # fmt: skip


def _bends_of(duct: Duct) -> tuple[tuple[float, float, float], ...]:
    """Of each bend its friction lengths, what a sharp turn would lose, and what is lost at low Reynolds numbers."""
    return tuple(
        (min(bend_friction_lengths(b.angle_deg, b.radius_over_width), 1e9), mitre(b.angle_deg),
         low_reynolds(b.angle_deg))
        for b in duct.bends
    )  # fmt: skip


class Ducts:
    """Many ways as arrays, for the solver's inner loop."""

    def __init__(self, ducts: Sequence[Duct]) -> None:
        self.items = tuple(ducts)
        n = len(self.items)
        rows = [_rows.of((duct,), None, partial(_row, duct)) for duct in self.items]
        columns = np.array(rows, dtype=float).reshape(n, 14).T
        self.area, self.diameter, self.length, rough, aspect, is_round = columns[:6]
        self.k, self.low, self.inlet_low, self.turn = columns[6:8], columns[8:10], columns[10:12], columns[12:14]
        #: Of the sharp turns' loss; other than 1 only where another source's values are tried.
        self.turn_scale = np.ones(n)
        laminar = np.where(is_round > 0, ROUND, laminar_rectangular(aspect))
        k_infinite, c = entry_constants(aspect)
        self.length_ratio = self.length / self.diameter
        self.walls = Walls(laminar, np.minimum(rough / self.diameter, 0.05))
        self.entries = Entries(
            np.maximum(self.length_ratio, 1e-6),
            laminar,
            np.where(is_round > 0, ENTRY_ROUND[0], k_infinite),
            np.where(is_round > 0, ENTRY_ROUND[1], c),
        )
        bends = [
            (i, row)
            for i, duct in enumerate(self.items)
            if duct.bends
            for row in _bend_rows.of((duct,), None, partial(_bends_of, duct))
        ]
        self.bend_of = np.array([i for i, _ in bends], dtype=np.intp)
        self.bend_lengths, self.bend_mitre, self.bend_low = np.array([row for _, row in bends]).reshape(-1, 3).T

    def __len__(self) -> int:
        return len(self.items)

    def with_turns(self, scale: Array) -> Ducts:
        """The same ways with every sharp turn's loss times ``scale``, (n,): to try another source's values."""
        found = copy(self)
        found.turn_scale = scale
        return found

    @cached_property
    def volume(self) -> Array:
        """m³ each, (n,)."""
        volume: NDArray[np.float64] = self.area * self.length
        return volume

    def _coefficients(self, flow: Array, density: float, viscosity: Array) -> tuple[Array, ...]:
        """Size of the flow, velocity head, Re, f, friction's K and slope, other K and slope (slopes by ln Re)."""
        scale = density * self.diameter / (self.area * viscosity)
        size = np.maximum(np.abs(flow), _STRAIGHT_BELOW / scale)
        re = size * scale
        velocity = size / self.area
        head = 0.5 * density * velocity * velocity
        f, f_slope = self.walls.factor(re)
        friction = f * self.length_ratio
        way = flow >= 0
        low = np.where(way, self.low[0], self.low[1]) / re
        # A sharp turn's K falls with Re; the factor is worked out once for turns and for bends as tight as one.
        held = np.clip(re, TURN_HELD_RE, TURN_FULL_RE)
        factor = (TURN_FULL_RE / held) ** TURN_POWER * self.turn_scale
        factor_slope = np.where(held == re, -TURN_POWER, 0.0) * factor
        turn = np.where(way, self.turn[0], self.turn[1])
        minor = np.where(way, self.k[0], self.k[1]) + turn * factor + low
        slope = turn * factor_slope - low
        heads, heads_slope = self.entries.developing(re)
        covered = np.where(way, self.inlet_low[0], self.inlet_low[1]) / re
        more = heads > covered
        minor = minor + np.where(more, heads - covered, 0.0)
        slope = slope + np.where(more, heads_slope + covered, 0.0)
        if len(self.bend_of):
            at = self.bend_of
            bend, bend_slope = bend_factor(re[at])
            rounded = f[at] * self.bend_lengths * bend
            sharp_low = self.bend_low / re[at]
            sharp = self.bend_mitre * factor[at] + sharp_low
            is_round = rounded <= sharp
            minor = minor + np.bincount(at, np.where(is_round, rounded, sharp), len(flow))
            slope = slope + np.bincount(
                at,
                np.where(
                    is_round, rounded * (f_slope[at] + bend_slope), self.bend_mitre * factor_slope[at] - sharp_low
                ),
                len(flow),
            )
        return size, head, re, f, friction, friction * f_slope, minor, slope

    def loss(self, flow: Array, density: float, viscosity: Array) -> tuple[Array, Array]:
        """Pressure lost along each way (Pa) and its slope (Pa per m³/s).

        Args:
            flow: m³/s, either direction.
            density: kg/m³.
            viscosity: Pa s, (n,).
        """
        size, head, _, _, friction, friction_slope, minor, minor_slope = self._coefficients(flow, density, viscosity)
        total = friction + minor
        pressure = head * total
        slope = head / size * (2 * total + friction_slope + minor_slope)
        return pressure * (flow / size), np.where(np.abs(flow) < size, pressure / size, slope)

    def state(self, flow: Array, density: float, viscosity: Array) -> DuctState:
        """What each way does at its flow; see ``loss`` for the arguments."""
        size, head, re, f, friction, _, minor, _ = self._coefficients(flow, density, viscosity)
        part = np.abs(flow) / size
        return DuctState(re * part, f, size * part / self.area, head * friction * part, head * minor * part)
