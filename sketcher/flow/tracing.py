"""Where the water goes: how much of the pump's flow passes no block on its way round."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from sketcher.flow.heat import mixed
from sketcher.flow.network import STILL, Graph

Array = NDArray[np.float64]


def passed_by(graph: Graph, flow: Array, pump: int, blocks: Sequence[int]) -> float:
    """The part of a pump's flow, 0 to 1, that came round without passing any of the blocks.

    As if dye were put in at the pump and taken out by the blocks: what colour comes back is the answer.

    Args:
        graph: the links.
        flow: m³/s, (links,).
        pump: the link in which the dye is set to 1.
        blocks: the links in which it is set to 0.
    """
    size = np.abs(flow)
    stream = np.where(size > STILL, size, 0.0)
    cleared = np.zeros(len(flow))
    cleared[[pump, *blocks]] = stream[[pump, *blocks]]
    dyed = np.zeros(len(flow))
    dyed[pump] = stream[pump]
    # Parts of the network that the pump does not reach are held at no colour.
    elsewhere = graph.component != graph.component[graph.start[pump]]
    dye = mixed(graph, flow, stream, cleared, dyed, np.where(elsewhere, float(stream.max()), 0.0))
    return min(max(float(dye[graph.start[pump]]), 0.0), 1.0)
