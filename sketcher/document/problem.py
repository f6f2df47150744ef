"""One inconsistency of a document: where it stands, what it is, and what would be right."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from pydantic_core import PydanticCustomError

Location = tuple[str | int, ...]


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
    near = difflib.get_close_matches(id_, list(known), n=1)
    return f"; did you mean {near[0]!r}?" if near else ""


def pointer(location: Iterable[str | int]) -> str:
    """A JSON pointer (RFC 6901) to a place in the document."""
    return "".join("/" + str(part).replace("~", "~0").replace("/", "~1") for part in location)
