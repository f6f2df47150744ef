"""The loop in words: how it flows, how warm it gets, in which order, and what if."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from sketcher.commands.common import OK, answered, document_of

#: Orders of the loop in words; a table of all of them helps nobody.
MOST_ORDERS = 6
#: Items that the drain leaves most in.
MOST_LEFT = 5


def flow(options: argparse.Namespace) -> int:
    """How a plate flows, and how warm it gets."""
    from sketcher.flow import solve_loop
    from sketcher.flow.builder_questions import further
    from sketcher.geometry import build

    document = document_of(options.file)
    result = solve_loop(document, build(document))
    answer = {**result.as_json(), **further(result)}
    answered(answer, flow_words(answer), options.json)
    return OK


def flow_words(answer: dict[str, Any]) -> Iterator[str]:
    """The whole answer, a line for each thing."""
    coolant, point = answer["coolant"], answer["operating_point"]
    yield f"{coolant['name']} at {coolant['temperature_c']:.1f} °C"
    yield f"{point['flow_l_min']:.2f} l/min at {point['pump_pressure_kpa']:.1f} kPa"
    yield from _loops(answer["loops"])
    for row in sorted(answer["elements"], key=lambda row: -float(row["share"])):
        yield f"  {row['id']:<12} {row['kind']:<10} {row['pressure_drop_kpa']:8.2f} kPa {100 * row['share']:5.1f} %"
    for row in answer["temperatures"]:
        if row["inlet_c"] is not None:
            yield f"  {row['id']:<12} {row['inlet_c']:6.2f} °C in {row['outlet_c']:6.2f} °C out {row['heat_w']:8.1f} W"
    yield from _orders(answer)
    yield from _what_if(answer["what_if"])
    if answer["spread"]:
        yield str(answer["spread"]["words"])
    yield from _air(answer["air"])
    for finding in answer["findings"]:
        yield f"{finding['level']}: {finding['rule']}: {finding['message']} {finding['mend']}"


def _loops(loops: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """Each loop by itself, where there are several or one has no pump."""
    if len(loops) == 1 and loops[0]["driven"]:
        return
    for number, row in enumerate(loops, start=1):
        how = (
            f"{row['flow_l_min']:.2f} l/min at {row['pump_pressure_kpa']:.1f} kPa"
            if row["driven"]
            else "no pump drives it"
        )
        yield f"  loop {number}: {', '.join(row['devices'])}: {how}"


def _orders(answer: Mapping[str, Any]) -> Iterator[str]:
    if answer["orders"]:
        yield "Orders of the loop, with the coolant where it enters:"
    for row in answer["orders"][:MOST_ORDERS]:
        here = "  as it is" if row["present"] else ""
        yield "  " + ", ".join(f"{id_} {row['inlet_c'][id_]:.2f} °C" for id_ in row["order"]) + here
    if len(answer["orders"]) > MOST_ORDERS:
        yield f"  and {len(answer['orders']) - MOST_ORDERS} more; --json has them all"
    if answer["orders_compared"]["words"]:
        yield f"  {answer['orders_compared']['words']}"


def _what_if(rows: Sequence[Mapping[str, Any]]) -> Iterator[str]:
    """What changes the loop, beside the present state."""
    if len(rows) > 1:
        yield "What if:"
    for row in rows[1:]:
        block = f", {row['warmest_block']} at {row['warmest_block_c']:.1f} °C" if row["warmest_block"] else ""
        dry = f"; no flow in {', '.join(row['blocks_without_flow'])}" if row["blocks_without_flow"] else ""
        unsettled = "" if row["settled"] else "; not settled"
        yield (
            f"  {row['words']}: {row['flow_l_min']:.2f} l/min ({row['flow_change_l_min']:+.2f}){block}{dry}{unsettled}"
        )


def _air(air: Mapping[str, Any]) -> Iterator[str]:
    """How the loop fills, what air stays in each posture, what the drain leaves."""
    filling, drain = air["filling"], air["drain"]
    if filling["filled_from"]:
        above = f"; the pump has to fill {', '.join(filling['needs_pump'])}" if filling["needs_pump"] else ""
        yield f"Filled from {', '.join(filling['filled_from'])}, up to {filling['fills_to_mm']:.0f} mm by itself{above}"
    for posture in air["postures"]:
        stays = [p for p in posture["pockets"] if "flow" not in p["leaves"]]
        total = sum(float(p["volume_ml"]) for p in stays)
        places = ", ".join(dict.fromkeys(str(p["item"]) for p in stays))
        ports = ", ".join(dict.fromkeys(str(p["bleed_port"]) for p in stays if p["bleed_port"]))
        rest = f", {total:.1f} ml of it stays in {places}" if stays else ", all of it leaves with the flow"
        bleed = f" (bled by {ports})" if ports else ""
        yield f"Air when filled, {posture['posture']}: {posture['air_ml']:.0f} ml{rest}{bleed}"
    if drain["ports"]:
        most = ", ".join(f"{row['item']} {row['volume_ml']:.0f}" for row in drain["items"][:MOST_LEFT])
        yield f"Drained by {', '.join(drain['ports'])}: {drain['left_ml']:.0f} ml stay, most in {most}"
