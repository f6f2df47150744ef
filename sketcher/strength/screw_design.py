"""Lid screws that pass their own checks: the widest spacing whose pulls, lifts and stresses all hold.

The document's screw pitch is the widest that is tried. Each trial places a pattern and bends the lid on it; the trial
with the fewest screws that passes everything wins, else the one that fails least.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace

from sketcher.document import Document
from sketcher.document.plate import Hole
from sketcher.geometry import Shapes, build
from sketcher.reference import screws as screw_table
from sketcher.strength.lid import LidReport, lid_report
from sketcher.strength.seal import ProposedHole, SealDesign, design_seal, place_screws
from sketcher.strength.taps import MOST_DIAMETERS, design_tap
from sketcher.strength.tightening import Torque, torque_of

#: Squeeze that must be left, a fraction: the usual limit of the rule ``lid-squeeze``.
LEAST_SQUEEZE = 0.10
#: No closer than this, in heads with room for the key: more screws weaken the plate more than they hold.
_CLOSEST = 1.6
_TRIALS = 8
_TRIAL = "trial"


@dataclass(frozen=True)
class ScrewDesign:
    """Screws for a lid: holes to add, the spacing they were placed at, and what does not hold even so."""

    holes: tuple[ProposedHole, ...]
    pitch_mm: float
    problems: tuple[str, ...]

    @property
    def works(self) -> bool:
        """Whether everything holds."""
        return not self.problems


def design_screws(
    document: Document,
    shapes: Shapes,
    *,
    walls: Mapping[str, float] | None = None,
    keep: bool = True,
    least_squeeze: float = LEAST_SQUEEZE,
) -> ScrewDesign:
    """The fewest screws that hold; arguments as for ``seal.place_screws``."""
    name, widest = document.seal.screw, document.seal.screw_pitch_mm
    if name not in screw_table.names() or document.seal.kind == "bonded":
        return ScrewDesign((), widest, ())
    closest = _CLOSEST * (screw_table.screw(name).cap_head.diameter_mm + 1)
    best: ScrewDesign | None = None
    score = math.inf
    pitch = widest
    tried: set[int] = set()
    for _ in range(_TRIALS):
        closer = document.model_copy(update={"seal": document.seal.model_copy(update={"screw_pitch_mm": pitch})})
        own = replace(shapes, document=closer)
        holes = tuple(place_screws(closer, own, walls=walls, keep=keep))
        if len(holes) not in tried:
            tried.add(len(holes))
            problems, worst = judged(closer, holes, keep=keep, least_squeeze=least_squeeze)
            if worst < score:
                best, score = ScrewDesign(holes, pitch, problems), worst
            if not problems:
                break
            share = min(max(0.95 / worst, 0.6), 0.88) if math.isfinite(worst) else 0.75
        else:
            share = 0.9
        if pitch <= closest + 1e-9:
            break
        pitch = max(math.floor(pitch * share * 2) / 2, closest)
    assert best is not None or score == math.inf
    return best or ScrewDesign((), widest, ("no pattern could be judged",))


def judged(
    document: Document, holes: tuple[ProposedHole, ...], *, keep: bool, least_squeeze: float
) -> tuple[tuple[str, ...], float]:
    """What does not hold with these screws, and by what factor the worst of it is beyond its limit (1 holds)."""
    old = [hole for hole in document.holes if keep or hole.use != "lid"]
    new = [Hole.model_validate({"id": f"{_TRIAL}{index}", **hole.as_json()}) for index, hole in enumerate(holes)]
    trial = document.model_copy(update={"holes": [*old, *new]})
    shapes = build(trial)
    seal = design_seal(trial, shapes)
    report = lid_report(trial, shapes, seal)
    return problems_of(trial, seal, report, torque_of(trial, report), least_squeeze)


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
                found.append(f"{100 * row.squeeze_left:.0f} % of squeeze is left where the lid lifts")
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


def thread_room(document: Document) -> float:
    """Full thread that the body has room for, in diameters of the document's screw."""
    screw = screw_table.screw(document.seal.screw)
    tap = design_tap(screw, document.plate.body_thickness_mm, document.seal.run_out)
    return min(tap.thread_mm / screw.major_mm, MOST_DIAMETERS)
