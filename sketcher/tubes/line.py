"""A centreline in space: straights and arcs through rounded corners. Lengths in mm, angles in degrees."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
#: Points nearer than this are the same point, mm; turns smaller than this are none, radians.
SAME_MM, STRAIGHT_RAD = 1e-6, 1e-6
#: A turn by more than this is no bend any more but a way back, radians.
_BACK_RAD = 3.1


def unit(vector: Vector) -> Vector:
    """The vector at length 1; zeros stay zeros."""
    size = float(np.linalg.norm(vector))
    return vector / size if size > 0 else vector


@dataclass(frozen=True, eq=False)
class SpaceBend:
    """A rounded corner in space.

    Attributes:
        corner: where the straights would meet, (3,).
        before, after: unit vectors of travel into and out of it.
        angle_deg: by how much the tube turns.
        radius: of the centreline, mm; 0 is a kink.
        wanted: the radius asked for: where there is no room the bend is tighter.
    """

    corner: Vector
    before: Vector
    after: Vector
    angle_deg: float
    radius: float
    wanted: float

    @property
    def fits(self) -> bool:
        """Whether the radius asked for found room."""
        return self.radius >= self.wanted - 1e-6

    @property
    def setback(self) -> float:
        """From where the bend begins to the corner: R tan(θ/2), mm."""
        return self.radius * math.tan(math.radians(self.angle_deg) / 2) if self.radius else 0.0

    @property
    def arc_length(self) -> float:
        """Along the centreline, which is the neutral line of an evenly heated or drawn bend: Rθ, mm."""
        return self.radius * math.radians(self.angle_deg)

    @property
    def normal(self) -> Vector:
        """Axis of the turn, right-handed, (3,)."""
        return unit(np.cross(self.before, self.after))


@dataclass(frozen=True, eq=False)
class SpaceLine:
    """A centreline: corners (n, 3) and the bends at the inner ones, in order."""

    corners: Vector
    bends: tuple[SpaceBend, ...]

    @cached_property
    def straights(self) -> tuple[float, ...]:
        """Straight lengths before, between and after the bends, mm: one more than there are bends."""
        places = [self.corners[0], *(bend.corner for bend in self.bends), self.corners[-1]]
        taken = [0.0, *(bend.setback for bend in self.bends), 0.0]
        return tuple(
            max(float(np.linalg.norm(b - a)) - taken[i] - taken[i + 1], 0.0)
            for i, (a, b) in enumerate(itertools.pairwise(places))
        )

    @cached_property
    def length(self) -> float:
        """Along the centreline, mm."""
        return math.fsum(self.straights) + math.fsum(bend.arc_length for bend in self.bends)

    @property
    def first(self) -> Vector:
        """Unit vector of travel at the start."""
        return unit(self.corners[1] - self.corners[0])

    @property
    def last(self) -> Vector:
        """Unit vector of travel at the end."""
        return unit(self.corners[-1] - self.corners[-2])

    def points(self, step_deg: float = 10.0) -> Vector:
        """The centreline as points (m, 3), arcs in chords of at most ``step_deg``."""
        parts = list(self.parts(step_deg))
        return np.vstack([parts[0][:1], *(part[1:] for part in parts)])

    def parts(self, step_deg: float = 10.0) -> Iterator[Vector]:
        """The straights and the bends in order, each as points (m, 3) that begin where the last one ended."""
        at = self.corners[0]
        for bend in self.bends:
            begin = bend.corner - bend.setback * bend.before
            yield np.array([at, begin])
            at = begin
            if bend.radius <= 0:
                continue
            inward = unit(np.cross(bend.normal, bend.before))
            centre = begin + bend.radius * inward
            steps = max(2, math.ceil(bend.angle_deg / step_deg))
            turned = np.radians(bend.angle_deg) * np.arange(steps + 1)[:, None] / steps
            arc = centre + bend.radius * (np.sin(turned) * bend.before - np.cos(turned) * inward)
            yield arc
            at = arc[-1]
        yield np.array([at, self.corners[-1]])


def rounded(corners: Sequence[Sequence[float]] | Vector, radii: Sequence[float]) -> SpaceLine:
    """The centreline through corners in space, each inner one rounded to its radius.

    Where two roundings do not fit on the straight between them, both shrink in proportion; the bends say so. Corners
    where the line runs straight on have no bend.

    Args:
        corners: (n, 3), mm, n of 2 at least; repeated ones count once.
        radii: one for each corner; those of the ends are not used.
    """
    places: list[Vector] = []
    asked: list[float] = []
    for corner, radius in zip(np.asarray(corners, dtype=float), radii, strict=True):
        if not places or float(np.linalg.norm(corner - places[-1])) > SAME_MM:
            places.append(corner)
            asked.append(radius)
    if len(places) < 2:
        places = [places[0], places[0] + np.array([0.0, 0.0, SAME_MM])]
        asked = [0.0, 0.0]
    turns, kept = [], [0]
    for i in range(1, len(places) - 1):
        before, after = unit(places[i] - places[kept[-1]]), unit(places[i + 1] - places[i])
        turn = math.atan2(float(np.linalg.norm(np.cross(before, after))), float(before @ after))
        if turn > STRAIGHT_RAD:
            kept.append(i)
            turns.append((before, after, turn))
    kept.append(len(places) - 1)
    # A line that turns straight back has no bend there: its arc would begin at infinity.
    wishes = list(asked)
    for i, (_, _, turn) in zip(kept[1:-1], turns, strict=True):
        wishes[i] = asked[i] if turn <= _BACK_RAD else 0.0
    tangents = [0.0, *(wishes[i] * math.tan(t[2] / 2) for i, t in zip(kept[1:-1], turns, strict=True)), 0.0]
    shrink = [1.0] * len(kept)
    for n in range(len(kept) - 1):
        room = float(np.linalg.norm(places[kept[n + 1]] - places[kept[n]]))
        need = tangents[n] + tangents[n + 1]
        if need > room:
            shrink[n], shrink[n + 1] = min(shrink[n], room / need), min(shrink[n + 1], room / need)
    bends = tuple(
        SpaceBend(places[i], before, after, math.degrees(turn), wishes[i] * shrink[n + 1], asked[i])
        for n, (i, (before, after, turn)) in enumerate(zip(kept[1:-1], turns, strict=True))
    )
    return SpaceLine(np.array([places[i] for i in kept]), bends)
