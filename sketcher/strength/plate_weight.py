"""How far a plate on posts sags under its own weight and under what stands on it.

Kirchhoff's plate by bicubic B-splines (``plate_grid``), as the lid is solved, with posts that hold it up and down. What
stands on it pushes evenly on its footprint; what has none, at a point.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Geometry

from sketcher.strength.flat_plate import POISSON
from sketcher.strength.plate_equations import Equations
from sketcher.strength.plate_grid import PARTS, Array, Grid, products, unit_parts

#: Cells: so many, or of this size, mm, where that is more.
_CELLS, _FINEST_MM = 2600, 4.0
#: What a cell's empty part still carries; and a post's stiffness against a cell's own.
_GHOST, _RIGID = 1e-6, 1e4
#: What the raster leaves out: compared with closed forms in ``tests/strength/test_plate_weight.py``.
MARGIN = 1.05

Point = tuple[float, float]


@dataclass(frozen=True)
class Weight:
    """Something that stands on the plate: its footprint in plan, and its weight, N."""

    footprint: Geometry
    weight_n: float


def held(posts: NDArray[np.float64]) -> bool:
    """Whether posts (n, 2) hold a plate by themselves: three that are not in one line."""
    return len(posts) >= 3 and bool(np.linalg.matrix_rank(posts - posts.mean(axis=0), tol=5.0) >= 2)


def sag(
    plate: Geometry,
    posts: NDArray[np.float64],
    own_n_mm2: float,
    weights: tuple[Weight, ...],
    rigidity_n_mm: float,
) -> tuple[float, Point]:
    """The largest sag, mm, and its place.

    Args:
        plate: in plan, with its openings.
        posts: places that hold it, (n, 2); ``held`` says whether they do.
        own_n_mm2: the plate's own weight.
        weights: what stands on it.
        rigidity_n_mm: D.

    Raises:
        ValueError: posts that do not hold it.
    """
    if not held(posts):
        raise ValueError("it takes three posts that are not in line to hold a plate")
    where = tuple((shapely.to_wkb(weight.footprint), weight.weight_n) for weight in weights)
    lift, at = _solved(shapely.to_wkb(plate), tuple(map(tuple, np.round(posts, 3).tolist())), own_n_mm2, where)
    return MARGIN * lift / rigidity_n_mm, at


@lru_cache(maxsize=16)
def _solved(
    outline: bytes, places: tuple[Point, ...], own: float, weights: tuple[tuple[bytes, float], ...]
) -> tuple[float, Point]:
    """For D = 1."""
    plate = shapely.from_wkb(outline)
    size = max(_FINEST_MM, math.sqrt(plate.area / _CELLS))
    grid = Grid.over(plate, size)
    filled = grid.filled(plate)
    cells = np.argwhere(filled.any(axis=(2, 3)))
    at = (cells[:, 0], cells[:, 1])
    on = filled[at].reshape(len(cells), PARTS * PARTS)
    equations = Equations(cells, grid.nx, grid.ny)
    stiff, load, _ = unit_parts(POISSON)
    equations.add(slice(None), np.where(on, 1.0, _GHOST) / size**2 @ stiff.reshape(len(stiff), -1))
    numbers, values = _rows(grid, cells, equations, np.array(places))
    equations.add_at(numbers, _RIGID / size**2 * values[:, :, None] * values[:, None, :])
    right = equations.summed(equations.functions, own * size**2 * on @ load)
    part = (size / PARTS) ** 2
    for footprint, weight in weights:
        shape = shapely.from_wkb(footprint)
        under = grid.filled(shape)[at].reshape(on.shape) & on if shape.area > part else np.zeros_like(on)
        if under.any():
            right += equations.summed(equations.functions, weight / (under.sum() * part) * size**2 * under @ load)
        else:
            middle = shape.centroid
            number, value = _rows(grid, cells, equations, np.array([(middle.x, middle.y)]))
            right += equations.summed(number, weight * value)
    found = equations.solve(right, None, 0.0)
    sagged = np.where(on, found[equations.functions] @ _AT_PARTS.T, 0.0)
    cell, worst = np.unravel_index(int(np.argmax(sagged)), sagged.shape)
    i, j = divmod(int(worst), PARTS)
    x, y = (cells[cell] + (np.array([i, j]) + 0.5) / PARTS) * size + (grid.x0, grid.y0)
    return float(sagged[cell, worst]), (float(x), float(y))


def _rows(grid: Grid, cells: NDArray[np.int64], equations: Equations, places: Array) -> tuple[NDArray[np.int64], Array]:
    """Unknowns and values of w at places, (n, 16) each; a place off the plate counts at its nearest cell."""
    own, inside = grid.cell_of(places)
    index = np.empty(len(places), dtype=np.int64)
    for k, cell in enumerate(own):
        gaps = ((cells - cell) ** 2).sum(axis=1)
        index[k] = int(np.argmin(gaps))
        if gaps[index[k]]:
            inside[k] = np.clip(inside[k] + (cell - cells[index[k]]), 0, 1)
    return equations.functions[index], products(np.clip(inside, 0, 1))["w"]


_MIDDLES = (np.arange(PARTS) + 0.5) / PARTS
_AT_PARTS = products(np.stack(np.meshgrid(_MIDDLES, _MIDDLES, indexing="ij"), -1).reshape(-1, 2))["w"]
