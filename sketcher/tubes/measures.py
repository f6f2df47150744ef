"""What is measured of a tube in space: how it lands, how far it is from other things, what strains it."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sketcher.document import Document
from sketcher.document.holders import chain, holders
from sketcher.tubes.line import Vector
from sketcher.tubes.runs import End, Run
from sketcher.tubes.surroundings import Body, between_lines, to_body, trimmed

#: A fitting with an O-ring lets a tube slide by this and lean by this before it strains it. Our own assumptions: no
#: standard states them.
SLIDE_MM, LEAN_DEG = 0.5, 1.5
#: Temperature at which a tube is fitted, °C. Common practice, no source.
FITTED_C = 20.0
#: A fitting's body is so much wider than its tube, mm each side. Common practice, no source.
FITTING_WALL_MM = 3.0


def landing_deg(run: Run, end: End) -> float | None:
    """By how much a tube's end departs from the direction in which its fitting takes it; none when nothing says which.

    A straight fitting takes it along the port's axis, an elbow at the elbow's angle to it.
    """
    if end.axis is None:
        return None
    away = run.line.first if end is run.start else -run.line.last
    cosine = float(np.clip(end.axis @ away, -1.0, 1.0))
    return abs(math.degrees(math.acos(cosine)) - end.elbow_deg)


@dataclass(frozen=True)
class Gap:
    """How near a tube comes to something: mm between surfaces (below 0 it runs into it), what, and where."""

    mm: float
    other: str
    at: Vector


def _near_ends(run: Run, limit: float) -> float:
    """How much of a tube at an end belongs to the device it ends at, mm."""
    return run.outer_mm / 2 + limit + FITTING_WALL_MM + 5.0


def held_by(document: Document, ref: str) -> set[str]:
    """The device of a port reference and all that hold it; for a port of the plate the plate."""
    if "." not in ref:
        return {"plate"}
    return set(chain(holders(document), ref.split(".", 1)[0]))


def gaps(document: Document, run: Run, around: Sequence[Body], others: Sequence[Run], near_mm: float) -> list[Gap]:
    """What a tube comes nearer to than ``near_mm``, nearest first.

    At an end the tube's own device does not count near its port, nor what stands on a board that carries that device.
    """
    line = run.line.points(5.0)
    reach = run.outer_mm / 2 + near_mm
    low, high = line.min(axis=0) - reach, line.max(axis=0) + reach
    owners = [held_by(document, end.ref) for end in (run.start, run.end)]
    own = _near_ends(run, near_mm)
    found = []
    for body in around:
        if not _meet((low, high), body.bounds()):
            continue
        mine = [body.id in owner for owner in owners]
        if any(mine) and body.kind == "parts":
            continue
        part = trimmed(line, own if mine[0] else 0.0, own if mine[1] else 0.0) if any(mine) else line
        distance, at = to_body(part, body)
        if distance - run.outer_mm / 2 < near_mm:
            found.append(Gap(distance - run.outer_mm / 2, body.id, at))
    for other in others:
        theirs = other.line.points(5.0)
        if other is run or not _meet((low, high), _box(theirs, other.outer_mm / 2)):
            continue
        distance, at = between_lines(line, theirs)
        gap = distance - run.outer_mm / 2 - other.outer_mm / 2
        if gap < near_mm:
            found.append(Gap(gap, other.id, at))
    return sorted(found, key=lambda gap: gap.mm)


def reach_mm(
    document: Document, run: Run, end: End, around: Sequence[Body], others: Sequence[Run], near_mm: float = math.inf
) -> Gap | None:
    """The least room around a device's fitting for a hand or a spanner, from its side to whatever is beside it.

    Its own device and what carries it do not count; fittings on the plate have a rule of their own. None when nothing
    is nearer than ``near_mm``, or when nothing says where the port points.
    """
    if "." not in end.ref or end.axis is None:
        return None
    stub = np.array([end.at + 2.0 * end.axis, end.at + 20.0 * end.axis])
    wide = run.outer_mm / 2 + FITTING_WALL_MM
    owners = held_by(document, end.ref)
    low, high = stub.min(axis=0) - wide - near_mm, stub.max(axis=0) + wide + near_mm
    found = [
        Gap(distance - wide, body.id, at)
        for body in around
        if body.id not in owners and body.kind != "parts" and _meet((low, high), body.bounds())
        for distance, at in [to_body(stub, body)]
    ]
    for other in others:
        line = other.line.points(10.0)
        if other is not run and _meet((low, high), _box(line, other.outer_mm / 2)):
            distance, at = between_lines(stub, line)
            found.append(Gap(distance - wide - other.outer_mm / 2, other.id, at))
    return min((gap for gap in found if gap.mm < near_mm), key=lambda gap: gap.mm, default=None)


def _box(line: Vector, half: float) -> tuple[Vector, Vector]:
    return line.min(axis=0) - half, line.max(axis=0) + half


def _meet(one: tuple[Vector, Vector], other: tuple[Vector, Vector]) -> bool:
    """Whether two boxes of the floor's axes have anything in common."""
    return not bool((other[0] > one[1]).any() or (other[1] < one[0]).any())


def strain_mpa(run: Run, warm_c: float, shift_mm: float) -> float:
    """Stress in a rigid tube between two fixed ports when it warms and when the case is carried, MPa.

    It grows by αLΔT; its ends shift against each other by ``shift_mm``, along it or across. What its fittings take up
    by sliding and leaning (``SLIDE_MM``, ``LEAN_DEG``) strains nothing. The rest presses a straight tube along its
    axis, σ = E δ/L, or bends it between fixed ends, σ = 3 E D δ/l² (guided cantilever: M. W. Kellogg, Design of Piping
    Systems, 1956), with l the longest way from corner to corner.

    Args:
        run: the tube; 0 for one of a soft or an unknown material.
        warm_c: °C that it reaches.
        shift_mm: by how much its ports shift against each other.
    """
    material = run.material
    if material is None or not material.rigid:
        return 0.0
    corners = run.line.corners
    span = float(np.linalg.norm(corners[-1] - corners[0]))
    if span <= 0:
        return 0.0
    grows = material.expansion_per_k * span * abs(warm_c - FITTED_C)
    modulus = material.modulus_gpa * 1000
    along = max(grows + shift_mm - 2 * SLIDE_MM, 0.0)
    across = max(shift_mm - span * math.tan(math.radians(LEAN_DEG)), 0.0)
    legs = np.linalg.norm(np.diff(corners, axis=0), axis=1)
    longest = float(legs.max())
    bending = 3 * modulus * run.outer_mm / longest**2
    if run.line.bends:
        return bending * max(along, across)
    return max(modulus * along / span, bending * across)


def plan_of(place: Vector) -> tuple[float, float]:
    """A place in space as a point of the plan."""
    return float(place[0]), float(place[1])
