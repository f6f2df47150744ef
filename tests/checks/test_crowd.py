"""Lists pasted onto one spot are answered at once, with an error that nobody can accept."""

from __future__ import annotations

import math
from typing import Any

import pytest

from sketcher.checks import crowd, run
from sketcher.checks.crowd import MOST_OF_EACH, MOST_PAIRS, crowded, tangled
from sketcher.checks.scene import Scene
from sketcher.document import DocumentError, from_plain
from sketcher.document.outline_consistency import MOST_CROSSINGS
from sketcher.findings import limits_of
from sketcher.geometry import build
from sketcher.geometry.placement import frames
from tests.document.test_files import BARE

ONE_PLACE = {"x_mm": 200, "y_mm": 150}
PLACES: dict[str, dict[str, Any]] = {
    "holes": ONE_PLACE,
    "keep_outs": {"outline": {"shape": "circle", **ONE_PLACE, "diameter_mm": 8}},
    "boards": {**ONE_PLACE, "width_mm": 60, "depth_mm": 30},
}


def pasted(key: str, count: int) -> dict[str, Any]:
    return {**BARE, key: [{"id": f"N{n}", **PLACES[key]} for n in range(count)]}


@pytest.mark.parametrize("key", PLACES)
def test_a_list_on_one_spot_is_one_error_for_each_question(key: str) -> None:
    found = run(from_plain(pasted(key, 400)))
    assert [(one.rule, one.level) for one in found] == [
        (f"unchecked-{name}", "error") for name in ("fits", "flows", "holds", "made")
    ]
    assert "399 others" in found[0].message
    accepted = [{"rule": one.rule, "items": list(one.items), "reason": "never mind"} for one in found]
    assert not any(one.accepted for one in run(from_plain({**pasted(key, 400), "accepted": accepted})))


def test_the_pairs_are_counted_as_they_are() -> None:
    """By hand: 90 holes on one spot make 90 · 89 / 2 = 4,005 pairs; a raster makes none, however many there are."""
    assert 90 * 89 / 2 < MOST_PAIRS + 90 * MOST_OF_EACH < 150 * 149 / 2
    raster = [{"id": f"H{n}", "x_mm": 110 + n % 30 * 6, "y_mm": 105 + n // 30 * 6} for n in range(450)]
    for plain, known in ((pasted("holes", 90), None), ({**BARE, "holes": raster}, None), (pasted("holes", 150), 149)):
        document = from_plain(plain)
        found = crowded(Scene(build(document), limits_of(document)))
        assert (found and found[1]) == known


def test_a_chain_of_holders_is_as_long_as_it_is() -> None:
    """Each 1 mm to the right of what holds it: the last of 2,000 stands at 2,000 mm."""
    chain = [{"id": f"D{n}", "kind": "block", "x_mm": 1, "y_mm": 0, **({"held_by": f"D{n + 1}"} if n < 2000 else {})}
             for n in range(1, 2001)]  # fmt: skip
    assert frames(from_plain({**BARE, "devices": chain}))["D1"].origin == pytest.approx((2000, 0, 0))


def star(corners: int, step: int) -> dict[str, Any]:
    """A star polygon {corners/step}: each edge crosses 2(step − 1) others, corners·(step − 1) crossings in all
    (Coxeter, Regular Polytopes, 2.8)."""
    turn = 2 * math.pi * step / corners
    vertices = [{"x_mm": 200 + 30 * math.cos(turn * n), "y_mm": 150 + 30 * math.sin(turn * n)} for n in range(corners)]
    return {**BARE, "cutouts": [{"id": "K1", "outline": {"shape": "polygon", "vertices": vertices}}]}


def test_an_outline_that_crosses_itself_thousands_of_times_is_refused_by_name() -> None:
    assert 71 * (8 - 1) < MOST_CROSSINGS < 73 * (8 - 1)
    assert from_plain(star(71, 8))
    for corners, step in ((73, 8), (1999, 763)):
        with pytest.raises(
            DocumentError, match=r"/cutouts/0/outline/vertices: the outline crosses itself more than 500"
        ):
            from_plain(star(corners, step))
    assert from_plain(star(1999, 1))


def comb(teeth: int, across: int) -> dict[str, Any]:
    """A channel that goes up and down so often, and then across all of that so often: teeth · across crossings."""
    up_and_down = [(150 + 2 * (n // 2), (120, 180, 180, 120)[n % 4]) for n in range(2 * teeth)]
    right = 150 + 2 * teeth
    over = [((right, 145, 145, right)[n % 4], 130 + 2 * (n // 2)) for n in range(2 * across)]
    points = [{"x_mm": x, "y_mm": y} for x, y in (*up_and_down, (right + 2, 180), (right + 2, 130), *over)]
    return {**BARE, "channels": [{"id": "C1", "points": points, "width_mm": 1, "depth_mm": 8, "bend_radius_mm": 0}]}


def test_a_course_that_crosses_itself_all_over_is_one_error_for_each_question() -> None:
    """By hand: 15 strokes up and down with 7 across make 105 crossings; with 6 they make 90."""
    for across, known in ((6, None), (7, "C1")):
        document = from_plain(comb(15, across))
        assert tangled(Scene(build(document), limits_of(document))) == known
    assert 15 * 6 < crowd.MOST_CROSSINGS < 15 * 7
    found = run(from_plain(comb(120, 120)))
    assert [one.rule for one in found] == [f"unchecked-{name}" for name in ("fits", "flows", "holds", "made")]
    assert "more than 100 times" in found[0].message
    # A long channel that crosses nothing is looked at.
    document = from_plain(comb(200, 0))
    assert tangled(Scene(build(document), limits_of(document))) is None
