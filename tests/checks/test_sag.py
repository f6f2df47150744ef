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


def stood(mass_g: float, volume_ml: float = 0, *, x: float = 400, corners: bool = True, z: float = 38):
    """A plate of 500 by 300, 18 mm thick, on screws at its corners, or on two; a device of 60 by 60 stands on it."""
    at = ((160, 10), (640, 10), (160, 290), (640, 290)) if corners else ((160, 150), (170, 150))
    return plate(
        floor={"outline": rectangle(400, 150, 800, 300)},
        plate={"outline": rectangle(400, 150, 500, 300), "body_thickness_mm": 15, "lid_thickness_mm": 3, "z_mm": 20},
        holes=[hole(f"H{n}", *place) for n, place in enumerate(at)],
        devices=[{"id": "D1", "kind": "pump", "x_mm": x, "y_mm": 150, "z_mm": z, "height_mm": 80,
                  "outline": rectangle(0, 0, 60, 60), "mass_g": mass_g, "volume_ml": volume_ml}],
    )  # fmt: skip


def test_what_stands_on_the_plate_is_weighed_with_its_coolant():
    """In the middle of a plate on its corners: at least what a simple beam along the long side sags by, since
    the screws hold two corners of each end alone; by hand, P l³ / 48 E I and 5 w l⁴ / 384 E I."""
    assert not found(stood(0), "plate-sag")
    (heavy,) = found(stood(3000), "plate-sag")
    (filled,) = found(stood(2000, 1000), "plate-sag")
    assert filled.value == pytest.approx(heavy.value, rel=0.003)  # a litre of water is a kilogram but for 0.2 %
    assert "3 kg" in heavy.message
    rigidity = 1.4e3 * (15**3 + 3**3) / 12 / (1 - 0.3**2)
    beam = 3 * 9.81 * 480**3 / (48 * rigidity * (1 - 0.3**2) * 300)
    own = 5 * 1.19e-6 * 9.81 * 18 * 480**4 / (384 * rigidity * (1 - 0.3**2))
    assert beam + own < heavy.value < 1.6 * (beam + own)
    assert heavy.at is not None
    assert heavy.at[0] == pytest.approx(400, abs=15)
    # What stands over the plate on something else weighs nothing on it.
    assert not found(stood(3000, z=60), "plate-sag")


def test_a_weight_on_a_plate_held_at_one_end_bends_a_cantilever():
    """P a² (3 r - a) / 6 D B beside the plate's own strip, by hand: from the screw at 170 to the far corner."""
    one, other = (found(stood(mass, x=500, corners=False), "plate-sag")[0] for mass in (0, 1000))
    rigidity = 1.4e3 * (15**3 + 3**3) / 12 / (1 - 0.3**2)
    reach = (480**2 + 150**2) ** 0.5
    along = (480 / reach, 150 / reach)
    width = 500 * along[1] + 300 * along[0]
    a = (360**2 + 30**2) ** 0.5  # the foot's far corners
    added = 9.81 * a**2 * (3 * reach - a) / (6 * rigidity * width)
    assert other.value - one.value == pytest.approx(added, rel=0.01)


def test_what_it_stands_on_holds_it_and_what_lies_on_the_floor_does_not_sag():
    post = {"obstacles": [cut("O1", rectangle(650, 150, 20, 20), height_mm=20),
                          cut("O2", rectangle(400, 150, 20, 20), height_mm=20)]}  # fmt: skip
    assert not found(long(110, **post), "plate-sag")
    assert not found(long(110, 120, z=0), "plate-sag")
    assert not found(long(), "plate-sag")  # nothing says yet how it is held
    assert "plate-sag" not in {one.rule for one in run(plate(holes=[hole("H1", 60, 60), hole("H2", 340, 240)]))}
