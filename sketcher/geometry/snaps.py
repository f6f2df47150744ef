"""Places worth snapping to: the grids of real hardware, and the centres, corners and middles of what is drawn.

Places are exact: they come from the tables and the document by one multiplication and one placing, never from a
polygon. A board that is turned by a quarter keeps an inch grid to the last digit.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np

from sketcher.document.hardware import Board, Device
from sketcher.geometry import placement
from sketcher.geometry.outline_contours import Contour, contour
from sketcher.geometry.shapes import Shapes
from sketcher.reference import fans
from sketcher.reference.tables import UnknownEntry

SnapKind = Literal["board-hole", "slot", "fan-hole", "device-port", "centre", "corner", "middle"]

#: A length is exact to this many digits after the point; what lies beyond comes from the arithmetic.
DIGITS = 9


@dataclass(frozen=True)
class Snap:
    """A place (mm), what it is, whose it is, and its height above the floor where it has one."""

    x: float
    y: float
    kind: SnapKind
    item: str
    label: str
    z: float | None = None


@dataclass(frozen=True)
class SnapEdge:
    """A straight edge (mm) to slide along, and whose it is."""

    start: tuple[float, float]
    end: tuple[float, float]
    item: str


def snaps(shapes: Shapes) -> list[Snap]:
    """Every place of the document that a pointer may snap to."""
    document = shapes.document
    found: list[Snap] = []
    for board in document.boards:
        found += _board(board, shapes.frames[board.id])
    for device in document.devices:
        found += _fans(device, shapes.frames[device.id])
    found += [
        Snap(_exact(port.x), _exact(port.y), "device-port", port.device, port.ref, _exact(port.z))
        for port in shapes.device_ports.values()
    ]
    centres: list[tuple[str, float, float]] = [
        *((p.id, p.x_mm, p.y_mm) for p in document.ports),
        *((b.id, b.x_mm, b.y_mm) for b in document.branches),
        *((h.id, h.x_mm, h.y_mm) for h in document.holes),
    ]
    for group in (document.cutouts, document.pockets, document.keep_outs, document.floor.obstacles):
        for area in group:
            if area.outline.shape != "polygon":
                centres.append((area.id, area.outline.x_mm, area.outline.y_mm))
    found += [Snap(x, y, "centre", id_, f"centre of {id_}") for id_, x, y in centres]
    for id_, closed in _contours(shapes):
        found += _corners(id_, closed)
    return found


def edges(shapes: Shapes) -> list[SnapEdge]:
    """Every straight edge of plate, floor, cutouts, pockets and obstacles."""
    return [
        SnapEdge(segment.start, segment.end, id_)
        for id_, closed in _contours(shapes)
        for segment in closed.path.segments
        if segment.straight
    ]


def _contours(shapes: Shapes) -> Iterator[tuple[str, Contour]]:
    yield "plate", shapes.plate
    yield "floor", shapes.floor
    for group in (shapes.cutouts, shapes.pockets, shapes.keep_outs, shapes.obstacles, shapes.openings):
        for area in group.values():
            if area.contour is not None:
                yield area.id, area.contour


def _corners(id_: str, closed: Contour) -> Iterator[Snap]:
    if closed.round is not None:
        return
    for segment in closed.path.segments:
        yield Snap(*segment.start, "corner", id_, f"corner of {id_}")
        if segment.straight:
            yield Snap(*segment.at(segment.length / 2), "middle", id_, f"middle of an edge of {id_}")


def _exact(value: float) -> float:
    return round(float(value), DIGITS) + 0.0


def _place(frame: placement.Frame, u: float, v: float, kind: SnapKind, item: str, label: str) -> Snap:
    x, y, z = (_exact(value) for value in frame.place(u, v))
    return Snap(x, y, kind, item, label, z)


def _board(board: Board, frame: placement.Frame) -> Iterator[Snap]:
    for name, u, v, _ in placement.board_holes(board):
        yield _place(frame, u, v, "board-hole", board.id, f"{board.id} hole {name}")
    for slot in range(1, board.slots + 1):
        yield _place(frame, placement.slot_mm(board, slot), 0.0, "slot", board.id, f"{board.id} slot {slot}")


def _fans(device: Device, frame: placement.Frame) -> Iterator[Snap]:
    """The fans' holes, in a row along the longer side of the device's outline."""
    if not device.fans or device.fan_size_mm is None or device.outline is None:
        return
    try:
        spacing = fans.fan(device.fan_size_mm).hole_spacing_mm
    except UnknownEntry:
        return  # larger fans differ by maker: there is no pattern to offer
    corners = np.array(contour(device.outline).path.points(1.0))
    low, high = corners.min(axis=0), corners.max(axis=0)
    middle, along = (low + high) / 2, int(np.argmax(high - low))
    for n in range(device.fans):
        centre = middle.copy()
        centre[along] += (n - (device.fans - 1) / 2) * device.fan_size_mm
        for hole, (su, sv) in enumerate(((-1, -1), (1, -1), (1, 1), (-1, 1)), start=1):
            u, v = centre[0] + su * spacing / 2, centre[1] + sv * spacing / 2
            yield _place(frame, u, v, "fan-hole", device.id, f"{device.id} fan {n + 1} hole {hole}")


def snaps_json(shapes: Shapes) -> dict[str, Any]:
    """The places and edges with the keys of the page's interface."""
    places = [
        {"x_mm": s.x, "y_mm": s.y, "kind": s.kind, "item": s.item, "label": s.label, "z_mm": s.z} for s in snaps(shapes)
    ]
    lines = [
        {"x1_mm": e.start[0], "y1_mm": e.start[1], "x2_mm": e.end[0], "y2_mm": e.end[1], "item": e.item}
        for e in edges(shapes)
    ]
    return {"places": places, "edges": lines}
