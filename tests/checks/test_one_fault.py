"""One fault put into a plate without a finding: what is told of it is one finding for one cause.

A sound example gets one slip at random: a thing moved, or a number changed. Of what is found then no two may be about
the same things on the same spot, no three of a rule may say the same apart, and a finding that is accepted takes no
other with it. ``--long`` does it for 600 slips.
"""

import copy
import itertools
import json
import math
import random
from collections import Counter
from collections.abc import Iterable, Iterator
from functools import lru_cache
from pathlib import Path
from typing import Any

import pytest

from sketcher.checks import run
from sketcher.checks.fixes import keys
from sketcher.document import Document, DocumentError, from_plain, to_plain
from sketcher.findings import ALIKE, Finding, one_by_one

EXAMPLES = Path(__file__).parents[2] / "examples"
#: Parts of the document where nothing is cut and nothing stands.
ASIDE = {
    "survey",
    "test_piece",
    "photo",
    "fit_readings",
    "landings",
    "spreads",
    "drawing",
    "limits",
    "accepted",
    "loop",
}
#: Farther apart than this two findings about the same things are about two spots, mm.
SPOT = 12.0
#: Rules that may speak of one thing together: they ask different questions, and one move answers one of them alone.
APART = (
    {"bend-inside", "seal-wall"},  # the cutter in the bend, and the room for the groove along all of it
    {"bend-no-room", "seal-wall"},
    {"screw-load", "seal-wall"},  # a screw's place beside the groove, and what it carries there
    {"screw-pitch", "screw-load"},  # how far it is to the next one, and what it carries
    {"depth-under-channel", "bend-inside"},  # the floor, and the cutter in plan
    {"depth-under-channel", "cutter-channel"},
    {"bend-inside", "cutter-channel"},
    {"lid-stress", "seal-wall"},
    {"outside-case", "bodies-overlap"},
)


@lru_cache(maxsize=2)
def sound(name: str) -> tuple[dict[str, Any], frozenset]:
    """An example as plain data, and what is told of it as it is."""
    document = from_plain(json.loads((EXAMPLES / f"{name}.json").read_text("utf-8")))
    return to_plain(document), frozenset(keys(told(document)))


def told(document: Document) -> list[Finding]:
    return [finding for finding in run(document, fixes=False) if finding.level != "note"]


def _nodes(node: Any, path: tuple = ()) -> Iterator[tuple[dict, tuple]]:
    if isinstance(node, dict):
        yield node, path
    rows = node.items() if isinstance(node, dict) else enumerate(node) if isinstance(node, list) else ()
    for key, value in rows:
        if key not in ASIDE:
            yield from _nodes(value, (*path, key))


def slip(name: str, seed: int) -> tuple[Document, str] | None:
    """An example with one slip, and what it is; none where it makes no valid document."""
    rng, plain = random.Random(seed), copy.deepcopy(sound(name)[0])
    nodes = list(_nodes(plain))
    if rng.random() < 0.6:
        node, path = rng.choice([row for row in nodes if "x_mm" in row[0]])
        way, far = rng.uniform(0, 2 * math.pi), rng.choice([1, 3, 6, 12]) * rng.uniform(0.5, 1.5)
        node["x_mm"], node["y_mm"] = node["x_mm"] + far * math.cos(way), node["y_mm"] + far * math.sin(way)
        what = f"{path} moved by {far:.1f}"
    else:
        lengths = [(node, key, path) for node, path in nodes for key in node if key.endswith(("_mm", "_deg"))]
        rows = [row for row in lengths if row[1] not in ("x_mm", "y_mm") and isinstance(row[0][row[1]], int | float)]
        node, key, path = rng.choice(rows)
        node[key] = node[key] * rng.choice([0.5, 0.8, 1.25, 1.6, 2.5]) or rng.choice([3, 10])
        what = f"{path} {key} = {node[key]:g}"
    try:
        return from_plain(plain), f"{name} {seed}: {what}"
    except DocumentError:
        return None


def doubles(document: Document, found: Iterable[Finding]) -> Iterator[str]:
    """Pairs of findings about the same things on one spot, and rules that say the same of three things or more."""
    nets = _joined(document)
    rows = [(finding, frozenset(nets.get(item, item) for item in finding.items)) for finding in one_by_one(found)]
    for (one, things), (other, others) in itertools.combinations(rows, 2):
        if not things or things != others or {one.rule, other.rule} in APART:
            continue
        if one.rule == other.rule and set(one.items) != set(other.items):
            continue
        if len(things) == 1 and set(one.items) != set(other.items):
            continue  # two places of one passage
        near = one.at is None or other.at is None or math.dist(one.at, other.at) <= SPOT
        if near and (len(things) > 1 or one.rule == other.rule or {one.rule, other.rule} & _SINGLE):
            yield f"{one.rule} {one.items} {one.value} and {other.rule} {other.items} {other.value}"
    said = Counter((f.rule, f.value, f.message.replace(f.items[0], "#")) for f in found if f.items)
    yield from (f"{row} {count} times" for row, count in said.items() if count >= ALIKE)


#: Rules about one thing of which two on one spot are one cause.
_SINGLE = {"wall-hole-edge", "wall-cutout-edge", "wall-pocket-edge", "wall-channel-edge", "wall-port-edge",
           "screw-edge", "laser-web", "outside-plate", "hole-size", "mount-expansion", "screw-thread", "screw-floor",
           "screw-torque", "lid-deflection"}  # fmt: skip


def _joined(document: Document) -> dict[str, str]:
    """Every port and channel by the first name of those that are joined to it, by going from one to the next."""
    beside: dict[str, set[str]] = {}
    for channel in document.channels:
        for end in (channel.start, channel.end):
            if end is not None:
                beside.setdefault(channel.id, set()).add(end)
                beside.setdefault(end, set()).add(channel.id)
    found: dict[str, str] = {}
    for name in beside:
        todo = [name]
        while todo:
            one = todo.pop()
            if one not in found:
                found[one] = name
                todo += beside[one]
    return {name: f"passage {first}" for name, first in found.items()}


def hunt(name: str, seeds: Iterable[int], accept: bool = True) -> tuple[int, int, list[str]]:
    """How many slips were made, how many were told, and what was told twice or drowned."""
    made, heard, wrong = 0, 0, []
    for seed in seeds:
        row = slip(name, seed)
        if row is None:
            continue
        document, what = row
        found = told(document)
        new = [finding for finding in found if not keys([finding]) <= sound(name)[1]]
        made, heard = made + 1, heard + bool(new)
        wrong += [f"{what}: {double}" for double in doubles(document, new)]
        if accept and new:
            one = random.Random(seed).choice(new)
            entry = {"rule": one.rule, "items": list(one.items), "reason": "as it is"}
            still = told(from_plain({**to_plain(document), "accepted": [entry]}))
            # Where it silenced another, that one may tell a spot better than the one that told it before.
            more = keys(still) - keys(found)
            drowned = {key for key in keys(found) - keys(still) if not any(key[1] & items for _, items in more)}
            wrong += [f"{what}: {one.rule} {one.items} accepted takes {sorted(map(str, drowned))}"] if drowned else []
    return made, heard, wrong


def test_one_fault_is_told_once_for_each_cause() -> None:
    made, heard, wrong = hunt("small-board", range(24))
    assert made > 20
    assert heard > 8
    assert wrong == []


def test_a_tube_that_meets_another_and_its_fitting_is_told_once() -> None:
    """A device's port 100 mm off: the tube to it leans over the fitting of the next port, and over its tube."""
    _, heard, wrong = hunt("small-board", [1275])
    assert (heard, wrong) == (1, [])


def test_a_hole_too_narrow_for_its_screw_is_not_told_of_its_drills_reach_too() -> None:
    assert hunt("small-board", [5053])[1:] == (1, [])


def test_a_port_outside_the_plate_is_not_told_of_the_case_wall_too() -> None:
    assert hunt("riser-bench", [1225, 1242])[1:] == (2, [])


@pytest.mark.long
@pytest.mark.parametrize("name", ["small-board", "riser-bench"])
def test_one_fault_is_told_once_for_each_cause_on_many_plates(name: str) -> None:
    made, heard, wrong = hunt(name, range(1000, 1300))
    assert made > 250
    assert heard > 100
    assert wrong == []
