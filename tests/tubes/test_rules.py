"""The rules of tubes: a slip each, and a sound one beside it."""

import math
from itertools import pairwise

import numpy as np
import pytest

from sketcher.checks import run as check
from sketcher.document import from_plain
from sketcher.tubes.measures import FITTED_C, SLIDE_MM, strain_mpa
from sketcher.tubes.surroundings import Body, between_lines, to_body
from tests.tubes.places import box, corners, device, made, plain, port

ACRYLIC = "acrylic 13/10"


def found(content, *names):
    return [f for f in check(from_plain(content)) if f.rule in names]


def over(*devices, end=(300.0, 100.0, 200.0), heading="u-", inner=((100.0, 100.0, 200.0),), **tube):
    """A tube from P1 up and over to a device."""
    tube = {"size": ACRYLIC, **tube}
    return plain(device("A", end, heading), *devices,
                 ports=(port("P1", 100, 100, "A.p", points=corners(*inner), **tube),))  # fmt: skip


ALL = ("tube-size-unknown", "tube-bend-tight", "tube-cannot-bend", "tube-straight-short", "tube-clearance",
       "tube-reach", "tube-landing", "tube-strain")  # fmt: skip


def test_a_sound_tube_has_no_finding():
    assert not found(over(), *ALL)
    straight = plain(device("A", (100.0, 100.0, 200.0)), ports=(port("P1", 100, 100, "A.p", size=ACRYLIC),))
    assert not found(straight, *ALL)


def test_an_older_document_says_nothing_of_its_tubes():
    leans = plain(device("A", (130.0, 100.0, 200.0)), ports=(port("P1", 100, 100, "A.p"),))
    assert not found(leans, *ALL)


def test_bends_tighter_than_the_size_bears():
    (finding,) = found(over(bend_radius_mm=20.0), "tube-bend-tight")
    assert finding.value == pytest.approx(20.0)
    assert finding.limit == pytest.approx(3.5 * 13)
    assert finding.at == pytest.approx((100.0, 100.0))
    (squeezed,) = found(over(inner=((100, 100, 60), (100, 160, 60), (100, 160, 200))), "tube-bend-tight")
    assert "room" in squeezed.message


def test_glass_does_not_bend_and_takes_elbows():
    (finding,) = found(over(size="glass 12/9"), "tube-cannot-bend")
    assert finding.level == "error"
    elbow = over(size="glass 12/9", inner=(), end=(300.0, 100.0, 60.0),
                 start_fitting={"kind": "elbow-90", "height_mm": 40})  # fmt: skip
    assert not found(elbow, *ALL)


def test_straights_between_bends_and_at_fittings():
    (finding,) = found(over(inner=((100.0, 100.0, 70.0),), end=(300.0, 100.0, 70.0)), "tube-straight-short")
    assert "at a fitting" in finding.message
    assert finding.value == pytest.approx((50 - 45.5) / 13)
    soft = over(inner=((100.0, 100.0, 70.0),), end=(300.0, 100.0, 70.0), size="soft 13/10")
    assert not found(soft, "tube-straight-short")


def test_clearance_in_space():
    """By hand: the tube's axis at z 200, its half 6.5; a box whose underside is at 208 leaves 1.5 mm."""
    near = box("B", (180.0, 80.0, 208.0), (220.0, 120.0, 240.0))
    (finding,) = found(over(near), "tube-clearance")
    assert finding.value == pytest.approx(1.5, abs=1e-3)
    assert finding.level == "warning"
    assert finding.items == ("P1", "B")
    assert 180 <= finding.at[0] <= 220
    assert not found(over(box("B", (180.0, 80.0, 210.0), (220.0, 120.0, 240.0))), "tube-clearance")
    (through,) = found(over(box("B", (180.0, 80.0, 190.0), (220.0, 120.0, 240.0))), "tube-clearance")
    assert through.level == "error"


def test_two_tubes_that_cross_are_one_finding():
    content = over()
    content["devices"].append(device("C", (200.0, 220.0, 212.0), "v-"))
    content["ports"].append(port("P2", 200, 52, "C.p", size=ACRYLIC, points=corners((200, 52, 212))))
    (finding,) = found(content, "tube-clearance")
    assert set(finding.items) == {"P1", "P2"}
    assert finding.level == "error"
    assert "runs into" in finding.message
    content["devices"][-1]["z_mm"] = 216.0
    content["ports"][-1]["tube"]["points"] = corners((200, 52, 216))
    assert not found(content, "tube-clearance"), "16 - 13 = 3 mm is the limit itself"


def test_a_board_in_between():
    content = over()
    content["boards"] = [{"id": "M", "role": "card", "x_mm": 180, "y_mm": 60, "z_mm": 150, "posture": "standing",
                          "width_mm": 80, "depth_mm": 80, "parts_height_mm": 5, "turn_deg": 90}]  # fmt: skip
    assert found(content, "tube-clearance")[0].items == ("P1", "M")


@pytest.mark.parametrize("lean", [1.0, 2.0, 20.0])
def test_landing_in_line(lean):
    shift = 180 * math.tan(math.radians(lean))
    leans = plain(device("A", (100.0 + shift, 100.0, 200.0)), ports=(port("P1", 100, 100, "A.p", size=ACRYLIC),))
    angles = [f.value for f in found(leans, "tube-landing")]
    assert angles == ([] if lean < 1.5 else pytest.approx([lean, lean], abs=1e-6))
    soft = plain(device("A", (100.0 + shift, 100.0, 200.0)), ports=(port("P1", 100, 100, "A.p", size="soft 13/10"),))
    assert not found(soft, "tube-landing")


def test_an_elbow_lands_at_its_own_angle():
    wrong = over(inner=(), end=(300.0, 100.0, 120.0), start_fitting={"kind": "elbow-90", "height_mm": 40})
    values = [f.value for f in found(wrong, "tube-landing") if "P1" in f.message]
    assert values
    assert max(values) > 10


def test_strain_by_hand():
    """σ = E (αLΔT + shift - slide)/L for a straight one; a guided cantilever, 3 E D δ/l² (Kellogg 1956), else."""
    (run,) = made(plain(device("A", (100, 100, 120)), ports=(port("P1", 100, 100, "A.p", size=ACRYLIC),)))[2]
    grows = 70e-6 * 100 * (70 - FITTED_C)
    assert strain_mpa(run, 70.0, 0.0) == 0, "its fittings take up a third of a millimetre"
    assert strain_mpa(run, 70.0, 2.0) == pytest.approx(3000 * (grows + 2.0 - 2 * SLIDE_MM) / 100, rel=1e-6)
    (bent,) = made(over())[2]
    span = math.hypot(200, 180)
    along = 70e-6 * span * 50 + 2.0 - 2 * SLIDE_MM
    assert strain_mpa(bent, 70.0, 2.0) == pytest.approx(3 * 3000 * 13 * along / 200**2, rel=1e-6)
    (soft,) = made(over(size="soft 13/10"))[2]
    assert strain_mpa(soft, 90.0, 5.0) == 0


def test_strain_is_a_finding_when_the_case_is_carried_roughly():
    short = plain(device("A", (100, 100, 60)), ports=(port("P1", 100, 100, "A.p", size="glass 12/9"),))
    assert not found(short, "tube-strain")
    short["loop"] = {"carry_shift_mm": 2.0}
    assert found(short, "tube-strain")


def test_reach_beside_a_fitting():
    near = box("B", (290.0, 112.0, 190.0), (310.0, 140.0, 210.0))
    (finding,) = found(over(near), "tube-reach")
    assert finding.items == ("P1", "B")
    assert finding.value == pytest.approx(12.0 - 9.5, abs=1e-3), "from the fitting's side: half of 13 and 3 mm of wall"


def test_unknown_sizes_are_named():
    (finding,) = found(over(size="acrylic 13/1"), "tube-size-unknown")
    assert "acrylic 13/1" in finding.message


# The measures by a second way ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("seed", range(6))
def test_distances_by_dense_points(seed):
    """Segments against a turned box and against each other: 400 points a segment, one by one."""
    random = np.random.default_rng(seed)
    one, other = random.uniform(0, 100, (4, 3)), random.uniform(0, 100, (5, 3))
    axes = np.linalg.qr(random.normal(size=(3, 3)))[0]
    low = random.uniform(-20, 0, 3)
    body = Body("B", "device", random.uniform(0, 100, 3), axes, low, low + random.uniform(5, 40, 3))

    def dense(line):
        shares = np.linspace(0, 1, 400)[:, None]
        return np.vstack([a + shares * (b - a) for a, b in pairwise(line)])

    own = (dense(one) - body.origin) @ axes
    outside = np.maximum(np.maximum(body.low - own, own - body.high), 0)
    assert to_body(one, body)[0] == pytest.approx(np.linalg.norm(outside, axis=1).min(), abs=0.2)
    apart = np.linalg.norm(dense(one)[:, None] - dense(other)[None], axis=2).min()
    assert between_lines(one, other)[0] == pytest.approx(apart, abs=0.2)
    assert between_lines(one, other)[0] <= apart + 1e-9
