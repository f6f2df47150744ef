"""Items measured: how far each reaches, and the clear gap between two."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from sketcher.checks.by_rule import with_lid_screws
from sketcher.geometry import build
from sketcher.geometry.gaps import extent, footprint, gap
from sketcher.server.answers import Measured
from sketcher.server.bodies import Measure
from sketcher.server.contract import gives, takes

blueprint = Blueprint("measure", __name__, url_prefix="/api")


@blueprint.post("/measure")
@takes(Measure)
@gives(Measured)
def measure(body: Measure) -> dict[str, Any]:
    """How far `items` reach in plan (left, front, right, rear), their heights, and the clear gap if they are two.

    An item without a shape of its own has no extents; then there is no gap either.
    """
    shapes = build(with_lid_screws(body.document, quick=True))
    found = {id_: footprint(shapes, id_) for id_ in body.items}
    one, other = (found[id_] for id_ in body.items) if len(body.items) == 2 else (None, None)
    return {
        "extents": {id_: None if shape is None else extent(shape) for id_, shape in found.items()},
        "heights": {id_: None if shape is None else (shape.low, shape.high) for id_, shape in found.items()},
        "gap_mm": None if one is None or other is None else gap(one, other),
    }
