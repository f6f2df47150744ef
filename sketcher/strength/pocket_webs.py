"""What a pocket in the body's outer face leaves over it: a web that coolant and cord push into the pocket.

Water creeps under the lid up to the cord, so all of the sealed area is under pressure, and the cord pushes on the
groove's floor as hard as on the lid. The web is a plate that is fixed around the pocket, thinner under channels and
groove (``web_plate``). The pocket's own inner corner is pressed and has no notch factor; that of a channel over it has
one where it is pulled.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import shapely
from shapely.geometry import MultiPolygon, Polygon

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.strength import notch
from sketcher.strength.flat_plate import POISSON, Span, largest_span, pressed_plate
from sketcher.strength.floor_bending import CUTTER_CORNER_MM
from sketcher.strength.lid import greatest_push_n_mm, loads_of, tightness_push_n_mm
from sketcher.strength.load import Load
from sketcher.strength.recess_remains import outer_pockets
from sketcher.strength.seal import SealDesign
from sketcher.strength.web_plate import Recess, solved

#: Moment and sag of a strip fixed at both ends under a line load across it, at most, over F b and F b³ / D (Roark,
#: table 8.1, case 1d); sag under pressure, over q b⁴ / D.
MOMENT_SHARE, SAG_SHARE, PRESSED_SHARE = 4 / 27, 1 / 192, 1 / 384
#: A web that sags by less than this share of the cord, as a strip that is everywhere as thin, is not looked at closer.
_STILL = 0.01
#: What the raster leaves out of the sag.
SAG_MARGIN = 1.1


@dataclass(frozen=True)
class Web:
    """What is left over pockets that count as one, under one load.

    Attributes:
        items: the pockets' ids.
        thickness_mm: what is left of the body where it is thinnest, under groove or channels.
        beside_mm: what is left of it beside these.
        at: where its stress is largest.
        under_cord: whether the groove runs over it.
        stress_mpa: largest stress, the notch's share included.
        sag_mm: of the groove's floor, with the cord's force at its least squeeze; 0 where no groove runs over it.
    """

    load: Load
    items: tuple[str, ...]
    thickness_mm: float
    beside_mm: float
    at: tuple[float, float]
    under_cord: bool
    stress_mpa: float
    sag_mm: float


def pocket_webs(document: Document, shapes: Shapes, seal: SealDesign) -> tuple[Web, ...]:
    """Every web over the pockets of the body's outer face that coolant or cord pushes on, under both loads.

    A pocket that leaves nothing is left out; other rules say so.
    """
    if seal.room is None or seal.plan.sealed.is_empty:
        return ()
    loads = loads_of(document)[0]
    hard, tight = greatest_push_n_mm(seal, document, loads), tightness_push_n_mm(seal, document, loads)
    thick, found = document.plate.body_thickness_mm, []
    for items, area, depth in outer_pockets(document, shapes):
        spot = _spot(document, shapes, seal, (area, depth))
        if spot is None:
            continue
        pushes = [(hard[n], tight[n]) if spot.corded else (0.0, 0.0) for n in range(len(loads))]
        rows = [spot.as_strip(load, *push) for load, push in zip(loads, pushes, strict=True)]
        answer = None
        if any(stress > load.design_stress_mpa or sag > spot.still_mm
               for load, (stress, sag) in zip(loads, rows, strict=True)):  # fmt: skip
            answer = solved(*spot.plate)
            if answer is None:
                continue
        for load, push, (stress, sag) in zip(loads, pushes, rows, strict=True):
            at = (spot.span.at[0], spot.span.at[1])
            if answer is not None:
                pressure = load.pressure_kpa / 1000
                stress, at = answer.stress_mpa(pressure, push[0], spot.notch_factor)
                sag = SAG_MARGIN * answer.sag_mm(pressure, push[1], load.modulus_mpa) if spot.corded else 0.0
            found.append(Web(load, items, spot.thinnest_mm, thick - depth, at, spot.corded, stress, sag))
    return tuple(found)


@dataclass(frozen=True)
class _Spot:
    """A web before it is bent: as thin as it is anywhere, and what ``solved`` asks for."""

    span: Span
    thinnest_mm: float
    corded: bool
    notch_factor: float
    free_edge: bool
    still_mm: float
    plate: tuple[bytes, bytes, bytes, bytes, float, tuple[Recess, ...]]

    def as_strip(self, load: Load, most_n_mm: float, least_n_mm: float) -> tuple[float, float]:
        """Stress and sag of a web that is everywhere as thin, and worst loaded: never too small, but at a free edge."""
        if self.free_edge:
            return math.inf, math.inf
        stress = web_stress_mpa(self.span, self.thinnest_mm, load, most_n_mm) * self.notch_factor
        return stress, web_sag_mm(self.span, self.thinnest_mm, load, least_n_mm) if self.corded else 0.0


def _spot(
    document: Document, shapes: Shapes, seal: SealDesign, pocket: tuple[Polygon | MultiPolygon, float]
) -> _Spot | None:
    """A pocket that coolant or cord pushes on; none where neither does, or where nothing is left."""
    assert seal.room is not None
    (area, depth), half, thick = pocket, seal.room.width_mm / 2, document.plate.body_thickness_mm
    if shapely.distance(area, seal.plan.sealed) > half:
        return None
    lines, gland = shapely.boundary(seal.plan.sealed), seal.gland
    corded = seal.kind != "bonded" and bool(shapely.distance(area, lines) < half)
    own = shapely.intersection(lines, area) if corded else shapely.LineString()
    groove = gland.depth_mm + gland.depth_tolerance_mm if corded and gland is not None else 0.0
    cut = [Recess(area.wkb, depth, from_joint=False)]
    if groove:
        cut.append(Recess(shapely.intersection(lines.buffer(half), area).wkb, groove, from_joint=True))
    over = [one for one in shapes.channels.values() if shapely.intersects(one.polygon, area)]
    cut += [Recess(one.polygon.wkb, one.item.depth_mm, from_joint=True, notched=True) for one in over]
    step = max((one.item.depth_mm for one in over), default=0.0)
    left, span = thick - depth - max(step, groove), largest_span(area)
    if span is None or left <= 0:
        return None
    cutouts = shapely.union_all([one.polygon.buffer(0) for one in shapes.cutouts.values()])
    body = shapely.difference(shapely.box(*area.buffer(60).bounds), cutouts)
    return _Spot(
        span,
        left,
        corded,
        notch.corner_factor(step, left, CUTTER_CORNER_MM) if step else 1.0,
        bool(shapely.intersects(cutouts, area)),
        _STILL * gland.cord_mm if gland is not None else math.inf,
        (body.wkb, area.wkb, seal.plan.sealed.wkb, own.wkb, thick, tuple(cut)),
    )


def web_stress_mpa(span: Span, left_mm: float, load: Load, cord_n_mm: float) -> float:
    """Bending stress of a strip, fixed at both ends, under pressure and a cord where it is worst, MPa."""
    pressed = pressed_plate(span, left_mm, load.pressure_kpa, load.modulus_mpa, "fixed").stress_mpa
    return pressed + 6 * MOMENT_SHARE * cord_n_mm * span.b_mm / left_mm**2


def web_sag_mm(span: Span, left_mm: float, load: Load, cord_n_mm: float) -> float:
    """How far such a strip sags in the middle, mm."""
    rigidity = load.modulus_mpa * left_mm**3 / (12 * (1 - POISSON**2))
    push = PRESSED_SHARE * load.pressure_kpa / 1000 * span.b_mm**4 + SAG_SHARE * cord_n_mm * span.b_mm**3
    return push / rigidity
