"""Lid screws that are not needed are taken away again: the last step of a search.

A pattern is laid evenly around every groove, and screws are added where something does not hold; near a corner, or
between two grooves, one may be left over. Those whose neighbours are no farther apart than the screw spacing without
them are taken away, all at once and, where that does not hold, half of them at a time. The lid's equations are factored
once for all these trials (``lid_bending.KeptPlates``), and their number is bounded. Screws that mirror each other in a
pattern that is symmetric go together where they can.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray

from sketcher.strength.lid import REACH_DIAMETERS, LidReport, to_screws_mm
from sketcher.strength.lid_bending import KeptPlates
from sketcher.strength.lid_screws import ProposedHole, ScrewSite
from sketcher.strength.over_sheet import over_sheet
from sketcher.strength.screw_trials import GROOVE, SURELY, Trial, dense, judged, looked_at, unheld, with_holes
from sketcher.strength.tightening import RELAXED_SHARE, greatest_preload_n

#: Solutions of the lid at most; one more for every time that its sealed parts go into this area, and so many more at
#: most: a small lid is solved in a hundredth of a second.
_SOLUTIONS, _SMALL_MM2, _MORE = 6, 40_000.0, 12
#: What fails by no more than this on large cells may well hold on the usual ones: pulls differ by so much.
_LIKELY = 1.05
_SAME = 1.01
#: What a neighbour takes over of the pull of a screw that is taken away, at least: about half of it, in a row.
_TAKES_OVER = 0.4
#: Screws mirror each other within this, mm: they stand on tenths, each rounded by itself.
_MIRROR_MM = 0.3
#: As the rule on the spacing has it, mm.
_SPACING_SPARE_MM = 0.01

Index = NDArray[np.int64]


def judged_thin(site: ScrewSite, holes: Sequence[ProposedHole], least_squeeze: float) -> Trial:
    """``screw_trials.judged``, and where all holds on large cells as few of the screws as hold."""
    if dense(holes) or unheld(site, holes):
        return judged(site, holes, least_squeeze)
    plates = KeptPlates()
    rough, report = looked_at(site, holes, least_squeeze, rough=True, solver=plates)
    if rough.worst > SURELY:
        return rough
    likely = rough.worst <= _LIKELY and not any(problem.startswith(GROOVE) for problem in rough.problems)
    found = _fewer(site, rough, report, least_squeeze, plates) if likely else None
    return found or replace(looked_at(site, holes, least_squeeze, rough=False)[0], thinned=likely)


def thinned(site: ScrewSite, trial: Trial, least_squeeze: float) -> Trial:
    """The screws of a trial that holds, or as few of them as hold."""
    if trial.problems or trial.thinned or not trial.holes:
        return trial
    close = dense(trial.holes)
    plates = KeptPlates()
    coarse = 1.0 if close else 2.0
    rough, report = looked_at(site, trial.holes, least_squeeze, rough=True, coarse=coarse, solver=plates)
    found = _fewer(site, rough, report, least_squeeze, plates, coarse=coarse)
    return found or replace(trial, thinned=True)


def _fewer(
    site: ScrewSite,
    whole: Trial,
    report: LidReport,
    least_squeeze: float,
    plates: KeptPlates,
    *,
    coarse: float = 2.0,
) -> Trial | None:
    """As few screws of a trial as hold, judged exactly; none where all are needed."""
    row = _Row(site, whole.holes)
    spare = row.spare(report)
    if not spare:
        return None
    most = max(_SAME * whole.worst if whole.problems else 0.0, 1.0)
    before = set(whole.spots)
    thin = _on_thin_sheet(site, whole, report, least_squeeze)
    area = sum(part.envelope.area for part in site.seal.plan.sealed.geoms)
    left = _SOLUTIONS + min(int(_SMALL_MM2 / max(area, 1.0)), _MORE)

    def holds(gone: frozenset[int]) -> bool:
        nonlocal left
        if left == 0:
            return False
        left -= 1
        holes = [hole for number, hole in enumerate(whole.holes) if number not in gone]
        if unheld(site, holes):
            return False
        trial, report = looked_at(site, holes, least_squeeze, rough=True, coarse=coarse, solver=plates)
        return (
            trial.worst <= most + 1e-9
            and set(trial.spots) <= before
            and _on_thin_sheet(site, trial, report, least_squeeze) <= thin
        )

    gone = _taken_away(row, spare, holds)
    while gone:
        holes = [hole for number, hole in enumerate(whole.holes) if number not in gone]
        exact, report = looked_at(site, holes, least_squeeze, rough=False)
        if not exact.problems and set(exact.spots) <= before:
            return replace(exact, thinned=True)
        if left <= 0 or whole.problems:
            break
        # The large cells were too kind: the last half comes back.
        left -= _SOLUTIONS // 3
        gone = frozenset(sorted(gone)[: len(gone) // 2])
    return None


def _taken_away(row: _Row, spare: list[tuple[int, ...]], holds: Callable[[frozenset[int]], bool]) -> frozenset[int]:
    """Screws that are not needed, by number: groups of ``spare`` tried together, halved where they do not hold."""
    gone: frozenset[int] = frozenset()
    refused: set[tuple[int, ...]] = set()

    def attempt(groups: list[tuple[int, ...]]) -> None:
        nonlocal gone
        tried = gone.union(*groups)
        if row.spaced(tried) and holds(tried):
            gone = tried
        elif len(groups) > 1:
            attempt(groups[: (len(groups) + 1) // 2])
            attempt(groups[(len(groups) + 1) // 2 :])
        else:
            refused.update(groups)
            for pair in row.pairs(groups[0]):
                attempt([pair])

    while True:
        together: list[tuple[int, ...]] = []
        for group in spare:
            if group in refused or gone.intersection(group):
                continue
            others = gone.union(*together)
            if row.apart(group, others - gone, gone) and row.spaced(others.union(group)):
                together.append(group)
        if not together:
            return gone
        attempt(together)


class _Row:
    """Who stands beside whom along every groove, and how far apart they may come."""

    def __init__(self, site: ScrewSite, holes: Sequence[ProposedHole]) -> None:
        assert site.screw is not None
        self._site, self._count = site, len(holes)
        kept = [(hole.x_mm, hole.y_mm) for hole in site.document.holes if hole.use == "lid"]
        self.places = np.array([*((hole.x_mm, hole.y_mm) for hole in holes), *kept]).reshape(-1, 2)
        self._document = document = with_holes(site.document, holes)
        self.names = [hole.id for hole in document.holes if hole.use == "lid"]
        self.names = self.names[len(kept) :] + self.names[: len(kept)]
        self._most = document.seal.screw_pitch_mm + _SPACING_SPARE_MM
        reach = to_screws_mm(document, site.seal) + REACH_DIAMETERS * site.screw.major_mm
        axes = np.atleast_1d(np.asarray(shapely.points(self.places)))
        self.rings: list[list[int]] = []
        for ring in shapely.get_rings(shapely.get_parts(site.seal.plan.sealed)).tolist():
            near = np.flatnonzero(shapely.distance(axes, ring) <= reach)
            along = shapely.line_locate_point(ring, axes[near])
            self.rings.append(near[np.argsort(along, kind="stable")].tolist())

    def spaced(self, gone: Iterable[int]) -> bool:
        """Whether every new gap is within the screw spacing, with three screws left around every groove."""
        without = set(gone)
        for ring in self.rings:
            if without.isdisjoint(ring):
                continue
            left = [number for number in ring if number not in without]
            if len(left) < 3:
                return False
            beside = {(a, b) for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)}
            for a, b in zip(left, [*left[1:], left[0]], strict=True):
                if (a, b) not in beside and math.dist(self.places[a], self.places[b]) > self._most:
                    return False
        return True

    def apart(self, group: Sequence[int], others: Iterable[int], gone: Iterable[int]) -> bool:
        """Whether none of a group stands beside one of the others around any groove: what one leaves the next bears."""
        for ring in self.rings:
            left = [number for number in ring if number not in gone]
            for a, b in zip(left, [*left[1:], *left[:1]], strict=True):
                if (a in group and b in others) or (b in group and a in others):
                    return False
        return True

    def spare(self, report: LidReport) -> list[tuple[int, ...]]:
        """Screws that may not be needed, in groups that mirror each other, those that are missed least first."""
        pulls = self._pulls(report)
        after = {k: self._after(k, pulls) for k in range(self._count) if self.spaced((k,))}
        single = {k for k in after if after[k] <= 1.0}
        groups = {tuple(sorted({k, *(int(images[k]) for images in self._images)})) for k in single}
        found = [group for group in groups if single.issuperset(group)]
        return sorted(found, key=lambda group: (round(max(after[k] for k in group), 2), group))

    def _pulls(self, report: LidReport) -> NDArray[np.float64]:
        """The greatest pull on each screw over what it bears, under any load."""
        number = {name: k for k, name in enumerate(self.names)}
        most = greatest_preload_n(self._document)[0] * (1 - RELAXED_SHARE)
        found = np.zeros(len(self.names))
        for row in report.clamped:
            bears = max(min(row.thread_n, most), 1e-6)
            for load in row.clamping.loads:
                at = number[load.id]
                found[at] = max(found[at], load.total_n / bears)
        return found

    def _after(self, k: int, pulls: NDArray[np.float64]) -> float:
        """What the neighbours of a screw would bear without it, at least."""
        beside = [
            pulls[ring[(ring.index(k) + step) % len(ring)]] for ring in self.rings if k in ring for step in (-1, 1)
        ]
        return float(max(beside, default=0.0) + _TAKES_OVER * pulls[k])

    def pairs(self, group: tuple[int, ...]) -> list[tuple[int, ...]]:
        """A group of more than two as those that the pattern's first symmetry maps on each other: without them it keeps
        that one."""
        if len(group) <= 2:
            return []
        return sorted({tuple(sorted({k, int(self._images[0][k])})) for k in group})

    @cached_property
    def _images(self) -> list[Index]:
        return list(_symmetries(self.places))


def _symmetries(places: NDArray[np.float64]) -> Iterable[Index]:
    """For every mirror line along x or y, and half a turn, that the whole pattern has: the image of each screw."""
    middle = (places.min(axis=0) + places.max(axis=0)) / 2
    for flip in ((-1, 1), (1, -1), (-1, -1)):
        mirrored = middle + (places - middle) * flip
        gaps = np.hypot(*(mirrored[:, None, :] - places[None, :, :]).transpose(2, 0, 1))
        if gaps.min(axis=1).max() <= _MIRROR_MM:
            yield gaps.argmin(axis=1)


def _on_thin_sheet(site: ScrewSite, trial: Trial, report: LidReport, least_squeeze: float) -> frozenset[str]:
    """What does not hold at an end of the tolerance of the lid's sheet: what is a warning must not come of thinning."""
    document = with_holes(site.document, trial.holes)
    if document.plate.lid_thickness_is != "nominal":
        return frozenset()
    found = over_sheet(document, site.seal, report)
    bent = found.bent is not None and found.bent[1] > found.bent[0].load.design_stress_mpa
    lifted = found.lifted is not None and found.lifted[1] < least_squeeze
    pulled = found.pulled is not None and found.pulled[2] > found.pulled[1]
    told = {"bent": bent, "lifted": lifted, "pulled": pulled}
    return frozenset(name for name, fails in told.items() if fails)
