"""Faces of our solid paired with those of a returned one: same, of another depth, moved, of another size, gone, new.

A changed depth also shortens every wall that ends in the changed floor, and a moved wall changes the floor beside it.
Such consequences are no rows of their own: a row is what somebody changed.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from sketcher.export.contour_rows import What
from sketcher.export.pose import SAME_MM
from sketcher.export.solid_faces import Feature

Vector = NDArray[np.float64]
#: What lies farther from its place than this was not moved: it is missing here and added there, mm.
FARTHEST_MM = 40.0
#: Directions as parts of a unit vector.
_PARALLEL = 1e-4


@dataclass(frozen=True)
class SolidRow:
    """What became of one item of a part: ``at`` is a place on it, mm from the datum; ``shift`` how far it was moved."""

    what: What
    part: str
    item: str
    at: tuple[float, float, float]
    text: str
    shift: tuple[float, float, float] | None = None

    def words(self) -> str:
        """What became of it, in a few words."""
        return self.text

    def as_json(self) -> dict[str, Any]:
        """The row with the keys of the interface."""
        dx, dy, dz = self.shift or (0.0, 0.0, 0.0)
        return {
            "what": self.what,
            "item": self.item,
            "layer": self.part,
            "at": [round(value, 4) + 0.0 for value in self.at],
            "dx_mm": round(dx, 4) + 0.0,
            "dy_mm": round(dy, 4) + 0.0,
            "dz_mm": round(dz, 4) + 0.0,
            "words": self.text,
        }


@dataclass(frozen=True, eq=False)
class _Pair:
    our: Feature
    their: Feature


class Matching:
    """Our features and theirs, brought to our place, taken from two lists as they are paired."""

    def __init__(self, ours: Sequence[Feature], theirs: Sequence[Feature]) -> None:
        self.ours, self.theirs = list(ours), list(theirs)

    def take(self, alike: Callable[[Feature, Feature], bool], far: Callable[[Feature, Feature], float]) -> list[_Pair]:
        """Pairs that are alike, the nearest first; each feature once."""
        found = sorted(
            (far(our, their), i, j)
            for i, our in enumerate(self.ours)
            for j, their in enumerate(self.theirs)
            if our.kind == their.kind and our.hollow == their.hollow and alike(our, their)
        )
        used: tuple[set[int], set[int]] = (set(), set())
        pairs = []
        for _, i, j in found:
            if i not in used[0] and j not in used[1]:
                used[0].add(i)
                used[1].add(j)
                pairs.append(_Pair(self.ours[i], self.theirs[j]))
        self.ours = [our for i, our in enumerate(self.ours) if i not in used[0]]
        self.theirs = [their for j, their in enumerate(self.theirs) if j not in used[1]]
        return pairs


def rows_of(
    part: str, ours: Sequence[Feature], theirs: Sequence[Feature], name: Callable[[Feature], str]
) -> tuple[list[SolidRow], int]:
    """The rows of a part, and how many of its faces are the same.

    Args:
        part: BODY or LID.
        ours, theirs: their features, theirs brought to our place.
        name: the item that a feature of ours belongs to; empty when it is the part itself.
    """
    left = Matching(ours, theirs)
    same = left.take(_same, _apart)
    stretched = left.take(_in_one_plane, _apart)
    shifted = left.take(_parallel_near, lambda a, b: abs(b.level() - a.level()) + 0.01 * _apart(a, b))
    levels = [(pair.our.level(), pair.their.level(), pair.our.way) for pair in shifted]
    reached = left.take(_on_one_axis, _apart)
    widened = left.take(lambda a, b: _coaxial(a, b), lambda a, b: abs(a.size - b.size) + 0.01 * _apart(a, b))
    moved = left.take(_merely_moved, _apart)
    rows = [_row("moved" if abs(p.our.way[2]) < 0.5 else "changed", part, name(p.our), p, _level_shift(p))
            for p in shifted]  # fmt: skip
    rows += [_reach_row(part, name(p.our), p) for p in reached if not _explained(p, levels)]
    rows += [_size_row(part, name(p.our), p) for p in widened]
    rows += [_row("moved", part, name(p.our), p, p.their.at - p.our.at) for p in moved]
    rows += [SolidRow("missing", part, name(f), _place(f.at), f"{_called(f)} is not in the solid") for f in left.ours]
    rows += [SolidRow("added", part, "", _place(f.at), f"{_called(f)} is not in ours") for f in left.theirs]
    if not rows:
        # A face that changed and nothing that explains it.
        rows = [SolidRow("changed", part, name(p.our), _place(p.our.at),
                         f"a flat face is {p.their.size ** 2:.2f} mm² instead of {p.our.size ** 2:.2f}")
                for p in stretched]  # fmt: skip
    return _merged(rows), len(same)


def _apart(one: Feature, other: Feature) -> float:
    return float(np.linalg.norm(one.at - other.at))


def _same(one: Feature, other: Feature) -> bool:
    return (
        _apart(one, other) <= SAME_MM
        and abs(one.size - other.size) <= SAME_MM
        and abs(one.length - other.length) <= 2 * SAME_MM
        and _aligned(one, other)
    )


def _aligned(one: Feature, other: Feature) -> bool:
    """Whether they run one way; a flat face has a side, an axis has none."""
    if one.kind == "other":
        return True
    dot = float(one.way @ other.way)
    return (dot if one.kind == "flat" else abs(dot)) > 1 - _PARALLEL


def _in_one_plane(one: Feature, other: Feature) -> bool:
    reach = max(one.size, other.size, 1.0)
    return (
        one.kind == "flat"
        and _aligned(one, other)
        and abs(one.level() - other.level()) <= SAME_MM
        and _apart(one, other) <= reach
    )


def _parallel_near(one: Feature, other: Feature) -> bool:
    if one.kind != "flat" or not _aligned(one, other):
        return False
    off = other.at - one.at
    deep = float(off @ one.way)
    across = float(np.linalg.norm(off - deep * one.way))
    return abs(deep) <= FARTHEST_MM and across <= 0.6 * max(one.size, other.size) and (
        0.5 <= (other.size or 1.0) / (one.size or 1.0) <= 2.0
    )  # fmt: skip


def _coaxial(one: Feature, other: Feature) -> bool:
    if one.kind not in ("round", "cone") or not _aligned(one, other):
        return False
    off = other.at - one.at
    across = off - float(off @ one.way) * one.way
    return float(np.linalg.norm(across)) <= SAME_MM and float(np.linalg.norm(off)) <= FARTHEST_MM


def _on_one_axis(one: Feature, other: Feature) -> bool:
    return _coaxial(one, other) and abs(one.size - other.size) <= SAME_MM


def _merely_moved(one: Feature, other: Feature) -> bool:
    return (
        one.kind != "flat"
        and _aligned(one, other)
        and abs(one.size - other.size) <= SAME_MM
        and abs(one.length - other.length) <= max(2 * SAME_MM, 0.5 * one.length)
        and _apart(one, other) <= FARTHEST_MM
    )


def _ends(wall: Feature) -> tuple[float, float]:
    middle = float(wall.way @ wall.at)
    return middle - wall.length / 2, middle + wall.length / 2


def _explained(pair: _Pair, levels: Sequence[tuple[float, float, Vector]]) -> bool:
    """Whether a wall ends elsewhere only because the face that it ends in does."""
    turned = pair.their if float(pair.our.way @ pair.their.way) > 0 else None
    ends = _ends(pair.their) if turned is not None else tuple(-e for e in _ends(pair.their)[::-1])
    for old, new in zip(_ends(pair.our), ends, strict=True):
        if abs(old - new) <= 2 * SAME_MM:
            continue
        signs = [(float(pair.our.way @ way), a, b) for a, b, way in levels]
        if not any(abs(abs(s) - 1) < _PARALLEL and abs(old - s * a) < 0.02 and abs(new - s * b) < 0.02
                   for s, a, b in signs):  # fmt: skip
            return False
    return True


def _level_shift(pair: _Pair) -> Vector:
    shift: Vector = (pair.their.level() - pair.our.level()) * pair.our.way
    return shift


def _row(what: What, part: str, item: str, pair: _Pair, shift: Vector) -> SolidRow:
    return SolidRow(what, part, item, _place(pair.our.at), way_in_space(shift), _place(shift))


def _reach_row(part: str, item: str, pair: _Pair) -> SolidRow:
    more = pair.their.length - pair.our.length
    if abs(more) <= 2 * SAME_MM:
        shift = pair.their.at - pair.our.at
        return _row("moved", part, item, pair, shift)
    words = f"{_called(pair.our)} is {pair.their.length:.3f} mm long instead of {pair.our.length:.3f}"
    return SolidRow("changed", part, item, _place(pair.our.at), words)


def _size_row(part: str, item: str, pair: _Pair) -> SolidRow:
    words = f"{2 * pair.their.size:.3f} mm across instead of {2 * pair.our.size:.3f}"
    if abs(pair.their.size - pair.our.size) <= SAME_MM:
        words = f"a cone is {pair.their.length:.3f} mm long instead of {pair.our.length:.3f}"
    return SolidRow("resized", part, item, _place(pair.our.at), words)


def way_in_space(shift: Vector) -> str:
    """A shift in words: ``0.500 mm right and 1.000 mm lower``."""
    names = (("right", "left"), ("rear", "front"), ("higher", "lower"))
    parts = [
        f"{abs(value):.3f} mm {plus if value > 0 else minus}"
        for value, (plus, minus) in zip(shift, names, strict=True)
        if abs(value) > SAME_MM / 2
    ]
    return " and ".join(parts)


def _called(feature: Feature) -> str:
    x, y, z = feature.at
    where = f"at {x:.2f}, {y:.2f}, {z:.2f}"
    if feature.kind == "round":
        what = "a hole" if feature.hollow else "a round wall"
        return f"{what} of {2 * feature.size:.3f} mm {where}"
    if feature.kind == "cone":
        return f"a cone of {2 * feature.size:.2f} mm in its middle {where}"
    name = "a flat face" if feature.kind == "flat" else "a curved face"
    return f"{name} of {feature.size**2:.1f} mm² {where}"


def _place(at: Vector) -> tuple[float, float, float]:
    return (float(at[0]), float(at[1]), float(at[2]))


def _merged(rows: Sequence[SolidRow]) -> list[SolidRow]:
    """One row for each item and each thing that became of it."""
    kept: dict[tuple[str, str, str, str], SolidRow] = {}
    for row in rows:
        kept.setdefault((row.what, row.part, row.item, row.text), row)
    return sorted(kept.values(), key=lambda row: (row.part, row.item, row.text))


def off_mm(row: SolidRow) -> float:
    """How far a row's item was moved, mm."""
    return math.hypot(*(row.shift or (0.0, 0.0, 0.0)))
