"""Tubes and fittings as ways of the network: friction along the course, its bends, and each fitting's own losses."""

from __future__ import annotations

import math
from dataclasses import dataclass

from sketcher.document.remembered import Remembered
from sketcher.flow import losses
from sketcher.flow.ducts import BendIn, Duct
from sketcher.tubes.runs import End, Run

MM = 1e-3
#: Sand roughness of a drawn wall, m: drawn tubing, Moody, Trans. ASME 66, 1944.
DRAWN = 1.5e-6
#: A drop without a course that has to lean is taken to bend twice, with this radius in its bores. Common practice, no
#: source.
TUBE_BEND = 3.0
#: A drop that leans less than this is straight, degrees.
_PLUMB_DEG = 5.0
#: A way of no length still joins its ends, m.
SHORTEST = 1e-6


@dataclass(frozen=True)
class Passage:
    """A narrow place of a link that is no link of its own: a fitting's bore. ``area`` in m²."""

    name: str
    area: float


@dataclass(frozen=True)
class FittingLoss:
    """What a fitting costs on the velocity in its tube, for flow into the tube and out of it.

    ``turn`` grows as Re falls and ``low`` is divided by Re, as in ``Duct``; both go for either direction.
    """

    into: float = 0.0
    out_of: float = 0.0
    turn: float = 0.0
    low: float = 0.0


def fitting_loss(end: End, tube: float, beyond: float | None) -> FittingLoss:
    """The loss of the fitting at one end of a tube.

    The way narrows or widens between the tube, the fitting's bore and the plate's bore ``beyond`` it; a device's own
    curve is measured with its ports, so that nothing is added beyond its fitting. An elbow is a sharp turn in its own
    bore. A coefficient that the document gives stands for all of that, either way.

    Args:
        end: of the tube.
        tube: inner diameter, m.
        beyond: bore behind the fitting, m; none at a device.
    """
    bore = end.bore_mm * MM
    if end.fitting.loss_k is not None:
        k = end.fitting.loss_k * (tube / bore) ** 4
        return FittingLoss(k, k)

    def change(before: float, after: float) -> float:
        small = min(before, after)
        if after < before:
            k = losses.sudden_contraction((after / before) ** 2)
        else:
            k = losses.sudden_expansion((before / after) ** 2)
        return k * (tube / small) ** 4

    into, out_of = change(bore, tube), change(tube, bore)
    if beyond is not None:
        into += change(beyond, bore)
        out_of += change(bore, beyond)
    angle = end.elbow_deg
    if not angle:
        return FittingLoss(into, out_of)
    # On the bore's velocity head and Re; both are brought to the tube's.
    ratio = tube / bore
    return FittingLoss(into, out_of, losses.mitre(angle) * ratio**4, losses.low_reynolds(angle) * ratio**3)


def tube_way(run: Run, beyond: float | None, length_mm: float | None = None) -> tuple[Duct, bool]:
    """A run as a way, and whether it was taken to lean with two bends that nobody has drawn.

    Args:
        run: the tube.
        beyond: the plate's bore behind its first fitting, m; none at a device.
        length_mm: typed by the user: it takes precedence over the course's.
    """
    return _ways.of((run,), (beyond, length_mm), lambda: _way(run, beyond, length_mm))


_ways: Remembered[tuple[Duct, bool]] = Remembered()


def _way(run: Run, beyond: float | None, length_mm: float | None) -> tuple[Duct, bool]:
    inner = run.inner_mm * MM
    start, end = fitting_loss(run.start, inner, beyond), fitting_loss(run.end, inner, None)
    bends = tuple(BendIn(bend.angle_deg, bend.radius * MM / inner) for bend in run.line.bends)
    leans = False
    if run.kind == "drop" and not run.drawn and run.start.axis is not None and not run.start.elbow_deg:
        cosine = float(run.start.axis @ run.line.first)
        lean = math.degrees(math.acos(max(-1.0, min(1.0, cosine))))
        leans = lean > _PLUMB_DEG
        if leans:
            bends = (BendIn(lean, TUBE_BEND),) * 2
    length = run.wet_length_mm if length_mm is None else length_mm
    way = Duct(
        inner, inner, max(length * MM, SHORTEST), round=True,
        roughness=run.material.roughness_um * 1e-6 if run.material else DRAWN,
        bends=bends,
        k_forward=start.into + end.out_of, k_backward=start.out_of + end.into,
        turn_forward=start.turn + end.turn, turn_backward=start.turn + end.turn,
        low_forward=start.low + end.low, low_backward=start.low + end.low,
    )  # fmt: skip
    return way, leans


def passages(run: Run) -> tuple[Passage, ...]:
    """The fittings' bores at both ends."""
    return tuple(
        Passage(f"the {_WORDS[end.fitting.kind]} at {end.ref}", math.pi / 4 * (end.bore_mm * MM) ** 2)
        for end in (run.start, run.end)
    )


_WORDS = {"straight": "fitting", "rotary": "rotary fitting", "elbow-45": "45° elbow", "elbow-90": "90° elbow"}


def fitting_volume(run: Run) -> float:
    """By how much the fittings hold more (or less) than tube of the same length would, m³."""
    tube = math.pi / 4 * (run.inner_mm * MM) ** 2
    extra = 0.0
    for end in (run.start, run.end):
        length = end.height_mm * (2 if end.elbow_deg else 1) * MM
        extra += length * (math.pi / 4 * (end.bore_mm * MM) ** 2 - tube)
    return extra
