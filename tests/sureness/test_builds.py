"""The stated chances against whole builds, counted."""

import math

import numpy as np
import pytest

from sketcher.geometry import build
from sketcher.sureness.assessment import assess
from sketcher.sureness.learning import Read, landings_read, taught
from sketcher.sureness.model import build_model
from tests.sureness import builds

#: Landing circles, mm, that give chances from about a half to over ninety-nine in a hundred.
CIRCLES = (0.95, 1.25, 1.45, 1.65, 2.0)


def _counted(offsets: np.ndarray, radius: float) -> float:
    return float((np.hypot(offsets[..., 0], offsets[..., 1]) <= radius).all(axis=1).mean())


def _holds(stated: float | None, counted: float, count: int) -> None:
    assert stated is not None
    # Three and a half standard deviations of counting; half a percent for the joint integration and the linear model.
    slack = 3.5 * math.sqrt(max(counted * (1 - counted), 1e-4) / count) + 0.005
    assert abs(stated - counted) <= slack, (stated, counted, slack)


def before_a_trial(count: int, seed: int) -> list[tuple[float, float]]:
    chance = np.random.default_rng(seed)
    drawn, true = builds.hardware(chance, count)
    offsets = true - builds.assembled(chance, drawn)
    found = []
    for radius in CIRCLES:
        stated, counted = assess(builds.document(radius), advice=False).chance, _counted(offsets, radius)
        _holds(stated, counted, count)
        found.append((stated or 0.0, counted))
    return found


def after_a_trial(count: int, seed: int) -> list[tuple[float, float]]:
    chance = np.random.default_rng(seed)
    drawn, true = builds.hardware(chance, count)
    # The trial: a test piece of its own seat, each tube read with 0.3 mm; ports move to what the program then expects.
    seat = chance.normal(scale=builds.SPREADS["seating_mm"], size=(count, 1, 2))
    read = true - (drawn + seat) + chance.normal(scale=0.3, size=drawn.shape)
    document = builds.document(1.0, landings=True)
    model = build_model(document, build(document))
    unit = []
    for k in range(drawn.shape[1]):
        for axis in range(2):
            reads = [
                Read(j, (float(j == k and axis == 0), float(j == k and axis == 1)), 0.3) for j in range(drawn.shape[1])
            ]
            unit.append((taught(model, reads, builds.SPREADS["seating_mm"]).mean - model.mean).ravel())
    moves = (read.reshape(count, -1) @ np.array(unit)).reshape(drawn.shape)
    offsets = true - builds.assembled(chance, drawn + moves)
    found = []
    for radius in CIRCLES:
        sure = assess(builds.document(radius, landings=True), advice=False)
        counted = _counted(offsets, radius)
        _holds(sure.chance, counted, count)
        found.append((sure.chance or 0.0, counted))
    return found


def test_stated_chances_hold_in_whole_builds() -> None:
    before_a_trial(20_000, seed=1)


def test_stated_chances_hold_after_a_trial_and_are_higher() -> None:
    after = after_a_trial(20_000, seed=2)
    for (chance, _), radius in zip(after, CIRCLES, strict=True):
        before = assess(builds.document(radius), advice=False).chance
        assert before is not None
        assert chance > before


@pytest.mark.long
def test_stated_chances_hold_in_a_hundred_thousand_builds() -> None:
    """The table is in docs/sureness.md."""
    for name, rows in (("before", before_a_trial(100_000, seed=11)), ("after", after_a_trial(100_000, seed=12))):
        for stated, counted in rows:
            print(f"{name} a trial: stated {100 * stated:.1f} %, counted {100 * counted:.1f} %")


def test_a_trial_that_read_a_tube_elsewhere_moves_what_is_expected() -> None:
    document = builds.document(1.0, landings=True)
    model = build_model(document, build(document))
    reads = landings_read(document, model)
    assert len(reads) == len(model.drops)
    off = [Read(read.index, (2.0, 0.0), read.spread_mm) for read in reads]
    after = taught(model, off, 0.0)
    assert np.all(after.mean[:, 0] > 0.5)
    assert np.all(np.abs(after.mean[:, 1]) < 0.3)
