"""How long a check takes, as a ratio to the bare geometry of the same items, in the same run.

The floor is what nobody can do without: buffer every core, build one tree, find the pairs that are near, and measure
them. ``docs/speed.md`` has the figures. ``python -m tests.bench.test_check_speed`` prints them.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely

from sketcher.checks.scene import NEAR_MM
from sketcher.document import Document, read
from sketcher.geometry.shapes import build, quad_segs
from sketcher.server.look_routes import answer
from tests.checks.plates import made

DEMO = Path(__file__).parents[2] / "examples" / "riser-bench.json"


def cores(document: Document) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Points, lines and areas of the document's items, and the radii to buffer them by, with no work left to do."""
    shapes = build(document)
    geometries: list[shapely.Geometry] = []
    radii: list[float] = []
    for port in shapes.ports.values():
        geometries += [shapely.Point(port.at)] * 2
        radii += [port.thread_diameter / 2, port.bore_diameter / 2]
    for channel in shapes.channels.values():
        geometries.append(shapely.LineString(channel.path.points()))
        radii.append(channel.item.width_mm / 2)
    for hole in shapes.holes.values():
        geometries.append(shapely.Point(hole.item.x_mm, hole.item.y_mm))
        radii.append(hole.diameter / 2)
    given = (shapes.cutouts, shapes.pockets, shapes.keep_outs, shapes.obstacles, shapes.openings)
    for area in (area for group in (*given, shapes.boards, shapes.devices) for area in group.values()):
        geometries.append(area.polygon)
        radii.append(0.0)
    return np.array(geometries, dtype=object), np.array(radii), np.array([quad_segs(r) if r else 1 for r in radii])


def bare(geometries: np.ndarray, radii: np.ndarray, segments: np.ndarray) -> float:
    """The floor: buffer all, one tree, near pairs, distances. Returns the sum, so that nothing is left out."""
    polygons = geometries.copy()
    for count in np.unique(segments):
        same = segments == count
        polygons[same] = shapely.buffer(geometries[same], radii[same], quad_segs=int(count))
    first, second = shapely.STRtree(polygons).query(polygons, predicate="dwithin", distance=NEAR_MM)
    once = first < second
    return float(shapely.distance(polygons[first[once]], polygons[second[once]]).sum())


def best(*works: Callable[[], object], rounds: int = 5, seconds: float = 0.3) -> list[float]:
    """The shortest run of each work, s: what it takes when nothing else is in the way.

    The works take turns, so that whatever else the machine does meets all of them alike.
    """
    shortest, end, round_ = [float("inf")] * len(works), time.perf_counter() + seconds, 0
    while round_ < rounds or time.perf_counter() < end:
        round_ += 1
        for n, work in enumerate(works):
            start = time.perf_counter()
            work()
            shortest[n] = min(shortest[n], time.perf_counter() - start)
    return shortest


def measure(document: Document) -> list[float]:
    """Seconds of a quick check as the page asks for one during a drag, and of the bare geometry."""
    parts = cores(document)
    return best(drag(document), lambda: bare(*parts))


def drag(document: Document) -> Callable[[], object]:
    """The server's own answer to the next move of a port: shapes, all rules but the slow ones, findings as plain
    values."""

    def move() -> object:
        nonlocal document
        first, *others = document.ports
        moved = first.model_copy(update={"x_mm": first.x_mm + 0.01})
        document = document.model_copy(update={"ports": (moved, *others)})
        found = answer(document, ["findings"], quick=True)
        assert not found["missing"]
        return found

    return move


@pytest.mark.parametrize("count", [60, 600, 6000])
def test_a_check_takes_at_most_six_times_the_bare_geometry(count: int) -> None:
    ours, floor = measure(made(count))
    assert ours <= 6 * floor, f"{ours * 1e3:.1f} ms against {floor * 1e3:.1f} ms"


def test_the_demos_check_takes_at_most_six_times_the_bare_geometry() -> None:
    ours, floor = measure(read(DEMO))
    assert ours <= 6 * floor, f"{ours * 1e3:.1f} ms against {floor * 1e3:.1f} ms"


def test_ten_times_the_items_take_at_most_thirteen_times_the_time() -> None:
    few, many = made(600), made(6000)
    short, long = best(drag(few), drag(many), rounds=7)
    assert long <= 13 * short, f"{long * 1e3:.1f} ms against {short * 1e3:.1f} ms"


if __name__ == "__main__":
    for name, document in (("demo", read(DEMO)), *((str(n), made(n)) for n in (60, 600, 6000))):
        ours, floor = measure(document)
        print(f"{name:>5}  check {ours * 1e3:8.2f} ms   floor {floor * 1e3:8.2f} ms   ratio {ours / floor:5.2f}")
