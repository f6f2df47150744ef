"""How far each item reaches in plan, with all that stands on it, and which items are tied to which by name.

For finding what a moved item can concern: whatever a rule measures between two items lies between their extents.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass, replace

import numpy as np
import shapely
from numpy.typing import NDArray

from sketcher.document import Document
from sketcher.document.moved_items import ITEM_LISTS
from sketcher.geometry import Shapes

Boxes = NDArray[np.float64]


@dataclass(frozen=True)
class Extents:
    """A box for every item: ``rows`` has its number, ``boxes`` left, front, right and rear, mm: (n, 4)."""

    names: tuple[str, ...]
    rows: dict[str, int]
    boxes: Boxes

    def updated(self, some: Extents, names: Iterable[str]) -> Extents:
        """The same with the boxes of some items taken from ``some``."""
        boxes = self.boxes.copy()
        for name in names:
            boxes[self.rows[name]] = some.boxes[some.rows[name]]
        return replace(self, boxes=boxes)

    def beside(self, names: Iterable[str], reach: float) -> set[str]:
        """All items within ``reach`` mm of some, measured from box to box; those themselves included."""
        left, front, right, rear = self.boxes.T
        found = np.zeros(len(self.names), dtype=bool)
        for a, b, c, d in self.boxes[[self.rows[name] for name in names]]:
            found |= (left <= c + reach) & (right >= a - reach) & (front <= d + reach) & (rear >= b - reach)
        return {self.names[k] for k in np.flatnonzero(found).tolist()}


def extents(shapes: Shapes) -> Extents:
    """The extents of all items of a document."""
    document = shapes.document
    names = tuple(item.id for key in ITEM_LISTS for item in getattr(document, key))
    rows = {name: k for k, name in enumerate(names)}
    boxes = np.tile([np.inf, np.inf, -np.inf, -np.inf], (len(names), 1))

    def add(ids: list[int], found: Boxes) -> None:
        at = np.array(ids, dtype=np.intp)
        np.minimum.at(boxes[:, 0], at, found[:, 0])
        np.minimum.at(boxes[:, 1], at, found[:, 1])
        np.maximum.at(boxes[:, 2], at, found[:, 2])
        np.maximum.at(boxes[:, 3], at, found[:, 3])

    drawn = [(prism.id, prism.polygon) for prism in (*shapes.prisms, *shapes.further)]
    drawn += [(id_, port.fitting) for id_, port in shapes.ports.items()]
    drawn += [(id_, area.polygon) for group in (shapes.keep_outs, shapes.boards, shapes.devices)
              for id_, area in group.items()]  # fmt: skip
    if drawn:
        found = shapely.bounds(np.array([polygon for _, polygon in drawn], dtype=object)).reshape(-1, 4)
        add([rows[id_] for id_, _ in drawn], np.where(np.isnan(found), np.tile([np.inf, np.inf, -np.inf, -np.inf],
                                                                               (len(found), 1)), found))  # fmt: skip
    spots = list(_spots(shapes))
    if spots:
        x, y, radius = np.array([spot[1:] for spot in spots]).T
        add([rows[spot[0]] for spot in spots], np.column_stack([x - radius, y - radius, x + radius, y + radius]))
    return Extents(names, rows, boxes)


def _spots(shapes: Shapes) -> Iterable[tuple[str, float, float, float]]:
    """Round things that no polygon above holds: item, place and radius, mm."""
    document = shapes.document
    tube = max(document.loop.tube_outer_diameter_mm / 2, 1.0)
    for id_, port in shapes.ports.items():
        radius = max(port.item.fitting_diameter_mm / 2, tube)
        yield id_, *port.at, radius
        yield id_, *port.root, tube
        served = shapes.device_ports.get(port.item.serves or "")
        if served is not None:
            yield id_, served.x, served.y, tube
    for id_, hole in shapes.holes.items():
        head = 0.0 if hole.screw is None else hole.screw.cap_head.diameter_mm / 2
        yield id_, hole.item.x_mm, hole.item.y_mm, max(hole.diameter / 2, head)
    for branch in document.branches:
        yield branch.id, branch.x_mm, branch.y_mm, 0.0
    for place in shapes.device_ports.values():
        yield place.device, place.x, place.y, tube
    for id_, frame in shapes.frames.items():
        yield id_, float(frame.origin[0]), float(frame.origin[1]), 0.0


def ties(document: Document) -> dict[str, tuple[str, ...]]:
    """For each item those that it names or that name it: ends and channels, ports and devices, holders, leaders,
    cable slots and what they join."""
    found: dict[str, set[str]] = defaultdict(set)
    known = {item.id for key in ITEM_LISTS for item in getattr(document, key)}

    def tie(one: str, other: str | None) -> None:
        if other is not None and other in known:
            found[one].add(other)
            found[other].add(one)

    for channel in document.channels:
        tie(channel.id, channel.start)
        tie(channel.id, channel.end)
    for port in document.ports:
        tie(port.id, (port.serves or "").split(".")[0])
    for thing in (*document.boards, *document.devices):
        tie(thing.id, thing.held_by)
    for key in ("cutouts", "pockets", "keep_outs", "holes"):
        for item in getattr(document, key):
            if item.follows is not None:
                tie(item.id, item.follows.item)
    for pocket in document.pockets:
        if pocket.cable is not None:
            tie(pocket.id, pocket.cable.start)
            tie(pocket.id, pocket.cable.end)
            # Whoever looks at another slot out of the pocket, or into the cutout, needs both of its ends too.
            tie(pocket.cable.start, pocket.cable.end)
    return {name: tuple(others) for name, others in found.items()}
