"""Orders of devices: the shortest ring of a square by eye, and what an order costs from the heat that flows."""

from itertools import pairwise
from typing import Any

import pytest

from sketcher.document import Document, from_plain, to_plain
from sketcher.flow import solve_loop
from sketcher.flow.coolant import coolant
from sketcher.geometry import build
from sketcher.proposing.device_orders import device_orders
from tests.checks.plates import plate

HEAT_W, CONDUCTANCE_W_K = 300.0, 40.0


def loop(order: list[str]) -> Document:
    """A pump, two blocks and a radiator whose ports stand on the corners of a square, joined in an order."""
    corners = {"PUMP": (100, 100), "CPU": (300, 100), "GPU": (300, 200), "RAD": (100, 200), "TOP": (200, 230)}
    corners = {name: place for name, place in corners.items() if name in order}
    curve = [{"flow_l_min": 0, "pressure_kpa": 30}, {"flow_l_min": 10, "pressure_kpa": 0}]
    loss = [{"flow_l_min": 0, "pressure_kpa": 0}, {"flow_l_min": 6, "pressure_kpa": 10}]
    devices: list[dict[str, Any]] = []
    ports: list[dict[str, Any]] = []
    for name, (x, y) in corners.items():
        kind = {"PUMP": "pump", "RAD": "radiator", "TOP": "radiator"}.get(name, "block")
        more: dict[str, Any] = {"curve": curve if kind == "pump" else loss}
        if kind == "block":
            more["heat_w"] = HEAT_W
        if kind == "radiator":
            more["conductance"] = [{"flow_l_min": flow, "conductance_w_k": CONDUCTANCE_W_K} for flow in (2.95, 3.1)]
        devices.append({"id": name, "kind": kind, "ports": [{"id": "in"}, {"id": "out"}], **more})
        # Inlet and outlet lie side by side, so that either way round the square is as long.
        ports += [
            {"id": f"{name[0]}i", "x_mm": x - 8, "y_mm": y, "serves": f"{name}.in"},
            {"id": f"{name[0]}o", "x_mm": x + 8, "y_mm": y, "serves": f"{name}.out"},
        ]
    ring = [*order, order[0]]
    channels = [
        {"id": f"C{k}", "start": f"{a[0]}o", "end": f"{b[0]}i", "width_mm": 8, "depth_mm": 8}
        for k, (a, b) in enumerate(pairwise(ring), 1)
    ]
    return plate(devices=devices, ports=ports, channels=channels)


def test_the_ring_round_a_square_is_the_simplest_and_the_present_order_stands_beside_it() -> None:
    found = device_orders(loop(["PUMP", "GPU", "CPU", "RAD"]))
    present = next(one for one in found if one.present)
    assert present.order == ("PUMP", "GPU", "CPU", "RAD")
    assert present.crossings >= 1
    assert present.costs_c == pytest.approx(0.0)
    best = found[0]
    # Round the square, one way or the other; anything else runs along both diagonals and crosses.
    assert best.order in {("PUMP", "CPU", "GPU", "RAD"), ("PUMP", "RAD", "GPU", "CPU")}
    assert best.length_mm < present.length_mm
    assert best.connections[0] == ("Po", f"{best.order[1][0]}i")


def _warmest(order: tuple[str, ...], stream_w_k: float) -> float:
    """The warmest block's inlet, °C, by going round until nothing changes: a block adds Q / W, a radiator takes away
    G (T - room) / W."""
    x, inlets = 0.0, {}
    for _ in range(3000):
        for name in order:
            inlets[name] = x
            if name in ("RAD", "TOP"):
                x -= CONDUCTANCE_W_K * x / stream_w_k
            elif name != "PUMP":
                x += HEAT_W / stream_w_k
    return 25.0 + max(inlets["CPU"], inlets["GPU"])


def test_what_an_order_costs_is_what_going_round_by_hand_gives() -> None:
    document = loop(["PUMP", "CPU", "GPU", "RAD", "TOP"])
    found = device_orders(document)
    flow = solve_loop(document, build(document)).as_json()["operating_point"]["flow_l_min"]
    fluid = coolant("water", 0.0)
    stream = fluid.density(35.0) * flow / 60_000 * fluid.heat_capacity(35.0)
    assert len(found) == 5
    for one in found:
        assert one.warmest_block_c == pytest.approx(_warmest(one.order, stream), abs=0.15)
    present = next(one for one in found if one.present)
    assert present.warmest_block_c is not None
    for one in found:
        assert one.costs_c == pytest.approx((one.warmest_block_c or 0) - present.warmest_block_c)


def test_what_tubes_join_stays_together_and_two_units_have_one_order() -> None:
    plain = to_plain(loop(["PUMP", "CPU", "GPU", "RAD"]))
    plain["loop"] = {"tubes": [{"id": "T1", "start": "RAD.out", "end": "PUMP.in"}]}
    found = device_orders(from_plain(plain))
    assert found
    assert all(one.order[:2] == ("RAD", "PUMP") for one in found)
    plain["devices"] = [device for device in plain["devices"] if device["id"] not in ("GPU",)]
    plain["ports"] = [port for port in plain["ports"] if not port["serves"].startswith("GPU")]
    plain["channels"] = []
    assert device_orders(from_plain(plain)) == []
