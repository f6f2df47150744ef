"""Lid screws for one proposal after another: what held for one is tried first for the next.

Designing screws takes longest where thread after thread fails, so a search does not try them all for every proposal:
the thread that held, or else the plate's own and thicker ones. All of them only for those that fail by least.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from sketcher.document import Document
from sketcher.document.plate import Seal
from sketcher.geometry import build
from sketcher.proposing.budget import SCREWS_S, Budget
from sketcher.proposing.writing import design_any, design_in, drilled, with_screws, without_lid_screws
from sketcher.reference import screws
from sketcher.strength.taps import shallowest

#: Threads that are tried where a plate's own pulls too much, when they are thicker.
_THICKER = ("M5", "M6")
#: What the design in every thread costs, s.
WHOLE_S = 6 * SCREWS_S


class Lids:
    """The lid screws of one search.

    Args:
        limits: in force, by rule.
        budget: what is spent on them.
    """

    def __init__(self, limits: Mapping[str, float], budget: Budget) -> None:
        self.limits, self.budget = limits, budget
        #: Threads and grooves that held for a proposal, the newest first.
        self._held: list[Seal] = []
        #: Threads for which the body has no depth, whatever the channels; whether shared grooves may be of use.
        self._too_short: set[str] = set()
        self._shared_helps = True

    def screwed(self, document: Document) -> Document:
        """The document with its lid screws designed; with its own thread where none of those tried holds."""
        seal = document.seal
        if seal.screws_by_rule:
            self.budget.spend(WHOLE_S)  # the rules design them
            return document
        if seal.kind == "bonded" or seal.screw not in screws.names():
            return with_screws(document, self.limits)
        bare = without_lid_screws(document)
        shapes = build(bare)
        first = None
        for told in self._seals(document):
            if first is not None and not self.budget.left(SCREWS_S):
                break
            self.budget.spend(SCREWS_S)
            design = design_in(bare, shapes, self.limits, told.screw, told.grooves)
            first = first or design
            if design.works:
                self._held = [told, *(one for one in self._held if one != told)]
                return drilled(document, design)
            if told.grooves != seal.grooves:
                self._shared_helps = False
            tap = shallowest(drilled(document, design))
            if tap is not None and tap.screw.name == told.screw:
                self._too_short.add(told.screw)
        return drilled(document, first) if first is not None else document

    def in_any_thread(self, document: Document) -> Document:
        """The document with its lid screws in whatever thread and grooves do best; this takes long."""
        seal = document.seal
        if seal.screws_by_rule or seal.kind == "bonded":
            return document
        bare = without_lid_screws(document)
        self.budget.spend(WHOLE_S)
        design = design_any(bare, build(bare), self.limits)
        if design.works:
            held = seal.model_copy(update={"screw": design.screw, "grooves": design.grooves})
            self._held = [held, *(one for one in self._held if one != held)]
        return drilled(document, design)

    def _seals(self, document: Document) -> Iterator[Seal]:
        """Seals to try, the likeliest first."""
        seal, pinned = document.seal, any(hole.use == "lid" and hole.locked for hole in document.holes)
        if self._held:
            yield from self._held
            if self._held[0].grooves == "apart" and self._shared_helps:
                yield self._held[0].model_copy(update={"grooves": "shared"})
            return
        yield seal
        own = screws.screw(seal.screw).major_mm
        if not pinned:  # locked screws have their thread
            for name in _THICKER:
                if screws.screw(name).major_mm > own and name not in self._too_short:
                    yield seal.model_copy(update={"screw": name})
        if seal.grooves == "apart" and self._shared_helps:
            yield seal.model_copy(update={"grooves": "shared"})
