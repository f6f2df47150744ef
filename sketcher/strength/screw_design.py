"""Lid screws that pass their own checks: the widest spacing whose pulls, lifts and stresses all hold.

The document's screw pitch is the widest that is tried. Each trial places screws and bends the lid on them; where it
does not hold, screws are added near by. Another thread is taken where the document's finds no room or does not hold.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from sketcher.document import Document
from sketcher.document.base import FARTHEST_MM
from sketcher.document.plate import Hole
from sketcher.geometry import Shapes, build
from sketcher.reference import screws as screw_table
from sketcher.strength.lid import LidReport, lid_report
from sketcher.strength.over_sheet import bears_n
from sketcher.strength.seal import ProposedHole, SealDesign, design_seal, gland_of, lid_screw_depth_mm, place_screws
from sketcher.strength.taps import LEAST_DIAMETERS, shallowest
from sketcher.strength.tightening import RELAXED_SHARE, Torque, greatest_preload_n, torque_of

#: Squeeze that must be left, a fraction: the usual limit of the rule ``lid-squeeze``.
LEAST_SQUEEZE = 0.10
#: No closer than this, in heads with room for the key: more screws weaken the plate more than they hold.
_CLOSEST = 1.6
#: No lid holds on screws farther apart than this, mm: where the document's pitch is wider the search begins here.
_WIDEST_MM = 120.0
_TRIALS = 6
_CLOSER = 0.75
#: A trial that lowers the worst ratio by less than this is no way forward; after two of them nothing is hoped for.
_BETTER = 0.98
_STALLED = 2
#: No spacing heals what is so many times over its limit: the lift goes with the fourth power of the spacing.
_HOPELESS = 1000.0
#: Threads that are tried when the document's own does not hold.
_OTHERS = ("M5", "M6", "M4", "M3")
#: Grooves that are tried when those of the document do not hold.
_SHARED = {"apart": ("shared", "one"), "shared": ("one",)}
#: So many designs that hold are compared: more would only cost time.
_ENOUGH = 2
_TRIAL = "trial"
_GROOVE = "the groove"

Point = tuple[float, float]


@dataclass(frozen=True)
class ScrewDesign:
    """Screws for a lid: holes to add, their thread, the closest spacing used, and what does not hold even so.

    ``grooves`` is whether regions share a groove in it, as the document's key says; ``chose`` says in words where
    thread or grooves are others than the document's, and why. ``only_grooves``: all that fails is that the groove
    misses walls, which no other screw changes.
    """

    holes: tuple[ProposedHole, ...]
    pitch_mm: float
    problems: tuple[str, ...]
    screw: str = ""
    grooves: str = "apart"
    chose: str = ""
    only_grooves: bool = False

    @property
    def works(self) -> bool:
        """Whether everything holds."""
        return not self.problems


@dataclass(frozen=True)
class _Trial:
    """A document with its trial screws, judged: what fails, how badly, and where."""

    document: Document
    shapes: Shapes
    problems: tuple[str, ...]
    worst: float
    spots: tuple[Point, ...]


def design_screws(
    document: Document,
    shapes: Shapes,
    *,
    walls: Mapping[str, float] | None = None,
    keep: bool = True,
    least_squeeze: float = LEAST_SQUEEZE,
) -> ScrewDesign:
    """The fewest screws that hold; arguments as for ``seal.place_screws``.

    The pattern begins at the document's pitch. Where a screw pulls too much or the lid lifts or bends too much, screws
    are added near by, at closer and closer spacing, until everything holds or there is no room.
    """
    name, pitch = document.seal.screw, min(document.seal.screw_pitch_mm, _WIDEST_MM)
    if (none := _no_screws(document)) is not None:
        return none
    if pitch < document.seal.screw_pitch_mm:
        document = document.model_copy(update={"seal": document.seal.model_copy(update={"screw_pitch_mm": pitch})})
        shapes = replace(shapes, document=document)
    if not keep:
        document = document.model_copy(update={"holes": [hole for hole in document.holes if hole.use != "lid"]})
        shapes = build(document)
    closest = _CLOSEST * (screw_table.screw(name).cap_head.diameter_mm + 1)
    holes = place_screws(document, shapes, walls=walls)
    trial = best = _judged(document, holes, least_squeeze)
    best_holes, best_pitch, reach, stalled = holes, pitch, pitch, 0
    for _ in range(_TRIALS):
        if not trial.spots or pitch <= closest or stalled == _STALLED or _HOPELESS < trial.worst < math.inf:
            break
        pitch = max(_CLOSER * pitch, closest)
        seal = document.seal.model_copy(update={"screw_pitch_mm": pitch})
        closer = trial.document.model_copy(update={"seal": seal})
        more = place_screws(closer, replace(trial.shapes, document=closer), walls=walls)
        near = [hole for hole in more if any(math.dist((hole.x_mm, hole.y_mm), s) <= reach for s in trial.spots)]
        if not near:
            continue
        holes = [*holes, *near]
        trial = _judged(document, holes, least_squeeze)
        stalled = 0 if trial.worst < _BETTER * best.worst or not trial.problems else stalled + 1
        if trial.worst < best.worst:
            best, best_holes, best_pitch = trial, holes, pitch
    alone = bool(best.problems) and all(problem.startswith(_GROOVE) for problem in best.problems)
    return ScrewDesign(tuple(best_holes), best_pitch, best.problems, name, document.seal.grooves, only_grooves=alone)


def design_lid(
    document: Document,
    shapes: Shapes,
    *,
    walls: Mapping[str, float] | None = None,
    keep: bool = True,
    least_squeeze: float = LEAST_SQUEEZE,
) -> ScrewDesign:
    """``design_screws`` as the document says, or, where that does not hold, with shared grooves or another thread.

    Of those that hold, the one with the fewest screws is taken.
    """
    first = design_screws(document, shapes, walls=walls, keep=keep, least_squeeze=least_squeeze)
    if first.works or _no_screws(document) is not None:
        return first
    pinned = keep and any(hole.use == "lid" for hole in document.holes)
    seals = [{"grooves": grooves} for grooves in _SHARED.get(document.seal.grooves, ())]
    if not pinned and not first.only_grooves:
        own = screw_table.screw(document.seal.screw).major_mm
        # A thinner screw finds room where a thicker one does not, but bears less: no help where one pulls too much.
        thinner = not any(" pulls " in problem for problem in first.problems)
        others = [
            name for name in _OTHERS if (size := screw_table.screw(name).major_mm) > own or (thinner and size < own)
        ]
        seals += [{"screw": name} for name in others]
        seals += [{"screw": name, **shared} for shared in seals[:1] for name in others[:1] if "grooves" in shared]
    found: list[ScrewDesign] = []
    for told in seals:
        other = document.model_copy(update={"seal": document.seal.model_copy(update=told)})
        design = design_screws(
            other, replace(shapes, document=other), walls=walls, keep=keep, least_squeeze=least_squeeze
        )
        if design.works:
            found.append(replace(design, chose=_chose(first, design)))
            if len(found) == _ENOUGH:
                break
    return min(found, key=lambda design: len(design.holes), default=first)


def _no_screws(document: Document) -> ScrewDesign | None:
    """The answer where nothing can be designed: a bonded lid needs no screws, a seal or a screw may be impossible."""
    seal, problems = document.seal, gland_of(document)[1]
    if not problems and seal.kind != "bonded":
        if seal.screw not in screw_table.names():
            problems = f"no table has the screw {seal.screw!r}"
        elif lid_screw_depth_mm(document, screw_table.screw(seal.screw)) > FARTHEST_MM:
            problems = "lid screws would be too long"
        else:
            return None
    return ScrewDesign((), seal.screw_pitch_mm, (problems,) if problems else (), seal.screw, seal.grooves)


def _chose(first: ScrewDesign, design: ScrewDesign) -> str:
    said = []
    if design.grooves != first.grooves:
        said.append("regions near each other share a groove" if design.grooves == "shared" else "one groove round all")
    if design.screw != first.screw:
        said.append(f"{design.screw} screws")
    return f"{' and '.join(said)}, because as it stands {first.problems[0]}"


def _judged(document: Document, holes: Sequence[ProposedHole], least_squeeze: float) -> _Trial:
    new = [Hole.model_validate({"id": f"{_TRIAL}{index}", **hole.as_json()}) for index, hole in enumerate(holes)]
    trial = document.model_copy(update={"holes": [*document.holes, *new]})
    shapes = build(trial)
    seal = design_seal(trial, shapes)
    report = lid_report(trial, shapes, seal)
    problems, worst = problems_of(trial, seal, report, torque_of(trial, report), least_squeeze)
    return _Trial(trial, shapes, problems, worst, _spots(trial, seal, report, least_squeeze))


def _spots(document: Document, seal: SealDesign, report: LidReport, least_squeeze: float) -> tuple[Point, ...]:
    """Where something does not hold: overloaded screws, gaps that lift, the lid's worst place."""
    places = {hole.id: (hole.x_mm, hole.y_mm) for hole in document.holes}
    most_n = greatest_preload_n(document)[0] * (1 - RELAXED_SHARE)
    found: list[Point] = []
    for row in report.clamped:
        found += row.clamping.unheld
        # More screws are wished for where the pull would be too much at an end of the lid's tolerance.
        limit = min(row.thread_n, most_n, bears_n(document, row))
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
        found.append(f"{_GROOVE} misses its wall in {len(seal.missing)} places")
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
