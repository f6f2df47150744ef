"""What a cutter leaves, held against shapely's buffer of the path at fine chords."""

from __future__ import annotations

import pytest
from shapely import LineString

from sketcher.geometry.path import Point, fillet
from sketcher.geometry.sweep import swept


@pytest.mark.parametrize(
    ("corners", "radius", "width"),
    [
        ([(0, 0), (60, 0), (60, 40)], 10, 8),
        ([(0, 0), (60, 0), (60, 40)], 2, 8),  # tighter than half the width
        ([(0, 0), (60, 0), (60, 5), (0, 5)], 2.5, 8),  # comes back over itself
        ([(0, 0), (60, 0), (60, 30), (30, 30), (30, -20)], 5, 6),  # crosses itself
        ([(0, 0), (40, 0), (0, 1)], 0, 8),  # nearly turns round
    ],
)
def test_sweeps_are_buffers(corners: list[Point], radius: float, width: float) -> None:
    path, _ = fillet(corners, [radius] * len(corners))
    found = swept(path, width)
    truth = LineString(path.points(1e-5)).buffer(width / 2, quad_segs=1000)
    assert all(region.exact for region in found)
    assert sum(region.area for region in found) == pytest.approx(truth.area, rel=2e-5)
    assert sum(len(region.islands) for region in found) == len(truth.interiors)
    assert any(not s.straight for region in found for s in region.outer.segments)
