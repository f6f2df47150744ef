"""The adjusted survey in the live answer, as models; and what every part of the live answer is made of.

Every key without a default is always there; more may stand beside them.
"""

from __future__ import annotations

from pydantic import BaseModel, ConfigDict


class Part(BaseModel):
    """A part of the live answer."""

    # Most of these describe what is answered and check nothing: they are built when they are first asked for.
    model_config = ConfigDict(frozen=True, extra="allow", defer_build=True)


class SurveyPointAnswer(Part):
    """A point's adjusted place, with its spread."""

    id: str
    x_mm: float | None
    y_mm: float | None
    sigma_x_mm: float | None
    sigma_y_mm: float | None


class ReadingAnswer(Part):
    """A reading beside its adjusted value."""

    id: str
    measured_mm: float
    adjusted_mm: float | None
    residual_mm: float | None
    standardised_residual: float | None
    suspect: bool


class RivalAnswer(Part):
    """One of several readings of which one is wrong, and what it would read if it were this one."""

    id: str
    words: str
    measured_mm: float
    if_wrong_mm: float | None


class DecidesAnswer(Part):
    """The further reading that tells rivals apart; ``again`` names the rival that it repeats."""

    kind: str
    points: list[str]
    words: str
    again: str | None
    settles: bool


class UnitDoubtAnswer(Part):
    """Readings that may be in another unit than was typed: how large the floor would be then, and why it is asked."""

    readings: list[str]
    typed: str
    unit: str
    width_mm: float
    depth_mm: float
    because: str
    words: str


class ReadingAdvice(Part):
    """A reading worth taking, and what it would tighten."""

    kind: str
    points: list[str]
    words: str


class Datum(Part):
    """The point at 0, 0, and a point on the x axis."""

    origin: str | None
    along_x: str | None


class SurveyAnswer(Part):
    """The adjusted survey."""

    points: list[SurveyPointAnswer]
    readings: list[ReadingAnswer]
    redundancy: int
    agrees: bool
    datum: Datum
    rivals: list[RivalAnswer]
    decides: DecidesAnswer | None
    units: list[UnitDoubtAnswer]
    advice: list[ReadingAdvice]
    messages: list[str]
