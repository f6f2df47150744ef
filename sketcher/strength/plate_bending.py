"""A thin lid of any outline, held by screws, pushed up by pressure and by the cord, resting on the body where it can.

Kirchhoff's plate by bicubic B-splines (``plate_grid``). Screws hold their axes down at w = 0; where the lid lies on dry
body it cannot go below it: contact is one-sided and found by turns (the active set of a semi-smooth Newton method).
That is what prises screws: a lid that pivots on its rim pulls more than pressure and cord push.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from sketcher.strength.bends import places_along
from sketcher.strength.plate_equations import Equations
from sketcher.strength.plate_grid import PARTS, Array, Grid, Mask, products, unit_parts

#: Cells, mm: the finest, and as many as keep an answer quick.
FINEST_MM = 4.0
MOST_CELLS = 2600
#: What a cell's empty part still carries, so that no function hangs in the air.
_GHOST = 1e-6
#: A screw's stiffness against a cell's own: so much stiffer that it counts as rigid.
_RIGID = 1e4
_TURNS = 12
#: Contact is found when fewer parts of the dry ones than this share change; when more than the other share do, the
#: equations are factored again.
STILL, _MANY = 0.001, 0.5
#: How exactly the equations are solved while contact is still sought, and in the end: the error's share in energy.
_ROUGH, _EXACT = 1e-3, 1e-4
#: A lid of fewer cells is solved without larger ones first.
_FEW_CELLS = 400
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
    D = 1; ``moment_n`` the largest principal moments (N mm per mm), ``at`` where they were read, (m, 2), and ``bulged``
    whether the lid's outer face is pulled there, and not the inner one.
    """

    screw_n: Array
    lift: Array
    bulge: float
    moment_n: Array
    at: Array
    bulged: Mask


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
        coarse: float = 1.0,
    ) -> None:
        """Lay the grid.

        Args:
            lid: in plan, with its openings.
            sealed: the area under pressure; its rings carry the cord.
            screws: axes, (n, 2).
            bedding_mm4: the body's stiffness over the lid's, k / D, 1/mm⁴; where the groove is cut it has none.
            groove_mm: the groove's width.
            size_mm: of a cell; by the lid's area when not given.
            coarse: cells so many times that size.

        Raises:
            PlateSolveError: fewer than three screws.
        """
        if len(screws) < 3:
            raise PlateSolveError(f"{len(screws)} screws cannot hold a lid; it takes three that are not in line")
        self.screws = screws
        along = [_along(ring) for ring in shapely.get_rings(shapely.get_parts(sealed)).tolist()]
        self.rings = tuple(place for place, _ in along)
        share = np.concatenate([length for _, length in along])
        size = coarse * (size_mm or max(FINEST_MM, math.sqrt(lid.area / MOST_CELLS)))
        cut = sealed.buffer(groove_mm / 2) if groove_mm else sealed
        parts = (lid, sealed, cut, screws, np.vstack(self.rings), share)
        self._fine = _Raster(*parts, size=size, bedding_mm4=bedding_mm4, poisson=poisson)
        # Where the lid lies on the body is found on cells of twice the size first, at a tenth of the cost.
        self._coarse = (
            _Raster(*parts, size=2 * size, bedding_mm4=bedding_mm4, poisson=poisson)
            if bedding_mm4 and len(self._fine.cells) > _FEW_CELLS
            else None
        )
        self._begun = False
        self.holds: Mask = np.ones(len(screws), dtype=bool)

    def hold(self, which: Mask) -> None:
        """From now on only these of the screws hold, (n,): the equations are changed, and their factor serves on.

        Raises:
            PlateSolveError: fewer than three.
        """
        if which.sum() < 3:
            raise PlateSolveError(f"{which.sum()} screws cannot hold a lid; it takes three that are not in line")
        for raster in (self._fine, self._coarse):
            if raster is not None:
                raster.hold(which.astype(float) - self.holds)
        self.holds = which

    def solve(self, push: Push, still: float = STILL) -> Bow:
        """The lid under one load. D is taken as 1: lifts are for D = 1 N mm, moments and pulls do not depend on it.

        Contact begins from the last load's, which is near when loads differ little. It counts as found when fewer of
        its parts than the share ``still`` change.
        """
        if not self._begun:
            self._begun = True
            if self._coarse is not None:
                self._coarse.settle(push)
                self._fine.lie_as(self._coarse)
        bow = self._fine.solve(push, still)
        return replace(bow, screw_n=np.where(self.holds, bow.screw_n, 0.0))

    def beside_screws(self, reach: float) -> Mask:
        """Which of the places where moments are read lie within ``reach`` mm of a screw's axis."""
        return self._fine.beside(self.screws[self.holds], reach)


class _Raster:
    """The lid on cells of one size."""

    def __init__(
        self,
        lid: BaseGeometry,
        sealed: BaseGeometry,
        cut: BaseGeometry,
        screws: Array,
        ring: Array,
        share: Array,
        *,
        size: float,
        bedding_mm4: float,
        poisson: float,
    ) -> None:
        self.grid = grid = Grid.over(lid, size)
        self.poisson = poisson
        on_lid, wet = grid.filled(lid), grid.filled(sealed)
        self.cells = np.argwhere(on_lid.any(axis=(2, 3)))
        at = (self.cells[:, 0], self.cells[:, 1])
        parts = (len(self.cells), PARTS * PARTS)
        self._on, self._wet = on_lid[at].reshape(parts), wet[at].reshape(parts) & on_lid[at].reshape(parts)
        self._dry: Mask = (
            self._on & ~grid.filled(cut)[at].reshape(parts) if bedding_mm4 else np.zeros(parts, dtype=bool)
        )
        self._touching: Mask = np.zeros_like(self._dry)
        self._equations = equations = Equations(self.cells, grid.nx, grid.ny)
        stiff, load, bed = unit_parts(poisson)
        self._bed = bed.reshape(len(bed), -1) * bedding_mm4 * size**2
        equations.add(slice(None), np.where(self._on, 1.0, _GHOST) / size**2 @ stiff.reshape(len(stiff), -1))
        self._screw_rows = numbers, values = self._rows(screws)
        self._rigid = _RIGID / size**2
        equations.add_at(numbers, self._rigid * values[:, :, None] * values[:, None, :])
        self._ring_rows = rows, at_ring = self._rows(ring)
        self._of_pressure = equations.summed(equations.functions, size**2 * self._wet @ load)
        self._of_cord = equations.summed(rows, share[:, None] * at_ring)
        self._found: Array | None = None

    def hold(self, change: Array) -> None:
        """Screws that hold no longer (-1) or again (1), (n,)."""
        some = np.flatnonzero(change)
        numbers, values = self._screw_rows[0][some], self._screw_rows[1][some]
        blocks = values[:, :, None] * values[:, None, :]
        self._equations.add_at(numbers, (self._rigid * change[some])[:, None, None] * blocks)

    def lie_as(self, coarse: _Raster) -> None:
        """Take contact from cells of twice the size."""
        i, j = self.cells[:, 0], self.cells[:, 1]
        known = np.zeros((coarse.grid.nx, coarse.grid.ny, PARTS, PARTS), dtype=bool)
        known[coarse.cells[:, 0], coarse.cells[:, 1]] = coarse._touching.reshape(-1, PARTS, PARTS)
        by_part = known.transpose(0, 2, 1, 3).reshape(coarse.grid.nx * PARTS, coarse.grid.ny * PARTS)
        part = np.arange(PARTS)
        a = (i[:, None, None] * PARTS + part[None, :, None]) // 2
        b = (j[:, None, None] * PARTS + part[None, None, :]) // 2
        self._touch(self._dry & by_part[a, b].reshape(self._dry.shape))

    def _touch(self, touching: Mask) -> int:
        """Change contact; how many parts of cells changed."""
        change = touching.astype(np.int8) - self._touching
        some = np.flatnonzero(change.any(axis=1))
        if len(some):
            self._equations.add(some, change[some].astype(float) @ self._bed)
        self._touching = touching
        return int(np.count_nonzero(change))

    def _rows(self, places: Array) -> tuple[NDArray[np.int64], Array]:
        """Unknowns and values of w at places: (n, 16) each. A place off the lid reads from the nearest cell."""
        cells, inside = self.grid.cell_of(places)
        width = self.grid.ny
        known = np.full(self.grid.nx * width, -1)
        known[self.cells[:, 0] * width + self.cells[:, 1]] = np.arange(len(self.cells))
        index = known[cells[:, 0] * width + cells[:, 1]]
        for lost in np.flatnonzero(index < 0):
            nearest = int(np.argmin(((self.cells - cells[lost]) ** 2).sum(axis=1)))
            index[lost], inside[lost] = nearest, np.clip(inside[lost], 0, 1)
        return self._equations.functions[index], products(inside)["w"]

    def settle(self, push: Push, still: float = STILL) -> tuple[Array, Array]:
        """Find contact under a load by turns, from the last one's; the right side, and the lift of every part."""
        equations = self._equations
        right = push.pressure_mpa * self._of_pressure + push.cord_n_mm * self._of_cord
        few, before = still * self._dry.sum(), -1
        if self._found is None and not self._touching.any():
            self._touch(self._dry)  # the dry lid lies on the body until it is found to lift
        for _ in range(_TURNS):
            found = self._found = equations.solve(right, self._found, _ROUGH)
            deflection = found[equations.functions] @ _AT_PARTS.T
            changed = self._touch(self._dry & (deflection < 0))
            if changed <= few or changed == before:
                break
            if changed > _MANY * self._dry.sum():
                equations.factor()
            before = changed
        return right, deflection

    def solve(self, push: Push, still: float) -> Bow:
        """The lid under one load."""
        right, deflection = self.settle(push, still)
        found = self._found = self._equations.solve(right, self._found, _EXACT)
        numbers, values = self._screw_rows
        pull = self._rigid * (values * found[numbers]).sum(axis=1)
        rows, at_ring = self._ring_rows
        lift = (at_ring * found[rows]).sum(axis=1)
        bulge = float(np.where(self._wet, deflection, 0.0).max(initial=0.0))
        return Bow(pull, lift, bulge, *self._moments(found))

    def _moments(self, found: Array) -> tuple[Array, Array, Mask]:
        at, size, nu = products(_READING), self.grid.size, self.poisson
        own = found[self._equations.functions]
        xx, yy, xy = (own @ at[name].T / size**2 for name in ("xx", "yy", "xy"))
        mx, my, mxy = xx + nu * yy, yy + nu * xx, (1 - nu) * xy
        largest = np.abs((mx + my) / 2) + np.hypot((mx - my) / 2, mxy)
        return largest[self._read_on], self._read_at, (mx + my < 0)[self._read_on]

    @cached_property
    def _read_on(self) -> Mask:
        """Of the places where moments are read, those on the lid: (cells, places)."""
        parts = np.minimum((_READING * PARTS).astype(np.int64), PARTS - 1)
        return self._on[:, parts[:, 0] * PARTS + parts[:, 1]]

    @cached_property
    def _read_at(self) -> Array:
        places = (self.cells[:, None, :] + _READING[None]) * self.grid.size + (self.grid.x0, self.grid.y0)
        return places[self._read_on]

    def beside(self, points: Array, reach: float) -> Mask:
        """Which of the places where moments are read lie within ``reach`` of a point."""
        step = self.grid.size / _READ
        shape = np.array((self.grid.nx, self.grid.ny)) * _READ
        middle = (points - (self.grid.x0, self.grid.y0)) / step - 0.5
        far = math.ceil(reach / step) + 1
        around = np.stack(np.meshgrid(*[np.arange(-far, far + 1)] * 2, indexing="ij"), -1).reshape(-1, 2)
        at = np.round(middle).astype(np.int64)[:, None, :] + around[None]
        near = ((at - middle[:, None, :]) ** 2).sum(axis=2) <= (reach / step) ** 2
        near &= ((at >= 0) & (at < shape)).all(axis=2)
        marked = np.zeros(shape, dtype=bool)
        marked[at[near][:, 0], at[near][:, 1]] = True
        by_cell = marked.reshape(self.grid.nx, _READ, self.grid.ny, _READ).transpose(0, 2, 1, 3)
        own = by_cell[self.cells[:, 0], self.cells[:, 1]].reshape(len(self.cells), _READ * _READ)
        return own[self._read_on]


def _square(count: int) -> Array:
    """The middles of ``count`` by ``count`` parts of a unit cell, (n, 2)."""
    middles = (np.arange(count) + 0.5) / count
    return np.stack(np.meshgrid(middles, middles, indexing="ij"), -1).reshape(-1, 2)


_READING, _AT_PARTS = _square(_READ), products(_square(PARTS))["w"]


def _along(ring: shapely.LinearRing) -> tuple[Array, Array]:
    """Places about every millimetre along a ring, and the length that each stands for."""
    count = max(8, math.ceil(ring.length / 1.0))
    step = ring.length / count
    places = places_along(ring, (np.arange(count) + 0.5) * step)
    return places, np.full(count, step)
