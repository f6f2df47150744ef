"""The smallest rectangular plate that holds all that is cut into it, with walls, groove and lid screws, by the rules.

The box about everything stands first; round it goes the same margin on all sides, the smallest at which the rules find
no error that they did not find before, with the lid screws designed again. Then each side by itself comes in as far as
it may. A side with a port in its edge stays where it is.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

import shapely

from sketcher.document import Document, with_changes
from sketcher.document.outlines import Rectangle
from sketcher.findings import limits_of
from sketcher.geometry import Shapes, build
from sketcher.proposing.judging import Judged, judge
from sketcher.proposing.writing import with_screws

#: Margins are tried to this, mm: outlines are on whole millimetres.
_STEP_MM = 1.0
#: Single sides are brought in by these, one after the other, mm.
_SIDE_STEPS_MM = (8.0, 4.0, 2.0, 1.0)
#: Beyond the margin that the quick rules allow, so much more is tried for groove and screws, mm.
_MORE_MM = 24
_NEAR_EDGE_MM = 0.5


@dataclass(frozen=True)
class Box:
    """A rectangle by its sides, mm."""

    left: float
    front: float
    right: float
    rear: float

    @property
    def area_mm2(self) -> float:
        """What it covers."""
        return max(self.right - self.left, 0.0) * max(self.rear - self.front, 0.0)


@dataclass(frozen=True)
class Outline:
    """A smaller plate: the document with it, its box and the one before, mm; ``why`` when there is none."""

    document: Document
    box: Box
    before: Box
    why: str = ""

    def as_json(self) -> dict[str, Any]:
        """Plain data, without the document."""
        return {
            "width_mm": round(self.box.right - self.box.left, 3),
            "depth_mm": round(self.box.rear - self.box.front, 3),
            "before_width_mm": round(self.before.right - self.before.left, 3),
            "before_depth_mm": round(self.before.rear - self.before.front, 3),
            "smaller_percent": round(100 * (1 - self.box.area_mm2 / max(self.before.area_mm2, 1e-9)), 1),
            "why": self.why,
        }


def smallest_outline(document: Document, stop: Callable[[], bool] = lambda: False) -> Outline:
    """The smallest rectangular outline of a plate.

    Args:
        document: the plate with its ports, channels and cutouts; lid screws that are not locked are placed again.
        stop: asked between trials.
    """
    shapes = build(document)
    before = Box(*shapes.plate_polygon.bounds)
    content = _content(document, shapes)
    if content is None:
        return Outline(document, before, before, "Nothing is cut into the plate yet.")
    held = _held_sides(document, shapes, before)
    known = frozenset((error.rule, error.items) for error in judge(document).errors)
    bare = with_changes(document, holes=tuple(h for h in document.holes if h.use != "lid" or h.locked))

    def quick(box: Box) -> bool:
        return not judge(_with_box(bare, box), known, quick=True).own_errors

    def whole(box: Box) -> Judged | None:
        judged = judge(with_screws(_with_box(document, box), limits_of(document)), known)
        return judged if not judged.own_errors and not judged.unscrewed else None

    room = max(content.left - before.left, content.front - before.front, before.right - content.right)
    most = int(max(room, before.rear - content.rear)) + 1
    margin = next((m for m in range(most + 1) if quick(_about(content, float(m), before, held))), None)
    if margin is None:
        return Outline(document, before, before, "No smaller rectangle keeps the walls that the rules ask for.")
    found: Judged | None = None
    box = before
    for more in range(0, _MORE_MM + 1, 2):
        if stop():
            return Outline(document, before, before, "The time was up before a smaller rectangle was found.")
        box = _about(content, margin + more * _STEP_MM, before, held)
        if quick(box) and (found := whole(box)) is not None:
            break
    if found is None or box.area_mm2 >= before.area_mm2 - 1:
        return Outline(document, before, before, "No smaller rectangle holds groove and lid screws as well.")
    for side, way in (("left", 1.0), ("right", -1.0), ("front", 1.0), ("rear", -1.0)):
        for step in _SIDE_STEPS_MM:
            if side in held or stop():
                break
            trial = replace(box, **{side: getattr(box, side) + way * step})
            if quick(trial) and (judged := whole(trial)) is not None:
                found, box = judged, trial
    return Outline(found.document, box, before)


def _content(document: Document, shapes: Shapes) -> Box | None:
    """The box about everything cut into the plate but unlocked lid screws; none when there is nothing."""
    areas = [prism.polygon for prism in shapes.prisms if prism.part != "head" and not _lid_screw(document, prism.id)]
    if not areas:
        return None
    return Box(*shapely.union_all(areas).bounds)


def _lid_screw(document: Document, id_: str) -> bool:
    return any(hole.id == id_ and hole.use == "lid" and not hole.locked for hole in document.holes)


def _held_sides(document: Document, shapes: Shapes, box: Box) -> frozenset[str]:
    """Sides that have a port in them: the port's place is the tube's, not the plate's."""
    held = set()
    for port in document.ports:
        if port.face != "edge":
            continue
        x, y = shapes.ports[port.id].at
        away = {"left": x - box.left, "right": box.right - x, "front": y - box.front, "rear": box.rear - y}
        held |= {side for side, distance in away.items() if abs(distance) < _NEAR_EDGE_MM}
    return frozenset(held)


def _about(content: Box, margin: float, before: Box, held: frozenset[str]) -> Box:
    """A box about the content on whole millimetres; held sides as they were."""
    box = Box(
        math.floor(content.left - margin),
        math.floor(content.front - margin),
        math.ceil(content.right + margin),
        math.ceil(content.rear + margin),
    )
    return replace(box, **{side: getattr(before, side) for side in held})


def _with_box(document: Document, box: Box) -> Document:
    radius = getattr(document.plate.outline, "corner_radius_mm", 0.0)
    width, depth = box.right - box.left, box.rear - box.front
    if width <= 1 or depth <= 1:
        width, depth = max(width, 1.0), max(depth, 1.0)
    outline = Rectangle(
        x_mm=(box.left + box.right) / 2,
        y_mm=(box.front + box.rear) / 2,
        width_mm=width,
        depth_mm=depth,
        corner_radius_mm=min(radius, width / 2, depth / 2),
    )
    return with_changes(document, plate=document.plate.model_copy(update={"outline": outline}))
