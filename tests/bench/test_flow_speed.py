"""How long a loop takes to solve: against one EPANET run of the same network, and as the network grows.

``docs/speed.md`` has the figures. ``python -m tests.bench.test_flow_speed`` prints them.
"""

from __future__ import annotations

import math
import tempfile
import warnings
from collections.abc import Callable
from pathlib import Path

import numpy as np

from sketcher.checks.running import look_over
from sketcher.checks.scene import Scene
from sketcher.document import Document, read
from sketcher.findings import limits_of
from sketcher.flow import FlowResult, solve_loop
from sketcher.flow.builder_questions import further
from sketcher.flow.ducts import Duct
from sketcher.flow.links import Links
from sketcher.flow.network import STILL, Graph, solve
from sketcher.flow.orders import compared
from sketcher.flow.pumps import RunningPump, pump_curve
from sketcher.geometry import build
from tests.bench.test_check_speed import best
from tests.flow.loops import device, document, plate, ring

with warnings.catch_warnings():
    # wntr and what it imports warn of their own dependencies
    warnings.simplefilter("ignore")
    import wntr

DEMO = Path(__file__).parents[2] / "examples" / "riser-bench.json"
METRE = 9.81 * 1000.0


def epanets(result: FlowResult) -> wntr.network.WaterNetworkModel:
    """The same nodes and links for EPANET: ways as round pipes of the same section, devices as local losses.

    Each pipe's local coefficient is what our link loses beyond EPANET's own friction, so that both find one flow.
    """
    loop, now = result.loop, result.now
    net = wntr.network.WaterNetworkModel()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # it reminds of the unit of roughness
        net.options.hydraulic.headloss = "D-W"
    net.options.hydraulic.viscosity = float(now.viscosity.mean()) / now.density / 1.022e-6
    net.options.time.duration = 0
    (pump,) = loop.pumps
    suction = loop.elements[pump].start
    for node in range(loop.graph.nodes):
        if node == suction:
            net.add_reservoir(str(node), base_head=0.0)
        else:
            net.add_junction(str(node))
    ways = len(loop.links.ducts)
    for link, element in enumerate(loop.elements):
        if link == pump:
            points = [(q / 60_000, float(p) / METRE) for q, p in ((0, 42e3), (6, 34e3), (12, 13e3))]
            net.add_curve("head", "HEAD", points)
            net.add_pump("pump", str(element.start), str(element.end), "HEAD", "head")
            continue
        area = float(loop.links.ducts.area[link]) if link < ways else 1e-4
        length = loop.links.ducts.items[link].length if link < ways else 1e-3
        diameter = math.sqrt(4 * area / math.pi)
        lost = 0.0
        if abs(now.flow[link]) > STILL:
            lost = abs(float(now.drop[link])) / (0.5 * now.density * (float(now.flow[link]) / area) ** 2)
        friction = 0.04 * length / diameter
        net.add_pipe(
            f"p{link}", str(element.start), str(element.end), length, diameter, 5e-6, max(lost - friction, 0.0)
        )
    return net


def run_epanet(net: wntr.network.WaterNetworkModel, folder: str) -> float:
    """One run through ``wntr``; the pump's flow, m³/s."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        found = wntr.sim.EpanetSimulator(net).run_sim(file_prefix=str(Path(folder) / "net"))
    return float(found.link["flowrate"]["pump"].iloc[0])


def against_epanet(plain: Document) -> tuple[float, float]:
    """Seconds of our solve from the document's shapes on, temperatures included, and of one EPANET run."""
    shapes = build(plain)
    result = solve_loop(plain, shapes)
    net = epanets(result)
    with tempfile.TemporaryDirectory() as folder:
        flow = run_epanet(net, folder)
        assert abs(flow * 60_000 / result.pump_flow_l_min - 1) < 0.05, "not the same network"
        ours, theirs = best(lambda: solve_loop(plain, shapes).as_json(), lambda: run_epanet(net, folder))
    return ours, theirs


def side_by_side(branches: int) -> Document:
    """Blocks side by side between two chambers: seven links each."""
    devices = [device("PUMP", "pump"), device("RAD", "radiator")]
    devices += [device(f"B{i}", "block", heat_w=5) for i in range(branches)]
    joints = [("PUMP.out", "J1", 20, 10), ("J2", "RAD.in", 20, 10), ("RAD.out", "PUMP.in", 20, 10)]
    for i in range(branches):
        joints += [("J1", f"B{i}.in", 6, 6), (f"B{i}.out", "J2", 6 + i % 3, 6)]
    return document(plate(devices, joints, ("J1", "J2")))


def grid(links: int) -> Callable[[], object]:
    """Solving a square grid of ways with a pump from corner to corner."""
    side = round(math.sqrt(links / 2))
    at = np.arange(side * side).reshape(side, side)
    pairs = [
        *zip(at[:, :-1].ravel(), at[:, 1:].ravel(), strict=True),
        *zip(at[:-1].ravel(), at[1:].ravel(), strict=True),
    ]
    ducts = [
        Duct(4e-3 + 1e-4 * (i % 40), 6e-3, 0.05, roughness=5e-6, k_forward=1.0, k_backward=1.0)
        for i in range(len(pairs))
    ]
    pump = RunningPump(pump_curve(((0.0, 4e4), (1e-4, 3e4), (2e-4, 0.0))))
    pairs.append((int(at[-1, -1]), int(at[0, 0])))
    start, end = np.array(pairs).T
    network = Links(ducts, [pump])
    law = network.law(1000.0, np.full(len(ducts), 1e-3))

    def work() -> object:
        found = solve(Graph(side * side, start, end), law, np.full(len(pairs), 5e-5))
        assert found.converged
        return found

    return work


def growth() -> list[float]:
    """Seconds: whole loops of 100 and of 1,000 links, grids of 100 and of 1,000 links."""
    works = []
    for branches in (14, 142):
        plain = side_by_side(branches)
        shapes = build(plain)
        works.append(lambda plain=plain, shapes=shapes: solve_loop(plain, shapes))
    return best(*works, grid(100), grid(1000), rounds=5, seconds=0.5)


def test_a_solve_of_the_demo_takes_about_as_long_as_one_epanet_run() -> None:
    """It was faster before tubes had courses and fittings of their own; 1.01 times as long was measured since."""
    ours, theirs = against_epanet(read(DEMO))
    assert ours < 1.3 * theirs, f"{ours * 1e3:.1f} ms against {theirs * 1e3:.1f} ms"


def test_ten_times_the_links_take_at_most_fifteen_times_the_time() -> None:
    few, many, coarse, fine = growth()
    assert many <= 15 * few, f"{many * 1e3:.1f} ms against {few * 1e3:.1f} ms"
    assert fine <= 15 * coarse, f"{fine * 1e3:.1f} ms against {coarse * 1e3:.1f} ms"


def answers_and_orders() -> list[float]:
    """Seconds on the demo: findings and flow together, the answers that take a few solutions more, a solve, orders.

    The live answer is the one after a move, as the page asks for it at rest, together with the others: the same
    document asked again would be remembered.
    """
    plain = moved = read(DEMO)
    shapes = build(plain)
    result = solve_loop(plain, shapes)

    def live() -> object:
        nonlocal moved
        first, *others = moved.ports
        moved = moved.model_copy(update={"ports": (first.model_copy(update={"x_mm": first.x_mm + 0.01}), *others)})
        scene = Scene(build(moved), limits_of(moved))
        return look_over(scene), scene.flow.as_json()

    return best(live, lambda: further(result), lambda: solve_loop(plain, shapes), lambda: compared(result), rounds=5)


def eight_in_series() -> list[float]:
    """Seconds of a solve of eight devices in series, and of all their 40,320 orders."""
    devices = [device("PUMP", "pump"), *(device(f"B{i}", "block", heat_w=50 + 20 * i) for i in range(5))]
    devices += [device(f"R{i}", "radiator") for i in range(3)]
    plain = document(ring(*devices))
    shapes = build(plain)
    result = solve_loop(plain, shapes)
    return best(lambda: solve_loop(plain, shapes), lambda: compared(result), rounds=5)


def test_the_further_answers_take_less_than_three_times_the_live_one() -> None:
    live, more, solve_time, orders = answers_and_orders()
    assert more < 3 * live, f"{more * 1e3:.0f} ms against {live * 1e3:.0f} ms"
    assert orders < 10 * solve_time


def test_all_orders_of_eight_cost_less_than_ten_solves() -> None:
    solve_time, orders = eight_in_series()
    assert orders < 10 * solve_time, f"{orders * 1e3:.1f} ms against {solve_time * 1e3:.1f} ms a solve"


if __name__ == "__main__":
    live, more, one, orders = answers_and_orders()
    print(f"demo  findings and flow {live * 1e3:.1f} ms   further answers {more * 1e3:.1f} ms   "
          f"a solve {one * 1e3:.2f} ms   orders {orders * 1e3:.2f} ms")  # fmt: skip
    one, orders = eight_in_series()
    print(f"eight in series  a solve {one * 1e3:.2f} ms   all orders {orders * 1e3:.2f} ms")
    ours, theirs = against_epanet(read(DEMO))
    print(f"demo  ours {ours * 1e3:.2f} ms   EPANET through wntr {theirs * 1e3:.2f} ms")
    few, many, coarse, fine = growth()
    print(f"loop  100 links {few * 1e3:.2f} ms   1,000 links {many * 1e3:.2f} ms   ratio {many / few:.1f}")
    print(f"grid  100 links {coarse * 1e3:.2f} ms   1,000 links {fine * 1e3:.2f} ms   ratio {fine / coarse:.1f}")
