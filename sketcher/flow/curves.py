"""Devices from measured points: a rising curve of pressure against flow, without wiggles.

SI: flow m³/s, pressure Pa. A curve answers for a flow in either direction (an odd function).
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import Protocol

from sketcher.flow.monotone import MonotoneCubic, through

#: Least slope of any curve, Pa per m³/s: 1 Pa at 6 l/min. It stands for a device that loses nothing.
LEAST_SLOPE = 1e4
#: Below this part of the first point's flow the curve is a straight line through nothing, so that its slope is not 0.
_STRAIGHT_BELOW = 1e-3
#: A measured curve that falls is made to rise at least so: p ~ Q^0.1.
_LEAST_POWER = 0.1
#: What a closed check valve holds back, Pa per m³/s: 100 kPa push 60 µl/min through.
_WALL = 1e14
#: Flows nearer to each other, or to nothing, are the same, m³/s: 6 µl/min.
SAME_FLOW = 1e-10


class Curve(Protocol):
    """What a link of the network asks of a device."""

    def loss(self, flow: float) -> tuple[float, float]:
        """Pressure lost along the flow (Pa) and its slope (Pa per m³/s, above 0)."""
        ...


@dataclass(frozen=True)
class DeviceCurve:
    """A passive device.

    Between the points ln p follows a monotone cubic in ln Q: a device with p ~ Q^1.8 is met exactly by any two of its
    points. Beyond them p ~ Q^n goes on with the curve's own n at the end, held between 1 (laminar) and 2 (turbulent).
    One point alone is a square law.

    Attributes:
        lowest, highest: the measured range of flow, m³/s; both 0 without points.
        remarks: what was done to the points, in sentences.
    """

    lowest: float = 0.0
    highest: float = 0.0
    remarks: tuple[str, ...] = ()
    _line: MonotoneCubic | None = field(default=None, repr=False)
    _powers: tuple[float, float] = field(default=(2.0, 2.0), repr=False)

    def covers(self, flow: float) -> bool:
        """Whether the flow lies within the measured points; below the first the way to no flow is safe ground."""
        return abs(flow) <= self.highest * (1 + 1e-9)

    def loss(self, flow: float) -> tuple[float, float]:
        """Pressure lost along the flow, Pa, and its slope, Pa per m³/s."""
        line = self._line
        if line is None:
            return LEAST_SLOPE * flow, LEAST_SLOPE
        size = abs(flow)
        straight = self.lowest * _STRAIGHT_BELOW
        at = max(size, straight)
        x = math.log(at)
        if x <= line.x[0]:
            power = self._powers[0]
            log_p = line.first[0] + power * (x - line.x[0])
        elif x >= line.x[-1]:
            power = self._powers[1]
            log_p = line.last[0] + power * (x - line.x[-1])
        else:
            log_p, power = line.at(x)
        pressure = math.exp(log_p)
        if size < straight:
            slope = pressure / straight
            return slope * flow, max(slope, LEAST_SLOPE)
        slope = max(power, _LEAST_POWER / 2) * pressure / at
        return math.copysign(pressure, flow), max(slope, LEAST_SLOPE)


@dataclass(frozen=True)
class CheckValve:
    """A device that lets next to nothing pass backwards.

    What still passes is below what counts as a flow at any pressure that small pumps give, so that the network keeps
    its one answer.
    """

    inner: Curve

    @property
    def highest(self) -> float:
        """End of the measured range of flow, m³/s."""
        return float(getattr(self.inner, "highest", 0.0))

    def loss(self, flow: float) -> tuple[float, float]:
        """As the device's own, and a wall against flow backwards."""
        pressure, slope = self.inner.loss(flow)
        if flow >= 0:
            return pressure, slope
        return pressure + _WALL * flow, slope + _WALL


Points = tuple[tuple[float, float], ...]


def tidied(points: Iterable[tuple[float, float]]) -> tuple[list[float], list[float]]:
    """Flows, rising, and their values; points at the same flow are averaged."""
    flows: list[float] = []
    values: list[list[float]] = []
    for flow, value in sorted(points):
        if flows and flow - flows[-1] <= SAME_FLOW:
            values[-1].append(value)
        else:
            flows.append(flow if flow > SAME_FLOW else 0.0)
            values.append([value])
    return flows, [sum(several) / len(several) for several in values]


@lru_cache(maxsize=512)
def device_curve(points: Points) -> DeviceCurve:
    """The curve through measured points (flow m³/s, pressure Pa), in any order; no points: a device without loss."""
    remarks: list[str] = []
    if any(flow <= SAME_FLOW and pressure > 0 for flow, pressure in points):
        remarks.append("a passive device loses nothing at no flow: its point at zero flow was left out")
    if any(flow > SAME_FLOW and pressure == 0 for flow, pressure in points):
        remarks.append("points without a loss at a flow were left out")
    flows, pressures = tidied(point for point in points if point[0] > SAME_FLOW and point[1] > 0)
    if not flows:
        return DeviceCurve(remarks=tuple(remarks))
    if any(later < earlier for earlier, later in pairwise(pressures)):
        remarks.append("the points fall somewhere, which no passive device does: neighbours were averaged")
        pressures = _rising(pressures)
    for i in range(1, len(flows)):
        pressures[i] = max(pressures[i], pressures[i - 1] * (flows[i] / flows[i - 1]) ** _LEAST_POWER)
    line = through([math.log(flow) for flow in flows], [math.log(pressure) for pressure in pressures])
    powers = (min(max(line.first[1], 1.0), 2.0), min(max(line.last[1], 1.0), 2.0))
    if len(flows) == 1:
        remarks.append("one point only: its loss is taken to grow with the square of the flow")
        powers = (2.0, 2.0)
    return DeviceCurve(flows[0], flows[-1], tuple(remarks), line, powers)


def _rising(values: list[float]) -> list[float]:
    """The nearest values that never fall: neighbours that do are pooled to their mean."""
    pools: list[list[float]] = []
    for value in values:
        pools.append([value, 1.0])
        while len(pools) > 1 and pools[-2][0] > pools[-1][0]:
            mean, count = pools.pop()
            before, many = pools[-1]
            pools[-1] = [(before * many + mean * count) / (many + count), many + count]
    return [mean for mean, count in pools for _ in range(int(count))]
