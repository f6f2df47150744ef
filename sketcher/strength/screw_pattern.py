"""Lid screws outside the groove, by rule: at most the pitch apart, clear of the groove and of everything else."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from sketcher.strength.bends import places_along
from sketcher.strength.screw_rows import FINE_MM, Ground, across, lined_up

Point = tuple[float, float]
_STEP_MM = 1.0
#: So many places to begin the pattern at are tried, so that rows come to stand across from each other.
_PHASES = 8


class PatternError(ValueError):
    """A screw pattern that cannot be: no screws, no pitch, a screw of no size."""


@dataclass(frozen=True)
class ScrewRoom:
    """What a lid screw needs in plan, mm.

    ``hole_mm`` is its clearance hole in the lid, ``head_mm`` its head with the driver's room, ``wall_mm`` the least
    wall from the hole to the groove's edge, ``edge_mm`` from the hole's rim to the plate's edge, ``pitch_mm`` the
    greatest distance to the next one along the groove. ``axis_edge_mm`` is the least from its axis to the plate's edge,
    where that is more, ``roomy_edge_mm`` what is kept where there is room. Where something is in the way a screw stands
    up to ``farther_mm`` farther from the groove than its least distance.
    """

    hole_mm: float
    head_mm: float
    wall_mm: float
    edge_mm: float
    pitch_mm: float
    axis_edge_mm: float = 0.0
    roomy_edge_mm: float = 0.0
    farther_mm: float = 0.0

    def __post_init__(self) -> None:
        if not (self.hole_mm > 0 and self.head_mm > 0):
            raise PatternError("a lid screw needs a hole and a head above 0 mm")
        if not self.pitch_mm > self.head_mm:
            raise PatternError(
                f"the screw spacing is {self.pitch_mm:g} mm, but heads of {self.head_mm:g} mm must pass each other"
            )

    @property
    def least_edge_mm(self) -> float:
        """From a screw's axis to the plate's edge, at least."""
        return max(self.edge_mm + self.hole_mm / 2, self.axis_edge_mm)

    def from_centreline_mm(self, groove_width_mm: float) -> float:
        """From the groove's centreline to the screw's axis, at least."""
        return groove_width_mm / 2 + self.wall_mm + self.hole_mm / 2


@dataclass(frozen=True)
class Blocked:
    """Something that keeps screws away: its outline and the least distance from a screw's axis, mm; and its id."""

    shape: BaseGeometry
    distance_mm: float
    id: str = ""


@dataclass(frozen=True)
class Lack:
    """Why no screw stands near a place: ``item`` (an id, or "" for the plate's edge) is ``lacking_mm`` too near to
    ``at``, the best place there is; ``away`` is the direction from the axis to it, of length 1."""

    item: str
    lacking_mm: float
    at: Point
    away: Point


def lack_near(
    sealed: MultiPolygon,
    plate: Polygon,
    groove_width_mm: float,
    room: ScrewRoom,
    blocked: Sequence[Blocked],
    near: Point,
    reach_mm: float,
    kept: Sequence[Point] = (),
) -> Lack | None:
    """What keeps a screw from standing within ``reach_mm`` of a place, clear of the screws in ``kept``; None where
    there is room for one, or no line."""
    line, around = _line(sealed, groove_width_mm, room), shapely.Point(near).buffer(reach_mm)
    lines = [
        line.buffer(out) if out else line for out in np.linspace(0.0, room.farther_mm, 3 if room.farther_mm else 1)
    ]
    near_by = [shapely.segmentize(one.boundary.intersection(around), _STEP_MM) for one in lines]
    places = np.vstack([shapely.get_coordinates(one) for one in near_by])
    if kept and len(places):
        apart = np.hypot(*(places[:, None, :] - np.asarray(kept)[None]).transpose(2, 0, 1)).min(axis=1)
        places = places[apart >= room.head_mm + 1.0]
    if not len(places):
        return None
    axes = np.atleast_1d(np.asarray(shapely.points(places)))
    edge = plate.exterior
    signed = np.where(shapely.contains(plate, axes), 1.0, -1.0) * shapely.distance(edge, axes)
    rows = [room.least_edge_mm - signed]
    rows += [item.distance_mm - shapely.distance(item.shape, axes) for item in blocked]
    lacking = np.vstack(rows)
    best = int(np.argmin(lacking.max(axis=0)))
    worst = int(np.argmax(lacking[:, best]))
    if lacking[worst, best] <= 1e-6:
        return None
    axis = axes[best]
    shape = edge if worst == 0 else blocked[worst - 1].shape
    # An axis inside a thing has no nearest side to it: from the thing's middle then.
    inside = bool(shapely.intersects(shape, axis))
    x, y = shapely.get_coordinates(shape.centroid if inside else shapely.shortest_line(axis, shape))[-1]
    dx, dy = float(x - places[best, 0]), float(y - places[best, 1])
    if worst == 0 and signed[best] < 0:
        dx, dy = -dx, -dy
    size = math.hypot(dx, dy) or 1.0
    at = (float(places[best, 0]), float(places[best, 1]))
    item = "" if worst == 0 else blocked[worst - 1].id
    return Lack(item, float(lacking[worst, best]), at, (dx / size, dy / size))


def _line(sealed: MultiPolygon, groove_width_mm: float, room: ScrewRoom) -> BaseGeometry:
    """The line that axes stand on: its boundary."""
    return sealed.buffer(room.from_centreline_mm(groove_width_mm) + 0.05, quad_segs=16)


@dataclass(frozen=True)
class _Row:
    """Places for axes along one ring of the line, about every millimetre.

    ``free`` and ``roomy`` say where a screw may stand, and where with room to the edge; ``free`` places that are not on
    the line itself, because something is in the way there, are ``farther`` out.
    """

    places: NDArray[np.float64]
    free: NDArray[np.bool_]
    roomy: NDArray[np.bool_]
    farther: NDArray[np.bool_]
    step: float


class Field:
    """What there is around all grooves, for patterns of any spacing."""

    def __init__(
        self,
        sealed: MultiPolygon,
        plate: BaseGeometry,
        groove_width_mm: float,
        room: ScrewRoom,
        blocked: Sequence[Blocked] = (),
    ) -> None:
        """Look where axes may stand."""
        self.room, self.rows = room, list[_Row]()
        if sealed.is_empty:
            return
        least = room.least_edge_mm
        forbidden = shapely.union_all([item.shape.buffer(item.distance_mm) for item in blocked])
        away = room.from_centreline_mm(groove_width_mm)
        self._ground = ground = Ground(
            plate.buffer(-least), plate.buffer(-max(least, room.roomy_edge_mm)), forbidden, sealed, away
        )
        for area in (ground.allowed, ground.roomy, ground.forbidden, sealed):
            shapely.prepare(area)
        for part in shapely.get_parts(_line(sealed, groove_width_mm, room)):
            for ring in (part.exterior, *part.interiors):
                self.rows.append(self._row(ring))

    def _row(self, ring: shapely.LinearRing) -> _Row:
        count = max(8, math.ceil(ring.length / _STEP_MM))
        step = ring.length / count
        places = places_along(ring, np.arange(count) * step)
        free = self._may(places)
        farther = np.zeros_like(free)
        ahead = np.roll(places, -1, axis=0) - np.roll(places, 1, axis=0)
        outward = np.stack([ahead[:, 1], -ahead[:, 0]], axis=1)
        outward /= np.maximum(np.hypot(*outward.T), 1e-9)[:, None] * (1.0 if ring.is_ccw else -1.0)
        # The line is a boundary of what screws keep off: outside of an outer ring, inside of an opening.
        for out in np.arange(1.0, self.room.farther_mm + 1e-9, _STEP_MM):
            shut = np.flatnonzero(~free)
            moved = places[shut] + out * outward[shut]
            clear = self._may(moved) & ~shapely.dwithin(
                self._ground.sealed, shapely.points(moved), self._ground.away_mm
            )
            places[shut[clear]], free[shut[clear]], farther[shut[clear]] = moved[clear], True, True
        roomy = shapely.intersects_xy(self._ground.roomy, places[:, 0], places[:, 1]) & ~farther
        return _Row(places, free, roomy, farther, step)

    def _may(self, places: NDArray[np.float64]) -> NDArray[np.bool_]:
        x, y = places[:, 0], places[:, 1]
        return np.asarray(
            shapely.intersects_xy(self._ground.allowed, x, y) & ~shapely.intersects_xy(self._ground.forbidden, x, y)
        )

    def placed(self, pitch_mm: float, kept: Sequence[Point] = ()) -> list[Point]:
        """Places for screws at most ``pitch_mm`` apart; those in ``kept`` stay and are filled up.

        The screws stand on a line at their least distance outside the groove, evenly at the pitch or a little closer;
        where something is in the way the next free place along the line is taken, or one farther out, and a gap wider
        than the pitch gets a screw more when there is room. What could not be held shows in ``clamping``.
        """
        if not self.rows:
            return []
        placed: list[Point] = list(kept)
        found: list[list[Point]] = []
        for row in self.rows:
            found.append(_around(row, self.room, pitch_mm, placed))
            placed += found[-1]
        return lined_up(found, list(kept), self._ground, apart_mm=self.room.head_mm + 1.0, pitch_mm=pitch_mm)


def place_screws(
    sealed: MultiPolygon,
    plate: Polygon,
    groove_width_mm: float,
    room: ScrewRoom,
    blocked: Sequence[Blocked] = (),
    kept: Sequence[Point] = (),
) -> list[Point]:
    """``Field.placed`` at the room's own pitch."""
    return Field(sealed, plate, groove_width_mm, room, blocked).placed(room.pitch_mm, kept)


def _around(row: _Row, room: ScrewRoom, pitch_mm: float, placed: Sequence[Point]) -> list[Point]:
    places, free = row.places, row.free
    taken: list[int] = []
    if placed:
        others = np.asarray(placed)
        near = np.hypot(places[:, None, 0] - others[None, :, 0], places[:, None, 1] - others[None, :, 1])
        free = free & (near.min(axis=1) >= room.head_mm + 1.0)
        # A screw that stands on this line already, or within half a head of it, holds it too.
        at = near.argmin(axis=0)
        holds = np.maximum(room.head_mm / 2, room.farther_mm)
        taken = [int(index) for index, gap in zip(at, near.min(axis=0), strict=True) if gap <= holds]
    if not free.any():
        return []
    begun = _Begun(row, free, taken, room, pitch_mm)
    chosen = begun.evenly(0)
    if not taken:
        chosen = _across(chosen, places, begun.evenly, row.step, pitch_mm)
    return [(float(places[index, 0]), float(places[index, 1])) for index in sorted(chosen)]


def _across(
    chosen: list[int], places: NDArray[np.float64], begun: Callable[[int], list[int]], step: float, pitch_mm: float
) -> list[int]:
    """The pattern begun where most screws come to stand across from each other, of no more screws than ``chosen``."""
    best, score, at = chosen, across(places[chosen], FINE_MM), 0
    spread = max(1, round(pitch_mm / step / _PHASES))
    coarse = [spread * phase for phase in range(1, _PHASES)]
    for starts in (coarse, range(-(spread // 2), spread // 2 + 1)):
        middle = at
        for shift in starts:
            found = begun(middle + shift)
            facing = across(places[found], FINE_MM)
            if len(found) <= len(chosen) and facing > score:
                best, score, at = found, facing, middle + shift
    return best


@dataclass(frozen=True)
class _Begun:
    """Patterns around one ring, begun at different places."""

    row: _Row
    free: NDArray[np.bool_]
    taken: list[int]
    room: ScrewRoom
    pitch_mm: float

    def evenly(self, start: int) -> list[int]:
        """Places, by number, evenly around the ring from one of them."""
        count, step, taken = len(self.row.places), self.row.step, self.taken
        pitch = max(1, int(self.pitch_mm / step))
        apart = math.ceil((self.room.head_mm + 1.0) / step)
        chosen: list[int] = []
        if not taken:
            number = max(1, math.ceil(count / pitch))
            for number_of in range(number):
                self._add(chosen, (round(number_of * count / number) + start) % count, pitch // 2)
        for _ in range(count):
            marks = sorted({*taken, *chosen})
            if not marks:
                break
            gaps = [((b - a - 1) % count + 1, a) for a, b in zip(marks, [*marks[1:], marks[0]], strict=True)]
            wide = sorted((gap for gap in gaps if gap[0] > pitch), reverse=True)
            if not any(
                self._add(chosen, (start + width // 2) % count, max(width // 2 - apart, 0)) for width, start in wide
            ):
                break
        return chosen

    def _add(self, chosen: list[int], target: int, reach: int) -> bool:
        """The free place nearest to ``target`` that is not too near a screw; near by, one with room to the edge, and
        one on the line rather than farther out."""
        count, least = len(self.row.places), self.room.head_mm + 1.0
        pitch = max(1, int(self.pitch_mm / self.row.step))
        places, free, row = self.row.places, self.free, self.row
        stand = places[[*self.taken, *chosen]]
        middle = target % count
        if free[middle] and row.roomy[middle] and self._apart(places[middle : middle + 1], stand, least)[0]:
            chosen.append(middle)  # by far the most usual case
            return True
        shifts = np.arange(-reach, reach + 1)
        order = shifts[np.argsort(np.abs(shifts) * 2 + (shifts < 0), kind="stable")]
        index = (target + order) % count
        open_ = free[index] & self._apart(places[index], stand, least)
        far = np.abs(order)
        for wanted in (
            open_ & row.roomy[index] & (far <= min(reach, pitch // 8)),
            open_ & ~row.farther[index] & (far <= pitch // 4),
            open_,
        ):
            if wanted.any():
                chosen.append(int(index[int(np.argmax(wanted))]))
                return True
        return False

    @staticmethod
    def _apart(places: NDArray[np.float64], stand: NDArray[np.float64], least: float) -> NDArray[np.bool_]:
        """Which places are so far from all screws that stand."""
        if not len(stand):
            return np.ones(len(places), dtype=bool)
        gaps = (places[:, None, 0] - stand[None, :, 0]) ** 2 + (places[:, None, 1] - stand[None, :, 1]) ** 2
        return np.asarray(gaps.min(axis=1) >= least**2)
