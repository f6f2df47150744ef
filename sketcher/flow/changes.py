"""What if: a pump fails or runs at half its speed, the room warms, walls are rough, fittings narrow, sources are wrong.

Each is the whole loop solved anew, beside the present state; a document that is changed answers for anything else.
"""

from __future__ import annotations

from collections.abc import Iterator
from copy import copy
from dataclasses import replace
from typing import Any

import numpy as np

from sketcher.flow.ducts import Duct
from sketcher.flow.junctions import Tee
from sketcher.flow.links import Links
from sketcher.flow.losses import turn_spread
from sketcher.flow.network import STILL
from sketcher.flow.operating import operate
from sketcher.flow.plumbing import Plumbing
from sketcher.flow.result import FlowResult, rounded
from sketcher.flow.rings import running
from sketcher.flow.tees import Reading
from sketcher.flow.tubing import fitting_loss

#: Sand roughness of a badly milled wall, m. Common practice, no source.
_ROUGH = 25e-6
_WARMER_K = 10.0
_NARROWER_MM = 2.0
#: Pumps whose failing is worked out one by one.
_MOST_PUMPS = 3


def what_if(result: FlowResult) -> list[dict[str, Any]]:
    """The present state and each change beside it: what changes, flow, pressure, warmest block, hottest coolant.

    Empty when nothing flows.
    """
    if not result.flows:
        return []
    rows = [_row("present", "As it is", result, None)]
    for id_, words, loop in _changed(result.loop):
        there = FlowResult(loop, operate(loop, result.now))
        rows.append(_row(id_, words, there, result))
    found: list[dict[str, Any]] = rounded(rows)
    return found


def _changed(loop: Plumbing) -> Iterator[tuple[str, str, Plumbing]]:
    pumps = running(loop)
    if len(pumps) > 1:
        for link in pumps[:_MOST_PUMPS]:
            id_ = loop.elements[link].id
            yield f"{id_}-fails", f"{id_} stops, and coolant can pass it", loop.with_speeds({link: 0.0})
        if not all(link in loop.valves for link in pumps):
            link = pumps[0]
            id_ = loop.elements[link].id
            closed = loop.with_speeds({link: 0.0}, frozenset([link]))
            yield f"{id_}-fails-closed", f"{id_} stops, with a check valve that closes behind it", closed
    if loop.radiators:
        yield "warm-air", f"Air {_WARMER_K:g} K warmer at every radiator", loop.with_air(_WARMER_K)
    if any(element.kind == "channel" for element in loop.elements):
        yield "rough", f"Every channel as rough as {_ROUGH * 1e6:g} µm", _with_ducts(loop, _roughened(loop))
    if loop.runs:
        yield "narrow-fittings", f"Every fitting {_NARROWER_MM:g} mm narrower", _with_ducts(loop, _narrowed(loop))


def _with_ducts(loop: Plumbing, ducts: list[Duct]) -> Plumbing:
    return replace(loop, links=Links(ducts, loop.links.curves))


def _roughened(loop: Plumbing) -> list[Duct]:
    return [
        replace(duct, roughness=max(duct.roughness, _ROUGH)) if element.kind == "channel" else duct
        for element, duct in zip(loop.elements, loop.links.ducts.items, strict=False)
    ]


def _narrowed(loop: Plumbing) -> list[Duct]:
    """Every fitting's bore made narrower, its losses with it; by the difference, since a way's other losses stay."""
    ducts = list(loop.links.ducts.items)
    bores = {port_id: port.bore_diameter * 1e-3 for port_id, port in loop.shapes.ports.items()}
    for link, run in loop.runs.items():
        tube, duct = ducts[link].width, ducts[link]
        change = np.zeros(4)
        for end, forward in ((run.start, True), (run.end, False)):
            beyond = bores.get(end.ref)
            narrow = replace(end, bore_mm=max(end.bore_mm - _NARROWER_MM, 0.3 * end.bore_mm))
            before, after = fitting_loss(end, tube, beyond), fitting_loss(narrow, tube, beyond)
            into, out_of = after.into - before.into, after.out_of - before.out_of
            change += (into if forward else out_of, out_of if forward else into,
                       after.turn - before.turn, after.low - before.low)  # fmt: skip
        ducts[link] = replace(
            duct,
            k_forward=duct.k_forward + change[0], k_backward=duct.k_backward + change[1],
            turn_forward=duct.turn_forward + change[2], turn_backward=duct.turn_backward + change[2],
            low_forward=duct.low_forward + change[3], low_backward=duct.low_backward + change[3],
        )  # fmt: skip
    return ducts


def _row(id_: str, words: str, there: FlowResult, now: FlowResult | None) -> dict[str, Any]:
    loop, found = there.loop, there.now.temperatures
    blocks = [
        link
        for link, element in enumerate(loop.elements)
        if element.kind != "pump" and loop.heat[link] > 0 and link not in loop.radiators
    ]
    cooled = [link for link in blocks if abs(there.now.flow[link]) > STILL and found.steady]
    warmest = max(cooled, key=lambda link: found.inlet[link], default=None)
    moving = np.abs(there.now.flow) > STILL
    hottest = float(np.maximum(found.inlet, found.outlet)[moving].max()) if moving.any() and found.steady else None
    return {
        "id": id_,
        "words": words,
        "settled": there.now.settled,
        "flow_l_min": there.pump_flow_l_min,
        "pump_pressure_kpa": there.pump_pressure_kpa,
        "flow_change_l_min": 0.0 if now is None else there.pump_flow_l_min - now.pump_flow_l_min,
        "warmest_block": None if warmest is None else loop.elements[warmest].id,
        "warmest_block_c": None if warmest is None else float(found.inlet[warmest]),
        "hottest_c": hottest,
        "blocks_without_flow": [loop.elements[link].id for link in blocks if abs(there.now.flow[link]) <= STILL],
    }


def spread(result: FlowResult) -> dict[str, Any] | None:
    """What the disagreement of sources on sharp turns and symmetrical tees does to the flow; none when nothing flows.

    The loop is solved with the lowest and with the highest of six sources for every sharp turn at its own Re
    (``losses.turn_spread``), and with the two readings of the symmetrical tees (``tees.Reading``).
    """
    if not result.flows:
        return None
    ways = len(result.loop.links.ducts)
    low, high = turn_spread(np.maximum(result.state.reynolds[:ways], 1.0))
    lowest, highest = (
        FlowResult(loop, operate(loop, result.now))
        for loop in (_by_sources(result.loop, low, "low"), _by_sources(result.loop, high, "high"))
    )
    turning = _sharp(result.loop)
    worst = max((float(result.state.reynolds[link]) for link in turning), default=None)
    found: dict[str, Any] = rounded(
        {
            "flow_l_min": [highest.pump_flow_l_min, lowest.pump_flow_l_min],
            "pump_pressure_kpa": [highest.pump_pressure_kpa, lowest.pump_pressure_kpa],
            "sharp_turns": len(turning),
            "highest_reynolds": worst,
            "words": (
                f"Published losses of sharp turns and symmetrical tees differ: with the lowest of six sources the loop "
                f"runs {lowest.pump_flow_l_min:.2f} l/min, with the highest {highest.pump_flow_l_min:.2f}; "
                f"{result.pump_flow_l_min:.2f} is used."
            ),
        }
    )
    return found


def _sharp(loop: Plumbing) -> list[int]:
    return [link for link, duct in enumerate(loop.links.ducts.items) if duct.turn_forward > 0 or duct.turn_backward > 0]


def _by_sources(loop: Plumbing, scale: np.ndarray, reading: Reading) -> Plumbing:
    links = copy(loop.links)
    links.ducts = loop.links.ducts.with_turns(scale)
    return replace(loop, links=links, tees=tuple(Tee(tee.legs, reading) for tee in loop.tees))
