"""The plate's own weight, by Roark's beams: acrylic of 1.19 g/cm³ and 2.8 GPa, half of it for creep."""

import pytest

from sketcher.checks import run
from tests.checks.plates import found, plate, rectangle
from tests.checks.test_limits import cut, hole


def long(*at: float, body: float = 12, lid: float = 3, z: float = 20, **more):
    """A plate of 600 by 60 with mounting screws at these places along its middle."""
    return plate(
        floor={"outline": rectangle(400, 150, 800, 300), **more},
        plate={"outline": rectangle(400, 150, 600, 60), "body_thickness_mm": body, "lid_thickness_mm": lid, "z_mm": z},
        holes=[hole(f"H{n}", x, 150) for n, x in enumerate(at)],
    )


def by_hand(reach: float, body: float = 12, lid: float = 3) -> float:
    """5 q (2 r)^4 / 384 D, the sheets side by side."""
    weight = 1190 * 9.81 * (body + lid) / 1000  # Pa
    rigidity = 1.4e9 * (body**3 + lid**3) * 1e-9 / 12 / (1 - 0.3**2)
    return 1000 * 5 * weight * (2 * reach / 1000) ** 4 / 384 / rigidity


def test_a_plate_held_at_one_end_hangs_down_at_the_other():
    """From 120 to its far edge at 700, 30 beside the middle line."""
    (finding,) = found(long(110, 120), "plate-sag")
    reach = (580**2 + 30**2) ** 0.5
    assert finding.value == pytest.approx(by_hand(reach), rel=1e-3)
    assert finding.at == (700, pytest.approx(180)) or finding.at == (700, pytest.approx(120))
    # A cantilever with its root at the screw hangs by q r^4 / 8 D: less, and more than half of it.
    cantilever = by_hand(reach) * 384 / (5 * 16 * 8)
    assert cantilever < finding.value < 2 * cantilever


def test_it_speaks_just_over_half_a_millimetre():
    reach = (0.5 / by_hand(1.0)) ** 0.25
    for more, told in ((0.5, True), (-0.5, False)):
        middle = 2 * ((reach + more) ** 2 - 30**2) ** 0.5
        ends = (400 - middle / 2, 400 + middle / 2)
        assert bool(found(long(*ends, *(100, 700)), "plate-sag")) is told


def test_what_it_stands_on_holds_it_and_what_lies_on_the_floor_does_not_sag():
    post = {"obstacles": [cut("O1", rectangle(650, 150, 20, 20), height_mm=20),
                          cut("O2", rectangle(400, 150, 20, 20), height_mm=20)]}  # fmt: skip
    assert not found(long(110, **post), "plate-sag")
    assert not found(long(110, 120, z=0), "plate-sag")
    assert not found(long(), "plate-sag")  # nothing says yet how it is held
    assert "plate-sag" not in {one.rule for one in run(plate(holes=[hole("H1", 60, 60), hole("H2", 340, 240)]))}
