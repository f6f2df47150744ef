"""The smallest plate that holds all that is cut into it, with walls, groove and lid screws, by the rules.

The box about everything stands first; round it goes the same margin on all sides, the smallest at which the rules find
no error that they did not find before, with the lid screws designed again. Then each side by itself comes in as far as
it may, and where that is wanted corners in which nothing lies are cut away. A side with a port in its edge stays.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any, Literal

import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.document import Document, with_changes
from sketcher.findings import limits_of
from sketcher.geometry import Shapes, build
from sketcher.proposing.judging import Judged, judge
from sketcher.proposing.notches import CORNERS, Box, Notch, Notches, beyond, outline, room_at, worth_cutting
from sketcher.proposing.writing import with_screws

PlateShape = Literal["rectangle", "notched"]

#: Margins are tried to this, mm: outlines are on whole millimetres.
_STEP_MM = 1.0
#: Single sides are brought in by these, one after the other, mm; notches are made smaller by the others.
_SIDE_STEPS_MM = (8.0, 4.0, 2.0, 1.0)
_SMALLER_MM = (0.0, 2.0, 5.0, 9.0, 14.0)
#: Beyond the margin that the quick rules allow, so much more is tried for groove and screws, mm.
_MORE_MM = 24
_NEAR_EDGE_MM = 0.5
#: Inside corners of the outline are no tighter, mm, so that any cutter for the edge goes into them.
_INNER_RADIUS_MM = 6.0


@dataclass(frozen=True)
class Outline:
    """A smaller plate: the document with it, its box and the one before, mm; ``why`` when there is none."""

    document: Document
    box: Box
    before: Box
    why: str = ""
    notches: int = 0
    area_mm2: float = 0.0
    before_area_mm2: float = 0.0

    def as_json(self) -> dict[str, Any]:
        """Plain data, without the document."""
        return {
            "width_mm": round(self.box.right - self.box.left, 3),
            "depth_mm": round(self.box.rear - self.box.front, 3),
            "before_width_mm": round(self.before.right - self.before.left, 3),
            "before_depth_mm": round(self.before.rear - self.before.front, 3),
            "smaller_percent": round(100 * (1 - self.area_mm2 / max(self.before_area_mm2, 1e-9)), 1),
            "notches": self.notches,
            "why": self.why,
        }


class _Trials:
    """Outlines tried on one plate: what the rules say of each, against what they said before."""

    def __init__(self, document: Document, shape: PlateShape, clear_mm: float) -> None:
        self.document = document
        self.shapes = build(document)
        self.notched = shape == "notched"
        self.limits = limits_of(document)
        self.known = frozenset((error.rule, error.items) for error in judge(document).errors)
        self.floor: BaseGeometry = shapely.buffer(
            shapely.make_valid(self.shapes.floor_polygon), -clear_mm, join_style="mitre"
        )
        self.radius = _radius(document)
        self.inner_radius = max(self.radius, _INNER_RADIUS_MM)
        self.held: Document | None = None

    def drawn(self, document: Document, box: Box, notches: Notches) -> Document:
        """A document with an outline, and with the corners away that the floor has no room for."""
        if self.notched:
            # The round of an inside corner reaches into the notch, by 0.3 of its radius along either side.
            needed = beyond(box, self.floor, math.ceil(0.3 * self.inner_radius))
            notches = {**notches, **{c: _larger(notches.get(c), notch) for c, notch in needed.items()}}
        shape = outline(box, notches, self.radius, self.inner_radius)
        return with_changes(document, plate=document.plate.model_copy(update={"outline": shape}))

    def quick(self, box: Box, notches: Notches) -> bool:
        """Whether the quick rules find nothing new, and the plate lies so far within the floor."""
        trial = self.drawn(self.document, box, notches)
        within = shapely.covers(shapely.buffer(self.floor, 1e-6), build(trial).plate_polygon)
        return bool(within) and not judge(trial, self.known, quick=True).own_errors

    def whole(self, box: Box, notches: Notches) -> Judged | None:
        """The plate with its lid screws, when no rule finds anything new."""
        trial = with_screws(self.drawn(self.document, box, notches), self.limits, self.held)
        judged = judge(trial, self.known)
        if judged.own_errors or judged.unscrewed:
            return None
        self.held = judged.document
        return judged


def smallest_outline(
    document: Document,
    stop: Callable[[], bool] = lambda: False,
    *,
    shape: PlateShape = "rectangle",
    clear_mm: float = 0.0,
) -> Outline:
    """The smallest outline of a plate.

    Args:
        document: the plate with its ports, channels and cutouts; lid screws that are not locked are placed again.
        stop: asked between trials.
        shape: a rectangle, or one whose corners are cut away where nothing lies.
        clear_mm: between the plate's edge and the floor's.
    """
    trials = _Trials(document, shape, clear_mm)
    shapes = trials.shapes
    before = Box(*shapes.plate_polygon.bounds)
    before_area = float(shapes.plate_polygon.area)

    def none(why: str) -> Outline:
        return Outline(document, before, before, why, 0, before_area, before_area)

    content = _content(document, shapes)
    if not content:
        return none("Nothing is cut into the plate yet.")
    held = _held_sides(document, shapes, before)
    about = Box(*shapely.total_bounds(content).tolist())
    room = Box(*trials.floor.bounds) if not trials.floor.is_empty else before
    most = int(
        max(about.left - before.left, about.front - before.front, before.right - about.right, before.rear - about.rear)
    )
    boxes = [(m, _about(about, float(m), before, held, room)) for m in range(most + 2)]
    margin = next((m for m, box in boxes if trials.quick(box, {})), None)
    if margin is None:
        return none(f"No smaller {_NAMES[shape]} keeps the walls that the rules ask for.")
    found: Judged | None = None
    box = before
    for more in range(0, _MORE_MM + 1, 2):
        if stop():
            return none(f"The time was up before a smaller {_NAMES[shape]} was found.")
        box = _about(about, margin + more * _STEP_MM, before, held, room)
        if trials.quick(box, {}) and (found := trials.whole(box, {})) is not None:
            break
    if found is None:
        return none(f"No smaller {_NAMES[shape]} holds groove and lid screws as well.")
    found, box = _sides(trials, found, box, held, stop)
    notches: dict[Any, Notch] = {}
    if trials.notched:
        found, notches = _cut(trials, found, box, content, about, stop)
        notches = {**beyond(box, trials.floor, 0.0), **notches}
    area = float(build(found.document).plate_polygon.area)
    if area >= before_area - 1:
        return none(f"No smaller {_NAMES[shape]} holds groove and lid screws as well.")
    return Outline(found.document, box, before, "", len(notches), area, before_area)


_NAMES: dict[PlateShape, str] = {"rectangle": "rectangle", "notched": "outline"}


def _sides(
    trials: _Trials, found: Judged, box: Box, held: frozenset[str], stop: Callable[[], bool]
) -> tuple[Judged, Box]:
    """Each side by itself brought in as far as the rules let it."""
    for side, way in (("left", 1.0), ("right", -1.0), ("front", 1.0), ("rear", -1.0)):
        for step in _SIDE_STEPS_MM:
            if side in held or stop():
                break
            trial = replace(box, **{side: getattr(box, side) + way * step})
            if trials.quick(trial, {}) and (judged := trials.whole(trial, {})) is not None:
                found, box = judged, trial
    return found, box


def _cut(
    trials: _Trials, found: Judged, box: Box, content: list[BaseGeometry], about: Box, stop: Callable[[], bool]
) -> tuple[Judged, dict[Any, Notch]]:
    """Corners cut away where nothing lies, the largest first, as far as the rules let them."""
    margin = min(about.left - box.left, about.front - box.front, box.right - about.right, box.rear - about.rear)
    notches: dict[Any, Notch] = {}
    largest = {corner: room_at(box, corner, content, margin, {}) for corner in CORNERS}
    for corner in sorted(CORNERS, key=lambda name: -largest[name].x_mm * largest[name].y_mm):
        most = room_at(box, corner, content, margin, notches)
        for less in _SMALLER_MM:
            notch = Notch(most.x_mm - less, most.y_mm - less)
            if stop() or not worth_cutting(notch):
                break
            trial = {**notches, corner: notch}
            if trials.quick(box, trial) and (judged := trials.whole(box, trial)) is not None:
                found, notches = judged, trial
                break
    return found, notches


def _larger(one: Notch | None, other: Notch) -> Notch:
    return other if one is None else Notch(max(one.x_mm, other.x_mm), max(one.y_mm, other.y_mm))


def _content(document: Document, shapes: Shapes) -> list[BaseGeometry]:
    """Everything cut into the plate but unlocked lid screws."""
    lid = {hole.id for hole in document.holes if hole.use == "lid" and not hole.locked}
    return [
        shapely.make_valid(prism.polygon) for prism in shapes.prisms if prism.part != "head" and prism.id not in lid
    ]


def _radius(document: Document) -> float:
    """The radius of the plate's corners as it is, mm."""
    now = document.plate.outline
    if now.shape == "rectangle":
        return now.corner_radius_mm
    return max((vertex.corner_radius_mm for vertex in now.vertices), default=0.0) if now.shape == "polygon" else 0.0


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


def _about(content: Box, margin: float, before: Box, held: frozenset[str], room: Box) -> Box:
    """A box about the content on whole millimetres, within the floor's own box; held sides as they were."""
    box = Box(
        max(math.floor(content.left - margin), room.left),
        max(math.floor(content.front - margin), room.front),
        min(math.ceil(content.right + margin), room.right),
        min(math.ceil(content.rear + margin), room.rear),
    )
    return replace(box, **{side: getattr(before, side) for side in held})
