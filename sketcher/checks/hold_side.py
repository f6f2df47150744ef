"""The lid on the other face of the body: where fittings or pockets leave its screws or its groove no room on one side,
there may be room on the other. Channels are milled from there then, and screws go in from there."""

from __future__ import annotations

import re

from sketcher.checks.scene import Scene
from sketcher.findings import Change, Fix

#: A lid screw that is worked out follows by itself, and has no values to set.
_WORKED_OUT = re.compile(r"^LS\d+$")


def other_side(scene: Scene) -> Fix | None:
    """The change of the lid's side, with the lid screws that are stored; none for a bonded lid, which has no screws.

    It is offered only where the rules bear it out (``fixes``): ports, pockets, air and the room under the plate are
    judged anew with it. It may end an error at the cost of warnings (a sheet that has to be measured for another port),
    which the button then tells, with the lid screws that it takes.
    """
    document = scene.document
    if document.seal.kind == "bonded":
        return None
    side = "top" if document.plate.lid_face == "bottom" else "bottom"
    screws = [
        Change(f"/holes/{number}/face", side)
        for number, hole in enumerate(document.holes)
        if hole.use == "lid" and not _WORKED_OUT.match(hole.id)
    ]
    return Fix(f"Change the lid side to {side}", (Change("/plate/lid_face", side), *screws), turns=True)
