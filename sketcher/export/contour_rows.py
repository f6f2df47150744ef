"""Contours of ours paired with theirs: the same, done otherwise, moved, of another size or shape, missing, added."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import shapely
from shapely import Polygon

from sketcher.export.contours import Feature
from sketcher.export.layer_work import changes, work_of
from sketcher.export.pose import SAME_MM
from sketcher.geometry.path import Point

#: What lies farther from its place than this was not moved: it is missing here and added there, mm.
FARTHEST_MM = 100.0
#: Two outlines that share less than this of what either covers are not the same one reshaped.
LEAST_SHARED = 0.5
#: A mark of ours that was drawn again differs by no more than this in place and size together, mm.
REDRAWN_MM = 0.1

What = Literal["changed", "same", "moved", "resized", "missing", "added"]
#: The kinds of row, those first that cost most when nobody sees them.
KINDS: tuple[What, ...] = ("changed", "missing", "moved", "resized", "added", "same")


@dataclass(frozen=True)
class Row:
    """One contour of ours or theirs.

    ``shift`` is how far its middle lies from ours and ``strays`` how far an outline strays from ours at most, with its
    middle on ours (mm). Sizes are as ``Feature`` has them. ``work`` says what is done otherwise: depth, side, thread.
    """

    what: What
    item: str
    layer: str
    round: bool
    at: Point
    shift: Point | None = None
    size: float | None = None
    size_now: float | None = None
    strays: float | None = None
    layer_now: str = ""
    work: tuple[str, ...] = ()

    def words(self) -> str:
        """What became of the contour, in a few words."""
        if self.what == "missing":
            return "is not in the drawing"
        if self.what == "added" or self.size is None or self.size_now is None:
            size = f"{self.size_now or 0:.2f} mm"
            return f"a circle of {size}" if self.round else f"an outline as large as a circle of {size}"
        parts = list(self.work)
        for value, plus, minus in zip(self.shift or (0.0, 0.0), ("right", "rear"), ("left", "front"), strict=True):
            if abs(value) > SAME_MM / 2 and self.what != "same":
                parts.append(f"{abs(value):.3f} mm to the {plus if value > 0 else minus}")
        if self.round and self.what != "same" and abs(self.size_now - self.size) > SAME_MM:
            parts.append(f"{self.size_now:.3f} mm across instead of {self.size:.3f}")
        elif not self.round and (self.strays or 0.0) > SAME_MM:
            parts.append(f"its outline strays up to {self.strays or 0:.3f} mm from ours")
        return ", ".join(parts) or "as ours"

    def as_json(self) -> dict[str, Any]:
        """The row with the keys of the interface."""
        dx, dy = self.shift or (0.0, 0.0)
        return {
            "what": self.what,
            "item": self.item,
            "layer": self.layer,
            "layer_now": self.layer_now,
            "work": list(self.work),
            "round": self.round,
            "at": [round(self.at[0], 4), round(self.at[1], 4)],
            "dx_mm": round(dx, 4) + 0.0,
            "dy_mm": round(dy, 4) + 0.0,
            "diameter_mm": self.size and round(self.size, 4),
            "diameter_now_mm": self.size_now and round(self.size_now, 4),
            "strays_mm": self.strays and round(self.strays, 4),
            "words": self.words(),
        }


def layers_known(ours: Sequence[Feature], theirs: Sequence[Feature]) -> bool:
    """Whether their layers speak our language: half of the contours or more lie on layers that we can read."""
    names = {our.layer.upper() for our in ours}
    known = sum(their.layer.upper() in names or work_of(their.layer) is not None for their in theirs)
    return known > 0 and 2 * known >= min(len(ours), len(theirs))


def match(ours: Sequence[Feature], marks: Sequence[Feature], theirs: Sequence[Feature], *, work: bool) -> list[Row]:
    """Every contour of ours with its counterpart, the surest pairs first; then what is left of theirs.

    Args:
        ours: the contours of our sheet.
        marks: loops of our letters and views, which are no contours of the shop's.
        theirs: their contours, brought to our place.
        work: whether layers are compared.
    """
    there = [their for their in theirs if not any(same(mark, their) for mark in marks)]
    rows: dict[int, Row] = {}
    taken: set[int] = set()

    def other(i: int, j: int) -> bool:
        return work and bool(changes(ours[i].layer, there[j].layer))

    def pair(what: What, near: float, alike: Callable[[Feature, Feature], bool]) -> None:
        left = [i for i in range(len(ours)) if i not in rows]
        free = [j for j in range(len(there)) if j not in taken]
        if not left or not free:
            return
        from scipy.spatial import cKDTree  # takes long to import, and only a returned drawing needs it

        tree = cKDTree([there[j].at for j in free])
        close = tree.query_ball_point([ours[i].at for i in left], near)
        pairs = sorted(
            (other(i, free[k]), _unlike(ours[i], there[free[k]]), i, free[k])
            for i, found in zip(left, close, strict=True)
            for k in found
        )
        for _, _, i, j in pairs:
            if i in rows or j in taken or ours[i].round != there[j].round or not alike(ours[i], there[j]):
                continue
            rows[i] = _row(what, ours[i], there[j], work=work)
            taken.add(j)

    pair("same", 2 * SAME_MM, same)
    pair("resized", SAME_MM, lambda our, their: True)
    pair("moved", FARTHEST_MM, _same_shape)
    pair("resized", FARTHEST_MM, _overlap)
    found = [
        rows.get(i) or Row("missing", our.item, our.layer, our.round, our.at, size=our.size)
        for i, our in enumerate(ours)
    ]
    found += [
        Row("added", "", "", their.round, their.at, size_now=their.size, layer_now=their.layer)
        for j, their in enumerate(there)
        if j not in taken and not any(_nearly(mark, their) for mark in marks)
    ]
    return sorted(found, key=lambda row: KINDS.index(row.what))


def _row(what: What, our: Feature, their: Feature, *, work: bool) -> Row:
    shift = (their.at[0] - our.at[0], their.at[1] - our.at[1])
    strays = None if our.round else _strays(our, their.moved(-shift[0], -shift[1]))
    otherwise = tuple(changes(our.layer, their.layer)) if work else ()
    return Row("changed" if otherwise else what, our.item, our.layer, our.round, our.at, shift, our.size, their.size,
               strays, their.layer, otherwise)  # fmt: skip


def _strays(our: Feature, their: Feature) -> float:
    """How far one outline strays from the other at most, mm: the Hausdorff distance at their corners."""
    return float(shapely.hausdorff_distance(our.ring, their.ring))


def same(our: Feature, their: Feature) -> bool:
    """Whether two contours are the same, within a hundredth of a millimetre."""
    if our.round != their.round or math.dist(our.at, their.at) > 2 * SAME_MM:
        return False
    if our.round:
        return math.dist(our.at, their.at) <= SAME_MM and _as_large(our, their)
    return _strays(our, their) <= SAME_MM


def _unlike(our: Feature, their: Feature) -> float:
    """By how much two contours differ in place and size, mm: the two edges of a groove have one middle."""
    return math.dist(our.at, their.at) + abs(our.size - their.size)


def _nearly(mark: Feature, their: Feature) -> bool:
    """Whether a contour is a mark of ours that was drawn again, with its arcs as straight lines."""
    return _unlike(mark, their) <= REDRAWN_MM


def _as_large(our: Feature, their: Feature) -> bool:
    """Whether two circles are one: a polygon's corners may lie on it or outside it, and its sides then touch it."""
    return -SAME_MM <= their.size - our.size <= 2 * their.flat + SAME_MM


def _same_shape(our: Feature, their: Feature) -> bool:
    if our.round or abs(our.size - their.size) > 2 * SAME_MM:
        return our.round and _as_large(our, their)
    return _strays(our, their.moved(our.at[0] - their.at[0], our.at[1] - their.at[1])) <= SAME_MM


def _overlap(our: Feature, their: Feature) -> bool:
    """Whether one may be the other, moved and of another size or shape."""
    if our.round:
        return math.dist(our.at, their.at) <= our.size / 2 and 0.5 < their.size / our.size < 2
    one, other = (shapely.make_valid(Polygon(feature.ring)) for feature in (our, their))
    return float(one.intersection(other).area) > LEAST_SHARED * float(one.union(other).area)
