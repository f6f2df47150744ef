"""One finding for one cause: what another finding about the same things says already, and asks more for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import shapely

from sketcher.checks.scene import Scene
from sketcher.checks.spots import told_by_more
from sketcher.findings import Finding
from sketcher.geometry.ports import PortShape, off_square_deg

#: A rule, and the rules whose finding about the same things makes its own an echo. Those ask for the larger move.
ECHOES = {
    "fittings-touch": ("same-place",),
    "head-blocked": ("same-place",),
    "fitting-face": (
        "same-place",
        "fittings-touch",
        "head-blocked",
        "overlap-wall-port-cutout",
        "overlap-wall-port-hole",
        "overlap-wall-port-pocket",
    ),
    "fitting-blocked": ("outside-plate",),
    "pocket-wet": ("fitting-face",),
    "head-face": ("same-place", "wall-", "head-blocked"),
    "laser-web": ("same-place", "wall-"),
    "mount-expansion": ("hole-size",),
    "drill-reach": ("hole-size",),
    "bend-inside": ("bend-no-room",),
    "lid-deflection": ("lid-stress",),
    "depth-under-hole": ("screw-floor",),
    "port-unreached": ("connection-open",),
}
#: Rules with one finding for many things at once, each of which it tells of.
OF_EACH = ("screw-floor", "connection-open")
#: A rule that says nothing of its own while one of these is told of any item: the least thread counts for all screws.
WHILE = {"screw-load": ("screw-thread",), "screw-torque": ("screw-thread", "screw-load")}

#: What follows of an edge port that leads its channel to the edge or out of the plate, about that end of the channel.
AT_ASTRAY_PORTS = ("wall-channel-edge", "outside-plate", "seal-wall", "thread-reaches-channel")
#: An edge port that is drilled off square by this or more leads its channel along the edge, not into the plate.
ASTRAY_DEG = 45.0
#: What tells that an edge port does so.
_ASTRAY_RULES = frozenset(("outside-plate", "fitting-face"))


def without_echoes(found: Iterable[Finding], scene: Scene) -> list[Finding]:
    """The findings less those that repeat another one: two ports on one spot are one slip, not four.

    What the user has accepted silences nothing: else nobody would hear of the rest.
    """
    findings = list(found)
    accepted = [(entry.rule, set(entry.items)) for entry in scene.document.accepted]
    loud = (
        findings
        if not accepted
        else [f for f in findings if not any(f.rule == rule and items.issuperset(f.items) for rule, items in accepted)]
    )
    said = {finding.rule for finding in loud}
    # Most plates have thousands of findings of few rules, and none of these repeats another.
    there = said if not accepted else {finding.rule for finding in findings}
    echoing = {
        rule for rule in there & ECHOES.keys() for name in ECHOES[rule] for other in said
        if _is(other, name.removeprefix("overlap-"))
    }  # fmt: skip
    told: dict[frozenset[str], set[str]] = {f.about: set() for f in findings if f.rule in echoing}
    for finding in loud if told else ():
        if finding.items and finding.about in told:
            rules = told[finding.about]
            rules.add(finding.rule)
            if finding.value is not None and finding.value <= 1e-6:  # they overlap: no less than that is the matter
                rules.add(f"overlap-{finding.rule}")
        for item in finding.items if finding.rule in OF_EACH else ():
            told.setdefault(frozenset((item,)), set()).add(finding.rule)
    silent = {rule for rule, louder in WHILE.items() if not said.isdisjoint(louder)}
    astray = [] if said.isdisjoint(_ASTRAY_RULES) else list(_astray(loud, scene))
    left = findings if not (echoing or silent or astray) else [
        finding
        for finding in findings
        if not (finding.rule in echoing and _repeats(finding, told))
        and finding.rule not in silent
        and not (astray and _of_walls(finding) and any(_at_port(finding, port, scene) for port in astray))
    ]  # fmt: skip
    if accepted:
        heard = {id(finding) for finding in loud}
        quiet = told_by_more((finding for finding in left if id(finding) in heard), scene)
    else:
        quiet = told_by_more(left, scene)
    return [finding for finding in left if id(finding) not in quiet]


def _of_walls(finding: Finding) -> bool:
    return finding.rule in AT_ASTRAY_PORTS or finding.rule.startswith(("wall-channel-", "wall-port-"))


def _repeats(finding: Finding, told: dict[frozenset[str], set[str]]) -> bool:
    louder = ECHOES[finding.rule]
    return any(_is(other, name) for other in told.get(finding.about, ()) for name in louder)


def _is(rule: str, name: str) -> bool:
    """Whether a rule is the one that is named, or one of those that begin so."""
    return rule.startswith(name) if name.endswith("-") else rule == name


def _astray(loud: Iterable[Finding], scene: Scene) -> Iterator[PortShape]:
    """The edge ports that are told to end outside the plate, or to be drilled far off square."""
    for finding in loud:
        if finding.rule not in _ASTRAY_RULES or len(finding.items) != 1:
            continue
        port = scene.shapes.ports.get(finding.items[0])
        if port is None or port.heading is None:
            continue
        if finding.rule == "outside-plate" or off_square_deg(port, scene.shapes.plate_polygon) >= ASTRAY_DEG:
            yield port


def _at_port(finding: Finding, port: PortShape, scene: Scene) -> bool:
    """Whether a finding is about a port or a channel at it, and its place beside the port's bore."""
    channels = scene.channels_at.get(port.item.id, [])
    wet = {channel.item.id for channel in channels} | {port.item.id}
    if not channels or wet.isdisjoint(finding.items) or finding.at is None or finding.items == (port.item.id,):
        return False
    if not wet.issuperset(finding.items) and (finding.value is None or finding.value <= 1e-6):
        return False  # what it runs into is told, wherever the port belongs
    reach = max(channel.item.width_mm for channel in channels) / 2 + (finding.limit or 0.0)
    bore = shapely.LineString([port.at, port.root])
    return bool(shapely.dwithin(bore, shapely.Point(finding.at), reach))
