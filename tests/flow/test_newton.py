"""The solver's steps: linear networks by a second method, how it counts, and that it only ever shortens a step."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sketcher.flow.network import Graph, solve


def linear(seed: int, nodes: int, extra: int) -> tuple[Graph, np.ndarray, np.ndarray]:
    """A random connected network whose links lose r Q - s: resistances and pushes."""
    random = np.random.default_rng(seed)
    pairs = [(int(random.integers(i)), i) for i in range(1, nodes)]
    pairs += [tuple(int(n) for n in random.choice(nodes, 2, replace=False)) for _ in range(extra)]
    start, end = np.array(pairs).T
    return Graph(nodes, start, end), random.uniform(1.0, 50.0, len(pairs)), random.uniform(-5.0, 5.0, len(pairs))


def by_both_laws(graph: Graph, resistance: np.ndarray, push: np.ndarray) -> np.ndarray:
    """Flows by Kirchhoff's two laws, written down as they are and solved in one piece by least squares."""
    links = len(resistance)
    rows, right = [], []
    for node in range(graph.nodes):
        rows.append(np.concatenate([(graph.start == node) * 1.0 - (graph.end == node) * 1.0, np.zeros(graph.nodes)]))
        right.append(0.0)
    for link in range(links):
        row = np.zeros(links + graph.nodes)
        row[link] = resistance[link]
        row[links + graph.start[link]] -= 1.0
        row[links + graph.end[link]] += 1.0
        rows.append(row)
        right.append(push[link])
    return np.linalg.lstsq(np.array(rows), np.array(right), rcond=None)[0][:links]


@settings(deadline=None, max_examples=25)
@given(st.integers(0, 10**6), st.integers(2, 12), st.integers(1, 8), st.booleans())
def test_a_linear_network_is_one_newton_step(seed: int, nodes: int, extra: int, balanced: bool) -> None:
    graph, resistance, push = linear(seed, nodes, extra)
    wanted = by_both_laws(graph, resistance, push)
    guess = np.zeros(len(push)) if balanced else np.random.default_rng(seed).uniform(-3, 3, len(push))

    def law(flow: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        return resistance * flow - push, resistance

    # The first step arrives; without a second one nothing says so.
    once = solve(graph, law, guess, most_steps=1)
    assert (once.steps, once.converged) == (1, False)
    assert once.flow == pytest.approx(wanted, abs=1e-9)
    found = solve(graph, law, guess)
    assert (found.steps, found.converged) == (2, True)
    assert found.flow == pytest.approx(wanted, abs=1e-9)
    assert found.loss == pytest.approx(law(found.flow)[0])
    assert found.pressure[graph.start] - found.pressure[graph.end] == pytest.approx(found.loss, abs=1e-8)
    assert found.pressure[0] == 0


def test_what_leaves_a_node_counts_above_what_reaches_it() -> None:
    graph = Graph(3, np.array([0, 1]), np.array([1, 2]))
    assert list(graph.imbalance(np.array([2.0, 5.0]))) == [2.0, 3.0, -5.0]


def test_nodes_without_links_have_no_pressure_and_take_no_step() -> None:
    none = np.array([], dtype=int)
    found = solve(Graph(3, none, none), lambda flow: (flow, flow), np.zeros(0))
    assert (found.steps, found.converged, list(found.pressure)) == (0, True, [0, 0, 0])


class Watched(Graph):
    """Notes each Newton step: where it begins and by how much it moves."""

    def newton(self, flow, loss, slope, pressure):  # type: ignore[no-untyped-def]
        move, pressure = super().newton(flow, loss, slope, pressure)
        self.__dict__.setdefault("steps", []).append((flow.copy(), move, []))
        return move, pressure


def watched(law, guess: np.ndarray) -> tuple[object, list[tuple[np.ndarray, np.ndarray, list[np.ndarray]]]]:  # type: ignore[no-untyped-def]
    """A pump (the second link) round one duct, with each Newton step and the flows that were asked about in it."""
    graph = Watched(2, np.array([0, 1]), np.array([1, 0]))

    def heard(flow: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        if steps := graph.__dict__.get("steps"):
            steps[-1][2].append(flow.copy())
        return law(flow)

    return solve(graph, heard, guess), graph.__dict__["steps"]


def test_a_step_that_does_not_overshoot_is_taken_as_it_is() -> None:
    """A square law from above: Newton's steps for a square root come from above and never pass it (Heron)."""

    def law(flow: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        braked, driven = flow
        return np.array([3e9 * braked * abs(braked), 1e3 * driven - 3e4]), np.array([6e9 * abs(braked) + 1e-9, 1e3])

    found, steps = watched(law, np.array([1.0, 1.0]))
    assert found.converged
    # 3e9 Q² + 1e3 Q = 3e4, by the formula for a quadratic.
    assert found.flow[0] == pytest.approx((-1e3 + np.sqrt(1e6 + 4 * 3e9 * 3e4)) / (2 * 3e9), rel=1e-9)
    assert all(len(asked) == 1 for _, _, asked in steps)


@pytest.mark.parametrize("guess", [0.5, 5.0, -8.0, 40.0])
def test_a_step_is_only_ever_shortened_and_soon_short_enough(guess: float) -> None:
    """An arc tangent, where Newton's full steps run away from 1.39 on (its iteration's two-cycle)."""
    strong, slack, pushed = 1000.0, 1e-5, 900.0

    def law(flow: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        braked, driven = flow
        loss = np.array([strong * np.arctan(braked / slack), 1e4 * driven - pushed])
        return loss, np.array([strong / slack / (1 + (braked / slack) ** 2), 1e4])

    found, steps = watched(law, np.full(2, guess * slack))
    assert found.converged
    for flow, move, asked in steps:
        size = float(np.abs(move).max())
        if size < 1e-12:
            continue
        k = int(np.abs(move).argmax())
        shares = [(at[k] - flow[k]) / move[k] for at in asked]
        assert shares[0] == pytest.approx(1, abs=1e-9)
        assert all(0 < share < 1 for share in shares[1:])
        assert len(asked) <= 21
    # The last flow asked about is the one that is taken, and there the slope has fallen to half at most.
    for (flow, move, asked), (after, _, _) in pairwise(steps):
        assert after == pytest.approx(asked[-1], rel=1e-12)
        if len(asked) > 1:
            before, now = float(law(flow)[0] @ move), float(law(after)[0] @ move)
            assert now <= 0.5 * abs(before) + 1e-9 * abs(before)
