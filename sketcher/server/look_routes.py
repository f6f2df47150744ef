"""The live answer: what a document looks like, what the checks find, how it flows. Stateless, and quick.

Each part is worked out at most once for a request; parts that build on others take theirs.
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from dataclasses import replace
from functools import cached_property
from http import HTTPStatus
from typing import Any

from flask import Blueprint, current_app, request

from sketcher.checks import Finding, check_json
from sketcher.checks.by_rule import by_rule
from sketcher.checks.hold_seal import design_of, report_of
from sketcher.checks.running import look_over, scene_for
from sketcher.checks.scene import Scene
from sketcher.checks.unasked import LEFT
from sketcher.document import Document, DocumentError
from sketcher.document.collector import without_collection
from sketcher.document.editing import edited
from sketcher.document.remembered import Remembered
from sketcher.drawing.elevations import Side, elevation
from sketcher.drawing.plan import Further, plan
from sketcher.flow import solve_loop
from sketcher.flow.builder_questions import further
from sketcher.flow.standing import Standing, moved, standing, stands
from sketcher.geometry import Shapes
from sketcher.geometry.measured_spans import dimensions_json
from sketcher.geometry.snaps import snaps_json
from sketcher.server import request_models, requests
from sketcher.server.contract import asks, gives, takes
from sketcher.server.errors import Refusal
from sketcher.server.known import Known, KnownDocuments, answered, less
from sketcher.server.live import LookAnswer
from sketcher.strength.needs import room_needed
from sketcher.strength.pressure_test import pressure_test
from sketcher.strength.tightening import torque_of
from sketcher.survey import adjusted as survey

blueprint = Blueprint("look", __name__)
#: More parts than this in one address are a slip.
MOST_PARTS = 20
#: More findings than this help nobody, and six thousand holes that touch would make an answer of 39 MB.
MOST_FINDINGS = 1000


_flows: Remembered[dict[str, Any]] = Remembered(most=8)
_standing: Remembered[Standing] = Remembered(most=8)


class Look:
    """Everything there is to say about one document, each part worked out when it is asked for."""

    def __init__(
        self, document: Document, quick: bool = False, fixes: bool = True, wanted: Callable[[], bool] = lambda: True
    ) -> None:
        self.screws = by_rule(document, quick=quick)
        #: With its lid screws by rule as holes.
        self.document = self.screws.document
        self._stored = document
        self._stored_holes = len(document.holes)
        self._quick, self._fixes, self._wanted = quick, fixes, wanted

    @cached_property
    def scene(self) -> Scene:
        """Shapes and flow as the rules see them; what the rules design (the seal, the lid) is designed once for all."""
        return scene_for(self.document, quick=self._quick)

    @property
    def shapes(self) -> Shapes:
        """The document's shapes."""
        return self.scene.shapes

    @cached_property
    def found(self) -> list[Finding]:
        """Every finding; while an item is dragged, without the rules that take long. Fixes only where they are asked
        for, and only as long as somebody waits for them."""
        found = look_over(self.scene, quick=self._quick, fixes=self._fixes, stored=self._stored, wanted=self._wanted)
        return found if self.screws.design is None else [self._storable(finding) for finding in found]

    def _storable(self, finding: Finding) -> Finding:
        """Without a fix for a screw that is worked out: there is no value of it to set."""
        holes = [change.pointer.split("/")[2] for change in finding.fix.changes if change.pointer.startswith("/holes/")
                 ] if finding.fix else []  # fmt: skip
        return replace(finding, fix=None) if any(int(k) >= self._stored_holes for k in holes) else finding

    @property
    def volume_l(self) -> float:
        """Coolant in the whole loop, litres."""
        return float(self.flow["volume_l"])

    @cached_property
    def findings(self) -> dict[str, Any]:
        """The findings and their counts; of very many only the worst, and how many more there are."""
        found = self.found
        return bounded(check_json(self.document, found, LEFT if self._quick else ()))

    @cached_property
    def flow(self) -> dict[str, Any]:
        """Operating point, losses, temperatures."""
        if self._quick and stands(self.document):
            return self._standing().answer
        flow = self.scene.flow
        return _flows.of((flow,), None, flow.as_json)

    def _standing(self) -> Standing:
        """The flow where nothing flows: of a drag's last answer but for the ways that have moved."""

        def make() -> Standing:
            step = self.scene.step
            if step is None or not _standing.knows((step.before.document,), None):
                return standing(self.scene.flow)
            before = _standing.of((step.before.document,), None, lambda: standing(self.scene.flow))
            return moved(before, solve_loop(step.moved.document, step.moved), step.changed)

        return _standing.of((self.document,), None, make)

    @cached_property
    def answers(self) -> dict[str, Any]:
        """What takes a few solutions more: loop orders, half speed, curves, what widening buys."""
        return further(self.scene.flow)

    @cached_property
    def seal(self) -> dict[str, Any]:
        """Groove, cord, and what is missing."""
        design = design_of(self.scene)
        return {
            **design.as_json(),
            "by_rule": self.screws.as_json(),
            "needs": room_needed(self.document, design).as_json(),
        }

    @cached_property
    def lid(self) -> dict[str, Any]:
        """Bending and stress of lid and body."""
        torque = torque_of(self.document, report_of(self.scene))
        return {
            **report_of(self.scene).as_json(),
            "torque": None if torque is None else torque.as_json(),
            "pressure_test": pressure_test(self.document).as_json(),
        }

    @cached_property
    def survey(self) -> dict[str, Any]:
        """The adjusted survey."""
        return survey.adjust(self.document).as_json()

    @cached_property
    def snaps(self) -> dict[str, Any]:
        """Places and edges to snap to."""
        return snaps_json(self.shapes)


_short: Remembered[dict[str, Any]] = Remembered(most=100)


def _shortened(row: dict[str, Any]) -> dict[str, Any]:
    return {**row, "listed": row["listed"][:MOST_FINDINGS], "listed_more": len(row["listed"]) - MOST_FINDINGS}


def bounded(found: dict[str, Any]) -> dict[str, Any]:
    """An answer of ``check`` with at most ``MOST_FINDINGS`` findings and as many rows in each; they stand in order, the
    most severe first. ``more`` says how many are left out, and each finding ``listed_more``; counts are of all."""
    findings = found["findings"]
    shown = [
        _short.of((row,), None, lambda row=row: _shortened(row))  # type: ignore[misc]
        if len(row.get("listed", ())) > MOST_FINDINGS
        else row
        for row in findings[:MOST_FINDINGS]
    ]
    return {**found, "findings": shown, "more": max(len(findings) - MOST_FINDINGS, 0)}


#: In the order in which they are worked out: the drawing shows what came before it.
PARTS: dict[str, Callable[[Look], Any]] = {
    "findings": lambda look: look.findings,
    "flow": lambda look: look.flow,
    "answers": lambda look: look.answers,
    "seal": lambda look: look.seal,
    "lid": lambda look: look.lid,
    "survey": lambda look: look.survey,
    "snaps": lambda look: look.snaps,
}
DRAWING = "drawing"
#: Only when it is asked for by name: few look at it all the time.
ELEVATIONS = "elevations"


def answer(
    document: Document,
    want: list[str],
    quick: bool = False,
    ellipse_scale: float = 1.0,
    sides: Sequence[Side] = ("front", "left"),
    fixes: bool = True,
    wanted: Callable[[], bool] = lambda: True,
) -> dict[str, Any]:
    """The parts asked for; ``fixes`` and ``wanted`` as for ``look_over``.

    A part that is not known or cannot be worked out is null, with the reason beside it under ``missing``; the others
    are there all the same.
    """
    look = Look(document, quick, fixes, wanted)
    found: dict[str, Any] = {}
    missing: dict[str, str] = {}

    def attempt(part: str, work: Callable[[], Any]) -> None:
        found[part] = None
        try:
            found[part] = work()
        except DocumentError as error:
            missing[part] = str(error)
        except Exception as error:
            logging.getLogger(__name__).exception("the part %s failed", part)
            missing[part] = f"the program failed at this ({type(error).__name__}); the plate itself is safe"

    with without_collection():
        for part, work in PARTS.items():
            if part in want:
                attempt(part, lambda work=work: work(look))  # type: ignore[misc]
        if DRAWING in want:
            attempt(DRAWING, lambda: _drawing(look, found, ellipse_scale))
        if ELEVATIONS in want:
            attempt(ELEVATIONS, lambda: _elevations(look, found, sides))
    for part in set(want) - {DRAWING, ELEVATIONS, *PARTS}:
        found[part] = None
        missing[part] = f"there is no part {part!r}; there are {', '.join([*PARTS, DRAWING, ELEVATIONS])}"
    if "findings" in found:
        found = {**found, **(found["findings"] or {"counts": None})}
    return {**found, "missing": missing}


def _drawing(look: Look, found: dict[str, Any], ellipse_scale: float) -> dict[str, Any]:
    """The plan, with those of the other parts drawn in that were asked for."""
    drawn = Further(
        findings=found["findings"]["findings"] if found.get("findings") else (),
        flow=found.get("flow"),
        seal=found.get("seal"),
        survey=found.get("survey"),
        ellipse_scale=ellipse_scale,
        room=True,
    )
    made = plan(look.shapes, drawn)
    return {"svg": made.svg(alone=False), "box": list(made.box), "dimensions": dimensions_json(look.shapes)}


def _elevations(look: Look, found: dict[str, Any], sides: Sequence[Side]) -> dict[str, Any]:
    """The case seen level, with the findings marked that were asked for."""
    findings = found["findings"]["findings"] if found.get("findings") else ()
    return {side: elevation(look.scene, side, findings).as_json() for side in dict.fromkeys(sides)}


@blueprint.post("/api/look")
@takes(request_models.Look)
@gives(LookAnswer)
def look_at(body: request_models.Look) -> dict[str, Any]:
    """The live answer for a document that need not be saved."""
    want = [*PARTS, DRAWING] if body.want is None else body.want
    known: KnownDocuments = current_app.extensions["known"]
    document, base = body.document, known.get(body.base) if body.base else None
    if body.base:
        if base is None:
            raise Refusal(HTTPStatus.CONFLICT, "unknown-base", "This base is not known any more; send the document.")
        document = edited(base.document, body.edit)
    if document is None:
        raise Refusal(HTTPStatus.BAD_REQUEST, "request", "The request has no 'document'; add it.")
    # The server sees that the line is cut, and nobody waits any more (docs/decisions.md).
    cut: Callable[[], bool] = request.environ.get("waitress.client_disconnected", lambda: False)
    found = answer(
        document, want, body.quick, body.ellipse_scale, body.sides, fixes=body.fixes, wanted=lambda: not cut()
    )
    if not body.keep:
        return found
    before = base.answered if base is not None else {}
    name = known.keep(Known(document, answered(before, found)))
    shown, differences = less(before, found)
    return {**shown, "known": name, "differences": differences or None}


@blueprint.get("/api/plates/<int:plate>/look")
@asks(request_models.LookQuery)
@gives(LookAnswer)
def look_at_saved(plate: int, query: request_models.LookQuery) -> dict[str, Any]:
    """The same for a plate as it is saved."""
    parts = [part for part in query.want.split(",") if part][:MOST_PARTS]
    return answer(requests.plates().get(plate).document(), parts or [*PARTS, DRAWING])
