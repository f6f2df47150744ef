"""Width and depth: the widest that a gap lets through, as deep as the body allows, or the narrowest that feeds all."""

from dataclasses import replace
from itertools import pairwise

import pytest

from sketcher.document import Document, from_plain, to_plain
from sketcher.findings import limits_of
from sketcher.flow import solve_loop
from sketcher.geometry import build
from sketcher.proposing import attempt
from sketcher.proposing.ranking import Proposal
from sketcher.proposing.search import propose
from sketcher.proposing.wishes import Wishes
from tests.checks.plates import plate, rectangle
from tests.proposing.test_device_orders import loop
from tests.proposing.test_impossible import made

QUICK = Wishes(style="square", seconds=2.0)


@pytest.fixture(autouse=True)
def _coarse(monkeypatch: pytest.MonkeyPatch) -> None:
    """What is tested is the section, not the course."""
    monkeypatch.setattr(attempt, "_NODES", 1_500)


def best(document: Document, wishes: Wishes) -> Proposal:
    found = propose(document, wishes).best
    assert found is not None
    assert found.judged.good
    return found


@pytest.mark.parametrize(("gap", "width"), [(10.5, 10.0), (8.5, 8.0), (7.0, 6.0)])
def test_the_widest_that_fits_is_chosen(gap: float, width: float) -> None:
    """Between two keep-outs a channel may be as wide as the gap: of 12, 10, 8, 6 and 5 mm the next one down."""
    walls = [
        {"id": "Z1", "outline": rectangle(200, 150 - gap / 2 - 60, 12, 120)},
        {"id": "Z2", "outline": rectangle(200, 150 + gap / 2 + 60, 12, 120)},
    ]
    document = made([(85, 150), (315, 150)], [["P1", "P2"]], keep_outs=walls)
    assert best(document, QUICK).section.width_mm == width


def test_as_deep_as_wide_but_no_deeper_than_the_body_allows() -> None:
    """A body of 10 mm less the rule's floor under a channel; of 30 mm, the depth is the width."""

    def depth(body: float) -> float:
        ports = [
            {"id": "P1", "x_mm": 85, "y_mm": 150, "thread": None},
            {"id": "P2", "x_mm": 315, "y_mm": 150, "thread": None},
        ]
        thick = {"body_thickness_mm": body, "lid_thickness_mm": 20, "z_mm": 10}
        document = plate(plate=thick, ports=ports, loop={"connections": [["P1", "P2"]]}, seal={"kind": "bonded"})
        found = propose(document, replace(QUICK, width_mm=8.0)).best
        assert found is not None
        return found.section.depth_mm + limits_of(document)["depth-under-channel"]

    assert depth(30.0) == 8.0 + limits_of(plate())["depth-under-channel"]
    assert 9.5 < depth(10.0) <= 10.0


def test_where_milling_counts_most_the_narrowest_that_feeds_every_block_is_chosen() -> None:
    """The loop's own solution says what flows: with the narrowest a block gets less than it is then said to need."""
    order = ["PUMP", "CPU", "GPU", "RAD"]
    plain = to_plain(loop(order))
    plain |= {"channels": [], "seal": {"kind": "bonded"}}
    plain["plate"] |= {"body_thickness_mm": 20, "lid_thickness_mm": 10}
    # Inlets and outlets farther apart, so that fittings and wide channels find room.
    for port in plain["ports"]:
        port["x_mm"] += 12 if port["id"].endswith("o") else -12
    plain["loop"] = {"connections": [[f"{a[0]}o", f"{b[0]}i"] for a, b in pairwise([*order, order[0]])]}
    thrifty = replace(QUICK, milling=1.0, loss=0.0, length=0.0, seconds=8.0)
    narrow = best(from_plain(plain), thrifty)
    flow = _flow(narrow.document)
    plain["devices"][1]["flow_min_l_min"] = round(1.02 * flow, 3)
    wider = best(from_plain(plain), thrifty)
    assert wider.section.width_mm > narrow.section.width_mm
    assert _flow(wider.document) >= plain["devices"][1]["flow_min_l_min"]
    assert wider.judged.numbers.milling_mm3 > narrow.judged.numbers.milling_mm3


def _flow(document: Document) -> float:
    return float(solve_loop(document, build(document)).as_json()["operating_point"]["flow_l_min"])
