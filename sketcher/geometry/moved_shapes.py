"""The shapes of a document of which a few items have moved, from those before: only what moved is made anew."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import fields, replace
from typing import Any

from sketcher.document import Document
from sketcher.document.moved_items import ITEM_LISTS
from sketcher.geometry.prisms import Prism
from sketcher.geometry.shapes import Shapes, build

#: The shapes that are kept by the item's id.
BY_ITEM = tuple(key for key in ITEM_LISTS if key != "branches")
#: Where the prisms of each item stand.
Places = Mapping[str, tuple[int, ...]]
#: The list of every item, and its number there.
Numbers = Mapping[str, tuple[str, int]]
assert {field.name for field in fields(Shapes)} >= set(BY_ITEM)


def places_of(prisms: tuple[Prism, ...]) -> dict[str, tuple[int, ...]]:
    """Where the prisms of each item stand in a tuple."""
    found: dict[str, list[int]] = {}
    for n, prism in enumerate(prisms):
        found.setdefault(prism.id, []).append(n)
    return {name: tuple(rows) for name, rows in found.items()}


def only(document: Document, names: Collection[str], numbers: Numbers) -> Document:
    """The document with only these items in its lists. It is not checked: what they name may be missing.

    ``numbers`` has each item's list and its number in it.
    """
    rows: dict[str, list[int]] = {key: [] for key in ITEM_LISTS}
    for name in names:
        if name in numbers:
            key, number = numbers[name]
            rows[key].append(number)
    kept = {}
    for key, chosen in rows.items():
        items = getattr(document, key)
        kept[key] = tuple(items[number] for number in sorted(chosen))
    return document.model_copy(update=kept)


def picked(shapes: Shapes, document: Document, names: Collection[str], places: tuple[Places, Places]) -> Shapes:
    """The shapes of these items alone, in their order; ``document`` holds them alone too.

    Frames and places of device ports stay whole.
    """
    groups: dict[str, Any] = {}
    for key in BY_ITEM:
        group = getattr(shapes, key)
        groups[key] = {item.id: group[item.id] for item in getattr(document, key) if item.id in group}
    rows = [sorted(row for name in names for row in at.get(name, ())) for at in places]
    prisms = tuple(shapes.prisms[row] for row in rows[0])
    return replace(
        shapes, document=document, prisms=prisms, further=tuple(shapes.further[row] for row in rows[1]), **groups
    )


def moved_shapes(
    before: Shapes,
    document: Document,
    names: Collection[str],
    needed: Collection[str],
    places: tuple[Places, Places],
    numbers: Numbers,
) -> tuple[Shapes, Shapes] | None:
    """The shapes of a document in which some items have moved, and those of these items alone.

    Args:
        before: the shapes as they were.
        document: how it is now.
        names: the items whose shapes are other ones now.
        needed: these, and all whose places or depths their shapes ask for.
        places: where each item's prisms stand among ``before``'s prisms and its further ones.
        numbers: the list of every item, and its number there.

    Returns:
        None when an item has more or fewer prisms than before.
    """
    some = build(only(document, needed, numbers))
    groups: dict[str, Any] = {}
    for key in BY_ITEM:
        group = getattr(some, key)
        changed = {name: group[name] for name in group if name in names}
        if changed:
            groups[key] = {**getattr(before, key), **changed}
    for what, at in zip(("prisms", "further"), places, strict=True):
        new = places_of(getattr(some, what))
        rows = list(getattr(before, what))
        for name in names:
            if len(new.get(name, ())) != len(at.get(name, ())):
                return None
            for row, fresh in zip(at.get(name, ()), new.get(name, ()), strict=True):
                rows[row] = getattr(some, what)[fresh]
        groups[what] = tuple(rows)
    if some.frames:
        groups["frames"] = {**before.frames, **{name: frame for name, frame in some.frames.items() if name in names}}
        own = {ref: place for ref, place in some.device_ports.items() if place.device in names}
        groups["device_ports"] = {**before.device_ports, **own}
    return replace(before, document=document, **groups), some


__all__ = ["BY_ITEM", "Places", "moved_shapes", "only", "picked", "places_of"]
