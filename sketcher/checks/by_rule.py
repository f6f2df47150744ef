"""Lid screws by rule: worked out from the document, not stored in it, so that they follow while channels move.

``seal.screws_by_rule`` asks for them. Lid screws in the document's own ``holes`` are pinned: they stay, and the others
are placed around them. What reads a plate's shapes takes the document from ``with_lid_screws``; in it the screws are
plain holes, so that drawing, rules and files need not know.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sketcher.checks.hold_screws import screw_walls
from sketcher.checks.scene import ASIDE
from sketcher.document import Document, with_changes
from sketcher.document.models import items
from sketcher.document.plate import Hole
from sketcher.document.remembered import Remembered, parts_of
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.strength.lid_screws import place_screws
from sketcher.strength.screw_design import ScrewDesign, design_lid, design_like

#: Ids of screws by rule: a prefix that no kind of item has, and a number.
PREFIX = "LS"
#: What a design does not ask of a document, but for its pumps and what drives the coolant: a board may be moved.
_NOT_ASKED = ASIDE | {"version", "floor", "boards", "devices", "loop", "drawing"}
_designs: Remembered[ScrewDesign] = Remembered(most=64)
#: Those that were made like another one.
_alike: Remembered[ScrewDesign] = Remembered(most=64)


@dataclass(frozen=True)
class ByRule:
    """A document with all its lid screws as holes, and the design they come from; none where none are by rule."""

    document: Document
    design: ScrewDesign | None
    ids: tuple[str, ...] = ()

    def as_json(self) -> dict[str, Any] | None:
        """The screws by rule with their ids, the spacing and thread used, and what does not hold even so."""
        if self.design is None:
            return None
        return {
            "holes": [{"id": id_, **hole.as_json()} for id_, hole in zip(self.ids, self.design.holes, strict=True)],
            "pitch_mm": self.design.pitch_mm,
            "screw": self.design.screw,
            "grooves": self.design.grooves,
            "chose": self.design.chose,
            "problems": list(self.design.problems),
        }


def with_lid_screws(document: Document, *, quick: bool = False) -> Document:
    """The document with its lid screws by rule as holes; the document itself where none are by rule."""
    return by_rule(document, quick=quick).document


def by_rule(document: Document, *, quick: bool = False, like: ScrewDesign | None = None, whole: bool = True) -> ByRule:
    """The same with the design.

    Args:
        document: the plate.
        quick: screws at the document's spacing, without working out whether they hold: for a drag.
        like: try thread, grooves and spacing of another plate's design first: whether a plate that hardly differs
            holds is found in a fraction of the time.
        whole: where it does not hold like that, try all as without; else it is taken as it is.
    """
    if not document.seal.screws_by_rule:
        return ByRule(document, None)
    design = _design(document, quick, like, whole)
    taken = {*items(document), *document.retired_ids}
    free = (name for number in range(1, 10_000) if (name := f"{PREFIX}{number}") not in taken)
    ids = tuple(name for name, _ in zip(free, design.holes, strict=False))
    added = [Hole.model_validate({"id": id_, **hole.as_json()}) for id_, hole in zip(ids, design.holes, strict=True)]
    told = {"screws_by_rule": False, "screw": design.screw or document.seal.screw, "grooves": design.grooves}
    seal = document.seal.model_copy(update=told)
    return ByRule(with_changes(document, holes=[*document.holes, *added], seal=seal), design, ids)


def _design(document: Document, quick: bool, like: ScrewDesign | None, whole: bool) -> ScrewDesign:
    parts, values = parts_of(document, _NOT_ASKED)
    pumps = tuple(device for device in document.devices if device.kind == "pump")
    asked = (*parts, *pumps), (values, len(pumps), (document.loop.test_pressure_kpa, document.loop.pumps), quick)
    if like is not None and not _designs.knows(*asked):
        found = _alike.of((*asked[0], like), asked[1], lambda: _made_like(document, like))
        if found.works or (like.only_grooves and found.only_grooves) or not whole:
            return found
    return _designs.of(*asked, lambda: _made(document, quick))


def _made_like(document: Document, like: ScrewDesign) -> ScrewDesign:
    limits = limits_of(document)
    walls, least = screw_walls(limits), limits["lid-squeeze"] / 100
    return design_like(document, build(document), like, walls=walls, least_squeeze=least)


def _made(document: Document, quick: bool) -> ScrewDesign:
    limits, shapes = limits_of(document), build(document)
    walls = screw_walls(limits)
    if not quick:
        return design_lid(document, shapes, walls=walls, least_squeeze=limits["lid-squeeze"] / 100)
    seal = document.seal
    holes = tuple(place_screws(document, shapes, walls=walls))
    return ScrewDesign(holes, seal.screw_pitch_mm, (), seal.screw, seal.grooves)
