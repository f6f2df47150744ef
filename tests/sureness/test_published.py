"""The propagation of spreads held to published examples."""

import math

import numpy as np
from numpy.typing import NDArray

from sketcher.sureness.drops import Drop
from sketcher.sureness.model import Model
from sketcher.survey.adjusted import chance_below

Array = NDArray[np.float64]


def model(gain: Array, inner: Array) -> Model:
    """A model of so many landings whose map and covariance of numbers are given."""
    drop = Drop("P1", "D.a", "D", (0.0, 0.0), (0.0, 0.0), (0.0, 0.0), 0.0, 1.0)
    count = len(gain)
    sources = tuple(f"s{k}" for k in range(gain.shape[-1]))
    return Model((drop,) * count, np.zeros((count, 2)), gain, sources, inner, ())


def test_correlated_inputs_give_the_guides_own_covariances() -> None:
    """JCGM 100:2008, H.2: resistance, reactance and impedance from one set of readings; inputs of table H.2.

    Results as the GUM Tree Calculator's documentation (Measurement Standards Laboratory of New Zealand, GUM_H2)
    prints them: R 127.732(70), X 219.85(30), Z 254.26(24) ohm; correlations -0.59, -0.49 and +0.99.
    """
    volts, amps, angle = 4.999, 19.661e-3, 1.04446
    spreads = np.array([3.2e-3, 9.5e-6, 7.5e-4])
    correlation = np.array([[1, -0.36, 0.86], [-0.36, 1, -0.65], [0.86, -0.65, 1]])
    z, cos, sin = volts / amps, math.cos(angle), math.sin(angle)
    slopes = np.array(
        [
            [cos / amps, -z * cos / amps, -z * sin],
            [sin / amps, -z * sin / amps, z * cos],
            [1 / amps, -z / amps, 0.0],
            [0.0, 0.0, 0.0],
        ]
    )
    found = model((slopes * spreads).reshape(2, 2, 3), correlation).covariance
    sigma = np.sqrt(np.diag(found)[:3])
    assert np.allclose(sigma, [0.070, 0.30, 0.24], atol=[0.0005, 0.005, 0.005])
    bound = found[:3, :3] / np.outer(sigma, sigma)
    assert np.allclose([bound[0, 1], bound[0, 2], bound[1, 2]], [-0.59, -0.49, 0.99], atol=0.005)


def test_a_tolerance_stack_of_eleven_parts() -> None:
    """Drake (ed.), Dimensioning and Tolerancing Handbook, McGraw-Hill 1999, chapter 9: the motor assembly, inches.

    Eleven dimensions with tolerances of three standard deviations each: nominal gap 0.0615, worst case 0.0955, root sum
    of squares 0.0381, so that 99.73 of 100 gaps lie within 0.0615 ± 0.0381. Stated there; read in the tests of a
    library for dimension stacks that repeat the chapter.
    """
    parts = [
        (-0.3595, 0.0155),
        (0.0320, 0.0020),
        (0.0600, 0.0030),
        (0.4305, 0.0075),
        (0.1200, 0.0050),
        (1.5030, 0.0070),
        (0.1200, 0.0050),
        (0.4305, 0.0075),
        (0.4500, 0.0070),
        (-3.0250, 0.0060),
        (0.3000, 0.0300),
    ]
    gap = sum(size for size, _ in parts)
    assert math.isclose(gap, 0.0615, abs_tol=5e-5)
    assert math.isclose(sum(tolerance for _, tolerance in parts), 0.0955, abs_tol=5e-5)
    gain = np.zeros((1, 2, len(parts)))
    gain[0, 0] = [math.copysign(tolerance / 3, size) for size, tolerance in parts]
    stack = model(gain, np.eye(len(parts)))
    sigma = math.sqrt(stack.covariance[0, 0])
    assert math.isclose(3 * sigma, 0.0381, abs_tol=5e-5)
    beyond = 1 - chance_below(gap + 0.0381, gap, sigma)
    assert math.isclose(1 - 2 * min(beyond, 1 - beyond), 0.9973, abs_tol=1e-4)
    # Whose spread it is: the tapped hole's depth has 0.03² of 0.0381².
    assert math.isclose(stack.shares(0)["s10"], 0.0300**2 / 0.0381**2, abs_tol=0.002)
