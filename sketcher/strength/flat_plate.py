"""Stress and deflection of a flat lid or floor under pressure, and the largest span of a true shape.

Formulas: Roark, table 11.4, cases 1a and 8a (``reference.flat_plates``), ν = 0.3; small deflection, thin plate. The
table holds for thickness up to about a quarter of the span and deflection up to about half the thickness (Roark,
section 11.1); the result says when it is outside.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import lru_cache

import shapely
from shapely.geometry import MultiPolygon, Polygon

from sketcher.reference.flat_plates import Edges, plate_case

POISSON = 0.3
_CIRCLE_MM = 0.1
_RECTANGLE_FILL = 0.95


class PlateError(ValueError):
    """A plate that cannot be: a size, a modulus or a pressure out of range."""


@dataclass(frozen=True)
class Span:
    """What a pressed area spans: the short side b and the long one a (infinite for a long strip), mm, and where."""

    b_mm: float
    a_mm: float
    at: tuple[float, float]

    @property
    def ratio(self) -> float:
        """a/b."""
        return self.a_mm / self.b_mm

    def widened(self, beyond_mm: float) -> Span:
        """The span when its supports lie farther out on every side."""
        return Span(self.b_mm + 2 * beyond_mm, self.a_mm + 2 * beyond_mm, self.at)


@dataclass(frozen=True)
class PlateResult:
    """Largest stress (MPa) and deflection (mm) of a plate, and whether the formula's range was kept."""

    stress_mpa: float
    deflection_mm: float
    edges: str
    source: str
    thin: bool
    small_deflection: bool


def pressed_plate(
    span: Span, thickness_mm: float, pressure_kpa: float, modulus_mpa: float, edges: Edges
) -> PlateResult:
    """Stress and deflection of a rectangular plate a × b: s = β q b²/t², y = α q b⁴/(E t³).

    Raises:
        PlateError: thickness, span or modulus not above 0, or a negative pressure.
    """
    if not (thickness_mm > 0 and math.isfinite(thickness_mm)):
        raise PlateError(f"the thickness is {thickness_mm:g} mm; a lid or floor needs one above 0")
    if not (span.b_mm > 0 and math.isfinite(span.b_mm)):
        raise PlateError(f"the span is {span.b_mm:g} mm; it must be above 0")
    if not modulus_mpa > 0:
        raise PlateError(f"the modulus is {modulus_mpa:g} MPa; it must be above 0")
    if not pressure_kpa >= 0:
        raise PlateError(f"the pressure is {pressure_kpa:g} kPa; give it as 0 or more above the air outside")
    case = plate_case(edges)
    beta, alpha = case.coefficients(max(span.ratio, 1.0))
    q = pressure_kpa / 1000.0
    deflection = alpha * q * span.b_mm**4 / (modulus_mpa * thickness_mm**3)
    return PlateResult(
        stress_mpa=beta * q * span.b_mm**2 / thickness_mm**2,
        deflection_mm=deflection,
        edges=edges,
        source=case.source,
        thin=thickness_mm <= span.b_mm / 4,
        small_deflection=deflection <= thickness_mm / 2,
    )


def needed_thickness_mm(span: Span, pressure_kpa: float, stress_mpa: float, edges: Edges) -> float:
    """The thickness at which the stress is just ``stress_mpa``: t = b √(β q / s)."""
    beta, _ = plate_case(edges).coefficients(max(span.ratio, 1.0))
    return span.b_mm * math.sqrt(beta * pressure_kpa / 1000.0 / stress_mpa)


def largest_span(area: Polygon | MultiPolygon, *, beyond_mm: float = 0.0) -> Span | None:
    """The worst span of a pressed area, from its shape itself.

    A part that is all but a rectangle (it fills 95 % of the smallest rectangle about it) spans that rectangle. Any
    other counts as an endless strip as wide as the largest circle that fits in it, b = 2 r. For convex shapes that is
    a bound: the sum of the moments of a simply supported plate solves Poisson's equation, whose maximum is at most
    r²/2, the strip's own (Payne). For shapes with arms (tees, crosses, ells) it is checked against finite elements
    in ``tests/published``, not proved. On a round pool it is high by a factor of about 2.4.

    Args:
        area: the pressed area in plan, holes included.
        beyond_mm: how far outside the area the support lies (the screws); added on every side.
    """
    parts = (part for part in shapely.get_parts(area) if not part.is_empty)
    return worst_span(_span_of(part.wkb).widened(beyond_mm) for part in parts)


def span_of_channels(area: Polygon, half_mm: float, on_axis: tuple[float, float]) -> Span:
    """As ``largest_span``, of channels that meet, the widest of them 2 ``half_mm`` wide: quicker, and closer.

    Along a channel every place of its axis is the middle of a largest circle, and a search follows all of them. So what
    is nearer to the edge than half the widest channel is taken off first: where nothing is left, no circle is wider;
    else the largest circle in what is left is by that much smaller than that in the whole, about the same middle. (The
    way from a place inside to the edge crosses the border of what is left where exactly that much is to go.)

    Args:
        area: the channels, united.
        half_mm: half the width of the widest.
        on_axis: a place on its axis.
    """
    off = half_mm + _BEYOND_MM
    left = shapely.buffer(area, -off, quad_segs=16)
    parts = [part for part in shapely.get_parts(left) if isinstance(part, Polygon) and not part.is_empty]
    radius, middle = off, on_axis
    for part in parts:
        circle = shapely.maximum_inscribed_circle(part, tolerance=_BEYOND_MM)
        if off + circle.length > radius:
            (x, y), radius = circle.coords[0], off + circle.length
            middle = (x, y)
    return _rectangle(area, middle) or Span(2 * (radius + _BEYOND_MM), math.inf, middle)


#: So much beyond half a channel's width is still no wider place; and how closely wider ones are sought, mm.
_BEYOND_MM = 0.02


def _rectangle(part: Polygon, middle: tuple[float, float]) -> Span | None:
    """The smallest rectangle about a part that all but fills it."""
    box = shapely.minimum_rotated_rectangle(part)
    if part.area < _RECTANGLE_FILL * box.area:
        return None
    corners = shapely.get_coordinates(box)
    b, a = sorted(math.dist(corners[i], corners[i + 1]) for i in range(2))
    return Span(b, a, middle)


def worst_span(spans: Iterable[Span | None]) -> Span | None:
    """The span that bends most under the same pressure; none for none."""
    return max((span for span in spans if span is not None), key=weight, default=None)


@lru_cache(maxsize=4096)
def _span_of(region: bytes) -> Span:
    """The span of one part, given as WKB. Kept: while one thing is dragged the other parts stay as they are."""
    part = _polygon(region)
    # A coarser outline is much quicker; what it and the search may miss is added.
    circle = shapely.maximum_inscribed_circle(shapely.simplify(part, _CIRCLE_MM), tolerance=_CIRCLE_MM)
    x, y = circle.coords[0]
    return _rectangle(part, (x, y)) or Span(2 * (circle.length + 2 * _CIRCLE_MM), math.inf, (x, y))


def _polygon(region: bytes) -> Polygon:
    found = shapely.from_wkb(region)
    assert isinstance(found, Polygon)
    return found


@lru_cache(maxsize=8192)
def weight(span: Span) -> float:
    """How much a span bends beside others under the same pressure: β b²."""
    beta, _ = plate_case("simply supported").coefficients(max(span.ratio, 1.0))
    return beta * span.b_mm**2
