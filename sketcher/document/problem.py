"""One inconsistency of a document: where it stands, what it is, and what would be right."""

from __future__ import annotations

import difflib
import string
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from pydantic_core import PydanticCustomError

Location = tuple[str | int, ...]


#: Up to so many known ids are compared one by one.
_MANY = 300
_LONGEST = 60
_LETTERS = string.ascii_letters + string.digits + "_.-"


@dataclass(frozen=True)
class Problem:
    """One thing wrong: where it stands in the document, what it is, and what would be right."""

    location: Location
    message: str
    value: Any = None

    def as_pydantic(self) -> PydanticCustomError:
        """The problem in the form that joins pydantic's own list of errors."""
        return PydanticCustomError("inconsistent", "{message}", {"message": self.message})


def nearest(id_: str, known: Iterable[str]) -> str:
    """A hint at the known id that is most like an unknown one; empty when none is."""
    ids = set(known)
    # Comparing with each of thousands would take longer than the whole document: one slip of the hand is looked up.
    near = _one_slip(id_, ids) if len(ids) > _MANY else difflib.get_close_matches(id_, sorted(ids), n=1)
    return f"; did you mean {near[0]!r}?" if near else ""


def _one_slip(id_: str, known: set[str]) -> list[str]:
    """The known ids that come of the id by one letter more, less or other, or by two that changed places."""
    if len(id_) > _LONGEST:
        return []
    parts = [(id_[:k], id_[k:]) for k in range(len(id_) + 1)]
    slips = [a + b[1] + b[0] + b[2:] for a, b in parts if len(b) > 1]
    slips += [a + b[1:] for a, b in parts if b]
    slips += [a + letter + rest for a, b in parts for letter in _LETTERS for rest in {b, b[1:]}]
    found = sorted(slip for slip in set(slips) if slip in known)
    # Of several the one that keeps most of what was typed, as among few.
    return sorted(found, key=lambda slip: -difflib.SequenceMatcher(None, id_, slip).ratio())[:1]


def pointer(location: Iterable[str | int]) -> str:
    """A JSON pointer (RFC 6901) to a place in the document."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in location)
