"""The links of a network: ways first, then devices and pumps, and what all of them lose at once. SI units."""

from __future__ import annotations

from collections.abc import Sequence
from copy import copy

import numpy as np
from numpy.typing import NDArray

from sketcher.flow.curves import Curve
from sketcher.flow.ducts import Duct, Ducts
from sketcher.flow.network import Law

Array = NDArray[np.float64]


#: Slopes handed to the solver are this at least, Pa per m³/s (0.1 Pa at 6 l/min): steps, not answers, depend on it.
_LEAST_SLOPE = 1e3


class Links:
    """Ways and devices of one network, in the order of the graph's links: all ways, then all curves."""

    def __init__(self, ducts: Sequence[Duct], curves: Sequence[Curve]) -> None:
        self.ducts = Ducts(ducts)
        self.curves = tuple(curves)

    def __len__(self) -> int:
        return len(self.ducts) + len(self.curves)

    def with_curves(self, curves: Sequence[Curve]) -> Links:
        """The same ways with other devices."""
        found = copy(self)
        found.curves = tuple(curves)
        return found

    def law(self, density: float, viscosity: Array, sources: Array | None = None) -> Law:
        """The loss of every link as a function of the flows.

        Args:
            density: kg/m³.
            viscosity: Pa s in each way, (ways,).
            sources: a further loss of every link that stands still while the flows are sought, Pa, (links,).
        """
        count = len(self.ducts)
        added = 0.0 if sources is None else sources

        def loss(flow: Array) -> tuple[Array, Array]:
            pressure, slope = self.ducts.loss(flow[:count], density, viscosity)
            pairs = [curve.loss(float(q)) for curve, q in zip(self.curves, flow[count:], strict=True)]
            devices = np.array(pairs).reshape(-1, 2)
            return (
                np.concatenate([pressure, devices[:, 0]]) + added,
                np.maximum(np.concatenate([slope, devices[:, 1]]), _LEAST_SLOPE),
            )

        return loss
