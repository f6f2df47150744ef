"""Expansion of the plate against the case floor, and what its mounting holes must give way.

Free movement of a hole at the distance L from the fixed one: δ = L (α_plate ΔT_plate - α_floor ΔT_floor), the plate at
the water's temperature and the floor at the room's, both from the temperature at which it was put together.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np
import shapely

Point = tuple[float, float]


@dataclass(frozen=True)
class HoleMove:
    """One mounting hole: how far the floor's hole and the plate's move apart, and what that asks for, mm.

    ``play_mm`` is the radial play of the hole as drawn (half the difference of hole and screw, or along a slot that
    points to the fixed hole). ``needs`` says what would do: ``round`` as it is, ``oversized`` or ``slotted``.
    """

    id: str
    distance_mm: float
    move_mm: float
    play_mm: float
    needs: Literal["fixed", "round", "oversized", "slotted"]
    slot_length_mm: float


def movement_mm(distance_mm: float, plate_per_k: float, plate_k: float, floor_per_k: float, floor_k: float) -> float:
    """δ = L (α_p ΔT_p - α_f ΔT_f), mm; positive when the plate grows past the floor."""
    return distance_mm * (plate_per_k * plate_k - floor_per_k * floor_k)


def fixed_hole(places: Mapping[str, Point]) -> str:
    """The hole to fix: the one whose farthest neighbour is nearest, so that every movement is small."""
    points = np.asarray(list(places.values()), dtype=float)
    # The farthest neighbour of any point is a corner of the hull.
    corners = shapely.get_coordinates(shapely.convex_hull(shapely.multipoints(points)))
    farthest = [float(np.hypot(*(corners - point).T).max()) for point in points]
    return list(places)[int(np.argmin(farthest))]


def hole_moves(
    places: Mapping[str, Point],
    play_mm: Mapping[str, float],
    screw_mm: Mapping[str, float],
    *,
    plate_per_k: float,
    plate_k: Sequence[float],
    floor_per_k: float,
    floor_k: float,
) -> list[HoleMove]:
    """What every mounting hole needs, the hottest and the coldest plate considered.

    Args:
        places: axes of the mounting holes by id.
        play_mm: radial play of each, as drawn.
        screw_mm: the screw's diameter of each.
        plate_k: temperature changes of the plate to consider, K.
        floor_k: temperature change of the floor, K.
    """
    if not places:
        return []
    anchor = fixed_hole(places)
    moves = []
    for name, place in places.items():
        distance = math.dist(place, places[anchor])
        move = max(abs(movement_mm(distance, plate_per_k, change, floor_per_k, floor_k)) for change in plate_k)
        needs: Literal["fixed", "round", "oversized", "slotted"] = "round"
        if name == anchor:
            needs = "fixed"
        elif move > play_mm[name] + 1e-9:
            # A washer still covers a hole that is a millimetre wider; beyond that a slot holds better.
            needs = "oversized" if move - play_mm[name] <= 0.5 else "slotted"
        length = screw_mm[name] + 2 * (play_mm[name] if needs == "round" else move) + 0.5
        moves.append(HoleMove(name, distance, move, play_mm[name], needs, round(length, 1)))
    return moves


def bow_between_mm(flatness_mm: float, length_mm: float, pitch_mm: float) -> float:
    """What is left between two screws, ``pitch_mm`` apart, of a bow of ``flatness_mm`` over ``length_mm``.

    The sagitta of a shallow arc grows with the square of its chord: f (s/L)².
    """
    return flatness_mm * (min(pitch_mm, length_mm) / length_mm) ** 2
