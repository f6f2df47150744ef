"""What a further reading would do for the landings: the survey's readings again, and readings not yet taken.

A reading is a linear observation of the survey's errors, so that what it would teach follows from the covariance alone,
before it is taken (JCGM 102, 6.2; the same normal equations as the adjustment's).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.sureness.learning import with_readings
from sketcher.sureness.model import Model
from sketcher.sureness.place_errors import Places
from sketcher.survey import candidates, wording
from sketcher.survey.readings_network import Observation

Array = NDArray[np.float64]

#: Of the readings to take again, and of those not yet taken, so many are worked out in full.
_EACH = 2
_PLANE = ("distance", "offset", "along", "x", "y")


@dataclass(frozen=True)
class Further:
    """A further reading in words, and the model that would know it."""

    do: str
    model: Model


def further_readings(document: Document, places: Places, model: Model) -> Iterator[Further]:
    """Single readings that would tell most of where tubes land, the best first of each kind.

    Args:
        document: the plate.
        places: where things stand, as the model was made of.
        model: the landings as they stand.
    """
    if places.result is None or not len(places.survey_errors):
        return
    adjustment = places.result.adjustment
    names = {tool.id: tool.name or tool.id for tool in document.survey.tools}
    tools = {reading.id: names[reading.tool] for reading in document.survey.readings}
    taken = [one for one in adjustment.used.observations if one.kind in _PLANE]
    for reading, row in _best(places, model, taken):
        words = f"Read {wording.reading(reading)} again with the {_small(tools[reading.id])}"
        yield Further(words, with_readings(model, row[None, :], reading.sigma))
    tool = _usual_tool(document, taken)
    if tool is None:
        return
    left = candidates.readings_left(adjustment.used, adjustment.state, tool[1])
    left = candidates.by_hand(adjustment.used, left, adjustment.state)
    for reading, row in _best(places, model, left):
        words = f"Read {wording.reading(reading)} as well, with the {_small(tool[0])}"
        yield Further(words, with_readings(model, row[None, :], reading.sigma))


def all_again(document: Document, places: Places, model: Model, tool: str, sigma_mm: float) -> Model | None:
    """The model that would know every reading of one tool, taken again with a finer one; None when there is none."""
    if places.result is None or not len(places.survey_errors):
        return None
    its = {reading.id for reading in document.survey.readings if reading.tool == tool}
    taken = [one for one in places.result.adjustment.used.observations if one.id in its and one.kind in _PLANE]
    return with_readings(model, _rows(places, model, taken), sigma_mm) if taken else None


def _best(places: Places, model: Model, readings: Sequence[Observation]) -> list[tuple[Observation, Array]]:
    """The readings that would take most off the landings' variances, against what each landing may be off by."""
    if not readings:
        return []
    rows = _rows(places, model, readings)
    turned = model.inner @ rows.T
    taken = ((model.gain @ turned) ** 2).sum(axis=1)
    allowed = np.array([max(drop.allowed_mm, 1e-3) for drop in model.drops])
    spread = np.array([reading.sigma**2 for reading in readings]) + (rows.T * turned).sum(axis=0)
    worth = (taken / allowed[:, None] ** 2).sum(axis=0) / spread
    order = np.argsort(-worth, kind="stable")[:_EACH]
    return [(readings[k], rows[k]) for k in order]


def _rows(places: Places, model: Model, readings: Sequence[Observation]) -> Array:
    """(k, m): how each reading depends on the model's numbers; the survey's own come first."""
    assert places.result is not None
    adjustment = places.result.adjustment
    _, slopes = candidates.derivatives(adjustment.used, readings, adjustment.state)
    errors = places.survey_errors
    rows = np.zeros((len(readings), len(model.sources)))
    rows[:, : len(errors)] = slopes @ errors.T
    return rows


def _usual_tool(document: Document, taken: Sequence[Observation]) -> tuple[str, float] | None:
    """The tool that most of the readings in the plane were taken with: its name and its spread."""
    its = [reading.tool for reading in document.survey.readings if reading.id in {one.id for one in taken}]
    if not its:
        return None
    most = max(dict.fromkeys(its), key=its.count)
    tool = next(one for one in document.survey.tools if one.id == most)
    return (tool.name or tool.id, tool.spread_mm)


def _small(name: str) -> str:
    """A tool's name within a sentence: "Steel rule" is "steel rule", "T2" stays."""
    return name if len(name) < 2 or not name[1].islower() else name[0].lower() + name[1:]
