"""The body bends against the lid: coolant and cord push the two apart, the screws hold them together.

Cut through both at once, and nothing from outside acts on either half: so the body's moment is the lid's, the other way
round. Where the body is whole it is thicker than the lid and bears that easily. Where a channel leaves less than the
lid is thick, its floor is a hinge of width b in a plate of rigidity D. A cut of length L through an endless plate under
a moment M turns by 4 M (L/2) / ((3 + nu) (1 - nu) D) at its middle (the opening of a crack in a bent plate: Sih, Paris
and Erdogan, J. Appl. Mech. 29, 1962, from memory); a floor that carries m turns by m b / D_floor. So it carries

    m = M / (1 + b D / (g L D_floor)), g = 2 / ((3 + nu) (1 - nu)) = 0.87,

and all of it where the cut goes from edge to edge; and M D_floor / D in any case, since it bends as the body beside it
does. In a plate of width W the tangent that is usual for cracks stands in, g (2 W / pi L) tan(pi L / 2 W). Compared
with finite elements in ``tests/strength/test_body_bending.py``.

A pocket in the body's outer face is such a hinge too, as wide as it is. Where the lid bulges, its inner corner is
pulled, with the notch of a sharp cutter; the web's own bending by coolant and cord presses that corner and is left out,
on the safe side. Wide hinges bear up to a third more than the formula says, by the elements.

The lid bulges, so it is the body's outer face that is pulled, which has no corner; where the lid is bent hollow it is
the bottom of the channel, with its notch.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry import MultiPolygon, Polygon

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.strength.floor_bending import CUTTER_CORNER_MM, floor_stress
from sketcher.strength.floor_spans import FloorSpan
from sketcher.strength.lid_bending import LidAnswer
from sketcher.strength.load import Load
from sketcher.strength.notch import corner_factor
from sketcher.strength.recess_remains import outer_pockets

#: The turn of a cut in an endless plate, over M L / D; and what finite elements need beyond it.
YIELDS, SPARE = 0.87, 1.25
#: A channel as long as this share of the plate counts as one that goes from edge to edge.
ACROSS = 0.97
#: What the elements of wide hinges, 20 and 40 mm, bear over the formula, at most.
WIDE_SPARE = 1.35


@dataclass(frozen=True)
class ThinFloor:
    """A floor that may carry more than the lid: what is left, the channels, their area in plan, and its share of the
    moment."""

    floor: FloorSpan
    area: Polygon | MultiPolygon
    share: float


@dataclass(frozen=True)
class ThinWeb:
    """What a pocket in the outer face leaves, the pockets' ids, their area, its share of the moment, and the notch
    factor of the pocket's inner corner."""

    left_mm: float
    items: tuple[str, ...]
    area: Polygon | MultiPolygon
    share: float
    notch: float


@dataclass(frozen=True)
class Folded:
    """The outer face, or the bottom corner, of a floor under one load, MPa, the floor's own bending included; or the
    inner corner of a ``pocket``."""

    load: Load
    items: tuple[str, ...]
    left_mm: float
    stress_mpa: float
    at: tuple[float, float]
    pocket: bool = False


def share_of_moment(width_mm: float, length_mm: float, plate_mm: float, *, left_mm: float, full_mm: float) -> float:
    """What of the whole body's moment the floor under a channel carries.

    Args:
        width_mm: of the channel.
        length_mm, plate_mm: how far channel and plate reach, along the channel.
        left_mm, full_mm: thickness of floor and body.
    """
    part = length_mm / plate_mm
    if part >= ACROSS:
        return 1.0
    yields = SPARE * YIELDS * length_mm * math.tan(math.pi * part / 2) / (math.pi * part / 2)
    softer = (left_mm / full_mm) ** 3
    turned = 1 / (1 + width_mm / (softer * yields))
    return turned + (1 - turned) * softer


def _reach(part: Polygon, plate: NDArray[np.float64]) -> tuple[float, float]:
    """How far a part and the plate's corners reach along the part's longer side, mm."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(part))[:3]
    sides = np.diff(corners, axis=0)
    along = sides[int(np.argmax(np.hypot(*sides.T)))]
    along = along / np.hypot(*along)
    return float(np.ptp(shapely.get_coordinates(part) @ along)), float(np.ptp(plate @ along))


def thin_floors(document: Document, shapes: Shapes, spans: list[FloorSpan], lid_mm: float) -> tuple[ThinFloor, ...]:
    """The floors whose stress may be greater than the lid's own, which has a rule."""
    found = []
    plate, full = shapely.get_coordinates(shapes.plate_polygon), document.plate.body_thickness_mm
    for left, names, span in spans:
        area = shapely.union_all([shapes.channels[name].polygon for name in names])
        assert isinstance(area, Polygon | MultiPolygon)
        share = max(
            share_of_moment(span.b_mm, *_reach(part, plate), left_mm=left, full_mm=full)
            for part in shapely.get_parts(area)
        )
        if share * (lid_mm / left) ** 2 > 1:
            found.append(ThinFloor((left, names, span), area, share))
    return tuple(found)


def thin_webs(document: Document, shapes: Shapes, lid_mm: float) -> tuple[ThinWeb, ...]:
    """Webs over pockets whose stress may be greater than the lid's own."""
    found = []
    plate, full = shapely.get_coordinates(shapes.plate_polygon), document.plate.body_thickness_mm
    for names, area, depth in outer_pockets(document, shapes):
        left, share = full - depth, 0.0
        for part in shapely.get_parts(area):
            # Across its shorter side it carries more than across the longer one.
            box = shapely.get_coordinates(shapely.minimum_rotated_rectangle(part))[:3]
            width = float(np.hypot(*np.diff(box, axis=0).T).min())
            share = max(share, share_of_moment(width, *_reach(part, plate), left_mm=left, full_mm=full))
        notch = corner_factor(depth, left, CUTTER_CORNER_MM)
        share = min(WIDE_SPARE * share, 1.0)
        if share * notch * (lid_mm / left) ** 2 > 1:
            found.append(ThinWeb(left, names, area, share, notch))
    return tuple(found)


def folded_webs(
    webs: tuple[ThinWeb, ...], loads: tuple[Load, ...], over: list[tuple[tuple[float, float], ...]]
) -> tuple[Folded, ...]:
    """Webs under each load; ``over`` are the lid's moments over them, outer face pulled and inner one, for each load.

    Args:
        webs: what ``thin_webs`` gave.
        loads: the pressures.
        over: for each load a row, for each web a pair.
    """
    found = []
    for load, row in zip(loads, over, strict=True):
        for web, (outer, inner) in zip(webs, row, strict=True):
            stress = 6 * web.share * max(outer * web.notch, inner) / web.left_mm**2
            middle = web.area.representative_point()
            found.append(Folded(load, web.items, web.left_mm, stress, (middle.x, middle.y), pocket=True))
    return tuple(found)


def folded(
    floors: tuple[ThinFloor, ...], full_mm: float, loads: tuple[Load, ...], answers: tuple[LidAnswer, ...]
) -> tuple[Folded, ...]:
    """Thin floors under each load: what they carry of the lid's moment over them, and of the coolant's pressure.

    Args:
        floors: what ``thin_floors`` gave.
        full_mm: thickness of the body.
        loads: the pressures.
        answers: the lid's, one for each load, with moments ``over`` these floors.
    """
    found = []
    for load, answer in zip(loads, answers, strict=True):
        for floor, (outer, inner) in zip(floors, answer.over, strict=False):  # those of webs come behind
            left, names, span = floor.floor
            own, factor = floor_stress(span, full_mm - left, left, load)
            bulging = 6 * floor.share * outer / left**2 + own.stress_mpa
            hollow = (6 * floor.share * inner / left**2 + own.stress_mpa) * factor
            found.append(Folded(load, names, left, max(bulging, hollow), span.at))
    return tuple(found)
