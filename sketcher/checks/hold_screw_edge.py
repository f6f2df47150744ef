"""Does it hold: lid screws against the plate's edge."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely

from sketcher.checks import moving_apart
from sketcher.checks.hold_moves import which_way
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.findings import Cause, Finding, Rule, mm, ways
from sketcher.strength.lid_screws import EDGE_DIAMETERS


@rules(
    Rule("screw-edge", "holds", "A lid screw's axis from the plate's edge, in diameters", EDGE_DIAMETERS, "",
         "A screw too near to an edge splits it off when it is tightened.",
         "common practice, no source: 1.5 diameters at least, 2 where there is room"),
    named=True,
    reads=("holes",),
)  # fmt: skip
def screw_edges(scene: Scene) -> Iterator[Finding]:
    """Lid screws whose axis is too near to the plate's edge; those placed by rule keep clear of it by themselves."""
    limit = scene.limit("screw-edge")
    for hole in scene.shapes.holes.values():
        if hole.item.use != "lid" or hole.screw is None:
            continue
        axis = shapely.Point(hole.item.x_mm, hole.item.y_mm)
        value = float(shapely.distance(scene.edge, axis)) / hole.screw.major_mm
        if not shapely.contains(scene.plate, axis) or value >= limit - 1e-6:
            continue  # one outside the plate is told as such
        x, y = shapely.get_coordinates(shapely.shortest_line(scene.edge, axis))[0]
        size = max(math.hypot(axis.x - x, axis.y - y), 1e-9)
        far = limit * hole.screw.major_mm - size + 0.01
        by = ((axis.x - float(x)) / size * far, (axis.y - float(y)) / size * far)
        yield Finding(
            rule="screw-edge",
            level="warning",
            items=(hole.item.id,),
            value=value,
            limit=limit,
            at=(axis.x, axis.y),
            message=f"The axis of {hole.item.id} is {mm(size)} from the plate's edge, {value:.2g} diameters; the "
            f"minimum is {limit:g}, {mm(limit * hole.screw.major_mm)}.",
            remedy=f"Move it {mm(far)} {which_way(by)}, or take a thinner screw.",
            cause=Cause(
                "edge", f"{{count}} lid screws are nearer to the plate's edge than {limit:g} diameters.",
                "Move them inwards, or take thinner screws.",
            ),
            **ways(moving_apart.moved(scene, hole.item.id, by)),
        )  # fmt: skip
