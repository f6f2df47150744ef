"""Trials of lid screws: a document with screws that it might have, judged by what its lid, cord and threads do.

Cheap tests go first: what no screw holds needs no plate solved, and what fails by far on large cells would fail on
small ones too. Only what may hold is solved exactly.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely

from sketcher.document import Document
from sketcher.document.plate import Hole
from sketcher.strength.lid import (
    REACH_DIAMETERS,
    LidReport,
    greatest_push_n_mm,
    lid_alone,
    loads_of,
    thread_holds_n,
    to_screws_mm,
)
from sketcher.strength.lid_bending import Solver
from sketcher.strength.lid_screws import ProposedHole, ScrewSite
from sketcher.strength.over_sheet import bears_n
from sketcher.strength.seal import SealDesign
from sketcher.strength.taps import LEAST_DIAMETERS, shallowest
from sketcher.strength.tightening import RELAXED_SHARE, Torque, greatest_preload_n, torque_of

#: Squeeze that must be left, a fraction: the usual limit of the rule ``lid-squeeze``.
LEAST_SQUEEZE = 0.10
#: What fails by more than this on large cells fails on small ones: they differ by less (``lid.lid_alone``).
SURELY = 1.3
#: Where so large a share of screws have another within this distance, large cells are of no use.
_CLOSE_MM, _MANY_SHARE = 16.0, 0.4
_TRIAL = "trial"
GROOVE = "the groove"

Point = tuple[float, float]


@dataclass(frozen=True)
class Trial:
    """Screws in trial: what fails, how badly (load over limit), and where. ``exact``: solved on fine cells.
    ``thinned``: screws that are not needed were sought."""

    holes: tuple[ProposedHole, ...]
    problems: tuple[str, ...]
    worst: float
    spots: tuple[Point, ...]
    exact: bool = True
    thinned: bool = False


def judged(site: ScrewSite, holes: Sequence[ProposedHole], least_squeeze: float, *, exact: bool = False) -> Trial:
    """Screws judged; on large cells where these say that they fail by far, unless ``exact`` is asked for."""
    if not exact and (bare := unheld(site, holes)):
        return Trial(tuple(holes), ("no screw holds a groove",), math.inf, bare, exact=False)
    for rough in (False,) if exact or dense(holes) else (True, False):
        trial = looked_at(site, holes, least_squeeze, rough=rough)[0]
        if trial.worst > SURELY:
            break
    return trial


def looked_at(
    site: ScrewSite,
    holes: Sequence[ProposedHole],
    least_squeeze: float,
    *,
    rough: bool,
    coarse: float | None = None,
    solver: Solver | None = None,
) -> tuple[Trial, LidReport]:
    """Screws judged by one solution of the lid; arguments else as for ``lid.lid_alone``."""
    document = with_holes(site.document, holes)
    seal = replace(site.seal, screw_axes=tuple((hole.x_mm, hole.y_mm) for hole in document.holes if hole.use == "lid"))
    shapes = replace(site.shapes, document=document)
    report = lid_alone(document, shapes, seal, rough=rough, coarse=coarse, solver=solver)
    problems, worst = problems_of(document, seal, report, torque_of(document, report), least_squeeze)
    spots = _spots(document, seal, report, least_squeeze)
    return Trial(tuple(holes), problems, worst, spots, exact=not rough), report


def dense(holes: Sequence[ProposedHole]) -> bool:
    """Whether many screws stand nearer together than two large cells: these do not tell them apart."""
    tree = shapely.STRtree([shapely.Point(hole.x_mm, hole.y_mm) for hole in holes])
    pairs = tree.query(tree.geometries, predicate="dwithin", distance=_CLOSE_MM)
    return len(pairs[0]) - len(holes) > _MANY_SHARE * len(holes)


def with_holes(document: Document, holes: Sequence[ProposedHole]) -> Document:
    """The document with screws in trial."""
    new = [Hole.model_validate({"id": f"{_TRIAL}{index}", **hole.as_json()}) for index, hole in enumerate(holes)]
    return document.model_copy(update={"holes": [*document.holes, *new]})


def unheld(site: ScrewSite, holes: Sequence[ProposedHole]) -> tuple[Point, ...]:
    """A place on every groove that no screw is near enough to."""
    if site.screw is None or site.seal.plan.sealed.is_empty:
        return ()
    document = with_holes(site.document, holes)
    reach = to_screws_mm(document, site.seal) + REACH_DIAMETERS * site.screw.major_mm
    axes = [shapely.Point(hole.x_mm, hole.y_mm) for hole in document.holes if hole.use == "lid"]
    rings = shapely.get_rings(shapely.get_parts(site.seal.plan.sealed))
    near = shapely.STRtree(axes).query(rings, predicate="dwithin", distance=reach)[0]
    bare = [rings[k] for k in sorted(set(range(len(rings))) - set(near.tolist()))]
    middles = [ring.interpolate(0.5, normalized=True) for ring in bare]
    return tuple((middle.x, middle.y) for middle in middles)


def widest_mm(site: ScrewSite, hole: ProposedHole) -> float:
    """How far apart screws like ``hole`` can stand at most, mm: all the cord's and the pressure's push is on them, so
    that on average none may have more than its thread and its head bear. Prying comes on top: a true need."""
    if site.screw is None or site.seal.room is None:
        return math.inf
    document, parts = with_holes(site.document, [hole]), list(site.seal.plan.sealed.geoms)
    loads = loads_of(document)[0]
    found = math.inf
    for load, push in zip(loads, greatest_push_n_mm(site.seal, document, loads), strict=True):
        bears = min(thread_holds_n(document, load), greatest_preload_n(document)[0] * (1 - RELAXED_SHARE))
        lengths = [sum(ring.length for ring in (part.exterior, *part.interiors)) for part in parts]
        lines = [
            push + load.pressure_kpa / 1000 * part.area / length for part, length in zip(parts, lengths, strict=True)
        ]
        found = min(found, max((bears / line for line in lines if line > 0), default=math.inf))
    return found


def _spots(document: Document, seal: SealDesign, report: LidReport, least_squeeze: float) -> tuple[Point, ...]:
    """Where something does not hold: overloaded screws, gaps that lift, the lid's worst place."""
    places = {hole.id: (hole.x_mm, hole.y_mm) for hole in document.holes}
    most_n = greatest_preload_n(document)[0] * (1 - RELAXED_SHARE)
    found: list[Point] = []
    wished = {load.name: bears_n(document, load) for load in report.loads}
    for row in report.clamped:
        found += row.clamping.unheld
        # More screws are wished for where the pull would be too much at an end of the lid's tolerance.
        limit = min(row.thread_n, most_n, wished[row.load.name])
        found += [places[load.id] for load in row.clamping.loads if load.total_n > limit]
        if seal.gland is not None:
            most = (seal.gland.squeeze.least - least_squeeze) * seal.gland.cord_mm
            found += [gap.at for gap in row.clamping.gaps if gap.opening_mm > most]
    found += [
        bent.span.at for bent in report.bent if bent.what == "lid" and bent.stress_mpa > bent.load.design_stress_mpa
    ]
    return tuple(found)


def problems_of(
    document: Document, seal: SealDesign, report: LidReport, torque: Torque | None, least_squeeze: float = LEAST_SQUEEZE
) -> tuple[tuple[str, ...], float]:
    """What of lid and screws does not hold, in words, and the worst ratio of load to limit."""
    if seal.plan.sealed.is_empty:
        return (), 1.0
    if not report.clamped:
        return ("no lid screw holds the groove",), math.inf
    found: list[str] = []
    worst = 0.0
    if not report.on_screws:
        found.append("a part of the lid has fewer than three screws, or all of them in one line")
        worst = math.inf
    tap = shallowest(document)
    if tap is not None:
        least = LEAST_DIAMETERS * tap.screw.major_mm
        found.append(f"{tap.screw.name} screws find {max(tap.thread_mm, 0.0):.1f} mm of thread, {least:g} needed")
        worst = max(worst, least / max(tap.thread_mm, 1e-6))
    if seal.missing:
        found.append(f"{GROOVE} misses its wall in {len(seal.missing)} places")
    for row in report.clamped:
        if row.clamping.unheld:
            found.append(f"no screw holds the groove around {', '.join(row.items)}")
            worst = math.inf
        pull = max((load.total_n for load in row.clamping.loads), default=0.0)
        ratio = pull / row.thread_n if row.thread_n > 0 else math.inf
        worst = max(worst, ratio)
        if ratio > 1 + 1e-9:
            found.append(f"a screw pulls {pull:.0f} N, its thread holds {row.thread_n:.0f} N")
        if row.squeeze_left is not None and seal.gland is not None:
            lost = seal.gland.squeeze.least - row.squeeze_left
            ratio = lost / max(seal.gland.squeeze.least - least_squeeze, 1e-6)
            worst = max(worst, ratio)
            if ratio > 1 + 1e-9:
                left = f"{100 * row.squeeze_left:.0f} %" if row.squeeze_left > 0 else "nothing"
                found.append(f"{left} of the squeeze is left where the lid lifts")
    for bent in report.bent:
        if bent.what == "lid":
            ratio = bent.stress_mpa / bent.load.design_stress_mpa
            worst = max(worst, ratio)
            if ratio > 1 + 1e-9:
                found.append(f"the lid's stress is {bent.stress_mpa:.1f} MPa, {bent.load.design_stress_mpa:g} allowed")
    if torque is not None:
        worst = max(worst, torque.least_preload_n / max(torque.most_preload_n, 1e-6))
        if torque.never:
            found.append(f"{torque.least_preload_n:.0f} N of preload, {torque.most_preload_n:.0f} N allowed")
    return tuple(dict.fromkeys(found)), worst
