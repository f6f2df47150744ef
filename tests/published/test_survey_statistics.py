"""Statistics that hold: simulated surveys with known truth (the outside value is the truth itself).

The everyday run takes part of the surveys; ``pytest --long tests/published/test_survey_statistics.py`` takes
all 2,000 of each, from nothing (places, mirrored alternatives and all). The figures are in ``docs/survey.md``.
"""

import numpy as np
import pytest

from sketcher.survey.adjustment import adjust
from sketcher.survey.ellipse import contains
from sketcher.survey.leastsquares import precision, solve
from tests.survey.surveys import TRUTH, a_survey, redundancy, six_points, with_value


def inside_95(points_with_covariance) -> list[bool]:
    return [contains(cov, np.array(place) - np.array(TRUTH[name])) for name, place, cov in points_with_covariance]


NETWORKS = {"six points": six_points, "ten points": a_survey}


@pytest.mark.parametrize("count", [400, pytest.param(2000, marks=pytest.mark.long)])
@pytest.mark.parametrize("kind", NETWORKS)
def test_the_true_point_lies_inside_the_95_percent_ellipse(kind, count):
    """Surveys by least squares alone: 93 to 97 % of all points that are held by no datum."""
    rng = np.random.default_rng(20)
    hits: list[bool] = []
    for _ in range(count):
        net = NETWORKS[kind](rng)
        solution = solve(net, net.state(TRUTH))
        cov = precision(net, solution.state).covariance
        hits += inside_95(
            (name, solution.state[2 * k : 2 * k + 2], cov[2 * k : 2 * k + 2, 2 * k : 2 * k + 2])
            for k, name in enumerate(net.points)
            if name not in "AB"
        )
    assert 0.93 <= np.mean(hits) <= 0.97


def whole_surveys(kind: str, count: int, seed: int) -> tuple[float, float]:
    """Share of true points inside their ellipse, and of right readings called suspect."""
    rng = np.random.default_rng(seed)
    hits: list[bool] = []
    suspect = total = 0
    for _ in range(count):
        result = adjust(NETWORKS[kind](rng))
        hits += inside_95((p.id, (p.x, p.y), p.covariance) for p in result.points if p.id not in "AB")
        suspect += sum(reading.suspect or reading.rival for reading in result.readings)
        total += len(result.readings)
    return float(np.mean(hits)), suspect / total


def planted(kind: str, count: int, seed: int, blunder: float = 5.0) -> tuple[float, float]:
    """Share of planted blunders that are named, and of right readings called suspect beside them."""
    rng = np.random.default_rng(seed)
    named = wrongly = total = 0
    for _ in range(count):
        net = NETWORKS[kind](rng)
        assert redundancy(net) >= 6
        number = int(rng.integers(len(net.observations)))
        off = blunder * rng.choice([-1.0, 1.0])
        result = adjust(with_value(net, number, net.observations[number].value + off))
        named += result.readings[number].suspect or result.readings[number].rival
        wrongly += sum(r.suspect or r.rival for k, r in enumerate(result.readings) if k != number)
        total += len(result.readings) - 1
    return named / count, wrongly / total


@pytest.mark.parametrize("kind", NETWORKS)
def test_a_planted_blunder_is_named_and_clean_readings_are_not(kind):
    coverage, suspect = whole_surveys(kind, 16, seed=21)
    assert 0.89 <= coverage <= 1.0  # few points: wider than for all 2,000 surveys
    assert suspect < 0.02
    named, wrongly = planted(kind, 16, seed=22)
    # Of sixteen: two misses where 98.9 % are named (all 2,000) come in about one run in a hundred, three in none.
    assert named >= 14 / 16
    assert wrongly < 0.04


@pytest.mark.long
@pytest.mark.parametrize("kind", NETWORKS)
def test_all_2000_surveys(kind):
    coverage, suspect = whole_surveys(kind, 2000, seed=23)
    print(f"{kind}: coverage {coverage:.4f}, clean readings called suspect {suspect:.5f}")
    assert 0.93 <= coverage <= 0.97
    assert suspect < 0.02
    named, wrongly = planted(kind, 2000, seed=24)
    print(f"{kind}: blunders named {named:.4f}, clean readings called suspect beside them {wrongly:.5f}")
    assert named >= 0.95
    assert wrongly < 0.02
