"""One finding for one cause: what another finding about the same things says already, and asks more for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import shapely

from sketcher.checks.scene import Scene
from sketcher.checks.spots import told_by_more
from sketcher.document import holders
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
    "bend-inside": ("bend-no-room",),
    "lid-deflection": ("lid-stress",),
    "depth-under-hole": ("screw-floor",),
    "port-unreached": ("connection-open",),
}
#: Rules with one finding for many things at once, each of which it tells of.
OF_EACH = ("screw-floor", "connection-open")
#: A rule that says nothing of its own while one of these is told of any item: the least thread counts for all screws.
WHILE = {"screw-load": ("screw-thread",), "screw-torque": ("screw-thread", "screw-load")}
#: What is told of what holds a thing is not told of the thing too, where it is about the same wall, floor or ceiling.
OF_THE_HOLDER = ("outside-case", "above-ceiling", "through-floor")


#: What follows of an edge port that leads its channel to the edge or out of the plate, about that end of the channel.
AT_ASTRAY_PORTS = ("wall-channel-edge", "outside-plate", "seal-wall", "thread-reaches-channel")
#: An edge port that is drilled off square by this or more leads its channel along the edge, not into the plate.
ASTRAY_DEG = 45.0


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
    told: dict[frozenset[str], set[str]] = {f.about: set() for f in findings if f.rule in ECHOES}
    for finding in loud if told else ():
        if finding.items and finding.about in told:
            rules = told[finding.about]
            rules.add(finding.rule)
            if finding.value is not None and finding.value <= 1e-6:  # they overlap: no less than that is the matter
                rules.add(f"overlap-{finding.rule}")
        for item in finding.items if finding.rule in OF_EACH else ():
            told.setdefault(frozenset((item,)), set()).add(finding.rule)
    said = {finding.rule for finding in loud}
    astray = list(_astray(loud, scene))
    left = [
        finding
        for finding in findings
        if not (finding.rule in ECHOES and _repeats(finding, told))
        and said.isdisjoint(WHILE.get(finding.rule, ()))
        and not (finding.rule in OF_THE_HOLDER and _of_its_holder(finding, told, scene))
        and not (astray and _of_walls(finding) and any(_at_port(finding, port, scene) for port in astray))
    ]
    if accepted:
        heard = {id(finding) for finding in loud}
        quiet = told_by_more((finding for finding in left if id(finding) in heard), scene)
    else:
        quiet = told_by_more(left, scene)
    return [finding for finding in left if id(finding) not in quiet]


def _of_its_holder(finding: Finding, told: dict[frozenset[str], set[str]], scene: Scene) -> bool:
    """Whether the same is told of what holds a thing: put right there, the thing comes along."""
    (item,) = finding.items or ("",)
    held = scene.once(_holders)
    above = [other for other in holders.chain(held, item) if other != item]
    # Two that are said to hold each other are told both.
    return any(
        finding.rule in told.get(frozenset((other,)), ()) and item not in holders.chain(held, other) for other in above
    )


def _holders(scene: Scene) -> dict[str, str | None]:
    return holders.holders(scene.document)


def _of_walls(finding: Finding) -> bool:
    return finding.rule in AT_ASTRAY_PORTS or finding.rule.startswith(("wall-channel-", "wall-port-"))


def _repeats(finding: Finding, told: dict[frozenset[str], set[str]]) -> bool:
    louder = ECHOES.get(finding.rule)
    if louder is None:
        return False
    others = told.get(finding.about, set())
    return any(other.startswith(name) if name.endswith("-") else other == name for other in others for name in louder)


def _astray(loud: Iterable[Finding], scene: Scene) -> Iterator[PortShape]:
    """The edge ports that are told to end outside the plate, or to be drilled far off square."""
    for finding in loud:
        if finding.rule not in ("outside-plate", "fitting-face") or len(finding.items) != 1:
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
