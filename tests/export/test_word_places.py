"""Places for words on a piece, against the piece as one polygon: what stays, less the room around every edge."""

from __future__ import annotations

import numpy as np
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from sketcher.export.word_places import MARGIN_MM, Places

PIECE = shapely.Polygon([(0, 0), (120, 0), (120, 80), (70, 80), (70, 40), (40, 40), (40, 80), (0, 80)])
holes = st.lists(st.tuples(st.integers(5, 115), st.integers(5, 75), st.integers(1, 6)), max_size=12)


@given(holes, st.lists(st.tuples(st.floats(-5, 120), st.floats(-5, 80)), min_size=1, max_size=20))
@settings(max_examples=60, deadline=None)
def test_a_box_fits_where_the_eroded_piece_holds_it(
    given_: list[tuple[int, int, int]], corners: list[tuple[float, float]]
) -> None:
    discs = [shapely.Point(x, y).buffer(r) for x, y, r in given_]
    free = PIECE.difference(shapely.union_all(discs)).buffer(-1.0, quad_segs=64)
    places, half = Places(PIECE, discs, 1.0), MARGIN_MM / 2
    for x, y in corners:
        box = shapely.box(x - half, y - half, x + 9 + half, y + 4 + half)
        fits = places._on_the_piece(np.array([[x, y]]), 9, 4)[0]
        # Round ends are polygons here: a hair's breadth decides nothing.
        if fits:
            assert free.buffer(0.05).contains(box)
        else:
            assert not free.buffer(-0.05).contains(box)


def test_nothing_is_placed_on_what_was_placed() -> None:
    places = Places(PIECE, [shapely.Point(20, 20).buffer(8)], 1.0)
    taken = []
    while (at := places.anywhere(14, 6)) is not None:
        box = shapely.box(at[0], at[1], at[0] + 14, at[1] + 6)
        assert all(box.distance(other) >= MARGIN_MM - 1e-9 for other in taken)
        assert PIECE.contains(box)
        assert box.distance(shapely.Point(20, 20)) >= 8
        taken.append(box)
    assert len(taken) > 10
