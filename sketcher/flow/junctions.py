"""Where ways meet: the loss of each leg, from the legs' directions, sections and flows. SI units.

Two legs are a turn with or without a change of section, three a tee, more a small chamber. A turn's and a chamber's
losses go with the leg's own flow and are coefficients of its way; a tee's depend on how the flow divides and are
worked out again as the flows settle.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sketcher.flow import losses, tees

Array = NDArray[np.float64]
Vector = tuple[float, float, float]

#: A leg that goes on within this angle of the whole flow's direction is the run; common practice, no source.
STRAIGHT_DEG = 30.0
#: Two legs that both turn off by more than this are the arms of a symmetrical tee.
_OPPOSED_DEG = 60.0
#: Flows that differ by less than this share are one: a search ends so near to its end.
_ALIKE = 1e-6
#: Where a leg carries less than this part of the whole flow, it may be turning round.
_TURNING = 0.02
#: No head comes of less than this, m³/s; of the smallest numbers a share is not one any more.
_NOTHING_M3_S = 1e-30


@dataclass(frozen=True)
class Leg:
    """One way at a junction.

    Attributes:
        link: its index in the network.
        leaves: whether the link runs from the junction (its flow then counts as leaving).
        direction: unit vector along the way, away from the junction.
        area: section, m².
        drilled: whether it ends in a drill's point.
    """

    link: int
    leaves: bool
    direction: Vector
    area: float
    drilled: bool = False


@dataclass(frozen=True)
class EndLoss:
    """What a way's end at a junction costs, on the way's own velocity: flowing out of the junction, and into it.

    ``turn_*`` belongs to a sharp turn and grows as Re falls, ``low_*`` is divided by Re; ``inlet_low`` is what is lost
    so at the way's inlet, by whichever leg it is counted. ``drilled``: a change of section here is a drill's point.
    """

    link: int
    leaves: bool
    k_out: float = 0.0
    k_in: float = 0.0
    turn_out: float = 0.0
    turn_in: float = 0.0
    low_out: float = 0.0
    low_in: float = 0.0
    inlet_low: float = 0.0
    drilled: bool = False


def turn_deg(a: Leg, b: Leg) -> float:
    """By how much a flow turns that goes from one leg into the other: 0 straight on, 180 back."""
    dot = sum(x * y for x, y in zip(a.direction, b.direction, strict=True))
    return 180.0 - math.degrees(math.acos(max(-1.0, min(1.0, dot))))


def fixed_losses(legs: Sequence[Leg]) -> Iterator[EndLoss]:
    """The losses of a junction of two legs, or of four and more, which go with each leg's own flow.

    A turn's loss is given to the leg with the smaller section. A tee's legs only learn what their inlets lose. Four
    legs and more: everything loses its velocity head on the way in and pays a sharp entry on the way out (Idelchik,
    entry and exit of a chamber).
    """
    if len(legs) == 2:
        a, b = legs if legs[0].area <= legs[1].area else (legs[1], legs[0])
        angle = turn_deg(a, b)
        drilled = a.drilled or b.drilled
        low = losses.low_reynolds(angle)
        # a is the smaller: flow out of the junction into a comes from b, and narrows.
        turn_out, k_out = losses.turn_with_change(angle, b.area, a.area, drilled)
        turn_in, k_in = losses.turn_with_change(angle, a.area, b.area, drilled)
        yield EndLoss(
            a.link,
            a.leaves,
            k_out=k_out,
            k_in=k_in,
            turn_out=turn_out,
            turn_in=turn_in,
            low_out=low,
            low_in=low,
            inlet_low=low,
            drilled=drilled,
        )
        yield EndLoss(b.link, b.leaves, inlet_low=low)
    elif len(legs) == 3:
        for leg in legs:
            yield EndLoss(leg.link, leg.leaves, inlet_low=losses.LOW_BRANCH)
    elif len(legs) > 3:
        for leg in legs:
            yield EndLoss(
                leg.link, leg.leaves, losses.SHARP_ENTRY, losses.EXIT, losses.LOW_ENTRY, inlet_low=losses.LOW_ENTRY
            )


class Tee:
    """Three ways that meet.

    Attributes:
        legs: the three.
        reading: where sources differ on symmetrical tees, which one counts; see ``tees``.
    """

    def __init__(self, legs: Sequence[Leg], reading: tees.Reading = "usual") -> None:
        if len(legs) != 3:
            raise ValueError("a tee has three legs")
        self.legs = tuple(legs)
        self.reading: tees.Reading = reading
        self.turns = [[turn_deg(a, b) if a is not b else 0.0 for b in legs] for a in legs]

    def losses(self, flow: Array, density: float, viscosity: float) -> list[tuple[int, float]]:
        """(link, loss along the link in Pa) of the legs.

        Handbooks give dividing and joining tees by formulas that do not quite meet where a leg's flow turns round (they
        are up to 0.3 velocity heads apart). Where a leg carries less than 2 % of the whole, a straight line joins them.

        Args:
            flow: m³/s of every link of the network.
            density: kg/m³.
            viscosity: Pa s at the junction.
        """
        outward = [float(flow[leg.link]) * (1.0 if leg.leaves else -1.0) for leg in self.legs]
        total = max(abs(q) for q in outward)
        if total < _NOTHING_M3_S:
            return []
        least = min(range(3), key=lambda i: abs(outward[i]))
        share = outward[least] / total
        if abs(share) >= _TURNING:
            found = self._heads(outward, density, viscosity)
        else:
            into, out_of = list(outward), list(outward)
            into[least], out_of[least] = -_TURNING * total, _TURNING * total
            part = (share / _TURNING + 1) / 2
            pairs = zip(self._heads(into, density, viscosity), self._heads(out_of, density, viscosity), strict=True)
            found = [a + part * (b - a) for a, b in pairs]
        return [(leg.link, lost if leg.leaves else -lost) for leg, lost in zip(self.legs, found, strict=True) if lost]

    def _heads(self, outward: list[float], density: float, viscosity: float) -> list[float]:
        """Loss of total pressure from the junction out into each leg, Pa; below 0 where the leg flows in."""
        arriving = [i for i in range(3) if outward[i] < 0]
        dividing = len(arriving) == 1
        whole = arriving[0] if dividing else max(range(3), key=lambda i: outward[i])
        others = [i for i in range(3) if i != whole]
        stem = self.legs[whole]
        total = sum(abs(outward[i]) for i in others)
        velocity = total / stem.area
        head = 0.5 * density * velocity**2
        diameter = 2 * math.sqrt(stem.area / math.pi)
        reynolds = max(density * velocity * diameter / viscosity, 1e-3)
        angles = self.turns[whole]
        found = [0.0, 0.0, 0.0]
        for at, other in (others, others[::-1]):
            share = abs(outward[at]) / total
            k = self._coefficient(self.legs[at], self.legs[other], stem, share, angles[at], angles[other], dividing)
            low = losses.LOW_RUN if angles[at] < STRAIGHT_DEG <= angles[other] else losses.LOW_BRANCH
            lost = head * (k + low / reynolds * share)
            found[at] = lost if dividing else -lost
        return found

    def _coefficient(
        self, leg: Leg, other: Leg, stem: Leg, share: float, angle: float, other_angle: float, dividing: bool
    ) -> float:
        """K of one leg on the whole flow's velocity head; see ``tees``."""
        if angle < STRAIGHT_DEG <= other_angle:
            ratio = other.area / stem.area
            slant = min(max(other_angle, 30.0), 90.0)
            side = 1 - share
            k = tees.dividing_run(side, ratio) if dividing else tees.joining_run(side, ratio, slant)
            narrower, wider = sorted((leg.area, stem.area))
            widens = (leg.area > stem.area) == dividing
            change = losses.sudden_expansion if widens else losses.sudden_contraction
            return k + change(narrower / wider) * (share * stem.area / narrower) ** 2
        ratio = leg.area / stem.area
        if angle > _OPPOSED_DEG and other_angle > _OPPOSED_DEG:
            symmetrical = tees.opposed_dividing if dividing else tees.opposed_joining
            return symmetrical(share, ratio, self.reading)
        slant = min(max(angle, 30.0), 90.0)
        return tees.dividing_branch(share, ratio, slant) if dividing else tees.joining_branch(share, ratio, slant)

    def stem(self, flow: Array) -> int:
        """Which leg carries the whole flow, 0 to 2; where the third carries none, the first of two that are alike."""
        carried = [abs(float(flow[leg.link])) for leg in self.legs]
        return next(i for i in range(3) if carried[i] >= max(carried) * (1 - _ALIKE))

    def reynolds(self, flow: Array, density: float, viscosity: float) -> float:
        """Of the whole flow in its leg, on the diameter of a round way of the same section."""
        stem = self.legs[self.stem(flow)]
        diameter = 2 * math.sqrt(stem.area / math.pi)
        return density * abs(float(flow[stem.link])) / stem.area * diameter / viscosity

    def symmetrical(self, flow: Array) -> bool:
        """Whether the whole flow comes or goes by the stem between two arms."""
        whole = self.stem(flow)
        return all(self.turns[whole][i] > _OPPOSED_DEG for i in range(3) if i != whole)

    def notes(self, flow: Array) -> list[str]:
        """What of this tee, at these flows, lies outside the range of its sources by its shape."""
        whole = self.stem(flow)
        stem = self.legs[whole]
        symmetrical = self.symmetrical(flow)
        found = []
        for i, leg in enumerate(self.legs):
            angle = self.turns[whole][i]
            if i != whole and angle >= STRAIGHT_DEG:
                note = tees.note(leg.area / stem.area, angle, symmetrical)
                if note:
                    found.append(note)
        return found


def add_losses(tee_list: Sequence[Tee], flow: Array, density: float, viscosity: Array) -> Array:
    """The tees' losses along every link, Pa, (links,); ``viscosity`` is one value a tee."""
    found = np.zeros(len(flow))
    for tee, mu in zip(tee_list, viscosity, strict=True):
        for link, lost in tee.losses(flow, density, float(mu)):
            found[link] += lost
    return found
