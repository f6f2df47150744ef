"""Does it hold: the floor under the groove, and between it and what it passes over, for every thickness of the sheets.

As drawn, ``seal-impossible`` and ``seal-under`` ask for them.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely

from sketcher.checks.hold_seal import design_of
from sketcher.checks.port_bores import over_the_sheet
from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.findings import Finding
from sketcher.geometry.levels import tolerances_mm
from sketcher.geometry.prisms import Prism
from sketcher.strength.seal import UNDER_WALL_MM, SealDesign, interface_mm
from sketcher.strength.taps import LEAST_FLOOR_MM

#: The groove keeps its walls with this to spare or more; nearer to its limit a wall was told as drawn, mm.
_FINE_MM = 0.005


@rules(slow=True)  # the rule is registered with the bores
def under_the_groove(scene: Scene) -> Iterator[Finding]:
    """What the thinnest sheets leave under the groove."""
    design = design_of(scene)
    if design.problem or design.plan.sealed.is_empty:
        return
    if design.gland is not None:
        deepest = design.gland.depth_mm + design.gland.depth_tolerance_mm
        value = scene.document.plate.body_thickness_mm - tolerances_mm(scene.document)[0] - deepest
        if value < LEAST_FLOOR_MM - 1e-9:
            longest = max(shapely.get_parts(design.plan.sealed).tolist(), key=lambda part: float(part.length))
            place = longest.exterior.interpolate(0.0)
            at = (float(place.x), float(place.y))
            yield over_the_sheet(scene, (), (value, LEAST_FLOOR_MM), at, "what the groove leaves of the body")
    for id_, value, limit, at in _passed_over(scene, design):
        yield over_the_sheet(scene, (id_,), (value, limit), at, f"what lies between the groove and {id_}")


def _passed_over(scene: Scene, design: SealDesign) -> Iterator[tuple[str, float, float, tuple[float, float]]]:
    """Item, what is left on the thinnest sheets, its limit (mm), and the place: where it holds as drawn."""
    assert design.room is not None
    low, high, half = design.low_mm, design.high_mm, design.room.width_mm / 2
    plane, wall = interface_mm(scene.document), scene.document.seal.wall_mm
    lines = shapely.boundary(design.plan.sealed)
    worst: dict[str, tuple[float, float, tuple[float, float]]] = {}
    for prism, (below, above), (a, b) in zip(scene.prisms, scene.heights, scene.thin_heights, strict=True):
        if below <= plane + 1e-6 and above >= plane - 1e-6:
            continue
        gap, thin = max(below - high, low - above, 0.0), max(a - high, low - b, 0.0)
        least = min(wall, UNDER_WALL_MM) if prism.wet and _on_edge(scene, prism) else wall
        if thin >= min(gap, least) - 1e-9:
            continue
        aside = max(float(shapely.distance(lines, prism.polygon)) - half, 0.0)
        value = float(np.hypot(aside, thin))
        if value < least - _FINE_MM <= float(np.hypot(aside, gap)) - _FINE_MM:
            line = shapely.get_coordinates(shapely.shortest_line(lines, prism.polygon))
            if prism.id not in worst or value < worst[prism.id][0]:
                worst[prism.id] = (value, least, (float(line[:, 0].mean()), float(line[:, 1].mean())))
    for id_, row in worst.items():
        yield (id_, *row)


def _on_edge(scene: Scene, prism: Prism) -> bool:
    port = scene.shapes.ports.get(prism.id)
    return port is not None and port.heading is not None
