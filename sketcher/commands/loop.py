"""The loop in words: how it flows, how warm it gets, in which order, and what if."""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from typing import Any

from sketcher.commands.common import OK, answered, document_of

#: Orders of the loop in words; a table of all of them helps nobody.
MOST_ORDERS = 6


def flow(options: argparse.Namespace) -> int:
    """How a plate flows, and how warm it gets."""
    from sketcher.flow import solve_loop
    from sketcher.flow.orders import compare
    from sketcher.geometry import build

    document = document_of(options.file)
    result = solve_loop(document, build(document))
    answer = {**result.as_json(), "orders": compare(result)}
    answered(answer, _flow_words(answer), options.json)
    return OK


def _flow_words(answer: dict[str, Any]) -> Iterator[str]:
    coolant, point = answer["coolant"], answer["operating_point"]
    yield f"{coolant['name']} at {coolant['temperature_c']:.1f} °C"
    yield f"{point['flow_l_min']:.2f} l/min at {point['pump_pressure_kpa']:.1f} kPa"
    for row in sorted(answer["elements"], key=lambda row: -float(row["share"])):
        yield f"  {row['id']:<12} {row['kind']:<10} {row['pressure_drop_kpa']:8.2f} kPa {100 * row['share']:5.1f} %"
    for row in answer["temperatures"]:
        if row["inlet_c"] is not None:
            yield f"  {row['id']:<12} {row['inlet_c']:6.2f} °C in {row['outlet_c']:6.2f} °C out {row['heat_w']:8.1f} W"
    if answer["orders"]:
        yield "Orders of the loop, with the coolant where it enters:"
    for row in answer["orders"][:MOST_ORDERS]:
        here = "  as it is" if row["present"] else ""
        yield "  " + ", ".join(f"{id_} {row['inlet_c'][id_]:.2f} °C" for id_ in row["order"]) + here
    if len(answer["orders"]) > MOST_ORDERS:
        yield f"  and {len(answer['orders']) - MOST_ORDERS} more; --json has them all"
    for finding in answer["findings"]:
        yield f"{finding['level']}: {finding['rule']}: {finding['message']} {finding['mend']}"
