"""What a rule says: a finding, and the edit that puts it right."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import Any, Literal

from sketcher.document.remembered import Remembered

Level = Literal["error", "warning", "note"]
Point = tuple[float, float]
LEVELS: tuple[Level, ...] = ("error", "warning", "note")


_DIGITS = re.compile(r"(\d+)")


@lru_cache(maxsize=20_000)
def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """A key that sorts P2 before P10."""
    return tuple((0, int(part), "") if part.isdigit() else (1, 0, part) for part in _DIGITS.split(name) if part)


@dataclass(frozen=True)
class Change:
    """One value of the document to set: a JSON pointer and the new value."""

    pointer: str
    value: float | str | dict[str, Any] | None


@dataclass(frozen=True)
class Fix:
    """A remedy that is certain: what a button for it says, and the values it sets.

    ``turns``: it turns more than it mends, and may end an error at the cost of warnings, which its label then tells.
    """

    label: str
    changes: tuple[Change, ...]
    turns: bool = False


@dataclass(frozen=True)
class Cause:
    """What several findings of one rule have in common: they become one finding with their items listed under it.

    ``message`` and ``remedy`` speak of all of them; ``{count}`` is how many there are. ``worst`` says which of them
    gives the finding its value: the one with the smallest, or with the largest.
    """

    key: str
    message: str
    remedy: str
    worst: Literal["smallest", "largest"] = "smallest"


@dataclass(frozen=True)
class Listed:
    """One of the things that a grouped finding is about: its items, its value and its place."""

    items: tuple[str, ...]
    value: float | None = None
    at: Point | None = None

    @cached_property
    def as_json(self) -> dict[str, Any]:
        """As it stands in the answer; nobody changes it."""
        return {"items": list(self.items), "value": _rounded(self.value), "at": _place(self.at)}


@dataclass(frozen=True)
class Finding:
    """One thing found.

    Attributes:
        rule: the rule's stable name.
        level: error, warning or note.
        items: ids of the items concerned.
        value: what was measured, in ``unit``; none when there is nothing to measure.
        limit: what it is held against, in ``unit``.
        unit: of both; empty when there is none.
        message: one sentence that says what is wrong.
        remedy: one sentence that says what would put it right.
        at: the place on the floor, mm.
        line: the two ends of the measured distance, mm, to be drawn in.
        fix: the remedy as values to set, when it is certain.
        other_fixes: other ways to end it, for when the first turns out to do harm.
        accepted: the user's reason for letting it stand; empty while it is open.
        cause: what it has in common with others of its rule; with it they are shown as one.
        listed: what a grouped finding is about, one by one.
    """

    rule: str
    level: Level
    items: tuple[str, ...]
    message: str
    remedy: str
    value: float | None = None
    limit: float | None = None
    unit: str = ""
    at: Point | None = None
    line: tuple[Point, Point] | None = None
    fix: Fix | None = None
    accepted: str = ""
    cause: Cause | None = None
    listed: tuple[Listed, ...] = ()
    other_fixes: tuple[Fix, ...] = ()

    @cached_property
    def about(self) -> frozenset[str]:
        """The items concerned, in no order."""
        return frozenset(self.items)

    @cached_property
    def kind(self) -> str:
        """What findings have in common that may become one: rule, level and cause; where the rule names no cause, what
        is said but for the names. Kept with the finding, as a text that keeps its hash: most of them stay as they are
        while a thing is dragged."""
        same = self._without_names() if self.cause is None else (self.cause.key,)
        return "\0\0".join((self.rule, self.level, *same, self.accepted))

    @cached_property
    def row(self) -> Listed:
        """What is listed of it under a grouped finding."""
        return Listed(self.items, self.value, self.at)

    @cached_property
    def rank(self) -> tuple[int, str, tuple[tuple[tuple[int, int, str], ...], ...], str]:
        """Its place among others: most severe first, then by rule and items, ids in their natural order."""
        return (LEVELS.index(self.level), self.rule, tuple(natural(item) for item in self.items), self.message)

    def _without_names(self) -> tuple[str, str]:
        """Message and remedy with the finding's own items left out."""
        message, remedy = self.message, self.remedy
        for place, item in enumerate(self.items):
            message, remedy = (_without(text, item, f"\0{place}\0") for text in (message, remedy))
        return message, remedy

    @property
    def open_error(self) -> bool:
        """Whether this stands in the way of a hand-off."""
        return self.level == "error" and not self.accepted

    def as_json(self) -> dict[str, Any]:
        """The finding with the keys of the command line's JSON."""
        return {
            "rule": self.rule,
            "level": self.level,
            "items": list(self.items),
            "value": _rounded(self.value),
            "limit": _rounded(self.limit),
            "unit": self.unit,
            "at": _place(self.at),
            "message": self.message,
            "mend": self.remedy,
            "line": None if self.line is None else [[_rounded(x), _rounded(y)] for x, y in self.line],
            "fix": self.fix
            and {
                "label": self.fix.label,
                "changes": [{"pointer": change.pointer, "value": change.value} for change in self.fix.changes],
            },
            "accepted": self.accepted,
            "listed": [row.as_json for row in self.listed],
        }


def _without(text: str, name: str, mark: str) -> str:
    """A text with a name replaced where it stands as a word of its own.

    By hand: a pattern for each name would be compiled again and again on a plate of thousands.
    """
    at = text.find(name) if name else -1
    if at < 0:
        return text
    found, done = "", 0
    while at >= 0:
        end = at + len(name)
        if _wordy(text[at - 1 : at]) or _wordy(text[end : end + 1]):
            at = text.find(name, at + 1)
            continue
        found, done = found + text[done:at] + mark, end
        at = text.find(name, end)
    return found + text[done:]


def _wordy(sign: str) -> bool:
    return sign.isalnum() or sign == "_"


def _place(at: Point | None) -> list[float | None] | None:
    return None if at is None else [_rounded(at[0]), _rounded(at[1])]


def _rounded(value: float | None) -> float | None:
    return None if value is None else round(float(value), 4) + 0.0


def ways(*fixes: Fix | None) -> dict[str, Any]:
    """The first of some fixes as ``fix``, the others as ``other_fixes``; for the keywords of a Finding."""
    kept = list(dict.fromkeys(fix for fix in fixes if fix is not None))
    return {"fix": kept[0] if kept else None, "other_fixes": tuple(kept[1:])}


def counts(findings: Iterable[Finding]) -> dict[str, int]:
    """How many open findings there are of each level."""
    found: dict[str, int] = dict.fromkeys(LEVELS, 0)
    for finding in findings:
        if not finding.accepted:
            found[finding.level] += 1
    return found


def findings_json(findings: Sequence[Finding]) -> dict[str, Any]:
    """The answer of ``check --json``."""
    rows = _rows.all([((finding,), None) for finding in findings], lambda new: [findings[n].as_json() for n in new])
    return {"findings": rows, "counts": counts(findings)}


#: The rows of findings: nobody changes them, and those that stay are the same objects.
_rows: Remembered[dict[str, Any]] = Remembered()


def mm(value: float) -> str:
    """A length for a sentence: no more digits than a caliper reads."""
    return f"{value:.2f}".rstrip("0").rstrip(".") + " mm"


def steps(dx: float, dy: float) -> str:
    """A move in plan as one says it, mm: "4 mm to the right and 15 mm to the front"; empty when it is none."""
    parts = ((dx, "to the right", "to the left"), (dy, "to the rear", "to the front"))
    return " and ".join(f"{mm(abs(by))} {ahead if by > 0 else back}" for by, ahead, back in parts if abs(by) >= 0.005)
