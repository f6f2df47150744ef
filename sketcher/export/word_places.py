"""Places for words and signs on a piece: where they are cut into what stays, and do not lie on each other."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.geometry.path import Point

#: Steps of the search over a piece, and room around what is placed, mm.
STEP_MM, MARGIN_MM = 4.0, 2.0
#: Places that are looked at together, and the side of a square of the raster, mm.
_AT_ONCE, _SQUARE_MM = 2000, 25.0

Box = tuple[float, float, float, float]


class Places:
    """What is still free on a piece. Larger things are placed first; the same piece gives the same places.

    The holes stay apart in a tree: a piece less its thousands of holes would ask each of them about every box.
    """

    def __init__(self, within: BaseGeometry, holes: Sequence[BaseGeometry], clear: float) -> None:
        """``within`` is the piece, ``holes`` what is cut out of it; boxes keep ``clear`` mm from both."""
        self._free = within.buffer(-clear)
        shapely.prepare(self._free)
        self._holes, self._clear = shapely.STRtree(holes), clear
        self._taken: list[Box] = []
        #: What is taken, by the squares of a raster that it reaches with its margin: what is near is found at once.
        self._near: dict[tuple[int, int], list[Box]] = defaultdict(list)

    def anywhere(self, width: float, height: float, spare: shapely.STRtree | None = None) -> Point | None:
        """The front left corner of the first free box of this size, row by row from the front; none when there is none.

        Args:
            spare: a tree of what is kept clear too when that is possible.
        """
        left, front, right, rear = self._free.bounds if not self._free.is_empty else (0.0, 0.0, 0.0, 0.0)
        xs, ys = np.arange(left, right - width, STEP_MM), np.arange(front, rear - height, STEP_MM)
        second: np.ndarray | None = None
        rows = max(1, _AT_ONCE // max(1, len(xs)))
        for start in range(0, len(ys), rows):
            across, along = np.meshgrid(xs, ys[start : start + rows])
            corners = np.column_stack([across.ravel(), along.ravel()])
            corners = corners[self._fit(corners, width, height)]
            if not len(corners):
                continue
            crosses = np.zeros(len(corners), dtype=bool)
            if spare is not None:
                crosses[spare.query(_boxes(corners, width, height), predicate="intersects")[0]] = True
            if not crosses.all():
                return self._take(corners[int(np.argmin(crosses))], width, height)
            second = corners[0] if second is None else second
        return None if second is None else self._take(second, width, height)

    def first(self, corners: Iterable[Point], width: float, height: float) -> Point | None:
        """The first of these front left corners whose box is free; none when none is."""
        places = np.array(list(corners)).reshape(-1, 2)
        for corner in places[self._on_the_piece(places, width, height)]:
            if self._apart(float(corner[0]), float(corner[1]), width, height):
                return self._take(corner, width, height)
        return None

    def _apart(self, x: float, y: float, width: float, height: float) -> bool:
        """Whether a box keeps the margin from all that is taken."""
        box = (x - MARGIN_MM, y - MARGIN_MM, x + width + MARGIN_MM, y + height + MARGIN_MM)
        return not any(
            box[0] <= right and box[2] >= left and box[1] <= rear and box[3] >= front
            for square in _squares(box)
            for left, front, right, rear in self._near.get(square, ())
        )

    def _on_the_piece(self, corners: np.ndarray, width: float, height: float) -> np.ndarray:
        """Which boxes lie on what stays of the piece."""
        boxes = _boxes(corners, width, height)
        fits = np.asarray(shapely.contains(self._free, boxes), dtype=bool)
        inside = np.flatnonzero(fits)
        cut, _ = self._holes.query(boxes[inside], predicate="dwithin", distance=self._clear - 1e-6)
        fits[inside[cut]] = False
        return fits

    def _fit(self, corners: np.ndarray, width: float, height: float) -> np.ndarray:
        fits = self._on_the_piece(corners, width, height)
        if self._taken:
            left, front, right, rear = np.array(self._taken).T
            x, y = corners[:, :1], corners[:, 1:]
            apart = (x - MARGIN_MM > right) | (x + width + MARGIN_MM < left)
            apart |= (y - MARGIN_MM > rear) | (y + height + MARGIN_MM < front)
            fits &= apart.all(axis=1)
        return fits

    def _take(self, corner: np.ndarray, width: float, height: float) -> Point:
        x, y = float(corner[0]), float(corner[1])
        box = (x, y, x + width, y + height)
        self._taken.append(box)
        for square in _squares(box):
            self._near[square].append(box)
        return (x, y)


def _squares(box: Box) -> Iterator[tuple[int, int]]:
    left, front, right, rear = (math.floor(value / _SQUARE_MM) for value in box)
    return ((i, j) for i in range(left, right + 1) for j in range(front, rear + 1))


def _boxes(corners: np.ndarray, width: float, height: float) -> np.ndarray:
    x, y, half = corners[:, 0], corners[:, 1], MARGIN_MM / 2
    boxes: np.ndarray = shapely.box(x - half, y - half, x + width + half, y + height + half)
    return boxes
