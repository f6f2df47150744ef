"""Which of many shapes meet, a few rows at a time: of a crowd, not all pairs fit into memory at once."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

#: So many shapes are held against all at a time.
_AT_A_TIME = 64


def meeting_pairs(
    shapes: NDArray[np.object_], predicate: Literal["intersects"] | None = "intersects"
) -> Iterator[tuple[NDArray[np.intp], NDArray[np.intp]]]:
    """Numbers of the shapes that meet, block by block: each pair once, the lower number first.

    Args:
        shapes: shapely's geometries.
        predicate: None asks the boxes about them alone.
    """
    # Few documents ask, so what takes long to import waits for them.
    import shapely

    tree = shapely.STRtree(shapes)
    for start in range(0, len(shapes), _AT_A_TIME):
        first, second = tree.query(shapes[start : start + _AT_A_TIME], predicate=predicate)
        first = first + start
        yield first[second > first], second[second > first]
