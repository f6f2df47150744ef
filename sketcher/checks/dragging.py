"""What a drag concerns: of a plate looked over before, some items have moved, and only near them anything can differ.

A finding of a ``named`` rule depends on the items that it names and on what is tied to them. So where items have moved,
such rules run on those items, on all that leans on them, and on what is near these; what they find takes the place of
all that was found before and names one of them.

A finding of a ``local`` rule depends besides on what is near the items that it names. Then three rings matter: the
moved items with all whose shapes follow them; round these, whatever a finding that can have changed may name; and round
those, what such a finding may depend on. What is found of the second ring takes the place of what was found of it
before.

That either equals the full answer is a property test (``tests/server/test_dragging.py``).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from sketcher.checks.extents import Extents, extents, ties
from sketcher.document import Document
from sketcher.document.holders import chain, holders
from sketcher.document.moved_items import ITEM_LISTS, moved
from sketcher.document.remembered import Recent
from sketcher.findings import Finding, limits_of
from sketcher.geometry import Shapes
from sketcher.geometry.moved_shapes import Places, moved_shapes, only, picked, places_of

#: No local rule looks farther than this from box to box, mm, but for limits that the document sets higher.
REACH_MM = 8.5
#: With a larger part of the plate than this concerned, all of it is looked over.
LARGEST_PART = 0.7

Found = dict[Callable[..., Any], tuple[Finding, ...]]


class Looked:
    """A plate that was looked over in the quick way, and what each rule's function found."""

    def __init__(self, shapes: Shapes, found: Found, came: tuple[Looked, Extents] | None = None) -> None:
        """It ``came`` from the same plate with other places, and its items reach so far now: what depends on names
        alone is taken from that one."""
        self.shapes, self.found = shapes, found
        self.document: Document = shapes.document
        if came is not None:
            before, boxes = came
            self.__dict__.update(
                extents=boxes, ties=before.ties, places=before.places, lists=before.lists, numbers=before.numbers
            )
            self.__dict__.update(reach=before.reach)

    @cached_property
    def extents(self) -> Extents:
        """How far each item reaches."""
        return extents(self.shapes)

    @cached_property
    def ties(self) -> dict[str, tuple[str, ...]]:
        """Which items name each other."""
        return ties(self.document)

    @cached_property
    def numbers(self) -> dict[str, tuple[str, int]]:
        """The list of every item, and its number there."""
        return {item.id: (key, n) for key in ITEM_LISTS for n, item in enumerate(getattr(self.document, key))}

    @cached_property
    def lists(self) -> dict[str, str]:
        """The list of every item."""
        return {name: key for name, (key, _) in self.numbers.items()}

    @cached_property
    def places(self) -> tuple[Places, Places]:
        """Where each item's prisms stand."""
        return places_of(self.shapes.prisms), places_of(self.shapes.further)

    @cached_property
    def reach(self) -> float:
        """How far rules look here, mm."""
        limits = limits_of(self.document)
        near = (limits[name] for name in limits if name.startswith("wall-") or name in _DISTANCES)
        return max(REACH_MM, 0.5 + max(near, default=0.0))


#: Limits that are distances between two items, beside the walls.
_DISTANCES = frozenset((
    "laser-web", "same-place", "spanner-room", "fittings-touch", "fitting-blocked", "fitting-face", "head-face",
    "head-blocked", "pocket-wet", "bodies-overlap", "body-obstacle", "tube-blocked", "screw-edge",
))  # fmt: skip

_recent: Recent[Looked] = Recent(4)


@dataclass(frozen=True)
class Step:
    """A plate as it is now, against one looked over before.

    Attributes:
        before: that plate.
        shapes: all shapes now.
        moved: those of what has another shape now, with what they ask for, alone.
        changed: the items that have another shape.
        needed: these, all that is tied to them, and holders.
        reaching: the items that reach elsewhere now.
        touched: the lists in which anything has moved.
        boxes: how far each item reaches now.
    """

    before: Looked
    shapes: Shapes
    moved: Shapes
    changed: frozenset[str]
    needed: frozenset[str]
    reaching: frozenset[str]
    touched: frozenset[str]
    boxes: Extents

    @cached_property
    def leaning(self) -> frozenset[str]:
        """The items of which a finding may have changed that depends on nothing but what it names and its ties: those
        that moved, and those that are tied to one. Of a device nothing depends on the port that serves it."""
        lists = self.before.lists
        return self.changed | _ring([name for name in self.changed if lists[name] != "ports"], self.before.ties)

    @cached_property
    def named_part(self) -> Shapes:
        """The shapes of those and of what is near them, alone, with all that these are tied to."""
        near = self.boxes.beside(self.leaning, self.before.reach)
        return self._part(_ring(near, self.before.ties))

    @cached_property
    def concerned(self) -> frozenset[str]:
        """The items that a finding may name which has changed with what is near."""
        found = self.needed | self.before.extents.beside(self.reaching, self.before.reach)
        found |= self.boxes.beside(self.reaching, self.before.reach)
        return frozenset(self.boxes.names) if self._too_many(self._around(found)) else frozenset(found)

    @cached_property
    def part(self) -> Shapes:
        """The shapes of what these findings may depend on, alone."""
        return self._part(self._around(self.concerned))

    def _around(self, concerned: frozenset[str] | set[str]) -> set[str]:
        return _ring(concerned, self.before.ties) | self.boxes.beside(concerned, self.before.reach)

    def _too_many(self, names: set[str]) -> bool:
        return len(names) > LARGEST_PART * len(self.boxes.names)

    def _part(self, names: set[str]) -> Shapes:
        if self._too_many(names):
            return self.shapes
        document, before = self.shapes.document, self.before
        names = _held(names, document)
        return picked(self.shapes, only(document, names, before.numbers), names, before.places)

    def merged(self, before: Iterable[Finding], part: Iterable[Finding], named: bool) -> list[Finding]:
        """What a rule found before, with what it finds of the part now in the place of what can have changed."""
        concerned = self.leaning if named else self.concerned
        kept = [finding for finding in before if concerned.isdisjoint(finding.items)]
        return kept + [finding for finding in part if not concerned.isdisjoint(finding.items)]


def step_to(document: Document) -> Step | None:
    """The way to a document from one of those looked over last; none when more than places differs, or too many."""
    for known in _recent.all():
        rows = moved(known.document, document)
        if rows is not None:
            return _step(known, document, rows)
    return None


def keep(looked: Looked) -> None:
    """Remember a plate that was looked over."""
    _recent.add(looked)


def _step(before: Looked, document: Document, rows: dict[str, list[int]]) -> Step | None:
    names = {getattr(document, key)[n].id for key, numbers in rows.items() for n in numbers}
    tied, lists = before.ties, before.lists
    changed = _following(names, tied, lists, before.document)
    needed = _ring(changed, tied)
    made = moved_shapes(before.shapes, document, changed, _held(needed, document), before.places, before.numbers)
    if made is None:
        return None
    shapes, some = made
    # A port reaches as far as its tube does, to the device that it serves; one that is only the end of a channel that
    # moved reaches as far as it did, and what it serves is not among the shapes here.
    served = _ring([name for name in changed if lists[name] == "devices"], tied)
    reaching = changed | {name for name in served if lists[name] == "ports"}
    boxes = before.extents.updated(extents(some), reaching)
    touched = frozenset(lists[name] for name in changed)
    return Step(before, shapes, some, frozenset(changed), frozenset(needed), frozenset(reaching), touched, boxes)


def _following(
    names: set[str], tied: dict[str, tuple[str, ...]], lists: dict[str, str], document: Document
) -> set[str]:
    """The items that moved, and those whose shapes follow: channels at moved ends, what moved things hold."""
    found = set(names)
    ends = [name for name in names if lists[name] in ("ports", "branches")]
    found.update(other for name in ends for other in tied.get(name, ()) if lists[other] == "channels")
    if any(lists[name] in ("boards", "devices") for name in names):
        things = (*document.boards, *document.devices)
        for _ in things:
            held = {thing.id for thing in things if thing.held_by in found} - found
            if not held:
                break
            found |= held
    return found


def _ring(names: Iterable[str], tied: dict[str, tuple[str, ...]]) -> set[str]:
    return set(names).union(*(tied.get(name, ()) for name in names))


def _held(names: set[str], document: Document) -> set[str]:
    """With the holders of all that is held, and the holders of those."""
    held = holders(document)
    return names.union(*(chain(held, name) for name in names))


__all__ = ["Looked", "Step", "keep", "step_to"]
