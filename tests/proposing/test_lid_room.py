"""Where groove and lid screws have too little room: distances by hand, and moves under the rules of ``check``."""

import math
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.document import Document
from sketcher.findings import limits_of
from sketcher.proposing import attempt
from sketcher.proposing.attempt import Table
from sketcher.proposing.budget import Budget
from sketcher.proposing.judging import Judged, judge
from sketcher.proposing.lid_room import places_of, short_of_room, with_room
from sketcher.proposing.negotiation import Prices
from sketcher.proposing.plate_changes import plate_changes
from sketcher.proposing.writing import with_screws
from tests.checks.plates import plate, rectangle
from tests.proposing.test_looks import SECTION
from tests.proposing.test_proposals import OPEN


@pytest.fixture(autouse=True)
def _coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(attempt, "_NODES", 1_500)


def between(seal: str = "cord", **more: Any) -> Document:
    """A channel of 8 mm along y = 150 between cutouts whose edges are at y = 136 and y = 164: 10 mm on either side."""
    ports = [{"id": "P1", "x_mm": 120, "y_mm": 150, **more}, {"id": "P2", "x_mm": 280, "y_mm": 150, **more}]
    cutouts = [{"id": f"K{k}", "outline": rectangle(200, y, 120, 16), **more} for k, y in ((1, 128), (2, 172))]
    return plate(plate=OPEN, ports=ports, cutouts=cutouts, loop={"connections": [["P1", "P2"]]}, seal={"kind": seal})


def laid(document: Document) -> Document:
    return Table(document, limits_of(document), SECTION, "square").attempt(Prices(), 0).document


def test_what_is_too_near_is_measured_and_named_by_both_sides() -> None:
    document = laid(between())
    found = short_of_room(document, limits_of(document))
    assert {one.other for one in found} == {"K1", "K2"}
    for one in found:
        assert one.wide_mm == pytest.approx(10.0, abs=0.02)
        assert one.needed_mm > 10.0
        assert "The channel from P" in one.why(document)
        assert f"and {one.other} are 10 mm apart" in one.why(document)
    # Without a groove nothing asks for such room.
    assert short_of_room(laid(between("bonded")), limits_of(document)) == []


def test_the_moves_that_make_a_lid_hold_are_found_under_every_rule() -> None:
    document = between()
    limits = limits_of(document)

    def screwed(plate: Document) -> Document:
        return with_screws(plate, limits, document)

    draft: Judged = judge(screwed(laid(document)))
    assert {error.rule for error in draft.own_errors} & {"lid-squeeze", "screw-load", "lid-stress"}
    assert places_of(draft)
    done = with_room(draft, document, limits, Budget(60.0), lay=laid, screwed=screwed, wanted=0)
    (passing,) = done.passing
    assert not [finding for finding in run(passing.document) if finding.open_error]
    told = {change.pointer: change.words for change in plate_changes(passing.document, document)}
    assert set(told) == {"/cutouts/0", "/cutouts/1"}
    for cutout, before in zip(passing.document.cutouts, document.cutouts, strict=True):
        away = math.copysign(1.0, before.outline.y_mm - 150)
        assert away * (cutout.outline.y_mm - before.outline.y_mm) > 0
        assert cutout.outline.x_mm == before.outline.x_mm
    # What was tried before moved them less, and the rules say what was then still wrong.
    assert all(left for _, left in done.tried)


def test_what_is_locked_is_not_moved() -> None:
    document = between(locked=True)
    draft = judge(laid(document))
    done = with_room(draft, document, limits_of(document), Budget(60.0), lay=laid, screwed=laid, wanted=1)
    assert (done.passing, done.tried) == ((), ())
