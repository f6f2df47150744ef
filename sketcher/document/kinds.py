"""Every kind of thing with an id: where its list stands in a document, what it is called, the letter of a new id.

One letter, one kind, so that an id on the drawing says what it names. A document that exists keeps the ids it has.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from sketcher.document.models import Document


@dataclass(frozen=True)
class Kind:
    """A kind: its name, the path of its list in the document, the letter its new ids begin with, its title."""

    name: str
    path: tuple[str, ...]
    letter: str
    title: str
    plural: str


#: Everything that can be selected on the drawing.
KINDS: tuple[Kind, ...] = (
    Kind("board", ("boards",), "B", "Board", "Boards and cards"),
    Kind("device", ("devices",), "D", "Device", "Devices"),
    Kind("port", ("ports",), "P", "Port", "Ports"),
    Kind("branch", ("branches",), "J", "Junction", "Junctions"),
    Kind("channel", ("channels",), "C", "Channel", "Channels"),
    Kind("cutout", ("cutouts",), "K", "Cutout", "Cutouts"),
    Kind("pocket", ("pockets",), "R", "Pocket", "Pockets"),
    Kind("hole", ("holes",), "H", "Hole", "Holes"),
    Kind("keep-out", ("keep_outs",), "Z", "Keep-out", "Keep-outs"),
    Kind("group", ("groups",), "G", "Group", "Groups"),
    Kind("dimension", ("dimensions",), "N", "Dimension line", "Dimension lines"),
    Kind("obstacle", ("floor", "obstacles"), "O", "Obstacle", "Obstacles"),
    Kind("opening", ("floor", "openings"), "W", "Opening in the floor", "Openings in the floor"),
    Kind("tube", ("loop", "tubes"), "T", "Tube", "Tubes"),
)
#: What the survey names; these ids are apart from those of items.
SURVEY_KINDS: tuple[Kind, ...] = (
    Kind("point", ("survey", "points"), "A", "Survey point", "Survey points"),
    Kind("reading", ("survey", "readings"), "M", "Reading", "Readings"),
    Kind("tool", ("survey", "tools"), "Y", "Measuring tool", "Measuring tools"),
    Kind("outline", ("survey", "outlines"), "L", "Surveyed outline", "Surveyed outlines"),
)
#: The lists that stand in the document itself, with the kind each holds and the letter of its ids.
COLLECTIONS: dict[str, tuple[str, str]] = {
    kind.path[0]: (kind.name, kind.letter) for kind in KINDS if len(kind.path) == 1
}


def kind(name: str) -> Kind:
    """The kind of a name. Raises ``KeyError``."""
    return {found.name: found for found in (*KINDS, *SURVEY_KINDS)}[name]


def members(document: Document, kind: Kind) -> tuple[Any, ...]:
    """A document's items of a kind, in order."""
    part: Any = document
    for key in kind.path:
        part = getattr(part, key)
    return tuple(part)


def new_ids(document: Document, name: str, *, gaps: bool = False) -> Iterator[str]:
    """Ids for new items of a kind, one after the other: never one that is in use or was.

    Args:
        document: where they are to be new.
        name: of the kind.
        gaps: whether numbers that were never used are taken first; otherwise they go on from the highest.
    """
    wanted = kind(name)
    taken = {item.id for found in (*KINDS, wanted) for item in members(document, found)} | set(document.retired_ids)
    numbers = [int(id_[1:]) for id_ in taken if id_[:1] == wanted.letter and id_[1:].isdecimal()]
    number = 0 if gaps else max(numbers, default=0)
    while True:
        number += 1
        if f"{wanted.letter}{number}" not in taken:
            yield f"{wanted.letter}{number}"
