"""Answers about the library of own parts, and about the steps of a plate's history."""

from __future__ import annotations

from sketcher.document.library import OwnPart
from sketcher.server.answers import Answer


class PartList(Answer):
    """Own parts, and those to start from."""

    parts: list[OwnPart]
    starters: list[OwnPart]


class HistoryStep(Answer):
    """A step of a plate's history, in the words of the edit that made it."""

    number: int
    label: str


class HistoryList(Answer):
    """Every step that can be gone to, oldest first, and the one in force."""

    step: int
    steps: list[HistoryStep]
