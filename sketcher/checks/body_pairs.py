"""Which bodies are near enough to each other to be worth measuring: the few by their boxes, the many by a tree."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial

import numpy as np
import shapely

from sketcher.document.remembered import Remembered
from sketcher.findings import Finding
from sketcher.geometry.bodies import Body, Gap, gap


def near_pairs(ones: list[Body], others: list[Body], within: float) -> Iterator[tuple[Body, Body]]:
    """Pairs whose shadows and heights are near enough to be worth measuring; each once."""
    if not ones or not others:
        return
    seen = set()
    for i, j in zip(*_within(ones, others, within), strict=True):
        one, other = ones[i], others[j]
        key = frozenset(((one.kind, one.id), (other.kind, other.id)))
        if len(key) < 2 or key in seen or max(one.low - other.high, other.low - one.high) > within:
            continue
        seen.add(key)
        yield one, other


#: As many pairs as this are told apart by their boxes more quickly than by a tree.
_FEW_PAIRS = 4000


def _within(ones: list[Body], others: list[Body], within: float) -> tuple[list[int], list[int]]:
    """The numbers of the pairs whose shadows are so near, by the first of them."""
    if len(ones) * len(others) > _FEW_PAIRS:
        areas = np.array([body.area for body in ones], dtype=object)
        tree = shapely.STRtree(np.array([body.area for body in others], dtype=object))
        first, second = tree.query(areas, predicate="dwithin", distance=within)
        return first.tolist(), second.tolist()
    boxes = [other.bounds for other in others]
    pairs = [
        (i, j)
        for i, one in enumerate(ones)
        for left, front, right, rear in (one.bounds,)
        for j, box in enumerate(boxes)
        if box[0] - right <= within and left - box[2] <= within and box[1] - rear <= within and front - box[3] <= within
    ]  # fmt: skip
    wanted = [((ones[i].area, others[j].area), within) for i, j in pairs]

    def made(new: list[int]) -> list[bool]:
        first, second = np.array([wanted[n][0] for n in new], dtype=object).T
        found: list[bool] = shapely.dwithin(first, second, within).tolist()
        return found

    near = [pair for pair, is_near in zip(pairs, _near.all(wanted, made), strict=True) if is_near]
    return [i for i, _ in near], [j for _, j in near]


#: Of two shadows, whether they are so near.
_near: Remembered[bool] = Remembered()


def known_gap(one: Body, other: Body) -> Gap:
    """What is between two bodies, remembered for as long as both stay as they are."""
    return _gaps.of((one, other), None, partial(gap, one, other))


_gaps: Remembered[Gap] = Remembered()


def worst_of_pairs(found: list[Finding]) -> list[Finding]:
    """Of the findings about the same two things the one that lacks most: a tube meets another one's fitting too."""
    worst: dict[frozenset[str], Finding] = {}
    for finding in found:
        known = worst.get(finding.about)
        if known is None or (finding.value or 0.0, finding.items) < (known.value or 0.0, known.items):
            worst[finding.about] = finding
    return list(worst.values())
