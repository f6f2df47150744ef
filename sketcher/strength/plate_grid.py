"""A raster of square cells over a lid, and the bicubic B-splines on it.

The lid's true outline is cut out of the cells: every cell is divided into four by four parts, and a part counts when
its middle lies on the lid (an immersed, or "finite cell", method: Parvizian, Düster and Rank, Computational Mechanics
41, 2007). Uniform cubic B-splines have continuous curvatures, which a thin plate's energy needs.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Array = NDArray[np.float64]
Mask = NDArray[np.bool_]
#: Parts of a cell along one side.
PARTS = 4


@dataclass(frozen=True)
class Grid:
    """Cells of ``size`` mm from ``x0``, ``y0``: ``nx`` by ``ny``."""

    x0: float
    y0: float
    size: float
    nx: int
    ny: int

    @classmethod
    def over(cls, shape: BaseGeometry, size: float) -> Grid:
        """The grid that covers a shape."""
        x0, y0, x1, y1 = shape.bounds
        return cls(x0, y0, size, max(1, math.ceil((x1 - x0) / size)), max(1, math.ceil((y1 - y0) / size)))

    def filled(self, shape: BaseGeometry) -> Mask:
        """Which parts of the cells have their middle inside the shape: (nx, ny, PARTS, PARTS), by even and odd."""
        rows, columns = self.ny * PARTS, self.nx * PARTS
        step = self.size / PARTS
        toggles = np.zeros((rows, columns + 1), dtype=np.int64)
        for ring in shapely.get_rings(shapely.get_parts(shape)).tolist():
            _toggle(toggles, (shapely.get_coordinates(ring) - (self.x0, self.y0)) / step - 0.5)
        inside = (np.cumsum(toggles[:, :columns], axis=1) % 2).astype(bool)
        return inside.reshape(self.ny, PARTS, self.nx, PARTS).transpose(2, 0, 3, 1)

    def cell_of(self, points: Array) -> tuple[NDArray[np.int64], Array]:
        """The cell of each point, (n, 2), and its place in it from 0 to 1, (n, 2)."""
        places = (points - (self.x0, self.y0)) / self.size
        cells = np.clip(np.floor(places).astype(np.int64), 0, (self.nx - 1, self.ny - 1))
        return cells, places - cells


def _toggle(toggles: NDArray[np.int64], ring: Array) -> None:
    """Count, for every row of middles, the edges that cross it, in the column where inside begins or ends."""
    rows, last = toggles.shape[0], toggles.shape[1] - 1
    (x0, y0), (x1, y1) = ring[:-1].T, ring[1:].T
    first = np.maximum(np.ceil(np.minimum(y0, y1)), 0).astype(np.int64)
    end = np.minimum(np.ceil(np.maximum(y0, y1)), rows).astype(np.int64)
    counts = np.maximum(end - first, 0)
    edge = np.repeat(np.arange(len(x0)), counts)
    if not len(edge):
        return
    row = first[edge] + np.arange(len(edge)) - np.repeat(np.cumsum(counts) - counts, counts)
    x = x0[edge] + (row - y0[edge]) * (x1 - x0)[edge] / (y1 - y0)[edge]
    flat = row * toggles.shape[1] + np.clip(np.ceil(x), 0, last).astype(np.int64)
    toggles += np.bincount(flat, minlength=toggles.size).reshape(toggles.shape)


def splines(xi: Array) -> tuple[Array, Array, Array]:
    """Values, first and second derivatives of the four cubic B-splines of a cell at ``xi`` (n,): each (n, 4)."""
    one = np.ones_like(xi)
    value = np.stack([(1 - xi) ** 3, 3 * xi**3 - 6 * xi**2 + 4, -3 * xi**3 + 3 * xi**2 + 3 * xi + 1, xi**3], 1) / 6
    slope = np.stack([-((1 - xi) ** 2), 3 * xi**2 - 4 * xi, -3 * xi**2 + 2 * xi + one, xi**2], 1) / 2
    bend = np.stack([1 - xi, 3 * xi - 2, 1 - 3 * xi, xi], 1)
    return value, slope, bend


def products(places: Array) -> dict[str, Array]:
    """The sixteen functions of a unit cell at places (n, 2): ``w``, ``xx``, ``yy``, ``xy``, each (n, 16)."""
    vx, sx, bx = splines(places[:, 0])
    vy, sy, by = splines(places[:, 1])

    def outer(a: Array, b: Array) -> Array:
        return (a[:, :, None] * b[:, None, :]).reshape(len(places), 16)

    return {"w": outer(vx, vy), "xx": outer(bx, vy), "yy": outer(vx, by), "xy": outer(sx, sy)}


def _gauss(low: float, high: float) -> tuple[Array, Array]:
    nodes, weights = np.polynomial.legendre.leggauss(4)
    return low + (high - low) * (nodes + 1) / 2, weights * (high - low) / 2


@lru_cache(maxsize=8)
def unit_parts(poisson: float) -> tuple[Array, Array, Array]:
    """Of each part of a unit cell: stiffness for D = 1, load for q = 1, bedding for k = 1.

    Shapes (16, 16, 16), (16, 16), (16, 16, 16); the first index is the part. Stiffness: the integral of
    w_xx² + w_yy² + 2 ν w_xx w_yy + 2 (1 - ν) w_xy² (Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells).
    """
    stiff, load, bed = [], [], []
    for i in range(PARTS):
        for j in range(PARTS):
            x, wx = _gauss(i / PARTS, (i + 1) / PARTS)
            y, wy = _gauss(j / PARTS, (j + 1) / PARTS)
            places = np.stack(np.meshgrid(x, y, indexing="ij"), -1).reshape(-1, 2)
            weights = np.outer(wx, wy).ravel()
            at = products(places)

            def pair(a: str, b: str, at: dict[str, Array] = at, weights: Array = weights) -> Array:
                return np.asarray((at[a] * weights[:, None]).T @ at[b], dtype=np.float64)

            cross = pair("xx", "yy")
            stiff.append(
                pair("xx", "xx") + pair("yy", "yy") + poisson * (cross + cross.T) + 2 * (1 - poisson) * pair("xy", "xy")
            )
            load.append(weights @ at["w"])
            bed.append(pair("w", "w"))
    return np.array(stiff), np.array(load), np.array(bed)
