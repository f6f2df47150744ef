"""The flow of a plate without devices, while something is dragged: nothing flows, and each channel stands for itself.

Without devices nothing drives the coolant and every way has the room's temperature, so what is said of a channel
depends on that channel alone, and only those that moved are worked out again.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Any

from sketcher.document import Document
from sketcher.flow.result import FlowResult, rounded


@dataclass(frozen=True)
class Standing:
    """The answer about such a plate, the volume of each way, m³, and the row of each."""

    answer: dict[str, Any]
    volumes: tuple[float, ...]
    rows: dict[str, int]


def stands(document: Document) -> bool:
    """Whether there is nothing that coolant could flow through but the plate."""
    return not document.devices and not document.loop.tubes


def standing(result: FlowResult) -> Standing:
    """The whole answer."""
    volumes = tuple(duct.volume for duct in result.loop.links.ducts.items)
    return Standing(result.as_json(), volumes, {e.id: n for n, e in enumerate(result.loop.elements)})


def moved(before: Standing, part: FlowResult, names: Collection[str]) -> Standing:
    """The answer with the ways of these names taken from the result of a part of the plate that has them."""
    rows, volumes = list(before.answer["elements"]), list(before.volumes)
    for element, duct in zip(part.as_json()["elements"], part.loop.links.ducts.items, strict=True):
        if element["id"] in names:
            rows[before.rows[element["id"]]] = element
            volumes[before.rows[element["id"]]] = duct.volume
    answer = {**before.answer, "elements": rows, "volume_l": rounded(sum(volumes) * 1000)}
    return Standing(answer, tuple(volumes), before.rows)


__all__ = ["Standing", "moved", "standing", "stands"]
