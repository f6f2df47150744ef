"""The bending sheet of a tube: where it is cut, where each bend begins, how far it turns and about the tube how far.

All lengths are along the centreline, which is the neutral line of a bend formed with heat (the inside is pressed as
much as the outside is drawn); of metal bent cold the neutral line lies a little inside of it: bend a trial piece first.
Plain geometry: the arc of a bend is Rθ, its setback R tan(θ/2).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from sketcher.tubes.line import SpaceBend, Vector, unit
from sketcher.tubes.runs import Run


@dataclass(frozen=True)
class BendRow:
    """One bend on the sheet.

    Attributes:
        number: from 1.
        mark_mm: from the end that is cut first to where the bend begins.
        angle_deg: how far it bends.
        turn_deg: by how much the tube is turned about itself first, seen along the tube from the start: clockwise is
            above 0; of the first bend 0.
        radius_mm: of the centreline.
        arc_mm: length of the bend along the centreline.
        straight_mm: straight length before it, from the bend before or the cut end.
    """

    number: int
    mark_mm: float
    angle_deg: float
    turn_deg: float
    radius_mm: float
    arc_mm: float
    straight_mm: float


@dataclass(frozen=True)
class BendingSheet:
    """How one tube is cut and bent.

    Attributes:
        id: the run's.
        cut_length_mm: of the tube, with what enters its fittings.
        rows: its bends in order.
        last_straight_mm: from the last bend to the other cut end.
        start_insertion_mm, end_insertion_mm: how deep it enters its fittings; part of the first and last straight.
    """

    id: str
    cut_length_mm: float
    rows: tuple[BendRow, ...]
    last_straight_mm: float
    start_insertion_mm: float
    end_insertion_mm: float


def bending_sheet(run: Run) -> BendingSheet:
    """The figures of one tube, from its centreline."""
    straights = list(run.line.straights)
    straights[0] += run.start.insertion_mm
    straights[-1] += run.end.insertion_mm
    rows, along = [], 0.0
    before: SpaceBend | None = None
    for number, (straight, bend) in enumerate(zip(straights, run.line.bends, strict=False), start=1):
        along += straight
        turn = 0.0 if before is None else _turn_deg(before, bend)
        rows.append(BendRow(number, along, bend.angle_deg, turn, bend.radius, bend.arc_length, straight))
        along += bend.arc_length
        before = bend
    return BendingSheet(
        run.id, along + straights[-1], tuple(rows), straights[-1], run.start.insertion_mm, run.end.insertion_mm
    )


def _turn_deg(before: SpaceBend, bend: SpaceBend) -> float:
    """From the plane of one bend to that of the next, about the straight between them; -180 to 180."""
    along = bend.before
    sine = float(np.cross(before.normal, bend.normal) @ along)
    cosine = float(before.normal @ bend.normal)
    turned = math.degrees(math.atan2(sine, cosine))
    return 180.0 if turned <= -180.0 + 1e-9 else turned


def bent(sheet: BendingSheet, first: Vector, plane: Vector) -> Vector:
    """Where the end of a tube comes to that is bent by a sheet: a second way round, from the figures alone.

    Args:
        sheet: the figures.
        first: direction of the first straight, (3,).
        plane: axis of the first bend, right-handed, square to ``first``; any when there is no bend.

    Returns:
        the corners of the tube as bent, from its cut end at 0 to its other end: (bends + 2, 3).
    """
    at, along, normal = np.zeros(3), unit(first), unit(plane)
    corners = [at]
    for row in sheet.rows:
        at = at + row.straight_mm * along
        normal = _turned(normal, along, row.turn_deg)
        after = _turned(along, normal, row.angle_deg)
        inward = np.cross(normal, along)
        centre = at + row.radius_mm * inward
        setback = row.radius_mm * math.tan(math.radians(row.angle_deg) / 2)
        corners.append(at + setback * along)
        at = centre + _turned(-row.radius_mm * inward, normal, row.angle_deg)
        along = after
    corners.append(at + sheet.last_straight_mm * along)
    return np.array(corners)


def _turned(vector: Vector, axis: Vector, degrees: float) -> Vector:
    """A vector turned about an axis, right-handed (Rodrigues)."""
    angle = math.radians(degrees)
    return np.asarray(
        vector * math.cos(angle)
        + np.cross(axis, vector) * math.sin(angle)
        + axis * float(axis @ vector) * (1 - math.cos(angle))
    )


def landing_error_mm(run: Run, sheets: Sequence[BendingSheet] = ()) -> float:
    """By how much a tube bent by its sheet misses its end, mm: rounding, or the sheet is wrong."""
    sheet = sheets[0] if sheets else bending_sheet(run)
    plane = run.line.bends[0].normal if run.line.bends else np.array([0.0, 0.0, 1.0])
    start = run.line.corners[0] - run.start.insertion_mm * run.line.first
    end = run.line.corners[-1] + run.end.insertion_mm * run.line.last
    return float(np.linalg.norm(start + bent(sheet, run.line.first, plane)[-1] - end))
