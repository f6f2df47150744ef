"""Figures that contradict each other: slips of a key in a sound example, and in plates worked out by hand."""

import copy
import json
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.document import from_plain
from tests.checks.plates import channel, found, plate, rectangle
from tests.checks.test_limits import box, cut

SOUND = json.loads((Path(__file__).parents[2] / "examples" / "small-board.json").read_text("utf-8"))

#: Where a slip is made in the example, what it is then, and the rule that tells it and told nothing before.
SLIPS = [
    # A digit too many, or too few.
    ("devices/1/ports/0/u_mm", 140, "device-port-away"),
    ("devices/1/ports/0/w_mm", 200, "device-port-away"),
    ("boards/0/slots", 10, "slot-off-board"),
    ("boards/0/first_slot_mm", 1620, "slot-off-board"),
    ("floor/obstacles/0/outline/x_mm", 1270, "floor-item-outside"),
    ("loop/tube_outer_diameter_mm", 1.2, "tube-wall"),
    ("devices/0/curve/1/flow_l_min", 20, "curve-turns"),
    ("devices/0/curve/2/pressure_kpa", 1.5, "curve-turns"),
    ("devices/1/curve/2/pressure_kpa", 0.596, "curve-turns"),
    ("devices/1/curve/1/pressure_kpa", 0.287, "curve-turns"),
    ("devices/2/conductance/1/conductance_w_k", 0.95, "curve-turns"),
    # The other sign.
    ("floor/obstacles/0/outline/x_mm", -127, "floor-item-outside"),
]


@pytest.mark.parametrize(("pointer", "value", "rule"), SLIPS, ids=lambda part: str(part))
def test_a_slip_in_a_sound_plate_is_told(pointer: str, value: float, rule: str) -> None:
    plain = copy.deepcopy(SOUND)
    node: Any = plain
    *way, last = [int(part) if part.isdigit() else part for part in pointer.split("/")]
    for part in way:
        node = node[part]
    node[last] = value
    told = [finding for finding in run(from_plain(plain), quick=True) if finding.rule == rule]
    assert told, f"{pointer} = {value} is silent"
    assert all(finding.message and finding.remedy for finding in told)
    assert rule not in said_of_the_sound_one()


@lru_cache
def said_of_the_sound_one() -> frozenset[str]:
    return frozenset(finding.rule for finding in run(from_plain(SOUND), quick=True))


def test_a_devices_port_is_measured_in_the_devices_own_axes() -> None:
    """Off a box of 40 by 40 by 20 that is turned: 30 beside it and 40 over it are 50 along a diagonal."""

    def told(u: float, w: float) -> list[float | None]:
        device = box("D1", 100, 150, 60, ports=[{"id": "in", "u_mm": u, "w_mm": w}], turn_deg=30)
        return [finding.value for finding in found(plate(devices=[device]), "device-port-away")]

    assert told(44, 52) == []  # 24 and 32: 40
    assert told(50, 60) == [pytest.approx(50)]
    assert told(0, -41) == [pytest.approx(41)]


def test_a_size_of_the_table_has_a_wall_of_its_own() -> None:
    loop = {"tube_inner_diameter_mm": 16, "tube_outer_diameter_mm": 13, "tube_size": "acrylic 16/12"}
    assert not found(plate(loop=loop), "tube-wall")


def test_what_reaches_into_the_floor_is_on_it_and_a_small_hump_is_none() -> None:
    def outside(x: float) -> list:
        floor = {"outline": rectangle(200, 150, 400, 300), "openings": [cut("W1", rectangle(x, 100, 20, 20))]}
        return found(plate(floor=floor), "floor-item-outside")

    assert not outside(409)
    assert len(outside(411)) == 1

    def pump(*points: tuple[float, float]) -> list:
        curve = [{"flow_l_min": flow, "pressure_kpa": kpa} for flow, kpa in points]
        device = {"id": "D1", "kind": "pump", "curve": curve}
        return found(plate(devices=[device], channels=[channel("C1", (100, 150), (200, 150))]), "curve-turns")

    assert not pump((0, 20), (1, 22), (4, 10), (6, 0))
    assert not pump((6, 0), (0, 20), (4, 10))  # in any order
    assert len(pump((0, 20), (1, 25), (4, 10), (6, 0))) == 1
