"""An edit of a document that is known already: some of its items as they are now, and nothing else.

While a thing is dragged, page and server both know the plate; what differs is an item or two.
"""

from __future__ import annotations

from collections.abc import Mapping
from types import SimpleNamespace
from typing import Any

from pydantic import BaseModel, ValidationError

from sketcher.document.base import Item
from sketcher.document.files import faults_of, with_changes
from sketcher.document.models import Document
from sketcher.document.moved_items import PLACES, only_moved
from sketcher.document.outline_consistency import outline_at
from sketcher.document.problem import pointer
from sketcher.document.remembered import KnownParts
from sketcher.document.strict_json import DocumentError, Fault

#: For each list the items that are other ones now, by their number in it.
Edit = Mapping[str, Mapping[str, Any]]


def edited(document: Document, edit: Edit) -> Document:
    """The document with some items of its lists replaced, each by its number.

    Raises:
        DocumentError: an item is none, there is no such place, or the whole is not consistent any more.
    """
    changed: dict[str, list[Any]] = {}
    moved = True
    for key, given in edit.items():
        if key not in PLACES:
            raise DocumentError([Fault(pointer((key,)), f"no list of items is called {key!r} here")])
        ours = getattr(document, key)
        rows = {_number(key, at, len(ours)): item for at, item in given.items()}
        made = _made(key, ours, rows)
        changed[key] = list(ours)
        for row, item in made.items():
            moved = moved and only_moved(key, ours[row], item) and _sound(key, row, item)
            changed[key][row] = item
    # Where things have only moved, ids and what they name are as they were, and were found right then.
    return document.model_copy(update=changed) if moved else with_changes(document, **changed)


def _number(key: str, at: str, count: int) -> int:
    if at.isascii() and at.isdecimal() and len(at) < 9 and int(at) < count:
        return int(at)
    raise DocumentError([Fault(pointer((key, at)), f"there is no such item: the list has {count}")])


def _made(key: str, ours: tuple[Item, ...], rows: Mapping[int, Any]) -> dict[int, Item]:
    """The items as models; equal content is the same object as before."""
    known = KnownParts({key: list(rows.values())})
    made: list[Item] = []
    for row, plain in zip(rows, known.plain[key], strict=True):
        try:
            made.append(plain if isinstance(plain, BaseModel) else type(ours[row]).model_validate(plain))  # type: ignore[arg-type]
        except ValidationError as error:
            raise DocumentError(faults_of(error, (key, row))) from None
    known.learn(SimpleNamespace(**{key: made}))
    return dict(zip(rows, made, strict=True))


def _sound(key: str, row: int, item: Any) -> bool:
    """Whether an item is right in itself; what a list cannot say of another item is not asked."""
    if key == "channels":
        return len(item.points) + (item.start is not None) + (item.end is not None) >= 2
    outline = getattr(item, "outline", None)
    return outline is None or not list(outline_at((key, row, "outline"), outline))


__all__ = ["Edit", "edited"]
