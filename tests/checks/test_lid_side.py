"""The lid's side as a choice: where fittings leave screws no room on one face of the body, the other is offered."""

from __future__ import annotations

import random
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.checks.by_rule import with_lid_screws
from sketcher.checks.fixes import keys, with_fix
from sketcher.checks.hold_side import other_side
from sketcher.checks.scene import Scene
from sketcher.document import Document, from_plain, to_plain
from sketcher.findings import limits_of
from sketcher.geometry import build
from tests.checks.plates import channel, plate, rectangle
from tests.strength.plates_random import random_plate

#: A short channel between two ports, with cutouts to either side 13.2 mm away.
PORTS = [{"id": id_, "x_mm": x, "y_mm": 150, "thread_depth_mm": 6} for id_, x in (("P1", 100), ("P2", 146))]
CUTOUTS = [{"id": f"K{k}", "outline": rectangle(123, y, 86, 10, 2)} for k, y in ((1, 171.2), (2, 128.8))]


def short_plate(**seal: Any) -> Document:
    return plate(
        ports=PORTS,
        channels=[channel("C1", start="P1", end="P2", width_mm=8, depth_mm=9)],
        cutouts=CUTOUTS,
        plate={"lid_face": "top", "lid_thickness_mm": 8, "annealed": True, "z_mm": 8},
        seal={"hardness_shore_a": 50, **seal},
    )


def errors(document: Document) -> set[str]:
    return {finding.rule for finding in run(document, fixes=False) if finding.level == "error"}


def warnings(document: Document) -> set:
    return keys([finding for finding in run(document, fixes=False) if finding.level == "warning"])


def test_where_fittings_are_in_the_screws_way_the_lid_goes_to_the_other_side() -> None:
    """On the fittings' side only screws at the ends are left and the lid bends too far; on the other side there is
    nothing on the lid at all, and every rule is content."""
    document = short_plate(screws_by_rule=True)
    before = errors(document)
    assert before & {"screw-load", "lid-stress", "lid-squeeze", "screw-none"}
    offered = {f.rule: f.fix for f in run(document) if f.fix is not None and f.fix.label.startswith("Change the lid")}
    assert set(offered) & {"screw-load", "lid-stress", "lid-squeeze", "screw-none"}
    (fix,) = set(offered.values())
    after = with_fix(document, fix)
    now, then = (sum(hole.use == "lid" for hole in with_lid_screws(one).holes) for one in (document, after))
    costs = [f"{then} lid screws in place of {now}"] if now != then else []
    more = len(warnings(after) - warnings(document))
    costs += [f"{more} more warning{'s' if more > 1 else ''}"] if more else []
    assert fix.label == "Change the lid side to bottom" + (f" ({', '.join(costs)})" if costs else "")
    assert errors(with_fix(document, fix)) - before == set()
    assert not errors(with_fix(document, fix)) & {"screw-load", "lid-stress", "lid-squeeze", "screw-none"}


def test_stored_screws_go_in_from_the_new_side_and_there_and_back_is_the_same() -> None:
    screw = {"kind": "tapped", "screw": "M4", "use": "lid", "face": "top", "depth_mm": 21.8}
    holes = [{"id": "S1", "x_mm": 118, "y_mm": 140, **screw}, {"id": "H1", "x_mm": 60, "y_mm": 60}]
    document = from_plain({**to_plain(short_plate()), "holes": holes})
    fix = other_side(Scene(build(document), limits_of(document)))
    assert fix is not None
    turned = with_fix(document, fix)
    assert (turned.plate.lid_face, turned.holes[0].face, turned.holes[1].face) == ("bottom", "bottom", "top")
    back = other_side(Scene(build(turned), limits_of(turned)))
    assert back is not None
    assert with_fix(turned, back) == document


def test_a_bonded_lid_has_no_screws_to_make_room_for() -> None:
    document = short_plate(kind="bonded")
    assert other_side(Scene(build(document), limits_of(document))) is None


def on_both_faces(seed: int) -> Document:
    """A random plate with the lid on top, two ports from below and pockets from either face."""
    rng, plain = random.Random(seed), to_plain(random_plate(seed, 9))
    for n, port in enumerate(plain["ports"]):
        port |= {"thread_depth_mm": 6, "face": "bottom" if n < 2 else "top"}
    size = plain["plate"]["outline"]
    plain["plate"] |= {"lid_face": "top", "z_mm": 40}
    plain["seal"]["screws_by_rule"] = True
    plain["pockets"] = [
        {"id": f"R{n}", "outline": rectangle(rng.uniform(40, size["width_mm"] - 40), y, rng.choice([20, 40]), 20, 3),
         "depth_mm": rng.choice([2, 3, 5]), "face": rng.choice(["top", "bottom"]), "must_stay_dry": False}
        for n, y in ((1, rng.uniform(40, size["depth_mm"] / 2 - 12)), (2, rng.uniform(size["depth_mm"] / 2 + 12,
                                                                                     size["depth_mm"] - 40)))
    ]  # fmt: skip
    return from_plain(plain)


@pytest.mark.long
@pytest.mark.parametrize("seed", range(12))
def test_where_the_other_side_ends_errors_and_brings_none_it_is_offered(seed: int) -> None:
    """Both ways round: of what the lid, its screws and its groove are told, something offers the turn, or the way that
    comes before it, which is less: a thicker lid."""
    document = on_both_faces(seed)
    plain = to_plain(document)
    plain["plate"]["lid_face"] = "bottom"
    for one, other in ((document, from_plain(plain)), (from_plain(plain), document)):
        wrong = {key for key in errors(one) if key.startswith(("lid-", "screw-", "seal-"))}
        if wrong - errors(other) == wrong != set() and errors(other) <= errors(one):
            labels = [f.fix.label for f in run(one) if f.fix is not None and f.rule in wrong]
            assert any(label.startswith(("Change the lid", "Make the lid")) for label in labels)
