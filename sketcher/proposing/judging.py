"""What a proposal is worth: the very rules that ``check`` runs, and its numbers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sketcher.checks import run
from sketcher.document import Document
from sketcher.document.joined import open_connections
from sketcher.findings import Finding
from sketcher.flow.coolant import coolant
from sketcher.flow.ducts import BendIn, Duct, Ducts
from sketcher.geometry import Shapes, build

#: Flow at which channels are compared where no pump is known, l/min. Common practice, no source.
USUAL_FLOW_L_MIN = 4.0
_L_MIN = 1 / 60_000
_USUAL_C = 30.0


@dataclass(frozen=True)
class Numbers:
    """A plate's channels in figures, all of them together.

    ``loss_kpa`` is that of their lengths and bends at ``flow_l_min``; ``milling_mm3`` is what is cut away.
    """

    loss_kpa: float
    length_mm: float
    bends: int
    milling_mm3: float
    flow_l_min: float


def numbers(document: Document, shapes: Shapes | None = None, only: frozenset[str] | None = None) -> Numbers:
    """The figures of a plate's channels, or of some of them."""
    shapes = shapes or build(document)
    chosen = [c for id_, c in shapes.channels.items() if only is None or id_ in only]
    fluid = coolant(document.loop.coolant.kind, document.loop.coolant.strength_percent)
    ducts = Ducts(
        [
            Duct(
                width=c.item.width_mm / 1000,
                depth=c.item.depth_mm / 1000,
                length=max(c.length_mm, 0.1) / 1000,
                bends=tuple(
                    BendIn(abs(bend.angle_deg), bend.radius / c.item.width_mm)
                    for bend in c.bends
                    if abs(bend.angle_deg) > 0.5
                ),
            )
            for c in chosen
        ]
    )
    flow = np.full(len(chosen), USUAL_FLOW_L_MIN * _L_MIN)
    viscosity = np.full(len(chosen), float(fluid.viscosity(_USUAL_C)))
    loss = ducts.loss(flow, float(fluid.density(_USUAL_C)), viscosity)[0] if chosen else np.zeros(0)
    return Numbers(
        loss_kpa=float(loss.sum()) / 1000,
        length_mm=sum(c.length_mm for c in chosen),
        bends=sum(1 for c in chosen for bend in c.bends if abs(bend.angle_deg) > 0.5),
        milling_mm3=sum(c.polygon.area * c.item.depth_mm for c in chosen),
        flow_l_min=USUAL_FLOW_L_MIN,
    )


@dataclass(frozen=True)
class Judged:
    """A whole document as the rules see it: its findings, what is still open, and its numbers."""

    document: Document
    findings: tuple[Finding, ...]
    unconnected: tuple[tuple[str, ...], ...]
    numbers: Numbers

    @property
    def errors(self) -> tuple[Finding, ...]:
        """What stands in the way of a hand-off."""
        return tuple(finding for finding in self.findings if finding.open_error)

    @property
    def good(self) -> bool:
        """Whether everything is joined without an error."""
        return not self.unconnected and not self.errors


def judge(document: Document) -> Judged:
    """The document under every rule."""
    shapes = build(document)
    open_ = tuple(tuple(id_ for part in parts for id_ in part) for parts in open_connections(document))
    return Judged(document, tuple(run(document, shapes)), open_, numbers(document, shapes))
