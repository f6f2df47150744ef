"""What differs between two documents when items have only moved: everything else is the same.

While one thing is dragged, names, kinds and ties stay as they are. What depends on those alone need not be asked again.
"""

from __future__ import annotations

from typing import Any

from sketcher.document.base import Item
from sketcher.document.models import Document

_PLACE = frozenset(("x_mm", "y_mm"))
#: For each list of items the values that say where an item is and what way it goes, and nothing else.
PLACES: dict[str, frozenset[str]] = {
    "ports": _PLACE,
    "branches": _PLACE,
    "channels": frozenset(("points",)),
    "cutouts": frozenset(("outline",)),
    "pockets": frozenset(("outline",)),
    "holes": _PLACE | {"turn_deg"},
    "keep_outs": frozenset(("outline",)),
    "boards": _PLACE | {"z_mm", "turn_deg"},
    "devices": _PLACE | {"z_mm", "turn_deg"},
}
#: The lists of items that have a place of their own; what stands on the floor belongs to the floor.
ITEM_LISTS = tuple(PLACES)
#: More moved items than this are no drag.
MOST_MOVED = 200


def only_moved(key: str, before: Item, now: Item) -> bool:
    """Whether two items of a list are the same but for their place."""
    places = PLACES[key]
    theirs = now.__dict__
    return all(
        value is theirs[name] or name in places or (type(value) is type(theirs[name]) and value == theirs[name])
        for name, value in before.__dict__.items()
    )


def moved(before: Document, now: Document) -> dict[str, list[int]] | None:
    """The numbers of the items that have moved, by their list; none when more than that differs."""
    found: dict[str, list[int]] = {}
    for key in Document.model_fields:
        ours, theirs = getattr(before, key), getattr(now, key)
        if ours is theirs:
            continue
        if isinstance(ours, tuple):
            if len(ours) != len(theirs):
                return None
            rows = _differing(ours, theirs)
            if len(rows) > MOST_MOVED:
                return None
            if rows and (key not in PLACES or not all(only_moved(key, ours[n], theirs[n]) for n in rows)):
                return None
            if rows:
                found[key] = rows
        elif ours != theirs:
            return None
    return found


def _differing(ours: tuple[Any, ...], theirs: tuple[Any, ...]) -> list[int]:
    rows: list[int] = []
    for n, (one, other) in enumerate(zip(ours, theirs, strict=True)):
        if one is not other and one != other:
            rows.append(n)
            if len(rows) > MOST_MOVED:
                break
    return rows


__all__ = ["ITEM_LISTS", "MOST_MOVED", "PLACES", "moved", "only_moved"]
