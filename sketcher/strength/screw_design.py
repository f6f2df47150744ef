"""Lid screws that pass their own checks: the widest spacing whose pulls, lifts and stresses all hold.

The document's screw spacing is the widest that is tried. Each trial places screws and bends the lid on them
(``screw_trials``); where it does not hold, screws are added near by. Another thread is taken where the document's finds
no room or does not hold.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from sketcher.document import Document
from sketcher.document.base import FARTHEST_MM
from sketcher.geometry import Shapes
from sketcher.reference import screws as screw_table
from sketcher.strength.lid_screws import ProposedHole, ScrewSite, lid_screw_depth_mm, without_lid_screws
from sketcher.strength.screw_thinning import judged_thin, thinned
from sketcher.strength.screw_trials import GROOVE, LEAST_SQUEEZE, Trial, judged, widest_mm, with_holes
from sketcher.strength.seal import gland_of
from sketcher.strength.taps import shallowest

#: No closer than this, in heads with room for the key: more screws weaken the plate more than they hold.
_CLOSEST = 1.6
#: No lid holds on screws farther apart than this, mm: where the document's pitch is wider the search begins here.
_WIDEST_MM = 120.0
#: The line that axes stand on is longer than the groove where that bends: so much more is allowed at the beginning.
_LONGER = 1.15
_TRIALS = 6
_CLOSER, _MUCH_CLOSER = 0.75, 0.55
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
#: Of those that fail by less than this the best are tried once more, beginning at these shares of the spacing.
_NEARLY = 1.8
_EVENLY = (0.6, 0.45)


@dataclass(frozen=True)
class ScrewDesign:
    """Screws for a lid: holes to add, their thread, the closest spacing used, and what does not hold even so.

    ``grooves`` is whether regions share a groove in it, as the document's key says; ``chose`` says in words where
    thread or grooves are others than the document's, and why. ``only_grooves``: all that fails is that the groove
    misses walls, which no other screw changes. ``worst`` is the greatest share of a limit that a load takes.
    ``begin_mm`` is the spacing that the pattern began at; ``bent`` for how many patterns the lid was bent until this
    one was found, ``tried`` for how many with those of other threads and grooves.
    """

    holes: tuple[ProposedHole, ...]
    pitch_mm: float
    problems: tuple[str, ...]
    screw: str = ""
    grooves: str = "apart"
    chose: str = ""
    only_grooves: bool = False
    worst: float = 1.0
    begin_mm: float = _WIDEST_MM
    bent: int = 1
    tried: int = 1

    @property
    def works(self) -> bool:
        """Whether everything holds."""
        return not self.problems


def design_screws(
    document: Document,
    shapes: Shapes,
    *,
    walls: Mapping[str, float] | None = None,
    least_squeeze: float = LEAST_SQUEEZE,
) -> ScrewDesign:
    """The fewest screws that hold, beside those that the document has; ``walls`` as for ``lid_screws.place_screws``.

    The pattern begins at the document's pitch, or at the widest that can hold. Where a screw pulls too much or the lid
    lifts or bends too much, screws are added near by, at closer and closer spacing, until everything holds or there is
    no room.
    """
    if (none := _no_screws(document)) is not None:
        return none
    return _searched(ScrewSite(document, shapes, None, walls), least_squeeze)


def _closest_mm(site: ScrewSite) -> float:
    return _CLOSEST * site.room.head_mm


def _searched(site: ScrewSite, least_squeeze: float, begin_mm: float = _WIDEST_MM) -> ScrewDesign:
    """The search at one site, from the document's pitch or from ``begin_mm``, whichever is closer."""
    seal, closest = site.document.seal, _closest_mm(site)
    pitch = min(seal.screw_pitch_mm, begin_mm)
    holes = site.placed(pitch)
    if holes and (widest := _LONGER * widest_mm(site, holes[0])) < pitch:
        pitch = max(widest, min(closest, pitch))
        holes = site.placed(pitch)
    trial = best = judged_thin(site, holes, least_squeeze)
    best_pitch, reach, stalled, bent = pitch, pitch, 0, 1
    for _ in range(_TRIALS):
        if not trial.spots or pitch <= closest or stalled == _STALLED or _HOPELESS < trial.worst < math.inf:
            break
        share = min(_CLOSER, max(_MUCH_CLOSER, 1 / trial.worst)) if 0 < trial.worst < math.inf else _CLOSER
        pitch = max(share * pitch, closest)
        more = site.placed(pitch, trial.holes)
        near = [hole for hole in more if any(math.dist((hole.x_mm, hole.y_mm), s) <= reach for s in trial.spots)]
        if not near:
            continue
        trial, bent = judged_thin(site, [*trial.holes, *near], least_squeeze), bent + 1
        stalled = 0 if trial.worst < _BETTER * best.worst or not trial.problems else stalled + 1
        if trial.worst < best.worst:
            best, best_pitch = trial, pitch
    if not best.exact:
        best = judged(site, best.holes, least_squeeze, exact=True)
    best = thinned(site, best, least_squeeze)
    return replace(_told(site, best, best_pitch), begin_mm=begin_mm, bent=bent, tried=bent)


def _told(site: ScrewSite, best: Trial, pitch: float) -> ScrewDesign:
    alone = bool(best.problems) and all(problem.startswith(GROOVE) for problem in best.problems)
    seal = site.document.seal
    return ScrewDesign(best.holes, pitch, best.problems, seal.screw, seal.grooves, only_grooves=alone, worst=best.worst)


def design_like(
    document: Document,
    shapes: Shapes,
    like: ScrewDesign,
    *,
    walls: Mapping[str, float] | None = None,
    least_squeeze: float = LEAST_SQUEEZE,
) -> ScrewDesign:
    """The design with the thread, the grooves and the beginning of another one, in a fraction of the time. Where it
    holds, or holds but for the walls of the groove as the other did, ``design_lid`` finds such a one too, since this is
    among those that it tries.
    """
    document = document.model_copy(
        update={"seal": document.seal.model_copy(update={"screw": like.screw, "grooves": like.grooves})}
    )
    if (none := _no_screws(document)) is not None:
        return none
    site = ScrewSite(document, replace(shapes, document=document), None, walls)
    return _searched(site, least_squeeze, like.begin_mm)


def design_lid(
    document: Document,
    shapes: Shapes,
    *,
    walls: Mapping[str, float] | None = None,
    keep: bool = True,
    least_squeeze: float = LEAST_SQUEEZE,
) -> ScrewDesign:
    """``design_screws`` as the document says, or, where that does not hold, with shared grooves or another thread.

    Of those that hold, the one with the fewest screws is taken. Where the groove misses a wall whatever is tried, lid
    and screws that hold otherwise are: something has to be moved, and nothing else.

    Args:
        keep: False designs as if the document had no lid screws yet.
    """
    if not keep:
        document, shapes = without_lid_screws(document, shapes)
    first = design_screws(document, shapes, walls=walls, least_squeeze=least_squeeze)
    if first.works or _no_screws(document) is not None:
        return first
    found, but_for_walls = list[ScrewDesign](), list[ScrewDesign]()
    close = [(first.worst, ScrewSite(document, shapes, None, walls))]
    misses = any(problem.startswith(GROOVE) for problem in first.problems)
    tried = first.tried
    for told in _others(document, first):
        other = document.model_copy(update={"seal": document.seal.model_copy(update=told)})
        if _no_screws(other) is not None:
            continue
        site = ScrewSite(other, replace(shapes, document=other), None, walls)
        if _cannot(site) or (site.seal.missing and (first.only_grooves or but_for_walls or not misses)):
            continue
        design = _searched(site, least_squeeze)
        tried += design.bent
        if design.works:
            found.append(replace(design, chose=_chose(first, design)))
            if len(found) == _ENOUGH:
                break
        elif design.only_grooves and not first.only_grooves:
            but_for_walls.append(replace(design, chose=_chose(first, design)))
        else:
            close.append((design.worst, site))
    if not found and not but_for_walls and not first.only_grooves:
        close = sorted((one for one in close if one[0] < _NEARLY), key=lambda one: one[0])[:_ENOUGH]
        again = list(_evenly(close, least_squeeze))
        tried += sum(design.bent for design in again)
        found = [replace(design, chose=_chose(first, design)) for design in again if design.works]
    best = min(found or but_for_walls, key=lambda design: len(design.holes), default=first)
    return replace(best, tried=tried)


def _evenly(close: list[tuple[float, ScrewSite]], least_squeeze: float) -> Iterator[ScrewDesign]:
    """Designs of those that nearly hold, until one does: all screws at a closer spacing from the beginning. Evenly
    spaced screws pry less than such as were added here and there."""
    for _, site in close:
        for share in _EVENLY:
            begin = max(share * min(site.document.seal.screw_pitch_mm, _WIDEST_MM), _closest_mm(site))
            design = _searched(site, least_squeeze, begin)
            yield design
            if design.works:
                return


def _others(document: Document, first: ScrewDesign) -> list[dict[str, str]]:
    """Other grooves and threads to try, as keys of the seal."""
    shared = [{"grooves": grooves} for grooves in _SHARED.get(document.seal.grooves, ())]
    if first.only_grooves or any(hole.use == "lid" for hole in document.holes):
        return shared
    own = screw_table.screw(document.seal.screw).major_mm
    # A thinner screw finds room where a thicker one does not, but bears less: no help where one pulls too much.
    thinner = not any(" pulls " in problem for problem in first.problems)
    names = [name for name in _OTHERS if (size := screw_table.screw(name).major_mm) > own or (thinner and size < own)]
    threads = [{"screw": name} for name in names]
    return [*shared, *threads, *({**one, **other} for other in threads for one in shared)]


def _cannot(site: ScrewSite) -> bool:
    """Whether a design is out of the question before any lid is bent: there is no room for a screw at all, too little
    thread, or the closest spacing leaves more push on each than it bears."""
    if site.screw is None:
        return True
    holes = site.placed(_closest_mm(site))
    kept = any(hole.use == "lid" for hole in site.document.holes)
    if not holes:
        return not kept
    if shallowest(with_holes(site.document, holes[:1])) is not None:
        return True
    return _LONGER * widest_mm(site, holes[0]) < _closest_mm(site)


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
    said = [] if (design.screw, design.grooves) != (first.screw, first.grooves) else ["all screws closer together"]
    if design.grooves != first.grooves:
        said.append("regions near each other share a groove" if design.grooves == "shared" else "one groove round all")
    if design.screw != first.screw:
        said.append(f"{design.screw} screws")
    why = next((problem for problem in first.problems if not problem.startswith(GROOVE)), first.problems[0])
    return f"{' and '.join(said)}, because as it stands {why}"
