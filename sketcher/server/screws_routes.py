"""Lid screws placed by rule."""

from __future__ import annotations

from typing import Any

from flask import Blueprint

from sketcher.checks.hold_screws import screw_walls
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.server.answers import ScrewHoles
from sketcher.server.contract import gives, takes
from sketcher.server.request_models import Screws
from sketcher.strength.screw_design import design_lid

blueprint = Blueprint("screws", __name__, url_prefix="/api")


@blueprint.post("/screws")
@takes(Screws)
@gives(ScrewHoles)
def propose(body: Screws) -> dict[str, Any]:
    """Holes to add for the lid's screws; ``anew`` proposes a whole pattern in place of those there are.

    They are the fewest that hold, no farther apart than the document's pitch; ``problems`` says what does not hold even
    so, in words. ``pitch_mm`` is the closest spacing used, ``screw`` the thread, ``grooves`` whether regions share one:
    others than the document's where those do not hold (``chose`` says why); set the seal's to them too.
    """
    document = body.document
    limits = limits_of(document)
    found = design_lid(
        document,
        build(document),
        walls=screw_walls(limits),
        keep=not body.anew,
        least_squeeze=limits["lid-squeeze"] / 100,
    )
    return {
        "holes": [hole.as_json() for hole in found.holes],
        "pitch_mm": found.pitch_mm,
        "screw": found.screw,
        "grooves": found.grooves,
        "chose": found.chose,
        "problems": list(found.problems),
    }
