"""Heat against hand sums and published relations."""

import math
from pathlib import Path

import numpy as np
import pytest

from sketcher.document import read
from sketcher.flow import solve_loop
from sketcher.flow.builder_questions import further
from sketcher.flow.coolant import coolant
from sketcher.flow.heat import radiator_curve, temperatures
from sketcher.flow.network import Graph
from sketcher.geometry import build
from tests.flow.loops import device, ring, solved

L_MIN = 1 / 60_000
EXAMPLES = Path(__file__).parents[2] / "examples"


def test_300_w_into_4_l_min_of_water_at_35_c_gives_1_08_k():
    """The sum by hand: 300 W / (994 kg/m³ · 4 l/min · 4178 J/(kg K)) = 1.08 K; ρ and c of water at 35 °C (IAPWS)."""
    water = coolant("water")
    assert water.density(35.0) == pytest.approx(994.0, abs=0.1)
    assert water.heat_capacity(35.0) == pytest.approx(4178, rel=5e-4)
    graph = Graph(2, np.array([0, 1]), np.array([1, 0]))
    radiator = radiator_curve(((4 * L_MIN, 30.0),))
    capacity = float(water.density(35.0) * water.heat_capacity(35.0))
    found = temperatures(graph, np.full(2, 4 * L_MIN), capacity, np.array([300.0, 0.0]), {1: radiator}, 25.0)
    assert found.outlet[0] - found.inlet[0] == pytest.approx(1.08, abs=0.005)
    # the radiator's own definition: 300 W at 30 W/K is 10 K over the room where the water enters it
    assert found.inlet[1] == pytest.approx(35.0, abs=0.02)


def test_two_streams_mix_by_their_flows():
    """3 l/min at 40 °C and 1 l/min at 20 °C make 35 °C: (3·40 + 1·20)/4."""
    # 0 -> 1 by two ways, one of them heated; 1 -> 0 through a radiator that takes all of it
    graph = Graph(2, np.array([0, 0, 1]), np.array([1, 1, 0]))
    flow = np.array([3.0, 1.0, 4.0]) * L_MIN
    capacity = 4e6
    heat = np.array([20.0 * 3 * L_MIN * capacity, 0.0, 0.0])
    radiator = radiator_curve(((4 * L_MIN, 1e6),))
    found = temperatures(graph, flow, capacity, heat, {2: radiator}, 20.0)
    assert found.node[1] - found.node[0] == pytest.approx(15.0, rel=1e-6)


@pytest.mark.parametrize("name", ["riser-bench", "small-board", "wrong-on-purpose"])
def test_the_energy_balance_closes(name):
    """What the blocks and pumps put in, the radiators give off, to 1e-9."""
    document = read(EXAMPLES / f"{name}.json")
    heat = solve_loop(document, build(document)).now.temperatures.heat
    assert heat.sum() == pytest.approx(0, abs=1e-9 * heat[heat > 0].sum())


def test_effectiveness_of_an_exchanger_whose_air_stays_at_its_own_temperature():
    """Kays and London, Compact Heat Exchangers: ε = 1 - exp(-NTU) at C_r = 0; NTU 1 gives 0.632."""
    q, capacity = 2 * L_MIN, 994.0 * 4178.0
    stream = q * capacity
    curve = radiator_curve(((q, stream * (1 - math.exp(-1))),))
    assert curve.conductance(q, capacity) / stream == pytest.approx(0.632, abs=0.0005)
    assert curve.conductance(q / 2, capacity) / (stream / 2) == pytest.approx(1 - math.exp(-2), rel=1e-9)


def test_on_the_demo_the_order_changes_a_blocks_inlet_by_a_degree_or_two():
    """Common practice, no source: with enough flow it matters by one or two degrees, however it is argued about."""
    document = read(EXAMPLES / "riser-bench.json")
    orders = further(solve_loop(document, build(document)))["orders"]
    spans = [
        max(order["inlet_c"][block] for order in orders) - min(order["inlet_c"][block] for order in orders)
        for block in ("CPU", "GPU")
    ]
    assert min(spans) > 0.3
    assert 0.5 < max(spans) < 2.5


def test_viscosity_and_temperature_agree():
    """The loop's viscosity is that of its own temperature, and thinner than the room's."""
    result = solved(
        ring(device("PUMP", "pump"), device("ONE", "block", heat_w=300), device("RAD", "radiator"),
             loop={"coolant": {"kind": "propylene-glycol", "strength_percent": 50}, "room_c": 10})
    )  # fmt: skip
    fluid = result.loop.coolant
    assert result.now.viscosity == pytest.approx(fluid.viscosity(result.now.celsius), rel=1e-6)
    assert result.now.viscosity.max() < float(fluid.viscosity(10.0))
    ways = len(result.loop.links.ducts)
    found = result.now.temperatures
    assert result.now.celsius == pytest.approx((found.inlet[:ways] + found.outlet[:ways]) / 2, abs=1e-4)
