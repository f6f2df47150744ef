"""Whether screws hold the lid down: force on each, opening of the lid between them, what is left of the squeeze.

Loads: the cord pushes with its line load along the whole groove; the pressure pushes on the whole sealed area, since
water creeps under the lid up to the cord. Each screw carries the cord and the share of pressure along half the way
to its neighbours.

Opening at the cord is the sum of two bendings of the lid:

- across, a strip from screw line to screw line, simply supported, length b, with the cord's line load F at the
  distance e from each end and the pressure q all over:
  y(e) = F e² (3 b - 4 e) / (6 D) + q e (b³ - 2 b e² + e³) / (24 D), D = E t³ / (12 (1 - ν²))
  (Roark, table 8.1, cases 1e and 2e, for a strip of unit width with E replaced by E / (1 - ν²)); for a part that is
  a rectangle the strip's figure is lessened as the plate's is, by α(a/b) / α(∞) of table 11.4, case 1a;
- along, a beam between two neighbouring screws, fixed at both, length s, uniform load w per mm:
  y = w s⁴ / (384 E I), I = B t³ / 12 (Roark, table 8.1, case 2d), B = 2 e + t the strip that goes with it
  (common practice, no source).

That the lid rests on the body outside the screws and cannot tilt freely is left out, on the safe side. Compared with
finite elements in ``tests/published/test_seal_lid.py``.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import Polygon

from sketcher.reference.flat_plates import plate_case
from sketcher.strength.flat_plate import POISSON, Span, largest_span

Point = tuple[float, float]


@dataclass(frozen=True)
class Lid:
    """The lid's thickness, mm, and its modulus, MPa: the short one for tests, the creep one for years."""

    thickness_mm: float
    modulus_mpa: float

    @property
    def rigidity(self) -> float:
        """Plate rigidity D, N mm."""
        return self.modulus_mpa * self.thickness_mm**3 / 12 / (1 - POISSON**2)


@dataclass(frozen=True)
class ScrewLoad:
    """One screw: the groove it holds down, mm, and the forces on it, N.

    ``prying_n`` is what the lid adds as it pivots on the body outside the screw, or what a neighbour takes off it
    (then it is below 0): the plate's pull less cord and pressure.
    """

    id: str
    share_mm: float
    cord_n: float
    pressure_n: float
    prying_n: float = 0.0

    @property
    def total_n(self) -> float:
        """Force to hold, N."""
        return self.cord_n + self.pressure_n + self.prying_n


@dataclass(frozen=True)
class Gap:
    """The groove between two neighbouring screws.

    ``along_mm`` is measured along the groove, ``apart_mm`` straight from screw to screw; ``opening_mm`` is how far the
    lid lifts at the cord; ``at`` is the middle, ``middle_mm`` along the ring of that number.
    """

    screws: tuple[str, ...]
    along_mm: float
    apart_mm: float
    opening_mm: float
    at: Point
    ring: int = 0
    middle_mm: float = 0.0


@dataclass(frozen=True)
class Clamping:
    """Forces and openings of one sealed part."""

    loads: tuple[ScrewLoad, ...]
    gaps: tuple[Gap, ...]
    unheld: tuple[Point, ...]

    @property
    def opening_mm(self) -> float:
        """How far the lid lifts at the cord where it lifts most, mm."""
        return max((gap.opening_mm for gap in self.gaps), default=0.0)


def clamp(
    part: Polygon,
    screws: Mapping[str, Point],
    *,
    lid: Lid,
    line_load_n_mm: float,
    pressure_kpa: float,
    reach_mm: float,
    span: Span | None = None,
) -> Clamping:
    """Loads on the screws that hold one sealed part, and the lid's opening between them.

    Args:
        part: sealed area; its rings are the groove's centreline.
        screws: axes of the lid screws by id; one farther than ``reach_mm`` from a ring does not hold it.
        line_load_n_mm: the cord's force per mm.
        pressure_kpa: above the air outside.
        span: of the part, when it is known already.
    """
    rings = [part.exterior, *part.interiors]
    length = sum(ring.length for ring in rings)
    q = pressure_kpa / 1000.0
    pressure_line = q * part.area / length
    left, front, right, rear = part.bounds
    names = [
        name
        for name, (x, y) in screws.items()
        if left - reach_mm <= x <= right + reach_mm and front - reach_mm <= y <= rear + reach_mm
    ]
    axes = np.atleast_1d(np.asarray(shapely.points(np.asarray([screws[name] for name in names]).reshape(-1, 2))))
    span = span or largest_span(part)
    assert span is not None
    loads: dict[str, ScrewLoad] = {}
    gaps: list[Gap] = []
    unheld: list[Point] = []
    for number, ring in enumerate(rings):
        near = shapely.distance(axes, ring)
        holding = np.flatnonzero(near <= reach_mm)
        if not len(holding):
            middle = ring.interpolate(0.5, normalized=True)
            unheld.append((middle.x, middle.y))
            continue
        along = shapely.line_locate_point(ring, axes[holding])
        order = np.argsort(along, kind="stable")
        holding, along = holding[order], along[order]
        after = np.append(along[1:], along[0] + ring.length)
        widths = after - along
        for index, here in enumerate(holding):
            there = holding[(index + 1) % len(holding)]
            name, width = names[here], float(widths[index])
            share = (width + float(widths[index - 1])) / 2
            old = loads.get(name)
            loads[name] = ScrewLoad(
                name,
                share + (old.share_mm if old else 0.0),
                line_load_n_mm * share + (old.cord_n if old else 0.0),
                pressure_line * share + (old.pressure_n if old else 0.0),
            )
            one, other = screws[name], screws[names[there]]
            apart = math.dist(one, other) if here != there else width
            offset = float(max(near[here], near[there]))
            opening = _across(span, offset, lid, line_load_n_mm, q) + _between(
                apart, offset, lid, line_load_n_mm + pressure_line
            )
            middle_mm = (float(along[index]) + width / 2) % ring.length
            middle = ring.interpolate(middle_mm)
            pair = (name,) if here == there else (name, names[there])
            gaps.append(Gap(pair, width, apart, opening, (middle.x, middle.y), number, middle_mm))
    return Clamping(tuple(loads.values()), tuple(gaps), tuple(unheld))


def by_plate(
    found: Clamping, pulls_n: Mapping[str, float], lifts_mm: Sequence[NDArray[np.float64]], part: Polygon
) -> Clamping:
    """The same screws and gaps with the pulls and lifts that the whole plate gives.

    Args:
        found: from ``clamp``.
        pulls_n: on every screw, by id; a screw of two parts has its whole pull in both. One that stands outside the
            lid holds nothing and is left out.
        lifts_mm: for each ring of the part, lifts at even places along it.
    """
    loads = tuple(
        replace(load, prying_n=pulls_n.get(load.id, 0.0) - load.cord_n - load.pressure_n) for load in found.loads
    )
    rings = [part.exterior, *part.interiors]
    gaps = []
    for gap in found.gaps:
        lifts, ring = lifts_mm[gap.ring], rings[gap.ring]
        length = ring.length
        step = length / len(lifts)
        # The places within half the gap, and one more, to either side of its middle.
        reach = min(gap.along_mm / 2 + step, length / 2)
        first, last = math.ceil((gap.middle_mm - reach) / step - 0.5), math.floor((gap.middle_mm + reach) / step - 0.5)
        own = np.arange(first, max(first, last) + 1) % len(lifts)
        worst = int(own[np.argmax(lifts[own])])
        at = ring.interpolate((worst + 0.5) * step)
        gaps.append(replace(gap, opening_mm=max(float(lifts[worst]), 0.0), at=(at.x, at.y)))
    return replace(found, loads=loads, gaps=tuple(gaps))


def _across(span: Span, e: float, lid: Lid, force: float, q: float) -> float:
    b, a = span.b_mm + 2 * e, span.a_mm + 2 * e
    case = plate_case("simply supported")
    two_way = case.coefficients(max(a / b, 1.0))[1] / case.alpha[-1]
    cord = force * e**2 * (3 * b - 4 * e) / 6
    pressure = q * e * (b**3 - 2 * b * e**2 + e**3) / 24
    return two_way * (cord + pressure) / lid.rigidity


def _between(s: float, e: float, lid: Lid, load: float) -> float:
    inertia = (2 * e + lid.thickness_mm) * lid.thickness_mm**3 / 12
    return load * s**4 / (384 * lid.modulus_mpa * inertia)
