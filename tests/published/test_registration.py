"""Registration against a published example, an independent implementation, and pieces with known truth."""

import math

import numpy as np
import pytest
from scipy.spatial.transform import Rotation

from sketcher.trial.registration import PortReading, register


def readings(places, movements, sigma=0.3):
    return [
        PortReading(f"P{k + 1}", float(x), float(y), float(dx), float(dy), sigma)
        for k, ((x, y), (dx, dy)) in enumerate(zip(places, movements, strict=True))
    ]


def test_umeyamas_example():
    """Umeyama 1991, Least-squares estimation of transformation parameters between two point patterns, the numerical
    example: X = (0,0), (1,0), (0,2), Y = (0,0), (-1,0), (0,2); R = [[0.832, 0.555], [-0.555, 0.832]]. R is the same
    without scale, and the shift follows from the centres of the two patterns."""
    x = np.array([(0.0, 0.0), (1.0, 0.0), (0.0, 2.0)])
    y = np.array([(0.0, 0.0), (-1.0, 0.0), (0.0, 2.0)])
    found = register(readings(x, y - x, sigma=10.0))  # a wide spread, so that no point is called wrong
    angle = math.radians(found.turn_deg)
    assert (math.cos(angle), -math.sin(angle)) == pytest.approx((0.832, 0.555), abs=0.0006)
    rotation = np.array([[0.832, 0.555], [-0.555, 0.832]])
    assert found.moved(0.0, 0.0) == pytest.approx(y.mean(axis=0) - rotation @ x.mean(axis=0), abs=0.001)


@pytest.mark.parametrize("seed", range(30))
def test_agrees_with_scipys_rotation(seed):
    """scipy.spatial.transform.Rotation.align_vectors solves Wahba's problem, the same one, by Kabsch's algorithm."""
    rng = np.random.default_rng(seed)
    count = int(rng.integers(3, 12))
    x = rng.uniform((0, 0), (400, 300), (count, 2))
    turn = Rotation.from_euler("z", rng.uniform(-8, 8), degrees=True).as_matrix()[:2, :2]
    y = x @ turn.T + rng.uniform(-20, 20, 2) + rng.normal(0, 0.4, (count, 2))
    flat = np.zeros((count, 1))
    theirs, _ = Rotation.align_vectors(np.hstack((y - y.mean(0), flat)), np.hstack((x - x.mean(0), flat)))
    ours = register(readings(x, y - x, sigma=50.0))
    assert ours.suspects == ()
    assert ours.turn_deg == pytest.approx(theirs.as_euler("zyx", degrees=True)[0], abs=1e-7)
    matrix = theirs.as_matrix()[:2, :2]
    assert ours.moved(0.0, 0.0) == pytest.approx(y.mean(0) - matrix @ x.mean(0), abs=1e-7)
    assert ours.left == pytest.approx(y - (x @ matrix.T + y.mean(0) - matrix @ x.mean(0)), abs=1e-7)


def pieces(count, seed, ports=8, spread=0.3, wrong=3.0):
    """Test pieces with a known shift and turn and one port that is wrong by ``wrong`` mm, in any direction."""
    rng = np.random.default_rng(seed)
    for _ in range(count):
        x = rng.uniform((20, 20), (420, 300), (ports, 2))
        turn, shift = math.radians(rng.uniform(-1.0, 1.0)), rng.uniform(-4.0, 4.0, 2)
        c, s = math.cos(turn), math.sin(turn)
        centre = x.mean(axis=0)
        movement = (x - centre) @ np.array([[c, s], [-s, c]]) + centre + shift - x
        movement += rng.normal(0.0, spread, movement.shape)
        number, way = int(rng.integers(ports)), rng.uniform(0, 2 * math.pi)
        movement[number] += wrong * np.array([math.cos(way), math.sin(way)])
        yield readings(x, movement, spread), shift, math.degrees(turn), f"P{number + 1}"


@pytest.mark.parametrize("count", [60, pytest.param(1000, marks=pytest.mark.long)])
def test_many_test_pieces(count):
    """Known shift, turn and one wrong port: the shift to the readings' spread, the wrong port named in 98 %."""
    named = besides = 0
    errors, turns, pulls = [], [], []
    for rows, shift, turn, port in pieces(count, seed=61):
        found = register(rows)
        named += port in found.suspects
        besides += any(other != port for other in found.suspects)
        errors.append(np.array(found.shift) - shift)
        turns.append(found.turn_deg - turn)
        pulls.append(errors[-1] @ np.linalg.solve(found.covariance[:2, :2], errors[-1]))
    assert named >= 0.98 * count - 1
    assert besides <= 0.01 * count + 1
    assert np.quantile(np.abs(errors), 0.95) < 0.3  # within one reading's spread
    assert np.std(errors) < 0.3 / math.sqrt(7) * 1.15  # seven good ports' mean
    assert abs(np.mean(turns)) < 0.3 / math.sqrt(count)
    if count < 1000:
        return
    assert 0.90 <= np.mean(np.array(pulls) < 5.991) <= 0.97  # chi-square, two degrees of freedom, 95 %
