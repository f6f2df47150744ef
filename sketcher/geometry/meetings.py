"""Where lines and circles meet: the one place that works it out, for offsets, outlines, proposals and the survey.

A line and a circle, or two circles, have a chord in common: a foot, and half the chord to either side of it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

Point = tuple[float, float]


def lines(a: Point, along_a: Point, b: Point, along_b: Point, parallel: float = 1e-12) -> Point | None:
    """Where two lines meet, each through a point and along a vector; none when they are parallel.

    Args:
        parallel: sine of the angle below which they count as parallel.
    """
    cross = along_a[0] * along_b[1] - along_a[1] * along_b[0]
    if abs(cross) < parallel * math.hypot(*along_a) * math.hypot(*along_b) or cross == 0:
        return None
    share = ((b[0] - a[0]) * along_b[1] - (b[1] - a[1]) * along_b[0]) / cross
    return (a[0] + share * along_a[0], a[1] + share * along_a[1])


@dataclass(frozen=True)
class Chord:
    """What two curves have in common: the chord's middle, its direction (a unit vector), and how far the foot is from
    the centre of the circle of this radius. The two do not meet when ``off`` is more than ``radius``."""

    foot: Point
    direction: Point
    off: float
    radius: float

    @property
    def half(self) -> float:
        """Half the chord; 0 where the two miss each other."""
        return math.sqrt(max((self.radius - self.off) * (self.radius + self.off), 0.0))

    @property
    def ends(self) -> list[Point]:
        """Both ends; one when they touch."""
        (x, y), (ux, uy), half = self.foot, self.direction, self.half
        return [(x + half * ux, y + half * uy), (x - half * ux, y - half * uy)] if half > 0 else [(x, y)]


def line_and_circle(start: Point, along: Point, centre: Point, radius: float) -> Chord:
    """The chord of a line, through a point and along a vector that is not zero, in a circle."""
    length = math.hypot(*along)
    ux, uy = along[0] / length, along[1] / length
    share = (centre[0] - start[0]) * ux + (centre[1] - start[1]) * uy
    foot = (start[0] + share * ux, start[1] + share * uy)
    return Chord(foot, (ux, uy), math.dist(foot, centre), radius)


def circles(a: Point, radius_a: float, b: Point, radius_b: float, concentric: float = 1e-9) -> Chord | None:
    """The chord that two circles have in common; none when their centres lie within ``concentric`` of each other."""
    apart = math.dist(a, b)
    if apart < concentric:
        return None
    along = (apart**2 + radius_a**2 - radius_b**2) / (2 * apart)
    ux, uy = (b[0] - a[0]) / apart, (b[1] - a[1]) / apart
    return Chord((a[0] + along * ux, a[1] + along * uy), (-uy, ux), abs(along), radius_a)
