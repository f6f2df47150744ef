"""What a single field cannot say for itself: ids given twice, references to nothing, holders in a ring."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sketcher.document.kinds import KINDS, members
from sketcher.document.outline_consistency import outline_problems
from sketcher.document.problem import Location, Problem, nearest, pointer
from sketcher.document.survey_consistency import survey_problems

if TYPE_CHECKING:
    from sketcher.document.models import Document


def problems(document: Document) -> Iterator[Problem]:
    """Everything inconsistent in a document whose fields are each valid by themselves.

    One after the other, so that whoever shows a few does not wait for the suggestions of thousands.
    """
    yield from _ids_given_twice(document)
    yield from _channel_ends(document)
    yield from _served_ports(document)
    yield from _holders(document)
    yield from _tubes(document)
    yield from _connections(document)
    yield from _members(document)
    yield from _ties(document)
    yield from _followed(document)
    yield from _cable_slots(document)
    yield from survey_problems(document.survey)
    yield from outline_problems(document)
    yield from _too_little(document)


def _identified(document: Document) -> Iterator[tuple[Location, str]]:
    for kind in KINDS:
        for index, item in enumerate(members(document, kind)):
            yield (*kind.path, index, "id"), item.id


def _ids_given_twice(document: Document) -> Iterator[Problem]:
    first: dict[str, Location] = {}
    retired = set(document.retired_ids)
    for location, id_ in _identified(document):
        if id_ in first:
            yield Problem(
                location, f"the id {id_!r} is taken by {pointer(first[id_][:-1])}; give this item its own", id_
            )
        elif id_ in retired:
            yield Problem(location, f"the id {id_!r} belonged to a deleted item and is not given out again", id_)
        first.setdefault(id_, location)
    for index, device in enumerate(document.devices):
        yield from _twice_in(("devices", index, "ports"), [port.id for port in device.ports], "port")
    survey = document.survey
    yield from _twice_in(("survey", "points"), [point.id for point in survey.points], "point")
    yield from _twice_in(("survey", "readings"), [reading.id for reading in survey.readings], "reading")
    yield from _twice_in(("survey", "tools"), [tool.id for tool in survey.tools], "tool")


def _twice_in(location: Location, ids: list[str], what: str) -> Iterator[Problem]:
    seen: set[str] = set()
    for index, id_ in enumerate(ids):
        if id_ in seen:
            yield Problem((*location, index, "id"), f"the {what} {id_!r} is named twice; rename one of the two", id_)
        seen.add(id_)


def _channel_ends(document: Document) -> Iterator[Problem]:
    ends = {item.id for item in (*document.ports, *document.branches)}
    for index, channel in enumerate(document.channels):
        for key in ("start", "end"):
            id_ = getattr(channel, key)
            if id_ is not None and id_ not in ends:
                yield Problem(("channels", index, key), f"no port or branch is called {id_!r}{nearest(id_, ends)}", id_)
        corners = len(channel.points) + (channel.start is not None) + (channel.end is not None)
        if corners < 2:
            yield Problem(
                ("channels", index),
                f"the channel {channel.id!r} needs at least two places: a start and an end, or points",
            )
        if channel.start is not None and channel.start == channel.end and len(channel.points) < 2:
            yield Problem(
                ("channels", index, "end"),
                f"the channel {channel.id!r} ends where it begins; name another end",
                channel.end,
            )


def _device_ports(document: Document) -> set[str]:
    return {f"{device.id}.{port.id}" for device in document.devices for port in device.ports}


def _served_ports(document: Document) -> Iterator[Problem]:
    known = _device_ports(document)
    served: dict[str, str] = {}
    for index, port in enumerate(document.ports):
        ref = port.serves
        if ref is None:
            continue
        if ref not in known:
            yield Problem(("ports", index, "serves"), f"no device has the port {ref!r}{nearest(ref, known)}", ref)
        elif ref in served:
            yield Problem(
                ("ports", index, "serves"), f"{ref!r} is served by {served[ref]} already; one tube, one port", ref
            )
        served.setdefault(ref, port.id)


def _holders(document: Document) -> Iterator[Problem]:
    holders = {item.id: item for item in (*document.boards, *document.devices)}
    boards = {board.id: board for board in document.boards}
    for key in ("boards", "devices"):
        for index, item in enumerate(getattr(document, key)):
            if item.held_by is None:
                if item.slot is not None:
                    yield Problem((key, index, "slot"), "a slot needs a holder: name the board in held_by", item.slot)
                continue
            if item.held_by not in holders:
                yield Problem(
                    (key, index, "held_by"),
                    f"no board or device is called {item.held_by!r}{nearest(item.held_by, holders)}",
                    item.held_by,
                )
                continue
            if item.slot is not None and (item.held_by not in boards or item.slot > boards[item.held_by].slots):
                yield Problem(
                    (key, index, "slot"), f"{item.held_by!r} has no slot {item.slot}; give it more slots", item.slot
                )
            seen = {item.id}
            above = item.held_by
            while above is not None and above in holders:
                if above in seen:
                    yield Problem(
                        (key, index, "held_by"), f"{item.id!r} would hold itself; break the ring", item.held_by
                    )
                    break
                seen.add(above)
                above = holders[above].held_by


def _followed(document: Document) -> Iterator[Problem]:
    drilled = {thing.id for thing in (*document.boards, *document.devices)}
    known = drilled | {item.id for item in (*document.floor.obstacles, *document.floor.openings)}
    for key in ("cutouts", "pockets", "keep_outs", "holes"):
        for index, item in enumerate(getattr(document, key)):
            if item.follows is None:
                continue
            location = (key, index, "follows")
            leader = item.follows.item
            if leader not in known:
                yield Problem(
                    (*location, "item"),
                    f"no board, device, obstacle or opening is called {leader!r}{nearest(leader, known)}",
                    leader,
                )
            elif (key == "holes") != (item.follows.hole is not None):
                says = (
                    "a screw hole names the mounting hole it follows" if key == "holes" else "an area follows no hole"
                )
                yield Problem((*location, "hole"), says, item.follows.hole)
            elif key == "holes" and leader not in drilled:
                yield Problem(
                    (*location, "item"), "a screw hole follows the mounting hole of a board or a device", leader
                )


def _cable_slots(document: Document) -> Iterator[Problem]:
    starts = {pocket.id for pocket in document.pockets if pocket.cable is None}
    ends = {item.id for item in (*document.cutouts, *document.floor.openings)}
    for index, pocket in enumerate(document.pockets):
        if pocket.cable is None:
            continue
        location, start, end = ("pockets", index, "cable"), pocket.cable.start, pocket.cable.end
        if start not in starts:
            yield Problem(
                (*location, "start"),
                f"no pocket that is not a cable slot itself is called {start!r}{nearest(start, starts)}",
                start,
            )
        if end is not None and end not in ends:
            yield Problem((*location, "end"), f"no cutout or opening is called {end!r}{nearest(end, ends)}", end)
        if pocket.follows is not None:
            says = "a cable slot runs between its ends and follows nothing else; take one of the two away"
            yield Problem((*location[:2], "follows"), says, pocket.follows.item)


def _tubes(document: Document) -> Iterator[Problem]:
    known = _device_ports(document)
    for index, tube in enumerate(document.loop.tubes):
        for key in ("start", "end"):
            ref = getattr(tube, key)
            if ref not in known:
                yield Problem(
                    ("loop", "tubes", index, key), f"no device has the port {ref!r}{nearest(ref, known)}", ref
                )
        if tube.start == tube.end:
            yield Problem(("loop", "tubes", index, "end"), "the tube ends where it begins; name another end", tube.end)


def _connections(document: Document) -> Iterator[Problem]:
    ports = {port.id for port in document.ports}
    first: dict[str, int] = {}
    for index, connection in enumerate(document.loop.connections):
        for at, id_ in enumerate(connection):
            here: Location = ("loop", "connections", index, at)
            if id_ not in ports:
                yield Problem(here, f"no port is called {id_!r}{nearest(id_, ports)}", id_)
            elif first.get(id_) == index:
                yield Problem(here, f"the connection names the port {id_!r} twice; name it once", id_)
            elif id_ in first:
                yield Problem(
                    here, f"the port {id_!r} stands in connection {first[id_] + 1} already; make one of the two", id_
                )
            first.setdefault(id_, index)


def _members(document: Document) -> Iterator[Problem]:
    known = {id_ for location, id_ in _identified(document) if location[0] != "groups"}
    for index, group in enumerate(document.groups):
        for at, id_ in enumerate(group.members):
            if id_ not in known:
                yield Problem(("groups", index, "members", at), f"no item is called {id_!r}{nearest(id_, known)}", id_)
    ports = {port.id for port in document.ports}
    for index, reading in enumerate(document.fit_readings):
        if reading.port not in ports:
            yield Problem(
                ("fit_readings", index, "port"),
                f"no port is called {reading.port!r}{nearest(reading.port, ports)}",
                reading.port,
            )


def _ties(document: Document) -> Iterator[Problem]:
    for index, tie in enumerate(document.ties):
        if tie.places and len(tie.places) != len(tie.points):
            yield Problem(
                ("ties", index, "places"),
                f"{len(tie.points)} point(s) need as many places; without any the next adjustment notes them",
                len(tie.places),
            )


def _too_little(document: Document) -> Iterator[Problem]:
    for index, hole in enumerate(document.holes):
        if hole.slot_length_mm is not None and hole.diameter_mm is not None and hole.slot_length_mm < hole.diameter_mm:
            yield Problem(
                ("holes", index, "slot_length_mm"),
                f"a slotted hole is at least as long as its diameter ({hole.diameter_mm:g} mm)",
                hole.slot_length_mm,
            )
    for index, obstacle in enumerate(document.floor.obstacles):
        if obstacle.height_mm <= obstacle.bottom_mm:
            yield Problem(
                ("floor", "obstacles", index, "height_mm"),
                f"its top is above its underside at {obstacle.bottom_mm:g} mm",
                obstacle.height_mm,
            )
