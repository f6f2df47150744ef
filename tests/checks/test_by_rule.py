"""Lid screws by rule: worked out, not stored; they follow while channels move, until they are pinned."""

import math

import pytest
from shapely import Point

from sketcher.checks import run
from sketcher.checks.by_rule import by_rule, with_lid_screws
from sketcher.document import Document, dumps, from_plain, loads, to_plain
from sketcher.document.begin import begin
from sketcher.geometry import build
from sketcher.server.look_routes import answer

HELD = ("seal-", "screw-", "lid-", "wall-", "depth-", "head-")


def document(port: tuple[float, float] = (240, 140), **seal) -> Document:
    plain = to_plain(begin(300, 200, 20))
    plain["ports"] = [{"id": "P1", "x_mm": 60, "y_mm": 60}, {"id": "P2", "x_mm": port[0], "y_mm": port[1]}]
    plain["channels"] = [{"id": "C1", "start": "P1", "end": "P2", "points": [{"x_mm": port[0], "y_mm": 60}],
                          "width_mm": 10, "depth_mm": 8}]  # fmt: skip
    plain["seal"] = {"screws_by_rule": True, **seal}
    return from_plain(plain)


@pytest.fixture(scope="module")
def plain_one() -> Document:
    return document()


def test_screws_by_rule_are_not_stored_and_older_documents_have_none(plain_one: Document) -> None:
    assert not loads(dumps(plain_one)).holes
    older = begin(300, 200, 20)
    assert not older.seal.screws_by_rule
    assert with_lid_screws(older) is older
    assert "screws_by_rule" not in dumps(older)


@pytest.mark.parametrize("port", [(240, 140), (226, 131), (203, 150)])
def test_a_port_that_is_dragged_takes_its_screws_along_without_an_error(port: tuple[float, float]) -> None:
    """The old pattern would stay behind: a channel moved by 14 mm runs into its screws."""
    found = [f for f in run(document(port), fixes=False) if f.level == "error" and f.rule.startswith(HELD)]
    assert found == []
    screws = with_lid_screws(document(port)).holes
    water = build(document(port)).channels["C1"].polygon
    # Wall 2, groove 2.8 and wall 2 between coolant and the clearance hole of 4.5 (ISO 273).
    assert min(water.distance(Point(hole.x_mm, hole.y_mm)) for hole in screws) >= 6.8 + 2.25 - 0.01


def test_a_pinned_screw_stays_and_the_others_are_placed_around_it(plain_one: Document) -> None:
    placed = by_rule(plain_one)
    first = placed.document.holes[0]
    pinned = from_plain({**to_plain(plain_one), "holes": [to_plain(placed.document)["holes"][0]]})
    again = with_lid_screws(pinned)
    assert again.holes[0] == first
    assert len({hole.id for hole in again.holes}) == len(again.holes)
    others = [math.dist((first.x_mm, first.y_mm), (h.x_mm, h.y_mm)) for h in again.holes[1:]]
    assert 7 < min(others) <= plain_one.seal.screw_pitch_mm + 1


def test_the_live_answer_draws_them_tells_them_and_offers_no_fix_for_them(plain_one: Document) -> None:
    told = answer(plain_one, ["findings", "seal", "drawing"])
    rows = told["seal"]["by_rule"]["holes"]
    assert len(rows) > 6
    assert all(f'data-id="{row["id"]}"' in told["drawing"]["svg"] for row in rows)
    assert told["seal"]["by_rule"]["problems"] == []
    dragged = answer(plain_one, ["seal"], quick=True)
    assert 6 < len(dragged["seal"]["by_rule"]["holes"]) <= len(rows)
