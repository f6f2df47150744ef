"""Networks against EPANET 2.2 (package ``wntr``) with the same sections, local losses and pump curve.

How the two are made comparable. EPANET knows round pipes only, one viscosity, constant local coefficients and no
developing flow: so the ways here are round, at one temperature, their developing part is switched off (by an inlet
that loses everything already) and no tee depends on its flows. EPANET takes Swamee and Jain's explicit friction factor
above Re 4000, which differs from Colebrook's by up to some 2 % there, and Hagen and Poiseuille below 2000; flows are
kept above 4000 or below 2000. A closed loop needs a reservoir in EPANET: it stands where this solver holds its
pressure at 0.
"""

import warnings

import numpy as np
import pytest

from sketcher.flow.curves import device_curve
from sketcher.flow.ducts import Duct
from sketcher.flow.links import Links
from sketcher.flow.network import Graph, solve

with warnings.catch_warnings():
    # wntr and the plotting packages it imports warn of their own dependencies; nothing here depends on that
    warnings.simplefilter("ignore")
    import wntr

#: EPANET's water: 1.1e-5 ft²/s, and metres of head to Pa with its own gravity, 32.2 ft/s².
VISCOSITY = 1.1e-5 * 0.3048**2
GRAVITY = 32.2 * 0.3048
DENSITY = 1000.0
#: Pa that one metre of head stands for.
METRE = DENSITY * GRAVITY


class Parabola:
    """EPANET's curve of a pump with one point: 4/3 of its head at no flow, none at twice its flow."""

    def __init__(self, flow, head):
        self.flow, self.head = flow, head

    def loss(self, flow):
        shut_off = 4 / 3 * self.head * METRE
        return -shut_off * (1 - (flow / self.flow) ** 2 / 4), shut_off * 2 * abs(flow) / self.flow**2 / 4 + 1.0


def duct(diameter, length, k):
    return Duct(
        diameter, diameter, length, round=True, roughness=5e-6, k_forward=k, k_backward=k,
        inlet_low_forward=1e9, inlet_low_backward=1e9,
    )  # fmt: skip


def ours(nodes, pipes, pump):
    """Flows of the pipes and of the pump, m³/s. ``pipes``: (start, end, diameter, length, k)."""
    start = [p[0] for p in pipes] + [pump[0]]
    end = [p[1] for p in pipes] + [pump[1]]
    links = Links([duct(*p[2:]) for p in pipes], [Parabola(*pump[2:])])
    graph = Graph(nodes, np.array(start), np.array(end))
    law = links.law(DENSITY, np.full(len(pipes), VISCOSITY * DENSITY))
    found = solve(graph, law, np.full(len(start), 5e-5))
    assert found.converged
    assert np.abs(graph.imbalance(found.flow)).max() < 1e-12
    return found.flow


def epanets(nodes, pipes, pump, tmp_path):
    net = wntr.network.WaterNetworkModel()
    options = net.options.hydraulic
    options.viscosity, options.accuracy, options.trials = 1.0, 1e-6, 200
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it reminds of the roughness' unit: metres, as below
        options.headloss = "D-W"
    options.inpfile_units = "LPS"
    net.options.time.duration = 0
    net.add_reservoir("0", base_head=0.0)
    for node in range(1, nodes):
        net.add_junction(str(node), base_demand=0.0)
    for i, (start, end, diameter, length, k) in enumerate(pipes):
        net.add_pipe(f"p{i}", str(start), str(end), length, diameter, roughness=5e-6, minor_loss=k)
    net.add_curve("head", "HEAD", [(pump[2], pump[3])])
    net.add_pump("pump", str(pump[0]), str(pump[1]), "HEAD", "head")
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        result = wntr.sim.EpanetSimulator(net).run_sim(file_prefix=str(tmp_path / "net"), version=2.2)
    flows = result.link["flowrate"].iloc[0]
    return np.array([flows[f"p{i}"] for i in range(len(pipes))] + [flows["pump"]])


#: A pump of 4 m at 6 l/min; node 0 is its suction.
PUMP = (0, 1, 1e-4, 4.0)
SERIES = (4, [(1, 2, 0.009, 0.3, 2.5), (2, 3, 0.008, 0.25, 20.0), (3, 0, 0.010, 0.5, 1.5)], PUMP)
PARALLEL = (
    4,
    [(1, 2, 0.010, 0.2, 1.0), (2, 3, 0.008, 0.3, 15.0), (2, 3, 0.006, 0.2, 4.0), (3, 0, 0.010, 0.3, 1.0)],
    PUMP,
)
BRIDGE = (
    6,
    [
        (1, 2, 0.012, 0.2, 1.0), (2, 3, 0.008, 0.20, 8.0), (2, 4, 0.009, 0.20, 3.0), (3, 4, 0.008, 0.10, 1.0),
        (3, 5, 0.009, 0.25, 2.0), (4, 5, 0.007, 0.25, 9.0), (5, 0, 0.012, 0.2, 1.0),
    ],
    PUMP,
)  # fmt: skip
SLOW = (4, [(1, 2, 0.004, 35.0, 1.0), (2, 3, 0.003, 9.0, 2.0), (2, 3, 0.003, 12.0, 0.0), (3, 0, 0.004, 9.0, 1.0)], PUMP)


@pytest.mark.parametrize("case", [SERIES, PARALLEL, BRIDGE, SLOW], ids=["series", "parallel", "bridge", "laminar"])
def test_flows_against_epanet(case, tmp_path):
    """Within 0.5 % in every pipe."""
    assert ours(*case) == pytest.approx(epanets(*case, tmp_path), rel=0.005)


def test_bridge_by_hand():
    """A balanced bridge carries nothing: both arms divide the pressure alike."""
    pipes = [(1, 2, 0.010, 0.2, 5.0), (1, 3, 0.008, 0.2, 5.0), (2, 3, 0.008, 0.1, 1.0), (2, 0, 0.010, 0.2, 5.0),
             (3, 0, 0.008, 0.2, 5.0)]  # fmt: skip
    flow = ours(4, pipes, PUMP)
    assert abs(flow[2]) < 1e-9 * flow[-1]


def test_devices_with_a_square_law_by_hand():
    """Two square-law devices in parallel, 10 and 40 kPa at 4 l/min: the flows are as 2 to 1."""
    four = 4 / 60000
    curves = [device_curve(((four, 1e4),)), device_curve(((four, 4e4),)), Parabola(1e-4, 4.0)]
    graph = Graph(2, np.array([1, 1, 0]), np.array([0, 0, 1]))
    flow = solve(graph, Links([], curves).law(DENSITY, np.zeros(0)), np.full(3, 5e-5)).flow
    assert flow[0] == pytest.approx(2 * flow[1], rel=1e-9)
    # p(Q) = 4/9 of the first alone at the whole flow = the pump's parabola
    whole = flow[2]
    assert 1e4 * (whole * 2 / 3 / four) ** 2 == pytest.approx(
        4 / 3 * 4.0 * METRE * (1 - (whole / 1e-4) ** 2 / 4), rel=1e-9
    )
