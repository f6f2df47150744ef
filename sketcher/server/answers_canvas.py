"""Answers to what is drawn by hand on the plan, as models."""

from __future__ import annotations

from sketcher.server.answers import Answer
from sketcher.server.bodies import PlateDocument


class LaidAnswer(Answer):
    """The document with a tube laid, and the id that selects it: the tube's, or its plate port's."""

    document: PlateDocument
    id: str
