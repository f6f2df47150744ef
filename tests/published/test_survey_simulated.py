"""Surveys with one slip, and clean surveys with several possible branches, against the truth they were simulated from.

The everyday run takes a small sample with fixed seeds; ``pytest --long -s tests/published/test_survey_simulated.py``
takes the whole of it. The figures are in ``docs/survey.md``.
"""

from collections import Counter

import numpy as np
import pytest

from tests.survey.simulated import floor, from_truth, rectangle, silently_wrong, slips, verdict, whole

SLIPS = ("off", "swapped", "inches", "centimetres", "point lost")


def rectangles(count: int, seed: int, *, noise: bool, every: int = 1) -> dict[str, Counter]:
    """Sides and diagonals, one slip of each kind on each of the six readings (or on every so many of these cases)."""
    said = {kind: Counter() for kind in SLIPS}
    case = 0
    for k in range(count):
        rng = np.random.default_rng([seed, k])
        survey = rectangle(rng, noise=noise)
        for number, reading in enumerate(survey.network.observations):
            for kind, value in slips(reading.value, rng):
                case += 1
                if case % every == 0:
                    said[kind] += verdict(whole(survey.with_value(number, value)), number)
    return said


def held(said: dict[str, Counter]) -> Counter:
    total = sum(said.values(), Counter())
    assert total["blamed"] <= 0.01 * total["surveys"]
    assert total["excluded"] == 0  # nothing would check the five that are left
    assert total["named"] >= 0.98 * total["surveys"]
    return total


@pytest.mark.parametrize("noise", [False, True])
def test_one_slip_in_sides_and_diagonals_blames_no_right_reading(noise):
    total = held(rectangles(3, 31, noise=noise, every=13))
    assert total["rivals"] >= 0.98 * total["surveys"]


def clean(count: int, seed: int, shape: str, kinds: str, *, outline: bool) -> Counter:
    said = Counter()
    for k in range(count):
        survey = floor(np.random.default_rng([seed, k]), shape, kinds)
        found = whole(survey, outline=outline)
        said += Counter(
            surveys=1,
            silent=bool(silently_wrong(survey, found)),
            asked=any(mirror.decided_by != "walls" for mirror in found.mirrors),
            disagrees=not found.agrees,
        )
    return said


@pytest.mark.parametrize("shape", ["rectangle", "L"])
@pytest.mark.parametrize("kinds", ["distances", "offsets", "mixed"])
def test_no_clean_survey_comes_out_on_a_wrong_branch_unsaid(shape, kinds):
    for outline in (True, False):
        assert clean(4, 32, shape, kinds, outline=outline)["silent"] == 0


@pytest.mark.parametrize("outline", [True, False])
def test_no_clean_survey_of_a_u_shaped_floor_comes_out_on_a_wrong_branch_unsaid(outline):
    for kinds in ("distances", "offsets", "mixed"):
        assert clean(2, 77, "U", kinds, outline=outline)["silent"] == 0


def yardstick(count: int, seed: int) -> tuple[Counter, Counter]:
    """Distance-only surveys with one slip of 5 spreads or more: what is said from nothing, and from the truth."""
    ours, theirs = Counter(), Counter()
    for k in range(count):
        rng = np.random.default_rng([seed, k])
        survey = floor(rng, "rectangle", "distances", points=5)
        number = int(rng.integers(len(survey.network.observations)))
        reading = survey.network.observations[number]
        size = float(np.exp(rng.uniform(np.log(5 * reading.sigma), np.log(200.0))))  # from 5 spreads to 200 mm
        value = reading.value + float(rng.choice([-1.0, 1.0])) * min(size, 0.8 * reading.value)
        slipped = survey.with_value(number, value)
        ours += verdict(whole(slipped), number)
        snooped = from_truth(slipped)
        marked = {k for group in snooped.rivals for k in group}
        out = set(snooped.suspects)
        theirs += Counter(
            surveys=1,
            named=number in out | marked,
            excluded=number in out,
            blamed=bool(out - {number}) or (bool(marked) and number not in marked),
        )
    return ours, theirs


def test_slips_are_named_as_often_as_from_the_true_places():
    ours, theirs = yardstick(16, 33)
    assert ours["named"] >= theirs["named"] - 1
    assert ours["blamed"] <= 1


@pytest.mark.long
@pytest.mark.parametrize("noise", [False, True])
def test_all_rectangles(noise):
    said = rectangles(60, 41, noise=noise)
    for kind, counted in said.items():
        print(f"rectangle, noise {noise}, {kind}: {dict(counted)}")
    held(said)


@pytest.mark.long
@pytest.mark.parametrize("outline", [True, False])
@pytest.mark.parametrize("shape", ["rectangle", "L", "U"])
@pytest.mark.parametrize("kinds", ["distances", "offsets", "mixed"])
def test_all_clean_surveys(shape, kinds, outline):
    said = clean(500, 42, shape, kinds, outline=outline)
    print(f"{shape}, {kinds}, outline {outline}: {dict(said)}")
    assert said["silent"] <= 1


@pytest.mark.long
def test_all_of_the_yardstick():
    ours, theirs = yardstick(300, 43)
    print(f"from nothing {dict(ours)}; from the truth {dict(theirs)}")
    assert ours["named"] >= theirs["named"] - 3
    assert ours["blamed"] <= 3
