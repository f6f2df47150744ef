"""The document's lid as a plate on its screws: stress, lift at the cord and pull on every screw, one for each load.

The lid reaches as far as it can bend: ``REACH_MM`` beyond the grooves. Parts of it that do not hang together are
solved apart, and each answer is kept, so that a drag solves only what it changes.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from sketcher.strength.flat_plate import POISSON
from sketcher.strength.plate_bending import STILL, Bow, LidPlate, PlateSolveError, Push
from sketcher.strength.plate_grid import Array

#: How far beyond a groove the lid is looked at, mm: farther out it lies still.
REACH_MM = 30.0
#: What the raster, and shear in a thick lid, leave out: results are raised by this. Found by comparing with finer
#: elements of another kind (tests/strength/test_plate_bending_bending.py).
LIFT_MARGIN, MOMENT_MARGIN = 1.15, 1.10
#: Contact counts as found in a trial without some screws when fewer of its parts than this share change.
_NEARLY_STILL = 0.01

Point = tuple[float, float]
Solver = Callable[..., "tuple[LidAnswer, ...] | None"]


@dataclass(frozen=True)
class LidAnswer:
    """The lid under one load, for D = 1 N mm.

    ``pulls_n`` by screw; ``lifts`` of each ring (mm times N mm) at even places along it; ``bulge`` the largest lift
    anywhere; moments in N (N mm per mm) with their places: the largest farther than a head from every screw's axis, and
    the largest beside a head. ``over`` has for each area that was asked for the largest away from heads where the
    outer face is pulled, and where the inner one is.
    """

    pulls_n: dict[str, float]
    lifts: tuple[tuple[float, ...], ...]
    bulge: float
    moment_n: float
    at: Point
    head_moment_n: float
    head_at: Point
    over: tuple[tuple[float, float], ...] = ()


def bend_lid(
    lid: BaseGeometry,
    sealed: MultiPolygon,
    screws: dict[str, Point],
    pushes: tuple[Push, ...],
    *,
    lid_mm: float,
    body_mm: float,
    groove_mm: float,
    head_mm: float,
    coarse: float = 1.0,
    over: tuple[bytes, ...] = (),
    solver: Solver | None = None,
) -> tuple[LidAnswer, ...] | None:
    """The whole lid under each load; None when some part of it is held by fewer than three screws, or in one line.

    Args:
        lid: in plan, with its openings.
        sealed: its rings, part by part, outer ring first, are those of ``lifts``.
        screws: axes by id.
        lid_mm, body_mm: thicknesses. The body is an elastic bedding of its own material, k = E / (body + lid / 2).
        groove_mm: width of the groove.
        head_mm: diameter of a screw's head (or washer); stress nearer than that to an axis is at a head.
        coarse: cells so many times the usual size.
        over: areas, as WKB, over which moments are asked for too.
        solver: what solves a piece of the lid, where screws of it are taken away one after another (``KeptPlates``).
    """
    near = _near(lid.wkb, sealed.wkb)
    bedding = 12 * (1 - POISSON**2) / ((body_mm + lid_mm / 2) * lid_mm**3)
    found: list[list[LidAnswer]] = [[] for _ in pushes]
    order: list[int] = []
    parts = list(sealed.geoms)
    for piece in shapely.get_parts(near).tolist():
        own = [index for index, part in enumerate(parts) if piece.intersects(part.representative_point())]
        if not own:
            continue
        held = {name: place for name, place in screws.items() if piece.distance(shapely.Point(place)) < 0.01}
        answers = (solver or _solved)(
            piece.wkb,
            MultiPolygon([parts[index] for index in own]).wkb,
            tuple(held.values()),
            pushes,
            bedding,
            groove_mm,
            head_mm,
            coarse,
            over,
        )
        if answers is None:
            return None
        order += own
        for rows, answer in zip(found, answers, strict=True):
            rows.append(replace(answer, pulls_n=dict(zip(held, answer.pulls_n.values(), strict=True))))
    if sorted(order) != list(range(len(parts))):
        return None
    return tuple(_joined(rows, parts, order) for rows in found)


@lru_cache(maxsize=16)
def _near(lid: bytes, sealed: bytes) -> BaseGeometry:
    """What of the lid can bend: the same for every trial of screws, and slow to find for grooves with many bends."""
    return shapely.intersection(shapely.from_wkb(lid), shapely.from_wkb(sealed).buffer(REACH_MM, quad_segs=4))


@lru_cache(maxsize=64)
def _solved(
    lid: bytes,
    sealed: bytes,
    places: tuple[Point, ...],
    pushes: tuple[Push, ...],
    bedding: float,
    groove_mm: float,
    head_mm: float,
    coarse: float,
    over: tuple[bytes, ...] = (),
) -> tuple[LidAnswer, ...] | None:
    """Answers with the screws named by their numbers: a lid in trial and the same one at last are solved once."""
    plate = _plate(lid, sealed, places, bedding, groove_mm, coarse)
    return None if plate is None else _answered(plate, pushes, head_mm, over)


def _plate(
    lid: bytes, sealed: bytes, places: tuple[Point, ...], bedding: float, groove_mm: float, coarse: float
) -> LidPlate | None:
    """One piece of a lid on its screws; none where they are fewer than three, or in one line."""
    axes = np.array(places).reshape(-1, 2)
    if not _hold(axes):
        return None
    area, under = shapely.from_wkb(lid), shapely.from_wkb(sealed)
    try:
        return LidPlate(area, under, axes, bedding_mm4=bedding, groove_mm=groove_mm, poisson=POISSON, coarse=coarse)
    except (PlateSolveError, np.linalg.LinAlgError):
        return None


def _hold(axes: Array) -> bool:
    return len(axes) >= 3 and bool(np.linalg.matrix_rank(axes - axes.mean(axis=0), tol=1.0) >= 2)


def _answered(
    plate: LidPlate, pushes: tuple[Push, ...], head_mm: float, over: tuple[bytes, ...], still: float = STILL
) -> tuple[LidAnswer, ...] | None:
    """The answers of a plate, the screws that hold it named by their numbers."""
    try:
        bows = [plate.solve(push, still) for push in pushes]
    except (PlateSolveError, np.linalg.LinAlgError):
        return None
    cuts = np.cumsum([len(ring) for ring in plate.rings])[:-1]
    beside = plate.beside_screws(head_mm)
    answers = []
    for bow in bows:
        away, close = np.where(beside, 0.0, bow.moment_n), np.where(beside, bow.moment_n, 0.0)
        answers.append(
            LidAnswer(
                pulls_n={str(number): max(float(pull), 0.0) for number, pull in enumerate(bow.screw_n[plate.holds])},
                lifts=tuple(tuple(LIFT_MARGIN * part) for part in np.split(bow.lift, cuts)),
                bulge=LIFT_MARGIN * bow.bulge,
                moment_n=MOMENT_MARGIN * float(away.max(initial=0.0)),
                at=_place(bow.at, away),
                head_moment_n=MOMENT_MARGIN * float(close.max(initial=0.0)),
                head_at=_place(bow.at, close),
                over=tuple(_largest(shapely.from_wkb(part), bow, away) for part in over),
            )
        )
    return tuple(answers)


class KeptPlates:
    """Solves a lid again and again while screws are taken away from it: the equations are laid and factored once.

    Asked first with all the screws. For one search of one thread: what a plate was asked last changes it.
    """

    def __init__(self) -> None:
        """Nothing is known yet."""
        self._known: dict[tuple[bytes, bytes], tuple[tuple[Point, ...], LidPlate]] = {}

    def __call__(
        self,
        lid: bytes,
        sealed: bytes,
        places: tuple[Point, ...],
        pushes: tuple[Push, ...],
        bedding: float,
        groove_mm: float,
        head_mm: float,
        coarse: float,
        over: tuple[bytes, ...] = (),
    ) -> tuple[LidAnswer, ...] | None:
        """What ``bend_lid`` asks of a piece of the lid."""
        all_places, plate = self._known.get((lid, sealed), ((), None))
        if plate is None or not set(places) <= set(all_places):
            all_places, plate = places, _plate(lid, sealed, places, bedding, groove_mm, coarse)
            if plate is None:
                return None
            self._known[lid, sealed] = all_places, plate
        left = set(places)
        which = np.array([place in left for place in all_places])
        if not _hold(plate.screws[which]):
            return None
        plate.hold(which)
        return _answered(plate, pushes, head_mm, over, STILL if which.all() else _NEARLY_STILL)


def _largest(area: BaseGeometry, bow: Bow, away: Array) -> tuple[float, float]:
    """The largest moments over an area, with what the raster leaves out: outer face pulled, inner face pulled."""
    within = shapely.contains_xy(area, bow.at)
    both = (MOMENT_MARGIN * float(away[within & side].max(initial=0.0)) for side in (bow.bulged, ~bow.bulged))
    return next(both), next(both)


def _place(places: np.ndarray, values: np.ndarray) -> Point:
    if not len(places):
        return (math.nan, math.nan)
    x, y = places[int(np.argmax(values))]
    return (float(x), float(y))


def _joined(rows: list[LidAnswer], parts: list[Polygon], order: list[int]) -> LidAnswer:
    """The pieces' answers as one; lifts in the order of the parts."""
    rings = [lift for row in rows for lift in row.lifts]
    by_part: dict[int, list[tuple[float, ...]]] = {}
    at = 0
    for index in order:
        count = 1 + len(parts[index].interiors)
        by_part[index] = rings[at : at + count]
        at += count
    worst = max(rows, key=lambda row: row.moment_n)
    at_head = max(rows, key=lambda row: row.head_moment_n)
    return LidAnswer(
        pulls_n={name: pull for row in rows for name, pull in row.pulls_n.items()},
        lifts=tuple(lift for index in range(len(parts)) for lift in by_part[index]),
        bulge=max(row.bulge for row in rows),
        moment_n=worst.moment_n,
        at=worst.at,
        head_moment_n=at_head.head_moment_n,
        head_at=at_head.head_at,
        over=tuple(
            (max(one[0] for one in spots), max(one[1] for one in spots))
            for spots in zip(*(row.over for row in rows), strict=True)
        ),
    )


def stress_mpa(moment_n: float, lid_mm: float) -> float:
    """Stress at the face of a plate, MPa: 6 M / t²."""
    return 6 * moment_n / lid_mm**2
