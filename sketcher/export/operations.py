"""What is milled, drilled and tapped: one operation for each contour, with its part, side and depth.

Plate and shapes know one body of body and lid together; the shop makes two. Here every recess is shared out: what goes
through the lid into the body is an operation on each.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

from sketcher.document import Document
from sketcher.geometry import Shapes
from sketcher.geometry.offset import OffsetError, offset
from sketcher.geometry.outline_contours import Contour, round_contour, slot_contour
from sketcher.geometry.path import Path, from_vertices
from sketcher.geometry.regions import as_contour
from sketcher.geometry.shapes import HoleShape, PortShape, polygon_of
from sketcher.geometry.sweep import swept
from sketcher.strength.seal import SealDesign

Side = Literal["above", "below", "through"]
_EPS = 1e-6


@dataclass(frozen=True)
class Part:
    """The body or the lid, and its heights above the plate's underside, mm."""

    name: Literal["BODY", "LID"]
    low: float
    high: float

    @property
    def thickness(self) -> float:
        """mm."""
        return self.high - self.low


@dataclass(frozen=True)
class Operation:
    """One contour to be machined.

    Attributes:
        part: what it is machined into.
        side: the side it is machined from, seen as the plate lies; ``through`` has none.
        kind: channel, groove, pocket, bore, thread, tap, hole, counterbore, countersink or cutout.
        size: what a machinist needs beside the contour: a diameter (``D11.8``), a thread (``G1/4``), a width.
        depth: from the surface of its part on its side, mm; of ``through``, the part's thickness.
        contour: seen from above, in the floor's coordinates.
        low, high: heights above the plate's underside, mm.
        item: the document's id.
        islands: what stays within the contour: the inside of a groove, what a channel runs round.
    """

    part: Part
    side: Side
    kind: str
    size: str
    depth: float
    contour: Contour
    low: float
    high: float
    item: str
    islands: tuple[Contour, ...] = ()

    def contours(self) -> tuple[Contour, ...]:
        """The contour and its islands."""
        return (self.contour, *self.islands)

    def rings(self) -> tuple[Path, ...]:
        """The contour and its islands as a shape for ``geometry.regions``."""
        return tuple(contour.path for contour in self.contours())


def parts_of(document: Document) -> tuple[Part, Part]:
    """The body and the lid."""
    plate = document.plate
    body, lid = plate.body_thickness_mm, plate.lid_thickness_mm
    if plate.lid_face == "bottom":
        return Part("BODY", lid, lid + body), Part("LID", 0.0, lid)
    return Part("BODY", 0.0, body), Part("LID", body, body + lid)


def operations(document: Document, shapes: Shapes, seal: SealDesign) -> list[Operation]:
    """Every operation but the outlines and edge ports' bores, in the document's order."""
    body, lid = parts_of(document)
    found: list[Operation] = []
    for id_, channel in shapes.channels.items():
        if channel.path.segments:
            for region in swept(channel.path, channel.item.width_mm):
                outer, *islands = region.contours()
                found += _on([body], "channel", "", outer, channel.low, channel.high, id_, tuple(islands))
    found += _groove(body, seal)
    for id_, pocket in shapes.pockets.items():
        if pocket.contour is not None:
            found += _on([body, lid], "pocket", "", pocket.contour, pocket.low, pocket.high, id_)
    for port in shapes.ports.values():
        if port.heading is None:
            found += _port(body, lid, port)
    for hole in shapes.holes.values():
        found += _hole(body, lid, hole, shapes.thickness)
    for id_, area in shapes.cutouts.items():
        if area.contour is not None:
            found += _on([body, lid], "cutout", "", area.contour, area.low, area.high, id_)
    return found


def _on(
    parts: list[Part],
    kind: str,
    size: str,
    contour: Contour,
    low: float,
    high: float,
    item: str,
    islands: tuple[Contour, ...] = (),
) -> Iterator[Operation]:
    """The recess between two heights, on each part that it opens into."""
    for part in parts:
        bottom, top = max(low, part.low), min(high, part.high)
        if top - bottom <= _EPS:
            continue
        from_above, from_below = top >= part.high - _EPS, bottom <= part.low + _EPS
        if from_above and from_below:
            yield Operation(part, "through", kind, size, part.thickness, contour, bottom, top, item, islands)
        elif from_above:
            yield Operation(part, "above", kind, size, part.high - bottom, contour, bottom, top, item, islands)
        elif from_below:
            yield Operation(part, "below", kind, size, top - part.low, contour, bottom, top, item, islands)


def _groove(body: Part, seal: SealDesign) -> Iterator[Operation]:
    if seal.kind != "cord" or seal.gland is None:
        return
    size = f"W{short(seal.gland.width_mm)}"
    for loop in seal.loops:
        outer, *inner = sorted(groove_walls(loop.path, seal.gland.width_mm), key=lambda wall: -abs(wall.area))
        islands = tuple(as_contour(wall) for wall in inner)
        yield from _on(
            [body], "groove", size, as_contour(outer), seal.low_mm, seal.high_mm, "+".join(loop.items), islands
        )


def groove_walls(path: Path, width: float) -> list[Path]:
    """Both walls of a groove along its middle; from the widened polygon where a bend is too tight for the width."""
    try:
        return [offset(path, width / 2), offset(path, -width / 2)]
    except OffsetError:
        wide = polygon_of(Contour(path)).exterior.buffer(width / 2)
        rings = (wide.exterior, *wide.interiors)
        return [from_vertices([(x, y, 0.0) for x, y in ring.coords[:-1]], closed=True) for ring in rings]


def _port(body: Part, lid: Part, port: PortShape) -> Iterator[Operation]:
    bore, id_ = port.bore_prism, port.item.id
    size = f"D{short(port.bore_diameter)}"
    yield from _on([body, lid], "bore", size, round_contour(port.at, port.bore_diameter / 2), bore.low, bore.high, id_)
    if port.thread is not None:
        thread, outline = port.thread_prism, round_contour(port.at, port.thread_diameter / 2)
        yield from _on([body, lid], "thread", port.item.thread or "", outline, thread.low, thread.high, id_)


def _hole(body: Part, lid: Part, hole: HoleShape, thickness: float) -> Iterator[Operation]:
    item, prism = hole.item, hole.prism
    if item.kind == "tapped" and item.use == "lid" and hole.screw is not None:
        # The screw goes through the lid with play and holds in the body.
        yield from _on(
            [body], "tap", f"{item.screw}_D{short(hole.diameter)}", hole.contour, prism.low, prism.high, item.id
        )
        wide = _resized(hole, hole.screw.clearance_mm)
        yield from _on([lid], "hole", f"D{short(hole.screw.clearance_mm)}", wide, 0.0, thickness, item.id)
    else:
        tapped = item.kind == "tapped"
        kind, size = ("tap", f"{item.screw}_D") if tapped else ("hole", "D")
        size += short(hole.diameter)
        yield from _on([body, lid], kind, size, hole.contour, prism.low, prism.high, item.id)
    if hole.head is not None and hole.screw is not None:
        kind = "countersink" if item.kind == "countersunk" else "counterbore"
        left, _, right, _ = hole.head.polygon.bounds
        outline = round_contour((item.x_mm, item.y_mm), float(right - left) / 2)
        yield from _on([body, lid], kind, f"{item.screw}_D{short(right - left)}", outline, hole.head.low,
                       hole.head.high, item.id)  # fmt: skip


def _resized(hole: HoleShape, diameter: float) -> Contour:
    item = hole.item
    at = (item.x_mm, item.y_mm)
    if item.slot_length_mm is not None and item.slot_length_mm > hole.diameter:
        longer = item.slot_length_mm + diameter - hole.diameter
        return slot_contour(at, longer, diameter, math.radians(item.turn_deg))
    return round_contour(at, diameter / 2)


def short(value: float) -> str:
    """A length with at most two digits after the point, for a name."""
    return f"{value:.2f}".rstrip("0").rstrip(".")
