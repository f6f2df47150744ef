"""The live answer: what a document looks like, what the checks find, how it flows. Stateless, and quick.

Each part is worked out at most once for a request; parts that build on others take theirs.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from http import HTTPStatus
from typing import Any

from flask import Blueprint, Response, jsonify, request

from sketcher.checks import Finding, findings_json, run
from sketcher.document import Document
from sketcher.drawing.plan import Further, plan
from sketcher.fit import survey
from sketcher.flow import FlowResult, solve_loop
from sketcher.flow.answers import further
from sketcher.geometry import Shapes, build
from sketcher.geometry.snaps import snaps_json
from sketcher.server import requests
from sketcher.server.errors import Refusal
from sketcher.strength.lid import lid_report
from sketcher.strength.seal import SealDesign, design_seal

blueprint = Blueprint("look", __name__)


class Look:
    """Everything there is to say about one document, each part worked out when it is asked for."""

    def __init__(self, document: Document, drawn: set[str], quick: bool = False, ellipse_scale: float = 1.0) -> None:
        self.document = document
        self._drawn = drawn
        self._quick = quick
        self._ellipse_scale = ellipse_scale

    @cached_property
    def shapes(self) -> Shapes:
        """The document's shapes."""
        return build(self.document)

    @cached_property
    def found(self) -> list[Finding]:
        """Every finding; while an item is dragged, without the rules that take long."""
        return run(self.document, self.shapes, flow=self.flowing, quick=self._quick)

    @cached_property
    def flowing(self) -> FlowResult:
        """The loop, solved from where the last one ended."""
        _LAST.result = solve_loop(self.document, self.shapes, _LAST.result)
        return _LAST.result

    @property
    def volume_l(self) -> float:
        """Coolant in the whole loop, litres."""
        return float(self.flow["volume_l"])

    @cached_property
    def flow(self) -> dict[str, Any]:
        """Operating point, losses, temperatures."""
        return self.flowing.as_json()

    @cached_property
    def answers(self) -> dict[str, Any]:
        """What takes a few solutions more: loop orders, half speed, curves, what widening buys."""
        return further(self.flowing)

    @cached_property
    def sealing(self) -> SealDesign:
        """The seal's design."""
        return design_seal(self.document, self.shapes)

    @cached_property
    def findings(self) -> dict[str, Any]:
        """The findings and their counts."""
        return findings_json(self.found)

    @cached_property
    def seal(self) -> dict[str, Any]:
        """Groove, cord, and what is missing."""
        return self.sealing.as_json()

    @cached_property
    def lid(self) -> dict[str, Any]:
        """Bending and stress of lid and body."""
        return lid_report(self.document, self.shapes, self.sealing).as_json()

    @cached_property
    def survey(self) -> dict[str, Any]:
        """The adjusted survey."""
        return survey.adjust(self.document).as_json()

    @cached_property
    def snaps(self) -> dict[str, Any]:
        """Places and edges to snap to."""
        return snaps_json(self.shapes)

    @cached_property
    def drawing(self) -> dict[str, Any]:
        """The plan, with those of the other parts drawn in that were asked for."""
        further = Further(
            findings=self.findings["findings"] if "findings" in self._drawn else (),
            flow=self.flow if "flow" in self._drawn else None,
            seal=self.seal if "seal" in self._drawn else None,
            survey=self.survey if "survey" in self._drawn else None,
            ellipse_scale=self._ellipse_scale,
        )
        made = plan(self.shapes, further)
        return {"svg": made.svg(alone=False), "box": list(made.box)}


@dataclass
class _Last:
    """The last loop that was solved: while an item is dragged the next one is nearly the same."""

    result: FlowResult | None = None


_LAST = _Last()


PARTS: dict[str, Callable[[Look], Any]] = {
    "findings": lambda look: look.findings,
    "flow": lambda look: look.flow,
    "answers": lambda look: look.answers,
    "seal": lambda look: look.seal,
    "lid": lambda look: look.lid,
    "survey": lambda look: look.survey,
    "snaps": lambda look: look.snaps,
    "drawing": lambda look: look.drawing,
}


def answer(document: Document, want: list[str], quick: bool = False, ellipse_scale: float = 1.0) -> dict[str, Any]:
    """The parts asked for. A part that is not known is null, with the reason beside it under ``missing``."""
    look = Look(document, set(want), quick, ellipse_scale)
    found: dict[str, Any] = {}
    missing: dict[str, str] = {}
    for part in want:
        if part in PARTS:
            value = PARTS[part](look)
            found.update(value if part == "findings" else {part: value})
        else:
            found[part] = None
            missing[part] = f"there is no part {part!r}; there are {', '.join(PARTS)}"
    return {**found, "missing": missing}


@blueprint.post("/api/look")
def look_at() -> Response:
    """The live answer for a document that need not be saved."""
    content = requests.body()
    want = content.get("want", list(PARTS))
    parts = [str(part) for part in want][:20] if isinstance(want, list) else list(PARTS)
    return jsonify(
        answer(
            requests.document(content), parts, quick=content.get("quick") is True, ellipse_scale=_ellipse_scale(content)
        )
    )


def _ellipse_scale(content: dict[str, Any]) -> float:
    """How many times as large as they are the error ellipses are drawn, 1 to 1000."""
    scale = content.get("ellipse_scale", 1)
    if isinstance(scale, bool) or not isinstance(scale, int | float) or not 1 <= scale <= 1000:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "'ellipse_scale' is a number from 1 to 1000.")
    return float(scale)


@blueprint.get("/api/plates/<int:plate>/look")
def look_at_saved(plate: int) -> Response:
    """The same for a plate as it is saved."""
    want = request.args.get("want", "").split(",") if request.args.get("want") else list(PARTS)
    return jsonify(answer(requests.plates().get(plate).document(), want))
