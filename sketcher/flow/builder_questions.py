"""What a builder asks of a loop: what widening buys, where pump and loop meet, what half the speed does.

What happens if a pump fails or the room warms is in ``changes``.

Each answer is plain data in the units of the boundary, with series ready to be drawn.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from sketcher.document.plate import Channel
from sketcher.flow.air import filling
from sketcher.flow.changes import spread, what_if
from sketcher.flow.device_curves import KPA, L_MIN
from sketcher.flow.ducts import Ducts
from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation, operate
from sketcher.flow.orders import compared
from sketcher.flow.plumbing import Plumbing
from sketcher.flow.result import FlowResult, rounded
from sketcher.flow.rings import in_series, pumped, running

#: By how much a channel is widened to say what it would buy.
_MORE_MM = 2.0
#: Speeds, as parts of the present one, at which the loop's curve is traced.
_SPEEDS = (0.15, 0.35, 0.55, 0.75, 1.0, 1.3)
#: Widening is worked out for so many channels, those that lose most: the others gain next to nothing.
_MOST_WIDENED = 8


def further(result: FlowResult) -> dict[str, Any]:
    """Everything that ``as_json`` leaves out because it takes a few solutions more."""
    orders = compared(result)
    return {
        "orders": rounded(orders.rows),
        "orders_compared": {"count": orders.compared, "exact": orders.exact, "words": orders.words},
        "half_speed": half_speed(result),
        "curves": pump_and_loop(result),
        "widening": widening(result),
        "shares": shares(result),
        "what_if": what_if(result),
        "spread": spread(result),
        "air": rounded(filling(result.loop, result.now)),
    }


def shares(result: FlowResult) -> list[dict[str, Any]]:
    """Parts of the whole loss by item, largest first: a port counts with its drop. They add up to 1."""
    parts: dict[tuple[str, str], list[float]] = {}
    for row in result.as_json()["elements"]:
        if row["kind"] == "pump":
            continue
        kind = "port" if row["kind"] == "drop" else row["kind"]
        entry = parts.setdefault((row["item"], kind), [0.0, 0.0])
        entry[0] += row["share"]
        entry[1] += row["pressure_drop_kpa"]
    rows = [{"id": id_, "kind": kind, "share": s, "pressure_drop_kpa": p} for (id_, kind), (s, p) in parts.items()]
    rounded_rows: list[dict[str, Any]] = rounded(sorted(rows, key=lambda row: (-float(row["share"]), row["id"])))
    return rounded_rows


def half_speed(result: FlowResult) -> dict[str, Any] | None:
    """The loop with every pump at half its speed, temperatures settled anew; none when nothing flows."""
    if not result.flows:
        return None
    slow = FlowResult(*_at_speed(result, 0.5))
    now = slow.now.temperatures
    blocks = [link for link, e in enumerate(slow.loop.elements) if e.kind != "pump" and slow.loop.heat[link] > 0]
    answer: dict[str, Any] = rounded(
        {
            "flow_l_min": slow.pump_flow_l_min,
            "pump_pressure_kpa": slow.pump_pressure_kpa,
            "settled": slow.now.settled,
            "temperature_c": slow.now.mean_c,
            "inlet_c": {slow.loop.elements[link].id: float(now.inlet[link]) for link in blocks},
            "outlet_c": {slow.loop.elements[link].id: float(now.outlet[link]) for link in blocks},
        }
    )
    return answer


def _at_speed(result: FlowResult, factor: float, isothermal: bool = False) -> tuple[Plumbing, Operation]:
    loop = result.loop.at_speed(factor)
    return loop, operate(loop, result.now, isothermal)


def pump_and_loop(result: FlowResult) -> dict[str, Any] | None:
    """The pumps' curve, the loop's curve at the present temperatures, and where they meet; none without a flow.

    The loop's curve is traced by running the pumps slower and faster, so that it holds for any network.
    """
    if not result.flows:
        return None
    traced = [(0.0, 0.0)]
    start = result
    for factor in _SPEEDS:
        loop, there = _at_speed(start, factor, isothermal=True)
        start = FlowResult(result.loop, there)
        traced.append(pumped(loop, there))
    flows = np.linspace(0, 1.2 * result.pump_flow_l_min * L_MIN, 25)
    top = max((pump.curve.highest * pump.speed for pump in result.loop.pumps.values()), default=0.0)
    flows = np.linspace(0, max(float(flows[-1]), top), 49)
    answer: dict[str, Any] = rounded(
        {
            "pump": [[q / L_MIN, p / KPA] for q, p in pump_points(result, flows)],
            "pump_half_speed": [[q / 2 / L_MIN, p / 4 / KPA] for q, p in pump_points(result, flows)],
            "loop": [[q / L_MIN, p / KPA] for q, p in sorted(traced)],
            "point": [result.pump_flow_l_min, result.pump_pressure_kpa],
        }
    )
    return answer


def pump_points(result: FlowResult, flows: Sequence[float] | np.ndarray) -> list[tuple[float, float]]:
    """(flow, pressure) of all pumps together, m³/s and Pa: heads add in series, flows add side by side."""
    loop = result.loop
    links = running(loop)
    pumps = [loop.pumps[link] for link in links]
    if not pumps:
        return []
    if in_series(loop, result.now):
        points = [(float(q), sum(-pump.loss(float(q))[0] for pump in pumps)) for q in flows]
    else:
        highest = max(-pump.loss(0.0)[0] for pump in pumps)
        levels = np.linspace(highest, 0.0, len(flows))
        points = [(sum(_flow_at(pump, float(level)) for pump in pumps), float(level)) for level in levels]
    return [(q, p) for q, p in points if p >= 0]


def _flow_at(pump: Any, pressure: float) -> float:
    """The flow at which a pump gives a pressure, by halving; none when it cannot reach it."""
    low, high = 0.0, 4 * pump.curve.highest * pump.speed
    if -pump.loss(0.0)[0] <= pressure:
        return 0.0
    for _ in range(50):
        middle = (low + high) / 2
        low, high = (middle, high) if -pump.loss(middle)[0] > pressure else (low, middle)
    return low


def widening(result: FlowResult) -> list[dict[str, Any]]:
    """What 2 mm more would buy at the channels that lose most: loss saved at the same flow, flow gained in the loop."""
    rows = []
    power = np.abs(result.now.flow * result.now.drop)
    flowing = [c for c in result.loop.document.channels if abs(result.now.flow[result.link(c.id)]) > STILL]
    flowing.sort(key=lambda channel: (-float(power[result.link(channel.id)]), channel.id))
    for channel in flowing[:_MOST_WIDENED]:
        row: dict[str, Any] = {"id": channel.id}
        for name, width, depth in (
            ("wider", channel.width_mm + _MORE_MM, channel.depth_mm),
            ("deeper", channel.width_mm, channel.depth_mm + _MORE_MM),
        ):
            loop = result.loop.resized(channel.id, width, depth)
            there = FlowResult(loop, operate(loop, result.now))
            row[f"{name}_2mm_saves_kpa"] = -_changed_loss(result, loop, channel) / KPA
            row[f"{name}_2mm_gains_l_min"] = there.pump_flow_l_min - result.pump_flow_l_min
        rows.append(row)
    rows.sort(key=lambda row: (-row["wider_2mm_gains_l_min"], row["id"]))
    answer: list[dict[str, Any]] = rounded(rows)
    return answer


def _changed_loss(result: FlowResult, loop: Plumbing, channel: Channel) -> float:
    """By how much a channel loses more in ``loop`` than in the result, at its present flow, Pa.

    The bores of the ports at its ends count with it: a turn's loss sits with the smaller section. Tees are left out.
    """
    now, total = result.now, 0.0
    ways = len(loop.links.ducts)
    for id_ in {channel.id, channel.start, channel.end}:
        link = result.loop_links.get(id_) if id_ is not None else None
        if link is None or link >= ways:
            continue
        way = slice(link, link + 1)
        for sign, ducts in ((1, loop.links.ducts), (-1, result.loop.links.ducts)):
            loss, _ = Ducts(ducts.items[way]).loss(np.abs(now.flow[way]), now.density, now.viscosity[way])
            total += sign * float(loss[0])
    return total


def channel_study(result: FlowResult, channel: str, steps: int = 21) -> dict[str, Any]:
    """Loss of one channel against its width and its depth at the present flow, for a small plot.

    Args:
        result: the loop's answer.
        channel: the channel's id.
        steps: points of each series.

    Returns:
        ``width`` and ``depth``: each ``points`` [[mm, kPa], …], ``now`` [mm, kPa], ``kpa_per_mm`` (the marginal gain,
        below 0 when more room saves) and ``flow_gain_l_min`` (of the loop, for 2 mm more).

    Raises:
        KeyError: no such channel.
    """
    link = result.link(channel)
    item = {entry.id: entry for entry in result.loop.document.channels}[channel]
    flow = float(result.now.flow[link])
    present = 0.0 if abs(flow) <= STILL else abs(float(result.now.drop[link])) / KPA
    answer: dict[str, Any] = {"id": channel, "flow_l_min": abs(flow) / L_MIN}
    for name, size in (("width", item.width_mm), ("depth", item.depth_mm)):

        def at(other: float, name: str = name) -> Plumbing:
            wide = name == "width"
            return result.loop.resized(channel, other if wide else item.width_mm, item.depth_mm if wide else other)

        def loss(other: float) -> float:
            return present + _changed_loss(result, at(other), item) / KPA

        more = at(size + _MORE_MM)
        gain = FlowResult(more, operate(more, result.now)).pump_flow_l_min - result.pump_flow_l_min
        answer[name] = {
            "points": [[float(s), loss(float(s))] for s in np.linspace(max(0.4 * size, 0.5), 2.5 * size, steps)],
            "now": [size, present],
            "kpa_per_mm": (loss(size + 0.01) - present) / 0.01,
            "flow_gain_l_min": gain,
        }
    found: dict[str, Any] = rounded(answer)
    return found
