"""Hardware that is tied to survey points: moved with them when a new reading moves the points.

A tie keeps where its points were when its item was last placed by them. What has happened to the points since, a shift
and a turn by least squares, happens to the item as well; a place that was changed by hand in between stays changed by
as much. The document's own numbers stay the truth: nothing moves until :func:`follow` is asked.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sketcher.document import Document, with_changes
from sketcher.document.base import Place
from sketcher.document.floor import Obstacle
from sketcher.document.hardware import Board, Device
from sketcher.document.outlines import Outline, Polygon
from sketcher.document.spreads import Tie
from sketcher.survey.adjusted import SurveyResult

Array = NDArray[np.float64]
Tied = Board | Device | Obstacle

#: A point that has moved by less than this, mm, has not moved: far below any tool's spread.
STILL_MM = 0.002
#: Decimals of a place (mm) and of a turn (degrees) that are written.
_PLACE, _TURN = 4, 5


@dataclass(frozen=True)
class Motion:
    """A rigid motion in plan: turned about a centre, then shifted."""

    centre: tuple[float, float]
    shift: tuple[float, float]
    turn: float

    def moved(self, x: float, y: float) -> tuple[float, float]:
        """A point after the motion."""
        c, s = math.cos(self.turn), math.sin(self.turn)
        u, v = x - self.centre[0], y - self.centre[1]
        return (self.centre[0] + self.shift[0] + c * u - s * v, self.centre[1] + self.shift[1] + s * u + c * v)


@dataclass(frozen=True)
class Moved:
    """An item that the survey has moved: by how much at its own origin, mm, and turned by how much, degrees."""

    item: str
    dx_mm: float
    dy_mm: float
    turn_deg: float


@dataclass(frozen=True)
class Followed:
    """The document with everything tied moved along; what moved; and for what stayed behind, the reason."""

    document: Document
    moves: tuple[Moved, ...]
    kept: dict[str, str]


def follow(document: Document, result: SurveyResult) -> Followed:
    """Move what is tied to survey points as far as the points have moved since it was placed by them.

    Args:
        document: the plate; its own places are where things stood when the ties' ``places`` were noted.
        result: its adjusted survey.

    A tie without ``places`` moves nothing and has them noted. What is locked, held by something else, or tied to points
    that the readings leave in doubt stays, with the reason.
    """
    items = tied_items(document)
    changed: dict[str, Tied] = {}
    moves: list[Moved] = []
    kept: dict[str, str] = {}
    ties: list[Tie] = []
    for tie in document.ties:
        item = items.get(tie.item)
        reason = "nothing is called so" if item is None else why_kept(document, item, tie, result)
        if item is None or reason:
            kept[tie.item] = reason
            ties.append(tie)
            continue
        noted = tie.model_copy(update={"places": _places(tie, result)})
        motion = motion_of(tie, result)
        if motion is None:
            ties.append(tie if tie.places else noted)
            continue
        ties.append(noted)
        new = _carried(item, motion)
        changed[tie.item] = new
        x, y = origin_of(item)
        nx, ny = motion.moved(x, y)
        moves.append(Moved(tie.item, nx - x, ny - y, math.degrees(motion.turn)))
    if not changed and tuple(ties) == document.ties:
        return Followed(document, (), kept)
    floor = document.floor.model_copy(update={"obstacles": _swapped(document.floor.obstacles, changed)})
    moved = with_changes(
        document,
        boards=_swapped(document.boards, changed),
        devices=_swapped(document.devices, changed),
        floor=floor,
        ties=tuple(ties),
    )
    return Followed(moved, tuple(moves), kept)


def tied_items(document: Document) -> dict[str, Tied]:
    """Everything that can be tied, by its id."""
    items: list[Tied] = [*document.boards, *document.devices, *document.floor.obstacles]
    return {item.id: item for item in items}


def why_kept(document: Document, item: Tied, tie: Tie, result: SurveyResult) -> str:
    """Why an item does not follow its points; empty when it does."""
    known = set(result.adjustment.network.points)
    missing = [name for name in tie.points if name not in known]
    if missing:
        return f"no point is called {missing[0]}"
    if holder := getattr(item, "held_by", None):
        return f"{holder} holds it: tie that"
    if item.locked:
        return "it is locked"
    if any(outline.id == item.id for outline in document.survey.outlines):
        return "the survey draws its outline through points"
    loose = [name for name in tie.points if result.adjustment.point(name).loose]
    if loose:
        return f"no reading determines {loose[0]}"
    if not result.adjustment.agrees:
        return "the readings contradict each other"
    doubtful = {
        name for mirror in result.adjustment.mirrors if mirror.decided_by == "nothing" for name in mirror.places
    }
    if both := [name for name in tie.points if name in doubtful]:
        return f"{both[0]} could as well lie elsewhere"
    return ""


def motion_of(tie: Tie, result: SurveyResult) -> Motion | None:
    """How a tie's points have moved since its item was placed by them, by least squares; None when they have not."""
    if not tie.places:
        return None
    was = np.array([(place.x_mm, place.y_mm) for place in tie.places])
    now = np.array([(result.adjustment.point(name).x, result.adjustment.point(name).y) for name in tie.points])
    if float(np.hypot(*(now - was).T).max()) <= STILL_MM:
        return None
    centre, shift = was.mean(axis=0), now.mean(axis=0) - was.mean(axis=0)
    a, b = was - centre, now - now.mean(axis=0)
    # The turn that leaves the smallest sum of squares (plane case of the orthogonal Procrustes problem).
    turn = math.atan2(float((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum()), float((a * b).sum()))
    return Motion((float(centre[0]), float(centre[1])), (float(shift[0]), float(shift[1])), turn)


def _places(tie: Tie, result: SurveyResult) -> tuple[Place, ...]:
    points = [result.adjustment.point(name) for name in tie.points]
    return tuple(Place(x_mm=round(p.x, _PLACE) + 0.0, y_mm=round(p.y, _PLACE) + 0.0) for p in points)


def _swapped(items: Iterable[Any], changed: dict[str, Tied]) -> tuple[Any, ...]:
    return tuple(changed.get(item.id, item) for item in items)


def origin_of(item: Tied) -> tuple[float, float]:
    """The place that an item's move is told by: its own origin, or its outline's."""
    if isinstance(item, Obstacle):
        outline = item.outline
        first = outline.vertices[0] if isinstance(outline, Polygon) else outline
        return (first.x_mm, first.y_mm)
    return (item.x_mm, item.y_mm)


def _carried(item: Tied, motion: Motion) -> Tied:
    if isinstance(item, Obstacle):
        return item.model_copy(update={"outline": _outline(item.outline, motion)})
    return item.model_copy(update=_placed(item, motion))


def _placed(thing: Any, motion: Motion) -> dict[str, float]:
    x, y = motion.moved(thing.x_mm, thing.y_mm)
    update = {"x_mm": round(x, _PLACE) + 0.0, "y_mm": round(y, _PLACE) + 0.0}
    if hasattr(thing, "turn_deg") and motion.turn:
        turned = round(thing.turn_deg + math.degrees(motion.turn), _TURN)
        update["turn_deg"] = (turned + 180.0) % 360.0 - 180.0 if abs(turned) > 360.0 else turned
    return update


def _outline(outline: Outline, motion: Motion) -> Outline:
    if isinstance(outline, Polygon):
        corners = [vertex.model_copy(update=_placed(vertex, motion)) for vertex in outline.vertices]
        return outline.model_copy(update={"vertices": tuple(corners)})
    return outline.model_copy(update=_placed(outline, motion))
