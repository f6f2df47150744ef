"""Answers to what is drawn by hand on the plan, as models."""

from __future__ import annotations

from sketcher.server.answers import Answer
from sketcher.server.request_models import PlateDocument


class BetweenAnswer(Answer):
    """Distances between two references, mm: the shortest, along x and along y; none where one of them is not there."""

    aligned_mm: float | None
    horizontal_mm: float | None
    vertical_mm: float | None
    why: str


class LaidAnswer(Answer):
    """The document with a tube laid, and the id that selects it: the tube's, or its plate port's."""

    document: PlateDocument
    id: str
