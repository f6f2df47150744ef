"""How sure it is that every tube lands."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from sketcher.server.answers import Answer
from sketcher.server.contract import gives, takes
from sketcher.server.request_models import OneDocument
from sketcher.sureness.assessment import assess


class LandingEllipse(Answer):
    """The ellipse about the expected landing that 95 of 100 landings lie in."""

    semi_major_mm: float
    semi_minor_mm: float
    turn_deg: float


class TubeChanceAnswer(Answer):
    """One tube: its chance to land, its spread and what it may be off, and each source's share of the variance."""

    port: str
    serves: str
    chance: float
    sigma_mm: float
    allowed_mm: float
    offset_mm: list[float]
    covariance_mm2: list[list[float]]
    shares: dict[str, float]
    at_mm: list[float]
    ellipse: LandingEllipse


class ClearanceAnswer(Answer):
    """A gap in plan, and the chance that it is one; a single item's gap is that to the plate."""

    items: list[str]
    chance: float
    gap_mm: float
    sigma_mm: float
    at_mm: list[float]


class ChanceAdvice(Answer):
    """What would raise the chance, and to how much."""

    do: str
    chance: float
    kind: str


class SurenessAnswer(Answer):
    """Chances, 0 to 1; ``chance`` of all tubes together is null when no tube drops to the plate."""

    chance: float | None
    before_trial: float | None
    tubes: list[TubeChanceAnswer]
    clearances: list[ClearanceAnswer]
    advice: list[ChanceAdvice]
    assumed: list[str]
    limit_percent: float
    messages: list[str]


blueprint = Blueprint("sureness", __name__, url_prefix="/api")


@blueprint.post("/sureness")
@takes(OneDocument)
@gives(SurenessAnswer)
def sureness(body: OneDocument) -> dict[str, Any]:
    """The chance that all tubes land and clearances hold, whose spread it is, and what would raise it."""
    return assess(body.document).as_json()
