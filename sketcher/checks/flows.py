"""Does it flow: ends that reach nothing, ports that nothing reaches, and what the solved loop has to say."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import replace
from functools import partial

from sketcher.checks.running import rules
from sketcher.checks.scene import Scene
from sketcher.document.joined import open_connections
from sketcher.document.remembered import Remembered
from sketcher.findings import PRACTICE, Change, Finding, Fix, Point, Rule
from sketcher.flow.air import trapped

#: A channel that ends so near to a branch was meant to end at it, mm.
ON_BRANCH_MM = 1.0


@rules(
    Rule("channel-end-open", "flows", "A channel's ends reach a port or a branch", None, "",
         "Coolant goes in at one end and out at the other.", PRACTICE),
    Rule("port-unreached", "flows", "A channel reaches every port", None, "",
         "A port without a channel leads nowhere.", PRACTICE),
    Rule("branch-lonely", "flows", "Two channels or more meet at a branch", None, "",
         "A branch with one channel is a dead end.", PRACTICE),
    named=True,
)  # fmt: skip
def ends(scene: Scene) -> Iterator[Finding]:
    """Ends of channels, ports and branches that are joined to nothing."""
    document = scene.document
    reached = Counter(end for channel in document.channels for end in (channel.start, channel.end) if end is not None)
    for id_, channel in scene.shapes.channels.items():
        for end, place in ((channel.item.start, 0.0), (channel.item.end, channel.path.length)):
            if end is None:
                at = channel.path.at(place) if channel.path.segments else None
                yield Finding(
                    rule="channel-end-open",
                    level="error",
                    items=(id_,),
                    at=at,
                    message=f"The channel {id_} {'begins' if place == 0.0 else 'ends'} at no port and no branch.",
                    remedy="Draw it on to a port or a branch.",
                    fix=None if at is None else _joined(scene, id_, "start" if place == 0.0 else "end", at),
                )
    for port in document.ports:
        if not reached[port.id] and port.use != "plugged":
            yield Finding(
                rule="port-unreached",
                level="warning" if port.thread is None else "error",
                items=(port.id,),
                at=(port.x_mm, port.y_mm),
                message=f"No channel reaches the port {port.id}.",
                remedy="Draw a channel to it, or delete it.",
            )
    for branch in document.branches:
        if reached[branch.id] < 2:
            yield Finding(
                rule="branch-lonely",
                level="error",
                items=(branch.id,),
                at=(branch.x_mm, branch.y_mm),
                message=f"{reached[branch.id]} channel(s) meet at the branch {branch.id}; it takes two.",
                remedy="Draw another channel to it, or delete it.",
            )


def _joined(scene: Scene, id_: str, end: str, at: Point) -> Fix | None:
    """A channel that ends in a port's bore, or on a branch, and is not joined to it: joined."""
    document, channel = scene.document, scene.shapes.channels[id_].item
    taken = {channel.start, channel.end}
    near = [(math.dist(port.root, at), port.item.id) for port in scene.shapes.ports.values()
            if math.dist(port.root, at) <= port.bore_diameter / 2]  # fmt: skip
    near += [(far, b.id) for b in document.branches if (far := math.dist((b.x_mm, b.y_mm), at)) <= ON_BRANCH_MM]
    free = [row for row in near if row[1] not in taken]
    if not free or channel.locked:
        return None
    to = min(free)[1]
    plain = channel.model_dump(mode="json", exclude_none=True)
    points = plain.get("points", [])
    plain["points"], plain[end] = points[1:] if end == "start" else points[:-1], to
    return Fix(f"Join {id_} to {to}", (Change(f"/channels/{scene.numbers[id_][1]}", plain),))


@rules(
    Rule("connection-open", "flows", "Every connection is drawn", None, "",
         "Ports that are to be joined and are not leave the loop open.", PRACTICE),
    reads=("ports",),
)  # fmt: skip
def connections(scene: Scene) -> Iterator[Finding]:
    """Connections of the loop whose ports no channels join yet."""
    for first, *others in open_connections(scene.document):
        names = [name for part in others for name in part]
        yield Finding(
            rule="connection-open",
            level="error",
            items=(*first, *names),
            at=scene.shapes.ports[first[0]].root,
            message=f"No channels join {' and '.join(first)} to {' and '.join(names)} yet.",
            remedy="Draw a channel between them, or have one proposed.",
        )


#: What the flow asks for the place of.
_MOVES_FLOW = ("ports", "branches", "channels", "boards", "devices")
#: What was said of a solved loop: it is one object for as long as nothing of it changes, nor any of its places.
_of_loop: Remembered[tuple[Finding, ...]] = Remembered(most=8)
_of_air: Remembered[tuple[Finding, ...]] = Remembered(most=8)


@rules(of_loop=True, reads=_MOVES_FLOW)  # its rules are registered where the flow is solved
def loop(scene: Scene) -> Iterable[Finding]:
    """What the solved loop has to say, with the places of its items. A plate without devices has no loop yet."""
    if not scene.document.devices:
        return ()
    return _of_loop.of((scene.flow,), None, lambda: tuple(_placed(scene)))


def _placed(scene: Scene) -> Iterator[Finding]:
    for found in scene.flow.findings:
        places = [place for place in map(scene.place, found.items) if place is not None]
        at = places[0] if places else None
        # What is said again of a loop that has changed a little is the same finding, with what was worked out of it.
        yield _said.of((), (found, at), partial(replace, found, at=at))


_said: Remembered[Finding] = Remembered(most=500)


@rules(
    Rule("air-trapped", "flows", "Air leaves the loop as it is filled, or has a bleed port", 2.0, "ml",
         "Air that stays takes the coolant's place, gurgles, and comes loose when the case is moved.", PRACTICE),
    of_loop=True,
    reads=_MOVES_FLOW,
)  # fmt: skip
def air(scene: Scene) -> Iterable[Finding]:
    """Pockets of air that neither rise to an opening nor are swept along, with the case standing."""
    if not scene.document.devices or not scene.flow.flows:
        return ()
    return _of_air.of((scene.flow,), scene.limit("air-trapped"), lambda: tuple(_trapped(scene)))


def _trapped(scene: Scene) -> Iterator[Finding]:
    limit = scene.limit("air-trapped")
    for pocket in trapped(scene.flow.loop, scene.flow.now):
        id_, volume, port = pocket["item"], float(pocket["volume_ml"]), pocket["bleed_port"]
        if volume <= limit:
            continue
        turn = "tilt the case while it is filled"
        yield Finding(
            rule="air-trapped",
            level="warning",
            items=(id_,),
            value=volume,
            limit=limit,
            unit="ml",
            at=scene.place(id_),
            message=f"About {volume:.1f} ml of air stays in {id_} after filling: the flow does not sweep it out.",
            remedy=f"Use {port} as a bleed port, or {turn}." if port else f"Give it a bleed port, or {turn}.",
        )
