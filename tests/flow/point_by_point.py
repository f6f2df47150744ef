"""A second method for the air that a loop keeps: every point of every line is a place of its own in the net."""

from __future__ import annotations

import heapq
import math
from collections.abc import Mapping, Sequence

import numpy as np

from sketcher.flow.air import LEAST_ML, LEAST_MM, Line


class Points:
    """The net of all lines' points with their heights in one posture; ``sign`` -1 turns it upside down."""

    def __init__(self, all_lines: Sequence[Line], up: tuple[float, float, float], sign: float = 1.0) -> None:
        direction = np.array(up, dtype=float)
        self.height: dict[object, float] = {}
        self.near: dict[object, list[object]] = {}
        self.steps: list[tuple[Line, object, object, float]] = []
        for line in all_lines:
            levels = sign * (line.points @ direction) + line.rise_mm * abs(direction[2])
            lengths = np.linalg.norm(np.diff(line.points, axis=0), axis=1)
            names: list[object] = [line.start, *((line.link, i) for i in range(1, len(line.points) - 1)), line.end]
            for name, level in zip(names, levels, strict=True):
                self.height[name] = max(self.height.get(name, -math.inf), float(level))
            for i in range(len(names) - 1):
                self.near.setdefault(names[i], []).append(names[i + 1])
                self.near.setdefault(names[i + 1], []).append(names[i])
                self.steps.append((line, names[i], names[i + 1], float(lengths[i])))

    def outlet(self, openings: Mapping[str, float]) -> dict[object, float]:
        """For each place the largest, over all ways to all openings, of the lowest point on the way; openings by node
        with their heights. Places that no opening is reached from are left out."""
        found: dict[object, float] = {}
        queue: list[tuple[float, int, object]] = []
        for number, (name, level) in enumerate(sorted(openings.items())):
            if name in self.height:
                heapq.heappush(queue, (-max(level, self.height[name]), number, name))
        number = len(queue)
        while queue:
            low, _, place = heapq.heappop(queue)
            if place in found:
                continue
            found[place] = -low
            for other in self.near.get(place, ()):
                if other not in found:
                    number += 1
                    heapq.heappush(queue, (-min(-low, self.height[other]), number, other))
        return found


def kept(net: Points, openings: Mapping[str, float]) -> dict[int, float]:
    """ml kept in each way, by link: of each piece the part that stands above where it can get out."""
    outlet = net.outlet(openings)
    found: dict[int, float] = {}
    for line, a, b, length in net.steps:
        top, foot = (a, b) if net.height[a] >= net.height[b] else (b, a)
        # Its upper end says at which level the piece can let out what it holds.
        over = net.height[top] - outlet.get(top, -math.inf)
        if over <= LEAST_MM or not line.area_mm2:
            continue
        falls = net.height[top] - net.height[foot]
        part = min(over / falls, 1.0) if falls > 1e-9 else 1.0
        found[line.link] = found.get(line.link, 0.0) + part * length * line.area_mm2 / 1000
    return {link: volume for link, volume in found.items() if volume > LEAST_ML}
