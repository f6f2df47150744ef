"""Rigid motions in the plane: a shift, or a shift and a turn, and the one that several moves have in common."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

Vector = tuple[float, float]

#: Moves that stray no farther than this from one rigid motion are one, mm.
RIGID_MM = 0.02


@dataclass(frozen=True)
class RigidMotion:
    """A turn (degrees, counter-clockwise) about the origin, then a shift, mm."""

    x: float
    y: float
    turn_deg: float = 0.0

    @staticmethod
    def shift(dx: float, dy: float) -> RigidMotion:
        """A shift alone."""
        return RigidMotion(dx, dy)

    @staticmethod
    def of(place: Callable[[float, float], Vector], turn_deg: float) -> RigidMotion:
        """The motion that a map of points makes, with its turn."""
        return RigidMotion(*place(0.0, 0.0), turn_deg)

    def place(self, x: float, y: float) -> Vector:
        """Where a point goes."""
        c, s = math.cos(math.radians(self.turn_deg)), math.sin(math.radians(self.turn_deg))
        return (self.x + c * x - s * y, self.y + s * x + c * y) if self.turn_deg else (x + self.x, y + self.y)

    def step(self, x: float, y: float) -> Vector:
        """How far a point goes."""
        to = self.place(x, y)
        return (to[0] - x, to[1] - y)


def common_motion(places: Sequence[Vector], moves: Sequence[Vector]) -> RigidMotion | None:
    """The rigid motion that all moves are part of; None when there is none.

    The turn is Kabsch's in the plane: the angle of the sum of products of places and moved places as complex numbers
    about their centres.
    """
    if not places:
        return None
    if all(math.dist(moves[0], other) <= 1e-9 for other in moves[1:]):
        return RigidMotion.shift(*moves[0])
    start = [complex(*place) for place in places]
    end = [a + complex(*move) for a, move in zip(start, moves, strict=True)]
    a0, b0 = sum(start) / len(start), sum(end) / len(end)
    spin = sum((b - b0) * (a - a0).conjugate() for a, b in zip(start, end, strict=True))
    if abs(spin) < 1e-9:
        return None
    unit = spin / abs(spin)
    strays = max(abs(b - b0 - unit * (a - a0)) for a, b in zip(start, end, strict=True))
    if strays > RIGID_MM:
        return None
    at = b0 - unit * a0
    return RigidMotion(at.real, at.imag, math.degrees(math.atan2(unit.imag, unit.real)))
