"""Plates on posts against closed forms of beams and plates (Timoshenko and Woinowsky-Krieger; Roark, table 8.1)."""

import numpy as np
import pytest
from shapely.geometry import LineString, Point, box

from sketcher.strength.plate_weight import MARGIN, Weight, held, sag

D = 1.5e5  # N mm


def test_a_square_on_its_corners() -> None:
    """0.0257 q a^4 / D in the middle, nu = 0.3 (article 47, from memory)."""
    corners = np.array([(0, 0), (300, 0), (0, 300), (300, 300)])
    value, at = sag(box(0, 0, 300, 300), corners, 2e-4, (), D)
    assert value / MARGIN == pytest.approx(0.0257 * 2e-4 * 300**4 / D, rel=0.03)
    assert at == pytest.approx((150, 150), abs=10)


def beam(span: float, width: float, own: float, force: float, at: float) -> float:
    """In the middle of a simple beam, E I = D (1 - nu²) width: 5 w l^4 / 384 E I, and P b (3 l² - 4 b²) / 48 E I for a
    force at the distance b <= l / 2 from an end (Roark, table 8.1, case 1e; statics of any handbook)."""
    stiff = D * (1 - 0.3**2) * width
    return 5 * own * width * span**4 / (384 * stiff) + force * at * (3 * span**2 - 4 * at**2) / (48 * stiff)


@pytest.mark.parametrize("at", [250.0, 120.0])
def test_a_strip_on_two_rows_of_posts_with_a_pump_on_it(at: float) -> None:
    """500 by 40, 700 g on 30 by 30; read in the middle, where the beam formula holds: within 4 %, and never below by
    more than the margin."""
    posts = np.array([(x, y) for x in (0.0, 500.0) for y in (2.0, 20.0, 38.0)])
    own, force = 1.5e-4, 0.7 * 9.81
    value, _ = sag(box(0, 0, 500, 40), posts, own, (Weight(box(at - 15, 5, at + 15, 35), force),), D)
    middle = beam(500, 40, own, force, at)
    assert 0.97 * middle < value / MARGIN < 1.06 * middle


def test_a_point_and_a_footprint_of_nothing_weigh_the_same() -> None:
    posts = np.array([(0.0, 0.0), (400.0, 0.0), (0.0, 200.0), (400.0, 200.0)])
    one, other = (
        sag(box(0, 0, 400, 200), posts, 0.0, (Weight(shape, 5.0),), D)[0]
        for shape in (Point(200, 100).buffer(0.5), Point(200, 100).buffer(6))
    )
    assert one == pytest.approx(other, rel=0.02)


def test_what_hangs_over_an_end_sags_there() -> None:
    """A beam on posts at 0 and 300 that reaches to 500, P at its end: P a² (l + a) / 3 E I (statics, any handbook)."""
    posts = np.array([(x, y) for x in (0.0, 300.0) for y in (2.0, 20.0, 38.0)])
    value, at = sag(box(0, 0, 500, 40), posts, 0.0, (Weight(box(490, 5, 500, 35), 4.0),), D)
    assert value / MARGIN == pytest.approx(4 * 200**2 * 500 / (3 * D * 0.91 * 40), rel=0.06)
    assert at[0] > 490


def test_posts_in_a_line_do_not_hold() -> None:
    line = np.array(LineString([(0, 0), (100, 0), (300, 1)]).coords)
    assert not held(line)
    with pytest.raises(ValueError, match="three posts"):
        sag(box(0, 0, 300, 100), line, 1e-4, (), D)
