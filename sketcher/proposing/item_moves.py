"""One item moved to make room: the move, the document after it, and whether the item can stand where it then is."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import TypeVar

from sketcher.document import Document, with_changes
from sketcher.findings import Finding
from sketcher.proposing.budget import QUICK_RULES_S, Budget
from sketcher.proposing.judging import Judged, judge
from sketcher.trial.port_moves import mapped

#: Collections whose items can be moved to make room.
_MOVABLE = ("cutouts", "pockets", "holes", "ports", "keep_outs")
#: The least move is sought in steps of a tenth, beginning so many below the one that was found.
_TENTHS, _BELOW = 10, 20

Gives = TypeVar("Gives")


@dataclass(frozen=True)
class Move:
    """An item moved so far, mm."""

    item: str
    dx_mm: float
    dy_mm: float

    @property
    def far_mm(self) -> float:
        """How far that is."""
        return math.hypot(self.dx_mm, self.dy_mm)

    def as_far_as(self, far_mm: float) -> Move:
        """The move in the same direction, so far; on tenths, rounded away from zero so that nothing is lost."""
        dx, dy = (
            math.copysign(math.ceil(abs(way) * far_mm / self.far_mm * _TENTHS - 1e-6) / _TENTHS, way) + 0.0
            for way in (self.dx_mm, self.dy_mm)
        )
        return Move(self.item, dx, dy)


def least(
    far_mm: float, found: Gives, works: Callable[[float], Gives | None], left: Callable[[], bool]
) -> tuple[float, Gives]:
    """The least distance that does, to a tenth of a millimetre, and what it gives; each was tried.

    Args:
        far_mm: a distance that does.
        found: what it gives.
        works: what a distance gives; none when it does not do.
        left: whether there is time to try another one.
    """
    high = math.ceil(far_mm * _TENTHS - 1e-6)
    low, failed = max(0, high - _BELOW), False
    while left():
        if high - low <= 1:
            if failed or low == 0:
                break
            low = max(0, low - _BELOW)  # less than what was thought to fail does
        middle = (low + high) // 2
        gives = works(middle / _TENTHS)
        if gives is None:
            low, failed = middle, True
        else:
            high, found = middle, gives
    return high / _TENTHS, found


def stands(moved: Document, item: str, budget: Budget) -> bool:
    """Whether the quick rules find nothing about an item where it then is: it takes much less than laying channels."""
    budget.spend(QUICK_RULES_S)
    return not any(item in error.items for error in real_errors(judge(moved, quick=True)))


def real_errors(judged: Judged) -> list[Finding]:
    """Errors other than that something is not joined yet."""
    return [finding for finding in judged.errors if finding.rule not in ("connection-open", "port-unreached")]


def moved_item(document: Document, move: Move) -> Document | None:
    """The document with one item moved; none when nothing of that name can be moved."""
    collection = _collection(document, move.item)
    if collection is None:
        return None
    changed = []
    for item in getattr(document, collection):
        if item.id != move.item:
            changed.append(item)
        elif hasattr(item, "outline"):
            outline = mapped(item.outline, lambda x, y: (x + move.dx_mm, y + move.dy_mm), 0.0)
            changed.append(item.model_copy(update={"outline": outline}))
        else:
            place = {"x_mm": round(item.x_mm + move.dx_mm, 3), "y_mm": round(item.y_mm + move.dy_mm, 3)}
            changed.append(item.model_copy(update=place))
    return with_changes(document, **{collection: changed})


def movable(document: Document, id_: str) -> bool:
    """Whether an item is of a kind that can be moved to make room."""
    return _collection(document, id_) is not None


def _collection(document: Document, id_: str) -> str | None:
    # A cable slot goes where the places it joins are.
    slots = {pocket.id for pocket in document.pockets if pocket.cable is not None}
    found = (key for key in _MOVABLE if any(item.id == id_ for item in getattr(document, key)))
    return None if id_ in slots else next(found, None)
