"""Any loop that can be written down has an answer or a finding that says why not: never an exception, never a NaN."""

import json

import numpy as np
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from sketcher.flow.builder_questions import channel_study, further
from tests.flow.loops import device, plate, rules, solved

KINDS = ["pump", "block", "radiator", "reservoir", "flow-meter", "filter", "valve", "coupling", "other"]
CURVES = st.lists(st.tuples(st.floats(0, 30), st.floats(0, 500)), max_size=6)
SIZES = st.sampled_from([1.0, 3.0, 8.0, 12.0, 40.0])


@st.composite
def loops(draw):
    """Some devices with curves as they come, joined port to port or through branches, without any plan."""
    count = draw(st.integers(1, 6))
    devices = []
    for i in range(count):
        kind = draw(st.sampled_from(KINDS)) if i else "pump"
        points = draw(CURVES)
        made = device(f"D{i}", kind, draw(st.sampled_from([points, None])))
        if kind == "radiator" and draw(st.booleans()):
            made["conductance"] = [
                {"flow_l_min": q, "conductance_w_k": g}
                for q, g in draw(st.lists(st.tuples(st.floats(0.01, 30), st.floats(0.01, 500)), max_size=4))
            ]
        made["heat_w"] = draw(st.sampled_from([0, 0, 5, 300, 3000]))
        made["speed_percent"] = draw(st.sampled_from([1, 50, 100, 150]))
        for port in made["ports"]:
            port["flow"] = draw(st.sampled_from(["in", "out", "either"]))
        devices.append(made)
    branches = tuple(f"J{i}" for i in range(draw(st.integers(0, 4))))
    ends = [f"{d['id']}.{port}" for d in devices for port in ("in", "out")]
    joints = []
    for a, b in zip(ends[1::2], [*ends[2::2], ends[0]], strict=True):
        if draw(st.integers(0, 5)):
            joints.append((a, b, draw(SIZES), draw(SIZES)))
    everywhere = [*ends, *branches]
    for _ in range(draw(st.integers(0, 6))):
        a, b = draw(st.sampled_from(everywhere)), draw(st.sampled_from(everywhere))
        if a != b:
            joints.append((a, b, draw(SIZES), draw(SIZES)))
    loop = {
        "coolant": {
            "kind": draw(st.sampled_from(["water", "ethylene-glycol", "propylene-glycol"])),
            "strength_percent": draw(st.sampled_from([0, 3, 40, 60, 100])),
        },
        "room_c": draw(st.sampled_from([-40, 0, 25, 90])),
        "pumps": draw(st.sampled_from(["series", "parallel", "as-connected"])),
    }
    return plate(devices, joints, branches, loop=loop)


def look_at(plain):
    result = solved(plain)
    answer = result.as_json()
    json.dumps(answer, allow_nan=False)
    flow = result.now.flow
    biggest = max(float(np.abs(flow).max(initial=0)), 1e-6)
    assert np.abs(result.loop.graph.imbalance(flow)).max(initial=0) < 1e-6 * biggest
    assert answer["operating_point"]["settled"] or "not-settled" in rules(result, "error")
    if not answer["operating_point"]["flow_l_min"] and answer["elements"]:
        assert result.flows or rules(result, "error", "warning"), "nothing flows, and nothing says why"
    heat = result.now.temperatures.heat
    # the flows here may be trickles beside streams; the examples are held to 1e-9 in tests/published
    assert abs(heat.sum()) < 1e-7 * max(np.abs(heat).sum(), 1.0)
    return result


@settings(deadline=None, max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(loops())
def test_any_loop(plain):
    look_at(plain)


@settings(deadline=None, max_examples=5, suppress_health_check=[HealthCheck.too_slow])
@given(loops())
def test_any_loops_further_answers(plain):
    result = solved(plain)
    json.dumps(further(result), allow_nan=False)
    for channel in plain["channels"][:1]:
        json.dumps(channel_study(result, channel["id"], steps=4), allow_nan=False)


@pytest.mark.long
@settings(deadline=None, max_examples=3000, suppress_health_check=[HealthCheck.too_slow])
@given(loops())
def test_any_loop_at_length(plain):
    look_at(plain)
