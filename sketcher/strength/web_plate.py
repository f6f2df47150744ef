"""The body over pockets of its outer face: a plate whose thickness changes from place to place, fixed around it.

Kirchhoff's plate by bicubic B-splines (``plate_grid``), as for the lid. Outside the pockets it is held down; inside it
carries what pushes on it, as thick as pockets, channels and groove leave it. A cutout in a pocket is a free edge.
Everything is linear: it is solved once for a pressure of 1 MPa and once for a cord of 1 N/mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from sketcher.strength.flat_plate import POISSON
from sketcher.strength.plate_equations import Equations, Index
from sketcher.strength.plate_grid import PARTS, Array, Grid, Mask, products, unit_parts

#: Cells across the narrowest way over a pocket, and their sizes' bounds, mm.
_ACROSS, _FINEST_MM, _COARSEST_MM = 32, 0.5, 4.0
#: So many cells at most.
_MOST_CELLS = 3000
#: Cells of held plate around a pocket, what an empty part still carries, and how much stiffer than a cell its bed is.
_AROUND, _GHOST, _RIGID = 3.0, 1e-6, 1e4
#: Moments are read at so many places along a cell's side.
_READ = 4
#: Splines round off the moment at a fixed edge: results are raised by this, and by the second times the square of
#: the part that a cell is of the way across. By closed forms and finer elements (tests/strength/test_pocket_webs.py).
_MARGIN, _MARGIN_BY_SIZE = 1.03, 50.0


@dataclass(frozen=True)
class Recess:
    """What is cut out of the body: a WKB area, how deep (mm), from the joint face or from the outer one."""

    area: bytes
    depth_mm: float
    from_joint: bool
    notched: bool = False


@dataclass(frozen=True)
class WebAnswer:
    """For a pressure of 1 MPa and a cord of 1 N/mm (first axis): curvatures times 12 (1 - ν²) / E at places.

    ``curved`` is (2, 3, n): xx, yy, xy, of the way that the web is pushed; ``thick`` (n,), ``notched`` (n,) and ``at``
    (n, 2) belong to the places; ``sag`` (2, m) along the groove, times the same. ``margin`` raises stresses.
    """

    curved: Array
    thick: Array
    notched: Mask
    at: Array
    sag: Array
    margin: float

    def stress_mpa(
        self, pressure_mpa: float, cord_n_mm: float, notch_factor: float
    ) -> tuple[float, tuple[float, float]]:
        """The largest stress, and its place: 6 M / t², with a notch factor where a channel's corner is pulled."""
        xx, yy, xy = pressure_mpa * self.curved[0] + cord_n_mm * self.curved[1]
        middle, half = (1 + POISSON) * (xx + yy) / 2, (1 - POISSON) * np.hypot((xx - yy) / 2, xy)
        # D of 1 mm counts as 1: M = t³ κ, and 6 M / t² = 6 t κ. The joint face is pulled where it is bent hollow.
        joint = (middle + half) * np.where(self.notched, notch_factor, 1.0)
        stress = 6 * self.margin * self.thick * np.maximum(joint, half - middle)
        k = int(np.argmax(stress))
        return float(stress[k]), (float(self.at[k, 0]), float(self.at[k, 1]))

    def sag_mm(self, pressure_mpa: float, cord_n_mm: float, modulus_mpa: float) -> float:
        """How far the groove's floor sags at most, mm."""
        sag = pressure_mpa * self.sag[0] + cord_n_mm * self.sag[1]
        return float(sag.max(initial=0.0)) * 12 * (1 - POISSON**2) / modulus_mpa


@lru_cache(maxsize=64)
def solved(
    body: bytes, pocket: bytes, sealed: bytes, lines: bytes, thick_mm: float, recesses: tuple[Recess, ...]
) -> WebAnswer | None:
    """The web over a pocket; none where nothing is left of it somewhere.

    Args:
        body: the body in plan, with its cutouts, as WKB; so are the others.
        pocket: the pocket, or those that count as one.
        sealed: what is under pressure.
        lines: the groove's centrelines; empty for a bonded lid.
        thick_mm: of the body.
        recesses: pockets, channels and the groove's band near it.
    """
    held = shapely.from_wkb(pocket)
    across = _across(held)
    size = _cell(held, across)
    area = shapely.intersection(shapely.from_wkb(body), held.buffer(_AROUND * size, join_style="mitre"))
    grid = Grid.over(area, size)
    on = grid.filled(area)
    cells = np.argwhere(on.any(axis=(2, 3)))
    left, notched = _left(grid, thick_mm, recesses)
    at, shape = (cells[:, 0], cells[:, 1]), (len(cells), PARTS * PARTS)
    on, left, notched = on[at].reshape(shape), left[at].reshape(shape), notched[at].reshape(shape)
    free = on & grid.filled(held)[at].reshape(shape)
    if not free.any() or left[free].min() <= 0:
        return None
    left = np.maximum(left, 1e-3)
    stiff, load, bed = unit_parts(POISSON)
    equations = Equations(cells, grid.nx, grid.ny)
    equations.add(slice(None), np.where(on, left**3, _GHOST * thick_mm**3) / size**2 @ stiff.reshape(len(stiff), -1))
    equations.add(slice(None), (on & ~free) * (_RIGID * thick_mm**3 / size**2) @ bed.reshape(len(bed), -1))
    wet = free & grid.filled(shapely.from_wkb(sealed))[at].reshape(shape)
    pushed = equations.summed(equations.functions, size**2 * wet @ load)
    places, share = _along(shapely.intersection(shapely.from_wkb(lines), area))
    rows, values = _rows(grid, cells, equations, places)
    corded = equations.summed(rows, share[:, None] * values)
    found = np.stack([_answer(equations, right) for right in (pushed, corded)])
    curved, thick, where, corner = _read(grid, cells, equations, found, (free, left, notched))
    sag = (values * found[:, rows]).sum(axis=-1)
    return WebAnswer(curved, thick, corner, where, sag, _MARGIN + _MARGIN_BY_SIZE * (size / across) ** 2)


def _answer(equations: Equations, right: Array) -> Array:
    return equations.solve(right, None, 1e-6) if right.any() else np.zeros_like(right)


def _across(pocket: BaseGeometry) -> float:
    """The narrowest part's way across, mm."""
    parts = shapely.get_parts(pocket)
    return 2 * min(float(shapely.maximum_inscribed_circle(part, tolerance=0.5).length) for part in parts)


def _cell(pocket: BaseGeometry, across: float) -> float:
    x0, y0, x1, y1 = pocket.bounds
    size = min(max(across / _ACROSS, _FINEST_MM), _COARSEST_MM)
    return max(size, math.sqrt((x1 - x0) * (y1 - y0) / _MOST_CELLS))


def _left(grid: Grid, thick_mm: float, recesses: tuple[Recess, ...]) -> tuple[Array, Mask]:
    """What is left of the body in every part of the cells, mm, and which parts lie in a channel."""
    shape = (grid.nx, grid.ny, PARTS, PARTS)
    outside, joint, notched = np.zeros(shape), np.zeros(shape), np.zeros(shape, dtype=bool)
    for recess in recesses:
        inside = grid.filled(shapely.from_wkb(recess.area))
        deep = joint if recess.from_joint else outside
        np.maximum(deep, recess.depth_mm * inside, out=deep)
        notched |= inside & recess.notched
    return thick_mm - outside - joint, notched


def _along(lines: BaseGeometry) -> tuple[Array, Array]:
    """Places about every half millimetre along lines, and the length that each stands for."""
    places, shares = [np.zeros((0, 2))], [np.zeros(0)]
    for line in shapely.get_parts(lines):
        if isinstance(line, shapely.LineString) and line.length > 0:
            count = max(2, math.ceil(2 * line.length))
            middles = shapely.line_interpolate_point(line, (np.arange(count) + 0.5) / count, normalized=True)
            places.append(shapely.get_coordinates(middles))
            shares.append(np.full(count, line.length / count))
    return np.vstack(places), np.concatenate(shares)


def _rows(grid: Grid, cells: Index, equations: Equations, places: Array) -> tuple[Index, Array]:
    """Unknowns and values of w at places on the plate, (n, 16) each; a place at its rim reads from the nearest cell."""
    own, inside = grid.cell_of(places)
    known = np.full((grid.nx, grid.ny), -1)
    known[cells[:, 0], cells[:, 1]] = np.arange(len(cells))
    index = known[own[:, 0], own[:, 1]]
    for lost in np.flatnonzero(index < 0):
        index[lost] = int(np.argmin(((cells - own[lost]) ** 2).sum(axis=1)))
        inside[lost] = np.clip(places[lost] - (grid.x0, grid.y0) - cells[index[lost]] * grid.size, 0, grid.size)
        inside[lost] /= grid.size
    return equations.functions[index], products(inside)["w"]


def _read(
    grid: Grid, cells: Index, equations: Equations, found: Array, fields: tuple[Mask, Array, Mask]
) -> tuple[Array, Array, Array, Mask]:
    """Curvatures, thickness, place and whether in a channel, where moments are read on the free plate."""
    free, left, notched = fields
    middles = (np.arange(_READ) + 0.5) / _READ
    reading = np.stack(np.meshgrid(middles, middles, indexing="ij"), -1).reshape(-1, 2)
    at = products(reading)
    own = found[:, equations.functions]
    curved = np.stack([own @ at[name].T / grid.size**2 for name in ("xx", "yy", "xy")], axis=1)
    part = (reading * PARTS).astype(np.int64) @ (PARTS, 1)
    on = free[:, part]
    where = (cells[:, None, :] + reading[None]) * grid.size + (grid.x0, grid.y0)
    return curved[:, :, on], left[:, part][on], where[on], notched[:, part][on]
