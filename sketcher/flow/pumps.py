"""Pumps from their head curves, at any speed.

SI: flow m³/s, pressure Pa; speed as a part of the speed at which the curve was measured.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import lru_cache

from sketcher.flow.curves import Points, tidied
from sketcher.flow.monotone import MonotoneCubic, through

#: Slopes are held above this part of (shut-off pressure / largest flow): a flat curve would have no single answer.
_FLATTEST = 1e-4
#: Pressures up to this are none, Pa.
_NO_PRESSURE = 1e-6


@dataclass(frozen=True)
class PumpCurve:
    """A pump at full speed: pressure given against flow, never rising.

    Between the points a monotone cubic. Right of the last point, and left of the first (at the
    least, water pushed backwards through the running pump), a parabola goes on with the curve's own slope. A curve that
    climbs before it falls is taken flat at its top up to there: of two crossings with a loop's curve only the one on
    the falling side is stable, and that is met exactly.

    Attributes:
        lowest, highest: the measured range of flow, m³/s.
        shut_off: pressure at no flow, Pa.
        top: flow at the highest pressure, m³/s; 0 when the curve falls all the way.
        remarks: what was done to the points, in sentences.
    """

    lowest: float = 0.0
    highest: float = 0.0
    shut_off: float = 0.0
    top: float = 0.0
    remarks: tuple[str, ...] = ()
    _line: MonotoneCubic | None = field(default=None, repr=False)
    _bend: float = field(default=0.0, repr=False)

    @property
    def known(self) -> bool:
        """Whether there is a curve at all."""
        return self._line is not None

    def covers(self, flow: float, speed: float = 1.0) -> bool:
        """Whether the flow lies within the measured points, scaled to the speed."""
        slack = 1e-9 * self.highest
        return self.lowest * speed - slack <= flow <= self.highest * speed + slack

    def pressure(self, flow: float, speed: float = 1.0) -> tuple[float, float]:
        """Pressure given (Pa) and its slope (Pa per m³/s, below 0) at a flow and a speed.

        Affinity laws: flow goes with the speed, pressure with its square. They hold within a few per cent down to
        about half the speed. At speed 0 the pump stands and holds the flow back: its pressure at no flow times
        (flow / largest flow)², which is what the laws come to there; no maker publishes it, so take it as a guess.
        Source: any pump handbook, for example Karassik, Pump Handbook.
        """
        line = self._line
        if line is None:
            return 0.0, 0.0
        if speed <= 0:
            # What the affinity laws come to as the speed goes to nothing: the parabola alone.
            return -self._bend * flow * abs(flow), -2 * self._bend * abs(flow)
        q = flow / speed
        if line.x[0] < q < line.x[-1]:
            p, s = line.at(q)
        else:
            at, (base, slope) = (line.x[0], line.first) if q <= line.x[0] else (line.x[-1], line.last)
            d = q - at
            # falls ever more steeply to the right, rises ever more steeply to the left
            p, s = base + d * (min(slope, 0.0) - self._bend * abs(d)), min(slope, 0.0) - 2 * self._bend * abs(d)
        flattest = -_FLATTEST * self.shut_off / line.x[-1]
        return p * speed**2, min(s, flattest) * speed


@lru_cache(maxsize=512)
def pump_curve(points: Points) -> PumpCurve:
    """The curve through measured points (flow m³/s, pressure Pa) at full speed.

    One point with a flow and a pressure is made a parabola with 4/3 of its pressure at no flow and twice its flow at
    none (the convention of the EPANET 2.2 manual for a single point). Two that are the ends, the pressure at no flow
    and the flow at no pressure, are joined by the same shape. Without a usable point the pump gives nothing.
    """
    remarks: list[str] = []
    flows, pressures = tidied(points)
    if not flows or max(pressures) <= _NO_PRESSURE:
        return PumpCurve(remarks=("its curve gives no pressure anywhere",) if flows else ("no pump curve is given",))
    if len(flows) == 1:
        if flows[0] == 0:
            return PumpCurve(remarks=("one point, at no flow: it does not say what the pump moves",))
        remarks.append("one point only: a parabola with 4/3 of its pressure at no flow and twice its flow at none")
        measured = (flows[0], flows[0])
        flows, pressures = _parabola(pressures[0] * 4 / 3, 2 * flows[0])
    else:
        measured = (flows[0], flows[-1])
        if len(flows) == 2 and flows[0] == 0 and pressures[1] <= _NO_PRESSURE:
            remarks.append("two points only, its ends: a parabola between them, whose shape is assumed")
            flows, pressures = _parabola(pressures[0], flows[1])
    peak = max(range(len(flows)), key=lambda i: (pressures[i], -i))
    if peak > 0 and pressures[peak] > pressures[0]:
        remarks.append("the curve climbs before it falls: up to its top it is taken flat")
    falling = list(pressures)
    for i in range(len(falling) - 2, -1, -1):
        falling[i] = max(falling[i], falling[i + 1])
    top = flows[peak] if pressures[peak] > pressures[0] else 0.0
    line = through(flows, falling)
    shut_off = falling[0] - min(line.first[1], 0.0) * flows[0]
    bend = shut_off / flows[-1] ** 2
    return PumpCurve(
        lowest=measured[0],
        highest=measured[1],
        shut_off=shut_off,
        top=top,
        remarks=tuple(remarks),
        _line=line,
        _bend=bend,
    )


def _parabola(shut_off: float, most_flow: float) -> tuple[list[float], list[float]]:
    """Nine points of shut_off · (1 − (q / most_flow)²)."""
    flows = [most_flow * share / 8 for share in range(9)]
    return flows, [shut_off * (1 - (q / most_flow) ** 2) for q in flows]


@dataclass(frozen=True)
class RunningPump:
    """A pump at a speed, as a link of the network sees it: a negative loss."""

    curve: PumpCurve
    speed: float = 1.0

    def loss(self, flow: float) -> tuple[float, float]:
        """Minus the pressure given, Pa, and its slope, Pa per m³/s, above 0."""
        pressure, slope = self.curve.pressure(flow, self.speed)
        return -pressure, -slope
