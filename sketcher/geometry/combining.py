"""Outlines added, cut, grown and shrunk, with lines and arcs as exact as they went in."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import shapely
from pydantic import ValidationError
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from sketcher.document.outlines import Circle, Outline, Vertex
from sketcher.document.outlines import Polygon as PolygonOutline
from sketcher.geometry.path import Path, Point, Segment, circle
from sketcher.geometry.recovering import FINE_MM, recovered
from sketcher.geometry.rounds import quad_segs

How = Literal["union", "minus", "common"]
#: Corners sharper than a mitre of so many times the distance are cut off.
_MITRE = 6.0
#: A corner that turns by less than this is none, radians.
_SMOOTH = 1e-4
#: Pieces smaller than this are what rounding leaves, mm².
_CRUMB_MM2 = 0.01
#: No outline of a document has more corners.
MOST_CORNERS = 2000


class CombiningError(ValueError):
    """Nothing sensible comes of it; the message says why, and what to do instead."""


@dataclass(frozen=True)
class Region:
    """A connected area: its outer path, and the holes in it, all counter-clockwise."""

    outer: Path
    holes: tuple[Path, ...] = ()


def combined(one: Path, other: Path, how: How) -> list[Region]:
    """Two closed paths added (``union``), one cut by the other (``minus``), or what they share (``common``).

    The largest region comes first. Raises ``CombiningError`` when a path crosses itself or nothing is left.
    """
    first, second = _polygon(one), _polygon(other)
    made = {"union": first.union, "minus": first.difference, "common": first.intersection}[how](second)
    carriers = [*one.segments, *other.segments]
    return _regions(made, carriers, [*_ends(one), *_ends(other)])


def grown(path: Path, by: float, corners: Literal["round", "sharp"] = "round") -> list[Region]:
    """A closed path grown by so many mm, shrunk when negative; its outer corners round, or sharp as they were.

    Raises ``CombiningError`` when nothing is left.
    """
    polygon = _polygon(path)
    travel = path.counter_clockwise()
    if abs(by) < FINE_MM:
        return [Region(travel)]
    # Mitred joins of the chords of an arc stay within a hair of the arc, round ones do so in any case.
    made = shapely.buffer(
        polygon,
        by,
        quad_segs=quad_segs(abs(by), FINE_MM),
        join_style="round" if corners == "round" else "mitre",
        mitre_limit=_MITRE,
    )
    carriers = list(_moved(travel, by))
    places = _ends_of(carriers)
    if corners == "round":
        carriers += [s for place in _sharp_corners(travel) for s in circle(place, abs(by)).segments]
    return _regions(made, carriers, places)


def _sharp_corners(path: Path) -> Iterator[Point]:
    """Where the way of travel changes at once: only there does growing round something."""
    for before, after in zip((path.segments[-1], *path.segments), path.segments, strict=False):
        turn = after.direction() - before.direction(at_end=True)
        if abs(math.remainder(turn, 2 * math.pi)) > _SMOOTH:
            yield after.start


def _moved(path: Path, by: float) -> Iterator[Segment]:
    """Every segment moved to the right of its travel; an arc that is too tight is gone."""
    for segment in path.segments:
        if segment.chord <= FINE_MM:
            continue
        if segment.straight:
            (x, y), (ex, ey) = segment.start, segment.end
            nx, ny = (ey - y) / segment.chord * by, (x - ex) / segment.chord * by
            yield Segment((x + nx, y + ny), (ex + nx, ey + ny))
            continue
        radius = segment.radius + (by if segment.bulge > 0 else -by)
        if radius > FINE_MM:
            share, (cx, cy) = radius / segment.radius, segment.centre
            start, end = ((cx + share * (x - cx), cy + share * (y - cy)) for x, y in (segment.start, segment.end))
            yield Segment(start, end, segment.bulge)


def _polygon(path: Path) -> Polygon:
    polygon = Polygon(path.points(FINE_MM))
    if not polygon.is_valid:
        raise CombiningError("an outline crosses itself; move its corners first")
    return polygon


def _ends(path: Path) -> list[Point]:
    return [segment.start for segment in path.segments]


def _ends_of(segments: list[Segment]) -> list[Point]:
    return [place for segment in segments for place in (segment.start, segment.end)]


def _regions(made: BaseGeometry, carriers: list[Segment], places: list[Point]) -> list[Region]:
    polygons = [part for part in getattr(made, "geoms", [made]) if isinstance(part, Polygon)]
    polygons = sorted((p for p in polygons if p.area > _CRUMB_MM2), key=lambda p: -p.area)
    if not polygons:
        raise CombiningError("nothing is left of the outline")
    return [
        Region(
            recovered(list(polygon.exterior.coords), carriers, places).counter_clockwise(),
            tuple(
                recovered(list(ring.coords), carriers, places).counter_clockwise()
                for ring in polygon.interiors
                if Polygon(ring).area > _CRUMB_MM2
            ),
        )
        for polygon in polygons
    ]


def outline_of(path: Path) -> Outline:
    """A closed path as an outline of a document: a circle stays one, all else is corners with bulges.

    Raises ``CombiningError`` when it has more corners than a document holds, or reaches farther than one may.
    """
    try:
        return _outline_of(path)
    except ValidationError:
        raise CombiningError("the outline would reach farther than an outline may") from None


def _outline_of(path: Path) -> Outline:
    round_ = _whole_circle(path)
    if round_ is not None:
        (x, y), radius = round_
        return Circle(x_mm=_micro(x), y_mm=_micro(y), diameter_mm=_micro(2 * radius))
    rows = path.vertices()
    if len(rows) > MOST_CORNERS:
        raise CombiningError(f"the outline would have {len(rows)} corners; an outline has {MOST_CORNERS} at most")
    return PolygonOutline(vertices=tuple(Vertex(x_mm=_micro(x), y_mm=_micro(y), bulge=b + 0.0) for x, y, b in rows))


def _whole_circle(path: Path) -> tuple[Point, float] | None:
    if any(segment.straight for segment in path.segments):
        return None
    first = path.segments[0]
    same = all(
        math.dist(segment.centre, first.centre) < 1e-6 and abs(segment.radius - first.radius) < 1e-6
        for segment in path.segments
    )
    turned = abs(math.fsum(segment.included_angle for segment in path.segments))
    return (first.centre, first.radius) if same and abs(turned - 2 * math.pi) < 1e-6 else None


def _micro(value: float) -> float:
    return round(value, 6) + 0.0
