"""Finding where a round of sums changes nothing any more: x = g(x), for a g that is dear to work out."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

#: How many earlier rounds are taken into account.
_DEPTH = 4


class Mixer:
    """Anderson's mixing (J. ACM 12, 1965): the next x from the last few, as if g were linear between them.

    When a round made matters worse the memory is dropped and the next steps are shortened: g has kinks, where one law
    takes over from another.
    """

    def __init__(self) -> None:
        self._x: list[Array] = []
        self._r: list[Array] = []
        self._part = 1.0

    def next(self, x: Array, wanted: Array) -> Array:
        """The x to try next.

        Args:
            x: what was tried, (n,), in units in which 1 is about as large for every entry.
            wanted: g(x), (n,).
        """
        r = wanted - x
        if self._r and np.linalg.norm(r) > np.linalg.norm(self._r[-1]):
            self._part = max(0.5 * self._part, 0.02)
            self._x, self._r = [], []
        elif self._r:
            self._part = min(1.3 * self._part, 1.0)
        self._x, self._r = [*self._x[-_DEPTH:], x], [*self._r[-_DEPTH:], r]
        step = self._part * r
        if len(self._r) > 1:
            dx, dr = (np.diff(np.array(rows), axis=0).T for rows in (self._x, self._r))
            weights = np.linalg.lstsq(dr, r, rcond=1e-8)[0]
            step = step - (dx + self._part * dr) @ weights
        return x + step
