"""Air pockets, wet regions and metals, by hand."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sketcher.strength.life import Way, air_pockets, dissimilar, regions

UP = (0.0, 1.0)


def test_a_siphon_keeps_its_air_between_two_ports():
    """A channel that rises by 50 between ports at 0 keeps 50 mm of air; with a bleed at its top it keeps none."""
    arch = Way("C1", "P1", "P2", ((0, 0), (0, 50), (80, 50), (80, 0)))
    (pocket,) = air_pockets([arch], {"P1": (0, 0), "P2": (80, 0)}, UP)
    assert pocket.height_mm == pytest.approx(50)
    assert pocket.items == ("C1",)
    halves = [Way("C1", "P1", "P3", ((0, 0), (0, 50), (40, 50))), Way("C2", "P3", "P2", ((40, 50), (80, 50), (80, 0)))]
    assert air_pockets(halves, {"P1": (0, 0), "P2": (80, 0), "P3": (40, 50)}, UP) == []


def test_a_sag_lets_its_air_out():
    sag = Way("C1", "P1", "P2", ((0, 50), (0, 0), (80, 0), (80, 50)))
    assert air_pockets([sag], {"P1": (0, 50), "P2": (80, 50)}, UP) == []
    # Turned over it is an arch.
    assert air_pockets([sag], {"P1": (0, 50), "P2": (80, 50)}, (0.0, -1.0))[0].height_mm == pytest.approx(50)


def test_a_dip_on_the_way_out_counts_from_its_bottom():
    """From the top at 60 the only way out dips to 20 and rises to a port at 40: 40 mm of air stay."""
    way = Way("C1", None, "P1", ((0, 60), (10, 60), (20, 20), (30, 40)))
    (pocket,) = air_pockets([way], {"P1": (30, 40)}, UP)
    assert pocket.height_mm == pytest.approx(40)


def test_a_region_without_a_port_keeps_all_of_it():
    (pocket,) = air_pockets([Way("C1", None, None, ((0, 0), (0, 30)))], {}, UP)
    assert pocket.height_mm == pytest.approx(30)


def test_two_tops_two_pockets():
    way = Way("C1", "P1", "P2", ((0, 0), (10, 30), (20, 5), (30, 45), (40, 0)))
    heights = [pocket.height_mm for pocket in air_pockets([way], {"P1": (0, 0), "P2": (40, 0)}, UP)]
    assert heights == pytest.approx([45, 30])


@given(st.lists(st.tuples(st.integers(0, 50), st.integers(0, 50)), min_size=2, max_size=12), st.floats(0, 6.28))
def test_pockets_against_pouring(points, angle):
    """A line with a port at its start: by hand, air stays above the lowest point passed on the way to the port."""
    up = (math.cos(angle), math.sin(angle))
    line = [(float(x), float(y)) for x, y in points]
    heights = [x * up[0] + y * up[1] for x, y in line]
    expected = 0.0
    for index in range(len(line)):
        expected = max(expected, heights[index] - min(heights[: index + 1]))
    found = air_pockets([Way("C1", "P1", None, tuple(line))], {"P1": line[0]}, up, least_mm=0.001)
    assert max((pocket.height_mm for pocket in found), default=0.0) == pytest.approx(expected, abs=0.002)


def test_regions_hang_together_by_ports_and_branches():
    ways = [
        Way("C1", "P1", "J1", ((0, 0), (1, 0))),
        Way("C2", "J1", "P2", ((1, 0), (2, 0))),
        Way("C3", "P3", "P4", ((5, 5), (6, 5))),
        Way("C4", None, None, ((9, 9), (8, 8))),
    ]
    found = regions(ways, ["P1", "P2", "P3", "P4"])
    assert (frozenset({"C1", "C2"}), frozenset({"P1", "P2"})) in found
    assert (frozenset({"C3"}), frozenset({"P3", "P4"})) in found
    assert (frozenset({"C4"}), frozenset()) in found
    assert len(found) == 3


def test_metals():
    """Anodic index: copper 0.35, aluminium 0.90, nickel 0.30, brass 0.40, stainless 0.50 V."""
    (worst, *rest) = dissimilar(["copper", "aluminium", "nickel", "none"])
    assert (worst.eaten, worst.by) == ("aluminium", "nickel")
    assert worst.volts == pytest.approx(0.60)
    assert [(couple.eaten, couple.by) for couple in rest] == [("aluminium", "copper")]
    assert dissimilar(["copper", "nickel", "brass", "stainless"]) == []
    assert dissimilar([]) == []
