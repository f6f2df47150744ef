"""Places for words and signs on a piece: where they are cut into what stays, and do not lie on each other."""

from __future__ import annotations

from collections.abc import Iterable

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.geometry.path import Point

#: Steps of the search over a piece, and room around what is placed, mm.
STEP_MM, MARGIN_MM = 4.0, 2.0


class Places:
    """What is still free on a piece. Larger things are placed first; the same piece gives the same places."""

    def __init__(self, free: BaseGeometry) -> None:
        self._free = free
        shapely.prepare(self._free)
        self._taken: list[tuple[float, float, float, float]] = []

    def anywhere(self, width: float, height: float, spare: BaseGeometry | None = None) -> Point | None:
        """The front left corner of the first free box of this size, row by row from the front; none when there is none.

        Args:
            spare: kept clear too when that is possible.
        """
        left, front, right, rear = self._free.bounds if not self._free.is_empty else (0.0, 0.0, 0.0, 0.0)
        xs, ys = np.arange(left, right - width, STEP_MM), np.arange(front, rear - height, STEP_MM)
        corners = np.array([(x, y) for y in ys for x in xs]).reshape(-1, 2)
        fits = self._fit(corners, width, height)
        clear = fits
        if spare is not None and fits.any():
            shapely.prepare(spare)
            clear = fits & ~shapely.intersects(spare, _boxes(corners, width, height))
        for choice in (clear, fits):
            if choice.any():
                return self._take(corners[int(np.argmax(choice))], width, height)
        return None

    def first(self, corners: Iterable[Point], width: float, height: float) -> Point | None:
        """The first of these front left corners whose box is free; none when none is."""
        places = np.array(list(corners)).reshape(-1, 2)
        fits = self._fit(places, width, height)
        return self._take(places[int(np.argmax(fits))], width, height) if fits.any() else None

    def _fit(self, corners: np.ndarray, width: float, height: float) -> np.ndarray:
        fits = np.asarray(shapely.contains(self._free, _boxes(corners, width, height)), dtype=bool)
        if self._taken:
            left, front, right, rear = np.array(self._taken).T
            x, y = corners[:, :1], corners[:, 1:]
            apart = (x - MARGIN_MM > right) | (x + width + MARGIN_MM < left)
            apart |= (y - MARGIN_MM > rear) | (y + height + MARGIN_MM < front)
            fits &= apart.all(axis=1)
        return fits

    def _take(self, corner: np.ndarray, width: float, height: float) -> Point:
        x, y = float(corner[0]), float(corner[1])
        self._taken.append((x, y, x + width, y + height))
        return (x, y)


def _boxes(corners: np.ndarray, width: float, height: float) -> np.ndarray:
    x, y, half = corners[:, 0], corners[:, 1], MARGIN_MM / 2
    boxes: np.ndarray = shapely.box(x - half, y - half, x + width + half, y + height + half)
    return boxes
