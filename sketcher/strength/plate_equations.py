"""The equations of a plate on a raster of bicubic splines: assembled once, changed cell by cell, solved many times.

Every function meets the 7 by 7 functions around it, so a matrix is a table of 49 columns. One factorisation serves
many solutions: when contact has changed in a few cells, or screws have moved, the old factor is a near inverse, and
conjugate gradients with it as preconditioner find the new solution in a few steps (Golub and van Loan, Matrix
Computations, 4th edition, 11.5), at a fiftieth of a factorisation each.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from sketcher.strength.plate_grid import Array

if TYPE_CHECKING:  # both take long to import, and the quick answer needs neither
    from scipy.sparse import csc_matrix
    from scipy.sparse.linalg import SuperLU

Index = NDArray[np.int64]
#: How many functions a function meets along one side, and in all.
_REACH, _MEETS = 7, 49
#: Steps after which a new factorisation is the shorter way.
_MOST_STEPS = 30


class Equations:
    """A symmetric positive matrix over the functions of some cells.

    Attributes:
        functions: the sixteen unknowns of every cell, (cells, 16).
        unknowns: how many there are.
    """

    def __init__(self, cells: Index, rows: int, columns: int) -> None:
        """Number the unknowns of cells (n, 2) of a raster of ``rows`` by ``columns``, the shorter side first."""
        i = cells[:, 0, None, None] + np.arange(4)[None, :, None]
        j = cells[:, 1, None, None] + np.arange(4)[None, None, :]
        turned = rows < columns
        height, width = (columns + 3, rows + 3) if turned else (rows + 3, columns + 3)
        flat = (j * width + i if turned else i * width + j).reshape(len(cells), 16)
        used = np.zeros(height * width, dtype=bool)
        used[flat] = True
        names = np.flatnonzero(used)
        number = np.full(height * width, -1)
        number[names] = np.arange(len(names))
        self.functions: Index = number[flat]
        self.unknowns = len(names)
        self._pattern(number.reshape(height, width), names)
        a, b = np.divmod(np.arange(16), 4)
        along, across = (b, a) if turned else (a, b)
        self._offsets = (along[None, :] - along[:, None] + 3) * _REACH + across[None, :] - across[:, None] + 3
        self._values = np.zeros(self.unknowns * _MEETS)
        self._factor: SuperLU | None = None

    def _pattern(self, number: Index, names: Index) -> None:
        """Which of the 49 a function meets: rows of a sparse matrix whose columns are in order."""
        around = np.full((number.shape[0] + 6, number.shape[1] + 6), -1)
        around[3:-3, 3:-3] = number
        at, beside = np.divmod(names, number.shape[1])
        steps = np.arange(_REACH)
        met = around[at[:, None, None] + steps[None, :, None], beside[:, None, None] + steps[None, None, :]]
        met = met.reshape(len(names), _MEETS)
        self._met = np.flatnonzero(met.ravel() >= 0)
        self._columns = met.ravel()[self._met].astype(np.int32)
        self._starts = np.concatenate([[0], np.cumsum((met >= 0).sum(axis=1))]).astype(np.int32)

    def add(self, cells: Index | slice, blocks: Array) -> None:
        """Add the matrices (n, 16, 16) of cells."""
        self.add_at(self.functions[cells], blocks)

    def add_at(self, numbers: Index, blocks: Array) -> None:
        """Add matrices (n, 16, 16) at the unknowns (n, 16), which are those of a cell each."""
        slots = numbers[:, :, None] * _MEETS + self._offsets
        self._values += np.bincount(slots.ravel(), blocks.ravel(), minlength=len(self._values))

    def summed(self, numbers: Index, values: Array) -> Array:
        """A right side: values summed by unknown."""
        return np.bincount(numbers.ravel(), values.ravel(), minlength=self.unknowns).astype(float)

    def _matrix(self) -> csc_matrix:
        from scipy.sparse import csc_matrix

        shape = (self.unknowns, self.unknowns)
        return csc_matrix((self._values[self._met], self._columns, self._starts), shape=shape)

    def factor(self) -> None:
        """Factor the matrix as it is now. SuperLU and not a banded solver: that one waits for its threads when the
        machine is busy, a hundred times as long as it works."""
        from scipy.sparse.linalg import splu

        self._factor = splu(
            self._matrix(), permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.0, options={"SymmetricMode": True}
        )

    def solve(self, right: Array, start: Array | None, tolerance: float) -> Array:
        """The solution, from a guess; its error in energy at most about ``tolerance`` of the whole."""
        found = None if self._factor is None or start is None else self._stepped(right, start, tolerance)
        if found is None:
            self.factor()
            assert self._factor is not None
            found = self._factor.solve(right)
        return found

    def _stepped(self, right: Array, start: Array, tolerance: float) -> Array | None:
        """By conjugate gradients behind the factor; none when that takes too long."""
        matrix, factor = self._matrix(), self._factor
        assert factor is not None
        found = start.copy()
        rest = right - matrix @ found
        near = factor.solve(rest)
        way, power = near.copy(), float(rest @ near)
        enough = tolerance**2 * max(float(right @ found), 1e-300)
        for _ in range(_MOST_STEPS):
            if power <= enough:
                return found
            pushed = matrix @ way
            length = power / float(way @ pushed)
            found += length * way
            rest -= length * pushed
            near = factor.solve(rest)
            power, before = float(rest @ near), power
            way = near + power / before * way
        return None
