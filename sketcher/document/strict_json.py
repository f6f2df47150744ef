"""The one reader of JSON from outside: files, requests, what the store holds.

Python's own reader takes more than JSON is (RFC 8259): NaN and Infinity, a key twice, half of a surrogate pair. What it
cannot hold it makes infinite (1e999) or refuses in words of its own. Here every one of these is a fault with its place.
Numbers are held to what every program can exchange (I-JSON, RFC 7493, section 2.2): whole ones up to 2**53.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from sketcher.document.problem import Location, pointer

#: Brackets within brackets; a plate document has ten.
DEEPEST = 100
#: Whole numbers beyond this are not the same in every program (RFC 7493).
LARGEST_WHOLE = 2**53
#: The largest plates, of six thousand items, have some eighty thousand values. Each is held to its form in memory.
MOST_VALUES = 500_000
#: Longer lists of errors help nobody.
MOST_FAULTS = 50

_HALF_PAIR = re.compile(r"[\ud800-\udfff]")
_WORDS = {
    "Expecting property name": "a key in double quotes belongs here",
    "Expecting ':'": "a colon belongs here",
    "Expecting ','": "a comma or a closing bracket belongs here",
    "Expecting value": "a value belongs here",
    "Unterminated string": "a text begins here and does not end; close its quotes",
    "Invalid control": "a line break or another control character stands in a text; write it as \\n",
    "Invalid \\escape": "a backslash begins nothing that JSON knows here; write \\\\ for a backslash",
    "Invalid \\u": "four hexadecimal digits belong behind \\u",
    "Extra data": "something stands behind the end; take it away",
    "Illegal trailing comma": "a comma stands before the closing bracket; take it away",
}


@dataclass(frozen=True)
class Fault:
    """One thing wrong with a document: a JSON pointer to the place, and what is wrong with what would be right."""

    pointer: str
    message: str


class DocumentError(ValueError):
    """The text is no plate document. ``faults`` holds every thing found wrong, in order."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = faults
        first = faults[0]
        more = f" (and {len(faults) - 1} more)" if len(faults) > 1 else ""
        super().__init__(f"{first.pointer or '/'}: {first.message}{more}")


class _Wrong:
    """Stands where a value was that JSON does not know, until its place is found."""

    def __init__(self, message: str) -> None:
        self.message = message


class _Reader:
    """One reading: ``wrong`` counts what its hooks found, so that only a faulty text is searched for places."""

    def __init__(self) -> None:
        self.wrong = 0

    def refused(self, message: str) -> _Wrong:
        self.wrong += 1
        return _Wrong(message)

    def constant(self, text: str) -> Any:
        return self.refused(f"{text} is no number; every value is finite")

    def real(self, text: str) -> Any:
        value = float(text)
        return value if math.isfinite(value) else self.refused(f"{_short(text)} is too large; every value is finite")

    def whole(self, text: str) -> Any:
        if len(text) <= 17:
            value = int(text)
            if -LARGEST_WHOLE <= value <= LARGEST_WHOLE:
                return value
        return self.refused(f"{_short(text)} is too large; a whole number is at most 2^53")

    def members(self, pairs: list[tuple[str, Any]]) -> dict[str, Any]:
        found = dict(pairs)
        if len(found) != len(pairs):
            seen: set[str] = set()
            for key, _ in pairs:
                if key in seen:
                    found[key] = self.refused(
                        f"the key {_short(key)!r} stands twice in one object; keep one of the two"
                    )
                seen.add(key)
        return found


def parse(text: str | bytes, what: str = "file") -> Any:
    """The plain values that a JSON text holds: only finite numbers, whole characters, every key once.

    Args:
        text: the text, or its bytes in UTF-8.
        what: what the text is, for the message when it cannot be read at all.

    Raises:
        DocumentError: with the place of everything wrong.
    """
    try:
        if isinstance(text, bytes):
            text = text.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        raise _whole(f"the {what} is no UTF-8 text (byte {error.start}); save it as UTF-8 JSON") from None
    # Each value but one stands behind a comma; to count them takes no time.
    if len(text) > MOST_VALUES and text.count(",") > MOST_VALUES:
        raise _whole(f"the {what} holds more than {MOST_VALUES:,} values; a plate document has a few thousand")
    reader = _Reader()
    try:
        plain = json.loads(
            text,
            parse_constant=reader.constant,
            parse_float=reader.real,
            parse_int=reader.whole,
            object_pairs_hook=reader.members,
        )
    except json.JSONDecodeError as error:
        raise _whole(f"line {error.lineno}, column {error.colno}: {_worded(error.msg)}") from None
    except RecursionError:
        raise _too_deep() from None
    if _depth_beyond(plain):
        raise _too_deep()
    # A text whose escapes make half a character is rare; only then is every text looked at.
    if reader.wrong or "\\ud" in text or "\\uD" in text or _HALF_PAIR.search(text):
        faults = list(_faults(plain))
        if faults:
            raise DocumentError(faults[:MOST_FAULTS])
    return plain


def _worded(message: str) -> str:
    return next((words for start, words in _WORDS.items() if message.startswith(start)), "this is no JSON")


def _whole(message: str) -> DocumentError:
    return DocumentError([Fault("", message)])


def _too_deep() -> DocumentError:
    return _whole(f"the brackets are nested more than {DEEPEST} deep; a plate document has about ten")


def _depth_beyond(plain: Any) -> bool:
    level = [plain] if isinstance(plain, dict | list) else []
    for _ in range(DEEPEST):
        if not level:
            return False
        level = [
            part
            for value in level
            for part in (value.values() if isinstance(value, dict) else value)
            if isinstance(part, dict | list)
        ]
    return bool(level)


def _faults(plain: Any) -> Iterator[Fault]:
    """Everything that a hook refused and every half character, in the text's order."""
    stack: list[tuple[Location, Any]] = [((), plain)]
    while stack:
        place, value = stack.pop()
        if isinstance(value, _Wrong):
            yield Fault(pointer(place), value.message)
        elif isinstance(value, str) and _HALF_PAIR.search(value):
            yield Fault(pointer(place), "the text holds half of a character (a lone surrogate); type it again")
        elif isinstance(value, dict):
            if any(_HALF_PAIR.search(key) for key in value):
                yield Fault(pointer(place), "a key holds half of a character (a lone surrogate); type it again")
            else:
                stack.extend(((*place, key), part) for key, part in reversed(value.items()))
        elif isinstance(value, list):
            stack.extend(((*place, index), part) for index, part in reversed(list(enumerate(value))))


def _short(text: str) -> str:
    plain = _HALF_PAIR.sub("�", text)
    return plain if len(plain) <= 40 else f"{plain[:30]}… ({len(plain)} signs)"
