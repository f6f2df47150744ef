"""Items measured: how far each reaches, and the clear gap between two."""

from __future__ import annotations

from typing import Any, get_args

from flask import Blueprint

from sketcher.checks.by_rule import with_lid_screws
from sketcher.document.dimensions import Dimension, DimensionEnd, Direction
from sketcher.geometry import build
from sketcher.geometry.gaps import extent, footprint, gap
from sketcher.geometry.measured_spans import Edge, Measured, measured, place
from sketcher.server.answers import Measured as ItemsMeasured
from sketcher.server.answers_canvas import BetweenAnswer
from sketcher.server.contract import gives, takes
from sketcher.server.request_models import Between, Measure

blueprint = Blueprint("measure", __name__, url_prefix="/api")

DIRECTIONS: tuple[Direction, ...] = get_args(Direction)


@blueprint.post("/measure/between")
@takes(Between)
@gives(BetweenAnswer)
def measure_between(body: Between) -> dict[str, Any]:
    """Distances between two references of a document (centres, edges, corners, points), as of dimension lines."""
    shapes = build(with_lid_screws(body.document, quick=True))
    found: dict[str, Any] = {"why": ""}
    for direction in DIRECTIONS:
        one = measured(shapes, Dimension(id="N1", first=body.first, second=body.second, direction=direction))
        found[f"{direction}_mm"] = one.value_mm if isinstance(one, Measured) else None
        found["why"] = "" if isinstance(one, Measured) else one.why
    return found


@blueprint.post("/measure")
@takes(Measure)
@gives(ItemsMeasured)
def measure(body: Measure) -> dict[str, Any]:
    """How far `items` reach in plan (left, front, right, rear), their centres and heights, and the clear gap of two.

    A centre is the one that a dimension line measures from: of a board or device that of the box around it. An item
    without a shape of its own has no extents; then there is no gap either.
    """
    shapes = build(with_lid_screws(body.document, quick=True))
    found = {id_: footprint(shapes, id_) for id_ in body.items}
    one, other = (found[id_] for id_ in body.items) if len(body.items) == 2 else (None, None)
    # Any name may be asked about: one that is no reference has no centre.
    centres = {id_: place(shapes, DimensionEnd.model_construct(item=id_)) for id_ in body.items}
    return {
        "centres": {id_: None if isinstance(at, Edge) else at for id_, at in centres.items()},
        "extents": {id_: None if shape is None else extent(shape) for id_, shape in found.items()},
        "heights": {id_: None if shape is None else (shape.low, shape.high) for id_, shape in found.items()},
        "gap_mm": None if one is None or other is None else gap(one, other),
    }
