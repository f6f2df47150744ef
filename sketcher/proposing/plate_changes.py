"""Which of a plate's own values a proposal changes beside its channels, in words: nobody takes them unawares."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sketcher.document import Document, to_plain
from sketcher.document.labels import label
from sketcher.findings import mm

#: What a proposal is asked for, or what follows from it: no change of the plate's own values.
_FOLLOWS = ("channels", "branches", "groups", "retired_ids", "loop")
_SEAL_WORDS = {
    "shared": "grooves shared by regions near each other",
    "one": "one groove round all regions",
    "apart": "a groove of its own round each region",
}


@dataclass(frozen=True)
class PlateChange:
    """One value that differs: its place in the document, and what it then is, in words."""

    pointer: str
    words: str

    def as_json(self) -> dict[str, str]:
        """With the keys of ``propose --json``."""
        return {"pointer": self.pointer, "words": self.words}


def plate_changes(new: Document, old: Document) -> list[PlateChange]:
    """The values of plate, seal and items that differ, but for new channels and for lid screws that are not locked.

    Both are compared as they are, whatever made them differ.
    """
    return [*_values(new, old, "seal"), *_values(new, old, "plate"), *_items(new, old), *_others(new, old)]


def _values(new: Document, old: Document, part: str) -> Iterator[PlateChange]:
    now, before = getattr(new, part), getattr(old, part)
    for key in type(now).model_fields:
        after, was = getattr(now, key), getattr(before, key)
        if after != was:
            yield PlateChange(f"/{part}/{key}", _words(type(now).__name__, key, after, was))


def _words(model: str, key: str, now: Any, before: Any) -> str:
    match key:
        case "hardness_shore_a":
            return f"a cord of {now:g} Shore A instead of {before:g}"
        case "screw":
            return f"{now} lid screws instead of {before}"
        case "grooves":
            return _SEAL_WORDS[now]
        case "insert_pull_n" if now is not None:
            return f"threaded inserts whose maker gives a lasting pull of at least {now:g} N"
        case "lid_thickness_mm":
            return f"a lid of {mm(now)} instead of {mm(before)}"
        case "body_thickness_mm":
            return f"a body of {mm(now)} instead of {mm(before)}"
    if isinstance(now, (int, float, str)) and isinstance(before, (int, float, str)):
        unit = " mm" if key.endswith("_mm") else ""
        return f"{label(model, key).lower()} {_shown(now)}{unit} instead of {_shown(before)}{unit}"
    return f"another {label(model, key).lower()}"


def _shown(value: float | str) -> str:
    return value if isinstance(value, str) else f"{value:g}"


def _items(new: Document, old: Document) -> Iterator[PlateChange]:
    """Items that are in both and differ, and those that were drawn as something else than channels and are gone."""
    for key in type(old).model_fields:
        before, now = getattr(old, key), getattr(new, key)
        if key in _FOLLOWS[2:] or not isinstance(before, (list, tuple)):
            continue
        there = {one.id: one for one in now if hasattr(one, "id")}
        for index, one in enumerate(before):
            id_ = getattr(one, "id", None)
            if id_ is None or (key == "holes" and one.use == "lid" and not one.locked):
                continue
            other = there.get(id_)
            if other is None:
                if key not in _FOLLOWS:
                    yield PlateChange(f"/{key}/{index}", f"{id_} removed")
            elif other != one:
                yield PlateChange(f"/{key}/{index}", _moved(id_, one, other))


def _moved(id_: str, before: Any, now: Any) -> str:
    was, there = getattr(before, "outline", before), getattr(now, "outline", now)
    x, y = getattr(was, "x_mm", None), getattr(was, "y_mm", None)
    if x is not None and y is not None and (there.x_mm, there.y_mm) != (x, y):
        return f"{id_} moved by {there.x_mm - x:g}, {there.y_mm - y:g} mm"
    return f"{id_} changed"


def _others(new: Document, old: Document) -> Iterator[PlateChange]:
    """Values beside the lists of items: limits, shop, floor and what else a plate has of its own."""
    now, before = to_plain(new), to_plain(old)
    lists = {key for key in type(old).model_fields if isinstance(getattr(old, key), (list, tuple))}
    for key in sorted({*now, *before} - lists - {"seal", "plate", *_FOLLOWS}):
        if now.get(key) != before.get(key):
            yield PlateChange(f"/{key}", f"another {label('Document', key).lower()}")
