"""A thin lid of any outline, held by screws, pushed up by pressure and by the cord, resting on the body where it can.

Kirchhoff's plate by bicubic B-splines (``plate_grid``). Screws hold their axes down at w = 0; where the lid lies on dry
body it cannot go below it: contact is one-sided and found by turns (the active set of a semi-smooth Newton method).
That is what prises screws: a lid that pivots on its rim pulls more than pressure and cord push.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_matrix
from scipy.sparse.linalg import SuperLU, splu
from shapely.geometry.base import BaseGeometry

from sketcher.strength.plate_grid import PARTS, Array, Grid, Mask, products, unit_parts

#: Cells, mm: the finest, and as many as keep an answer quick.
FINEST_MM = 4.0
MOST_CELLS = 2600
#: What a cell's empty part still carries, so that no function hangs in the air.
_GHOST = 1e-6
#: A screw's stiffness against a cell's own: so much stiffer that it counts as rigid.
_RIGID = 1e4
_TURNS = 12
#: Places in a cell where bending is read, along one side.
_READ = 3


class PlateSolveError(ValueError):
    """A lid that nothing holds, or whose figures cannot be."""


@dataclass(frozen=True)
class Push:
    """One load: pressure on the sealed area, MPa, and the cord's force, N per mm."""

    pressure_mpa: float
    cord_n_mm: float


@dataclass(frozen=True)
class Bow:
    """What a lid does under one load.

    ``screw_n`` are the pulls on the screws (n,); ``lift`` along the rings, ``bulge`` the largest anywhere, both for
    D = 1; ``moment_n`` the largest principal moments (N mm per mm) and ``at`` where they were read, (m, 2).
    """

    screw_n: Array
    lift: Array
    bulge: float
    moment_n: Array
    at: Array


class LidPlate:
    """One lid as a system of equations; ``solve`` answers loads one after another."""

    def __init__(
        self,
        lid: BaseGeometry,
        sealed: BaseGeometry,
        screws: Array,
        *,
        bedding_mm4: float,
        groove_mm: float = 0.0,
        poisson: float = 0.3,
        size_mm: float | None = None,
    ) -> None:
        """Lay the grid.

        Args:
            lid: in plan, with its openings.
            sealed: the area under pressure; its rings carry the cord.
            screws: axes, (n, 2).
            bedding_mm4: the body's stiffness over the lid's, k / D, 1/mm⁴; where the groove is cut it has none.
            groove_mm: the groove's width.
            size_mm: of a cell; by the lid's area when not given.

        Raises:
            PlateSolveError: fewer than three screws.
        """
        if len(screws) < 3:
            raise PlateSolveError(f"{len(screws)} screws cannot hold a lid; it takes three that are not in line")
        size = size_mm or max(FINEST_MM, math.sqrt(lid.area / MOST_CELLS))
        self.grid = grid = Grid.over(lid, size)
        self.poisson, self.screws = poisson, screws
        on_lid, wet = grid.filled(lid), grid.filled(sealed)
        self._cells = np.argwhere(on_lid.any(axis=(2, 3)))
        at = (self._cells[:, 0], self._cells[:, 1])
        parts = (len(self._cells), PARTS * PARTS)
        self._on, self._wet = on_lid[at].reshape(parts), wet[at].reshape(parts) & on_lid[at].reshape(parts)
        self._functions = self._numbered()
        self._stiff, self._load, self._bed = unit_parts(poisson)
        self._screw_rows = self._rows(screws)
        along = [_along(ring) for ring in shapely.get_rings(shapely.get_parts(sealed)).tolist()]
        self.rings = tuple(place for place, _ in along)
        self._ring_share = np.concatenate([share for _, share in along])
        self._ring_rows = self._rows(np.vstack(self.rings))
        middles = (np.arange(_READ) + 0.5) / _READ
        self._reading = np.stack(np.meshgrid(middles, middles, indexing="ij"), -1).reshape(-1, 2)
        cut = grid.filled(sealed.buffer(groove_mm / 2)) if groove_mm else wet
        self._dry = self._on & ~cut[at].reshape(parts)
        self._bedding = bedding_mm4 * size**2
        self._touching: Mask = np.zeros_like(self._dry)
        middle = (np.arange(PARTS) + 0.5) / PARTS
        self._at_parts = products(np.stack(np.meshgrid(middle, middle, indexing="ij"), -1).reshape(-1, 2))["w"]
        # Where every cell's numbers go in the band: worked out once, used in every turn.
        row, column = self._functions[:, :, None], self._functions[:, None, :]
        self._lower = np.flatnonzero((row >= column).ravel())
        self._slots = ((row - column) * self._unknowns + column).ravel()[self._lower]
        self._width = int((self._functions.max(axis=1) - self._functions.min(axis=1)).max()) + 1
        self._rigid = _RIGID / size**2
        stiffness = self._summed(self._stiff, np.where(self._on, 1.0, _GHOST) / size**2, slice(None))
        self._fixed = stiffness + self._held()
        self._filled = np.flatnonzero(self._fixed)

    def _numbered(self) -> NDArray[np.int64]:
        """The sixteen unknowns of every cell, (cells, 16); numbered along the shorter side for a narrow band."""
        grid, cells = self.grid, self._cells
        i = cells[:, 0, None, None] + np.arange(4)[None, :, None]
        j = cells[:, 1, None, None] + np.arange(4)[None, None, :]
        flat = i * (grid.ny + 3) + j if grid.nx >= grid.ny else j * (grid.nx + 3) + i
        names, numbers = np.unique(flat, return_inverse=True)
        self._unknowns = len(names)
        return numbers.reshape(len(cells), 16)

    def _rows(self, places: Array) -> tuple[NDArray[np.int64], Array]:
        """Unknowns and values of w at places: (n, 16) each. A place off the lid reads from the nearest cell."""
        cells, inside = self.grid.cell_of(places)
        width = self.grid.ny
        known = np.full(self.grid.nx * width, -1)
        known[self._cells[:, 0] * width + self._cells[:, 1]] = np.arange(len(self._cells))
        index = known[cells[:, 0] * width + cells[:, 1]]
        for lost in np.flatnonzero(index < 0):
            nearest = int(np.argmin(((self._cells - cells[lost]) ** 2).sum(axis=1)))
            index[lost], inside[lost] = nearest, np.clip(inside[lost], 0, 1)
        return self._functions[index], products(inside)["w"]

    def solve(self, push: Push) -> Bow:
        """The lid under one load. D is taken as 1: lifts are for D = 1 N mm, moments and pulls do not depend on it.

        Contact begins from the last load's, which is near when loads differ little.
        """
        size = self.grid.size
        rows, at_ring = self._ring_rows
        right = np.bincount(
            self._functions.ravel(),
            (push.pressure_mpa * size**2 * self._wet @ self._load).ravel(),
            minlength=self._unknowns,
        ) + np.bincount(
            rows.ravel(), (push.cord_n_mm * self._ring_share[:, None] * at_ring).ravel(), minlength=self._unknowns
        )
        found, before = np.zeros(self._unknowns), -1
        for _ in range(_TURNS):
            # Cells that touch nothing add nothing: they are left out.
            some = np.flatnonzero(self._touching.any(axis=1))
            band = self._fixed + self._summed(self._bed, np.where(self._touching[some], self._bedding, 0.0), some)
            found = self._factor(band).solve(right)
            deflection = found[self._functions] @ self._at_parts.T
            below = self._dry & (deflection < 0)
            changed = int(np.count_nonzero(below != self._touching))
            self._touching = below
            if changed <= max(2, 0.002 * self._dry.sum()) or changed == before:
                break
            before = changed
        numbers, values = self._screw_rows
        pull = self._rigid * (values * found[numbers]).sum(axis=1)
        lift = (at_ring * found[rows]).sum(axis=1)
        bulge = float(np.where(self._wet, deflection, 0.0).max(initial=0.0))
        return Bow(pull, lift, bulge, *self._moments(found))

    def _moments(self, found: Array) -> tuple[Array, Array]:
        at, size, nu = products(self._reading), self.grid.size, self.poisson
        own = found[self._functions]
        xx, yy, xy = (own @ at[name].T / size**2 for name in ("xx", "yy", "xy"))
        mx, my, mxy = xx + nu * yy, yy + nu * xx, (1 - nu) * xy
        largest = np.abs((mx + my) / 2) + np.hypot((mx - my) / 2, mxy)
        places = (self._cells[:, None, :] + self._reading[None]) * size + (self.grid.x0, self.grid.y0)
        parts = np.minimum((self._reading * PARTS).astype(np.int64), PARTS - 1)
        on = self._on[:, parts[:, 0] * PARTS + parts[:, 1]]
        return largest[on], places[on]

    def _summed(self, parts: Array, weights: Array, cells: NDArray[np.int64] | slice) -> Array:
        """Cells' matrices, each part weighted, summed into the flat band."""
        blocks = (weights @ parts.reshape(len(parts), -1)).reshape(-1, 256)
        if not isinstance(cells, slice):
            row, column = self._functions[cells][:, :, None], self._functions[cells][:, None, :]
            lower = (row >= column).ravel()
            slots = ((row - column) * self._unknowns + column).ravel()[lower]
            return self._counted(slots, blocks.ravel()[lower])
        return self._counted(self._slots, blocks.ravel()[self._lower])

    def _factor(self, band: Array) -> SuperLU:
        """The matrix of a band, factored. SuperLU and not a banded solver: that one waits for its threads when the
        machine is busy, a hundred times as long as it works."""
        offset, column = np.divmod(self._filled, self._unknowns)
        row, value = column + offset, band[self._filled]
        off = offset > 0
        entries = np.concatenate([value, value[off]])
        places = (np.concatenate([row, column[off]]), np.concatenate([column, row[off]]))
        matrix = coo_matrix((entries, places), shape=(self._unknowns, self._unknowns)).tocsc()
        return splu(matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True})

    def _counted(self, slots: NDArray[np.int64], values: Array) -> Array:
        return np.bincount(slots, values, minlength=self._width * self._unknowns).astype(float)

    def _held(self) -> Array:
        """The screws' springs in the flat band."""
        numbers, values = self._screw_rows
        row, column = numbers[:, :, None], numbers[:, None, :]
        lower = row >= column
        slots = ((row - column) * self._unknowns + column)[lower]
        blocks = self._rigid * (values[:, :, None] * values[:, None, :])[lower]
        return self._counted(slots, blocks)


def _along(ring: shapely.LinearRing) -> tuple[Array, Array]:
    """Places about every millimetre along a ring, and the length that each stands for."""
    count = max(8, math.ceil(ring.length / 1.0))
    step = ring.length / count
    places = shapely.get_coordinates(shapely.line_interpolate_point(ring, (np.arange(count) + 0.5) * step))
    return places, np.full(count, step)
