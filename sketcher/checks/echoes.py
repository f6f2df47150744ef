"""One finding for one cause: what another finding about the same things says already, and asks more for."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import shapely

from sketcher.checks.scene import Scene
from sketcher.findings import Finding
from sketcher.geometry.ports import PortShape, off_square_deg

#: A rule, and the rules whose finding about the same things makes its own an echo. Those ask for the larger move.
ECHOES = {
    "fittings-touch": ("same-place",),
    "fitting-face": (
        "same-place",
        "fittings-touch",
        "head-blocked",
        "overlap-wall-port-cutout",
        "overlap-wall-port-hole",
        "overlap-wall-port-pocket",
    ),
    "pocket-wet": ("fitting-face",),
    "head-face": ("same-place", "wall-", "head-blocked"),
    "laser-web": ("same-place", "wall-"),
}


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
    loud = [f for f in findings if not any(f.rule == rule and items.issuperset(f.items) for rule, items in accepted)]
    told: dict[frozenset[str], set[str]] = {}
    for finding in loud:
        if len(finding.items) > 1:
            rules = told.setdefault(frozenset(finding.items), set())
            rules.add(finding.rule)
            if finding.value is not None and finding.value <= 1e-6:  # they overlap: no less than that is the matter
                rules.add(f"overlap-{finding.rule}")
    astray = list(_astray(loud, scene))
    return [
        finding
        for finding in findings
        if not (finding.rule in ECHOES and _repeats(finding, told))
        and not (finding.rule in AT_ASTRAY_PORTS and any(_at_port(finding, port, scene) for port in astray))
    ]


def _repeats(finding: Finding, told: dict[frozenset[str], set[str]]) -> bool:
    louder = ECHOES.get(finding.rule)
    if louder is None or len(finding.items) < 2:
        return False
    others = told.get(frozenset(finding.items), set())
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
    """Whether a finding is about a channel at a port, and its place beside the port's bore."""
    channels = [channel for channel in scene.channels_at.get(port.item.id, ()) if channel.item.id in finding.items]
    others = {channel.item.id for channel in channels} | {port.item.id}
    if not channels or not others.issuperset(finding.items) or finding.at is None:
        return False
    reach = max(channel.item.width_mm for channel in channels) / 2 + (finding.limit or 0.0)
    bore = shapely.LineString([port.at, port.root])
    return bool(shapely.dwithin(bore, shapely.Point(finding.at), reach))
