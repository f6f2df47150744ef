"""What holds a board or a device: the card that carries the block, the riser that carries the card."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from sketcher.document.models import Document


def holders(document: Document) -> dict[str, str | None]:
    """The holder of every board and device; none of what stands in the case itself."""
    return {item.id: item.held_by for item in (*document.boards, *document.devices)}


def chain(held: Mapping[str, str | None], id_: str) -> list[str]:
    """A thing and what holds it, the nearest first; any other name alone.

    Args:
        held: what ``holders`` gives.
        id_: the thing's id.
    """
    found: dict[str, None] = {}
    name: str | None = id_
    while name is not None and name not in found:
        found[name] = None
        name = held.get(name)
    return list(found)
