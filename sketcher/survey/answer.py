"""The adjusted survey as plain data: the keys of ``survey FILE --json`` and of the page."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from sketcher.document.floor import Reading
from sketcher.survey import wording as words
from sketcher.survey.adjustment import Checked, Point
from sketcher.survey.branches import Mirror
from sketcher.survey.deciding import Decision
from sketcher.survey.readings_network import Observation
from sketcher.survey.slips import UNITS_MM, Proposal

if TYPE_CHECKING:
    from sketcher.survey.adjusted import Diameter, SurveyResult


def as_json(result: SurveyResult) -> dict[str, Any]:
    """The result with the keys of ``docs/survey.md``; no NaN, unknown numbers are null."""
    found = result.adjustment
    return {
        "points": [_point(result, point) for point in found.points],
        "readings": [_reading(result, checked) for checked in found.readings]
        + [_set_aside(reading) for reading in result.readings if reading.set_aside],
        "redundancy": found.degrees,
        "agrees": found.agrees,
        "datum": {"origin": result.origin, "along_x": result.along_x},
        "agreement": {
            "agrees": found.agrees,
            "sum_of_squares": number(found.chi2),
            "limit": number(found.limit) if found.degrees > 0 else None,
        },
        "loose": [{"points": list(found.loose), "readings": [wish(o) for o in found.to_hold]}] if found.loose else [],
        "mirrored": [_mirror(mirror) for mirror in found.mirrors],
        "contradictions": [list(group) for group in found.rivals],
        "rivals": [
            {
                "id": rival.observation.id,
                "words": words.reading(rival.observation),
                "measured_mm": number(rival.observation.value),
                "if_wrong_mm": number(rival.if_wrong) if math.isfinite(rival.spread) else None,
                "sigma_mm": number(rival.spread),
                "slip": _proposal(result.rival_slips[rival.observation.id])
                if rival.observation.id in result.rival_slips
                else None,
            }
            for rival in found.if_wrong
        ],
        "decides": _decides(result.decides),
        "units": [
            {
                "readings": list(doubt.readings),
                "typed": doubt.typed,
                "unit": doubt.unit,
                "width_mm": number(doubt.width_mm),
                "depth_mm": number(doubt.depth_mm),
                "because": doubt.because,
                "words": doubt.words,
            }
            for doubt in result.unit_doubts
        ],
        "advice": [
            {
                **wish(advice.reading),
                "tightens": advice.point,
                "before_mm": number(advice.before),
                "after_mm": number(advice.after),
            }
            for advice in result.advice
        ],
        "messages": list(result.messages),
    }


def _point(result: SurveyResult, point: Point) -> dict[str, Any]:
    known = not point.loose
    ellipse = point.ellipse
    return {
        "id": point.id,
        "x_mm": number(point.x),
        "y_mm": number(point.y),
        "sigma_x_mm": number(point.sigma_x) if known else None,
        "sigma_y_mm": number(point.sigma_y) if known else None,
        "loose": point.loose,
        "ellipse": {
            "major_mm": number(ellipse.semi_major_95),
            "minor_mm": number(ellipse.semi_minor_95),
            "turn_deg": number(ellipse.turn_deg),
            "sigma_major_mm": number(ellipse.semi_major),
            "sigma_minor_mm": number(ellipse.semi_minor),
        }
        if known
        else None,
        **_scalar("diameter", result.diameters.get(point.id)),
        **_scalar("height", result.heights.get(point.id)),
    }


def _reading(result: SurveyResult, checked: Checked) -> dict[str, Any]:
    observation = checked.observation
    return {
        "id": observation.id,
        "kind": observation.kind,
        "points": list(observation.points),
        "wall": list(observation.wall) if observation.wall else None,
        "measured_mm": number(observation.value),
        "adjusted_mm": number(checked.adjusted),
        "residual_mm": number(checked.residual),
        "standardised_residual": None if checked.standardised is None else number(checked.standardised),
        "redundancy_share": number(checked.redundancy),
        "suspect": checked.suspect or checked.rival,
        "rival": checked.rival,
        "used": not checked.suspect,
        "probably": [_proposal(proposal) for proposal in result.proposals.get(observation.id, ())],
    }


def _proposal(proposal: Proposal) -> dict[str, Any]:
    said: dict[str, Any] = {
        "value": proposal.value,
        "unit": proposal.unit,
        "value_mm": number(proposal.value_mm),
        "why": proposal.why,
    }
    if proposal.points is not None:
        said["points"] = list(proposal.points)
    if proposal.wall is not None:
        said["wall"] = list(proposal.wall)
    return said


def _mirror(mirror: Mirror) -> dict[str, Any]:
    return {
        "points": [{"id": name, "x_mm": number(x), "y_mm": number(y)} for name, (x, y) in mirror.places.items()],
        "decided_by": mirror.decided_by,
        "reading": wish(mirror.reading) if mirror.reading else None,
    }


def _decides(decision: Decision | None) -> dict[str, Any] | None:
    if decision is None:
        return None
    return {
        **wish(decision.reading),
        "again": decision.again,
        "settles": decision.settles,
        "left": number(decision.left),
        "outcomes": [
            {"value_mm": number(outcome.value), "wrong": [list(ids) for ids in outcome.wrong]}
            for outcome in decision.outcomes
        ],
    }


def wish(observation: Observation) -> dict[str, Any]:
    """A reading that could be taken."""
    return {
        "kind": observation.kind,
        "points": list(observation.points),
        "wall": list(observation.wall) if observation.wall else None,
        "words": words.reading(observation),
    }


def _scalar(key: str, value: Diameter | None) -> dict[str, Any]:
    if value is None:
        return {}
    return {f"{key}_mm": number(value.value_mm), f"sigma_{key}_mm": number(value.sigma_mm)}


def _set_aside(reading: Reading) -> dict[str, Any]:
    return {
        "id": reading.id,
        "kind": reading.kind,
        "points": list(reading.points),
        "wall": list(reading.wall) if reading.wall else None,
        "measured_mm": number(reading.value * UNITS_MM[reading.unit]),
        "adjusted_mm": None,
        "residual_mm": None,
        "standardised_residual": None,
        "redundancy_share": None,
        "suspect": False,
        "rival": False,
        "used": False,
        "probably": [],
    }


def number(value: float) -> float | None:
    """A float for JSON: rounded to a nanometre, no minus zero, and null where there is none."""
    return round(float(value), 6) + 0.0 if math.isfinite(value) else None
