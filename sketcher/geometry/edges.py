"""Where edges of outlines meet, lines and arcs alike, and what they fall into there."""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import shapely

from sketcher.geometry import meetings as meetings_of
from sketcher.geometry.path import Point, Segment


def meetings(edges: Sequence[Segment], near: float) -> list[list[Point]]:
    """For each edge the places at which others meet it, their ends on it included.

    Args:
        edges: lines and arcs, mm.
        near: what is nearer than this touches, mm.
    """
    found: list[list[Point]] = [[] for _ in edges]
    if not edges:
        return found
    boxes = np.array([shapely.box(*_box(edge, near)) for edge in edges], dtype=object)
    for i, j in shapely.STRtree(boxes).query(boxes, predicate="intersects").T.tolist():
        if i >= j:
            continue
        one, other = edges[i], edges[j]
        for place in (*crossings(one, other), *(end for edge in (one, other) for end in (edge.start, edge.end))):
            if on(one, place, near) and on(other, place, near):
                found[i].append(place)
                found[j].append(place)
    return found


def split(edge: Segment, places: Sequence[Point], near: float) -> list[Segment]:
    """The edge in pieces between the places on it; what is shorter than ``near`` (mm) is passed over."""
    cuts: list[tuple[float, Point]] = [(0.0, edge.start)]
    inner = sorted((_along(edge, place), place) for place in places)
    for distance, place in inner:
        if near < distance < edge.length - near and distance - cuts[-1][0] > near:
            cuts.append((distance, place))
    cuts.append((edge.length, edge.end))
    if len(cuts) == 2:
        return [edge]
    pieces = []
    for (before, start), (after, end) in pairwise(cuts):
        angle = edge.included_angle * (after - before) / edge.length
        pieces.append(Segment(start, end, 0.0 if edge.straight else math.tan(angle / 4)))
    return pieces


def on(edge: Segment, place: Point, near: float) -> bool:
    """Whether a place lies on an edge, within ``near`` mm."""
    if edge.straight:
        ux, uy = (edge.end[0] - edge.start[0]) / edge.chord, (edge.end[1] - edge.start[1]) / edge.chord
        dx, dy = place[0] - edge.start[0], place[1] - edge.start[1]
        return abs(ux * dy - uy * dx) <= near and -near <= ux * dx + uy * dy <= edge.chord + near
    if abs(math.dist(place, edge.centre) - edge.radius) > near:
        return False
    return min(math.dist(place, edge.start), math.dist(place, edge.end)) <= near or _along(edge, place) < edge.length


def _along(edge: Segment, place: Point) -> float:
    """The distance along an edge of a place on it, mm."""
    if edge.straight:
        ux, uy = (edge.end[0] - edge.start[0]) / edge.chord, (edge.end[1] - edge.start[1]) / edge.chord
        return ux * (place[0] - edge.start[0]) + uy * (place[1] - edge.start[1])
    (cx, cy), (x0, y0) = edge.centre, edge.start
    turn = math.atan2(place[1] - cy, place[0] - cx) - math.atan2(y0 - cy, x0 - cx)
    turn = (turn if edge.bulge > 0 else -turn) % (2 * math.pi)
    # Just before the start is the start.
    return 0.0 if 2 * math.pi - turn < 1e-9 else edge.radius * turn


def _box(edge: Segment, near: float) -> tuple[float, float, float, float]:
    (x0, y0), (x1, y1) = edge.start, edge.end
    left, right, front, rear = min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)
    if not edge.straight:
        # An arc of at most half a turn stays within its sagitta of the chord; a longer one within its circle.
        (cx, cy), r = edge.centre, edge.radius
        if abs(edge.bulge) <= 1:
            reach = abs(edge.bulge) * edge.chord / 2
            left, right, front, rear = left - reach, right + reach, front - reach, rear + reach
        else:
            left, right, front, rear = cx - r, cx + r, cy - r, cy + r
    return left - near, front - near, right + near, rear + near


def crossings(one: Segment, other: Segment) -> list[Point]:
    """Where the whole lines and circles of two edges meet; none where they are the same one."""
    if one.straight and other.straight:
        return _lines(one, other)
    if one.straight or other.straight:
        line, arc = (one, other) if one.straight else (other, one)
        return _line_and_circle(line, arc)
    return _circles(one, other)


def _lines(one: Segment, other: Segment) -> list[Point]:
    met = meetings_of.lines(one.start, _vector(one), other.start, _vector(other))
    return [] if met is None else [met]


def _line_and_circle(line: Segment, arc: Segment) -> list[Point]:
    return _ends(meetings_of.line_and_circle(line.start, _vector(line), arc.centre, arc.radius))


def _circles(one: Segment, other: Segment) -> list[Point]:
    chord = meetings_of.circles(one.centre, one.radius, other.centre, other.radius)
    return [] if chord is None else _ends(chord)


def _ends(chord: meetings_of.Chord) -> list[Point]:
    # A tangent: within a nanometre the two meetings are one.
    if abs(chord.off - chord.radius) < 1e-9 * max(chord.radius, 1.0):
        return [chord.foot]
    return chord.ends if chord.off < chord.radius else []


def _vector(edge: Segment) -> Point:
    return (edge.end[0] - edge.start[0], edge.end[1] - edge.start[1])
