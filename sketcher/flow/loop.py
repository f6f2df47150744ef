"""The way in: a document and its shapes to a flow result."""

from __future__ import annotations

from sketcher.document import Document
from sketcher.document.hardware import Device
from sketcher.document.moved_items import only_moved
from sketcher.flow.network import STILL
from sketcher.flow.operating import Operation, operate, refined
from sketcher.flow.plumbing import Plumbing, plumbing
from sketcher.flow.result import FlowResult
from sketcher.geometry import Shapes


def alike(loop: Plumbing, document: Document) -> bool:
    """Whether a document has the same ways and devices as a loop, wherever they are now."""
    before = loop.document
    return (
        len(before.devices) == len(document.devices)
        and all(map(_same_device, before.devices, document.devices))
        and before.loop == document.loop
        and _joined(before) == _joined(document)
    )


def _same_device(one: Device, other: Device) -> bool:
    return one is other or only_moved("devices", one, other)


def _joined(document: Document) -> list[tuple[str | None, ...]]:
    ends = [(channel.id, channel.start, channel.end) for channel in document.channels]
    return [*ends, *((port.id, port.serves, port.face) for port in document.ports)]


def solve_loop(document: Document, shapes: Shapes, start: FlowResult | None = None) -> FlowResult:
    """Flows, losses and temperatures of a document's loop. Never raises for a valid document: what has no answer has
    a finding that says why.

    Args:
        document: the plate.
        shapes: its shapes.
        start: an earlier result of a like loop: the search starts there, which is quicker while something is dragged.
    """
    loop = plumbing(document, shapes)
    if start is not None:
        found = refined(loop, start.now) or operate(loop, start.now)
        # A tee may have two balances; the one that a search from nothing finds counts.
        if found.settled and not found.unsure and _divides(loop, found) == _divides(start.loop, start.now):
            return FlowResult(loop, found)
    return FlowResult(loop, operate(loop))


def _divides(loop: Plumbing, now: Operation) -> list[tuple[int, ...]]:
    """Of each tee which way each leg flows, or 0 where it stands; and which leg carries the whole, where all flow."""
    found = []
    for tee in loop.tees:
        flows = [float(now.flow[leg.link]) for leg in tee.legs]
        ways = tuple(0 if abs(flow) <= STILL else (1 if flow > 0 else -1) for flow in flows)
        found.append((*ways, tee.stem(now.flow) if all(ways) else -1))
    return found
