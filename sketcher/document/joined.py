"""Which connections of the loop the channels do not join yet."""

from __future__ import annotations

from sketcher.document.files import with_changes
from sketcher.document.models import Document
from sketcher.document.union_find import grouped


def joined_parts(document: Document) -> list[list[str]]:
    """Ports and branches in the parts that channels join already; each alone that no channel reaches."""
    ends = [item.id for item in (*document.ports, *document.branches)]
    channels = [(c.start, c.end) for c in document.channels if c.start is not None and c.end is not None]
    return grouped(ends, channels)


def with_drawn_connections(document: Document) -> Document:
    """The document with what its channels join as its connections, where it has none of its own."""
    if document.loop.connections:
        return document
    ports = {port.id for port in document.ports}
    parts = (tuple(id_ for id_ in part if id_ in ports) for part in joined_parts(document))
    joined = tuple(part for part in parts if len(part) > 1)
    return with_changes(document, loop=document.loop.model_copy(update={"connections": joined}))


def open_connections(document: Document) -> list[list[list[str]]]:
    """For every connection that is not wholly drawn: its ports, in the parts that are joined already."""
    if not document.loop.connections:
        return []
    part_of = {id_: number for number, part in enumerate(joined_parts(document)) for id_ in part}
    found = []
    for connection in document.loop.connections:
        parts: dict[int, list[str]] = {}
        for id_ in connection:
            parts.setdefault(part_of[id_], []).append(id_)
        if len(parts) > 1:
            found.append(list(parts.values()))
    return found
