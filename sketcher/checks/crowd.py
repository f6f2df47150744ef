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
from sketcher.document.meeting_pairs import meeting_pairs
from sketcher.findings import Finding, Question

#: So many pairs of things may lie over each other, and so many more for each thing. On a plate that can be made there
#: is about one for each: a bore in its channel, a head over its hole.
MOST_PAIRS, MOST_OF_EACH = 5_000, 5
#: Fewer things than this cannot make that many pairs.
_FEW = 100
#: So often may courses cross themselves and each other. A slip crosses a few times; thousands of crossings cut the
#: plate into as many pieces, and each is looked at.
MOST_CROSSINGS = 100
#: Channels with fewer runs than this cannot cross so often but in crowds.
_FEW_RUNS = 24


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
    boxes = np.asarray(shapely.box(*shapely.bounds(polygons).T), dtype=object)
    if _counted(boxes, most, exact=False).sum() <= most:
        return None
    # Long channels have wide boxes: what counts is the area.
    found = _counted(shapely.make_valid(polygons), most, exact=True)
    worst = int(found.argmax())
    return None if found.sum() <= most else (areas[worst][0], int(found[worst]))


def _counted(areas: NDArray[np.object_], most: int, *, exact: bool) -> NDArray[np.intp]:
    """For each thing how many of those after it it lies over; it ends when there are more than ``most``."""
    found = np.zeros(len(areas), dtype=np.intp)
    for first, _ in meeting_pairs(areas, "intersects" if exact else None):
        found += np.bincount(first, minlength=len(areas))
        if found.sum() > most:
            break
    return found


def tangled(scene: Scene) -> str | None:
    """The channel with the most crossings, where courses cross themselves and each other more than ``MOST_CROSSINGS``
    times; arcs as chords."""
    runs = [
        (id_, n, segment)
        for id_, channel in scene.shapes.channels.items()
        if len(channel.path.segments) >= _FEW_RUNS
        for n, segment in enumerate(channel.path.segments)
    ]
    if not runs:
        return None
    ends = np.array([(segment.start, segment.end) for _, _, segment in runs])
    # One number for each run, neighbours along a channel next to each other, channels apart.
    names = [id_ for id_, _, _ in runs]
    place = np.arange(len(runs)) + np.cumsum([n == 0 for _, n, _ in runs])
    lines = np.asarray(shapely.linestrings(ends), dtype=object)
    crossings = np.zeros(len(runs), dtype=np.intp)
    for first, second in meeting_pairs(lines):
        apart = place[second] > place[first] + 1
        crossings += np.bincount(first[apart], minlength=len(runs))
        if crossings.sum() > MOST_CROSSINGS:
            return names[int(crossings.argmax())]
    return None


def not_looked_at(thing: str, why: str, remedy: str, questions: tuple[Question, ...]) -> Iterator[Finding]:
    """An error for each question: nothing was answered. It cannot be accepted."""
    for question in questions:
        yield Finding(
            rule=f"unchecked-{question}",
            level="error",
            items=(thing,),
            message=f"{why} Nothing was checked.",
            remedy=remedy,
        )


def too_much(scene: Scene, questions: tuple[Question, ...]) -> list[Finding] | None:
    """The errors about a plate on which more lies over each other than can be looked at; none on any other."""
    if (crowd := crowded(scene)) is not None:
        thing, others = crowd
        why = f"Too much lies in one place: {thing} alone lies over {others:,} others."
        return list(not_looked_at(thing, why, "Delete what was put there twice, or undo the last change.", questions))
    if (channel := tangled(scene)) is not None:
        why = f"The course of {channel} crosses itself or others more than {MOST_CROSSINGS} times in all."
        return list(
            not_looked_at(channel, why, "Draw it again, its corners in order, or undo the last change.", questions)
        )
    return None
