"""More things over each other than anyone could work through: that is said at once, instead of an answer for hours.

The work of the rules grows with the pairs that are near each other. On a plate these are a few for each item, however
large the plate; where a list was pasted a thousand times onto one spot they are millions.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray

from sketcher.checks.scene import Scene
from sketcher.findings import Finding, Question

#: So many pairs of things may lie over each other, and so many more for each thing. On a plate that can be made there
#: is about one for each: a bore in its channel, a head over its hole.
MOST_PAIRS, MOST_OF_EACH = 5_000, 5
#: Fewer things than this cannot make that many pairs.
_FEW = 100
#: So many things are held against the others at a time, so that not all pairs are in memory at once.
_AT_A_TIME = 64


def crowded(scene: Scene) -> tuple[str, int] | None:
    """The thing that lies over the most others, and over how many; none where the pairs can be looked at.

    Keep-outs, obstacles, openings, boards and devices count with what is cut.
    """
    shapes = scene.shapes
    areas = [(prism.id, prism.polygon) for prism in shapes.prisms]
    for group in (shapes.keep_outs, shapes.obstacles, shapes.openings, shapes.boards, shapes.devices):
        areas += [(id_, area.polygon) for id_, area in group.items()]
    if len(areas) < _FEW:
        return None
    most = MOST_PAIRS + MOST_OF_EACH * len(areas)
    polygons = np.array([area for _, area in areas], dtype=object)
    tree = shapely.STRtree(polygons)
    boxes = np.asarray(shapely.box(*shapely.bounds(polygons).T), dtype=object)
    if _counted(tree, boxes, most, exact=False).sum() <= most:
        return None
    # Long channels have wide boxes: what counts is the area.
    polygons = shapely.make_valid(polygons)
    found = _counted(shapely.STRtree(polygons), polygons, most, exact=True)
    worst = int(found.argmax())
    return None if found.sum() <= most else (areas[worst][0], int(found[worst]))


def _counted(tree: shapely.STRtree, areas: NDArray[np.object_], most: int, *, exact: bool) -> NDArray[np.intp]:
    """For each thing how many of those after it it lies over; it ends when there are more than ``most``."""
    found = np.zeros(len(areas), dtype=np.intp)
    for start in range(0, len(areas), _AT_A_TIME):
        some = areas[start : start + _AT_A_TIME]
        first, second = tree.query(some, predicate="intersects" if exact else None)
        found[start : start + len(some)] = np.bincount(first[second > first + start], minlength=len(some))
        if found.sum() > most:
            break
    return found


def not_looked_at(thing: str, others: int, questions: tuple[Question, ...]) -> Iterator[Finding]:
    """An error for each question: nothing was answered. It cannot be accepted."""
    for question in questions:
        yield Finding(
            rule=f"unchecked-{question}",
            level="error",
            items=(thing,),
            message=f"Too much lies in one place: {thing} alone lies over {others:,} others. Nothing was checked.",
            remedy="Delete what was put there twice, or undo the last change.",
        )
