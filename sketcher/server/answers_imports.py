"""Answers about long imports."""

from __future__ import annotations

from typing import Literal

from sketcher.server.answers import Answer, FloorFound


class ImportBegun(Answer):
    """The id of an import that was begun."""

    job: str


class ImportState(Answer):
    """How an import stands: how much is read (0 to 1), what was found, or what went wrong."""

    state: Literal["running", "done", "cancelled", "failed"]
    share: float
    answer: FloorFound | None = None
    error: str = ""
