"""What an outline's fields cannot say for themselves: sizes that contradict each other, and outlines round nothing."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, Any

from sketcher.document.meeting_pairs import meeting_pairs
from sketcher.document.outlines import Polygon
from sketcher.document.problem import Location, Problem

if TYPE_CHECKING:
    from sketcher.document.models import Document

#: An outline that encloses less is a slip, mm²: nothing that small can be milled or seen.
LEAST_AREA_MM2 = 1e-3
#: Straight steps of each arc, where it is asked whether an outline encloses anything.
_STEPS = 16
#: So often may an outline cross itself. A slip crosses once or twice; thousands of crossings make millions of parts.
MOST_CROSSINGS = 500
#: Fewer edges than this cannot cross so often.
_FEW_EDGES = 33


def outline_problems(document: Document) -> Iterator[Problem]:
    """Everything inconsistent in the document's outlines."""
    for location, outline in _all_outlines(document):
        yield from outline_at(location, outline)


def outline_at(location: Location, outline: Any) -> Iterator[Problem]:
    """Everything inconsistent in one outline."""
    if outline.shape == "slot" and outline.length_mm < outline.width_mm:
        yield Problem(
            (*location, "length_mm"),
            f"a slot is at least as long as it is wide ({outline.width_mm:g} mm)",
            outline.length_mm,
        )
    elif outline.shape == "rectangle":
        most = min(outline.width_mm, outline.depth_mm) / 2
        if outline.corner_radius_mm > most + 1e-9:
            yield Problem(
                (*location, "corner_radius_mm"),
                f"a corner radius of at most {most:g} mm fits this rectangle",
                outline.corner_radius_mm,
            )
    elif outline.shape == "polygon":
        yield from _polygon(location, outline)


def _polygon(location: Location, outline: Polygon) -> Iterator[Problem]:
    arcs = sum(1 for vertex in outline.vertices if vertex.bulge)
    if len(outline.vertices) < 3 and not arcs:
        yield Problem((*location, "vertices"), "a polygon needs at least three corners")
    elif not encloses(outline):
        yield Problem(
            (*location, "vertices"),
            "the outline encloses no area: its corners are on one line or in one place; move one of them, or delete it",
        )
    elif crosses_too_often(outline):
        yield Problem(
            (*location, "vertices"),
            f"the outline crosses itself more than {MOST_CROSSINGS} times; draw it again, its corners in order",
        )


def crosses_too_often(outline: Polygon) -> bool:
    """Whether the outline crosses itself more than ``MOST_CROSSINGS`` times, arcs as chords."""
    if len(outline.vertices) < _FEW_EDGES:
        return False
    # Few outlines have so many corners, so what takes long to import waits for them.
    import numpy as np
    import shapely

    corners = np.array([(vertex.x_mm, vertex.y_mm) for vertex in outline.vertices])
    count = len(corners)
    if shapely.is_simple(shapely.linearrings(corners)):
        return False
    edges = np.asarray(shapely.linestrings(np.stack((corners, np.roll(corners, -1, axis=0)), axis=1)), dtype=object)
    crossings = 0
    for first, second in meeting_pairs(edges):
        # Neighbours meet at their corner.
        crossings += int(((second > first + 1) & ((first - second) % count > 1)).sum())
        if crossings > MOST_CROSSINGS:
            return True
    return False


def encloses(outline: Polygon) -> bool:
    """Whether there is any area within the outline; one that crosses itself has what its parts have."""
    if abs(_signed_area(outline)) >= LEAST_AREA_MM2:
        return True
    # An outline like an 8 has two halves of opposite sense. This is rare, so what takes long to import waits for it.
    import shapely

    points = list(_points(outline))
    return len(points) > 3 and float(shapely.make_valid(shapely.Polygon(points)).area) >= LEAST_AREA_MM2


def _edges(outline: Polygon) -> Iterator[tuple[float, float, float, float, float]]:
    vertices = outline.vertices
    for one, other in zip(vertices, [*vertices[1:], vertices[0]], strict=True):
        yield one.x_mm, one.y_mm, other.x_mm, other.y_mm, one.bulge


def _signed_area(outline: Polygon) -> float:
    """mm²; the segment between an arc and its chord is r²(θ - sin θ)/2."""
    total = 0.0
    for x0, y0, x1, y1, bulge in _edges(outline):
        total += (x0 * y1 - x1 * y0) / 2
        if bulge:
            angle = 4 * math.atan(bulge)
            radius = math.hypot(x1 - x0, y1 - y0) * (1 + bulge**2) / (4 * bulge)
            total += radius**2 * (angle - math.sin(angle)) / 2
    return total


def _points(outline: Polygon) -> Iterator[tuple[float, float]]:
    for x0, y0, x1, y1, bulge in _edges(outline):
        yield x0, y0
        if bulge:
            lift, turn = (1 - bulge**2) / (4 * bulge), 4 * math.atan(bulge)
            cx, cy = (x0 + x1) / 2 - lift * (y1 - y0), (y0 + y1) / 2 + lift * (x1 - x0)
            for step in range(1, _STEPS):
                c, s = math.cos(turn * step / _STEPS), math.sin(turn * step / _STEPS)
                yield cx + c * (x0 - cx) - s * (y0 - cy), cy + s * (x0 - cx) + c * (y0 - cy)


def _all_outlines(document: Document) -> Iterator[tuple[Location, Any]]:
    yield ("floor", "outline"), document.floor.outline
    yield ("plate", "outline"), document.plate.outline
    lists: list[tuple[Location, Iterable[Any]]] = [
        (("floor", "obstacles"), document.floor.obstacles),
        (("floor", "openings"), document.floor.openings),
        *(((key,), getattr(document, key)) for key in ("devices", "cutouts", "pockets", "keep_outs")),
    ]
    for location, listed in lists:
        for index, item in enumerate(listed):
            if item.outline is not None:
                yield (*location, index, "outline"), item.outline
