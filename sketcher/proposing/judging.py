"""What a proposal is worth: the very rules that ``check`` runs, and its numbers."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from sketcher.checks import run
from sketcher.checks.by_rule import with_lid_screws
from sketcher.document import Document
from sketcher.document.joined import open_connections
from sketcher.findings import Finding, one_by_one
from sketcher.flow.coolant import coolant
from sketcher.flow.ducts import BendIn, Duct, Ducts
from sketcher.geometry import Shapes, build
from sketcher.geometry.path import Bend
from sketcher.geometry.shapes import ChannelShape
from sketcher.proposing.tidiness import Tidiness, tidiness
from sketcher.proposing.writing import without_lid_screws

#: Flow at which channels are compared where no pump is known, l/min. Common practice, no source.
USUAL_FLOW_L_MIN = 4.0
_L_MIN = 1 / 60_000
_USUAL_C = 30.0
#: A turn smaller than this is no bend, degrees.
_NO_BEND_DEG = 0.5


@dataclass(frozen=True)
class Numbers:
    """A plate's channels in figures, all of them together.

    ``loss_kpa`` is that of their lengths and bends at ``flow_l_min``; ``straight_loss_kpa`` what straight lines between
    their ends would lose, which no course can undercut; ``milling_mm3`` is what is cut away.
    """

    loss_kpa: float
    straight_loss_kpa: float
    length_mm: float
    bends: int
    milling_mm3: float
    flow_l_min: float
    tidiness: Tidiness


def numbers(document: Document, shapes: Shapes | None = None, only: frozenset[str] | None = None) -> Numbers:
    """The figures of a plate's channels, or of some of them."""
    shapes = shapes or build(document)
    chosen = [c for id_, c in shapes.channels.items() if only is None or id_ in only]
    fluid = coolant(document.loop.coolant.kind, document.loop.coolant.strength_percent)
    state = (float(fluid.density(_USUAL_C)), float(fluid.viscosity(_USUAL_C)))
    return Numbers(
        loss_kpa=_loss_kpa([_duct(c, c.length_mm, c.bends) for c in chosen], *state),
        straight_loss_kpa=_loss_kpa([_duct(c, _apart(c), ()) for c in chosen], *state),
        length_mm=math.fsum(c.length_mm for c in chosen),
        bends=sum(1 for c in chosen for bend in c.bends if abs(bend.angle_deg) > _NO_BEND_DEG),
        milling_mm3=math.fsum(c.polygon.area * c.item.depth_mm for c in chosen),
        flow_l_min=USUAL_FLOW_L_MIN,
        tidiness=tidiness(shapes, chosen),
    )


def _apart(channel: ChannelShape) -> float:
    path = channel.path
    return math.dist(path.start, path.end) if path.segments else 0.0


def _duct(channel: ChannelShape, length_mm: float, bends: tuple[Bend, ...]) -> Duct:
    width = channel.item.width_mm
    return Duct(
        width=width / 1000,
        depth=channel.item.depth_mm / 1000,
        length=max(length_mm, 0.1) / 1000,
        bends=tuple(
            BendIn(abs(bend.angle_deg), bend.radius / width) for bend in bends if abs(bend.angle_deg) > _NO_BEND_DEG
        ),
    )


def _loss_kpa(ducts: list[Duct], density: float, viscosity: float) -> float:
    if not ducts:
        return 0.0
    flow = np.full(len(ducts), USUAL_FLOW_L_MIN * _L_MIN)
    loss, _ = Ducts(ducts).loss(flow, density, np.full(len(ducts), viscosity))
    return float(loss.sum()) / 1000


@dataclass(frozen=True)
class Judged:
    """A whole document as the rules see it: its findings, what is still open, and its numbers."""

    document: Document
    findings: tuple[Finding, ...]
    unconnected: tuple[tuple[str, ...], ...]
    numbers: Numbers
    known: frozenset[tuple[str, tuple[str, ...]]] = frozenset()

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What stands in the way of a hand-off."""
        return tuple(finding for finding in one_by_one(self.findings) if finding.open_error)

    @property
    def own_errors(self) -> tuple[Finding, ...]:
        """The errors less those that stood before anything was proposed, which no channel can put right."""
        return tuple(finding for finding in self.errors if (finding.rule, finding.items) not in self.known)

    @property
    def good(self) -> bool:
        """Whether everything is joined, and no error came with it."""
        return not self.unconnected and not self.own_errors and not self.unscrewed

    @property
    def passes(self) -> bool:
        """Whether everything is joined and ``check`` finds no error at all, not even one that stood before."""
        return not self.unconnected and not self.errors and not self.unscrewed

    @property
    def starved(self) -> bool:
        """Whether a device gets less flow than it needs."""
        return any(finding.rule in ("flow-low", "block-without-flow") for finding in self.findings)

    @property
    def unscrewed(self) -> bool:
        """Whether the lid found no place for a single screw."""
        return any(finding.rule == "screw-none" for finding in self.findings)


def judge(
    document: Document, known: frozenset[tuple[str, tuple[str, ...]]] = frozenset(), *, quick: bool = False
) -> Judged:
    """The document under every rule.

    Args:
        document: the plate.
        known: errors, by rule and items, that stood before.
        quick: leave the slow rules out, for what will not be kept if the others find an error; and the lid screws that
            are not locked, which are designed again for what is kept.
    """
    # Screws by rule are worked out as ``check`` does; the document is kept without them.
    whole = without_lid_screws(document) if quick else with_lid_screws(document)
    shapes = build(whole)
    open_ = tuple(tuple(id_ for part in parts for id_ in part) for parts in open_connections(document))
    found = tuple(run(whole, shapes, quick=quick, fixes=False, loop=not quick))
    return Judged(document, found, open_, numbers(document, shapes), known)
