"""The solver on networks it has never seen: it settles, the flows cancel, the pressures close."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from sketcher.flow.curves import device_curve
from sketcher.flow.ducts import Duct
from sketcher.flow.links import Links
from sketcher.flow.network import Graph, solve
from sketcher.flow.pumps import RunningPump, pump_curve

L_MIN = 1 / 60_000


def some_network(seed, nodes, extra, pumps):
    """A random connected network of ways from 1 to 20 mm, with devices and pumps between any two nodes."""
    random = np.random.default_rng(seed)
    pairs = [(int(random.integers(i)), i) for i in range(1, nodes)]
    pairs += [tuple(int(n) for n in random.choice(nodes, 2, replace=False)) for _ in range(extra)]
    ducts = [
        Duct(
            float(random.uniform(1e-3, 2e-2)), float(random.uniform(1e-3, 2e-2)), float(random.uniform(1e-2, 0.5)),
            roughness=5e-6, k_forward=float(random.uniform(0, 3)), k_backward=float(random.uniform(0, 3)),
        )
        for _ in pairs
    ]  # fmt: skip
    curves = [device_curve(((4 * L_MIN, float(random.uniform(100, 40_000))),)) for _ in range(nodes // 4)]
    for _ in range(pumps):
        top = float(random.uniform(5_000, 60_000))
        curves.append(
            RunningPump(
                pump_curve(((0.0, top), (5 * L_MIN, top * float(random.uniform(0.5, 1.1))), (10 * L_MIN, 0.0))),
                float(random.uniform(0.2, 1.2)),
            )
        )
    pairs += [tuple(int(n) for n in random.choice(nodes, 2, replace=False)) for _ in curves]
    start, end = np.array(pairs).T
    return Graph(nodes, start, end), Links(ducts, curves)


@settings(deadline=None, max_examples=30)
@given(
    st.integers(0, 10**6),
    st.integers(2, 40),
    st.integers(0, 20),
    st.integers(0, 4),
    st.sampled_from([3e-4, 1e-3, 0.05]),
)
def test_any_network_settles(seed, nodes, extra, pumps, viscosity):
    graph, links = some_network(seed, nodes, extra, pumps)
    law = links.law(1000.0, np.full(len(links.ducts), viscosity))
    found = solve(graph, law, np.full(len(links), 5e-5))
    assert found.converged
    assert found.steps < 60
    biggest = max(np.abs(found.flow).max(), 1e-8)
    assert np.abs(graph.imbalance(found.flow)).max() < 1e-6 * biggest
    closing = found.pressure[graph.start] - found.pressure[graph.end] - law(found.flow)[0]
    assert np.abs(closing).max() < 1e-3 * max(np.abs(found.loss).max(), 1.0)


def test_large_networks_take_the_sparse_way_and_agree():
    """A ladder solved sparse against the same ladder solved dense."""
    graph, links = some_network(3, 150, 40, 3)
    law = links.law(1000.0, np.full(len(links.ducts), 1e-3))
    dense = solve(graph, law, np.full(len(links), 5e-5))
    # two copies side by side, not joined: more unknowns, the same answer twice
    double = Graph(300, np.concatenate([graph.start, graph.start + 150]), np.concatenate([graph.end, graph.end + 150]))
    ways = len(links.ducts)

    def twice(flow):
        a, b = law(flow[: len(links)]), law(flow[len(links) :])
        return np.concatenate([a[0], b[0]]), np.concatenate([a[1], b[1]])

    assert ways > 0
    sparse = solve(double, twice, np.full(2 * len(links), 5e-5))
    assert sparse.converged
    slack = 1e-7 * np.abs(dense.flow).max()
    assert sparse.flow[: len(links)] == pytest.approx(dense.flow, abs=slack)
    assert sparse.flow[len(links) :] == pytest.approx(dense.flow, abs=slack)


def test_no_links_at_all():
    found = solve(
        Graph(0, np.array([], dtype=int), np.array([], dtype=int)), Links([], []).law(1000.0, np.zeros(0)), np.zeros(0)
    )
    assert found.converged


def test_a_step_that_overshoots_is_shortened() -> None:
    """A loss that saturates, and a pump: full Newton steps leap farther each time (an arc tangent makes them from 1.39
    on); the answer is that of bisection on the one flow there is."""
    strong, slack, pushed = 1000.0, 1e-5, 900.0

    def law(flow: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        braked, driven = flow
        loss = np.array([strong * np.arctan(braked / slack), 1e4 * driven - pushed])
        slope = np.array([strong / slack / (1 + (braked / slack) ** 2), 1e4])
        return loss, slope

    graph = Graph(2, np.array([0, 1]), np.array([1, 0]))
    right = brentq(lambda q: strong * np.arctan(q / slack) + 1e4 * q - pushed, 0.0, 1e-3, xtol=1e-15)
    for guess in (0.0, 0.5 * slack, 5 * slack, -8 * slack, 40 * slack):
        found = solve(graph, law, np.array([guess, guess]))
        assert found.converged
        assert found.steps < 20
        assert found.flow == pytest.approx([right, right], rel=1e-6)
