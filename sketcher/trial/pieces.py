"""Ports that belong together: those of a group, of a device, and of all that one board holds."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from sketcher.document import Document
from sketcher.document.holders import chain
from sketcher.document.holders import holders as held_by


@dataclass(frozen=True)
class Together:
    """Two or more ports that lie fast to one another, and the group, device or board that holds them."""

    id: str
    kind: Literal["group", "device", "board"]
    ports: tuple[str, ...]


def together(document: Document) -> list[Together]:
    """What belongs together, each set of ports once: groups before devices, devices before boards."""
    found: dict[frozenset[str], Together] = {}
    for one in _all(document):
        if len(one.ports) > 1:
            found.setdefault(frozenset(one.ports), one)
    return list(found.values())


def device_of(serves: str | None) -> str | None:
    """The device that a port serves."""
    return None if serves is None else serves.split(".", 1)[0]


def holders(document: Document, id_: str) -> list[str]:
    """What holds a board or a device, the nearest first."""
    return chain(held_by(document), id_)[1:]


def _all(document: Document) -> Iterator[Together]:
    ports = {port.id: port for port in document.ports}
    for group in document.groups:
        yield Together(group.id, "group", tuple(member for member in group.members if member in ports))
    by_device: dict[str, list[str]] = {}
    for port in document.ports:
        device = device_of(port.serves)
        if device is not None:
            by_device.setdefault(device, []).append(port.id)
    for device, members in by_device.items():
        yield Together(device, "device", tuple(members))
    by_board: dict[str, list[str]] = {}
    for device, members in by_device.items():
        for holder in holders(document, device):
            by_board.setdefault(holder, []).extend(members)
    for board, members in by_board.items():
        yield Together(board, "board", tuple(members))
