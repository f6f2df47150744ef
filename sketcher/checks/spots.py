"""Two things on one spot give one finding: of several rules that ask for a wall there, the one that asks for most.

A screw beside a channel's end is too near to the channel, to its port, to the groove around both and to the port's
fitting: one cause, one move. What is wet and joined is one thing here, and what is dry another; of their findings whose
places are near each other the most severe is left, and of these the one that lacks most, in mm.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from sketcher.checks.scene import Scene
from sketcher.findings import LEVELS, Finding

#: Places nearer to each other than this are one spot, mm: a groove with its walls, and half a screw.
SPOT_MM = 12.0
_WALLS = ("wall-channel-", "wall-port-")
_RULES = frozenset((
    "seal-wall", "seal-under", "seal-bend", "fitting-face", "head-blocked", "screw-head", "pocket-wet", "screw-edge",
    "outside-plate", "wall-hole-edge", "wall-pocket-hole", "wall-cutout-hole", "wall-hole-hole", "head-face",
))  # fmt: skip
#: What stands for the plate's edge in a pair.
_EDGE = "edge"
_OF_EDGE = ("outside-plate", "seal-wall", "seal-bend", "screw-edge", "fitting-face", "head-face")


def told_by_more(loud: Iterable[Finding], scene: Scene) -> set[int]:
    """Which findings (by ``id``) another one on the same spot tells better. ``loud``: those that are not accepted."""
    loud = list(loud)
    rules = {rule for rule in {finding.rule for finding in loud} if rule in _RULES or rule.startswith(_WALLS)}
    asked = [
        finding
        for finding in (loud if len(rules) > 1 else ())
        if finding.rule in rules
        and finding.value is not None and finding.limit is not None and finding.at is not None
    ]  # fmt: skip
    if len({finding.rule for finding in asked}) < 2:
        return set()
    nets, spots = _nets(scene), dict[frozenset[str], list[Finding]]()
    for finding in asked:
        key = _pair(finding, nets, scene)
        if key is not None:
            spots.setdefault(key, []).append(finding)
    quiet: set[int] = set()
    for findings in spots.values():
        if len({finding.rule for finding in findings}) > 1:
            quiet |= _less(findings, scene)
    return quiet


def _less(findings: Sequence[Finding], scene: Scene) -> set[int]:
    kept: list[Finding] = []
    quiet = set()
    # Of two that lack the same it is one and the same that is left, whatever the order in which they were found.
    # What lies outside the plate says why nothing has its wall there.
    for finding in sorted(
        findings,
        key=lambda f: (
            f.rule != "outside-plate", LEVELS.index(f.level), -round(_lacks_mm(f, scene), 6), f.rule, f.items, f.at,
        ),
    ):  # fmt: skip
        here = finding.at
        if here is not None and any(
            other.rule != finding.rule and other.at is not None and math.dist(here, other.at) <= SPOT_MM
            for other in kept
        ):
            quiet.add(id(finding))
        else:
            kept.append(finding)
    return quiet


def _lacks_mm(finding: Finding, scene: Scene) -> float:
    lacks = (finding.limit or 0.0) - (finding.value or 0.0)
    hole = scene.shapes.holes.get(finding.items[0])
    if finding.rule == "screw-edge" and hole is not None and hole.screw is not None:
        return lacks * hole.screw.major_mm  # given in diameters
    return lacks


def _pair(finding: Finding, nets: dict[str, str], scene: Scene) -> frozenset[str] | None:
    """Whom a finding is about: two things, each wet one by what it is joined to."""
    things = {nets.get(item, item) for item in finding.items}
    if len(things) == 2:
        return frozenset(things)
    if len(things) != 1:
        return None
    port = scene.shapes.ports.get(finding.items[0])
    if port is not None and port.heading is not None:
        return None  # an edge port meets the edge in several ways
    of_edge = finding.rule in _OF_EDGE or finding.rule.endswith("-edge")
    # A channel against itself, or against its own port, is no question of the edge.
    return frozenset((*things, _EDGE)) if of_edge and len(finding.items) == 1 else None


def _nets(scene: Scene) -> dict[str, str]:
    """Ports, channels and branches by the name of the passage that they are part of."""
    found: dict[str, str] = {}

    def name(id_: str) -> str:
        while found.setdefault(id_, id_) != id_:
            found[id_] = found[found[id_]]
            id_ = found[id_]
        return id_

    for channel in scene.document.channels:
        own = name(channel.id)
        for end in (channel.start, channel.end):
            if end is not None:
                found[name(end)] = own
    return {id_: f"net {name(id_)}" for id_ in list(found)}
